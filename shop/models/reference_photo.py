"""Photos that show what a unit type looks like."""

from django.db import models

from .base import Tracked
from .stored_file import StoredFile
from .unit_type import UnitType


class ReferencePhoto(Tracked):
    """A photo of a unit type, to compare a unit in hand with."""

    class Shows(models.TextChoices):
        WHOLE_UNIT = "whole_unit", "whole unit"
        NUMBER_PLATE = "number_plate", "number plate or stamp"
        PORTS = "ports", "ports"
        DETAIL = "detail", "another detail"

    unit_type = models.ForeignKey(UnitType, models.PROTECT, related_name="reference_photos")
    file = models.ForeignKey(StoredFile, models.PROTECT, related_name="+")
    shows = models.CharField("what it shows", max_length=12, choices=Shows)
    caption = models.CharField(max_length=160, blank=True)
    source = models.CharField("where it comes from", max_length=120, blank=True)

    class Meta:
        ordering = ["unit_type", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["unit_type", "file"],
                name="shop_referencephoto_once",
                violation_error_message="This photo is a reference photo of this unit type already.",
            ),
        ]

    def __str__(self) -> str:
        return self.caption or str(self.get_shows_display())

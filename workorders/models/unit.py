"""Units: one physical piece with one serial for life."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.models import Tracked, UnitType


class Unit(Tracked):
    """One physical piece; it keeps this row and its serial through any number of rebuilds."""

    serial = models.CharField("shop serial", max_length=9, unique=True, editable=False)
    unit_type = models.ForeignKey(UnitType, models.PROTECT, related_name="units")
    maker_serial = models.CharField("maker's serial", max_length=60, blank=True, db_index=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_unit_serial_form",
                condition=Q(serial__regex=r"^[0-9A-HJKMNP-TV-Z]{9}$"),
                violation_error_message="A shop serial has nine characters and is drawn by the program.",
            ),
            models.UniqueConstraint(
                fields=["unit_type", "maker_serial"],
                condition=~Q(maker_serial=""),
                name="workorders_unit_maker_serial_once",
                violation_error_message=(
                    "A unit of this type with this maker's serial is in the records already; "
                    "scan or type its shop serial instead."
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.serial

    def get_absolute_url(self) -> str:
        return reverse("workorders:unit", args=[self.serial])

"""Hoses of a unit type: which port each belongs on, and what it is made to."""

from django.db import models
from django.db.models import Q

from .unit_type import Place, Port, TypeRevision


class Hose(Place):
    """A numbered hose of a unit type; it belongs on one port."""

    class Attachment(models.TextChoices):
        FIXED = "fixed", "fixed to the unit"
        REMOVABLE = "removable", "removable"
        NOT_KNOWN = "not_known", "not known"

    revision = models.ForeignKey(TypeRevision, models.PROTECT, related_name="hoses")
    port = models.OneToOneField(
        Port,
        models.PROTECT,
        related_name="hose",
        error_messages={"unique": "This port has its hose already; change that one."},
    )
    attachment = models.CharField("fixed or removable", max_length=10, choices=Attachment)
    length_mm = models.FloatField("length, mm", null=True, blank=True)
    inside_diameter_mm = models.FloatField("inside diameter, mm", null=True, blank=True)
    size_designation = models.CharField("size and kind of hose", max_length=60, blank=True)
    end_fitting = models.CharField("fitting at the far end", max_length=80, blank=True)
    end_thread = models.CharField("thread at the far end", max_length=40, blank=True)
    connects_to = models.CharField("goes to, at the far end", max_length=80, blank=True)
    rated_pressure_bar = models.FloatField("rated pressure, bar", null=True, blank=True)
    rating_reason = models.CharField("why a lower rating is right", max_length=200, blank=True)

    class Meta(Place.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["revision", "code"],
                name="shop_hose_code_once",
                violation_error_message="This revision has a hose of that number already.",
            ),
            models.CheckConstraint(
                name="shop_hose_length_positive",
                condition=Q(length_mm__isnull=True) | Q(length_mm__gt=0),
                violation_error_message="The length of a hose is above 0 mm.",
            ),
            models.CheckConstraint(
                name="shop_hose_inside_positive",
                condition=Q(inside_diameter_mm__isnull=True) | Q(inside_diameter_mm__gt=0),
                violation_error_message="The inside diameter of a hose is above 0 mm.",
            ),
            models.CheckConstraint(
                name="shop_hose_rating_positive",
                condition=Q(rated_pressure_bar__isnull=True) | Q(rated_pressure_bar__gt=0),
                violation_error_message="The rated pressure of a hose is above 0 bar.",
            ),
        ]

    @property
    def far_end(self) -> str:
        """What sits at the far end and where it goes, in one line; empty where nothing is entered."""
        fitting = " ".join(part for part in (self.end_fitting, self.end_thread) if part)
        goes = f"to {self.connects_to}" if self.connects_to else ""
        return ", ".join(part for part in (fitting, goes) if part)

    @property
    def is_underrated(self) -> bool:
        """Whether the hose is rated below its unit; a rating that is not known says nothing."""
        unit_bar = self.revision.rated_pressure_bar
        return bool(self.rated_pressure_bar and unit_bar) and self.rated_pressure_bar < unit_bar  # type: ignore[operator]

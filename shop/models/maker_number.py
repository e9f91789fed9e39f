"""The numbers that makers gave a unit type, each with its years and what superseded it."""

from django.db import models
from django.db.models import F, Q

from .base import Tracked
from .unit_type import UnitType
from .unit_type_queryset import years_in_words


class MakerNumber(Tracked):
    """One number as it stands on the units of a type or in their maker's papers."""

    unit_type = models.ForeignKey(UnitType, models.PROTECT, related_name="maker_numbers")
    number = models.CharField("maker's number", max_length=60)
    bare = models.CharField("number as it is compared", max_length=60, db_index=True, editable=False)
    year_from = models.PositiveSmallIntegerField("used from the year", null=True, blank=True)
    year_to = models.PositiveSmallIntegerField("used until the year", null=True, blank=True)
    superseded_by = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="supersedes"
    )
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["unit_type", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["unit_type", "bare"],
                name="shop_makernumber_once",
                violation_error_message=(
                    "This unit type has this number already; blanks, dashes, dots and slashes do not count."
                ),
            ),
            models.CheckConstraint(
                name="shop_makernumber_bare_form",
                condition=Q(bare__regex=r"^[^ ./a-z-]+$"),
                violation_error_message="A maker's number has at least one letter or digit.",
            ),
            models.CheckConstraint(
                name="shop_makernumber_years_in_order",
                condition=Q(year_from__isnull=True)
                | Q(year_to__isnull=True)
                | Q(year_from__lte=F("year_to")),
                violation_error_message="The number is used until a year before its first one.",
            ),
            models.CheckConstraint(
                name="shop_makernumber_years_plausible",
                condition=(Q(year_from__isnull=True) | Q(year_from__range=(1900, 2200)))
                & (Q(year_to__isnull=True) | Q(year_to__range=(1900, 2200))),
                violation_error_message="Write the year with four digits, such as 1998.",
            ),
            models.CheckConstraint(
                name="shop_makernumber_not_by_itself",
                condition=Q(superseded_by__isnull=True) | ~Q(superseded_by=F("id")),
                violation_error_message="A number is superseded by another one, not by itself.",
            ),
        ]

    def __str__(self) -> str:
        return self.number

    @property
    def years(self) -> str:
        """The years in words; empty where none are known."""
        return years_in_words(self.year_from, self.year_to)

"""Which unit type may stand in for which, and who says so."""

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Greatest, Least

from .base import Tracked
from .unit_type import UnitType


class Interchange(Tracked):
    """One type may stand in for another; with ``both_ways`` the other may stand in for it as well.

    Two types have one row between them at most, so that nothing is said twice or against itself.
    """

    stand_in = models.ForeignKey(UnitType, models.PROTECT, related_name="stands_in")
    replaced = models.ForeignKey(
        UnitType, models.PROTECT, related_name="replaced_by", verbose_name="stands in for"
    )
    both_ways = models.BooleanField(default=False)
    basis = models.CharField("who says so, or what was compared", max_length=300)
    condition = models.CharField("under which condition", max_length=300, blank=True)

    class Meta:
        ordering = ["stand_in__code", "replaced__code"]
        constraints = [
            models.CheckConstraint(
                name="shop_interchange_two_types",
                condition=~Q(stand_in=F("replaced")),
                violation_error_message="A unit type needs nobody's leave to stand in for itself.",
            ),
            models.UniqueConstraint(
                Least("stand_in", "replaced"),
                Greatest("stand_in", "replaced"),
                name="shop_interchange_pair_once",
                violation_error_message=(
                    "The interchange of these two types is written down already; correct that one."
                ),
            ),
            models.CheckConstraint(
                name="shop_interchange_has_basis",
                condition=~Q(basis=""),
                violation_error_message="Say who says so, or what was compared.",
            ),
        ]

    def __str__(self) -> str:
        word = "and" if self.both_ways else "for"
        return f"{self.stand_in.code} {word} {self.replaced.code}"

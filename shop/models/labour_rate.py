"""What an hour of work costs the shop, each rate with the day from which it holds."""

from datetime import date

from django.db import models
from django.db.models import Q

from .base import AppendOnly


class LabourRateQuerySet(models.QuerySet["LabourRate"]):
    """Ways to narrow rates down."""

    def holding(self, *, on: "date | models.OuterRef") -> "LabourRateQuerySet":
        """The rates that had begun on that day, the one that holds first."""
        return self.filter(valid_from__lte=on).order_by("-valid_from", "-pk")


class LabourRate(AppendOnly):
    """A rate in the shop's currency; a later entry for the same day replaces an earlier one."""

    valid_from = models.DateField("holds from")
    per_hour = models.DecimalField("cost of an hour", max_digits=8, decimal_places=2)

    objects = LabourRateQuerySet.as_manager()

    class Meta:
        ordering = ["-valid_from", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="shop_labourrate_positive",
                condition=Q(per_hour__gt=0),
                violation_error_message="An hour of work costs more than nothing.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.per_hour} from {self.valid_from}"

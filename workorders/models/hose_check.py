"""Hose checks: the number read at each port when the hoses go on again."""

from django.db import models
from django.db.models import Q

from shop.models import AppendOnly, Hose

from .rebuild import Rebuild


class HoseCheck(AppendOnly):
    """The number read from a hose and the port that it went on, or that it travels loose.

    A hose on the wrong port is a come-back: the service refuses a number that is not that of the
    port's hose, so each row is right. The latest of a hose stands.
    """

    class Way(models.TextChoices):
        ON_PORT = "on_port", "on its port"
        LOOSE = "loose", "loose in the parcel"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="hose_checks")
    hose = models.ForeignKey(Hose, models.PROTECT, related_name="+")
    number_read = models.CharField("number read", max_length=12)
    way = models.CharField(max_length=8, choices=Way, default=Way.ON_PORT)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_hosecheck_number_read",
                condition=~Q(number_read=""),
                violation_error_message="Read the number of the hose from its tag.",
            ),
        ]

    def __str__(self) -> str:
        return f"hose {self.hose.code} {self.get_way_display()}"

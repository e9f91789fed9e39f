"""Machines in which several unit types work together, and the labour to reach each."""

from django.db import models
from django.db.models import Q

from .base import Tracked
from .unit_type import UnitType


class Application(Tracked):
    """A machine with several units, such as one kind of access ramp."""

    name = models.CharField(max_length=120, unique=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class MountingPlace(Tracked):
    """Where in an application a unit sits, and what it takes to get at it."""

    application = models.ForeignKey(Application, models.PROTECT, related_name="places")
    unit_type = models.ForeignKey(UnitType, models.PROTECT, related_name="mounting_places")
    name = models.CharField(max_length=80)
    access_labour_h = models.FloatField("labour to reach, h", default=0)
    twin_of = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["application", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["application", "name"],
                name="shop_mountingplace_name_once",
                violation_error_message="This application has a place of that name already.",
            ),
            models.CheckConstraint(
                name="shop_mountingplace_labour_positive",
                condition=Q(access_labour_h__gte=0),
                violation_error_message="Access labour cannot be negative.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.application}: {self.name}"

"""Instruments: gauges, transducers and meters with accuracy and calibration."""

from datetime import date
from typing import Any

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from shop.models import StoredFile, Tracked


class Instrument(Tracked):
    """A measuring instrument of the shop."""

    class Quantity(models.TextChoices):
        PRESSURE = "pressure", "pressure"
        FLOW = "flow", "flow"
        LENGTH = "length", "length"
        TEMPERATURE = "temperature", "temperature"
        CURRENT = "current", "electric current"
        VOLTAGE = "voltage", "voltage"
        TIME = "time", "time"
        ROUGHNESS = "roughness", "surface roughness"
        COUNT = "count", "count"

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=120)
    serial = models.CharField(max_length=60, blank=True)
    quantity = models.CharField(max_length=12, choices=Quantity)
    unit = models.CharField(max_length=10)
    range_low = models.FloatField(default=0)
    range_high = models.FloatField()
    accuracy = models.FloatField("accuracy, ± in its unit, whole range")
    resolution = models.FloatField("smallest step shown", default=0)
    trace_mapping: Any = models.JSONField(null=True, blank=True)
    retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                name="workorders_instrument_range",
                condition=Q(range_high__gt=F("range_low")),
                violation_error_message="The end of the range must lie above its start.",
            ),
            models.CheckConstraint(
                name="workorders_instrument_accuracy",
                condition=Q(accuracy__gt=0, resolution__gte=0),
                violation_error_message="Give the accuracy as a number above zero, the step as zero or more.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    def get_absolute_url(self) -> str:
        return reverse("workorders:instrument", args=[self.pk])

    def calibration_on(self, day: date) -> "Calibration | None":
        """The latest calibration made on or before a day, whether still valid or not."""
        rows = [c for c in self.calibrations.all() if c.calibrated_on <= day]
        return max(rows, key=lambda c: (c.calibrated_on, c.pk)) if rows else None

    def in_calibration(self, day: date) -> bool:
        """Whether the latest calibration covers that day and found the instrument good."""
        latest = self.calibration_on(day)
        return latest is not None and latest.due_on >= day and latest.in_tolerance


class Calibration(Tracked):
    """One calibration of an instrument."""

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="calibrations")
    calibrated_on = models.DateField()
    due_on = models.DateField()
    certificate_no = models.CharField(max_length=60)
    done_by = models.CharField("calibrated by", max_length=120)
    in_tolerance = models.BooleanField(default=True)
    file = models.ForeignKey(StoredFile, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-calibrated_on", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_calibration_due_after",
                condition=Q(due_on__gt=F("calibrated_on")),
                violation_error_message="The due date lies after the calibration.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.instrument.code} on {self.calibrated_on}, due {self.due_on}"

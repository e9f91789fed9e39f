"""Instruments: gauges, transducers and meters with accuracy, calibration, and what a bad one touched."""

from datetime import date
from typing import Any

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from shop.models import AppendOnly, StoredFile, Tracked

from .rebuild import Rebuild


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
        TORQUE = "torque", "torque"
        RESISTANCE = "resistance", "electric resistance"
        INSULATION = "insulation", "insulation resistance"
        SPEED = "speed", "speed of rotation"
        COUNT = "count", "count"

    class AccuracyOf(models.TextChoices):
        UNIT = "unit", "± in its unit, over the whole range"
        SPAN = "span", "class: % of the end of its range"
        READING = "reading", "% of the reading"

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=120)
    serial = models.CharField(max_length=60, blank=True)
    quantity = models.CharField(max_length=12, choices=Quantity)
    unit = models.CharField(max_length=10)
    range_low = models.FloatField(default=0)
    range_high = models.FloatField()
    accuracy = models.FloatField("accuracy, ±")
    accuracy_of = models.CharField(
        "accuracy is stated as", max_length=8, choices=AccuracyOf, default=AccuracyOf.UNIT
    )
    accuracy_digits = models.PositiveSmallIntegerField("and smallest steps added to it", default=0)
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
            models.CheckConstraint(
                name="workorders_instrument_accuracy_pct",
                condition=Q(accuracy_of="unit") | Q(accuracy__lte=50),
                violation_error_message="An accuracy in % is at most 50; else give it in the unit.",
            ),
            models.CheckConstraint(
                name="workorders_instrument_digits",
                condition=Q(accuracy_digits=0) | Q(resolution__gt=0),
                violation_error_message="Steps added to the accuracy need the smallest step shown.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    def get_absolute_url(self) -> str:
        return reverse("workorders:instrument", args=[self.pk])

    @property
    def accuracy_text(self) -> str:
        """The accuracy in words: ``±0.04 bar``, ``±0.6 % of the range``, ``±0.5 % of reading + 2 steps``."""
        words = {
            self.AccuracyOf.UNIT: f"±{self.accuracy:g} {self.unit}",
            self.AccuracyOf.SPAN: f"±{self.accuracy:g} % of the range",
            self.AccuracyOf.READING: f"±{self.accuracy:g} % of reading",
        }[self.AccuracyOf(self.accuracy_of)]
        steps = f" + {self.accuracy_digits} step{'' if self.accuracy_digits == 1 else 's'}"
        return words + (steps if self.accuracy_digits else "")

    def calibration_on(self, day: date) -> "Calibration | None":
        """The latest calibration made on or before a day, whether still valid or not."""
        rows = [c for c in self.calibrations.all() if c.calibrated_on <= day]
        return max(rows, key=lambda c: (c.calibrated_on, c.pk)) if rows else None

    def due_in(self, day: date) -> int:
        """Return in how many days the latest calibration ends, below 0 once it has; it needs one."""
        latest = self.calibration_on(day)
        assert latest is not None
        return (latest.due_on - day).days

    def in_calibration(self, day: date) -> bool:
        """Whether the latest calibration covers that day and left the instrument good."""
        latest = self.calibration_on(day)
        return latest is not None and latest.due_on >= day and latest.left_good


class Calibration(Tracked):
    """One calibration of an instrument: how it was found, and how it was left.

    ``in_tolerance`` is as found. ``error_found`` is reading minus true value, in the instrument's
    unit, at the reading ``error_at``.
    """

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="calibrations")
    calibrated_on = models.DateField()
    due_on = models.DateField()
    certificate_no = models.CharField(max_length=60)
    done_by = models.CharField("calibrated by", max_length=120)
    in_tolerance = models.BooleanField("in tolerance as found", default=True)
    adjusted = models.BooleanField("adjusted, in tolerance as left", default=False)
    error_found = models.FloatField("error as found", null=True, blank=True)
    error_at = models.FloatField("at the reading", null=True, blank=True)
    file = models.ForeignKey(StoredFile, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-calibrated_on", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_calibration_due_after",
                condition=Q(due_on__gt=F("calibrated_on")),
                violation_error_message="The due date lies after the calibration.",
            ),
            models.CheckConstraint(
                name="workorders_calibration_adjusted_if_out",
                condition=Q(adjusted=False) | Q(in_tolerance=False),
                violation_error_message="Only what was found out of tolerance is adjusted.",
            ),
            models.CheckConstraint(
                name="workorders_calibration_error_whole",
                condition=Q(error_found__isnull=True, error_at__isnull=True)
                | Q(error_found__isnull=False, error_at__isnull=False),
                violation_error_message="Give the error together with the reading at which it was found.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.instrument.code} on {self.calibrated_on}, due {self.due_on}"

    @property
    def left_good(self) -> bool:
        """Whether the instrument was in tolerance as left."""
        return self.in_tolerance or self.adjusted

    @property
    def found_code(self) -> str:
        """How it was found and left: ``good``, ``adjusted`` or ``out``."""
        return "good" if self.in_tolerance else "adjusted" if self.adjusted else "out"


class CalibrationReview(AppendOnly):
    """The lead's word on one rebuild that an instrument found out of tolerance had touched.

    ``seen`` is the sheet that the lead had before them: each reading with its verdicts; the error is
    the one of that day.
    """

    class Decision(models.TextChoices):
        STANDS = "stands", "the readings stay valid"
        AGAIN = "again", "to be tested again"
        TELL = "tell", "the customer is to be told"

    calibration = models.ForeignKey(Calibration, models.PROTECT, related_name="reviews")
    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="calibration_reviews")
    decision = models.CharField(max_length=8, choices=Decision)
    error_found = models.FloatField("error as found", null=True, blank=True)
    error_at = models.FloatField("at the reading", null=True, blank=True)
    seen: Any = models.JSONField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_calibrationreview_reason",
                condition=~Q(why=""),
                violation_error_message="Say why.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rebuild}: {self.get_decision_display()}"

"""Pressure tests: one performance of a test plan, with readings and traces."""

import math
from typing import Any

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from shop.models import AppendOnly, Fluid, StepLimit, StoredFile, TestPlan, TestStep, Tracked
from workorders.calc.uncertainty import PART_WORDS, digits
from workorders.calc.verdict import expanded_words

from .instrument import Instrument
from .rebuild import Rebuild, Signature


class Verdict(models.TextChoices):
    """The words of a verdict; ``recorded`` is that of a reading without a limit."""

    PASSES = "passes", "passes"
    FAILS = "fails", "fails"
    NOT_DECIDED = "not_decided", "not decided"
    INVALID = "invalid", "invalid"
    RECORDED = "recorded", "recorded"


class FluidDecision(AppendOnly):
    """The lead's decision to run a rig fluid that no source clears, or that is foreign to the unit."""

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="fluid_decisions")
    rig_fluid = models.ForeignKey(Fluid, models.PROTECT, related_name="+")
    concerns = models.TextField()
    flushing = models.CharField("flushing afterwards", max_length=300)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_fluiddecision_reasoned",
                condition=~Q(why="") & ~Q(flushing=""),
                violation_error_message="Give the reason and the flushing.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rig_fluid} for {self.rebuild}"


class PressureTest(Tracked):
    """One performance of a test plan; once signed it is only ever superseded."""

    class State(models.TextChoices):
        RUNNING = "running", "running"
        SIGNED = "signed", "signed"
        SUPERSEDED = "superseded", "superseded"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="pressure_tests")
    plan = models.ForeignKey(TestPlan, models.PROTECT, related_name="pressure_tests")
    number = models.PositiveSmallIntegerField(default=1)
    state = models.CharField(max_length=12, choices=State, default=State.RUNNING)
    rig_fluid = models.ForeignKey(Fluid, models.PROTECT, related_name="+")
    fluid_left = models.ForeignKey(Fluid, models.PROTECT, null=True, blank=True, related_name="+")
    started_at = models.DateTimeField()
    started_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    verdict = models.CharField(max_length=12, choices=Verdict, blank=True)
    signature = models.OneToOneField(Signature, models.PROTECT, null=True, blank=True, related_name="test")
    superseded_reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["rebuild", "number"]
        constraints = [
            models.UniqueConstraint(
                fields=["rebuild", "number"],
                name="workorders_pressuretest_number_once",
                violation_error_message="This rebuild has a test of that number already.",
            ),
            models.UniqueConstraint(
                fields=["rebuild"],
                condition=~Q(state="superseded"),
                name="workorders_pressuretest_one_current",
                violation_error_message="Another test of this rebuild runs or stands; supersede it first.",
            ),
            models.CheckConstraint(
                name="workorders_pressuretest_signed_whole",
                condition=~Q(state="signed")
                | (Q(signature__isnull=False, fluid_left__isnull=False) & ~Q(verdict="")),
                violation_error_message="A signed test has a signature, a verdict and the fluid left inside.",
            ),
            models.CheckConstraint(
                name="workorders_pressuretest_superseded_reason",
                condition=~Q(state="superseded") | ~Q(superseded_reason=""),
                violation_error_message="Say why the test is superseded.",
            ),
        ]

    def __str__(self) -> str:
        return f"test {self.number} of {self.rebuild}"

    def get_absolute_url(self) -> str:
        return reverse("workorders:pressure_test", args=[self.pk])


class StepResult(Tracked):
    """The result of one step, computed from its readings."""

    pressure_test = models.ForeignKey(PressureTest, models.PROTECT, related_name="results")
    step = models.ForeignKey(TestStep, models.PROTECT, related_name="+")
    verdict = models.CharField(max_length=12, choices=Verdict)
    arithmetic = models.TextField()
    done_at = models.DateTimeField()
    done_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    note = models.TextField(blank=True)
    photo = models.ForeignKey(StoredFile, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["step__order"]
        constraints = [
            models.UniqueConstraint(
                fields=["pressure_test", "step"],
                name="workorders_stepresult_once",
                violation_error_message="This step has its result already; change that one.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.step}: {self.get_verdict_display()}"


class Reading(Tracked):
    """One reading of a step, kept as observed before anything is computed from it.

    ``value`` is what is judged; ``observed`` keeps the raw entries it came from, ``budget`` the standard
    uncertainties that its own is made of, by name. ``instrument`` is the one that the value was read
    from; a second one stands in ``observed`` with its facts, and in ``second_instrument``.
    """

    result = models.ForeignKey(StepResult, models.PROTECT, related_name="readings")
    limit = models.ForeignKey(StepLimit, models.PROTECT, related_name="+")
    value = models.FloatField(null=True, blank=True)
    uncertainty = models.FloatField("expanded uncertainty, k = 2", null=True, blank=True)
    unit = models.CharField(max_length=12, blank=True)
    verdict = models.CharField(max_length=12, choices=Verdict)
    arithmetic = models.CharField(max_length=600)
    budget: Any = models.JSONField("standard uncertainties", default=list, blank=True)
    observed: Any = models.JSONField(default=dict)
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, blank=True, related_name="readings")
    second_instrument = models.ForeignKey(
        Instrument, models.PROTECT, null=True, blank=True, related_name="second_readings"
    )

    class Meta:
        ordering = ["limit__order"]
        constraints = [
            models.UniqueConstraint(
                fields=["result", "limit"],
                name="workorders_reading_once",
                violation_error_message="This reading is there already; change that one.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.limit.reading}: {self.value} {self.unit}"

    @property
    def budget_rows(self) -> list[tuple[str, str]]:
        """The standard uncertainties by their names in words, as written in the unit of the reading."""
        return [(PART_WORDS.get(name, name), digits(value=value)) for name, value in self.budget]

    @property
    def combined(self) -> float:
        """Their combined standard uncertainty, in the unit of the reading."""
        return math.hypot(*(value for _name, value in self.budget))

    @property
    def combined_text(self) -> str:
        """The combined standard uncertainty as written, with its unit; empty without parts."""
        return f"{digits(value=self.combined)} {self.unit}".strip() if self.budget else ""

    @property
    def expanded_text(self) -> str:
        """The expanded uncertainty as written, rounded up, with its unit; empty for none."""
        return f"±{expanded_words(uncertainty=self.uncertainty, unit=self.unit)}" if self.uncertainty else ""


class LoggerFile(AppendOnly):
    """A logger file handed in for one reading; it counts only where a trace refers to its file."""

    pressure_test = models.ForeignKey(PressureTest, models.PROTECT, related_name="logger_files")
    limit = models.ForeignKey(StepLimit, models.PROTECT, related_name="+")
    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="+")
    file = models.OneToOneField(StoredFile, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.file} for {self.limit.reading}"


class Trace(Tracked):
    """A logger file of one reading, with the window that was evaluated.

    A hold has a decay with its standard error, and is straight or not; other readings have none of them.
    """

    reading = models.OneToOneField(Reading, models.PROTECT, related_name="trace")
    file = models.ForeignKey(StoredFile, models.PROTECT, related_name="+")
    mapping: Any = models.JSONField()
    warnings: Any = models.JSONField(default=list, blank=True)
    rows = models.PositiveIntegerField()
    window_start_s = models.FloatField()
    window_end_s = models.FloatField()
    decay_bar_per_min = models.FloatField(null=True, blank=True)
    standard_error_bar_per_min = models.FloatField(null=True, blank=True)
    straight = models.BooleanField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_trace_window",
                condition=Q(window_end_s__gt=F("window_start_s")),
                violation_error_message="The window must end after it starts.",
            ),
            models.CheckConstraint(
                name="workorders_trace_whole_hold",
                condition=Q(
                    decay_bar_per_min__isnull=False,
                    standard_error_bar_per_min__isnull=False,
                    straight__isnull=False,
                )
                | Q(
                    decay_bar_per_min__isnull=True,
                    standard_error_bar_per_min__isnull=True,
                    straight__isnull=True,
                ),
                violation_error_message="A hold has its decay, the standard error of it and whether it is "
                "straight; other readings have none of them.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.file}"

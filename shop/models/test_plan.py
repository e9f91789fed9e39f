"""Test plans: what must be shown for a unit type, in which order and against which limits."""

from django.db import models
from django.db.models import F, Q

from .base import Tracked
from .unit_type import TypeRevision


class TestPlan(Tracked):
    """One version of the plan for one revision of a unit type; approved versions do not change."""

    __test__ = False  # not a pytest class

    class State(models.TextChoices):
        DRAFT = "draft", "draft"
        APPROVED = "approved", "approved"
        SUPERSEDED = "superseded", "superseded"

    revision = models.ForeignKey(TypeRevision, models.PROTECT, related_name="test_plans")
    version = models.PositiveSmallIntegerField(default=1)
    state = models.CharField(max_length=12, choices=State, default=State.DRAFT)
    title = models.CharField(max_length=120)
    conditioning = models.CharField("test fluid conditioning", max_length=200, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["revision", "version"]
        constraints = [
            models.UniqueConstraint(
                fields=["revision", "version"],
                name="shop_testplan_version_once",
                violation_error_message="This plan version exists already.",
            ),
            models.UniqueConstraint(
                fields=["revision"],
                condition=Q(state="approved"),
                name="shop_testplan_one_approved",
                violation_error_message="Another version is approved; supersede it first.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.title}, version {self.version}"


class TestStep(Tracked):
    """One step of a plan: what is done, at which pressure, for how long."""

    __test__ = False

    class Kind(models.TextChoices):
        LOW_PRESSURE_LEAK = "low_pressure_leak", "low-pressure leak"
        PROOF = "proof", "proof"
        HOLD = "hold", "pressure hold"
        BYPASS = "bypass", "piston bypass at end of stroke"
        STROKES = "strokes", "full strokes"
        FLOW = "flow", "flow at pressure"
        DEAD_HEAD = "dead_head", "dead-head pressure"
        RELIEF = "relief", "relief opening"
        SHAFT_SEAL = "shaft_seal", "shaft-seal back pressure"
        CURRENT = "current", "motor current"
        MANUAL_RELEASE = "manual_release", "manual release"
        DRYNESS = "dryness", "external dryness"

    class Side(models.TextChoices):
        NONE = "", "not applicable"
        BORE = "bore", "bore side"
        ROD = "rod", "rod side"
        BOTH = "both", "both sides"
        FORWARD = "forward", "pump turning forward"
        REVERSE = "reverse", "pump turning in reverse"

    plan = models.ForeignKey(TestPlan, models.PROTECT, related_name="steps")
    order = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=20, choices=Kind)
    side = models.CharField(max_length=8, choices=Side, blank=True)
    title = models.CharField(max_length=120)
    instruction = models.TextField(blank=True)
    pressure_bar = models.FloatField("apply, bar", null=True, blank=True)
    hold_s = models.FloatField("hold at least, s", null=True, blank=True)

    class Meta:
        ordering = ["plan", "order"]
        constraints = [
            models.UniqueConstraint(
                fields=["plan", "order"],
                name="shop_teststep_order_once",
                violation_error_message="Two steps of a plan cannot have the same place in the order.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order}. {self.title}"


class StepLimit(Tracked):
    """What one reading of a step must be; a step passes when each of its limits does."""

    class Judged(models.TextChoices):
        VALUE = "value", "a reading against its limit"
        DECAY = "decay", "decay rate of a hold (trace or two readings)"
        COUNT = "count", "a counted observation, such as drips or strokes"
        WITNESS = "witness", "a witnessed observation: as required, or not"

    class Source(models.TextChoices):
        TYPE = "type", "belongs to the unit type, with its basis"
        READ = "read", "read in the named source"
        SHOP = "shop", "set by this shop"
        MEMORY = "memory", "from memory, not verified"

    step = models.ForeignKey(TestStep, models.PROTECT, related_name="limits")
    order = models.PositiveSmallIntegerField(default=1)
    reading = models.CharField(max_length=60)
    judged = models.CharField(max_length=8, choices=Judged)
    quantity = models.CharField(max_length=20, blank=True)
    unit = models.CharField(max_length=12, blank=True)
    lower = models.FloatField("at least", null=True, blank=True)
    upper = models.FloatField("at most", null=True, blank=True)
    source = models.CharField(max_length=8, choices=Source, default=Source.SHOP)
    basis = models.CharField(max_length=300)

    class Meta:
        ordering = ["step", "order"]
        constraints = [
            models.UniqueConstraint(
                fields=["step", "reading"],
                name="shop_steplimit_reading_once",
                violation_error_message="This step has a reading of that name already.",
            ),
            models.CheckConstraint(
                name="shop_steplimit_has_limit",
                condition=Q(judged="witness") | Q(lower__isnull=False) | Q(upper__isnull=False),
                violation_error_message="Give a lower or an upper limit.",
            ),
            models.CheckConstraint(
                name="shop_steplimit_order",
                condition=Q(lower__isnull=True) | Q(upper__isnull=True) | Q(lower__lte=F("upper")),
                violation_error_message="The lower limit is above the upper limit.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.reading} ({self.limit_text})"

    @property
    def limit_text(self) -> str:
        """The limit in words, such as ``at most 0.05 bar/min``."""
        if self.judged == self.Judged.WITNESS:
            return "as required"
        parts = []
        if self.lower is not None:
            parts.append(f"at least {self.lower:g}")
        if self.upper is not None:
            parts.append(f"at most {self.upper:g}")
        return " and ".join(parts) + (f" {self.unit}" if self.unit else "")

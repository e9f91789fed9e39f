"""Test plans: what must be shown for a unit type, in which order and against which limits."""

from functools import reduce
from operator import and_

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from shop import step_kinds
from shop.calc.cleanliness import read_code

from .base import Tracked
from .unit_type import TypeRevision

FIGURES = ("time_limit_s", "voltage_v", "load_n", "relief_bar")


def validate_code(text: str) -> None:
    """Refuse a limit that is no code of ISO 4406, such as 13/16/18; raises ValidationError."""
    try:
        numbers = read_code(text)
    except ValueError as error:
        raise ValidationError(str(error)) from error
    if text != "/".join(map(str, numbers)):
        raise ValidationError(f"Write the limit as {'/'.join(map(str, numbers))}.")


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

    Kind = step_kinds.Code

    class Side(models.TextChoices):
        NONE = "", "not applicable"
        BORE = "bore", "bore side"
        ROD = "rod", "rod side"
        BOTH = "both", "both sides"
        FORWARD = "forward", "pump turning forward"
        REVERSE = "reverse", "pump turning in reverse"

    class Medium(models.TextChoices):
        """What goes into the unit; gas can be named so that it can be refused."""

        NONE = "", "nothing: no pressure goes on"
        LIQUID = step_kinds.LIQUID, "liquid"
        GAS = step_kinds.GAS, "compressed air or gas"

    plan = models.ForeignKey(TestPlan, models.PROTECT, related_name="steps")
    order = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=20, choices=step_kinds.choices())
    side = models.CharField(max_length=8, choices=Side, blank=True)
    title = models.CharField(max_length=120)
    instruction = models.TextField(blank=True)
    pressure_bar = models.FloatField("apply, bar", null=True, blank=True)
    hold_s = models.FloatField("hold at least, s", null=True, blank=True)
    medium = models.CharField(max_length=6, choices=Medium, blank=True, default=Medium.LIQUID)
    time_limit_s = models.FloatField("run at most, s", null=True, blank=True)
    voltage_v = models.FloatField("test voltage, V", null=True, blank=True)
    load_n = models.FloatField("load on the rod, N", null=True, blank=True)
    relief_bar = models.FloatField("relief opens at most at, bar", null=True, blank=True)
    fixture = models.CharField("fixture", max_length=120, blank=True, default="")
    blank_required = models.BooleanField("the blanked rig is checked before the hold", default=False)

    class Meta:
        ordering = ["plan", "order"]
        constraints = [
            models.UniqueConstraint(
                fields=["plan", "order"],
                name="shop_teststep_order_once",
                violation_error_message="Two steps of a plan cannot have the same place in the order.",
            ),
            models.CheckConstraint(
                name="shop_teststep_no_gas",
                condition=~Q(medium="gas") | ~Q(kind__in=["proof", "shaft_seal"]),
                violation_error_message=(
                    "No compressed air or gas here: it stores about 200 times the energy of oil."
                ),
            ),
            models.CheckConstraint(
                name="shop_teststep_figures_positive",
                condition=reduce(
                    and_, (Q(**{f"{name}__isnull": True}) | Q(**{f"{name}__gt": 0}) for name in FIGURES)
                ),
                violation_error_message="A time limit, voltage, load or relief is more than 0.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order}. {self.title}"

    @property
    def facts(self) -> step_kinds.StepKind:
        """What its kind shows, needs, asks and warns of."""
        return step_kinds.kind_of(self.kind)

    @property
    def kind_beside(self) -> str:
        """Kind and side in words, without what the title says already."""
        parts = [str(self.get_kind_display()), str(self.get_side_display()) if self.side else ""]
        return ", ".join(part for part in parts if part and part.lower() not in self.title.lower())

    @property
    def stated(self) -> list[str]:
        """What the step states beside its pressure and hold, in words: time limit, voltage, load, fixture."""
        figures = (
            ("run at most", self.time_limit_s, "s"),
            ("test voltage", self.voltage_v, "V"),
            ("load", self.load_n, "N"),
            ("relief opens at most at", self.relief_bar, "bar"),
        )
        said = [f"{words} {value:g} {unit}" for words, value, unit in figures if value is not None]
        return [*said, *([f"fixture: {self.fixture}"] if self.fixture else [])]


class StepLimit(Tracked):
    """What one reading of a step must be; a step passes when each of its limits does."""

    class Judged(models.TextChoices):
        VALUE = "value", "a reading against its limit"
        DECAY = "decay", "decay rate of a hold (trace or two readings)"
        COUNT = "count", "a counted observation, such as drips or strokes"
        WITNESS = "witness", "a witnessed observation: as required, or not"
        STROKE = "stroke", "friction of a stroke"
        STEADY = "steady", "mean of steady readings"
        EFFICIENCY = "efficiency", "volumetric efficiency, from flow and speed"
        CLEANLINESS = "cleanliness", "cleanliness of an oil sample, ISO 4406"
        RECORDED = "recorded", "a reading kept beside, without a limit"

    class Figure(models.TextChoices):
        BREAK_AWAY = "break_away", "break-away pressure"
        RUNNING = "running", "running pressure"
        STICK_SLIP = "stick_slip", "stick-slip index"

    class Source(models.TextChoices):
        TYPE = "type", "belongs to the unit type, with its basis"
        READ = "read", "read in the named source"
        SHOP = "shop", "set by this shop"
        MEMORY = "memory", "from memory, not verified"

    step = models.ForeignKey(TestStep, models.PROTECT, related_name="limits")
    order = models.PositiveSmallIntegerField(default=1)
    reading = models.CharField(max_length=60)
    judged = models.CharField(max_length=12, choices=Judged)
    quantity = models.CharField(max_length=20, blank=True)
    unit = models.CharField(max_length=12, blank=True)
    lower = models.FloatField("at least", null=True, blank=True)
    upper = models.FloatField("at most", null=True, blank=True)
    figure = models.CharField("figure of the stroke", max_length=10, choices=Figure, blank=True)
    code_at_most = models.CharField("code at most", max_length=8, blank=True, validators=[validate_code])
    displacement_cm3 = models.FloatField("displacement for each revolution, cm³", null=True, blank=True)
    displacement_error_pct = models.FloatField("its largest error, ± %", null=True, blank=True)
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
                condition=Q(judged__in=("witness", "cleanliness", "recorded"))
                | Q(lower__isnull=False)
                | Q(upper__isnull=False),
                violation_error_message="Give a lower or an upper limit.",
            ),
            models.CheckConstraint(
                name="shop_steplimit_order",
                condition=Q(lower__isnull=True) | Q(upper__isnull=True) | Q(lower__lte=F("upper")),
                violation_error_message="The lower limit is above the upper limit.",
            ),
            models.CheckConstraint(
                name="shop_steplimit_recorded_open",
                condition=~Q(judged="recorded") | Q(lower__isnull=True, upper__isnull=True),
                violation_error_message="A reading that is kept beside has no limit; judge it as a reading.",
            ),
            models.CheckConstraint(
                name="shop_steplimit_stroke_figure",
                condition=Q(judged="stroke", figure__in=("break_away", "running"), unit="bar")
                | Q(judged="stroke", figure="stick_slip", unit="")
                | (~Q(judged="stroke") & Q(figure="")),
                violation_error_message="A stroke needs its figure: a pressure in bar, or the stick-slip "
                "index without a unit. Other readings have none.",
            ),
            models.CheckConstraint(
                name="shop_steplimit_efficiency_whole",
                condition=Q(
                    judged="efficiency",
                    unit="%",
                    # Without these two an empty value would make the whole condition unknown, which passes.
                    displacement_cm3__isnull=False,
                    displacement_error_pct__isnull=False,
                    displacement_cm3__gt=0,
                    displacement_error_pct__gte=0,
                )
                | (
                    ~Q(judged="efficiency")
                    & Q(displacement_cm3__isnull=True, displacement_error_pct__isnull=True)
                ),
                violation_error_message="An efficiency in percent needs the displacement for each revolution "
                "and its largest error. Other readings have neither.",
            ),
            models.CheckConstraint(
                name="shop_steplimit_cleanliness_code",
                condition=(
                    Q(judged="cleanliness", lower__isnull=True, upper__isnull=True) & ~Q(code_at_most="")
                )
                | (~Q(judged="cleanliness") & Q(code_at_most="")),
                violation_error_message="The cleanliness of a sample needs its code at most, such as "
                "18/16/13, and no other limit. Other readings have no code.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.reading} ({self.limit_text})"

    @property
    def limit_text(self) -> str:
        """The limit in words, such as ``at most 0.05 bar/min``."""
        if self.judged == self.Judged.WITNESS:
            return "as required"
        if self.judged == self.Judged.RECORDED:
            return f"recorded, in {self.unit}" if self.unit else "recorded"
        if self.judged == self.Judged.CLEANLINESS:
            return f"at most {self.code_at_most}"
        parts = []
        if self.lower is not None:
            parts.append(f"at least {self.lower:g}")
        if self.upper is not None:
            parts.append(f"at most {self.upper:g}")
        return " and ".join(parts) + (f" {self.unit}" if self.unit else "")

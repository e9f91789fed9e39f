"""Rework operations, with the grades and values that each of them records."""

from collections.abc import Mapping
from typing import Any

from django.db import models
from django.db.models import Q

from inventory.models import Lot
from shop.models import FasteningFigure, Locker, Tracked

from .finding import AtPlace, Grade
from .instrument import Instrument
from .rebuild import Rebuild


class ThreadMethod(models.TextChoices):
    """How a thread was repaired."""

    CHASED = "chased", "chased with tap or die"
    INSERT = "insert", "thread insert"
    OVERSIZE = "oversize", "cut to the next size"


def both_or_none(first: str, second: str) -> Q:
    """Return the condition that two fields are both set or both empty."""
    return Q(**{f"{first}__isnull": False, f"{second}__isnull": False}) | Q(
        **{f"{first}__isnull": True, f"{second}__isnull": True}
    )


class Operation(AtPlace, Tracked):
    """A rework operation with who did it and with which tool."""

    class Kind(models.TextChoices):
        CLEANED = "cleaned", "cleaned"
        BLASTED = "blasted", "blasted"
        CORROSION_REMOVED = "corrosion_removed", "corrosion removed"
        MASKED = "masked", "masked"
        PAINTED = "painted", "painted"
        HONED = "honed", "honed"
        POLISHED = "polished", "polished"
        SLEEVED = "sleeved", "sleeved"
        THREAD_REPAIRED = "thread_repaired", "thread repaired"
        FASTENED = "fastened", "torque and thread locker"
        CRIMP_REMOVED = "crimp_removed", "crimp machined out"
        PORT_SEAL_RENEWED = "port_seal_renewed", "port seal renewed"
        HOSE_CLIPPED = "hose_clipped", "hose held by screwed clip"
        OTHER = "other", "other rework"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="operations")
    kind = models.CharField(max_length=20, choices=Kind)
    tool = models.CharField(max_length=120)
    note = models.TextField(blank=True)
    done_at = models.DateTimeField()
    done_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    instrument = models.ForeignKey(
        Instrument, models.PROTECT, null=True, blank=True, related_name="+", verbose_name="measured with"
    )
    figure = models.ForeignKey(
        FasteningFigure, models.PROTECT, null=True, blank=True, related_name="+", verbose_name="figure"
    )
    figure_text = models.CharField("figure as it stood", max_length=300, blank=True)
    within = models.BooleanField("within the figure", null=True, blank=True)
    reason = models.CharField("why it stands outside the figure", max_length=300, blank=True)
    locker_lot = models.ForeignKey(
        Lot, models.PROTECT, null=True, blank=True, related_name="+", verbose_name="lot of the thread locker"
    )
    fastened_at = models.DateTimeField("fastened at", null=True, blank=True)
    unmasked_at = models.DateTimeField("masking off at", null=True, blank=True)
    unmasked_by = models.ForeignKey(
        "shop.User", models.PROTECT, null=True, blank=True, related_name="+", verbose_name="masking off by"
    )

    class Meta:
        ordering = ["done_at", "pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_operation_fastening_alone",
                condition=Q(kind="fastened", fastened_at__isnull=False)
                | (
                    ~Q(kind="fastened")
                    & Q(fastened_at__isnull=True, figure__isnull=True, locker_lot__isnull=True)
                ),
                violation_error_message="Only a fastening has a figure, a thread locker and its own time.",
            ),
            models.CheckConstraint(
                name="workorders_operation_judged_by_figure",
                condition=Q(figure__isnull=True, within__isnull=True, figure_text="")
                | (Q(figure__isnull=False) & ~Q(figure_text="")),
                violation_error_message="A verdict on a fastening keeps the figure that it was judged by.",
            ),
            models.CheckConstraint(
                name="workorders_operation_outside_has_reason",
                condition=Q(within__isnull=True) | Q(within=True) | ~Q(reason=""),
                violation_error_message="Say why it stands although it is outside the figure.",
            ),
            models.CheckConstraint(
                name="workorders_operation_unmasking_whole",
                condition=both_or_none("unmasked_at", "unmasked_by"),
                violation_error_message="Taking masking off names who did it, and when.",
            ),
            models.CheckConstraint(
                name="workorders_operation_unmasking_of_masking",
                condition=Q(unmasked_at__isnull=True) | Q(kind="masked"),
                violation_error_message="Only what was masked is unmasked.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.place}" if self.place else self.get_kind_display()

    @property
    def is_masking_on(self) -> bool:
        """Whether it is masking that was not recorded as taken off again."""
        return self.kind == self.Kind.MASKED and self.unmasked_at is None

    @property
    def lines(self) -> list[str]:
        """What was recorded, a line for each value; prefetch ``values`` for a list."""
        found = [str(value) for value in self.values.all()]
        if self.locker_lot:
            found.append(f"lot of the thread locker: {self.locker_lot}")
        if self.instrument:
            found.append(f"measured with {self.instrument.code}")
        if self.figure_text:
            found.append(f"figure: {self.figure_text}")
        if self.reason:
            found.append(f"outside the figure because: {self.reason}")
        if self.unmasked_at:
            found.append("masking is off again")
        return found


class OperationValue(Tracked):
    """One grade, value or word that an operation records."""

    class What(models.TextChoices):
        CORROSION_BEFORE = "corrosion_before", "corrosion before"
        CORROSION_AFTER = "corrosion_after", "corrosion after"
        PITTING_BEFORE = "pitting_before", "pitting before"
        PITTING_AFTER = "pitting_after", "pitting after"
        PAINT_BEFORE = "paint_before", "paint damage before"
        PAINT_AFTER = "paint_after", "paint damage after"
        PIT_DEPTH = "pit_depth_um", "deepest pit left"
        MEDIUM = "medium", "blast medium"
        MASKED = "masked", "what is masked"
        PAINT = "paint", "paint and colour"
        FILM = "film_um", "paint thickness"
        STONE = "stone", "stone and grit"
        BORE_BEFORE = "bore_before_mm", "bore before"
        BORE_AFTER = "bore_after_mm", "bore after"
        CROSSHATCH = "crosshatch_deg", "crosshatch angle"
        GRIT = "grit", "grit"
        ROUGHNESS = "ra_um", "Ra reached"
        THREAD = "thread", "thread"
        THREAD_METHOD = "thread_method", "how it was repaired"
        TORQUE = "torque_nm", "torque reached"
        LOCKER = "locker", "thread locker"
        LOCKER_BATCH = "locker_batch", "batch of the thread locker"

    UNITS: Mapping[str, str] = {
        What.PIT_DEPTH: "µm",
        What.FILM: "µm",
        What.BORE_BEFORE: "mm",
        What.BORE_AFTER: "mm",
        What.CROSSHATCH: "°",
        What.ROUGHNESS: "µm",
        What.TORQUE: "N·m",
    }
    WORDS: Mapping[str, Any] = {
        **dict.fromkeys([what for what in What if what.endswith(("_before", "_after"))], Grade),
        What.THREAD_METHOD: ThreadMethod,
        What.LOCKER: Locker,
    }

    operation = models.ForeignKey(Operation, models.PROTECT, related_name="values")
    what = models.CharField(max_length=20, choices=What)
    number = models.FloatField(null=True, blank=True)
    words = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["operation", "what"],
                name="workorders_operationvalue_once",
                violation_error_message="This operation has that value already; correct it.",
            ),
            models.CheckConstraint(
                name="workorders_operationvalue_one_of_both",
                condition=Q(number__isnull=True) & ~Q(words="") | Q(number__isnull=False, words=""),
                violation_error_message="A value is a number or a word, one of both.",
            ),
            models.CheckConstraint(
                name="workorders_operationvalue_not_negative",
                condition=Q(number__isnull=True) | Q(number__gte=0),
                violation_error_message="A value is 0 or more.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_what_display()}: {self.text}"

    @property
    def unit(self) -> str:
        """The unit of the number; empty for a word."""
        return self.UNITS.get(self.what, "")

    @property
    def text(self) -> str:
        """The value with its unit, or its word."""
        if self.number is not None:
            return f"{self.number:g} {self.unit}".replace(" °", "°").strip()
        choices = self.WORDS.get(self.what)
        return str(choices(self.words).label) if choices else self.words

"""Findings, measurements and rework: what teardown showed and what was done about it."""

from django.db import models
from django.db.models import F, Q

from shop.models import Component, DimensionLimit, Port, SealPosition, Tracked

from .instrument import Instrument
from .rebuild import Rebuild

AT_ONE_PLACE = (
    Q(position__isnull=False, component__isnull=True, port__isnull=True)
    | Q(position__isnull=True, component__isnull=False, port__isnull=True)
    | Q(position__isnull=True, component__isnull=True, port__isnull=False)
)


class AtPlace(models.Model):
    """A row about one seal position, component or port of the unit."""

    position = models.ForeignKey(SealPosition, models.PROTECT, null=True, blank=True, related_name="+")
    component = models.ForeignKey(Component, models.PROTECT, null=True, blank=True, related_name="+")
    port = models.ForeignKey(Port, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        abstract = True

    @property
    def place(self) -> SealPosition | Component | Port | None:
        """The position, component or port that the row is about."""
        return self.position or self.component or self.port


class Finding(AtPlace, Tracked):
    """What teardown showed at one seal position, component or port."""

    class Condition(models.TextChoices):
        SOUND = "sound", "sound"
        HARDENED = "hardened", "hardened"
        SWOLLEN = "swollen", "swollen"
        WORN = "worn", "worn"
        CUT = "cut", "cut or nicked"
        EXTRUDED = "extruded", "extruded"
        ROLLED = "rolled", "rolled or spiralled"
        COMPRESSION_SET = "compression_set", "compression set"
        CRACKED = "cracked", "cracked"
        BLISTERED = "blistered", "blistered"
        BROKEN_UP = "broken_up", "broken up, fragments lost"
        SCORED = "scored", "scored"
        CORRODED = "corroded", "corroded or pitted"
        BENT = "bent", "bent"
        OIL_WET = "oil_wet", "oil-wet"
        LOOSE = "loose", "loose"
        BLOCKED = "blocked", "blocked"
        MISSING = "missing", "missing"
        NOT_EXAMINED = "not_examined", "not examined"

    class Cause(models.TextChoices):
        NONE = "none", "no fault found"
        AGE = "age", "age"
        WEAR = "wear", "normal wear"
        CONTAMINATION = "contamination", "contamination"
        HEAT = "heat", "heat"
        FLUID = "fluid", "unsuitable fluid"
        WATER = "water", "water"
        WRONG_PART = "wrong_part", "wrong seal or size"
        ASSEMBLY = "assembly", "damaged at assembly"
        PRESSURE = "pressure", "over-pressure or wide gap"
        SIDE_LOAD = "side_load", "side load or misalignment"
        CORROSION = "corrosion", "corrosion"
        NOT_DETERMINED = "not_determined", "cause not determined"

    class Action(models.TextChoices):
        RENEWED = "renewed", "renewed"
        KEPT = "kept", "kept"
        REWORKED = "reworked", "reworked"
        REJECTED = "rejected", "rejected, unit not worth rebuilding"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="findings")
    condition = models.CharField(max_length=16, choices=Condition)
    cause = models.CharField(max_length=16, choices=Cause)
    action = models.CharField(max_length=10, choices=Action)
    note = models.TextField(blank=True)
    found_at = models.DateTimeField()
    found_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")

    class Meta:
        # SQLite sorts empty keys first and PostgreSQL last: said aloud, both give seals first.
        ordering = [
            *(F(f"{place}__order").asc(nulls_last=True) for place in ("position", "component", "port")),
            "pk",
        ]
        constraints = [
            models.CheckConstraint(
                name="workorders_finding_one_place",
                condition=AT_ONE_PLACE,
                violation_error_message="A finding is about one position, component or port.",
            ),
            *[
                models.UniqueConstraint(
                    fields=["rebuild", place],
                    condition=Q(**{f"{place}__isnull": False}),
                    name=f"workorders_finding_{place}_once",
                    violation_error_message="This place has its finding already; change that one.",
                )
                for place in ("position", "component", "port")
            ],
            models.CheckConstraint(
                name="workorders_finding_unseen_has_no_cause",
                condition=~Q(condition="not_examined") | Q(cause="not_determined"),
                violation_error_message=(
                    "What was not examined has no known cause: choose 'cause not determined'."
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.place}: {self.get_condition_display()}"


class Measurement(Tracked):
    """One reading of a dimension, before or after the work."""

    class Moment(models.TextChoices):
        AS_FOUND = "as_found", "as found"
        AFTER = "after", "after the work"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="measurements")
    limit = models.ForeignKey(DimensionLimit, models.PROTECT, related_name="+")
    station = models.PositiveSmallIntegerField(default=1)
    moment = models.CharField(max_length=8, choices=Moment, default=Moment.AS_FOUND)
    value = models.FloatField()
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, blank=True, related_name="+")
    measured_at = models.DateTimeField()
    measured_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    sum_within = models.BooleanField("verdict of the sum", null=True, blank=True)
    sum_sentence = models.TextField("arithmetic of the sum", blank=True, default="")

    class Meta:
        ordering = ["limit__order", "moment", "station"]
        constraints = [
            models.UniqueConstraint(
                fields=["rebuild", "limit", "station", "moment"],
                name="workorders_measurement_station_once",
                violation_error_message="This station has its reading already; change that one.",
            ),
            models.CheckConstraint(
                name="workorders_measurement_station_from_one",
                condition=Q(station__gte=1),
                violation_error_message="Stations count from 1.",
            ),
            models.CheckConstraint(
                name="workorders_measurement_sum_has_sentence",
                condition=Q(sum_within__isnull=True) | ~Q(sum_sentence=""),
                violation_error_message="The verdict of a sum needs its arithmetic.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.limit} {self.value:g} {self.limit.unit}"

    @property
    def within(self) -> bool:
        """Whether nothing says no: neither the limits (both included) nor the sum.

        The sum is the one of the time of recording: nothing is judged again afterwards.
        """
        low, high = self.limit.lower, self.limit.upper
        inside = (low is None or self.value >= low) and (high is None or self.value <= high)
        return inside and self.sum_within is not False

    @property
    def verdict(self) -> str:
        """Passes, fails, or not decided where the sum that should judge could not."""
        if not self.within:
            return "fails"
        return "not decided" if self.limit.is_judged_by_sum and self.sum_within is None else "passes"


class Operation(AtPlace, Tracked):
    """A rework operation with who did it and with which tool."""

    class Kind(models.TextChoices):
        CRIMP_REMOVED = "crimp_removed", "crimp machined out"
        PORT_SEAL_RENEWED = "port_seal_renewed", "port seal renewed"
        HOSE_CLIPPED = "hose_clipped", "hose held by screwed clip"
        THREAD_REPAIRED = "thread_repaired", "thread repaired"
        SLEEVED = "sleeved", "sleeved"
        HONED = "honed", "honed"
        POLISHED = "polished", "polished"
        CLEANED = "cleaned", "cleaned"
        OTHER = "other", "other rework"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="operations")
    kind = models.CharField(max_length=20, choices=Kind)
    tool = models.CharField(max_length=120)
    note = models.TextField(blank=True)
    done_at = models.DateTimeField()
    done_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")

    class Meta:
        ordering = ["done_at", "pk"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.place}" if self.place else self.get_kind_display()

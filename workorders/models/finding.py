"""Findings and measurements: what teardown showed."""

from collections.abc import Sequence
from functools import reduce
from operator import or_

from django.db import models
from django.db.models import F, Q

from shop.models import Component, DimensionLimit, Hose, Port, SealPosition, Tracked

from .instrument import Instrument
from .rebuild import Rebuild

# The fields that point to a place: also the kinds of place, in the order in which they are shown.
PLACE_FIELDS = ("position", "component", "port", "hose")


def exactly_one(names: Sequence[str]) -> Q:
    """Return the condition that one of the named fields is set and the others are not."""
    ways = (Q(**{f"{name}__isnull": name != chosen for name in names}) for chosen in names)
    return reduce(or_, ways)


class AtPlace(models.Model):
    """A row about one seal position, component, port or hose of the unit."""

    position = models.ForeignKey(SealPosition, models.PROTECT, null=True, blank=True, related_name="+")
    component = models.ForeignKey(Component, models.PROTECT, null=True, blank=True, related_name="+")
    port = models.ForeignKey(Port, models.PROTECT, null=True, blank=True, related_name="+")
    hose = models.ForeignKey(Hose, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        abstract = True

    @property
    def place(self) -> SealPosition | Component | Port | Hose | None:
        """The position, component, port or hose that the row is about."""
        return self.position or self.component or self.port or self.hose


class Grade(models.TextChoices):
    """How much of it there is: the shop's own grades, common practice, no source."""

    NONE = "none", "none"
    LIGHT = "light", "light"
    MODERATE = "moderate", "moderate"
    HEAVY = "heavy", "heavy"


# A hose in one of these goes out again only with a reason of the lead (common practice, no source).
UNSAFE_HOSE = ("chafed_through", "swollen", "blistered", "cracked", "leaking_crimp")


class Finding(AtPlace, Tracked):
    """What teardown showed at one seal position, component, port or hose."""

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
        CHAFED_COVER = "chafed_cover", "chafed, cover only"
        CHAFED_THROUGH = "chafed_through", "chafed to the reinforcement"
        KINKED = "kinked", "kinked"
        LEAKING_CRIMP = "leaking_crimp", "leaking at the crimp"
        END_CORRODED = "end_corroded", "end fitting corroded"
        LEAKS_INSIDE = "leaks_inside", "leaks inside, past the piston"
        NOT_EXAMINED = "not_examined", "not examined"
        NOT_HERE = "not_here", "not here, stayed with the machine"

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

    class Evidence(models.TextChoices):
        """What shows a leak past a piston; drift is not among it, since it shows none."""

        NONE = "", "not asked"
        BYPASS = "bypass", "a bypass step that failed"
        SEEN = "seen", "damage seen at the seal, its groove or the bore"

    class Action(models.TextChoices):
        RENEWED = "renewed", "renewed"
        KEPT = "kept", "kept"
        REWORKED = "reworked", "reworked"
        REJECTED = "rejected", "rejected, unit not worth rebuilding"
        NONE = "none", "nothing, not here"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="findings")
    condition = models.CharField(max_length=16, choices=Condition)
    cause = models.CharField(max_length=16, choices=Cause)
    action = models.CharField(max_length=10, choices=Action)
    note = models.TextField(blank=True)
    length_mm = models.FloatField("length as found, mm", null=True, blank=True)
    kept_reason = models.CharField("why it is kept", max_length=200, blank=True, default="")
    no_photo_reason = models.CharField("why its port has no photo", max_length=200, blank=True, default="")
    evidence = models.CharField("shown by", max_length=6, choices=Evidence, blank=True, default="")
    evidence_result = models.ForeignKey(
        "workorders.StepResult", models.PROTECT, null=True, blank=True, related_name="+"
    )
    corrosion = models.CharField(max_length=8, choices=Grade, blank=True, default="")
    pitting = models.CharField(max_length=8, choices=Grade, blank=True, default="")
    found_at = models.DateTimeField()
    found_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")

    class Meta:
        # SQLite sorts empty keys first and PostgreSQL last: said aloud, both give seals first.
        ordering = [
            *(F(f"{place}__order").asc(nulls_last=True) for place in PLACE_FIELDS),
            "pk",
        ]
        constraints = [
            models.CheckConstraint(
                name="workorders_finding_one_place",
                condition=exactly_one(PLACE_FIELDS),
                violation_error_message="A finding is about one position, component, port or hose.",
            ),
            *[
                models.UniqueConstraint(
                    fields=["rebuild", place],
                    condition=Q(**{f"{place}__isnull": False}),
                    name=f"workorders_finding_{place}_once",
                    violation_error_message="This place has its finding already; change that one.",
                )
                for place in PLACE_FIELDS
            ],
            models.CheckConstraint(
                name="workorders_finding_unseen_has_no_cause",
                condition=~Q(condition="not_examined") | Q(cause="not_determined"),
                violation_error_message=(
                    "What was not examined has no known cause: choose 'cause not determined'."
                ),
            ),
            models.CheckConstraint(
                name="workorders_finding_hose_not_here",
                condition=(~Q(condition="not_here") & ~Q(action="none"))
                | Q(condition="not_here", action="none", cause="not_determined", hose__isnull=False),
                violation_error_message=(
                    "Only a hose can be not here; nothing is done to it, and no cause is known."
                ),
            ),
            models.CheckConstraint(
                name="workorders_finding_unsafe_hose_kept",
                condition=Q(hose__isnull=True)
                | ~Q(action="kept", condition__in=UNSAFE_HOSE)
                | ~Q(kept_reason=""),
                violation_error_message=(
                    "A hose in this state is replaced. The lead alone may keep it, with a reason."
                ),
            ),
            models.CheckConstraint(
                name="workorders_finding_length_of_hose",
                condition=Q(length_mm__isnull=True) | Q(length_mm__gt=0, hose__isnull=False),
                violation_error_message="Only a hose has its length taken, above 0 mm.",
            ),
            models.CheckConstraint(
                name="workorders_finding_grades_of_corroded",
                condition=Q(corrosion="", pitting="")
                | (Q(condition="corroded") & ~Q(corrosion__in=["", "none"], pitting__in=["", "none"])),
                violation_error_message=(
                    "Only what is corroded or pitted is graded, and then one of the two is more than “none”."
                ),
            ),
            models.CheckConstraint(
                name="workorders_finding_leak_inside_shown",
                condition=~Q(condition="leaks_inside")
                | Q(evidence="bypass", evidence_result__isnull=False)
                | (Q(evidence="seen") & ~Q(note="")),
                violation_error_message=(
                    "A piston seal that leaks inside is shown by a bypass step that failed, or by damage "
                    "that was seen and noted. Drift does not show it."
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.place}: {self.get_condition_display()}"

    @property
    def grades(self) -> str:
        """How far it is corroded and pitted, in words; empty where it is not graded."""
        told = [("Corrosion", self.get_corrosion_display()), ("pitting", self.get_pitting_display())]
        words = ", ".join(f"{name} {grade}" for name, grade in told if grade)
        return f"{words[0].upper()}{words[1:]}." if words else ""

    @property
    def note_in_full(self) -> str:
        """The note with what is recorded beside it: grades; of a hose its length and the reasons given."""
        parts = [
            self.grades,
            self.note,
            f"Shown by: {self.get_evidence_display()}." if self.evidence else "",
            f"Length as found {self.length_mm:g} mm." if self.length_mm else "",
            f"Kept by the lead's word: {self.kept_reason}" if self.kept_reason else "",
            f"No photo of its port: {self.no_photo_reason}" if self.no_photo_reason else "",
        ]
        return " ".join(part for part in parts if part)


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
        """Passes, fails, or not decided where the sum that should judge could not, or nothing judges yet."""
        if not self.within:
            return "fails"
        if self.limit.is_judged_by_nothing:
            return "not decided"
        return "not decided" if self.limit.is_judged_by_sum and self.sum_within is None else "passes"

"""Technique: how a step is done on a unit type, how tight it is fastened, and with which special tools."""

from django.db import models
from django.db.models import F, Q

from .base import Tracked
from .unit_type import Component, Port, SealPosition, TypeRevision

AT_MOST_ONE_PLACE = (
    Q(component__isnull=True, port__isnull=True)
    | Q(position__isnull=True, port__isnull=True)
    | Q(position__isnull=True, component__isnull=True)
)


class Step(models.TextChoices):
    """The steps of a rebuild at which somebody stands at the bench."""

    TEARDOWN = "teardown", "teardown"
    CLEANING = "cleaning", "cleaning"
    REWORK = "rework", "rework"
    BUILDING = "building", "building"
    TEST = "test", "pressure test"
    PACKING = "packing", "packing"


class Locker(models.TextChoices):
    """Strength of a thread locker, in words; which product that is stays with the shop."""

    LOW = "low", "low strength"
    MEDIUM = "medium", "medium strength"
    HIGH = "high", "high strength"


def one_place(table: str) -> models.CheckConstraint:
    """Return the check that a row is about one place at most; with none it is about the whole unit."""
    return models.CheckConstraint(
        name=f"shop_{table}_one_place",
        condition=AT_MOST_ONE_PLACE,
        violation_error_message="Name one position, component or port, or the whole unit.",
    )


class TechniqueRow(Tracked):
    """What notes, fastening figures and needs of tools share: a place of a revision, and an order."""

    position = models.ForeignKey(SealPosition, models.PROTECT, null=True, blank=True, related_name="+")
    component = models.ForeignKey(Component, models.PROTECT, null=True, blank=True, related_name="+")
    port = models.ForeignKey(Port, models.PROTECT, null=True, blank=True, related_name="+")
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        abstract = True
        ordering = ["order", "pk"]

    @property
    def place(self) -> SealPosition | Component | Port | None:
        """The position, component or port that the row is about; None for the whole unit."""
        return self.position or self.component or self.port

    @property
    def place_name(self) -> str:
        """The place in words."""
        return str(self.place) if self.place else "whole unit"


class TechniqueNote(TechniqueRow):
    """How one step is done at a place of a unit type."""

    revision = models.ForeignKey(TypeRevision, models.PROTECT, related_name="technique_notes")
    step = models.CharField(max_length=10, choices=Step)
    text = models.TextField("what to do")
    basis = models.CharField("where it comes from", max_length=300, default="common practice, no source")

    class Meta(TechniqueRow.Meta):
        constraints = [
            one_place("techniquenote"),
            models.CheckConstraint(
                name="shop_techniquenote_has_text",
                condition=~Q(text=""),
                violation_error_message="Write what is to be done.",
            ),
            models.CheckConstraint(
                name="shop_techniquenote_has_basis",
                condition=~Q(basis=""),
                violation_error_message="Say where the note comes from; “common practice” is an answer.",
            ),
        ]

    def __str__(self) -> str:
        return f"Note on {self.get_step_display()}: {self.text[:60]}"  # no place: a history reads many


class FasteningFigure(TechniqueRow):
    """How tight a thread of a unit type is fastened, and with which thread locker."""

    class Threads(models.TextChoices):
        DRY = "dry", "dry"
        OILED = "oiled", "oiled"
        LOCKER = "locker", "wetted by the thread locker"

    revision = models.ForeignKey(TypeRevision, models.PROTECT, related_name="fastening_figures")
    what = models.CharField("what is fastened", max_length=120)
    pieces = models.PositiveSmallIntegerField("how many of them", default=1)
    torque_nm = models.FloatField("torque, N·m", null=True, blank=True)
    tolerance_nm = models.FloatField("± on the torque, N·m", null=True, blank=True)
    least_nm = models.FloatField("torque, least, N·m", null=True, blank=True)
    most_nm = models.FloatField("torque, most, N·m", null=True, blank=True)
    threads = models.CharField("threads are", max_length=8, choices=Threads, default=Threads.DRY)
    sequence = models.CharField("order and stages", max_length=200, blank=True)
    locker = models.CharField("thread locker", max_length=8, choices=Locker, blank=True)
    locker_note = models.CharField("which one the shop uses", max_length=120, blank=True)
    cure_h = models.FloatField("cure before pressure, h", null=True, blank=True)
    basis = models.CharField("basis of the figure", max_length=300)
    required = models.BooleanField("must be recorded before the build is signed", default=False)

    class Meta(TechniqueRow.Meta):
        constraints = [
            one_place("fasteningfigure"),
            models.CheckConstraint(
                name="shop_fasteningfigure_has_basis",
                condition=~Q(basis=""),
                violation_error_message=(
                    "A fastening figure needs its written basis: a drawing, a calculation, a named source."
                ),
            ),
            models.CheckConstraint(
                name="shop_fasteningfigure_torque_whole",
                condition=Q(torque_nm__isnull=True, tolerance_nm__isnull=True)
                | Q(
                    torque_nm__isnull=False,
                    tolerance_nm__isnull=False,
                    tolerance_nm__gte=0,
                    torque_nm__gt=F("tolerance_nm"),
                    least_nm__isnull=True,
                    most_nm__isnull=True,
                ),
                violation_error_message=(
                    "Give the torque with its ±, smaller than the torque; or least and most, not both ways."
                ),
            ),
            models.CheckConstraint(
                name="shop_fasteningfigure_span_whole",
                condition=Q(least_nm__isnull=True, most_nm__isnull=True)
                | Q(
                    least_nm__isnull=False, most_nm__isnull=False, least_nm__gt=0, least_nm__lte=F("most_nm")
                ),
                violation_error_message="Least and most torque go together: above zero, and in that order.",
            ),
            models.CheckConstraint(
                name="shop_fasteningfigure_says_something",
                condition=Q(torque_nm__isnull=False) | Q(least_nm__isnull=False) | ~Q(locker=""),
                violation_error_message="Give a torque, or a thread locker.",
            ),
            models.CheckConstraint(
                name="shop_fasteningfigure_cure_of_locker",
                condition=Q(cure_h__isnull=True) | (Q(cure_h__isnull=False, cure_h__gt=0) & ~Q(locker="")),
                violation_error_message="A time to cure, above zero, belongs to a thread locker.",
            ),
            models.CheckConstraint(
                name="shop_fasteningfigure_pieces",
                condition=Q(pieces__gte=1),
                violation_error_message="At least one is fastened.",
            ),
        ]

    def __str__(self) -> str:
        return self.what

    @property
    def title(self) -> str:
        """What is fastened and at which place."""
        return f"{self.what}, {self.place_name}"

    @property
    def low_nm(self) -> float | None:
        """The least torque that is within the figure, in N·m; None where it names no torque."""
        if self.torque_nm is not None and self.tolerance_nm is not None:
            return self.torque_nm - self.tolerance_nm
        return self.least_nm

    @property
    def high_nm(self) -> float | None:
        """The most torque that is within the figure, in N·m; None where it names no torque."""
        if self.torque_nm is not None and self.tolerance_nm is not None:
            return self.torque_nm + self.tolerance_nm
        return self.most_nm

    @property
    def torque_text(self) -> str:
        """The torque as it is read out at the bench; empty where the figure names none."""
        if self.torque_nm is not None:
            return f"{self.torque_nm:g} ± {self.tolerance_nm:g} N·m"
        if self.least_nm is not None:
            return f"{self.least_nm:g} to {self.most_nm:g} N·m"
        return ""

    @property
    def locker_text(self) -> str:
        """The thread locker with its time to cure; empty where the figure names none."""
        if not self.locker:
            return ""
        words = f"thread locker, {self.get_locker_display()}"
        return words + (f", {self.cure_h:g} h to cure" if self.cure_h else "")

    @property
    def text(self) -> str:
        """Torque, threads and thread locker in one line."""
        wetted = self.locker and self.threads == self.Threads.LOCKER
        threads = "" if wetted else f"threads {self.get_threads_display()}"
        return ", ".join(part for part in (self.torque_text, threads, self.locker_text) if part)

    def within(self, torque_nm: float) -> bool:
        """Tell whether a torque reached lies within the figure, both ends included.

        A difference below a millionth of a N·m is a rounding of the sum and not a torque.
        """
        low, high = self.low_nm, self.high_nm
        assert low is not None
        assert high is not None
        return low - 1e-6 <= torque_nm <= high + 1e-6


class SpecialTool(Tracked):
    """A special tool or fixture of the shop, and where it is kept."""

    number = models.CharField("own number", max_length=20, unique=True)
    name = models.CharField(max_length=120)
    kept_at = models.CharField("where it is kept", max_length=80)
    note = models.TextField(blank=True)
    gone = models.BooleanField("no longer there", default=False)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.CheckConstraint(
                name="shop_specialtool_is_named",
                condition=~Q(number="") & ~Q(name="") & ~Q(kept_at=""),
                violation_error_message="A tool has its number, its name and the place where it is kept.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"


class ToolNeed(TechniqueRow):
    """A special tool that a step at a place of a unit type needs."""

    revision = models.ForeignKey(TypeRevision, models.PROTECT, related_name="tool_needs")
    tool = models.ForeignKey(SpecialTool, models.PROTECT, related_name="needs")
    step = models.CharField(max_length=10, choices=Step, blank=True)
    note = models.CharField("what it is for", max_length=200, blank=True)

    class Meta(TechniqueRow.Meta):
        constraints = [one_place("toolneed")]

    def __str__(self) -> str:
        return f"Need of a special tool{': ' if self.note else ''}{self.note}"

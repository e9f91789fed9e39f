"""Instruments found out of tolerance: what each touched since its last good calibration, and the flags.

Everything is read from the rows as they stand; nothing of it is stored. A calibration corrected, a test
superseded or a size measured anew clears the flag by itself. Days count whole: what was read on the day
of the last good calibration, or on the day of finding, is taken in.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import Exists, Model, OuterRef, Q, QuerySet
from django.db.models.functions import Coalesce
from django.urls import reverse
from django.utils import timezone

from shop.errors import RuleBroken
from workorders.calc.serial import grouped
from workorders.models import (
    Calibration,
    CalibrationReview,
    Measurement,
    Operation,
    PackedUnit,
    PressureTest,
    Reading,
    Rebuild,
    Release,
)
from workorders.services.instruments import day
from workorders.services.missing import Missing

Decision = CalibrationReview.Decision
SUPERSEDED = PressureTest.State.SUPERSEDED


@dataclass(frozen=True, kw_only=True)
class Window:
    """The days on which an instrument is not to be trusted: from its last good calibration to a bad one."""

    calibration: Calibration
    since: date | None

    @property
    def start(self) -> datetime | None:
        """The beginning of the day of the last good calibration; None where there was none."""
        return _midnight(self.since) if self.since else None

    @property
    def end(self) -> datetime:
        """The end of the day on which it was found out of tolerance."""
        return _midnight(self.calibration.calibrated_on + timedelta(days=1))

    def holds(self, at: datetime) -> bool:
        """Whether a time lies inside."""
        return (self.start is None or self.start <= at) and at < self.end

    @property
    def words(self) -> str:
        """The days in words."""
        until = day(self.calibration.calibrated_on)
        return f"from {day(self.since)} to {until}" if self.since else f"up to {until}"


def _midnight(on: date) -> datetime:
    return timezone.make_aware(datetime.combine(on, time.min))


@dataclass(frozen=True, kw_only=True)
class Flag:
    """One rebuild that an instrument found out of tolerance touched, and the lead's word that covers it."""

    window: Window
    rebuild: Rebuild
    latest_at: datetime
    count: int
    review: CalibrationReview | None

    @property
    def calibration(self) -> Calibration:
        """The calibration that found the instrument out of tolerance."""
        return self.window.calibration

    @property
    def matters(self) -> bool:
        """Whether a release rests on it, or one may be signed yet."""
        return bool(self.rebuild.released) or self.rebuild.is_open  # type: ignore[attr-defined]

    @property
    def is_open(self) -> bool:
        """Whether it waits for the lead."""
        return self.matters and self.review is None

    @property
    def forbids(self) -> bool:
        """Whether no release may be signed on it, and nothing here may leave."""
        return self.matters and (self.review is None or self.review.decision == Decision.AGAIN)

    @property
    def url(self) -> str:
        """The address of the page where it is reviewed."""
        return reverse("workorders:calibration_review", args=[self.calibration.pk, self.rebuild.pk])

    @property
    def state(self) -> str:
        """Where it stands, in words."""
        if self.review:
            return f"reviewed: {self.review.get_decision_display()}"
        return "to review" if self.matters else "nothing rests on it"

    @property
    def sentence(self) -> str:
        """What is to be done before the unit goes on."""
        values = (
            "1 value of this rebuild was" if self.count == 1 else f"{self.count} values of this rebuild were"
        )
        told = (
            f"{self.calibration.instrument.code} was found out of tolerance on "
            f"{day(self.calibration.calibrated_on)}, and {values} taken with it"
        )
        if self.review:
            return f"{told}; the lead asks for it to be done again, and reviews what stays"
        return f"{told}; the lead reviews it first"


def windows(calibrations: "QuerySet[Calibration] | None" = None) -> list[Window]:
    """Return the window of each calibration that found its instrument out of tolerance.

    One query where there is none, else two.
    """
    rows = Calibration.objects.all() if calibrations is None else calibrations
    bad = list(rows.filter(in_tolerance=False).select_related("instrument"))
    if not bad:
        return []
    known: dict[int, list[Calibration]] = {}
    for row in Calibration.objects.filter(instrument__in={row.instrument_id for row in bad}):
        known.setdefault(row.instrument_id, []).append(row)
    return [Window(calibration=row, since=_last_good(row, known[row.instrument_id])) for row in bad]


def _last_good(row: Calibration, rows: Iterable[Calibration]) -> date | None:
    before = [
        other.calibrated_on
        for other in rows
        if other.left_good and (other.calibrated_on, other.pk) < (row.calibrated_on, row.pk)
    ]
    return max(before, default=None)


def readings_in(found: Sequence[Window]) -> "QuerySet[Reading]":
    """Return the test readings taken inside the windows, superseded tests included."""
    either = _inside(found, "result__done_at") | _inside(found, "result__done_at", of="second_instrument")
    return Reading.objects.filter(either)


def measurements_in(found: Sequence[Window]) -> "QuerySet[Measurement]":
    """Return the measurements taken inside the windows."""
    return Measurement.objects.filter(_inside(found, "measured_at"))


def operations_in(found: Sequence[Window]) -> "QuerySet[Operation]":
    """Return the torques and values of rework taken inside the windows; ``taken_at`` is when."""
    rows = Operation.objects.alias().annotate(taken_at=Coalesce("fastened_at", "done_at"))
    return rows.filter(_inside(found, "taken_at"))


def _inside(found: Sequence[Window], at: str, of: str = "instrument") -> Q:
    wanted = Q(pk__in=[])
    for window in found:
        one = Q(**{of: window.calibration.instrument_id, f"{at}__lt": window.end})
        if window.start:
            one &= Q(**{f"{at}__gte": window.start})
        wanted |= one
    return wanted


def flags(
    *,
    rebuilds: Collection[int] | None = None,
    units: Collection[int] | None = None,
    found: Sequence[Window] | None = None,
) -> list[Flag]:
    """Return a flag for each rebuild that a bad instrument touched, latest finding first.

    ``rebuilds`` or ``units`` narrow them; ``found`` are the windows asked about, all by default. What
    belongs to a superseded test raises no flag. One query where no instrument was ever found out of
    tolerance, else seven at most.
    """
    known = windows() if found is None else found
    if not known:
        return []
    touched = _touched(known, rebuilds, units)
    if not touched:
        return []
    rows = _rebuilds({rebuild for _calibration, rebuild in touched})
    words = _reviews(touched)
    by_pk = {window.calibration.pk: window for window in known}
    made = [
        Flag(
            window=by_pk[key[0]],
            rebuild=rows[key[1]],
            latest_at=max(values.values()),
            count=len(values),
            review=_covering(words.get(key), by_pk[key[0]].calibration, values),
        )
        for key, values in touched.items()
    ]
    return sorted(made, key=lambda flag: (flag.calibration.calibrated_on, flag.latest_at), reverse=True)


Key = tuple[int, int]  # calibration, rebuild
Values = dict[str, datetime]  # when each value was taken, by its name on the sheet of a review


def _touched(
    found: Sequence[Window], rebuilds: Collection[int] | None, units: Collection[int] | None
) -> dict[Key, Values]:
    """Return every standing value inside the windows, by calibration and rebuild."""
    of_instrument: dict[int, list[Window]] = {}
    for window in found:
        of_instrument.setdefault(window.calibration.instrument_id, []).append(window)
    touched: dict[Key, Values] = {}
    for name, instrument, rebuild, at in _times(found, rebuilds, units):
        for window in of_instrument.get(instrument, ()):
            if window.holds(at):
                touched.setdefault((window.calibration.pk, rebuild), {})[name] = at
    return touched


def _times(
    found: Sequence[Window], rebuilds: Collection[int] | None, units: Collection[int] | None
) -> Iterator[tuple[str, int, int, datetime]]:
    sources: tuple[tuple[QuerySet[Any], str, str], ...] = (
        (
            readings_in(found).exclude(result__pressure_test__state=SUPERSEDED),
            "result__pressure_test__rebuild",
            "result__done_at",
        ),
        (measurements_in(found), "rebuild", "measured_at"),
        (operations_in(found), "rebuild", "taken_at"),
    )
    for rows, path, at in sources:
        narrowed = rows.order_by()
        if rebuilds is not None:
            narrowed = narrowed.filter(**{f"{path}__in": rebuilds})
        if units is not None:
            narrowed = narrowed.filter(**{f"{path}__unit__in": units})
        second = ["second_instrument_id"] if rows.model is Reading else []
        names = ["pk", f"{path}_id", at, "instrument_id", *second]
        for pk, rebuild, taken_at, *instruments in narrowed.values_list(*names):
            for instrument in instruments:
                if instrument:
                    yield name_of(rows.model, pk), instrument, rebuild, taken_at


def name_of(model: type[Model], pk: int) -> str:
    """Return the name of a value on the sheet of a review, such as ``reading 12``."""
    return f"{model._meta.model_name} {pk}"


def _rebuilds(keys: Collection[int]) -> Mapping[int, Rebuild]:
    released = Exists(Release.objects.filter(rebuild=OuterRef("pk")))
    left = Exists(PackedUnit.objects.filter(rebuild=OuterRef("pk")))
    rows = Rebuild.objects.annotate(released=released, left=left)
    return rows.select_related("unit__unit_type", "work_order__customer").in_bulk(keys)


def _reviews(keys: Iterable[Key]) -> dict[Key, CalibrationReview]:
    """Return the latest review by calibration and rebuild."""
    pairs = list(keys)
    rows = CalibrationReview.objects.filter(
        calibration__in={pair[0] for pair in pairs}, rebuild__in={pair[1] for pair in pairs}
    )
    found = rows.select_related("by").order_by("pk")
    return {(row.calibration_id, row.rebuild_id): row for row in found}


def _covering(
    review: CalibrationReview | None, calibration: Calibration, values: Values
) -> CalibrationReview | None:
    """Return a review that saw every value as it stands now, at the error as it stands now."""
    if review is None or any(at > review.at for at in values.values()):
        return None
    same = (review.error_found, review.error_at) == (calibration.error_found, calibration.error_at)
    return review if same and set(values) <= {line["name"] for line in review.seen} else None


def missing_review(rebuild: Rebuild) -> list[Missing]:
    """Return by name the reviews that a release waits for."""
    return [
        Missing(
            f"instrument {flag.calibration.instrument.code}",
            flag.sentence.removeprefix(f"{flag.calibration.instrument.code} "),
            flag.url,
        )
        for flag in flags(rebuilds=[rebuild.pk])
        if flag.forbids
    ]


def refuse_unreviewed(*rebuilds: Rebuild) -> None:
    """Raise RuleBroken, naming unit and instrument, where one of the rebuilds may not leave yet."""
    for flag in flags(rebuilds=[rebuild.pk for rebuild in rebuilds]):
        if flag.forbids:
            raise RuleBroken(f"Unit {grouped(flag.rebuild.unit.serial)} may not leave: {flag.sentence}.")

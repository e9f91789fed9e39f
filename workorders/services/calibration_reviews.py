"""The sheet of what a bad instrument touched, rebuild by rebuild, and the lead's review of each."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

from shop.errors import RuleBroken
from shop.services.writing import Act, keep, locked, service
from workorders.models import (
    Calibration,
    CalibrationReview,
    Measurement,
    Operation,
    OperationValue,
    PressureTest,
    Reading,
    Rebuild,
    Verdict,
)
from workorders.services.error_as_found import (
    Recheck,
    recheck_measurement,
    recheck_operation,
    recheck_reading,
)
from workorders.services.found_out import (
    Flag,
    Window,
    flags,
    measurements_in,
    name_of,
    operations_in,
    readings_in,
    windows,
)

Decision = CalibrationReview.Decision


@dataclass(frozen=True, kw_only=True)
class Line:
    """One value taken with the instrument; ``row`` is what keeps it."""

    calibration: Calibration
    row: Reading | Measurement | Operation
    rebuild_id: int
    at: datetime
    kind: str
    what: str
    value: float | None
    unit: str
    verdict: str
    operation_value: OperationValue | None = None
    test: PressureTest | None = None

    @property
    def name(self) -> str:
        """Its name on the sheet of a review."""
        return name_of(type(self.row), self.row.pk)

    @property
    def stands(self) -> bool:
        """Whether it belongs to the record that stands, and not to a superseded test."""
        return self.test is None or self.test.state != PressureTest.State.SUPERSEDED

    @property
    def uncertainty(self) -> float | None:
        """The expanded uncertainty of a test reading."""
        return self.row.uncertainty if isinstance(self.row, Reading) else None

    @cached_property
    def recheck(self) -> Recheck:
        """The verdicts with the error as found; worked out when asked for, as logger files are read."""
        if isinstance(self.row, Reading):
            return recheck_reading(self.row, self.calibration)
        if isinstance(self.row, Measurement):
            return recheck_measurement(self.row, self.calibration)
        assert self.operation_value is not None
        return recheck_operation(self.row, self.operation_value, self.calibration)

    def as_seen(self) -> dict[str, Any]:
        """Return what a review keeps of it."""
        return {
            "name": self.name,
            "what": f"{self.kind}: {self.what}",
            "value": self.value,
            "unit": self.unit,
            "verdict": self.verdict,
            "corrected": self.recheck.corrected,
            "corrected_words": self.recheck.corrected_words,
            "widened": self.recheck.widened,
            "widened_words": self.recheck.widened_words,
            "remark": self.recheck.remark,
        }


@dataclass(frozen=True, kw_only=True)
class Touched:
    """One rebuild that the instrument touched: its values, where the unit is, and its flag, if any."""

    rebuild: Rebuild
    lines: tuple[Line, ...]
    flag: Flag | None

    @property
    def where(self) -> str:
        """Where the unit is, and with whom."""
        packed = getattr(self.rebuild, "packed", None)
        stage = str(self.rebuild.get_stage_display())
        return f"{stage}: {packed.parcel.shipment.recipient}, {packed.parcel.shipment}" if packed else stage

    @property
    def release(self) -> str:
        """The number of the latest release of the rebuild; empty without one."""
        rows = list(self.rebuild.releases.all())
        return rows[-1].number if rows else ""

    @property
    def rests(self) -> bool:
        """Whether a release rests on any of the values."""
        return bool(self.release) and any(line.stands for line in self.lines)

    @property
    def warranty(self) -> str:
        """The term of its warranty."""
        row = getattr(self.rebuild, "warranty", None)
        return f"warranty until {row.ends_on:%d %b %Y}" if row else "no warranty"


def window_of(calibration: Calibration) -> Window:
    """Return the days that a calibration casts doubt on.

    Raises RuleBroken for one that found its instrument good.
    """
    found = windows(Calibration.objects.filter(pk=calibration.pk))
    if not found:
        raise RuleBroken("This calibration found the instrument in tolerance: nothing is in doubt.")
    return found[0]


def touched_by(window: Window, *, rebuilds: Sequence[int] | None = None) -> list[Touched]:
    """Return what an instrument touched inside a window, rebuild by rebuild, the latest first.

    Superseded tests are listed too. The number of queries does not grow with rows.
    """
    lines: dict[int, list[Line]] = {}
    for line in _lines(window, rebuilds):
        lines.setdefault(line.rebuild_id, []).append(line)
    known = Rebuild.objects.select_related(
        "unit__unit_type", "work_order__customer", "packed__parcel__shipment__recipient", "warranty"
    ).prefetch_related("releases")
    found = known.in_bulk(lines)
    flagged = {flag.rebuild.pk: flag for flag in flags(rebuilds=list(lines), found=[window])}
    made = [
        Touched(
            rebuild=found[pk],
            lines=tuple(sorted(rows, key=lambda line: line.at)),
            flag=flagged.get(pk),
        )
        for pk, rows in lines.items()
    ]
    return sorted(made, key=lambda row: row.lines[-1].at, reverse=True)


def _lines(window: Window, rebuilds: Sequence[int] | None) -> Iterable[Line]:
    def only(path: str) -> dict[str, Any]:
        return {} if rebuilds is None else {f"{path}__in": rebuilds}

    yield from _readings(window, only("result__pressure_test__rebuild"))
    yield from _measurements(window, only("rebuild"))
    yield from _operations(window, only("rebuild"))


def _readings(window: Window, only: Mapping[str, Any]) -> Iterable[Line]:
    rows = (
        readings_in([window])
        .filter(**only)
        .select_related("result__pressure_test", "result__step", "limit__step", "trace__file")
    )
    for row in rows:
        test = row.result.pressure_test
        yield Line(
            calibration=window.calibration,
            row=row,
            rebuild_id=test.rebuild_id,
            at=row.result.done_at,
            kind=f"test {test.number}",
            what=f"{row.result.step}, {row.limit.reading}",
            value=row.value,
            unit=row.unit,
            verdict=row.verdict,
            test=test,
        )


def _measurements(window: Window, only: Mapping[str, Any]) -> Iterable[Line]:
    for row in measurements_in([window]).filter(**only).select_related("limit"):
        yield Line(
            calibration=window.calibration,
            row=row,
            rebuild_id=row.rebuild_id,
            at=row.measured_at,
            kind="measurement",
            what=f"{row.limit}, station {row.station}, {row.get_moment_display()}",
            value=row.value,
            unit=row.limit.unit,
            verdict=row.verdict.replace(" ", "_"),
        )


def _operations(window: Window, only: Mapping[str, Any]) -> Iterable[Line]:
    rows = (
        operations_in([window])
        .filter(**only)
        .select_related("figure", "position", "component", "port", "hose")
    )
    for row in rows.prefetch_related("values"):
        for value in row.values.all():
            if value.number is None:
                continue
            torque = value.what == OperationValue.What.TORQUE
            judged = torque and row.within is not None
            yield Line(
                calibration=window.calibration,
                row=row,
                rebuild_id=row.rebuild_id,
                at=row.taken_at,  # type: ignore[attr-defined]
                kind="torque" if torque else "rework",
                what=f"{row}, {value.get_what_display()}",
                value=value.number,
                unit=value.unit,
                verdict=str(Verdict.PASSES if row.within else Verdict.FAILS) if judged else "",
                operation_value=value,
            )


@service("review_instrument")
def review_rebuild(
    *, act: Act, calibration: Calibration, rebuild: Rebuild, decision: str
) -> CalibrationReview:
    """Record the lead's word on a rebuild that a bad instrument touched, with the sheet as it was.

    Raises RuleBroken without a reason, where nothing standing was touched, where readings are to stay
    valid without an error as found to judge by, or although a verdict with that error fails, and where
    a customer is to be told of a unit that was never released.
    """
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why; the reason stays with the record."})
    held, row = locked(calibration), locked(rebuild)
    window = window_of(held)
    sheet = next(iter(touched_by(window, rebuilds=[row.pk])), None)
    if sheet is None or sheet.flag is None:
        raise RuleBroken("Nothing in this rebuild rests on the instrument.")
    if decision == Decision.STANDS:
        _refuse_unproved(held, sheet)
    if decision == Decision.TELL and not sheet.release:
        message = "No release rests on this: nobody has the unit. Choose one of the others."
        raise RuleBroken(fields={"decision": message})
    return keep(
        CalibrationReview(
            calibration=held,
            rebuild=row,
            decision=decision,
            error_found=held.error_found,
            error_at=held.error_at,
            seen=[line.as_seen() for line in sheet.lines if line.stands],
            by=act.by,
            at=act.at,
            why=act.why.strip(),
        )
    )


def _refuse_unproved(calibration: Calibration, sheet: Touched) -> None:
    if calibration.error_found is None:
        message = "Enter the error as found with the calibration first: nothing shows that it is small."
        raise RuleBroken(fields={"decision": message})
    failing = [line.what for line in sheet.lines if line.stands and line.recheck.corrected == Verdict.FAILS]
    if failing:
        message = f"Corrected by the error, {'; '.join(failing)} fails: it does not stay valid."
        raise RuleBroken(fields={"decision": message})

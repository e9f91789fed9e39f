"""What a reading comes to with the error that its instrument was found to have: corrected, and widened.

The error is known at one reading of the instrument only. Elsewhere it is taken both ways, as the same
error and as one in proportion to the reading, and the worse of the two counts (common practice, no
source). Nothing here changes what was recorded.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from shop.errors import RuleBroken
from shop.models import StepLimit
from workorders.calc.verdict import Verdict as Judged
from workorders.calc.verdict import judge
from workorders.models import (
    Calibration,
    Instrument,
    Measurement,
    Operation,
    OperationValue,
    Reading,
    Verdict,
)
from workorders.services.readings import evaluated_again, worst
from workorders.services.ways.base import gauge_of

# How many of the second unit one of the first is.
FACTORS: Mapping[tuple[str, str], float] = {("mm", "µm"): 1000.0, ("µm", "mm"): 0.001}
Way = StepLimit.Judged
NOT_KNOWN = "the error as found is not entered"


@dataclass(frozen=True, kw_only=True)
class Found:
    """The error as found, reading minus true value, at one reading; both in ``unit``."""

    error: float
    at: float
    unit: str

    @property
    def gain(self) -> float:
        """The error as a share of the reading; 0 where it was found at zero."""
        return self.error / self.at if self.at else 0.0

    def errors(self, value: float) -> tuple[float, ...]:
        """Return the errors that a reading may have: the same everywhere, and in proportion."""
        return (self.error, self.gain * value) if self.at else (self.error,)

    def most(self, value: float) -> float:
        """Return the larger of the two, without its sign."""
        return max(map(abs, self.errors(value)))


@dataclass(frozen=True, kw_only=True)
class Recheck:
    """Two verdicts beside the recorded one, as stored codes, each with its arithmetic.

    Both are empty where nothing judges the value, or where the error is not known.
    """

    corrected: str = ""
    corrected_words: str = ""
    widened: str = ""
    widened_words: str = ""
    remark: str = ""

    @property
    def worse(self) -> str:
        """The worse of the two."""
        return worst([self.corrected, self.widened])


BY_A_SUM = Recheck(
    corrected=str(Verdict.NOT_DECIDED),
    widened=str(Verdict.NOT_DECIDED),
    remark="Judged by a sum, which is not worked out again.",
)


def found_error(calibration: Calibration, unit: str) -> Found | None:
    """Return the error of a calibration in a unit; None where none is entered, or units do not meet."""
    error, at, own = calibration.error_found, calibration.error_at, calibration.instrument.unit
    if error is None or at is None:
        return None
    factor = 1.0 if own == unit else FACTORS.get((own, unit))
    return Found(error=error * factor, at=at * factor, unit=unit) if factor else None


def recheck_reading(reading: Reading, calibration: Calibration) -> Recheck:
    """Judge a test reading again with the error as found.

    A decay reads the instrument twice: an error that is the same both times cancels, and one in
    proportion acts on the fall. The pressure at the start is corrected for the pressure that the plan
    asks for. A logger file is read again for it.
    """
    limit = reading.limit
    if limit.judged == Way.EFFICIENCY or limit.figure == StepLimit.Figure.STICK_SLIP:
        return BY_A_SUM
    decay = limit.judged == Way.DECAY
    found = found_error(calibration, "bar" if decay else reading.unit)
    if found is None or reading.value is None:
        return Recheck(remark=NOT_KNOWN)
    return _decay(reading, found) if decay else _value(reading, found)


def _value(reading: Reading, found: Found) -> Recheck:
    assert reading.value is not None
    told = _twice(
        value=reading.value,
        spread=reading.uncertainty or 0.0,
        errors=found.errors(reading.value),
        unit=reading.unit,
        lower=reading.limit.lower,
        upper=reading.limit.upper,
    )
    return _no_better(told, reading.verdict) if reading.verdict == Verdict.INVALID else told


def _decay(reading: Reading, found: Found) -> Recheck:
    assert reading.value is not None
    told = _twice(
        value=reading.value,
        spread=reading.uncertainty or 0.0,
        errors=(found.gain * reading.value,),
        unit=reading.unit,
        lower=reading.limit.lower,
        upper=reading.limit.upper,
    )
    told = _no_better(told, reading.verdict)
    asked, start = reading.limit.step.pressure_bar, _start_bar(reading)
    if asked is None:
        return told
    if start is None:
        low, remark = True, "The logger file cannot be read: the pressure at the start is not known."
    else:
        room = gauge_of(reading.observed["instrument"]).half_width(start)
        low = start - max(found.errors(start)) + room < asked
        remark = f"Begun at {start - max(found.errors(start)):.4g} bar, below the {asked:g} bar of the plan."
    return _no_better(told, Verdict.NOT_DECIDED, remark) if low else told


def _start_bar(reading: Reading) -> float | None:
    """Return the pressure at which a hold began, as it was read; None where the file is gone."""
    trace = getattr(reading, "trace", None)
    if trace is None:
        return float(reading.observed["start_bar"])
    try:
        return evaluated_again(trace).hold.first_bar
    except (RuleBroken, ValueError):
        return None


def _no_better(told: Recheck, recorded: str, remark: str = "") -> Recheck:
    """Return the verdicts, neither better than what was recorded: that had its own reasons."""
    return Recheck(
        corrected=worst([told.corrected, recorded]),
        corrected_words=told.corrected_words,
        widened=worst([told.widened, recorded]),
        widened_words=told.widened_words,
        remark=remark or told.remark,
    )


def recheck_measurement(row: Measurement, calibration: Calibration) -> Recheck:
    """Compare a measurement with its limits again; one that a sum judges is for the lead to look at."""
    limit = row.limit
    found = found_error(calibration, limit.unit)
    if found is None:
        return Recheck(remark=NOT_KNOWN)
    if limit.is_judged_by_sum or row.sum_within is not None:
        return BY_A_SUM
    errors = found.errors(row.value)
    return _twice(
        value=row.value, spread=0.0, errors=errors, unit=limit.unit, lower=limit.lower, upper=limit.upper
    )


def recheck_operation(row: Operation, value: OperationValue, calibration: Calibration) -> Recheck:
    """Compare a torque with its figure again; other values of rework have no limit."""
    found = found_error(calibration, value.unit)
    if found is None or value.number is None:
        return Recheck(remark=NOT_KNOWN)
    figure = row.figure
    if figure is None or value.what != OperationValue.What.TORQUE:
        return Recheck(remark="No limit.")
    return _twice(
        value=value.number,
        spread=0.0,
        errors=found.errors(value.number),
        unit=value.unit,
        lower=figure.low_nm,
        upper=figure.high_nm,
    )


def _twice(
    *,
    value: float,
    spread: float,
    errors: Iterable[float],
    unit: str,
    lower: float | None,
    upper: float | None,
) -> Recheck:
    """Judge a value corrected by each error, and as read with the largest added to its uncertainty."""
    if lower is None and upper is None:
        return Recheck(remark="No limit.")
    limits = {"unit": unit, "lower": lower, "upper": upper}
    each = tuple(errors)
    tried = [judge(value=value - error, uncertainty=spread, **limits) for error in each]  # type: ignore[arg-type]
    wide = judge(value=value, uncertainty=spread + max(map(abs, each)), **limits)  # type: ignore[arg-type]
    bad = min(tried, key=_room)
    return Recheck(
        corrected=bad.word.replace(" ", "_"),
        corrected_words=bad.sentence,
        widened=wide.word.replace(" ", "_"),
        widened_words=wide.sentence,
    )


def _room(judged: Judged) -> float:
    """Return how far a value lies inside its nearer limit; the least has the worst verdict."""
    above = math.inf if judged.lower is None else judged.value - judged.lower
    below = math.inf if judged.upper is None else judged.upper - judged.value
    return min(above, below)


def in_words(instrument: Instrument, calibration: Calibration) -> str:
    """Say the error as found: ``+1.2 bar at 100 bar``."""
    if calibration.error_found is None or calibration.error_at is None:
        return NOT_KNOWN
    return f"{calibration.error_found:+g} {instrument.unit} at {calibration.error_at:g} {instrument.unit}"

"""Readings of a test step: from raw entries to a verdict with its arithmetic, and back again."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from shop.errors import RuleBroken
from shop.models import StepLimit
from shop.services.files import read_bytes
from workorders.calc import trace as logged
from workorders.calc import verdict as judging
from workorders.calc.hold import HoldError, HoldFit, evaluate_hold
from workorders.calc.uncertainty import Gauge, hand_hold, reading_uncertainty
from workorders.models import Instrument, Reading, Verdict
from workorders.services.instruments import day

DECAY_UNIT = "bar/min"
Way = StepLimit.Judged
Observed = Mapping[str, Any]
# From bad to good: a step is as its worst reading, a test as its worst step.
WORST_FIRST = (Verdict.INVALID, Verdict.FAILS, Verdict.NOT_DECIDED, Verdict.PASSES)


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What a reading comes to; ``verdict`` is a stored code, ``uncertainty`` is expanded, k = 2."""

    value: float
    uncertainty: float
    unit: str
    verdict: str
    arithmetic: str


@dataclass(frozen=True, kw_only=True)
class Evaluated:
    """A logger file as read, and the straight line through the window that was chosen."""

    trace: logged.Trace
    fit: HoldFit


def worst(verdicts: list[str]) -> str:
    """Return the worst of some verdicts; an empty list has none and gives an empty text."""
    return next((str(word) for word in WORST_FIRST if word in verdicts), "")


def field_name(limit: StepLimit, part: str) -> str:
    """Return the name under which a page asks for one part of a reading."""
    return f"r{limit.pk}-{part}"


def refuse(limit: StepLimit, part: str, message: str) -> RuleBroken:
    """Make the refusal that a page shows beside one part of a reading."""
    return RuleBroken(fields={field_name(limit, part): message})


def instrument_facts(instrument: Instrument, on: date) -> dict[str, Any]:
    """Return what is known of an instrument on a day; stored with the reading, so that a later
    change of the register never changes a verdict."""
    latest = instrument.calibration_on(on)
    names = (
        "code",
        "name",
        "serial",
        "quantity",
        "unit",
        "range_low",
        "range_high",
        "accuracy",
        "resolution",
    )
    return {
        **{name: getattr(instrument, name) for name in names},
        "used_on": on.isoformat(),
        "certificate_no": latest.certificate_no if latest else "",
        "calibrated_on": latest.calibrated_on.isoformat() if latest else None,
        "due_on": latest.due_on.isoformat() if latest else None,
        "in_tolerance": latest.in_tolerance if latest else None,
    }


def objections(limit: StepLimit, facts: Observed, values: list[float]) -> list[str]:
    """Say why readings of an instrument do not count: calibration, quantity, unit, range.

    ``facts`` as ``instrument_facts`` gives them, ``values`` in the instrument's unit.
    """
    quantity, unit = expected_of(limit)
    found = []
    if facts["quantity"] != quantity or facts["unit"] != unit:
        found.append(f"reads {facts['quantity']} in {facts['unit']}, not {quantity} in {unit}")
    if facts["calibrated_on"] is None:
        found.append("was never calibrated before that day")
    elif not facts["in_tolerance"]:
        found.append("was found out of tolerance at its last calibration")
    elif facts["due_on"] < facts["used_on"]:
        found.append(f"was out of calibration: it ended on {day(date.fromisoformat(facts['due_on']))}")
    outside = [value for value in values if not facts["range_low"] <= value <= facts["range_high"]]
    if outside:
        wide = f"{facts['range_low']:g} to {facts['range_high']:g} {facts['unit']}"
        found.append(f"has a range of {wide}, which does not hold {outside[0]:.4g}")
    return found


def expected_of(limit: StepLimit) -> tuple[str, str]:
    """Return quantity and unit of the instrument that a reading needs; empty where it needs none."""
    if limit.judged == Way.DECAY:
        return Instrument.Quantity.PRESSURE, "bar"
    if limit.judged == Way.VALUE and limit.quantity:
        return limit.quantity, limit.unit
    return "", ""


def needs_instrument(limit: StepLimit) -> bool:
    """Whether a reading is taken with an instrument of the register."""
    return bool(expected_of(limit)[0])


def evaluate_trace(
    *, data: bytes, mapping: logged.TraceMapping | None, start_s: float, end_s: float
) -> Evaluated:
    """Read a logger file and fit the line; raises TraceError or HoldError with a sentence."""
    trace = logged.read_trace(data=data, mapping=mapping, max_bytes=max(len(data), 1))
    fit = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar, start_s=start_s, end_s=end_s)
    return Evaluated(trace=trace, fit=fit)


def outcome_of(*, limit: StepLimit, observed: Observed, evaluated: Evaluated | None = None) -> Outcome:
    """Judge one reading from what was observed, and from nothing else.

    ``evaluated`` belongs to a reading from a logger file. Raises RuleBroken where the observation
    cannot be judged, such as a hold without a duration.
    """
    facts = observed.get("instrument")
    try:
        judged, values, words = _judge(limit, observed, evaluated, facts)
    except ValueError as error:
        raise RuleBroken(f"{limit.reading}: {error}") from error
    verdict = judged.word.replace(" ", "_")
    sentence = words + judged.sentence.removeprefix(f"{limit.reading}: ")
    short = _short_of_plan(limit, observed, evaluated) if verdict == Verdict.PASSES else ""
    if short:
        verdict, sentence = Verdict.NOT_DECIDED, f"{sentence.rpartition(':')[0]}: not decided, {short}"
    against = objections(limit, facts, values) if facts else []
    if facts and against:
        verdict = Verdict.INVALID
        sentence = f"invalid, {facts['code']} {' and '.join(against)}; {sentence}"
    return Outcome(
        value=judged.value,
        uncertainty=judged.uncertainty,
        unit=limit.unit,
        verdict=str(verdict),
        arithmetic=sentence[:400],
    )


def _judge(
    limit: StepLimit, observed: Observed, evaluated: Evaluated | None, facts: Observed | None
) -> tuple[judging.Verdict, list[float], str]:
    """Return the judged value, the readings that the instrument must hold, and how it was found."""
    if limit.judged == Way.COUNT:
        return (
            judging.judge_count(count=observed["count"], what=limit.unit or limit.reading, **_whole(limit)),
            [],
            "",
        )
    if limit.judged == Way.WITNESS:
        return (
            judging.judge_witness(as_required=observed["as_required"], what=limit.reading),
            [],
            _counted(observed),
        )
    if limit.judged == Way.VALUE:
        value = float(observed["value"])
        spread = reading_uncertainty(gauge=_gauge(facts)).expanded if facts else 0.0
        judged = judging.judge(
            value=value, unit=limit.unit, uncertainty=spread, lower=limit.lower, upper=limit.upper
        )
        return judged, [value], ""
    if facts is None:
        raise ValueError("choose the instrument")
    if limit.upper is None or limit.unit != DECAY_UNIT:
        raise ValueError(f"the plan must give a decay at most, in {DECAY_UNIT}; the lead corrects the plan")
    if evaluated:
        return _judge_trace(evaluated, facts, limit.upper)
    return _judge_by_hand(observed, facts, limit.upper)


def _judge_trace(
    evaluated: Evaluated, facts: Observed, upper: float
) -> tuple[judging.Verdict, list[float], str]:
    fit = evaluated.fit
    judged = judging.judge_hold(hold=fit, gauge=_gauge(facts), limit_bar_per_min=upper)
    time, pressure = evaluated.trace.time_s, evaluated.trace.pressure_bar
    inside = pressure[(time >= fit.start_s) & (time <= fit.end_s)]
    words = f"{fit.n} samples from {fit.start_s:.1f} to {fit.end_s:.1f} s: "
    return judged, [float(inside.min()), float(inside.max())], words


def _judge_by_hand(
    observed: Observed, facts: Observed, upper: float
) -> tuple[judging.Verdict, list[float], str]:
    start, end, duration = (float(observed[name]) for name in ("start_bar", "end_bar", "duration_s"))
    hold = hand_hold(start_bar=start, end_bar=end, duration_s=duration, gauge=_gauge(facts))
    judged = judging.judge_hand_hold(hold=hold, limit_bar_per_min=upper)
    return judged, [start, end], f"from {start:g} to {end:g} bar in {duration:g} s: "


def _gauge(facts: Observed | None) -> Gauge:
    assert facts is not None
    return Gauge(
        accuracy=facts["accuracy"],
        full_scale=max(abs(facts["range_low"]), abs(facts["range_high"])),
        resolution=facts["resolution"],
    )


def _whole(limit: StepLimit) -> dict[str, int | None]:
    """Return the limits of a count as whole numbers, rounded to what a count can meet."""
    return {
        "lower": None if limit.lower is None else math.ceil(limit.lower),
        "upper": None if limit.upper is None else math.floor(limit.upper),
    }


def _counted(observed: Observed) -> str:
    return "" if observed.get("count") is None else f"{observed['count']} counted; "


def _short_of_plan(limit: StepLimit, observed: Observed, evaluated: Evaluated | None) -> str:
    """Say where a hold was shorter, or began lower, than its step asks; empty where it did not.

    A decay measured at another pressure, or too short, says nothing about the plan's hold. The
    start may lie below the plan by the accuracy of the instrument.
    """
    if limit.judged != Way.DECAY:
        return ""
    if evaluated:
        start, duration = evaluated.fit.first_bar, evaluated.fit.duration_s
    else:
        start, duration = float(observed["start_bar"]), float(observed["duration_s"])
    step, short = limit.step, []
    if step.hold_s is not None and duration < step.hold_s:
        short.append(f"held {duration:.1f} s of the {step.hold_s:g} s that the plan asks for")
    if step.pressure_bar is not None and start + observed["instrument"]["accuracy"] < step.pressure_bar:
        short.append(f"begun at {start:.4g} bar, below the {step.pressure_bar:g} bar of the plan")
    return " and ".join(short)


def recomputed(reading: Reading) -> Outcome:
    """Judge a stored reading again from its raw data: entries, logger file, instrument as it was.

    Raises RuleBroken where the stored file is gone or changed.
    """
    evaluated = None
    trace = getattr(reading, "trace", None)
    if trace:
        try:
            evaluated = evaluate_trace(
                data=read_bytes(trace.file),
                mapping=logged.TraceMapping.from_dict(trace.mapping),
                start_s=trace.window_start_s,
                end_s=trace.window_end_s,
            )
        except (logged.TraceError, HoldError) as error:
            raise RuleBroken(f"{trace.file}: {error}") from error
    return outcome_of(limit=reading.limit, observed=reading.observed, evaluated=evaluated)


def recomputed_verdict(reading: Reading) -> str:
    """Return the verdict that the stored raw data of a reading give, by the same rules."""
    return recomputed(reading).verdict

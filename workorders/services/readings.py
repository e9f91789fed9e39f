"""Readings of a test step: from raw entries to a verdict with its arithmetic, and back again."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from shop.errors import RuleBroken
from shop.models import StepLimit, StoredFile
from workorders.calc import trace as logged
from workorders.calc.hold import EVALUATION, evaluate_hold
from workorders.calc.trace_report import chosen_window
from workorders.models import Instrument, LoggerFile, Reading, Trace, Verdict
from workorders.services.instruments import day
from workorders.services.trace_sources import stored_trace
from workorders.services.ways import way_of
from workorders.services.ways.base import Evaluated, Judged, Observed, evaluation_of

__all__ = [
    "Evaluated",
    "Outcome",
    "evaluate_blank",
    "evaluate_trace",
    "evaluated_again",
    "evaluation_of",
    "field_name",
    "instrument_facts",
    "objections",
    "outcome_of",
    "recomputed",
    "recomputed_verdict",
    "refuse",
    "worst",
]
LONGEST, LONGEST_BEFORE_THIRD = 600, 400  # characters of a stored arithmetic
# From bad to good: a step is as its worst reading, a test as its worst step. What is only recorded
# comes last, so that it makes nothing better or worse.
WORST_FIRST = (Verdict.INVALID, Verdict.FAILS, Verdict.NOT_DECIDED, Verdict.PASSES, Verdict.RECORDED)


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What a reading comes to; ``verdict`` is a stored code, ``uncertainty`` is expanded, k = 2.

    ``budget`` are the standard uncertainties that it is made of, by name, in ``unit``.
    """

    value: float
    uncertainty: float
    unit: str
    verdict: str
    arithmetic: str
    budget: tuple[tuple[str, float], ...] = ()


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
        "accuracy_of",
        "accuracy_digits",
    )
    return {
        **{name: getattr(instrument, name) for name in names},
        "used_on": on.isoformat(),
        "certificate_no": latest.certificate_no if latest else "",
        "calibrated_on": latest.calibrated_on.isoformat() if latest else None,
        "due_on": latest.due_on.isoformat() if latest else None,
        "in_tolerance": latest.left_good if latest else None,
    }


def objections(facts: Observed, asked: tuple[str, str], values: Iterable[float]) -> list[str]:
    """Say why readings of an instrument do not count: calibration, quantity, unit, range.

    ``facts`` as ``instrument_facts`` gives them, ``asked`` the quantity and unit that the reading
    needs, ``values`` in the instrument's unit.
    """
    quantity, unit = asked
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


def evaluate_trace(
    *, limit: StepLimit, trace: logged.Trace, start_s: float, end_s: float, evaluation: int = EVALUATION
) -> Evaluated:
    """Evaluate a window of a logger file as its limit is judged; raises ValueError with a sentence."""
    return way_of(limit).evaluate(limit, trace, start_s=start_s, end_s=end_s, evaluation=evaluation)


def outcome_of(*, limit: StepLimit, observed: Observed, evaluated: Evaluated | None = None) -> Outcome:
    """Judge one reading from what was observed, and from nothing else.

    ``evaluated`` belongs to a reading from a logger file. Raises RuleBroken where the observation
    cannot be judged, such as a hold without a duration.
    """
    try:
        judged = way_of(limit).judge(limit, observed, evaluated)
    except ValueError as error:
        raise RuleBroken(f"{limit.reading}: {error}") from error
    verdict = judged.verdict.word.replace(" ", "_")
    sentence = judged.words + judged.verdict.sentence.removeprefix(f"{limit.reading}: ") + judged.advice
    if verdict == Verdict.PASSES and judged.short:
        verdict, sentence = Verdict.NOT_DECIDED, f"{sentence.rpartition(':')[0]}: not decided, {judged.short}"
    against = _against(limit, observed, judged)
    if against:
        verdict, sentence = Verdict.INVALID, f"invalid, {against}; {sentence}"
    return Outcome(
        value=judged.verdict.value,
        uncertainty=judged.verdict.uncertainty,
        unit=limit.unit,
        verdict=str(verdict),
        arithmetic=sentence[: LONGEST if evaluation_of(observed) >= 3 else LONGEST_BEFORE_THIRD],
        budget=judged.parts,
    )


def _against(limit: StepLimit, observed: Observed, judged: Judged) -> str:
    """Say what stands against the instruments of a reading; empty where nothing does."""
    told = []
    for part, asked in way_of(limit).instruments(limit).items():
        facts = observed.get(part)
        found = objections(facts, asked, judged.read.get(part, ())) if facts else []
        if facts and found:
            told.append(f"{facts['code']} {' and '.join(found)}")
    return "; ".join(told)


def recomputed(reading: Reading, evaluated: Evaluated | None = None) -> Outcome:
    """Judge a stored reading again from its raw data: entries, logger file, instrument as it was.

    It is judged by the evaluation of its day, the number of which is stored with it. ``evaluated`` is what
    `evaluated_again` gave, where it is at hand.

    Raises RuleBroken where the stored file is gone or changed.
    """
    trace = getattr(reading, "trace", None)
    if trace and evaluated is None:
        evaluated = evaluated_again(trace)
    return outcome_of(limit=reading.limit, observed=reading.observed, evaluated=evaluated)


def evaluated_again(trace: Trace) -> Evaluated:
    """Evaluate the stored file of a reading again, by its window, its columns and the rules of its day.

    Raises RuleBroken where the file is gone or changed, or cannot be read.
    """
    reading = trace.reading
    blank = reading.observed.get("blank") or {}
    try:
        evaluated = evaluate_trace(
            limit=reading.limit,
            trace=stored_trace(trace.file, logged.TraceMapping.from_dict(trace.mapping)),
            start_s=trace.window_start_s,
            end_s=trace.window_end_s,
            evaluation=evaluation_of(reading.observed),
        )
        return replace(evaluated, blank=_blank_again(blank)) if "sha256" in blank else evaluated
    except ValueError as error:
        raise RuleBroken(f"{trace.file}: {error}") from error


def _blank_again(kept: Observed) -> Evaluated:
    file = StoredFile.objects.filter(sha256=kept["sha256"]).first()
    if file is None:
        raise ValueError("the file of the blanked rig is gone")
    mapping = logged.TraceMapping.from_dict(kept["mapping"])
    window = {"start_s": kept["window_start_s"], "end_s": kept["window_end_s"]}
    return _as_hold(stored_trace(file, mapping), **window)


def _as_hold(trace: logged.Trace, *, start_s: float, end_s: float) -> Evaluated:
    fit = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar, start_s=start_s, end_s=end_s)
    return Evaluated(trace=trace, fit=fit)


def evaluate_blank(*, file: LoggerFile, instrument: Instrument, like: logged.TraceMapping) -> Evaluated:
    """Evaluate the check of the blanked rig from a file, over the window that is proposed.

    It is read like the hold beside it where it has the same columns. Raises ValueError with a sentence,
    RuleBroken where the file is gone.
    """
    if file.instrument_id != instrument.pk:
        raise ValueError(f"the blanked rig was logged with {file.instrument}, the hold with {instrument}")
    try:
        trace = stored_trace(file.file, like)
    except logged.TraceError:
        trace = stored_trace(file.file, logged.TraceMapping())
    window = chosen_window(trace=trace, start_s=None, end_s=None)
    return _as_hold(trace, start_s=window.start_s, end_s=window.end_s)


def recomputed_verdict(reading: Reading) -> str:
    """Return the verdict that the stored raw data of a reading give, by the same rules."""
    return recomputed(reading).verdict

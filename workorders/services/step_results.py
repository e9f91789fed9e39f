"""Results of test steps: every reading of a step at once, judged, kept as observed."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.files.uploadedfile import UploadedFile

from shop.errors import RuleBroken
from shop.models import StepLimit, StoredFile, TestStep
from shop.services.files import read_bytes, store_photo
from shop.services.writing import Act, keep, locked, service
from workorders.calc.hold import HoldError
from workorders.calc.trace import TraceError, TraceMapping
from workorders.models import Instrument, LoggerFile, PressureTest, Reading, StepResult, Trace
from workorders.services.instruments import shop_day
from workorders.services.readings import (
    Evaluated,
    Outcome,
    evaluate_trace,
    instrument_facts,
    needs_instrument,
    outcome_of,
    refuse,
    worst,
)
from workorders.services.running import running_test, step_in_turn

Way = StepLimit.Judged


@dataclass(frozen=True, kw_only=True)
class ValueEntry:
    """A number read off an instrument, in the unit of its limit."""

    value: float
    instrument: Instrument | None = None


@dataclass(frozen=True, kw_only=True)
class HandHoldEntry:
    """A hold read by hand: pressure at its start and its end, and the time between."""

    start_bar: float
    end_bar: float
    duration_s: float
    instrument: Instrument


@dataclass(frozen=True, kw_only=True)
class TraceEntry:
    """A hold from a logger file handed in before, with the window and the columns confirmed."""

    logger_file: LoggerFile
    mapping: TraceMapping
    window_start_s: float
    window_end_s: float


@dataclass(frozen=True, kw_only=True)
class CountEntry:
    """A number counted."""

    count: int


@dataclass(frozen=True, kw_only=True)
class WitnessEntry:
    """What was seen: as required or not, with a count where there is one."""

    as_required: bool
    count: int | None = None


Entry = ValueEntry | HandHoldEntry | TraceEntry | CountEntry | WitnessEntry
TAKES: Mapping[str, tuple[type[Any], ...]] = {
    Way.VALUE: (ValueEntry,),
    Way.DECAY: (HandHoldEntry, TraceEntry),
    Way.COUNT: (CountEntry,),
    Way.WITNESS: (WitnessEntry,),
}


@dataclass(frozen=True, kw_only=True)
class _Judged:
    """One reading ready to be stored."""

    limit: StepLimit
    observed: dict[str, Any]
    outcome: Outcome
    instrument: Instrument | None = None
    evaluated: Evaluated | None = None
    entry: Entry


@service("test")
def record_step(
    *,
    act: Act,
    test: PressureTest,
    step: TestStep,
    entries: Mapping[StepLimit, Entry],
    note: str = "",
    photo: "UploadedFile[Any] | None" = None,
) -> StepResult:
    """Record every reading of one step and judge it; once more, with a reason, before signing.

    ``entries`` has one entry for each limit of the step. The first result needs no reason; a
    later one needs ``act.why``, and history keeps the earlier. Raises RuleBroken where the test
    is signed or superseded, an earlier step has no result, an entry is missing or of the wrong
    kind, or a witnessed observation has neither count nor photo nor note.
    """
    row = running_test(test)
    state = step_in_turn(row, step)
    if state.result and not act.why.strip():
        raise RuleBroken(fields={"why": "This step has its result already. Say why it is recorded again."})
    limits = sorted(step.limits.all(), key=lambda limit: limit.order)
    if not limits:
        raise RuleBroken(f"The plan asks for no reading at step {step}; the lead corrects the plan.")
    _require_evidence(limits, entries, note, photo)
    instruments = _fresh_instruments(limits, entries)
    judged = [_judged(limit, entries.get(limit), instruments, row, shop_day(act)) for limit in limits]
    earlier = {reading.limit_id: reading for reading in state.result.readings.all()} if state.result else {}
    result = _keep_result(act, row, step, state.result, judged, note, photo)
    for each in judged:
        _keep_reading(result, earlier.get(each.limit.pk), each)
    return result


def _require_evidence(
    limits: list[StepLimit], entries: Mapping[StepLimit, Entry], note: str, photo: "UploadedFile[Any] | None"
) -> None:
    """A witnessed observation needs something that another person can look at later."""
    if note.strip() or photo:
        return
    for limit in limits:
        entry = entries.get(limit)
        if isinstance(entry, WitnessEntry) and entry.count is None:
            raise refuse(limit, "count", "Give a count, or add a photo or a note to the step.")


def _judged(
    limit: StepLimit,
    entry: Entry | None,
    instruments: Mapping[int, Instrument],
    test: PressureTest,
    on: date,
) -> _Judged:
    if entry is None or not isinstance(entry, TAKES[limit.judged]):
        raise refuse(limit, "value", f"{limit.reading}: this reading is missing.")
    instrument = None
    if needs_instrument(limit):
        chosen = _instrument_of(entry)
        if chosen is None:
            raise refuse(limit, "instrument", "Choose the instrument that the reading was taken with.")
        instrument = instruments[chosen.pk]
    observed: dict[str, Any] = {}
    if instrument:
        if instrument.retired:
            raise refuse(limit, "instrument", f"{instrument} is retired; take another one.")
        observed["instrument"] = instrument_facts(instrument, on)
    evaluated = None
    if isinstance(entry, TraceEntry):
        evaluated = _evaluated(limit, entry, test)
        observed |= {"sha256": entry.logger_file.file.sha256}
    else:
        raw = {name: value for name, value in vars(entry).items() if name != "instrument"}
        observed |= raw
    return _Judged(
        limit=limit,
        observed=observed,
        outcome=outcome_of(limit=limit, observed=observed, evaluated=evaluated),
        instrument=instrument,
        evaluated=evaluated,
        entry=entry,
    )


def _instrument_of(entry: Entry | None) -> Instrument | None:
    if isinstance(entry, TraceEntry):
        return entry.logger_file.instrument
    return getattr(entry, "instrument", None)


def _fresh_instruments(limits: list[StepLimit], entries: Mapping[StepLimit, Entry]) -> dict[int, Instrument]:
    """Read the instruments of a step again, with their calibrations, by key."""
    chosen = [_instrument_of(entries.get(limit)) for limit in limits if needs_instrument(limit)]
    keys = {instrument.pk for instrument in chosen if instrument}
    return Instrument.objects.prefetch_related("calibrations").in_bulk(keys) if keys else {}


def _evaluated(limit: StepLimit, entry: TraceEntry, test: PressureTest) -> Evaluated:
    file = entry.logger_file
    if file.pressure_test_id != test.pk or file.limit_id != limit.pk:
        raise refuse(limit, "file", "This logger file was handed in for another reading.")
    try:
        return evaluate_trace(
            data=read_bytes(file.file),
            mapping=entry.mapping,
            start_s=entry.window_start_s,
            end_s=entry.window_end_s,
        )
    except (TraceError, HoldError) as error:
        raise refuse(limit, "start", str(error)) from error


def _keep_result(
    act: Act,
    test: PressureTest,
    step: TestStep,
    earlier: StepResult | None,
    judged: list[_Judged],
    note: str,
    photo: "UploadedFile[Any] | None",
) -> StepResult:
    result = earlier or StepResult(pressure_test=test, step=step)
    result.verdict = worst([each.outcome.verdict for each in judged])
    result.arithmetic = "\n".join(f"{each.limit.reading}: {each.outcome.arithmetic}" for each in judged)
    result.done_at, result.done_by, result.note = act.at, act.by, note.strip()
    result.photo = store_photo(act=act, upload=photo) if photo else None
    return keep(result)


def _keep_reading(result: StepResult, before: Reading | None, judged: _Judged) -> None:
    reading = before or Reading(result=result, limit=judged.limit)
    outcome = judged.outcome
    reading.value, reading.uncertainty, reading.unit = outcome.value, outcome.uncertainty, outcome.unit
    reading.verdict, reading.arithmetic = outcome.verdict, outcome.arithmetic
    reading.observed, reading.instrument = judged.observed, judged.instrument
    keep(reading)
    earlier = Trace.objects.filter(reading=reading).first() if before else None
    if judged.evaluated and isinstance(judged.entry, TraceEntry):
        _keep_trace(earlier or Trace(reading=reading), judged.entry.logger_file.file, judged.evaluated)
        _remember_mapping(judged.entry.logger_file.instrument, judged.evaluated.trace.mapping)
    elif earlier:
        earlier.delete()  # history keeps it; the file stays with the test


def _keep_trace(row: Trace, file: StoredFile, evaluated: Evaluated) -> None:
    fit, trace = evaluated.fit, evaluated.trace
    row.file, row.rows = file, trace.rows
    row.mapping, row.warnings = trace.mapping.as_dict(), list(trace.warnings)
    row.window_start_s, row.window_end_s = fit.start_s, fit.end_s
    row.decay_bar_per_min = fit.decay_bar_per_min
    row.standard_error_bar_per_min = fit.standard_error_bar_per_min
    row.straight = fit.straight
    keep(row)


def _remember_mapping(instrument: Instrument, mapping: TraceMapping) -> None:
    """Keep how this instrument's files are read, for the next file with the same columns."""
    row = locked(instrument)
    if row.trace_mapping != mapping.as_dict():
        row.trace_mapping = mapping.as_dict()
        keep(row)

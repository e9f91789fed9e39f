"""Results of test steps: every reading of a step at once, judged, kept as observed."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.files.uploadedfile import UploadedFile

from shop.errors import RuleBroken
from shop.models import StepLimit, StoredFile, TestStep
from shop.services.files import store_photo
from shop.services.writing import Act, keep, locked, service
from workorders.calc.hold import EVALUATION, HoldFit
from workorders.calc.trace import TraceMapping
from workorders.models import Instrument, LoggerFile, PressureTest, Reading, StepResult, Trace
from workorders.services.entries import (
    BlankEntry,
    CleanlinessEntry,
    CountEntry,
    EfficiencyEntry,
    Entry,
    HandHoldEntry,
    SteadyEntry,
    SwingEntry,
    ThermalEntry,
    TraceEntry,
    ValueEntry,
    WitnessEntry,
)
from workorders.services.instruments import shop_day
from workorders.services.logger_files import with_blank
from workorders.services.readings import (
    Evaluated,
    Outcome,
    evaluate_trace,
    instrument_facts,
    outcome_of,
    refuse,
    worst,
)
from workorders.services.running import running_test, step_in_turn
from workorders.services.step_start import require_started
from workorders.services.trace_sources import stored_trace
from workorders.services.ways import way_of
from workorders.services.ways.base import INSTRUMENT
from workorders.services.ways.hold import observed_blank
from workorders.services.ways.thermal import observed_thermal

__all__ = [
    "BlankEntry",
    "CleanlinessEntry",
    "CountEntry",
    "EfficiencyEntry",
    "Entry",
    "HandHoldEntry",
    "SteadyEntry",
    "SwingEntry",
    "ThermalEntry",
    "TraceEntry",
    "ValueEntry",
    "WitnessEntry",
    "record_step",
]


@dataclass(frozen=True, kw_only=True)
class _Judged:
    """One reading ready to be stored."""

    limit: StepLimit
    observed: dict[str, Any]
    outcome: Outcome
    instrument: Instrument | None = None
    second_instrument: Instrument | None = None
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
    is signed or superseded, an earlier step has no result, the step was not started with what its
    kind wants confirmed, an entry is missing or of the wrong
    kind, or a witnessed observation has neither count nor photo nor note.
    """
    row = running_test(test)
    state = step_in_turn(row, step)
    require_started(row, state.step)
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
    way = way_of(limit)
    if entry is None or not isinstance(entry, way.takes):
        raise refuse(limit, "value", f"{limit.reading}: this reading is missing.")
    chosen = {
        part: _usable(limit, part, getattr(entry, part, None), instruments) for part in way.instruments(limit)
    }
    observed: dict[str, Any] = {part: instrument_facts(row, on) for part, row in chosen.items()}
    if observed:
        observed["evaluation"] = EVALUATION
    evaluated = None
    if isinstance(entry, TraceEntry):
        evaluated = _evaluated(limit, entry, test)
        if entry.blank and entry.blank.logger_file:
            evaluated = with_blank(
                limit, evaluated, _of_test(limit, entry.blank.logger_file, test), entry.instrument
            )
        observed |= {"sha256": entry.logger_file.file.sha256}
        if entry.thermal:
            observed["thermal"] = observed_thermal(entry.thermal)
    else:
        observed |= {name: value for name, value in vars(entry).items() if _is_raw(name, value)}
    blank = _blank(limit, entry)
    if blank:
        observed["blank"] = observed_blank(blank, evaluated.blank if evaluated else None)
    return _Judged(
        limit=limit,
        observed=observed,
        outcome=outcome_of(limit=limit, observed=observed, evaluated=evaluated),
        instrument=chosen.get(INSTRUMENT),
        second_instrument=next((row for part, row in chosen.items() if part != INSTRUMENT), None),
        evaluated=evaluated,
        entry=entry,
    )


def _is_raw(name: str, value: Any) -> bool:
    """Whether a part of an entry is kept as it is; instruments and the blanked rig are kept as facts."""
    return name != "blank" and not name.endswith(INSTRUMENT) and not (name != "count" and value is None)


def _blank(limit: StepLimit, entry: Entry) -> BlankEntry | None:
    """Return the check of the blanked rig; refuse a hold without it where the step asks for one."""
    if not way_of(limit).takes_blank or not isinstance(entry, HandHoldEntry | TraceEntry):
        return None
    if entry.blank is None and limit.step.blank_required:
        message = "This step asks for the blanked rig to be checked before the hold. Give the check."
        raise refuse(limit, "blank_start_bar", message)
    return entry.blank


def _usable(
    limit: StepLimit, part: str, chosen: Instrument | None, instruments: Mapping[int, Instrument]
) -> Instrument:
    """Return an instrument as it is now; refuse a reading without one, and a retired one."""
    if chosen is None:
        raise refuse(limit, part, "Choose the instrument that the reading was taken with.")
    row = instruments[chosen.pk]
    if row.retired:
        raise refuse(limit, part, f"{row} is retired; take another one.")
    return row


def _fresh_instruments(limits: list[StepLimit], entries: Mapping[StepLimit, Entry]) -> dict[int, Instrument]:
    """Read the instruments of a step again, with their calibrations, by key."""
    chosen = [
        getattr(entries.get(limit), part, None)
        for limit in limits
        for part in way_of(limit).instruments(limit)
    ]
    keys = {instrument.pk for instrument in chosen if instrument}
    return Instrument.objects.prefetch_related("calibrations").in_bulk(keys) if keys else {}


def _of_test(limit: StepLimit, file: LoggerFile, test: PressureTest) -> LoggerFile:
    """Return a logger file that was handed in for this reading; refuse another one."""
    if file.pressure_test_id != test.pk or file.limit_id != limit.pk:
        raise refuse(limit, "file", "This logger file was handed in for another reading.")
    return file


def _evaluated(limit: StepLimit, entry: TraceEntry, test: PressureTest) -> Evaluated:
    file = _of_test(limit, entry.logger_file, test)
    try:
        return evaluate_trace(
            limit=limit,
            trace=stored_trace(file.file, entry.mapping),
            start_s=entry.window_start_s,
            end_s=entry.window_end_s,
        )
    except ValueError as error:
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
    reading.second_instrument = judged.second_instrument
    reading.budget = [list(part) for part in outcome.budget]
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
    hold = fit if isinstance(fit, HoldFit) else None
    row.decay_bar_per_min = hold.decay_bar_per_min if hold else None
    row.standard_error_bar_per_min = hold.standard_error_bar_per_min if hold else None
    row.straight = hold.straight if hold else None
    keep(row)


def _remember_mapping(instrument: Instrument, mapping: TraceMapping) -> None:
    """Keep how this instrument's files are read, for the next file with the same columns."""
    row = locked(instrument)
    if row.trace_mapping != mapping.as_dict():
        row.trace_mapping = mapping.as_dict()
        keep(row)

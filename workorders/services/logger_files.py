"""Logger files handed in for a reading: kept at once, shown for confirmation, used or not."""

from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile

from shop.models import StepLimit, StoredFile
from shop.services.writing import Act, keep, service
from workorders.calc import trace as logged
from workorders.calc.hold import EVALUATION
from workorders.calc.trace import Source, TraceError, TraceMapping, trace_of
from workorders.models import Instrument, LoggerFile, PressureTest
from workorders.services.entries import BlankEntry, ThermalEntry
from workorders.services.instruments import shop_day
from workorders.services.readings import (
    Evaluated,
    Outcome,
    evaluate_blank,
    evaluate_trace,
    instrument_facts,
    outcome_of,
    refuse,
)
from workorders.services.running import running_test, step_in_turn
from workorders.services.trace_sources import read_ahead, store_upload, stored_source
from workorders.services.ways import way_of
from workorders.services.ways.hold import observed_blank
from workorders.services.ways.thermal import observed_thermal


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """How a logger file would be read, and what the reading would come to.

    ``window`` says why this window is proposed; empty where a person chose it. ``blank`` is the check
    of the blanked rig that was taken off, ``thermal`` what was said of the temperature.
    """

    logger_file: LoggerFile
    evaluated: Evaluated
    outcome: Outcome
    remembered: bool
    window: str = ""
    blank: BlankEntry | None = None
    thermal: ThermalEntry | None = None

    @property
    def trace(self) -> logged.Trace:
        """The file as read."""
        return self.evaluated.trace


@dataclass(frozen=True, kw_only=True)
class Choices:
    """What a person chose of a reading; what is None is proposed from the file.

    ``blank`` is the check of the blanked rig and ``thermal`` what is done about the temperature in the
    file; neither is ever proposed.
    """

    mapping: TraceMapping | None = None
    start_s: float | None = None
    end_s: float | None = None
    blank: BlankEntry | None = None
    thermal: ThermalEntry | None = None


def read_file(
    instrument: Instrument, source: Source, mapping: TraceMapping | None = None
) -> tuple[logged.Trace, bool]:
    """Read a logger file by the choice given, else as remembered for the instrument, else as proposed.

    Returns the trace and whether the remembered reading was applied: it is where the file has the
    same columns. Raises TraceError with a sentence.
    """
    if mapping is None and instrument.trace_mapping:
        with suppress(TraceError):
            remembered = TraceMapping.from_dict(instrument.trace_mapping)
            return trace_of(source=source, mapping=remembered), True
    return trace_of(source=source, mapping=mapping), False


@service("test")
def offer_file(
    *,
    act: Act,
    test: PressureTest,
    limit: StepLimit,
    instrument: Instrument,
    upload: "UploadedFile[Any]",
    mapping: TraceMapping | None = None,
) -> LoggerFile:
    """Keep a logger file for one reading; it counts only once the step is recorded with it.

    Raises RuleBroken, and keeps nothing, for a file that cannot be read as a trace or is larger
    than the shop's upload limit, and where the step is not in turn. A long file is best read before
    (`workorders.services.trace_sources.read_ahead`): here the database waits for it.
    """
    if (upload.size or 0) > settings.UPLOAD_LIMIT_BYTES:
        most = settings.UPLOAD_LIMIT_BYTES // 1024**2
        raise refuse(limit, "file", f"The file is larger than {most} MB, the shop's upload limit.")
    return hand_in(
        act=act,
        test=test,
        limit=limit,
        instrument=instrument,
        upload=upload,
        mapping=mapping,
    )


@service("test")
def hand_in(
    *,
    act: Act,
    test: PressureTest,
    limit: StepLimit,
    instrument: Instrument,
    upload: "UploadedFile[Any]",
    mapping: TraceMapping | None = None,
    stored: StoredFile | None = None,
) -> LoggerFile:
    """Keep a logger file for one reading; ``stored`` is where its bytes are kept already.

    Raises RuleBroken, and keeps nothing, where they cannot be read as a trace, and where the step is
    not in turn or takes no logger file.
    """
    row = running_test(test)
    step_in_turn(row, limit.step)
    if not takes_file(limit):
        raise refuse(limit, "file", "This reading does not come from a logger file.")
    try:
        trace, _remembered = read_file(instrument, read_ahead(upload), mapping)
        evaluate_trace(limit=limit, trace=trace, start_s=0.0, end_s=trace.duration_s)
    except ValueError as error:
        raise refuse(limit, "file", str(error)) from error
    file = stored or store_upload(act=act, upload=upload)
    return keep(
        LoggerFile(
            pressure_test=row,
            limit=limit,
            instrument=instrument,
            file=file,
            by=act.by,
            at=act.at,
            why=act.why,
        )
    )


def takes_file(limit: StepLimit) -> bool:
    """Whether a reading may come from a logger file."""
    return way_of(limit).from_file


def with_blank(limit: StepLimit, evaluated: Evaluated, file: LoggerFile, instrument: Instrument) -> Evaluated:
    """Add the check of the blanked rig from a file of its own; raises RuleBroken beside it."""
    try:
        blank = evaluate_blank(file=file, instrument=instrument, like=evaluated.trace.mapping)
    except ValueError as error:
        raise refuse(limit, "blank_file", str(error)) from error
    return replace(evaluated, blank=blank)


def propose(logger_file: LoggerFile, choices: Choices, act: Act) -> Proposal:
    """Read a kept logger file and judge it by the choices, without storing anything.

    Raises RuleBroken beside the window or the columns where they do not fit the file.
    """
    limit, instrument = logger_file.limit, logger_file.instrument
    try:
        trace, remembered = read_file(instrument, stored_source(logger_file.file), choices.mapping)
    except TraceError as error:
        raise refuse(limit, "time", str(error)) from error
    try:
        window = way_of(limit).window(limit, trace, choices.start_s, choices.end_s)
        evaluated = evaluate_trace(limit=limit, trace=trace, start_s=window.start_s, end_s=window.end_s)
    except ValueError as error:
        raise refuse(limit, "start", str(error)) from error
    if choices.blank and choices.blank.logger_file:
        evaluated = with_blank(limit, evaluated, choices.blank.logger_file, instrument)
    observed = {"instrument": instrument_facts(instrument, shop_day(act)), "evaluation": EVALUATION}
    if choices.blank:
        observed["blank"] = observed_blank(choices.blank, evaluated.blank)
    if choices.thermal:
        observed["thermal"] = observed_thermal(choices.thermal)
    return Proposal(
        logger_file=logger_file,
        evaluated=evaluated,
        outcome=outcome_of(limit=limit, observed=observed, evaluated=evaluated),
        remembered=remembered,
        window=window.reason,
        blank=choices.blank,
        thermal=choices.thermal,
    )

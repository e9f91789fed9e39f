"""Logger files handed in for a reading: kept at once, shown for confirmation, used or not."""

from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile

from shop.models import StepLimit, StoredFile
from shop.services.files import read_bytes, store_bytes
from shop.services.writing import Act, keep, service
from workorders.calc import trace as logged
from workorders.calc.hold import HoldError
from workorders.calc.trace import TraceError, TraceMapping, read_trace
from workorders.models import Instrument, LoggerFile, PressureTest
from workorders.services.instruments import shop_day
from workorders.services.readings import (
    Evaluated,
    Outcome,
    evaluate_trace,
    instrument_facts,
    outcome_of,
    refuse,
)
from workorders.services.running import running_test, step_in_turn


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """How a logger file would be read, and what the reading would come to."""

    logger_file: LoggerFile
    evaluated: Evaluated
    outcome: Outcome
    remembered: bool

    @property
    def trace(self) -> logged.Trace:
        """The file as read."""
        return self.evaluated.trace


@dataclass(frozen=True, kw_only=True)
class Choices:
    """What a person chose of a reading; what is None is proposed from the file."""

    mapping: TraceMapping | None = None
    start_s: float | None = None
    end_s: float | None = None


def read_file(
    instrument: Instrument, data: bytes, mapping: TraceMapping | None = None
) -> tuple[logged.Trace, bool]:
    """Read a logger file by the choice given, else as remembered for the instrument, else as proposed.

    Returns the trace and whether the remembered reading was applied: it is where the file has the
    same columns. Raises TraceError with a sentence.
    """
    limit = settings.UPLOAD_LIMIT_BYTES
    if mapping is None and instrument.trace_mapping:
        with suppress(TraceError):
            remembered = TraceMapping.from_dict(instrument.trace_mapping)
            return read_trace(data=data, mapping=remembered, max_bytes=limit), True
    return read_trace(data=data, mapping=mapping, max_bytes=limit), False


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
    than the shop's upload limit, and where the step is not in turn.
    """
    row = running_test(test)
    step_in_turn(row, limit.step)
    if limit.judged != StepLimit.Judged.DECAY:
        raise refuse(limit, "file", "This reading does not come from a logger file.")
    if (upload.size or 0) > settings.UPLOAD_LIMIT_BYTES:
        most = settings.UPLOAD_LIMIT_BYTES // 1024**2
        raise refuse(limit, "file", f"The file is larger than {most} MB, the shop's upload limit.")
    data = upload.read()
    try:
        trace, _remembered = read_file(instrument, data, mapping)
        evaluate_trace(data=data, mapping=trace.mapping, start_s=0.0, end_s=trace.duration_s)
    except (TraceError, HoldError) as error:
        raise refuse(limit, "file", str(error)) from error
    stored = store_bytes(
        act=act,
        data=data,
        name=upload.name or "trace.csv",
        kind=StoredFile.Kind.TRACE,
        content_type="text/plain",
    )
    return keep(
        LoggerFile(
            pressure_test=row,
            limit=limit,
            instrument=instrument,
            file=stored,
            by=act.by,
            at=act.at,
            why=act.why,
        )
    )


def propose(logger_file: LoggerFile, choices: Choices, act: Act) -> Proposal:
    """Read a kept logger file and judge it by the choices, without storing anything.

    Raises RuleBroken beside the window or the columns where they do not fit the file.
    """
    limit, instrument = logger_file.limit, logger_file.instrument
    data = read_bytes(logger_file.file)
    try:
        trace, remembered = read_file(instrument, data, choices.mapping)
    except TraceError as error:
        raise refuse(limit, "time", str(error)) from error
    start = 0.0 if choices.start_s is None else choices.start_s
    end = trace.duration_s if choices.end_s is None else choices.end_s
    try:
        evaluated = evaluate_trace(data=data, mapping=trace.mapping, start_s=start, end_s=end)
    except (TraceError, HoldError) as error:
        raise refuse(limit, "start", str(error)) from error
    observed = {"instrument": instrument_facts(instrument, shop_day(act))}
    return Proposal(
        logger_file=logger_file,
        evaluated=evaluated,
        outcome=outcome_of(limit=limit, observed=observed, evaluated=evaluated),
        remembered=remembered,
    )

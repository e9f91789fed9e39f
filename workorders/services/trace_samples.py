"""What the chart of a logged trace is drawn from: samples thinned for a part of it."""

from typing import Any

import numpy as np
import numpy.typing as npt

from workorders.calc.thin import thin_span
from workorders.calc.trace import Trace as LoggerTrace
from workorders.calc.trace import TraceColumn, TraceError, trace_of
from workorders.calc.trace_mapping import TraceMapping
from workorders.calc.trace_units import BAR
from workorders.models import LoggerFile, Trace
from workorders.services.logger_files import read_file
from workorders.services.trace_sources import stored_source

MOST_DOTS = 4_000


def logger_file_trace(row: LoggerFile, mapping: TraceMapping | None) -> LoggerTrace:
    """Return a handed-in file for drawing, by the columns chosen; raises TraceError, RuleBroken."""
    return read_file(row.instrument, stored_source(row.file, checked=False), mapping)[0]


def recorded_trace(row: Trace) -> LoggerTrace:
    """Return the file of a recorded reading for drawing; raises TraceError, RuleBroken."""
    source = stored_source(row.file, checked=False)
    return trace_of(source=source, mapping=TraceMapping.from_dict(row.mapping))


def samples_of(
    *, trace: LoggerTrace, from_s: float, to_s: float, dots: int, columns: list[int]
) -> dict[str, Any]:
    """Return a part of a trace for drawing.

    Parameters
    ----------
    trace : LoggerTrace
        The file as read.
    from_s, to_s : float
        The part in view, from_s below to_s [s].
    dots : int
        Width of the drawing in dots, 1 to 4000; of each the lowest and the highest sample is kept.
    columns : list of int
        Places of the columns, counted from 0; an empty list is the pressure.

    Returns
    -------
    dict
        ``time`` [s], ``values`` of each column [bar, or its own unit], how many ``samples`` are in
        view, whether each is drawn, and every channel of the file.

    Raises
    ------
    TraceError
        A column that the file has not.
    """
    if not columns:
        columns = [] if trace.mapping.pressure_column is None else [trace.mapping.pressure_column]
    shown = [trace.column(index) for index in columns]
    if not shown:
        raise TraceError("The file has no column to draw; choose one.")
    time, values, count = thin_span(
        time_s=trace.time_s,
        columns=[column.values for column in shown],
        start_s=from_s,
        end_s=to_s,
        buckets=min(max(dots, 1), MOST_DOTS),
    )
    drawn = [kept * _factor(column) for kept, column in zip(values, shown, strict=True)]
    if any(np.isinf(column).any() for column in drawn):
        raise TraceError("A reading is too large to be drawn.")
    return {
        "time": time.round(6).tolist(),
        "values": [_plain(column.round(9)) for column in drawn],
        "columns": columns,
        "samples": count,
        "complete": count <= time.size,
        "channels": [_channel(column) for column in trace.columns if column.quantity != "time"],
    }


def _plain(values: npt.NDArray[np.float64]) -> list[float | None]:
    """Return samples as JSON has them; a gap is null, and a break in the line."""
    gaps = np.isnan(values)
    plain: list[float | None] = values.tolist()
    for at in np.flatnonzero(gaps).tolist():
        plain[at] = None
    return plain


def _factor(column: TraceColumn) -> float:
    return BAR[column.unit or ""] if column.quantity == "pressure" and column.unit in BAR else 1.0


def _channel(column: TraceColumn) -> dict[str, Any]:
    is_bar = column.quantity == "pressure" and column.unit in BAR
    return {
        "index": column.index,
        "name": column.name,
        "label": column.label[:1].upper() + column.label[1:],
        "quantity": column.quantity,
        "unit": "bar" if is_bar else column.unit,
    }

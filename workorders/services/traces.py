"""A stored trace as a chart: thinned for drawing, with the window and the lines that were judged."""

from workorders.calc.hold import S_PER_MIN, evaluate_hold
from workorders.calc.thin import thin
from workorders.calc.trace import Trace as LoggerTrace
from workorders.calc.trace_mapping import TraceMapping
from workorders.documents.trace_chart import HoldTrace
from workorders.models import Trace
from workorders.services.trace_sources import stored_trace

BUCKETS = 300


def read_stored(trace: Trace) -> LoggerTrace:
    """Read the stored logger file of a trace again, as it was confirmed.

    Raises RuleBroken where the file is missing or changed.
    """
    return stored_trace(trace.file, TraceMapping.from_dict(trace.mapping))


def hold_trace(trace: Trace) -> HoldTrace:
    """Return what the chart of a stored trace draws (times in s, pressures in bar)."""
    read = read_stored(trace)
    return drawn(
        read,
        window_s=(trace.window_start_s, trace.window_end_s),
        limit_bar_per_min=trace.reading.limit.upper,
        title=trace.reading.result.step.title,
    )


def drawn(
    read: LoggerTrace, *, window_s: tuple[float, float], limit_bar_per_min: float | None, title: str
) -> HoldTrace:
    """Return the chart of a hold with its fitted line and, where there is one, its limit.

    A bent trace gets no line: none would be one to trust.
    """
    start, end = window_s
    fit = evaluate_hold(time_s=read.time_s, pressure_bar=read.pressure_bar, start_s=start, end_s=end)
    times, pressures = thin(time_s=read.time_s, value=read.pressure_bar, buckets=BUCKETS)
    slope = -fit.decay_bar_per_min / S_PER_MIN
    at_start = fit.intercept_bar + slope * start
    at_end = fit.intercept_bar + slope * end
    limit_line = None
    if limit_bar_per_min is not None and fit.straight:
        lowest = at_start - limit_bar_per_min / S_PER_MIN * (end - start)
        limit_line = ((start, at_start), (end, lowest))
    return HoldTrace(
        time_s=tuple(round(float(t), 3) for t in times),
        pressure_bar=tuple(round(float(p), 4) for p in pressures),
        title=title,
        window_s=window_s,
        line=((start, round(at_start, 5)), (end, round(at_end, 5))) if fit.straight else None,
        limit_line=limit_line,
        limit_label=f"limit {limit_bar_per_min:g} bar/min" if limit_line else "",
    )

"""A logged trace as a chart: its lines, thinned for paper, or told to the chart of a page."""

import json
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shop.models import StepLimit
from workorders.calc.hold import S_PER_MIN, HoldFit
from workorders.calc.steady import SteadyFit
from workorders.calc.thin import thin
from workorders.documents.trace_chart import HoldTrace
from workorders.models import Trace
from workorders.services.readings import Evaluated, evaluated_again

BUCKETS = 300
Line = tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True, kw_only=True)
class Lines:
    """The lines through a window, each of two points (time [s], reading); None for none."""

    line: Line | None = None
    line_label: str = "straight line fitted"
    limit: Line | None = None
    limit_label: str = ""


@dataclass(frozen=True, kw_only=True)
class Chart:
    """What a page tells its chart: the columns first shown, the window, and the lines.

    ``line`` and ``limit`` are two points each as JSON, in the unit in which the chart shows the
    column; empty for none.
    """

    column: int
    beside: int | None
    duration_s: float
    from_s: float
    to_s: float
    line: str = ""
    line_label: str = ""
    limit: str = ""
    limit_label: str = ""


def stored_chart(trace: Trace) -> HoldTrace:
    """Return what the drawing of a recorded trace shows;
    raises RuleBroken where its file is missing or changed."""
    reading = trace.reading
    return drawn(evaluated_again(trace), limit=reading.limit, title=reading.result.step.title)


def lines_of(evaluated: Evaluated, *, limit: StepLimit) -> Lines:
    """Return the lines of a hold or of a steady reading; strokes have none.

    A hold that bends gets none either, since none would be one to trust.
    """
    fit = evaluated.fit
    ends = (fit.start_s, fit.end_s)
    if isinstance(fit, HoldFit):
        return _hold_lines(fit, limit.upper)
    if not isinstance(fit, SteadyFit):
        return Lines()
    border = limit.upper if limit.lower is None else limit.lower
    return Lines(
        line=((ends[0], fit.mean), (ends[1], fit.mean)),
        line_label="mean of the window",
        limit=None if border is None else ((ends[0], border), (ends[1], border)),
        limit_label="" if border is None else f"limit {border:g} {limit.unit}",
    )


def _hold_lines(fit: HoldFit, upper: float | None) -> Lines:
    if not fit.straight:
        return Lines()
    start, end = fit.start_s, fit.end_s
    first, last = fit.line_bar(time_s=start), fit.line_bar(time_s=end)
    if upper is None:
        return Lines(line=((start, first), (end, last)))
    lowest = first - upper / S_PER_MIN * fit.duration_s
    return Lines(
        line=((start, first), (end, last)),
        limit=((start, first), (end, lowest)),
        limit_label=f"limit {upper:g} bar/min",
    )


def drawn(evaluated: Evaluated, *, limit: StepLimit, title: str) -> HoldTrace:
    """Return the drawing of a trace with its window and lines."""
    fit, lines = evaluated.fit, lines_of(evaluated, limit=limit)
    value, what = _shown(evaluated, limit)
    times, values = thin(time_s=evaluated.trace.time_s, value=value, buckets=BUCKETS)
    return HoldTrace(
        time_s=tuple(round(float(t), 3) for t in times),
        pressure_bar=tuple(round(float(p), 4) for p in values),
        title=title,
        window_s=(fit.start_s, fit.end_s),
        line=_rounded(lines.line),
        line_label=lines.line_label,
        limit_line=lines.limit,
        limit_label=lines.limit_label,
        y_label=what,
    )


def _rounded(line: Line | None) -> Line | None:
    if line is None:
        return None
    (start, first), (end, last) = line
    return (start, round(first, 5)), (end, round(last, 5))


def _shown(evaluated: Evaluated, limit: StepLimit) -> tuple[npt.NDArray[np.float64], str]:
    """Return the readings that are drawn over the time, and what they are, with their unit."""
    trace, fit = evaluated.trace, evaluated.fit
    place = trace.mapping.channel_column
    if isinstance(fit, SteadyFit) and place is not None:
        return trace.column(place).values * fit.factor, f"{limit.quantity}, {limit.unit}"
    return trace.pressure_bar, "pressure, bar"


def chart_of(evaluated: Evaluated, *, limit: StepLimit) -> Chart:
    """Return what the chart of a page is told; strokes show the position beside the pressure."""
    trace, fit, lines = evaluated.trace, evaluated.fit, lines_of(evaluated, limit=limit)
    channel, pressure = trace.mapping.channel_column, trace.mapping.pressure_column
    steady = isinstance(fit, SteadyFit) and channel is not None
    column = channel if steady else pressure
    assert column is not None
    factor = fit.factor if isinstance(fit, SteadyFit) and steady else 1.0
    beside = channel if not steady and not isinstance(fit, HoldFit | SteadyFit) else None
    return Chart(
        column=column,
        beside=beside,
        duration_s=trace.duration_s,
        from_s=fit.start_s,
        to_s=fit.end_s,
        line=_told(lines.line, factor),
        line_label=lines.line_label,
        limit=_told(lines.limit, factor),
        limit_label=lines.limit_label,
    )


def _told(line: Line | None, factor: float) -> str:
    return json.dumps([(at, value / factor) for at, value in line]) if line else ""

"""The strokes in a window of a logger file, and the figure of them that a limit is about."""

from dataclasses import dataclass
from statistics import median, stdev

import numpy as np
import numpy.typing as npt

from workorders.calc.hold import SAME_S
from workorders.calc.stroke import Stroke, StrokeError, evaluate_strokes, swing_by_hand
from workorders.calc.uncertainty import Gauge, Uncertainty, reading_uncertainty, scatter_of_few

Floats = npt.NDArray[np.float64]
BREAK_AWAY, RUNNING, STICK_SLIP = "break_away", "running", "stick_slip"


@dataclass(frozen=True, kw_only=True)
class StrokesFit:
    """The whole strokes of a window, and the pressures between which all of it lies [bar]."""

    start_s: float
    end_s: float
    n: int
    strokes: tuple[Stroke, ...]
    lowest: float
    highest: float


def strokes_in(
    *, time_s: Floats, position_mm: Floats, pressure_bar: Floats, start_s: float, end_s: float
) -> StrokesFit:
    """Evaluate the strokes in a window of a trace.

    Parameters
    ----------
    time_s : array
        Time of each sample, never falling [s].
    position_mm : array
        Position of the piston, rising as it extends [mm].
    pressure_bar : array
        Pressure that moves it, of an unloaded unit whose other side is open [bar].
    start_s, end_s : float
        The window, both ends included [s].

    Returns
    -------
    StrokesFit
        Every stroke by `workorders.calc.stroke.evaluate_strokes`.

    Raises
    ------
    StrokeError
        No stroke in the window.
    """
    inside = (time_s >= start_s - SAME_S) & (time_s <= end_s + SAME_S)
    if inside.sum() < 2 or np.ptp(time_s[inside]) <= 0:
        raise StrokeError(f"The window from {start_s:g} s to {end_s:g} s holds no stroke.")
    time, pressure = time_s[inside], pressure_bar[inside]
    return StrokesFit(
        start_s=float(time[0]),
        end_s=float(time[-1]),
        n=int(time.size),
        strokes=evaluate_strokes(position_mm=position_mm[inside], drive_bar=pressure),
        lowest=float(pressure.min()),
        highest=float(pressure.max()),
    )


def figure_of(*, strokes: tuple[Stroke, ...], figure: str, gauge: Gauge) -> tuple[float, Uncertainty]:
    """Return one figure of some strokes with its uncertainty.

    Parameters
    ----------
    strokes : tuple of Stroke
        One or more.
    figure : str
        ``break_away``, the highest of the strokes; ``running``, their median; ``stick_slip``, the worst [-].
    gauge : Gauge
        The transducer [bar].

    Returns
    -------
    tuple of float and Uncertainty
        The pressure [bar], or the index [-].

    Raises
    ------
    ValueError
        No stroke, or an index where no running pressure is above 0.

    Notes
    -----
    A running pressure has the scatter of the strokes about it as well, their standard deviation over the
    root of their number. The highest of them is no mean and has none. The index is treated as one read
    by hand (`workorders.calc.stroke.swing_by_hand`); the noise of the transducer is in it, so it
    comes out too large rather than too small.

    References
    ----------
    JCGM 100:2008 (GUM), clauses 4.2.3 and 4.3.7 (numbers from memory).
    """
    if not strokes:
        raise ValueError("the file has no whole stroke that way")
    if figure == STICK_SLIP:
        worst = max(strokes, key=lambda one: -1.0 if one.stick_slip is None else one.stick_slip)
        if worst.stick_slip is None:
            raise ValueError("the running pressure is not above 0, so it has no stick-slip index")
        half, running = worst.stick_slip * worst.running_bar / 2, worst.running_bar
        found = swing_by_hand(
            highest_bar=running + half, lowest_bar=running - half, running_bar=running, gauge=gauge
        )
        return worst.stick_slip, found[1]
    if figure == BREAK_AWAY:
        highest = max(one.break_away_bar for one in strokes)
        return highest, reading_uncertainty(gauge=gauge, at=highest)
    each = [one.running_bar for one in strokes]
    error = stdev(each) / len(each) ** 0.5 if len(each) > 1 else 0.0
    scatter = scatter_of_few(standard_error=error, degrees=len(each) - 1) if error else 0.0
    middle = float(median(each))
    own = reading_uncertainty(gauge=gauge, at=middle).parts
    return middle, Uncertainty(parts=(*own, ("repeats", scatter)))

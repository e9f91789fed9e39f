"""A proposal for the window of a hold: after the supply is shut and the transient has settled."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import stats

from workorders.calc.autocorrelation import correlated_error, slope_factor
from workorders.calc.hold import MOST_DEPARTURE, NOISE_FACTOR

Floats = npt.NDArray[np.float64]
BUCKETS = 400
FEWEST_BUCKETS = 12
STARTS = 40
# All of these are this project's own rules: common practice, no source.
ABRUPT = 8.0  # times the usual step from bucket to bucket
STAYS = 0.90  # of the highest pressure: a window that begins lower is no hold at that pressure
LEAST_SHARE = 0.50  # of the time from shutting to the end
LEVEL, LEVEL_SLOPE = 0.50, 0.10
SETTLED = MOST_DEPARTURE  # of the fall, as a bend is judged; what is left of settling overstates a decay


@dataclass(frozen=True, kw_only=True)
class HoldWindow:
    """The proposed window, both ends in s of the trace, and a sentence that says why."""

    start_s: float
    end_s: float
    reason: str


def propose_window(*, time_s: Floats, pressure_bar: Floats, least_s: float = 0.0) -> HoldWindow:
    """Propose the window of a hold.

    Parameters
    ----------
    time_s : array
        Time of each sample, never falling [s].
    pressure_bar : array
        Pressure of each sample [bar].
    least_s : float
        Length that the window must keep where the trace has it, such as the hold of the plan [s].

    Returns
    -------
    HoldWindow
        The whole trace where nothing speaks for less.

    Notes
    -----
    The trace is cut into some hundred equal pieces of time and looked at by their means. A step of more
    than eight times the usual one is abrupt. The supply is shut after the last abrupt rise of the
    first half; without one, where a level pressure starts to fall along a line (level: its slope
    below a tenth of the later one, and level and line together leave less than half of what one
    line leaves); else at the start. An abrupt fall in the second half ends the hold. From
    there the start moves on until the first tenth of what is left lies on the line of its later half,
    run back: within three standard errors, with samples that are alike counted as such, or within a
    fifth of the fall. It never moves so far that less than half the hold or `least_s` is left,
    nor to where less than nine tenths of the highest pressure stand: a vessel that empties
    ends in a straight line too. If no start will do, the window is all that was shut in, and the
    bend is named.

    Examples
    --------
    >>> import numpy as np
    >>> t = np.arange(0.0, 300.0, 0.1)
    >>> p = np.where(t < 20, t / 2, 10 - 0.0002 * (t - 20) + 0.3 * np.exp(-(t - 20) / 15))
    >>> found = propose_window(time_s=t, pressure_bar=p)
    >>> found.start_s > 60, round(found.end_s)
    (True, 300)
    """
    time, pressure = np.asarray(time_s, dtype=np.float64), np.asarray(pressure_bar, dtype=np.float64)
    whole = HoldWindow(start_s=float(time[0]), end_s=float(time[-1]), reason="the whole file")
    middle, mean = buckets(time_s=time, value=pressure)
    if middle.size < FEWEST_BUCKETS:
        return whole
    shut, vented = _shut_in(mean)
    shut = shut or _level_until(middle[:vented], mean[:vented])
    end_s = float(time[-1]) if vented == mean.size else float(middle[vented - 1])
    settled = _settled(middle[shut:vented], mean[shut:vented], least_s)
    first = shut + (settled or 0)
    start_s = float(time[0]) if first == 0 else float(middle[first])
    said = []
    if shut:
        said.append(f"the supply is taken as shut at {middle[shut]:.0f} s")
    if settled:
        said.append(f"the pressure as settled from {middle[first]:.0f} s")
    if settled is None:
        said.append("no part of the hold is straight enough to be called settled")
    if vented < mean.size:
        said.append(f"the hold as ended at {end_s:.0f} s")
    if not said:
        return whole
    return HoldWindow(start_s=start_s, end_s=end_s, reason=", ".join(said))


def buckets(*, time_s: Floats, value: Floats) -> tuple[Floats, Floats]:
    """Cut a trace into some hundred equal pieces of time, empty ones left out.

    Parameters
    ----------
    time_s : array
        Time of each sample, never falling [s].
    value : array
        The reading of each sample [any unit].

    Returns
    -------
    tuple of arrays
        Middle time [s] and mean of each piece [unit of the reading].
    """
    time, pressure = time_s, value
    pieces = min(BUCKETS, time.size)
    length = float(time[-1] - time[0])
    if not length > 0:
        return time[:1], pressure[:1]
    place = np.minimum(((time - time[0]) / length * pieces).astype(int), pieces - 1)
    count = np.bincount(place, minlength=pieces)
    there = count > 0
    sums = (np.bincount(place, weights=values, minlength=pieces) for values in (time, pressure))
    middle, mean = (one[there] / count[there] for one in sums)
    return middle, mean


def _shut_in(mean: Floats) -> tuple[int, int]:
    """Return the first piece after the supply is shut, and the first after the hold has ended."""
    steps = np.diff(mean)
    usual = float(np.median(np.abs(steps - np.median(steps))))
    if not usual > 0:
        usual = 1e-3 * float(np.ptp(mean))
    half = mean.size // 2
    rises = np.flatnonzero(steps[:half] > ABRUPT * usual)
    shut = int(rises[-1]) + 1 if rises.size else 0
    # A pump that stops leaves its highest pressure within the next pieces, not at the step itself.
    falls = np.flatnonzero(steps[half:] < -max(ABRUPT * usual, (1 - STAYS) * float(mean.max())))
    vented = half + int(falls[0]) + 1 if falls.size else mean.size
    return shut, vented


def _level_until(time: Floats, mean: Floats) -> int:
    """Return the piece at which a level pressure starts to fall along a line, 0 where none does."""
    best, at = LEVEL * _left(time, mean), 0
    for knee in range(FEWEST_BUCKETS // 2, time.size // 2):
        level = mean[:knee]
        left = float(np.sum((level - level.mean()) ** 2)) + _left(time[knee:], mean[knee:])
        if left < best:
            best, at = left, knee
    if not at:
        return 0
    before = float(stats.linregress(time[:at], mean[:at]).slope)
    after = float(stats.linregress(time[at:], mean[at:]).slope)
    return at if after < 0 and abs(before) < LEVEL_SLOPE * abs(after) else 0


def _left(time: Floats, mean: Floats) -> float:
    """Return the sum of squares that a line leaves."""
    late = time - time.mean()
    slope = float(late @ mean) / float(late @ late)
    return float(np.sum((mean - mean.mean() - slope * late) ** 2))


def _settled(time: Floats, mean: Floats, least_s: float) -> int | None:
    """Return the first piece from which no curve is told from the line, None where there is none."""
    length = float(time[-1] - time[0])
    keep = max(LEAST_SHARE * length, min(least_s, length))
    latest = int(np.searchsorted(time, time[-1] - keep, side="right")) - 1
    step = max(1, latest // STARTS)
    for first in range(0, latest + 1, step):
        if mean[first] < STAYS * mean.max():
            return None
        if time.size - first >= FEWEST_BUCKETS and _is_settled(time[first:], mean[first:]):
            return first
    return None


def _is_settled(time: Floats, mean: Floats) -> bool:
    """Whether the first tenth lies on the line of the later half, run back."""
    half, tenth = time.size // 2, max(1, time.size // 10)
    late = time[half:] - time[half:].mean()
    line = stats.linregress(late, mean[half:])
    rest = mean[half:] - line.intercept - line.slope * late
    alike = slope_factor(time_s=late, residual=rest)
    slope_error = correlated_error(error=float(line.stderr), n=late.size, factor=alike)
    back = float(time[:tenth].mean() - time[half:].mean())
    off = abs(float(mean[:tenth].mean()) - float(line.intercept + line.slope * back))
    scatter = float(rest.std()) * math.sqrt(alike / late.size + alike / tenth)
    fall = abs(float(line.slope) * (time[-1] - time[0]))
    return bool(off <= max(SETTLED * fall, NOISE_FACTOR * math.hypot(slope_error * back, scatter), 1e-9))

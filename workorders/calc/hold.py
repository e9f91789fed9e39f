"""Evaluation of a pressure hold: decay by regression over a window, and whether a line fits at all."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import stats

from workorders.calc.autocorrelation import correlated_error, slope_factor

Floats = npt.NDArray[np.float64]

# How holds are evaluated. Stored with every reading, so that an older one is judged again as it was:
# 1 took samples as independent; 2 raises the standard error for samples that are alike; 3 says what
# would decide a hold that has a check of the blanked rig beside it; 4 does not pass a hold whose oil
# warmed by what may hide a leak, unless it is brought to one temperature; 5 raises the standard error of
# few independent samples by Student's t, and looks at temperatures with gaps too.
EVALUATION = 5
MIN_SAMPLES = 5
MOST_DEPARTURE = 0.20  # of the line's fall over the window
NOISE_FACTOR = 3.0
S_PER_MIN = 60.0
SAME_S = 1e-9  # what a time may be off by when it was written down with nine places


class HoldError(ValueError):
    """The window cannot be evaluated; the message is a sentence for people."""


@dataclass(frozen=True, kw_only=True)
class HoldFit:
    """A straight line through a pressure hold, and how far the hold bends away from it.

    ``decay_bar_per_min`` is positive when the pressure falls; ``intercept_bar`` is the line at
    time 0 of the trace; ``departure_bar`` is the most by which the best quadratic leaves the line
    inside the window; ``bend`` says in words how a trace that is not straight behaves, else "".
    ``standard_error_bar_per_min`` takes samples as independent; ``variance_factor`` is by how much
    neighbours that are alike raise its square.
    """

    start_s: float
    end_s: float
    n: int
    decay_bar_per_min: float
    standard_error_bar_per_min: float
    intercept_bar: float
    r: float
    first_bar: float
    last_bar: float
    departure_bar: float
    straight: bool
    bend: str
    variance_factor: float = 1.0

    @property
    def duration_s(self) -> float:
        """Length of the window, from its first sample to its last [s]."""
        return self.end_s - self.start_s

    @property
    def effective_n(self) -> float:
        """How many independent samples the window is worth."""
        return self.n / self.variance_factor

    @property
    def correlated_error_bar_per_min(self) -> float:
        """Standard error of the decay, raised for samples that are alike [bar/min]."""
        return correlated_error(error=self.standard_error_bar_per_min, n=self.n, factor=self.variance_factor)

    @property
    def fall_bar(self) -> float:
        """What the line falls over the window [bar]; negative when it rises."""
        return self.decay_bar_per_min * self.duration_s / S_PER_MIN

    def line_bar(self, *, time_s: float) -> float:
        """The line's pressure at a time of the trace [bar]."""
        return self.intercept_bar - self.decay_bar_per_min * time_s / S_PER_MIN


def evaluate_hold(
    *, time_s: Floats, pressure_bar: Floats, start_s: float | None = None, end_s: float | None = None
) -> HoldFit:
    """Fit a straight line to a pressure hold by ordinary least squares.

    Parameters
    ----------
    time_s : array
        Time of each sample, never falling; steps need not be even [s].
    pressure_bar : array
        Pressure of each sample, any finite value [bar].
    start_s, end_s : float, optional
        The window, both ends included [s]; the whole trace where None.

    Returns
    -------
    HoldFit
        Decay [bar/min] with its standard error, and whether the trace is straight.

    Raises
    ------
    HoldError
        Fewer than 5 samples, or no time, inside the window; or arrays that do not match
        or a time that falls.

    Notes
    -----
    A hold is not straight when the best quadratic departs from the best line, anywhere in the
    window, by more than 20 % of the line's fall (or rise). A departure counts only when it stands
    clear of the noise: its quadratic term must exceed three standard errors. Without that, a hold
    whose fall cannot be told from zero would be called bent by noise alone, since any departure is
    more than 20 % of nothing; with it, a hold without a net fall that rises and sinks is still
    called bent. The noise is taken as independent there: samples that are alike are called bent a
    little too soon, which decides nothing wrongly. The standard error comes twice, for independent
    samples and raised for neighbours that are alike (`workorders.calc.autocorrelation`).

    References
    ----------
    JCGM 100:2008 (GUM), clause H.3, a line fitted by least squares (number from memory).

    Examples
    --------
    >>> import numpy as np
    >>> t = np.arange(0.0, 120.0, 0.5)
    >>> fit = evaluate_hold(time_s=t, pressure_bar=7.0 - 0.03 / 60 * t)
    >>> round(fit.decay_bar_per_min, 6), fit.straight
    (0.03, True)
    """
    time, pressure = _window(time_s, pressure_bar, start_s, end_s)
    # Measured from the middle and from the first reading: sums stay exact for long records.
    middle, level = float((time[0] + time[-1]) / 2), float(pressure[0])
    moving = bool(np.ptp(pressure) > 0)
    line = stats.linregress(time - middle, pressure - level)
    fitted = line.intercept + line.slope * (time - middle)
    departure, clear = _departure(time - middle, pressure - level, fitted)
    fall = abs(line.slope) * (time[-1] - time[0])
    straight = not (departure > MOST_DEPARTURE * fall and clear)
    return HoldFit(
        start_s=float(time[0]),
        end_s=float(time[-1]),
        n=int(time.size),
        decay_bar_per_min=0.0 - float(line.slope) * S_PER_MIN,
        # SciPy gives no number for either where the pressure never changes.
        standard_error_bar_per_min=float(line.stderr) * S_PER_MIN if moving else 0.0,
        intercept_bar=float(line.intercept - line.slope * middle) + level,
        r=float(line.rvalue) if moving else 0.0,
        first_bar=level,
        last_bar=float(pressure[-1]),
        departure_bar=departure,
        straight=bool(straight),
        bend="" if straight else _bend(pressure),
        variance_factor=slope_factor(time_s=time, residual=pressure - level - fitted) if moving else 1.0,
    )


def is_emptying(fit: HoldFit) -> bool:
    """Whether a trace that is not straight lost more than half its pressure inside the window."""
    return not fit.straight and fit.first_bar > 0 and fit.last_bar < 0.5 * fit.first_bar


def _window(
    time_s: Floats, pressure_bar: Floats, start_s: float | None, end_s: float | None
) -> tuple[Floats, Floats]:
    time = np.asarray(time_s, dtype=np.float64)
    pressure = np.asarray(pressure_bar, dtype=np.float64)
    if time.shape != pressure.shape or time.ndim != 1:
        raise HoldError(
            f"Time and pressure must be two lists of one length; got {time.shape} and {pressure.shape}."
        )
    if not (np.isfinite(time).all() and np.isfinite(pressure).all()):
        raise HoldError("Time and pressure must be numbers throughout.")
    if np.any(np.diff(time) < 0):
        raise HoldError("Time must not run backwards.")
    low = -math.inf if start_s is None else start_s
    high = math.inf if end_s is None else end_s
    inside = (time >= low - SAME_S) & (time <= high + SAME_S)
    if inside.sum() < MIN_SAMPLES or not np.ptp(time[inside]) > SAME_S:
        raise HoldError(
            f"The window from {low:g} s to {high:g} s holds {inside.sum()} samples; at least {MIN_SAMPLES} "
            "at different times are needed."
        )
    return time[inside], pressure[inside]


def _departure(time: Floats, pressure: Floats, straight_line: Floats) -> tuple[float, bool]:
    """Return the greatest distance of quadratic from line [bar], and whether it is clear of noise."""
    x = time / max(abs(time[0]), abs(time[-1]))
    x = x - x.mean()
    # The square without its parts along level and line: what the quadratic has beyond the straight line.
    bend = x * x
    for _ in range(2):  # once more for what rounding left
        bend -= bend.mean() + (bend @ x) / (x @ x) * x
    size = math.sqrt(float(bend @ bend))
    if size < 1e-9 * math.sqrt(time.size):
        return 0.0, False  # two different times alone carry no bend
    rest = pressure - straight_line
    part = float(bend @ rest) / size
    beyond = part / size * bend
    # Along the bend noise has one standard deviation.
    noise = math.sqrt(float(np.sum((rest - beyond) ** 2)) / (time.size - 3))
    rounding = 1e-12 * max(1.0, float(np.max(np.abs(pressure))))
    return float(np.max(np.abs(beyond))), abs(part) > max(NOISE_FACTOR * noise, rounding)


def _bend(pressure: Floats) -> str:
    """Say how a bent hold behaves: it empties, turns, settles or quickens, by the means of its thirds."""
    if pressure[0] > 0 and pressure[-1] < 0.5 * pressure[0]:
        return "emptying: more than half the pressure is lost"
    first, middle, last = (float(np.mean(third)) for third in np.array_split(pressure, 3))
    early, late = first - middle, middle - last
    if early * late < 0 and min(abs(early), abs(late)) > MOST_DEPARTURE * max(abs(early), abs(late)):
        return "turning: the pressure falls in one part of the window and rises in another"
    if abs(late) < abs(early):
        return "settling: the pressure changes faster at the start of the window than at its end"
    return "quickening: the pressure changes faster at the end of the window than at its start"

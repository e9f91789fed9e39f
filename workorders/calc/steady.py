"""A steady reading from a logger file: its mean over a window, how it scatters, and whether it drifts."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from workorders.calc.autocorrelation import mean_factor
from workorders.calc.flow import STEADY_PCT
from workorders.calc.hold import MIN_SAMPLES, SAME_S
from workorders.calc.hold_window import FEWEST_BUCKETS, HoldWindow, buckets
from workorders.calc.uncertainty import Gauge, Uncertainty, reading_uncertainty, scatter_of_few

Floats = npt.NDArray[np.float64]
FEWEST_EFFECTIVE = 2.0


class SteadyError(ValueError):
    """A window that cannot be averaged; the message is a sentence for people."""


@dataclass(frozen=True, kw_only=True)
class SteadyFit:
    """The mean of a window, in the unit of the reading.

    ``drift`` is what the straight line through the window changes over it. ``swing`` is from the 5th to
    the 95th of a hundred samples. ``variance_factor`` raises the variance of the mean for samples that
    are alike. ``factor`` is what one of the file's unit is in the unit of the reading.
    """

    start_s: float
    end_s: float
    n: int
    mean: float
    drift: float
    swing: float
    scatter: float
    variance_factor: float
    lowest: float
    highest: float
    factor: float = 1.0

    @property
    def effective_n(self) -> float:
        """How many independent samples the window is worth."""
        return max(FEWEST_EFFECTIVE, self.n / self.variance_factor)

    @property
    def standard_error(self) -> float:
        """Standard error of the mean, raised for samples that are alike."""
        return self.scatter / math.sqrt(self.effective_n - 1)

    @property
    def unsteady(self) -> str:
        """Say how far it drifts or swings, more than 5 % of the mean (common practice, no source)."""
        for what, size in (("drifts", self.drift), ("swings", self.swing)):
            if 100 * abs(size) > STEADY_PCT * abs(self.mean):
                share = f" ({100 * abs(size / self.mean):.1f} %)" if self.mean else ""
                return f"the reading still {what} by {abs(size):.3g}{share}, more than {STEADY_PCT:g} %"
        return ""


def evaluate_steady(
    *, time_s: Floats, value: Floats, start_s: float, end_s: float, factor: float = 1.0
) -> SteadyFit:
    """Average a steady reading over a window.

    Parameters
    ----------
    time_s : array
        Time of each sample, never falling [s].
    value : array
        The reading of each sample [its own unit].
    start_s, end_s : float
        The window, both ends included [s].
    factor : float
        What one of the file's unit is in that of the reading [-].

    Returns
    -------
    SteadyFit
        Mean, drift, swing and scatter [unit of the reading].

    Raises
    ------
    SteadyError
        Fewer than 5 samples or no time inside the window, or a value that is no number.

    Notes
    -----
    The scatter is that about the straight line, so that a drift is not counted as noise too.

    References
    ----------
    JCGM 100:2008 (GUM), clauses 4.2.3 and 5.2.2 (numbers from memory); `mean_factor`.

    Examples
    --------
    >>> import numpy as np
    >>> t = np.arange(0.0, 60.0, 0.5)
    >>> fit = evaluate_steady(time_s=t, value=3.8 + 0.01 * (-1.0) ** np.arange(120), start_s=0, end_s=60)
    >>> round(fit.mean, 6), fit.n, fit.unsteady
    (3.8, 120, '')
    """
    inside = (time_s >= start_s - SAME_S) & (time_s <= end_s + SAME_S)
    time, reading = time_s[inside], value[inside] * factor
    if time.size < MIN_SAMPLES or np.ptp(time) <= 0:
        raise SteadyError(
            f"The window from {start_s:g} s to {end_s:g} s holds {time.size} samples; at least {MIN_SAMPLES} "
            "at different times are needed."
        )
    if not np.isfinite(reading).all():
        raise SteadyError("The reading must be numbers throughout.")
    mean, late = float(reading.mean()), time - time.mean()
    slope = float(late @ (reading - mean)) / float(late @ late)
    rest = reading - mean - slope * late
    low, high = np.percentile(reading, [5, 95])
    return SteadyFit(
        start_s=float(time[0]),
        end_s=float(time[-1]),
        n=int(time.size),
        mean=mean,
        drift=slope * float(time[-1] - time[0]),
        swing=float(high - low),
        scatter=float(rest.std()),
        variance_factor=mean_factor(residual=rest),
        lowest=float(reading.min()),
        highest=float(reading.max()),
        factor=factor,
    )


def steady_uncertainty(*, fit: SteadyFit, gauge: Gauge) -> Uncertainty:
    """Uncertainty of a mean from a logger file.

    Parameters
    ----------
    fit : SteadyFit
        From `evaluate_steady`.
    gauge : Gauge
        The instrument [unit of the reading].

    Returns
    -------
    Uncertainty
        In the unit of the reading.

    Raises
    ------
    ValueError
        By `Gauge`, for an accuracy that is not above 0.

    Notes
    -----
    What the instrument is off by is the same in all samples and does not shrink with their number.
    The value meant lies anywhere on the line through the window: half its drift, rectangular.

    References
    ----------
    JCGM 100:2008 (GUM), clauses 4.2.3, 4.3.7 and 5.1.2 (numbers from memory).

    Examples
    --------
    >>> import numpy as np
    >>> t = np.arange(0.0, 60.0, 0.5)
    >>> fit = evaluate_steady(time_s=t, value=np.full(120, 3.8), start_s=0, end_s=60)
    >>> round(steady_uncertainty(fit=fit, gauge=Gauge(accuracy=0.05, full_scale=10)).expanded, 4)
    0.0577
    """
    own = reading_uncertainty(gauge=gauge, at=fit.mean).parts
    drift = abs(fit.drift) / 2 / math.sqrt(3)
    few = scatter_of_few(standard_error=fit.standard_error, degrees=fit.effective_n - 1)
    return Uncertainty(parts=(*own, ("repeats", few), ("drift over the window", drift)))


def propose_steady(*, time_s: Floats, value: Floats) -> HoldWindow:
    """Propose the window of a steady reading: the longest part that stays at its usual level.

    Parameters
    ----------
    time_s : array
        Time of each sample, never falling [s].
    value : array
        The reading of each sample [any unit].

    Returns
    -------
    HoldWindow
        The whole trace where no part stays so.

    Notes
    -----
    The usual level is the median of what lies above half of the highest; a part stays at it where the
    means of equal pieces of time lie within half of 5 % of it, for a tenth of the file or more (common
    practice, no source).

    Examples
    --------
    >>> import numpy as np
    >>> t = np.arange(0.0, 100.0, 0.1)
    >>> found = propose_steady(time_s=t, value=np.where((t > 20) & (t < 80), 4.0, 0.0))
    >>> 20 < found.start_s < 21, 79 < found.end_s < 80
    (True, True)
    """
    whole = HoldWindow(start_s=float(time_s[0]), end_s=float(time_s[-1]), reason="the whole file")
    middle, mean = buckets(time_s=time_s, value=np.abs(value))
    level = float(np.median(mean[mean > 0.5 * mean.max()])) if mean.max() > 0 else 0.0
    at_level = np.abs(mean - level) <= STEADY_PCT / 200 * level
    edges = np.flatnonzero(np.diff(np.concatenate([[False], at_level, [False]]).astype(int)))
    starts, ends = edges[::2], edges[1::2]
    if at_level.all() or not starts.size:
        return whole
    longest = int(np.argmax(ends - starts))
    first, last = int(starts[longest]), int(ends[longest]) - 1
    if last - first < max(FEWEST_BUCKETS, mean.size // 10):
        return whole
    start_s = float(time_s[0]) if first == 0 else float(middle[first + 1])
    end_s = float(time_s[-1]) if last == mean.size - 1 else float(middle[last - 1])
    return HoldWindow(start_s=start_s, end_s=end_s, reason="the longest part that stays at its usual level")

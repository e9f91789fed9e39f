"""Measurement uncertainty of a reading, of a hand-timed hold and of a regression, k = 2."""

import math
from dataclasses import dataclass
from functools import lru_cache

from scipy import stats

from workorders.calc.hold import S_PER_MIN, HoldFit

COVERAGE_FACTOR = 2.0
# Half-width of the timing of a hold by hand: common practice, no source.
HAND_TIMING_S = 1.0
LEAST_WRITTEN = 1e-12
FEWEST_DEGREES = 1.0  # of a line, whose standard error counts no fewer than 3 independent samples
# The parts of an uncertainty in words; a part that is named in words already is not here.
PART_WORDS = {
    "accuracy": "accuracy of the instrument",
    "resolution": "smallest step of the instrument",
    "drift": "drift of the gauge between start and end",
    "gain": "gain of the gauge over the fall",
    "timing": "timing by hand",
    "regression": "scatter about the line, raised for samples that are alike and where few are independent",
    "repeats": "scatter of the readings, raised where they are few",
}


@dataclass(frozen=True, kw_only=True)
class Gauge:
    """What the sums need of an instrument.

    ``accuracy`` is the half-width ± of its error over the whole range and ``resolution`` the
    smallest step it shows, both in the instrument's unit; ``full_scale`` is the end of its range.
    ``share`` of the reading is added to the half-width, for an accuracy stated in % of reading.
    """

    accuracy: float
    full_scale: float
    resolution: float = 0.0
    share: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.full_scale) and self.full_scale > 0):
            raise ValueError(f"full_scale must be above 0, in the instrument's unit; got {self.full_scale}")
        for name, part in (("accuracy", self.accuracy), ("share", self.share)):
            if not (math.isfinite(part) and part >= 0):
                raise ValueError(f"{name} must be 0 or more; got {part}")
        if not self.accuracy + self.share > 0:
            raise ValueError(f"accuracy must be above 0, in the instrument's unit; got {self.accuracy}")
        if not (math.isfinite(self.resolution) and self.resolution >= 0):
            raise ValueError(f"resolution must be 0 or more, in the instrument's unit; got {self.resolution}")

    def half_width(self, at: float) -> float:
        """Return the largest error ± at a reading, in the instrument's unit."""
        return self.accuracy + self.share * abs(at)

    @property
    def gain(self) -> float:
        """The most by which a change of the reading is off, as a share of it [-]."""
        return self.accuracy / self.full_scale + self.share


@dataclass(frozen=True, kw_only=True)
class Uncertainty:
    """Standard uncertainties by name, in the unit of the result, and what they come to."""

    parts: tuple[tuple[str, float], ...]

    @property
    def standard(self) -> float:
        """Combined standard uncertainty: the root of the sum of squares."""
        return math.hypot(*(value for _, value in self.parts))

    @property
    def expanded(self) -> float:
        """Expanded uncertainty, k = 2."""
        return COVERAGE_FACTOR * self.standard


@dataclass(frozen=True, kw_only=True)
class HandHold:
    """A hold of which the pressure was read at the start and at the end."""

    start_bar: float
    end_bar: float
    duration_s: float
    decay_bar_per_min: float
    uncertainty: Uncertainty


def reading_uncertainty(*, gauge: Gauge, at: float = 0.0) -> Uncertainty:
    """Uncertainty of one reading.

    Parameters
    ----------
    gauge : Gauge
        The instrument [unit of the reading].
    at : float
        The reading, which counts where the accuracy is stated in % of it [unit of the reading].

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
    The error may be anywhere within ± accuracy (rectangular, accuracy / √3), and the true value
    anywhere within half a step of the display (resolution / √12); combined in quadrature.

    References
    ----------
    JCGM 100:2008 (GUM), clauses 4.3.7 and F.2.2.1 (numbers from memory).

    Examples
    --------
    >>> round(reading_uncertainty(gauge=Gauge(accuracy=0.04, full_scale=16)).expanded, 4)
    0.0462
    """
    return Uncertainty(
        parts=(
            ("accuracy", _rectangular(gauge.half_width(at))),
            ("resolution", gauge.resolution / math.sqrt(12)),
        )
    )


def hand_hold(
    *, start_bar: float, end_bar: float, duration_s: float, gauge: Gauge, timing_s: float = HAND_TIMING_S
) -> HandHold:
    """Decay of a hold from the pressure read at its start and at its end.

    Parameters
    ----------
    start_bar, end_bar : float
        The two readings of one gauge [bar].
    duration_s : float
        Time between them, above 0 [s].
    gauge : Gauge
        The gauge [bar].
    timing_s : float
        Half-width of the timing, 0 or more [s].

    Returns
    -------
    HandHold
        Decay [bar/min], positive when the pressure falls, with its uncertainty [bar/min].

    Raises
    ------
    ValueError
        Duration not above 0, timing below 0, or a reading that is no number.

    Notes
    -----
    Of the gauge's error, what is the same in both readings cancels. Assumed for the rest: between
    the two readings the error changes by no more than the accuracy at the higher of them (rectangular),
    and its gain is off by no more than accuracy / full scale, or by its share of the reading, which
    acts on the fall alone. Both are conservative
    for two readings minutes apart at nearly the same pressure. The resolution counts twice.

    References
    ----------
    JCGM 100:2008 (GUM), clauses 4.3.7, 5.1.2, 5.2 and F.2.2.1 (numbers from memory).

    Examples
    --------
    >>> gauge = Gauge(accuracy=0.04, full_scale=16, resolution=0.01)
    >>> hold = hand_hold(start_bar=8.0, end_bar=7.9, duration_s=300, gauge=gauge)
    >>> round(hold.decay_bar_per_min, 3), round(hold.uncertainty.expanded, 4)
    (0.02, 0.0094)
    """
    if not all(map(math.isfinite, (start_bar, end_bar))):
        raise ValueError(f"start_bar and end_bar must be numbers [bar]; got {start_bar} and {end_bar}")
    if not (math.isfinite(duration_s) and duration_s > 0):
        raise ValueError(f"duration_s must be above 0 s; got {duration_s}")
    if not timing_s >= 0:
        raise ValueError(f"timing_s must be 0 s or more; got {timing_s}")
    decay = (start_bar - end_bar) / duration_s * S_PER_MIN
    timing = _rectangular(timing_s) / duration_s * abs(decay)
    parts = (*_change_parts(gauge, duration_s, decay, max(start_bar, end_bar)), ("timing", timing))
    return HandHold(
        start_bar=start_bar,
        end_bar=end_bar,
        duration_s=duration_s,
        decay_bar_per_min=decay,
        uncertainty=Uncertainty(parts=parts),
    )


def slope_uncertainty(
    *, hold: HoldFit, gauge: Gauge, correlated: bool = True, few: bool = True
) -> Uncertainty:
    """Uncertainty of a decay found by regression.

    Parameters
    ----------
    hold : HoldFit
        From `workorders.calc.hold.evaluate_hold`.
    gauge : Gauge
        The transducer [bar].
    correlated : bool
        Whether the standard error is raised for samples that are alike; False judges a hold as
        holds were evaluated first [-].
    few : bool
        Whether the standard error of a few independent samples is raised by Student's t; False judges a
        hold as holds were evaluated before the fifth evaluation [-].

    Returns
    -------
    Uncertainty
        In bar/min.

    Raises
    ------
    ValueError
        By `Gauge`, for an accuracy that is not above 0.

    Notes
    -----
    As for two readings at the ends of the window (`hand_hold`), with the standard error of the
    regression beside it: offset cancels, the error drifts by no more than the accuracy over the
    window, its gain acts on the decay. A logger's own clock is taken as exact. The degrees of freedom of
    the standard error are two less than the independent samples, 1 at least: a line takes two.

    References
    ----------
    JCGM 100:2008 (GUM), clauses 4.3.7, 5.1.2, F.2.2.1, G.3 and H.3 (numbers from memory).

    Examples
    --------
    >>> import numpy as np
    >>> from workorders.calc.hold import evaluate_hold
    >>> t = np.arange(0.0, 151.0)
    >>> fit = evaluate_hold(time_s=t, pressure_bar=7.3 - 0.014 / 60 * t)
    >>> round(slope_uncertainty(hold=fit, gauge=Gauge(accuracy=0.04, full_scale=16)).expanded, 4)
    0.0185
    """
    error = hold.correlated_error_bar_per_min if correlated else hold.standard_error_bar_per_min
    if few:
        independent = hold.effective_n if correlated else hold.n
        error = scatter_of_few(standard_error=error, degrees=max(FEWEST_DEGREES, independent - 2))
    regression = ("regression", error)
    highest = max(hold.first_bar, hold.last_bar)
    parts = _change_parts(gauge, hold.duration_s, hold.decay_bar_per_min, highest)
    return Uncertainty(parts=(*parts, regression))


def _change_parts(
    gauge: Gauge, duration_s: float, decay: float, highest_bar: float
) -> tuple[tuple[str, float], ...]:
    per_min = S_PER_MIN / duration_s
    return (
        ("drift", _rectangular(gauge.half_width(highest_bar)) * per_min),
        ("gain", _rectangular(gauge.gain) * abs(decay)),
        ("resolution", math.sqrt(2) * gauge.resolution / math.sqrt(12) * per_min),
    )


def digits(*, value: float) -> str:
    """Write a standard uncertainty with two digits and no exponent, as in 0.000070.

    Parameters
    ----------
    value : float
        Any finite number [any unit].

    Returns
    -------
    str
        0 for nothing, and for what lies below the digits that a number carries.

    Examples
    --------
    >>> [digits(value=value) for value in (6.97e-05, 0.29, 1234.0, 0.0)]
    ['0.000070', '0.29', '1234', '0']
    """
    if abs(value) < LEAST_WRITTEN:
        return "0"
    return f"{value:.{max(0, 1 - math.floor(math.log10(abs(value))))}f}"


def scatter_of_few(*, standard_error: float, degrees: float) -> float:
    """Raise the standard error of a mean or a slope so that k = 2 covers what Student's t would.

    Parameters
    ----------
    standard_error : float
        Of the mean or the slope, 0 or more [any unit].
    degrees : float
        Degrees of freedom, above 0: one less than the independent readings of a mean, two of a line [-].

    Returns
    -------
    float
        The standard error times t / 2, with t for a coverage of 95.45 % [unit of the standard error].

    Raises
    ------
    ValueError
        Degrees that are not above 0.

    References
    ----------
    JCGM 100:2008 (GUM), annex G.3 (number from memory).

    Examples
    --------
    >>> round(scatter_of_few(standard_error=1.0, degrees=4), 2)
    1.43
    """
    if not degrees > 0:
        raise ValueError(f"degrees must be above 0; got {degrees:g}")
    return standard_error * _student(degrees) / COVERAGE_FACTOR


@lru_cache(maxsize=256)
def _student(degrees: float) -> float:
    return float(stats.t.ppf(stats.norm.cdf(COVERAGE_FACTOR), degrees))


def _rectangular(half_width: float) -> float:
    return half_width / math.sqrt(3)

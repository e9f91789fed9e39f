"""What would decide a reading or a hold whose limit lies inside the uncertainty."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from scipy.optimize import brentq

from workorders.calc.blank import Blank
from workorders.calc.hold import S_PER_MIN, HoldFit
from workorders.calc.uncertainty import (
    COVERAGE_FACTOR,
    Gauge,
    HandHold,
    Uncertainty,
    hand_hold,
    reading_uncertainty,
    slope_uncertainty,
)

# Beyond a day nobody holds a unit at pressure: common practice, no source.
LONGEST_HOLD_S = 86400.0
# A gauge a million times as good is none that can be bought.
LEAST_SHARE = 1e-6
# Parts of an uncertainty that shrink with the accuracy of the gauge.
OF_THE_GAUGE = ("accuracy", "drift", "gain")


@dataclass(frozen=True, kw_only=True)
class Deciding:
    """What would bring the uncertainty down to the distance from the limit, each by itself.

    ``hold_s`` is the hold that is long enough and ``accuracy`` the half-width of a gauge that is good
    enough, in its own ``unit``; None where no such hold or gauge would do. ``blank`` says that a better
    check of the blanked rig would do, ``held`` that it is about a hold and no single reading.
    """

    hold_s: float | None
    accuracy: float | None
    blank: bool = False
    held: bool = False
    unit: str = ""

    @property
    def sentence(self) -> str:
        """The two in words, or that neither would do."""
        ways = []
        if self.hold_s is not None:
            ways.append(f"a hold of {_duration(self.hold_s)}")
        if self.accuracy is not None:
            ways.append(f"a gauge of ±{_down(self.accuracy)} {self.unit}".rstrip())
        if self.blank:
            ways.append("a longer check of the blanked rig with its compliances measured closer")
        if not ways:
            longer = "a longer hold or " if self.held else ""
            return f"too near the limit for {longer}a better gauge to decide"
        return f"{' or '.join(ways)} would decide it, if the value stays"


def deciding_reading(
    *,
    value: float,
    gauge: Gauge,
    lower: float | None = None,
    upper: float | None = None,
    repeats: float = 0.0,
    unit: str = "",
) -> Deciding:
    """What would decide one reading.

    Parameters
    ----------
    value : float
        The reading [unit of the gauge].
    gauge : Gauge
        The instrument.
    lower, upper : float, optional
        The limits [unit of the gauge].
    repeats : float
        Standard deviation of the mean of repeated readings, 0 or more [unit of the gauge].
    unit : str
        Unit of the gauge, for the sentence; "" for none.

    Returns
    -------
    Deciding
        No hold; the accuracy with which the uncertainty reaches the nearest limit and no further.
    """

    def at(better: Gauge) -> Uncertainty:
        return Uncertainty(parts=(*reading_uncertainty(gauge=better, at=value).parts, ("repeats", repeats)))

    accuracy = _accuracy(gauge, value, _margin(value, lower, upper), at)
    return Deciding(hold_s=None, accuracy=accuracy, unit=unit)


def deciding_hold(
    *,
    hold: HoldFit | HandHold,
    gauge: Gauge,
    limit_bar_per_min: float,
    blank: Blank | None = None,
    few: bool = True,
    least_s: float = 0.0,
) -> Deciding:
    """What would decide the decay of a hold, logged or read by hand.

    Parameters
    ----------
    hold : HoldFit or HandHold
        The hold, its decay and its length.
    gauge : Gauge
        The instrument [bar].
    limit_bar_per_min : float
        The limit [bar/min].
    blank : Blank, optional
        Check of the blanked rig, which is taken off and stays as it was [bar/min].
    few : bool
        As `workorders.calc.uncertainty.slope_uncertainty` [-].
    least_s : float
        The length that is asked for whatever would decide, 0 or more [s].

    Returns
    -------
    Deciding
        For the same decay: the length [s] with this gauge, the accuracy [bar] with this length.

    Notes
    -----
    A hold k times as long has the drift, the resolution and the timing spread over k times the time;
    the standard error of a line falls with k to the power 1.5 at the same rate of samples, of which k
    times as many are independent, both after the formulas that `workorders.calc.uncertainty` has.
    """
    rig = blank.parts if blank else ()
    taken_off = blank.decay_bar_per_min if blank else 0.0
    margin = _margin(hold.decay_bar_per_min - taken_off, None, limit_bar_per_min)
    start = hold.start_bar if isinstance(hold, HandHold) else hold.first_bar

    def at(better: Gauge, length_s: float) -> Uncertainty:
        return Uncertainty(parts=(*_of(hold, better, length_s, few).parts, *rig))

    enough_s = _length(hold.duration_s, margin, lambda length: at(gauge, length))
    return Deciding(
        hold_s=None if enough_s is None else max(enough_s, least_s),
        accuracy=_accuracy(gauge, start, margin, lambda better: at(better, hold.duration_s)),
        unit="bar",
        held=True,
        blank=bool(rig) and _of(hold, gauge, hold.duration_s, few).expanded <= margin,
    )


def _of(hold: HoldFit | HandHold, gauge: Gauge, length_s: float, few: bool) -> Uncertainty:
    """Return the uncertainty of the same decay over another length, or with another gauge."""
    if isinstance(hold, HandHold):
        end = hold.start_bar - hold.decay_bar_per_min * length_s / S_PER_MIN
        return hand_hold(start_bar=hold.start_bar, end_bar=end, duration_s=length_s, gauge=gauge).uncertainty
    longer = length_s / hold.duration_s
    stretched = replace(
        hold,
        end_s=hold.start_s + length_s,
        n=round(hold.n * longer) if few else hold.n,
        standard_error_bar_per_min=hold.standard_error_bar_per_min / longer**1.5,
    )
    return slope_uncertainty(hold=stretched, gauge=gauge, few=few)


def _margin(value: float, lower: float | None, upper: float | None) -> float:
    return min(abs(value - limit) for limit in (lower, upper) if limit is not None)


def _length(now_s: float, margin: float, at: Callable[[float], Uncertainty]) -> float | None:
    """Return the length at which the expanded uncertainty has shrunk to the margin."""
    if now_s >= LONGEST_HOLD_S or at(LONGEST_HOLD_S).expanded > margin:
        return None
    if at(now_s).expanded <= margin:
        return now_s
    return float(brentq(lambda length: at(length).expanded - margin, now_s, LONGEST_HOLD_S))


def _accuracy(gauge: Gauge, at: float, margin: float, of: Callable[[Gauge], Uncertainty]) -> float | None:
    """Return the half-width at a reading at which the expanded uncertainty has shrunk to the margin."""
    whole = of(gauge)
    ours = math.hypot(*(value for name, value in whole.parts if name in OF_THE_GAUGE))
    rest = math.sqrt(max(0.0, whole.standard**2 - ours**2))
    wanted = margin / COVERAGE_FACTOR
    if wanted <= rest or not ours:
        return None
    share = min(1.0, math.sqrt(wanted**2 - rest**2) / ours)
    return gauge.half_width(at) * share if share > LEAST_SHARE else None


def _duration(seconds: float) -> str:
    """Write a length rounded up to what people set a clock to."""
    if seconds <= 600:
        return f"{math.ceil(seconds / 10) * 10:.0f} s"
    return f"{math.ceil(seconds / 60):.0f} min"


def _down(value: float) -> str:
    """Write an accuracy to two digits, rounded down: what is written must be good enough."""
    places = 1 - math.floor(math.log10(value))
    return f"{math.floor(value * 10**places + 1e-9) / 10**places:.{max(0, places)}f}"

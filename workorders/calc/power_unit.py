"""Readings of a power unit by hand: a steady mean and the volumetric efficiency, with what limits them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from workorders.calc.flow import STEADY_PCT
from workorders.calc.uncertainty import Gauge, Uncertainty, reading_uncertainty, scatter_of_few


@dataclass(frozen=True, kw_only=True)
class SteadyMean:
    """The mean of readings taken one after the other; ``swing_pct`` is None of a single one."""

    mean: float
    count: int
    swing_pct: float | None
    uncertainty: Uncertainty

    @property
    def steady(self) -> bool:
        """Whether the readings swing by no more than 5 % of their mean (common practice, no source)."""
        return self.swing_pct is None or self.swing_pct <= STEADY_PCT


@dataclass(frozen=True, kw_only=True)
class Efficiency:
    """Volumetric efficiency [%] with its uncertainty [%]."""

    efficiency_pct: float
    theoretical_l_min: float
    uncertainty: Uncertainty


def steady_mean(*, readings: Sequence[float], gauge: Gauge) -> SteadyMean:
    """Mean of readings of one gauge, taken one after the other at one setting.

    Parameters
    ----------
    readings : sequence of float
        One or more [unit of the gauge].
    gauge : Gauge
        The instrument.

    Returns
    -------
    SteadyMean
        The mean [unit of the gauge], its swing, highest less lowest [%], and its uncertainty.

    Raises
    ------
    ValueError
        No reading, or one that is no number.

    Notes
    -----
    What the gauge is off by is the same in all readings, so that only the scatter shrinks with their
    number: its standard deviation over the root of it, raised by Student's t where they are few.

    References
    ----------
    JCGM 100:2008 (GUM), clauses 4.2.3 and 4.3.7 (numbers from memory).

    Examples
    --------
    >>> found = steady_mean(readings=(2.31, 2.29, 2.3), gauge=Gauge(accuracy=0.05, full_scale=10))
    >>> round(found.mean, 2), round(found.uncertainty.expanded, 4), found.steady
    (2.3, 0.0634, True)
    """
    if not readings or not all(map(math.isfinite, readings)):
        raise ValueError(f"readings must be numbers, one or more; got {list(readings)}")
    count = len(readings)
    mean = math.fsum(readings) / count
    # The root of a sum of squares about the mean; 0 of a single reading.
    scatter = math.sqrt(math.fsum((one - mean) ** 2 for one in readings) / max(1, count - 1) / count)
    spread = max(readings) - min(readings)
    swing = None if count == 1 else 100 * spread / abs(mean) if mean else math.inf if spread else 0.0
    few = scatter_of_few(standard_error=scatter, degrees=count - 1) if count > 1 else 0.0
    repeats = (("repeats", few),) if count > 1 else ()
    return SteadyMean(
        mean=mean,
        count=count,
        swing_pct=swing,
        uncertainty=Uncertainty(parts=(*reading_uncertainty(gauge=gauge, at=mean).parts, *repeats)),
    )


def volumetric_efficiency(
    *,
    flow_l_min: float,
    speed_rpm: float,
    displacement_cm3: float,
    displacement_error_pct: float,
    flow_gauge: Gauge,
    speed_gauge: Gauge,
) -> Efficiency:
    """Volumetric efficiency of a pump from one flow and one speed.

    Parameters
    ----------
    flow_l_min : float
        Flow at pressure, 0 or more [L/min].
    speed_rpm : float
        Speed under load, above 0 [1/min].
    displacement_cm3 : float
        Displacement for each revolution, above 0 [cm³].
    displacement_error_pct : float
        Its largest error, 0 or more [%].
    flow_gauge, speed_gauge : Gauge
        The instruments [L/min] and [1/min].

    Returns
    -------
    Efficiency
        The efficiency and its uncertainty [%].

    Raises
    ------
    ValueError
        Outside the ranges.

    Notes
    -----
    The flow as a share of displacement times speed. The relative uncertainties of the three are
    combined in quadrature; the largest error of the displacement is taken as rectangular.

    References
    ----------
    Definition of the volumetric efficiency; JCGM 100:2008 (GUM), clauses 4.3.7 and 5.1.6 (numbers
    from memory).

    Examples
    --------
    >>> found = volumetric_efficiency(flow_l_min=37.85, speed_rpm=1800, displacement_cm3=24.58,
    ...     displacement_error_pct=1, flow_gauge=Gauge(accuracy=0.4, full_scale=60),
    ...     speed_gauge=Gauge(accuracy=5, full_scale=5000))
    >>> round(found.efficiency_pct, 1), round(found.uncertainty.expanded, 2)
    (85.5, 1.46)
    """
    if not (math.isfinite(flow_l_min) and flow_l_min >= 0):
        raise ValueError(f"the flow must be 0 L/min or more; got {flow_l_min:g}")
    for what, value in (("speed", speed_rpm), ("displacement", displacement_cm3)):
        if not (math.isfinite(value) and value > 0):
            raise ValueError(f"the {what} must be above 0; got {value:g}")
    theoretical = displacement_cm3 * speed_rpm / 1000
    efficiency = 100 * flow_l_min / theoretical
    flow = dict(reading_uncertainty(gauge=flow_gauge, at=flow_l_min).parts)
    speed = reading_uncertainty(gauge=speed_gauge, at=speed_rpm).standard
    for_each = 100 / theoretical
    return Efficiency(
        efficiency_pct=efficiency,
        theoretical_l_min=theoretical,
        uncertainty=Uncertainty(
            parts=(
                ("flow meter", flow["accuracy"] * for_each),
                ("flow meter, smallest step", flow["resolution"] * for_each),
                ("speed", efficiency * speed / speed_rpm),
                ("displacement", efficiency * displacement_error_pct / 100 / math.sqrt(3)),
            )
        ),
    )

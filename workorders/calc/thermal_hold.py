"""A hold whose oil changed its temperature: the decay at one temperature, and what warming may hide."""

from dataclasses import dataclass
from math import hypot, isfinite

import numpy as np
import numpy.typing as npt
from scipy import stats

from workorders.calc.hold import MIN_SAMPLES, S_PER_MIN, SAME_S, HoldFit, evaluate_hold
from workorders.calc.temperature import CONSTANTS_SPREAD_PCT, OILS, at_one_temperature, rise_bar_per_k
from workorders.calc.uncertainty import COVERAGE_FACTOR

Floats = npt.NDArray[np.float64]
# The most that one of the published oils rises for each K, where it is not said which oil it is.
STIFFEST_BAR_PER_K = max(rise_bar_per_k(oil=oil) for oil in OILS)

# The longest stretch of a window without a temperature: common practice, no source.
LONGEST_GAP = 0.1


@dataclass(frozen=True, kw_only=True)
class ThermalHold:
    """A hold at the temperature of its first sample, by the constants of a named oil.

    ``hold`` is the line through the corrected pressures, ``change_k`` what the oil warmed over the window
    (below 0: cooled) and ``error_k`` its expanded uncertainty, k = 2; ``added_bar_per_min`` is what was
    added to the decay as measured.
    """

    oil: str
    bar_per_k: float
    change_k: float
    error_k: float
    added_bar_per_min: float
    hold: HoldFit

    @property
    def parts(self) -> tuple[tuple[str, float], ...]:
        """Standard uncertainties of what was added, by name [bar/min]."""
        change = self.bar_per_k * self.error_k * S_PER_MIN / self.hold.duration_s
        constants = CONSTANTS_SPREAD_PCT / 100 * abs(self.added_bar_per_min)
        return (
            ("change of the temperature", change / COVERAGE_FACTOR),
            ("constants of the oil", constants / COVERAGE_FACTOR),
        )

    @property
    def expanded_bar_per_min(self) -> float:
        """Expanded uncertainty of what was added, k = 2 [bar/min]."""
        return COVERAGE_FACTOR * hypot(*(value for _name, value in self.parts))


def hold_at_one_temperature(
    *,
    time_s: Floats,
    pressure_bar: Floats,
    temperature_c: Floats,
    hold: HoldFit,
    oil: str,
    error_k: float,
    volume_ml: float | None = None,
    compliance_ml_per_bar: float | None = None,
) -> ThermalHold:
    """Bring a hold to one temperature.

    Parameters
    ----------
    time_s, pressure_bar, temperature_c : array
        The whole trace; the temperature is that of the oil shut in [s, bar, °C].
    hold : HoldFit
        The hold as measured, with its window.
    oil : str
        Key of ``OILS``: whose constants are used [-].
    error_k : float
        Expanded uncertainty of the change of temperature over the window, k = 2, 0 or more [K].
    volume_ml, compliance_ml_per_bar : float, optional
        Oil shut in and measured compliance of rig and unit, both above 0: together they go before the
        bulk modulus [mL, mL/bar].

    Returns
    -------
    ThermalHold
        The line at one temperature, with what was added and its uncertainty.

    Raises
    ------
    ValueError
        An oil that is not listed, an error or a volume that cannot be, or a temperature with long gaps.

    Notes
    -----
    Each sample is corrected by the rise of the pressure for each K times what the oil is warmer than at
    the first; those without a temperature are left out. The constants of oils differ by
    `CONSTANTS_SPREAD_PCT`, which is in the uncertainty.

    Validity: as `workorders.calc.temperature.temperature_corrected_decay`.

    References
    ----------
    leeimh.com, bulk modulus page (constants of the oils).
    JCGM 100:2008 (GUM), clause 5.1.2 (number from memory).

    Examples
    --------
    >>> t = np.arange(0.0, 301.0)
    >>> cooling = 30 - 0.2 * t / 300
    >>> pressure = 100 - 0.03 / 60 * t + 17.13 * (cooling - 30)
    >>> found = hold_at_one_temperature(
    ...     time_s=t,
    ...     pressure_bar=pressure,
    ...     temperature_c=cooling,
    ...     hold=evaluate_hold(time_s=t, pressure_bar=pressure),
    ...     oil="synthetic hydrocarbon, MIL-H-83282",
    ...     error_k=0.02,
    ... )
    >>> round(found.hold.decay_bar_per_min, 2), round(found.change_k, 2), round(found.added_bar_per_min, 2)
    (0.03, -0.2, -0.69)
    """
    if oil not in OILS:
        raise ValueError(f"the oil must be one of the list; got {oil!r}")
    if not (isfinite(error_k) and error_k >= 0):
        raise ValueError(f"the error of the temperature's change must be 0 K or more; got {error_k:g}")
    per_k = rise_bar_per_k(oil=oil, volume_ml=volume_ml, compliance_ml_per_bar=compliance_ml_per_bar)
    time, temperature, pressure = _inside(time_s, temperature_c, pressure_bar, hold=hold)
    level = at_one_temperature(pressure_bar=pressure, temperature_c=temperature, bar_per_k=per_k)
    fit = evaluate_hold(time_s=time, pressure_bar=level)
    return ThermalHold(
        oil=oil,
        bar_per_k=per_k,
        change_k=_change_k(time, temperature, hold),
        error_k=error_k,
        added_bar_per_min=fit.decay_bar_per_min - hold.decay_bar_per_min,
        hold=fit,
    )


def hidden_by_warming(*, time_s: Floats, temperature_c: Floats, hold: HoldFit) -> tuple[float, float]:
    """Say how much a change of temperature may hide of a decay, where the oil is not named.

    Parameters
    ----------
    time_s, temperature_c : array
        The whole trace [s, °C].
    hold : HoldFit
        The hold, with its window.

    Returns
    -------
    tuple
        Change over the window [K], and what it adds to the pressure in the stiffest of the published
        oils [bar/min]; above 0 where it hides a leak, below 0 where it looks like one.

    Raises
    ------
    ValueError
        Too few readings: somewhere more than a tenth of the window has none (common practice, no source).
    """
    time, temperature = _inside(time_s, temperature_c, hold=hold)
    change = _change_k(time, temperature, hold)
    return change, STIFFEST_BAR_PER_K * change * S_PER_MIN / hold.duration_s


def _inside(time_s: Floats, temperature_c: Floats, *others: Floats, hold: HoldFit) -> tuple[Floats, ...]:
    """Return the samples of the window that have a temperature; refuse a stretch without any."""
    inside = (time_s >= hold.start_s) & (time_s <= hold.end_s)
    there = inside & np.isfinite(temperature_c)
    time = time_s[there]
    if there.sum() < inside.sum():
        most = max(LONGEST_GAP * hold.duration_s, float(np.diff(time_s[inside]).max()))
        stretches = np.diff(np.concatenate([[hold.start_s], time, [hold.end_s]]))
        if time.size < MIN_SAMPLES or stretches.max() > most + SAME_S:
            raise ValueError(
                "the temperature has gaps longer than a tenth of this window; choose another window or column"
            )
    return time, temperature_c[there], *(column[there] for column in others)


def _change_k(time: Floats, temperature: Floats, hold: HoldFit) -> float:
    """Return what a straight line through the temperature changes over the window."""
    return float(stats.linregress(time - time[0], temperature - temperature[0]).slope * hold.duration_s)

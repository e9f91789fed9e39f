"""Temperature during a hold: the decay corrected for it, and a bend that it explains."""

from dataclasses import dataclass
from math import hypot
from typing import Annotated

import numpy as np
import numpy.typing as npt

from shop.calc.parameters import Choice, Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result
from workorders.calc.hold import HoldFit, evaluate_hold

Floats = npt.NDArray[np.float64]
PSI_MPA = 6.894757e-3  # NIST Special Publication 811 (2008), Appendix B.8


@dataclass(frozen=True, kw_only=True)
class OilConstants:
    """Bulk modulus and expansion of an oil, as one source prints them in psi and for each °F."""

    modulus_psi: float
    expansion_per_f: float

    @property
    def modulus_mpa(self) -> float:
        """Bulk modulus [MPa]."""
        return self.modulus_psi * PSI_MPA

    @property
    def expansion_per_k(self) -> float:
        """Expansion by volume [1/K]."""
        return self.expansion_per_f * 1.8


# As leeimh.com prints them on its page about the bulk modulus.
OILS = {
    "mineral oil, MIL-H-5606": OilConstants(modulus_psi=260_000, expansion_per_f=0.00046),
    "synthetic hydrocarbon, MIL-H-83282": OilConstants(modulus_psi=300_000, expansion_per_f=0.00046),
    "preserving oil, MIL-H-6083": OilConstants(modulus_psi=260_000, expansion_per_f=0.00044),
    "phosphate ester": OilConstants(modulus_psi=340_000, expansion_per_f=0.00047),
    "silicone oil, 100 cSt": OilConstants(modulus_psi=150_000, expansion_per_f=0.00054),
}
# Published rises run from 11 to 17 bar for each K: the middle of them and half of what lies between.
CONSTANTS_SPREAD_PCT = 20.0
# A fit beyond this is no oil that warms: the highest published rise is 20 bar for each K.
MOST_BAR_PER_K = 25.0

Decay = Annotated[
    float,
    Number(
        title="Decay as measured", of="bar/min", at_least=-1e4, at_most=1e4, help="below 0 where it rises"
    ),
]
DecayUncertainty = Annotated[
    float, Number(title="Its expanded uncertainty, k = 2", of="bar/min", at_least=0, at_most=1e4)
]
Change = Annotated[
    float,
    Number(
        title="Change of the oil's temperature over the hold",
        of="K",
        at_least=-200,
        at_most=200,
        help="end less start; below 0 where the oil cools",
    ),
]
ChangeUncertainty = Annotated[
    float, Number(title="Its expanded uncertainty, k = 2", of="K", at_least=0, at_most=100)
]
Length = Annotated[float, Number(title="Length of the hold", of="s", at_least=1, at_most=86400)]
Oil = Annotated[str, Choice(title="Oil whose constants are used", options=tuple(OILS))]
Spread = Annotated[
    float,
    Number(title="Expanded uncertainty of the constants", of="%", at_least=0, at_most=100),
]
Volume = Annotated[
    float | None,
    Number(title="Oil shut in, of unit and rig together", of="mL", above=0, at_most=500000),
]
Compliance = Annotated[
    float | None,
    Number(
        title="Measured compliance of rig and unit",
        of="mL/bar",
        at_least=0.000001,
        at_most=10000,
        help="with the volume it goes before the bulk modulus",
    ),
]

_LEE = "leeimh.com bulk-modulus (constants of the oil named); fluidpower.pro (11 bar for each K)"
_GUM = "JCGM 100:2008 (GUM), clause 5.1.2 (number from memory)"
_NAMED = (
    "Corrected with the constants of {oil}: {modulus:.0f} MPa and {expansion:.6f} for each K, {per_k:.1f} "
    "bar for each K. Say so wherever the corrected figure stands."
)
_RIGID = (
    "Housing, hoses and air give way and make the true rise smaller, so the correction may go too far: "
    "give volume and measured compliance, or let the temperature settle and hold again."
)
_OWN = "The temperature must be that of the oil shut in; a sensor on the tank or the wall lags behind it."


@dataclass(frozen=True, kw_only=True)
class CorrectedDecay(Result):
    """The decay that is left when the change of temperature is taken off."""

    rise_bar_per_k: Annotated[
        float,
        Figure(
            title="Rise of the pressure for each K",
            of="bar/K",
            how="10 × bulk modulus × expansion; with volume and compliance, expansion × volume / compliance",
        ),
    ]
    thermal_bar_per_min: Annotated[
        float,
        Figure(
            title="What the temperature adds to the pressure",
            of="bar/min",
            formula="rise_bar_per_k * temperature_change_k * 60 / duration_s",
        ),
    ]
    corrected_bar_per_min: Annotated[
        float,
        Figure(
            title="Decay at one temperature", of="bar/min", formula="decay_bar_per_min + thermal_bar_per_min"
        ),
    ]
    expanded_bar_per_min: Annotated[
        float,
        Figure(
            title="Its expanded uncertainty, k = 2",
            of="bar/min",
            formula="sqrt(decay_uncertainty_bar_per_min**2"
            " + (rise_bar_per_k * temperature_uncertainty_k * 60 / duration_s)**2"
            " + (constants_spread_pct / 100 * thermal_bar_per_min)**2)",
        ),
    ]


@calculation(
    family="bench",
    title="Decay corrected for temperature",
    example={
        "decay_bar_per_min": 0.5,
        "temperature_change_k": -0.2,
        "duration_s": 300.0,
        "oil": "synthetic hydrocarbon, MIL-H-83282",
        "temperature_uncertainty_k": 0.1,
    },
    example_source="Constants of leeimh.com (300000 psi, 0.00046 for each °F); derived here: 17.1 bar for "
    "each K, so cooling by 0.2 K in five minutes takes 0.69 bar/min, more than all of the decay.",
)
def temperature_corrected_decay(
    *,
    decay_bar_per_min: Decay,
    temperature_change_k: Change,
    duration_s: Length,
    oil: Oil,
    decay_uncertainty_bar_per_min: DecayUncertainty = 0.0,
    temperature_uncertainty_k: ChangeUncertainty = 0.0,
    constants_spread_pct: Spread = CONSTANTS_SPREAD_PCT,
    volume_ml: Volume = None,
    compliance_ml_per_bar: Compliance = None,
) -> CorrectedDecay:
    """Decay of a hold at one temperature, with the oil named whose constants were used.

    Parameters
    ----------
    decay_bar_per_min : float
        As measured, below 0 where the pressure rises [bar/min].
    temperature_change_k : float
        End less start of the hold, -200 to 200 [K].
    duration_s : float
        Length of the hold, 1 to 86400 [s].
    oil : str
        Oil of the published list whose constants are used [-].
    decay_uncertainty_bar_per_min : float
        Expanded uncertainty of the decay, 0 or more [bar/min].
    temperature_uncertainty_k : float
        Expanded uncertainty of the change, 0 or more [K].
    constants_spread_pct : float
        Expanded uncertainty of the constants, 0 to 100 [%].
    volume_ml : float, optional
        Oil shut in, above 0; counts with the compliance [mL].
    compliance_ml_per_bar : float, optional
        Measured compliance of rig and unit, 0.000001 to 10000 [mL/bar].

    Returns
    -------
    CorrectedDecay
        Rise for each K [bar/K], what the temperature adds, corrected decay with its expanded
        uncertainty [bar/min].

    Raises
    ------
    InputError
        Outside the ranges.

    Notes
    -----
    Oil that warms by so much presses on its walls; what it adds hides a leak, what it takes off by
    cooling looks like one. The constants of published oils differ, so their spread is in the result,
    and the warning names them. A correction is for understanding: a hold is better repeated when
    the temperature has settled.

    Validity: one temperature all through the oil, a change that is even over the hold.
    Left out: growth of the housing; the change of the constants with pressure and temperature.

    References
    ----------
    leeimh.com, bulk modulus page (constants of the oils); fluidpower.pro (11 bar for each K).
    JCGM 100:2008 (GUM), clause 5.1.2 (number from memory).

    Examples
    --------
    >>> found = temperature_corrected_decay(
    ...     decay_bar_per_min=0.5,
    ...     temperature_change_k=-0.2,
    ...     duration_s=300,
    ...     oil="synthetic hydrocarbon, MIL-H-83282",
    ... )
    >>> round(found.rise_bar_per_k, 1), round(found.corrected_bar_per_min, 3)
    (17.1, -0.185)
    """
    constants = OILS[oil]
    per_k = rise_bar_per_k(oil=oil, volume_ml=volume_ml, compliance_ml_per_bar=compliance_ml_per_bar)
    measured = volume_ml is not None and compliance_ml_per_bar is not None
    thermal = per_k * temperature_change_k * 60 / duration_s
    named = _NAMED.format(
        oil=oil, modulus=constants.modulus_mpa, expansion=constants.expansion_per_k, per_k=per_k
    )
    return CorrectedDecay(
        rise_bar_per_k=per_k,
        thermal_bar_per_min=thermal,
        corrected_bar_per_min=decay_bar_per_min + thermal,
        expanded_bar_per_min=hypot(
            decay_uncertainty_bar_per_min,
            per_k * temperature_uncertainty_k * 60 / duration_s,
            constants_spread_pct / 100 * thermal,
        ),
        warnings=(named, *(() if measured else (_RIGID,)), _OWN),
        sources=(_LEE, _GUM),
    )


def rise_bar_per_k(
    *, oil: str, volume_ml: float | None = None, compliance_ml_per_bar: float | None = None
) -> float:
    """Rise of a shut-in pressure for each K.

    Parameters
    ----------
    oil : str
        Key of ``OILS`` [-].
    volume_ml, compliance_ml_per_bar : float, optional
        Oil shut in and measured compliance, both above 0; together they go before the bulk modulus
        [mL, mL/bar].

    Returns
    -------
    float
        The rise [bar/K].

    Raises
    ------
    ValueError
        A volume or a compliance that is not above 0.

    Examples
    --------
    >>> round(rise_bar_per_k(oil="mineral oil, MIL-H-5606"), 1)
    14.8
    """
    constants = OILS[oil]
    if volume_ml is None or compliance_ml_per_bar is None:
        return 10 * constants.modulus_mpa * constants.expansion_per_k
    if not (volume_ml > 0 and compliance_ml_per_bar > 0):
        raise ValueError("the oil shut in and the compliance must be above 0")
    return constants.expansion_per_k * volume_ml / compliance_ml_per_bar


def at_one_temperature(*, pressure_bar: Floats, temperature_c: Floats, bar_per_k: float) -> Floats:
    """Pressure of each sample as it would be at the temperature of the first.

    Parameters
    ----------
    pressure_bar, temperature_c : array
        Pressure [bar] and temperature of the oil [°C] of each sample.
    bar_per_k : float
        Rise of the pressure for each K, from named constants or measured [bar/K].

    Returns
    -------
    array
        Corrected pressures [bar].
    """
    return np.asarray(pressure_bar - bar_per_k * (temperature_c - temperature_c[0]), dtype=np.float64)


def bend_by_temperature(*, time_s: Floats, pressure_bar: Floats, temperature_c: Floats, hold: HoldFit) -> str:
    """Say whether the temperature explains a hold that bends.

    Parameters
    ----------
    time_s, pressure_bar, temperature_c : array
        The whole trace [s, bar, °C].
    hold : HoldFit
        The hold as evaluated, with its window.

    Returns
    -------
    str
        Words for the bend; empty where the hold is straight or the temperature does not explain it.

    Notes
    -----
    A line and the temperature are fitted to the pressure together. The temperature explains the
    bend where the pressure rises with it, by no more than an oil can, and what is left without it
    is straight. It names the bend and corrects nothing: the rise found is no constant of the oil.
    """
    inside = (time_s >= hold.start_s) & (time_s <= hold.end_s)
    time, pressure, temperature = time_s[inside], pressure_bar[inside], temperature_c[inside]
    if hold.straight or np.ptp(temperature) <= 0:
        return ""
    apart = np.column_stack([np.ones_like(time), time - time.mean(), temperature - temperature[0]])
    per_k = float(np.linalg.lstsq(apart, pressure - pressure[0], rcond=None)[0][2])
    if not 0 < per_k <= MOST_BAR_PER_K:
        return ""
    level = at_one_temperature(pressure_bar=pressure, temperature_c=temperature, bar_per_k=per_k)
    if not evaluate_hold(time_s=time, pressure_bar=level).straight:
        return ""
    change = float(temperature[-1] - temperature[0])
    return f"temperature: the pressure follows it, {per_k:.2g} bar for each K, {change:+.2g} K in the window"

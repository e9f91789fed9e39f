"""Trapped oil: what heat does to its pressure, and what air does to its stiffness."""

from dataclasses import dataclass
from typing import Annotated

from shop.calc.parameters import Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

BulkModulus = Annotated[
    float,
    Number(
        title="Bulk modulus of the oil",
        of="MPa",
        above=0,
        at_most=10000,
        help="published for oils: 1400 MPa (Rabie, p. 53), 1790 to 2070 MPa (leeimh.com)",
    ),
]
Expansion = Annotated[
    float,
    Number(
        title="Expansion of the oil by volume",
        of="1/K",
        above=0,
        at_most=0.01,
        help="0.00046 for each °F is 0.000828 for each K (leeimh.com)",
    ),
]
Rise = Annotated[
    float,
    Number(title="Rise of temperature", of="K", at_least=-300, at_most=300, help="below 0 where it cools"),
]
AirShare = Annotated[
    float,
    Number(
        title="Share of undissolved air at the working pressure",
        at_least=0,
        below=1,
        help="0.01 is 1 % of the volume at the pressure below, not at the atmosphere",
    ),
]
PressureAbsolute = Annotated[
    float, Number(title="Working pressure, absolute", of="MPa", above=0, at_most=100)
]
Polytropic = Annotated[
    float,
    Number(title="Polytropic index of the air", at_least=1, at_most=1.4, help="1 slow, 1.4 fast"),
]

_RABIE = "Rabie, Fluid Power Engineering, eq. 2.57, p. 32"
_LEE = "leeimh.com bulk-modulus (trapped oil: 6900 psi for 50 °F)"
_HOT = (
    "Never leave oil shut in where it can warm: vent it or give it a relief valve. Hydraulic oils "
    "rise by 11 to 17 bar for each K as published, other fluids by 10 to 20: say which constants a "
    "hold test was corrected with. "
    "Local codes and licensed practice come first."
)
_COOLS = (
    "The oil shrinks: its pressure falls until a void opens, not below zero, and a load "
    "that it holds sinks by the same share of the oil's height."
)
_AIR = (
    "The share of air is at the working pressure; an analysis at the atmosphere gives "
    "another number (compare air_fraction_at_atmosphere)."
)


@dataclass(frozen=True, kw_only=True)
class ThermalRise(Result):
    """What heat does to oil that is shut in."""

    rise_bar: Annotated[
        float,
        Figure(
            title="Rise of pressure",
            of="bar",
            formula="10 * bulk_modulus_mpa * expansion_per_k * temperature_rise_k",
        ),
    ]
    rise_bar_per_k: Annotated[
        float,
        Figure(title="Rise for each K", of="bar/K", formula="10 * bulk_modulus_mpa * expansion_per_k"),
    ]
    free_expansion_pct: Annotated[
        float,
        Figure(
            title="Growth of the volume if it is not shut in",
            of="%",
            formula="100 * expansion_per_k * temperature_rise_k",
        ),
    ]


@calculation(
    family="pumps",
    title="Pressure of trapped oil that warms",
    example={"bulk_modulus_mpa": 2068.43, "expansion_per_k": 0.000828, "temperature_rise_k": 27.7778},
    example_source="leeimh.com bulk-modulus: 300000 psi, 0.00046 for each °F, 70 to 120 °F give 6900 psi, "
    "which is 475.7 bar.",
)
def thermal_pressure_rise(
    *, bulk_modulus_mpa: BulkModulus, expansion_per_k: Expansion, temperature_rise_k: Rise
) -> ThermalRise:
    """Rise of the pressure of oil that is shut in and warms.

    Parameters
    ----------
    bulk_modulus_mpa : float
        Bulk modulus of the oil, above 0 to 10000 [MPa].
    expansion_per_k : float
        Expansion by volume, above 0 to 0.01 [1/K].
    temperature_rise_k : float
        Rise of temperature, -300 to 300; below 0 where the oil cools [K].

    Returns
    -------
    ThermalRise
        Rise of pressure [bar] and for each K [bar/K]; growth of the volume if the oil were free [%].

    Raises
    ------
    InputError
        Outside the ranges.

    Notes
    -----
    ``rise = B * alpha * rise of temperature``. The rule of thumb of 11 bar for each K (90 psi for
    each °F) lies at the lower end of what published constants of hydraulic oils give, 11 to 17; phosphate
    ester gives 20, silicone oil 10.

    Validity: a space full of oil without air, that does not give way.
    Left out: growth and give of the housing and hoses, which make the rise smaller; air; the change
    of both constants with pressure and temperature.

    References
    ----------
    leeimh.com, bulk modulus page (constants of fluids, 6900 psi example); the rule of thumb:
    fluidpower.pro (its last line misprints bar for psi).

    Examples
    --------
    >>> found = thermal_pressure_rise(
    ...     bulk_modulus_mpa=2068.43, expansion_per_k=0.000828, temperature_rise_k=27.7778
    ... )
    >>> round(found.rise_bar, 1)
    475.7
    """
    per_k = 10 * bulk_modulus_mpa * expansion_per_k
    return ThermalRise(
        rise_bar=per_k * temperature_rise_k,
        rise_bar_per_k=per_k,
        free_expansion_pct=100 * expansion_per_k * temperature_rise_k,
        warnings=(_HOT, _COOLS) if temperature_rise_k < 0 else (_HOT,),
        sources=(_LEE, "fluidpower.pro (11 bar for each K, 90 psi for each °F)"),
    )


@dataclass(frozen=True, kw_only=True)
class EffectiveModulus(Result):
    """Stiffness of oil with air in it."""

    effective_mpa: Annotated[
        float,
        Figure(
            title="Effective bulk modulus",
            of="MPa",
            formula="1 / (air_fraction / (polytropic_index * pressure_abs_mpa)"
            " + (1 - air_fraction) / bulk_modulus_mpa)",
        ),
    ]
    air_growth: Annotated[
        float,
        Figure(
            title="Volume of the air at the atmosphere against that at pressure",
            formula="exp(log(pressure_abs_mpa / 0.101325) / polytropic_index)",
        ),
    ]
    air_fraction_at_atmosphere: Annotated[
        float,
        Figure(
            title="The same air as a share of the volume at the atmosphere",
            formula="air_fraction * air_growth / (air_fraction * air_growth + 1 - air_fraction)",
        ),
    ]


@calculation(
    family="pumps",
    title="Stiffness of oil with air in it",
    example={
        "bulk_modulus_mpa": 1400.0,
        "air_fraction": 0.01,
        "pressure_abs_mpa": 10.0,
        "polytropic_index": 1.4,
    },
    example_source="Formula of Rabie, eq. 2.57, and his bulk modulus (p. 53); derived here: 703.5 MPa.",
)
def effective_bulk_modulus(
    *,
    bulk_modulus_mpa: BulkModulus,
    air_fraction: AirShare,
    pressure_abs_mpa: PressureAbsolute,
    polytropic_index: Polytropic,
) -> EffectiveModulus:
    """Bulk modulus of oil with undissolved air in it.

    Parameters
    ----------
    bulk_modulus_mpa : float
        Bulk modulus of the oil without air, above 0 to 10000 [MPa].
    air_fraction : float
        Share of the volume that is undissolved air at the working pressure, 0 to below 1 [-].
    pressure_abs_mpa : float
        Working pressure, absolute, above 0 to 100 [MPa].
    polytropic_index : float
        1 for slow changes (isothermal) to 1.4 for fast ones (adiabatic) [-].

    Returns
    -------
    EffectiveModulus
        Bulk modulus of the mixture [MPa]; how much the air grows down to the atmosphere, and its share
        there [-].

    Raises
    ------
    InputError
        Outside the ranges.

    Notes
    -----
    ``1 / B_e = a / (n P) + (1 - a) / B``. Rabie introduces ``a`` as the share at the atmosphere,
    but the derivation holds for the share at P, and that is what is asked for here. The share at
    1.01325 bar follows from ``P V**n`` = constant, with the oil's own compression left out.

    Validity: air that stays undissolved, evenly spread, at one pressure.
    Left out: solution of air in oil, give of hoses and housings.

    References
    ----------
    M. G. Rabie, Fluid Power Engineering, eq. 2.57, p. 32; bulk modulus of the example p. 53.

    Examples
    --------
    >>> found = effective_bulk_modulus(
    ...     bulk_modulus_mpa=1400, air_fraction=0.01, pressure_abs_mpa=10, polytropic_index=1.4
    ... )
    >>> round(found.effective_mpa, 1)
    703.5
    """
    soft = air_fraction / (polytropic_index * pressure_abs_mpa) + (1 - air_fraction) / bulk_modulus_mpa
    growth = (pressure_abs_mpa / 0.101325) ** (1 / polytropic_index)
    swollen = air_fraction * growth
    return EffectiveModulus(
        effective_mpa=1 / soft,
        air_growth=growth,
        air_fraction_at_atmosphere=swollen / (swollen + 1 - air_fraction),
        warnings=(_AIR,) if air_fraction else (),
        sources=(_RABIE,),
    )

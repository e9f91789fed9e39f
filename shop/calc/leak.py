"""Leaks: from the decay of a pressure, and through a ring-shaped gap."""

from dataclasses import dataclass
from math import pi
from typing import Annotated

from shop.calc.oil import BulkModulus
from shop.calc.parameters import InputError, Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

Volume = Annotated[float, Number(title="Volume shut in", of="mL", above=0, at_most=500000)]
Decay = Annotated[float, Number(title="Decay of pressure", of="bar/min", at_least=0, at_most=10000)]
Diameter = Annotated[float, Number(title="Diameter of the gap", of="mm", above=0, at_most=10000)]
Clearance = Annotated[
    float,
    Number(
        title="Radial clearance",
        of="µm",
        above=0,
        at_most=1000,
        help="half the difference of the diameters; at most a twentieth of the diameter",
    ),
]
GapLength = Annotated[
    float, Number(title="Length of the gap along the flow", of="mm", above=0, at_most=10000)
]
Drop = Annotated[float, Number(title="Drop of pressure", of="bar", at_least=0, at_most=1000)]
Viscosity = Annotated[
    float,
    Number(title="Dynamic viscosity", of="Pa·s", above=0, at_most=100, help="0.03 Pa·s is 30 mPa·s"),
]
Eccentricity = Annotated[
    float,
    Number(title="Eccentricity", at_least=0, at_most=1, help="0 in the middle, 1 touching"),
]

_SMALL = (
    "In a unit of a few mL the rig's own oil and hoses decide: take volume and stiffness of rig and "
    "unit together, and measure the rig with its outlet blanked first."
)
_NOT_TIGHT = (
    "Air in the oil, warming or cooling change the pressure too; a steady pressure alone is no proof "
    "that nothing leaks."
)


@dataclass(frozen=True, kw_only=True)
class DecayLeak(Result):
    """Leak that a decay of pressure stands for."""

    leak_ml_min: Annotated[
        float,
        Figure(
            title="Leak",
            of="mL/min",
            formula="volume_ml * decay_bar_per_min / (10 * bulk_modulus_mpa)",
        ),
    ]


@calculation(
    family="pumps",
    title="Leak rate from a decay of pressure",
    example={"volume_ml": 2000.0, "bulk_modulus_mpa": 1400.0, "decay_bar_per_min": 10.0},
    example_source="Derived here from the definition of the bulk modulus, with Rabie's 1.4 GPa (p. 53): "
    "1.4286 mL/min.",
)
def decay_leak_rate(
    *, volume_ml: Volume, bulk_modulus_mpa: BulkModulus, decay_bar_per_min: Decay
) -> DecayLeak:
    """Leak rate of a shut volume of oil whose pressure decays.

    Parameters
    ----------
    volume_ml : float
        Oil shut in, of unit and rig together, above 0 to 500000 [mL].
    bulk_modulus_mpa : float
        Bulk modulus of what gives way, above 0 to 10000 [MPa]: of the oil alone only where housing
        and hoses are stiff; best measured with the rig.
    decay_bar_per_min : float
        Decay of the pressure, from 0 to 10000 [bar/min].

    Returns
    -------
    DecayLeak
        Leak [mL/min].

    Raises
    ------
    InputError
        Outside the ranges.

    Notes
    -----
    ``Q = V / B * dp/dt``, from the definition of the bulk modulus.

    Validity: one temperature; a decay that is small against the pressure.
    Left out: air, give of hoses and housing, warming or cooling.

    References
    ----------
    M. G. Rabie, Fluid Power Engineering, p. 53 (bulk modulus of the example).

    Examples
    --------
    >>> round(decay_leak_rate(volume_ml=2000, bulk_modulus_mpa=1400, decay_bar_per_min=10).leak_ml_min, 4)
    1.4286
    """
    return DecayLeak(
        leak_ml_min=volume_ml * decay_bar_per_min / (10 * bulk_modulus_mpa),
        warnings=(_SMALL, _NOT_TIGHT),
        sources=("definition of the bulk modulus; Rabie, Fluid Power Engineering, p. 53 (1.4 GPa)",),
    )


@dataclass(frozen=True, kw_only=True)
class AnnularLeak(Result):
    """Leak through a ring-shaped gap."""

    concentric_leak_ml_min: Annotated[
        float,
        Figure(
            title="Leak with the parts in the middle",
            of="mL/min",
            formula="pi * diameter_mm * clearance_um**3 * pressure_drop_bar"
            " / (12 * viscosity_pa_s * length_mm) * 6 / 1000000",
        ),
    ]
    leak_ml_min: Annotated[
        float,
        Figure(title="Leak", of="mL/min", formula="concentric_leak_ml_min * (1 + 1.5 * eccentricity**2)"),
    ]


@calculation(
    family="pumps",
    title="Leak through a ring-shaped gap",
    example={
        "diameter_mm": 80.0,
        "clearance_um": 25.0,
        "length_mm": 40.0,
        "pressure_drop_bar": 160.0,
        "viscosity_pa_s": 0.03,
        "eccentricity": 1.0,
    },
    example_source="Formula of Rabie, eq. 2.19, p. 21; derived here: 261.8 mL/min in the middle, "
    "2.5 times that (654.5) where the parts touch.",
)
def annular_leak(
    *,
    diameter_mm: Diameter,
    clearance_um: Clearance,
    length_mm: GapLength,
    pressure_drop_bar: Drop,
    viscosity_pa_s: Viscosity,
    eccentricity: Eccentricity,
) -> AnnularLeak:
    """Laminar leak through the gap between a round part and its bore.

    Parameters
    ----------
    diameter_mm : float
        Diameter of the gap, above 0 to 10000 [mm].
    clearance_um : float
        Radial clearance, half the difference of the diameters, above 0 to 1000 and at most a
        twentieth of the diameter [µm].
    length_mm : float
        Length of the gap along the flow, above 0 to 10000 [mm].
    pressure_drop_bar : float
        Drop of pressure along it, 0 to 1000 [bar].
    viscosity_pa_s : float
        Dynamic viscosity, above 0 to 100 [Pa·s].
    eccentricity : float
        Offset of the axes as a share of the radial clearance, 0 to 1 [-].

    Returns
    -------
    AnnularLeak
        Leak with the axes in line and as they lie [mL/min].

    Raises
    ------
    InputError
        Outside the ranges, or a clearance above a twentieth of the diameter.

    Notes
    -----
    ``Q = pi D c**3 dp / (12 mu L) * (1 + 1.5 e**2)``. A clearance twice as wide leaks eight times
    as much.

    Validity: laminar flow in a gap that is narrow against its diameter, parallel walls.
    Left out: heating of the oil in the gap, losses at its ends, tilt, motion of the walls.

    References
    ----------
    M. G. Rabie, Fluid Power Engineering, eq. 2.19, p. 21. The factor of 2.5 for parts that touch
    is printed in general references of hydraulics.

    Examples
    --------
    >>> found = annular_leak(
    ...     diameter_mm=80,
    ...     clearance_um=25,
    ...     length_mm=40,
    ...     pressure_drop_bar=160,
    ...     viscosity_pa_s=0.03,
    ...     eccentricity=1,
    ... )
    >>> round(found.concentric_leak_ml_min, 1), round(found.leak_ml_min, 1)
    (261.8, 654.5)
    """
    widest = diameter_mm * 1000 / 20
    if clearance_um > widest:
        raise InputError(
            "clearance_um",
            f"clearance_um must be at most a twentieth of the diameter ({widest:g} µm); "
            f"got {clearance_um:g} µm",
        )
    concentric = pi * diameter_mm * clearance_um**3 * pressure_drop_bar / (12 * viscosity_pa_s * length_mm)
    concentric *= 6e-6  # µm³ bar/(Pa·s), as mm cancels: 1e-18 * 1e5 m³/s, times 6e7 for mL/min
    return AnnularLeak(
        concentric_leak_ml_min=concentric,
        leak_ml_min=concentric * (1 + 1.5 * eccentricity**2),
        warnings=("The viscosity must be that of the oil in the gap, which is warmer than the tank.",),
        sources=(
            "Rabie, Fluid Power Engineering, eq. 2.19, p. 21",
            "factor 2.5 for parts that touch: general references of hydraulics",
        ),
    )

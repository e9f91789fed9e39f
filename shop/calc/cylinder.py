"""Cylinders: forces, speeds, volumes, the pressure that a plugged port makes, and drift."""

from dataclasses import dataclass
from math import pi
from typing import Annotated

from shop.calc.parameters import Choice, Flag, InputError, Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

Bore = Annotated[float, Number(title="Bore", of="mm", above=0, at_most=2000)]
Rod = Annotated[float, Number(title="Rod", of="mm", above=0, below=2000, help="thinner than the bore")]
Pressure = Annotated[float, Number(title="Pressure", of="bar", at_least=0, at_most=1000)]
Flow = Annotated[float, Number(title="Flow", of="L/min", at_least=0, at_most=10000)]
DoubleRod = Annotated[bool, Flag(title="A rod on both sides of the piston")]
Stroke = Annotated[float, Number(title="Stroke", of="mm", above=0, at_most=50000)]
Drift = Annotated[float, Number(title="Drift", of="mm", at_least=0, at_most=50000)]
Minutes = Annotated[float, Number(title="Time of the drift", of="min", above=0, at_most=100000)]
BORE_SIDE, ROD_SIDE = "bore", "rod"
Side = Annotated[str, Choice(title="Side that the oil leaves", options=(BORE_SIDE, ROD_SIDE))]

_EXAMPLE_CYLINDER = "mechanicalengineeringcourse.com/?p=1680 (data: 200 bar, 40 L/min, 100 and 70 mm)"
_BALANCE = "areas of circles, balance of forces and of volumes"
_DANGER = "scribd.com 163207220 (danger of a plugged rod port)"
_LOCK = "yeskey.com; scribd.com 163207220 (hydraulic lock)"
_PLUGGED = (
    "Never put pressure on the bore side while the rod port is plugged: the smaller rod side "
    "would take {raised:.0f} bar, which can burst the cylinder or its fittings. "
    "Local codes and licensed practice come first."
)
_PLUGGED_DOUBLE = (
    "Never put pressure on one side while the other port is plugged: the trapped oil takes the full "
    "{raised:.0f} bar and cannot be let off. Local codes and licensed practice come first."
)
_NO_PROOF = (
    "Drift alone does not prove a leaking piston seal: with both ports shut a single-rod cylinder holds "
    "even without one (hydraulic lock), unless it hangs its load or has a rod on both sides. Valves, "
    "hoses, trapped air and cooling oil also let a load sink. Never work under a load that only oil holds."
)


@dataclass(frozen=True, kw_only=True)
class CylinderForces(Result):
    """Areas, forces, speeds and flows of a cylinder."""

    bore_area_mm2: Annotated[float, Figure(title="Area of the bore", of="mm²", formula="pi / 4 * bore_mm**2")]
    annulus_area_mm2: Annotated[
        float, Figure(title="Area of the rod side", of="mm²", formula="pi / 4 * (bore_mm**2 - rod_mm**2)")
    ]
    extend_area_mm2: Annotated[
        float,
        Figure(
            title="Area that extends",
            of="mm²",
            how="the area of the bore; with a rod on both sides the area of the rod side",
        ),
    ]
    force_extend_kn: Annotated[
        float, Figure(title="Force extending", of="kN", formula="pressure_bar * extend_area_mm2 / 10000")
    ]
    force_retract_kn: Annotated[
        float, Figure(title="Force retracting", of="kN", formula="pressure_bar * annulus_area_mm2 / 10000")
    ]
    speed_extend_mm_s: Annotated[
        float,
        Figure(title="Speed extending", of="mm/s", formula="flow_l_min * 1000000 / 60 / extend_area_mm2"),
    ]
    speed_retract_mm_s: Annotated[
        float,
        Figure(title="Speed retracting", of="mm/s", formula="flow_l_min * 1000000 / 60 / annulus_area_mm2"),
    ]
    area_ratio: Annotated[float, Figure(title="Ratio of areas", formula="extend_area_mm2 / annulus_area_mm2")]
    return_flow_extend_l_min: Annotated[
        float, Figure(title="Return flow extending", of="L/min", formula="flow_l_min / area_ratio")
    ]
    return_flow_retract_l_min: Annotated[
        float, Figure(title="Return flow retracting", of="L/min", formula="flow_l_min * area_ratio")
    ]
    intensified_pressure_bar: Annotated[
        float,
        Figure(title="Rod side with its port plugged", of="bar", formula="pressure_bar * area_ratio"),
    ]
    hydraulic_power_w: Annotated[
        float, Figure(title="Hydraulic power", of="W", formula="pressure_bar * flow_l_min / 0.6")
    ]


@calculation(
    family="cylinders",
    title="Forces and speeds of a cylinder",
    example={"bore_mm": 100.0, "rod_mm": 70.0, "pressure_bar": 200.0, "flow_l_min": 40.0},
    example_source="Data of mechanicalengineeringcourse.com/?p=1680: areas 7853.98 and 4005.53 mm², "
    "157.08 and 80.11 kN, 84.88 and 166.44 mm/s, 20.40 L/min returning.",
)
def cylinder_forces(
    *, bore_mm: Bore, rod_mm: Rod, pressure_bar: Pressure, flow_l_min: Flow, double_rod: DoubleRod = False
) -> CylinderForces:
    """Forces, speeds and flows of a double-acting cylinder, and what a plugged rod port would do.

    Parameters
    ----------
    bore_mm : float
        Bore, above 0 to 2000 [mm].
    rod_mm : float
        Rod, above 0 and below the bore [mm].
    pressure_bar : float
        Pressure on the side that pushes, the other side without pressure, 0 to 1000 [bar].
    flow_l_min : float
        Flow into the side that pushes, 0 to 10000 [L/min].
    double_rod : bool
        Whether the same rod leaves on both sides; then both sides have the area of the rod side [-].

    Returns
    -------
    CylinderForces
        Areas [mm²], forces [kN], speeds [mm/s], return flows [L/min], ratio of areas [-], pressure
        on the rod side if its port were plugged [bar], hydraulic power [W].

    Raises
    ------
    InputError
        Outside the ranges, or where the rod is not thinner than the bore.

    Notes
    -----
    Force is pressure times area, speed is flow divided by area; the rod side has the area of the
    bore less that of the rod.

    Validity: steady motion, oil that does not give way.
    Left out: friction of the seals, back pressure, leakage, acceleration.

    References
    ----------
    Data of the example: mechanicalengineeringcourse.com/?p=1680. Danger of a plugged rod port:
    a cylinder training text (scribd.com 163207220).

    Examples
    --------
    >>> found = cylinder_forces(bore_mm=100, rod_mm=70, pressure_bar=200, flow_l_min=40)
    >>> round(found.force_extend_kn, 2), round(found.return_flow_extend_l_min, 2)
    (157.08, 20.4)
    >>> round(found.intensified_pressure_bar)
    392
    """
    bore_area, annulus = _areas(bore_mm, rod_mm)
    extend_area = annulus if double_rod else bore_area
    raised = _raised(pressure_bar, extend_area, annulus)
    words = _PLUGGED_DOUBLE if double_rod else _PLUGGED
    return CylinderForces(
        bore_area_mm2=bore_area,
        annulus_area_mm2=annulus,
        extend_area_mm2=extend_area,
        force_extend_kn=pressure_bar * extend_area / 1e4,
        force_retract_kn=pressure_bar * annulus / 1e4,
        speed_extend_mm_s=flow_l_min * 1e6 / 60 / extend_area,
        speed_retract_mm_s=flow_l_min * 1e6 / 60 / annulus,
        area_ratio=extend_area / annulus,
        return_flow_extend_l_min=flow_l_min * annulus / extend_area,
        return_flow_retract_l_min=flow_l_min * extend_area / annulus,
        intensified_pressure_bar=raised,
        hydraulic_power_w=pressure_bar * flow_l_min / 0.6,
        warnings=(words.format(raised=raised),),
        sources=(_BALANCE, _EXAMPLE_CYLINDER, _DANGER),
    )


def intensified_pressure(*, pressure_bar: float, bore_mm: float, rod_mm: float) -> float:
    """Pressure on the rod side when the bore side is under pressure and the rod port is plugged.

    Parameters
    ----------
    pressure_bar : float
        Pressure on the bore side, 0 or more [bar].
    bore_mm : float
        Bore, above 0 [mm].
    rod_mm : float
        Rod, above 0 and below the bore [mm].

    Returns
    -------
    float
        Pressure of the trapped oil on the rod side [bar].

    Raises
    ------
    InputError
        A pressure below 0, or diameters that are not 0 < rod < bore.

    Notes
    -----
    Balance of forces on the piston: ``p_rod = p_bore * bore² / (bore² - rod²)``.

    Validity: a single rod, at rest.
    Left out: friction, load, the give of seals and hoses.

    References
    ----------
    Balance of forces; the danger as described in a cylinder training text (scribd.com 163207220).

    Examples
    --------
    >>> round(intensified_pressure(pressure_bar=200, bore_mm=100, rod_mm=70))
    392
    """
    if not pressure_bar >= 0:
        raise InputError(
            "pressure_bar", f"pressure_bar must be a number from 0 bar; got {pressure_bar:g} bar"
        )
    return _raised(pressure_bar, *_areas(bore_mm, rod_mm))


@dataclass(frozen=True, kw_only=True)
class CylinderVolumes(Result):
    """Oil that a cylinder takes and gives."""

    extend_ml: Annotated[
        float, Figure(title="Oil to extend", of="mL", formula="pi / 4 * bore_mm**2 * stroke_mm / 1000")
    ]
    retract_ml: Annotated[
        float,
        Figure(
            title="Oil to retract",
            of="mL",
            formula="pi / 4 * (bore_mm**2 - rod_mm**2) * stroke_mm / 1000",
        ),
    ]
    rod_displacement_ml: Annotated[
        float, Figure(title="Oil the rod displaces", of="mL", formula="extend_ml - retract_ml")
    ]


@calculation(
    family="cylinders",
    title="Oil volumes of a cylinder",
    example={"bore_mm": 100.0, "rod_mm": 70.0, "stroke_mm": 500.0},
    example_source="Derived here from the published areas 7853.98 and 4005.53 mm² of "
    "mechanicalengineeringcourse.com/?p=1680: 3927 and 2003 mL.",
)
def cylinder_volumes(*, bore_mm: Bore, rod_mm: Rod, stroke_mm: Stroke) -> CylinderVolumes:
    """Oil that a single-rod cylinder takes over one whole stroke.

    Parameters
    ----------
    bore_mm : float
        Bore, above 0 to 2000 [mm].
    rod_mm : float
        Rod, above 0 and below the bore [mm].
    stroke_mm : float
        Stroke, above 0 to 50000 [mm].

    Returns
    -------
    CylinderVolumes
        Oil to extend and to retract, and their difference, which the reservoir must take [mL].

    Raises
    ------
    InputError
        Outside the ranges, or where the rod is not thinner than the bore.

    Notes
    -----
    Area times stroke. The level of the reservoir falls by ``rod_displacement_ml`` on extending.

    Validity: a single rod; with a rod on both sides both ways take ``retract_ml``.
    Left out: dead volume at the ends of the stroke, ports, hoses, compression.

    References
    ----------
    Areas of circles; areas of the example: mechanicalengineeringcourse.com/?p=1680.

    Examples
    --------
    >>> found = cylinder_volumes(bore_mm=100, rod_mm=70, stroke_mm=500)
    >>> round(found.extend_ml), round(found.retract_ml), round(found.rod_displacement_ml)
    (3927, 2003, 1924)
    """
    bore_area, annulus = _areas(bore_mm, rod_mm)
    extend, retract = bore_area * stroke_mm / 1000, annulus * stroke_mm / 1000
    return CylinderVolumes(
        extend_ml=extend,
        retract_ml=retract,
        rod_displacement_ml=extend - retract,
        sources=(_BALANCE, _EXAMPLE_CYLINDER),
    )


@dataclass(frozen=True, kw_only=True)
class DriftLeak(Result):
    """Oil that left one side of a cylinder as it drifted."""

    area_mm2: Annotated[
        float,
        Figure(title="Area of the side", of="mm²", how="bore: π/4 bore²; rod: π/4 (bore² − rod²)"),
    ]
    leak_ml_min: Annotated[
        float,
        Figure(title="Oil leaving", of="mL/min", formula="area_mm2 * drift_mm / minutes / 1000"),
    ]


@calculation(
    family="cylinders",
    title="Leak rate from a drift",
    example={"bore_mm": 100.0, "rod_mm": 70.0, "drift_mm": 20.0, "minutes": 5.0, "side": ROD_SIDE},
    example_source="Drift limit of TM 5-3805-280-24-1 (20 mm in 5 min) with the areas of "
    "mechanicalengineeringcourse.com/?p=1680; derived here: 16.02 mL/min, bore side 31.42.",
)
def drift_leak_rate(
    *, bore_mm: Bore, rod_mm: Rod, drift_mm: Drift, minutes: Minutes, side: Side
) -> DriftLeak:
    """Leak rate that a drift of the piston stands for, if all the oil left the named side.

    Parameters
    ----------
    bore_mm : float
        Bore, above 0 to 2000 [mm].
    rod_mm : float
        Rod, above 0 and below the bore [mm].
    drift_mm : float
        Way of the piston, 0 to 50000 [mm].
    minutes : float
        Time of the drift, above 0 to 100000 [min].
    side : str
        Side that the oil leaves, which holds the load: ``bore`` or ``rod`` [-].

    Returns
    -------
    DriftLeak
        Area of that side [mm²], oil leaving it [mL/min]; always with the warning that a drift does
        not prove a leaking piston seal.

    Raises
    ------
    InputError
        Outside the ranges, or where the rod is not thinner than the bore.

    Notes
    -----
    Area of the side times the way, divided by the time.

    Validity: a single rod; oil and housing at one temperature all the time.
    Left out: shrinking of cooling oil, compression, air, where the oil went.

    References
    ----------
    TM 5-3805-280-24-1, p. 6-257 (drift limit, oil at 50 ± 5 °C). Hydraulic lock: yeskey.com;
    scribd.com 163207220.

    Examples
    --------
    >>> found = drift_leak_rate(bore_mm=100, rod_mm=70, drift_mm=20, minutes=5, side="rod")
    >>> round(found.leak_ml_min, 2)
    16.02
    """
    bore_area, annulus = _areas(bore_mm, rod_mm)
    area = bore_area if side == BORE_SIDE else annulus
    return DriftLeak(
        area_mm2=area,
        leak_ml_min=area * drift_mm / minutes / 1000,
        warnings=(_NO_PROOF,),
        sources=(_BALANCE, _LOCK),
    )


def _areas(bore_mm: float, rod_mm: float) -> tuple[float, float]:
    """Return the areas of the bore and of the rod side; refuse a rod that does not fit."""
    if not 0 < rod_mm < bore_mm:
        raise InputError(
            "rod_mm", f"rod_mm must be above 0 mm and below bore_mm ({bore_mm:g} mm); got {rod_mm:g} mm"
        )
    return pi / 4 * bore_mm**2, pi / 4 * (bore_mm**2 - rod_mm**2)


def _raised(pressure_bar: float, pushing_mm2: float, holding_mm2: float) -> float:
    return pressure_bar * pushing_mm2 / holding_mm2

"""Pumps: what a measured flow, torque and power say about their wear."""

from dataclasses import dataclass, replace
from math import pi
from typing import Annotated

from shop.calc.parameters import Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

Displacement = Annotated[
    float, Number(title="Displacement for each revolution", of="cm³", above=0, at_most=10000)
]
Speed = Annotated[
    float, Number(title="Speed under load", of="1/min", above=0, at_most=20000, help="measured, not rated")
]
Pressure = Annotated[
    float, Number(title="Rise of pressure across the pump", of="bar", at_least=0, at_most=1000)
]
MeasuredFlow = Annotated[
    float, Number(title="Flow measured at that pressure", of="L/min", at_least=0, at_most=20000)
]
Torque = Annotated[
    float | None, Number(title="Torque on the shaft, if measured", of="N·m", above=0, at_most=100000)
]
Electrical = Annotated[
    float | None,
    Number(title="Electrical power of the motor, if measured", of="W", above=0, at_most=900000),
]

_SOURCES = (
    "definitions of the efficiencies (ISO 4409 names them; conformity with it is not claimed)",
    "hydrauliclearning.com (worn pump: 10.0 of 11.69 gal/min)",
)


@dataclass(frozen=True, kw_only=True)
class PumpPerformance(Result):
    """Flow, powers and efficiencies of a pump."""

    theoretical_flow_l_min: Annotated[
        float, Figure(title="Theoretical flow", of="L/min", formula="displacement_cm3 * speed_rpm / 1000")
    ]
    volumetric_efficiency_pct: Annotated[
        float,
        Figure(title="Volumetric efficiency", of="%", formula="100 * flow_l_min / theoretical_flow_l_min"),
    ]
    internal_leak_l_min: Annotated[
        float, Figure(title="Internal leak", of="L/min", formula="theoretical_flow_l_min - flow_l_min")
    ]
    hydraulic_power_w: Annotated[
        float, Figure(title="Hydraulic power", of="W", formula="pressure_bar * flow_l_min / 0.6")
    ]
    ideal_torque_nm: Annotated[
        float,
        Figure(
            title="Torque without losses", of="N·m", formula="displacement_cm3 * pressure_bar / (20 * pi)"
        ),
    ]
    shaft_power_w: Annotated[
        float | None,
        Figure(title="Power on the shaft", of="W", formula="pi * speed_rpm * shaft_torque_nm / 30"),
    ]
    mechanical_efficiency_pct: Annotated[
        float | None,
        Figure(title="Hydromechanical efficiency", of="%", formula="100 * ideal_torque_nm / shaft_torque_nm"),
    ]
    input_power_w: Annotated[
        float | None,
        Figure(
            title="Power put in",
            of="W",
            how="on the shaft where the torque was measured, else the electrical power",
        ),
    ]
    overall_efficiency_pct: Annotated[
        float | None,
        Figure(title="Overall efficiency", of="%", formula="100 * hydraulic_power_w / input_power_w"),
    ]
    electrical_efficiency_pct: Annotated[
        float | None,
        Figure(
            title="Efficiency of motor and pump together",
            of="%",
            formula="100 * hydraulic_power_w / electrical_power_w",
        ),
    ]


@calculation(
    family="pumps",
    title="Performance of a pump",
    example={
        "displacement_cm3": 40.0,
        "speed_rpm": 1450.0,
        "pressure_bar": 150.0,
        "flow_l_min": 46.4,
        "shaft_torque_nm": 101.9,
    },
    example_source="A problem sheet of Cairo University (sheet 3: 40 cm³, 1450 1/min, 150 bar, 80 and 75 %); "
    "derived here from it: 46.4 L/min, 15.47 kW and 101.9 N·m.",
)
def pump_performance(
    *,
    displacement_cm3: Displacement,
    speed_rpm: Speed,
    pressure_bar: Pressure,
    flow_l_min: MeasuredFlow,
    shaft_torque_nm: Torque = None,
    electrical_power_w: Electrical = None,
) -> PumpPerformance:
    """Efficiencies and internal leak of a pump from one measured point.

    Parameters
    ----------
    displacement_cm3 : float
        Displacement for each revolution, above 0 to 10000 [cm³].
    speed_rpm : float
        Speed under load, above 0 to 20000 [1/min].
    pressure_bar : float
        Rise of pressure across the pump, 0 to 1000 [bar].
    flow_l_min : float
        Flow measured at that pressure, 0 to 20000 [L/min].
    shaft_torque_nm : float, optional
        Torque on the shaft, above 0 to 100000 [N·m].
    electrical_power_w : float, optional
        Electrical power of the motor, above 0 to 900000 [W].

    Returns
    -------
    PumpPerformance
        Theoretical flow and internal leak [L/min], torque without losses [N·m], powers [W],
        efficiencies [%]. The overall efficiency is that of the shaft where the torque was measured,
        else of motor and pump together; None with neither.

    Raises
    ------
    InputError
        Outside the ranges.

    Notes
    -----
    Theoretical flow is displacement times speed; what is missing of it leaks inside the pump. More
    than 100 % cannot be, and is warned of.

    Validity: one steady point, speed and flow measured at the same time at that pressure.
    Left out: compression of the oil (which counts as leak), air, suction pressure.

    References
    ----------
    Definitions of volumetric and overall efficiency; data of the examples: hydrauliclearning.com,
    Cairo University (problem sheet 3).

    Examples
    --------
    >>> found = pump_performance(
    ...     displacement_cm3=40, speed_rpm=1450, pressure_bar=150, flow_l_min=46.4, shaft_torque_nm=101.9
    ... )
    >>> round(found.volumetric_efficiency_pct), round(found.overall_efficiency_pct)
    (80, 75)
    """
    theoretical = displacement_cm3 * speed_rpm / 1000
    hydraulic = pressure_bar * flow_l_min / 0.6
    ideal_torque = displacement_cm3 * pressure_bar / (20 * pi)
    shaft = None if shaft_torque_nm is None else pi * speed_rpm * shaft_torque_nm / 30
    put_in = electrical_power_w if shaft is None else shaft
    result = PumpPerformance(
        theoretical_flow_l_min=theoretical,
        volumetric_efficiency_pct=100 * flow_l_min / theoretical,
        internal_leak_l_min=theoretical - flow_l_min,
        hydraulic_power_w=hydraulic,
        ideal_torque_nm=ideal_torque,
        shaft_power_w=shaft,
        mechanical_efficiency_pct=_share(ideal_torque, shaft_torque_nm),
        input_power_w=put_in,
        overall_efficiency_pct=_share(hydraulic, put_in),
        electrical_efficiency_pct=_share(hydraulic, electrical_power_w),
        sources=_SOURCES,
    )
    return replace(result, warnings=_warnings(result))


def _share(part: float, whole: float | None) -> float | None:
    return None if whole is None else 100 * part / whole


def _warnings(found: PumpPerformance) -> tuple[str, ...]:
    said = []
    if found.volumetric_efficiency_pct > 100:
        said.append(
            "The flow is above the theoretical flow, which cannot be: check the displacement, the speed "
            "under load and the flow meter."
        )
    if (found.mechanical_efficiency_pct or 0) > 100:
        said.append("The torque is below that without losses, which cannot be: check torque and pressure.")
    if max(found.overall_efficiency_pct or 0, found.electrical_efficiency_pct or 0) > 100:
        said.append(
            "More power comes out than is put in, which cannot be: check torque, electrical power and flow."
        )
    if (found.electrical_efficiency_pct or 0) > (found.overall_efficiency_pct or 0):
        said.append("The shaft gives more than the motor takes, which cannot be: check torque and power.")
    if found.shaft_power_w is None and found.input_power_w is not None:
        said.append("The overall efficiency counts the losses of the motor too: no torque was measured.")
    return tuple(said)

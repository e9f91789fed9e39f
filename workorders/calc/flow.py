"""Power units on the bench: a steady flow at pressure, and the volumetric efficiency it shows."""

from dataclasses import dataclass
from math import hypot, sqrt
from typing import Annotated

from shop.calc.parameters import InputError, Number, Numbers
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result
from workorders.calc.uncertainty import COVERAGE_FACTOR

STEADY_PCT = 5.0  # common practice, no source
STEADY, NOT_STEADY = "steady", "not steady"

Flows = Annotated[
    tuple[float, ...],
    Numbers(
        title="Flow, read again and again",
        fewest=3,
        help="once the oil is warm and the pressure set",
        each=Number(title="Flow", of="L/min", above=0, at_most=20000),
    ),
]
Pressures = Annotated[
    tuple[float, ...],
    Numbers(
        title="Pressure then",
        fewest=3,
        help="one for each flow",
        each=Number(title="Pressure", of="bar", above=0, at_most=1000),
    ),
]
Displacement = Annotated[
    float, Number(title="Displacement for each revolution", of="cm³", above=0, at_most=10000)
]
Speed = Annotated[
    float, Number(title="Speed under load", of="1/min", above=0, at_most=20000, help="measured, not rated")
]
FlowError = Annotated[
    float, Number(title="Largest error of the flow meter, ±", of="L/min", at_least=0, at_most=10000)
]
SpeedError = Annotated[
    float, Number(title="Largest error of the speed, ±", of="1/min", at_least=0, at_most=10000)
]
Steady = Annotated[
    float,
    Number(
        title="Swing that is still steady", of="%", above=0, at_most=50, help="common practice, no source"
    ),
]

_GUM = "JCGM 100:2008 (GUM), clauses 4.2.3, 4.3.7 and 5.1.6 (numbers from memory)"
_DEFINITION = "definition of the volumetric efficiency (ISO 4409 names it; conformity with it is not claimed)"
_SWINGS = "Flow or pressure still swings or creeps: let it settle, and take the readings again."
_ABOVE = "More than 100 % cannot be: check displacement, speed and meter."
_CAUTION = (
    "Set the relief valve before the load valve is closed; never feel for a leak. Local codes and licensed "
    "practice come first."
)


@dataclass(frozen=True, kw_only=True)
class SteadyFlow(Result):
    """A steady flow at pressure and what it says about the pump."""

    flow_l_min: Annotated[float, Figure(title="Flow", of="L/min", how="mean of the readings")]
    pressure_bar: Annotated[float, Figure(title="At", of="bar", how="mean of the readings")]
    flow_swing_pct: Annotated[
        float, Figure(title="Swing of the flow", of="%", how="highest less lowest, as a share of the mean")
    ]
    pressure_swing_pct: Annotated[float, Figure(title="Swing of the pressure", of="%", how="as of the flow")]
    state: Annotated[str, Figure(title="It is", how="steady where neither swings by more than allowed")]
    flow_uncertainty_l_min: Annotated[
        float,
        Figure(
            title="Expanded uncertainty of the flow, k = 2",
            of="L/min",
            how="standard deviation of the mean, and the meter (rectangular), in quadrature, times 2",
        ),
    ]
    theoretical_flow_l_min: Annotated[
        float, Figure(title="Theoretical flow", of="L/min", formula="displacement_cm3 * speed_rpm / 1000")
    ]
    volumetric_efficiency_pct: Annotated[
        float,
        Figure(title="Volumetric efficiency", of="%", formula="100 * flow_l_min / theoretical_flow_l_min"),
    ]
    efficiency_uncertainty_pct: Annotated[
        float,
        Figure(
            title="Its expanded uncertainty, k = 2",
            of="%",
            formula="volumetric_efficiency_pct * sqrt((flow_uncertainty_l_min / flow_l_min)**2"
            " + (2 * speed_error_rpm / sqrt(3) / speed_rpm)**2)",
        ),
    ]


@calculation(
    family="bench",
    title="Steady flow of a power unit",
    example={
        "flows_l_min": (37.8, 37.9, 37.85),
        "pressures_bar": (206.0, 207.0, 207.5),
        "displacement_cm3": 24.58,
        "speed_rpm": 1800.0,
        "flow_error_l_min": 0.4,
        "speed_error_rpm": 5.0,
    },
    example_source="A worn pump of hydrauliclearning.com (1.5 in³, 1800 1/min, 11.69 gal/min in theory, 10.0 "
    "at 3000 psi); derived here: 85.5 %.",
)
def steady_flow(
    *,
    flows_l_min: Flows,
    pressures_bar: Pressures,
    displacement_cm3: Displacement,
    speed_rpm: Speed,
    flow_error_l_min: FlowError = 0.0,
    speed_error_rpm: SpeedError = 0.0,
    steady_pct: Steady = STEADY_PCT,
) -> SteadyFlow:
    """Mean flow at pressure, whether it is steady, and the volumetric efficiency with its uncertainty.

    Parameters
    ----------
    flows_l_min : list of float
        Flow read again and again, 3 or more [L/min].
    pressures_bar : list of float
        Pressure at each of them, as many [bar].
    displacement_cm3 : float
        Displacement for each revolution, above 0 to 10000 [cm³].
    speed_rpm : float
        Speed under load, above 0 to 20000 [1/min].
    flow_error_l_min : float
        Largest error of the flow meter, 0 or more [L/min].
    speed_error_rpm : float
        Largest error of the speed, 0 or more [1/min].
    steady_pct : float
        Swing that is still steady, above 0 to 50 [%].

    Returns
    -------
    SteadyFlow
        Means [L/min, bar], swings [%], state, theoretical flow [L/min], efficiency [%], expanded
        uncertainties.

    Raises
    ------
    InputError
        Outside the ranges, or lists of two lengths.

    Notes
    -----
    What is missing of the theoretical flow leaks inside. The uncertainty of a quotient is that of its
    parts as shares, in quadrature. pump_performance adds torque and power to one such point.

    Validity: readings taken one after the other at one setting, the oil at one temperature.
    Left out: error of the displacement, which is the maker's figure; compression of the oil.

    References
    ----------
    Definition of the volumetric efficiency; hydrauliclearning.com (worn pump). JCGM 100:2008 (GUM),
    clauses 4.2.3, 4.3.7 and 5.1.6 (numbers from memory).

    Examples
    --------
    >>> found = steady_flow(
    ...     flows_l_min=(37.8, 37.9, 37.85),
    ...     pressures_bar=(206, 207, 207.5),
    ...     displacement_cm3=24.58,
    ...     speed_rpm=1800,
    ... )
    >>> round(found.volumetric_efficiency_pct, 1), found.state
    (85.5, 'steady')
    """
    if len(flows_l_min) != len(pressures_bar):
        raise InputError(
            "pressures_bar",
            f"pressures_bar must be as many as flows_l_min ({len(flows_l_min)}); got {len(pressures_bar)}",
        )
    flow, deviation, flow_swing = _mean(flows_l_min)
    pressure, _, pressure_swing = _mean(pressures_bar)
    steady = max(flow_swing, pressure_swing) <= steady_pct
    expanded = COVERAGE_FACTOR * hypot(deviation, flow_error_l_min / sqrt(3))
    theoretical = displacement_cm3 * speed_rpm / 1000
    efficiency = 100 * flow / theoretical
    share = hypot(expanded / flow, COVERAGE_FACTOR * speed_error_rpm / sqrt(3) / speed_rpm)
    return SteadyFlow(
        flow_l_min=flow,
        pressure_bar=pressure,
        flow_swing_pct=flow_swing,
        pressure_swing_pct=pressure_swing,
        state=STEADY if steady else NOT_STEADY,
        flow_uncertainty_l_min=expanded,
        theoretical_flow_l_min=theoretical,
        volumetric_efficiency_pct=efficiency,
        efficiency_uncertainty_pct=efficiency * share,
        warnings=(
            *(() if steady else (_SWINGS,)),
            *((_ABOVE,) if efficiency > 100 else ()),
            _CAUTION,
        ),
        sources=(_DEFINITION, "hydrauliclearning.com (worn pump: 10.0 of 11.69 gal/min)", _GUM),
    )


def _mean(readings: tuple[float, ...]) -> tuple[float, float, float]:
    """Return the mean, the standard deviation of the mean, and the swing in percent of the mean."""
    count = len(readings)
    mean = sum(readings) / count
    deviation = sqrt(sum((one - mean) ** 2 for one in readings) / (count - 1) / count)
    return mean, deviation, 100 * (max(readings) - min(readings)) / mean

"""Steady flow at pressure and the volumetric efficiency of a power unit."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.pump import pump_performance
from workorders.calc.flow import steady_flow

GAL = 3.785411784  # L, NIST Special Publication 811
FLOW = {
    "flows_l_min": (37.8, 37.9, 37.85),
    "pressures_bar": (206.0, 207.0, 207.5),
    "displacement_cm3": 24.58,
    "speed_rpm": 1800,
    "flow_error_l_min": 0.4,
    "speed_error_rpm": 5,
}


def test_a_worn_pump_as_published():
    """hydrauliclearning.com: 11.69 gal/min in theory, 10.0 measured at 3000 psi: 85.5 %."""
    found = steady_flow(**{**FLOW, "flows_l_min": [10.0 * GAL] * 3})
    assert found.theoretical_flow_l_min / GAL == pytest.approx(11.69, abs=0.005)
    assert found.volumetric_efficiency_pct == pytest.approx(85.5, abs=0.1)


@pytest.mark.parametrize(
    ("observed", "mean", "deviation"),
    [
        ((5.007, 4.994, 5.005, 4.990, 4.999), 4.999, 0.0032),
        ((19.663, 19.639, 19.640, 19.685, 19.678), 19.661, 0.0095),
        ((1.0456, 1.0438, 1.0468, 1.0428, 1.0433), 1.04446, 0.00075),
    ],
    ids=["voltage", "current", "phase"],
)
def test_repeated_readings_as_in_the_guide(observed, mean, deviation):
    """JCGM 100:2008, H.2.2, table H.2: means and standard deviations of the mean of five readings."""
    found = steady_flow(**{**FLOW, "flows_l_min": observed, "pressures_bar": [1] * 5, "flow_error_l_min": 0})
    assert found.flow_l_min == pytest.approx(mean, abs=5e-7)
    digits = 5 if deviation < 0.001 else 4
    assert round(found.flow_uncertainty_l_min / 2, digits) == deviation


def test_one_point_of_it_is_the_performance_of_the_pump():
    found = steady_flow(**FLOW)
    other = pump_performance(
        displacement_cm3=24.58, speed_rpm=1800, pressure_bar=found.pressure_bar, flow_l_min=found.flow_l_min
    )
    assert found.volumetric_efficiency_pct == pytest.approx(other.volumetric_efficiency_pct)


def test_the_uncertainty_agrees_with_a_simulation():
    """A million draws: the mean normal, meter and speed from their rectangles."""
    rng = np.random.default_rng(8)
    n = 1_000_000
    readings = np.array(FLOW["flows_l_min"])
    mean = rng.normal(readings.mean(), readings.std(ddof=1) / np.sqrt(3), n) + rng.uniform(-0.4, 0.4, n)
    efficiency = 100 * mean / (24.58 * (1800 + rng.uniform(-5, 5, n)) / 1000)
    found = steady_flow(**FLOW)
    assert found.efficiency_uncertainty_pct == pytest.approx(2 * efficiency.std(), rel=5e-3)


@pytest.mark.parametrize(
    ("flows", "pressures", "state"),
    [
        ((97.5, 100.0, 102.5), (200, 200, 200), "steady"),
        ((97.4, 100.0, 102.6), (200, 200, 200), "not steady"),
        ((100, 100, 100), (194, 200, 206), "not steady"),
    ],
)
def test_a_swing_on_both_sides_of_what_is_steady(flows, pressures, state):
    found = steady_flow(**{**FLOW, "flows_l_min": flows, "pressures_bar": pressures})
    assert found.state == state
    assert any("let it settle" in warning for warning in found.warnings) == (state != "steady")


def test_more_than_everything_is_warned_of():
    found = steady_flow(**{**FLOW, "flows_l_min": (45, 45, 45)})
    assert found.volumetric_efficiency_pct > 100
    assert any("cannot be" in warning for warning in found.warnings)


@given(scale=st.floats(0.01, 50))
def test_another_size_of_pump_has_the_same_efficiency(scale):
    plain = steady_flow(**FLOW)
    scaled = steady_flow(
        **{
            **FLOW,
            "flows_l_min": [scale * one for one in FLOW["flows_l_min"]],
            "displacement_cm3": scale * 24.58,
            "flow_error_l_min": scale * 0.4,
        }
    )
    assert scaled.volumetric_efficiency_pct == pytest.approx(plain.volumetric_efficiency_pct)
    assert scaled.efficiency_uncertainty_pct == pytest.approx(plain.efficiency_uncertainty_pct)


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"flows_l_min": (37, 38)}, "a list of 3 or more"),
        ({"pressures_bar": (200, 201)}, "a list of 3 or more"),
        ({"pressures_bar": (200, 201, 202, 203)}, r"as many as flows_l_min \(3\); got 4"),
        ({"flows_l_min": (37, 0, 38)}, "flows_l_min must be above 0 L/min"),
        ({"steady_pct": 0}, "steady_pct must be above 0 %"),
    ],
)
def test_what_is_no_steady_flow_is_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        steady_flow(**{**FLOW, **fields})

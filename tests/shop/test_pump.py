"""Performance of pumps against published examples, converted by exact units."""

import math

import pytest

from shop.calc.pump import pump_performance

IN3 = 2.54**3  # cm³, exact
GAL = 231 * IN3 / 1000  # L, exact (231 in³)
PSI = 0.45359237 * 9.80665 / 0.0254**2 / 1e5  # bar, exact
HP = 550 * 0.3048 * 0.45359237 * 9.80665  # W, exact (550 ft lbf/s)
LB_FT = 0.3048 * 0.45359237 * 9.80665  # N m, exact

SHEET = {"displacement_cm3": 40, "speed_rpm": 1450, "pressure_bar": 150, "flow_l_min": 46.4}


def test_a_worn_pump():
    """hydrauliclearning.com: 1.5 in³, 1800 1/min: 11.69 gal/min in theory, 10.0 measured at 3000 psi."""
    found = pump_performance(
        displacement_cm3=1.5 * IN3, speed_rpm=1800, pressure_bar=3000 * PSI, flow_l_min=10.0 * GAL
    )
    assert found.theoretical_flow_l_min / GAL == pytest.approx(11.69, abs=0.005)
    assert found.volumetric_efficiency_pct == pytest.approx(85.5, abs=0.1)
    assert found.internal_leak_l_min / GAL == pytest.approx(1.69, abs=0.005)
    assert (found.overall_efficiency_pct, found.shaft_power_w, found.warnings) == (None, None, ())


def test_a_pump_with_its_drive():
    """hydrauliclearning.com, data: 1.5 in³, 1800 1/min, 3000 psi, 90 and 85 %; 10.519 gal/min,
    18.41 hp, 76.5 %, 24.07 hp and 70.2 lb ft follow."""
    found = pump_performance(
        displacement_cm3=1.5 * IN3,
        speed_rpm=1800,
        pressure_bar=3000 * PSI,
        flow_l_min=10.519 * GAL,
        shaft_torque_nm=70.2 * LB_FT,
    )
    assert found.volumetric_efficiency_pct == pytest.approx(90, abs=0.01)
    assert found.hydraulic_power_w / HP == pytest.approx(18.41, abs=0.005)
    assert found.shaft_power_w / HP == pytest.approx(24.07, abs=0.02)
    assert found.mechanical_efficiency_pct == pytest.approx(85, abs=0.1)
    assert found.overall_efficiency_pct == pytest.approx(76.5, abs=0.1)


def test_a_pump_of_a_problem_sheet():
    """Cairo University, sheet 3: 40 cm³, 1450 1/min, 150 bar, 80 and 75 %; the rest follows."""
    found = pump_performance(**SHEET, shaft_torque_nm=101.9)
    assert found.volumetric_efficiency_pct == pytest.approx(80)
    assert found.shaft_power_w == pytest.approx(15470, abs=10)
    assert found.overall_efficiency_pct == pytest.approx(75, abs=0.05)


def test_an_ideal_pump():
    """12.5 cm³, 1450 1/min, 160 bar without losses: 18.125 L/min, 4.833 kW, 31.83 N m."""
    found = pump_performance(
        displacement_cm3=12.5, speed_rpm=1450, pressure_bar=160, flow_l_min=18.125, shaft_torque_nm=31.831
    )
    assert found.theoretical_flow_l_min == 18.125
    assert found.hydraulic_power_w == pytest.approx(4833, abs=1)
    assert found.ideal_torque_nm == pytest.approx(31.83, abs=0.005)
    assert found.overall_efficiency_pct == pytest.approx(100, abs=0.01)
    assert found.internal_leak_l_min == 0


def test_the_efficiencies_multiply_to_the_overall_one():
    """Conservation: overall = volumetric × hydromechanical."""
    found = pump_performance(**SHEET, shaft_torque_nm=120)
    product = found.volumetric_efficiency_pct * found.mechanical_efficiency_pct / 100
    assert found.overall_efficiency_pct == pytest.approx(product)
    assert found.shaft_power_w == pytest.approx(120 * 2 * math.pi * 1450 / 60)


def test_electrical_power_alone_counts_the_motor_too():
    found = pump_performance(**SHEET, electrical_power_w=20000)
    assert found.overall_efficiency_pct == found.electrical_efficiency_pct == pytest.approx(58)
    assert found.mechanical_efficiency_pct is None
    assert "motor too" in found.warnings[0]


def test_with_both_the_shaft_decides():
    found = pump_performance(**SHEET, shaft_torque_nm=101.9, electrical_power_w=20000)
    assert found.overall_efficiency_pct == pytest.approx(75, abs=0.05)
    assert found.electrical_efficiency_pct == pytest.approx(58)
    assert found.warnings == ()


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"flow_l_min": 58.01}, "above the theoretical flow, which cannot be"),
        ({"shaft_torque_nm": 90}, "torque is below that without losses"),
        ({"shaft_torque_nm": 70}, "More power comes out than is put in"),
        ({"electrical_power_w": 11000}, "More power comes out than is put in"),
        ({"shaft_torque_nm": 101.9, "electrical_power_w": 15000}, "shaft gives more than the motor takes"),
    ],
)
def test_what_cannot_be_is_warned_of(fields, message):
    assert any(message in said for said in pump_performance(**{**SHEET, **fields}).warnings)


def test_all_of_the_theoretical_flow_is_no_fault():
    assert pump_performance(**{**SHEET, "flow_l_min": 58}).warnings == ()
    assert pump_performance(**{**SHEET, "flow_l_min": 0}).volumetric_efficiency_pct == 0


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"displacement_cm3": 0}, "displacement_cm3 must be above 0 cm³"),
        ({"speed_rpm": 0}, "speed_rpm must be above 0 1/min"),
        ({"speed_rpm": 20001}, "got 20001 1/min"),
        ({"pressure_bar": -1}, "pressure_bar must be at least 0 bar"),
        ({"flow_l_min": -1}, "flow_l_min must be at least 0 L/min"),
        ({"shaft_torque_nm": 0}, "shaft_torque_nm must be above 0 N·m"),
        ({"electrical_power_w": 0}, "electrical_power_w must be above 0 W"),
    ],
)
def test_impossible_readings_are_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        pump_performance(**{**SHEET, **fields})

"""Temperature during a hold: constants, the corrected decay, and a bend that it explains."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.oil import thermal_pressure_rise
from workorders.calc.hold import evaluate_hold
from workorders.calc.temperature import (
    OILS,
    at_one_temperature,
    bend_by_temperature,
    temperature_corrected_decay,
)

TIME_S = np.arange(0.0, 300.0, 0.2)
NOISE = np.random.default_rng(9).normal(0, 0.01, TIME_S.size)
OIL = "synthetic hydrocarbon, MIL-H-83282"
HOLD = {"decay_bar_per_min": 0.5, "temperature_change_k": -0.2, "duration_s": 300, "oil": OIL}


def test_trapped_oil_as_published():
    """leeimh.com: 300000 psi, 0.00046 for each °F, 70 to 120 °F give 6900 psi, in one minute here."""
    found = temperature_corrected_decay(
        decay_bar_per_min=0, temperature_change_k=50 / 1.8, duration_s=60, oil=OIL
    )
    assert found.thermal_bar_per_min / 0.06894757 == pytest.approx(6900, rel=1e-6)


def test_a_mineral_oil_as_published():
    """The same source: MIL-H-5606 (260000 psi, 0.00046) rises by 11960 psi for 100 °F."""
    found = temperature_corrected_decay(
        decay_bar_per_min=0, temperature_change_k=100 / 1.8, duration_s=60, oil="mineral oil, MIL-H-5606"
    )
    assert found.thermal_bar_per_min / 0.06894757 == pytest.approx(11960, rel=1e-6)


@pytest.mark.parametrize("oil", OILS)
def test_it_is_the_sum_of_trapped_oil(oil):
    constants = OILS[oil]
    rise = thermal_pressure_rise(
        bulk_modulus_mpa=constants.modulus_mpa,
        expansion_per_k=constants.expansion_per_k,
        temperature_rise_k=1,
    )
    found = temperature_corrected_decay(**{**HOLD, "oil": oil})
    assert found.rise_bar_per_k == pytest.approx(rise.rise_bar_per_k)
    assert f"constants of {oil}" in found.warnings[0]


def test_warming_hides_a_leak_and_cooling_looks_like_one():
    cooling = temperature_corrected_decay(**HOLD)
    assert cooling.corrected_bar_per_min < 0 < cooling.thermal_bar_per_min + 1
    warming = temperature_corrected_decay(**{**HOLD, "decay_bar_per_min": 0, "temperature_change_k": 0.2})
    assert warming.corrected_bar_per_min == pytest.approx(17.1 * 0.2 / 5, rel=5e-3)


def test_a_measured_compliance_goes_before_the_bulk_modulus():
    """25 mL that give way by 0.0233 mL/bar: 0.000828 * 25 / 0.0233 = 0.888 bar for each K."""
    found = temperature_corrected_decay(**HOLD, volume_ml=25, compliance_ml_per_bar=0.0233)
    assert found.rise_bar_per_k == pytest.approx(0.00046 * 1.8 * 25 / 0.0233)
    assert not any("go too far" in warning for warning in found.warnings)


def test_the_spread_agrees_with_a_simulation():
    """A million draws: decay, change and constants normal, each with half its expanded uncertainty."""
    rng = np.random.default_rng(4)
    found = temperature_corrected_decay(
        **HOLD, decay_uncertainty_bar_per_min=0.1, temperature_uncertainty_k=0.02
    )
    n = 1_000_000
    per_k = found.rise_bar_per_k * (1 + rng.normal(0, 0.1, n))
    drawn = rng.normal(0.5, 0.05, n) + per_k * rng.normal(-0.2, 0.01, n) / 5
    assert found.corrected_bar_per_min == pytest.approx(drawn.mean(), abs=1e-3)
    assert found.expanded_bar_per_min == pytest.approx(2 * drawn.std(), rel=0.01)


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"oil": "water"}, "oil must be one of"),
        ({"duration_s": 0}, "duration_s must be at least 1 s"),
        ({"temperature_change_k": 201}, "temperature_change_k must be"),
        ({"temperature_uncertainty_k": -1}, "temperature_uncertainty_k must be at least 0 K"),
    ],
)
def test_what_is_no_hold_is_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        temperature_corrected_decay(**{**HOLD, **fields})


# -- with a channel of its own


def swinging(per_k):
    """A temperature that swings and a hold of 0.06 bar/min that follows it."""
    temperature = 30 + 0.2 * np.sin(2 * np.pi * TIME_S / 400)
    pressure = 100 - 0.06 / 60 * TIME_S + per_k * (temperature - temperature[0]) + NOISE
    return temperature, pressure


def test_the_right_constant_gives_the_decay_back():
    temperature, pressure = swinging(12.0)
    level = at_one_temperature(pressure_bar=pressure, temperature_c=temperature, bar_per_k=12.0)
    fit = evaluate_hold(time_s=TIME_S, pressure_bar=level)
    assert fit.straight
    assert fit.decay_bar_per_min == pytest.approx(0.06, abs=3 * fit.standard_error_bar_per_min)


def named(temperature, pressure):
    hold = evaluate_hold(time_s=TIME_S, pressure_bar=pressure)
    return hold, bend_by_temperature(
        time_s=TIME_S, pressure_bar=pressure, temperature_c=temperature, hold=hold
    )


def test_a_bend_that_follows_the_temperature_is_named():
    temperature, pressure = swinging(12.0)
    hold, words = named(temperature, pressure)
    assert not hold.straight
    assert words.startswith("temperature: the pressure follows it, 12 bar for each K")


@pytest.mark.parametrize("per_k", [-12.0, 60.0], ids=["falls as it warms", "more than any oil"])
def test_a_bend_that_no_oil_makes_is_not_put_down_to_the_temperature(per_k):
    hold, words = named(*swinging(per_k))
    assert not hold.straight
    assert words == ""


def test_a_bend_of_its_own_is_not_put_down_to_the_temperature():
    temperature, _ = swinging(0.0)
    pressure = 100 - 2 * (TIME_S / 300) ** 6 + NOISE
    hold, words = named(temperature, pressure)
    assert not hold.straight
    assert words == ""


def test_a_straight_hold_and_a_steady_temperature_say_nothing():
    pressure = 100 - 0.06 / 60 * TIME_S + NOISE
    assert named(30 + np.sin(TIME_S), pressure)[1] == ""
    assert named(np.full_like(TIME_S, 30.0), swinging(12.0)[1])[1] == ""


@given(offset_c=st.floats(-50, 50), offset_bar=st.floats(-50, 50))
def test_where_the_scales_start_does_not_matter(offset_c, offset_bar):
    temperature, pressure = swinging(12.0)
    plain = at_one_temperature(pressure_bar=pressure, temperature_c=temperature, bar_per_k=12)
    moved = at_one_temperature(
        pressure_bar=pressure + offset_bar, temperature_c=temperature + offset_c, bar_per_k=12
    )
    np.testing.assert_allclose(moved, plain + offset_bar, atol=1e-9)

"""Compliance of the rig, and the leak of the unit with the rig's own taken off."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.leak import decay_leak_rate
from workorders.calc.rig import hold_leak_rate, rig_compliance

VOLUMES = (0.0, 0.5, 1.0, 1.5, 2.0)
PRESSURES = (200.0, 178.0, 157.0, 135.0, 114.0)
LEAK = {
    "decay_bar_per_min": 2.0,
    "decay_uncertainty_bar_per_min": 0.1,
    "compliance_ml_per_bar": 0.0233,
    "compliance_uncertainty_ml_per_bar": 0.0008,
    "blank_decay_bar_per_min": 0.8,
    "blank_uncertainty_bar_per_min": 0.1,
    "blank_compliance_ml_per_bar": 0.0197,
    "blank_compliance_uncertainty_ml_per_bar": 0.0006,
}


def test_the_slope_and_its_error_agree_with_numpy():
    (slope, _), covariance = np.polyfit(PRESSURES, VOLUMES, 1, cov=True)
    found = rig_compliance(withdrawn_ml=VOLUMES, pressure_bar=PRESSURES)
    assert found.compliance_ml_per_bar == pytest.approx(-slope, rel=1e-9)
    assert found.expanded_ml_per_bar == pytest.approx(2 * np.sqrt(covariance[0, 0]), rel=1e-9)


def test_oil_alone_gives_back_the_published_stiffness():
    """Rabie, p. 53: 1400 MPa. 2 L give 2000 / 14000 mL for each bar; withdrawn in four equal parts."""
    stiff = 2000 / 14000
    pressures = [100 - 10 * step for step in range(5)]
    found = rig_compliance(withdrawn_ml=[stiff * 10 * step for step in range(5)], pressure_bar=pressures)
    assert found.compliance_ml_per_bar == pytest.approx(stiff)
    leak = hold_leak_rate(decay_bar_per_min=10, compliance_ml_per_bar=found.compliance_ml_per_bar)
    assert round(leak.leak_ml_min, 4) == 1.4286


def test_meter_and_gauge_enter_over_the_whole_drop():
    """By hand: 0.02 mL and 0.5 bar over 86 bar, each a rectangle, beside the error of the line."""
    plain = rig_compliance(withdrawn_ml=VOLUMES, pressure_bar=PRESSURES)
    found = rig_compliance(
        withdrawn_ml=VOLUMES, pressure_bar=PRESSURES, meter_error_ml=0.02, gauge_error_bar=0.5
    )
    meter = 2 * 0.02 / np.sqrt(3) / 86
    gauge = 2 * plain.compliance_ml_per_bar * 0.5 / np.sqrt(3) / 86
    expected = np.sqrt(plain.expanded_ml_per_bar**2 + meter**2 + gauge**2)
    assert found.expanded_ml_per_bar == pytest.approx(expected)


def test_a_rig_with_air_in_it_is_warned_of():
    """Air grows as the pressure falls: the steps get softer."""
    soft = rig_compliance(withdrawn_ml=(0, 1, 2, 3), pressure_bar=(100, 60, 35, 20))
    assert any("there is air in it" in warning for warning in soft.warnings)
    assert (soft.stiffest_ml_per_bar, soft.softest_ml_per_bar) == (1 / 40, 1 / 15)
    firm = rig_compliance(withdrawn_ml=VOLUMES, pressure_bar=PRESSURES)
    assert not any("air" in warning for warning in firm.warnings)


@pytest.mark.parametrize(
    ("volumes", "pressures", "message"),
    [
        ((0, 1, 2), (100, 90), "at least 3|3 or more"),
        ((0, 1, 2), (100, 90, 80, 70), r"as many as withdrawn_ml \(3\); got 4"),
        ((0, 1, 1), (100, 90, 80), "must be falling while withdrawn_ml rises"),
        ((0, 1, 2), (100, 90, 95), "must be falling"),
        ((0, -1, 2), (100, 90, 80), "withdrawn_ml must be at least 0 mL"),
    ],
)
def test_readings_that_are_no_withdrawal_are_refused(volumes, pressures, message):
    with pytest.raises(ValueError, match=message):
        rig_compliance(withdrawn_ml=volumes, pressure_bar=pressures)


# -- the leak


def test_the_rig_is_taken_off_with_its_own_compliance():
    found = hold_leak_rate(**LEAK)
    assert found.together_ml_min == pytest.approx(0.0466)
    assert found.rig_ml_min == pytest.approx(0.01576)
    assert found.leak_ml_min == pytest.approx(0.03084)


def test_the_spread_agrees_with_a_simulation():
    """A million draws of the four inputs, each normal with half its expanded uncertainty."""
    rng = np.random.default_rng(2)

    def drawn(value, expanded):
        return rng.normal(value, expanded / 2, 1_000_000)

    leaks = drawn(2.0, 0.1) * drawn(0.0233, 0.0008) - drawn(0.8, 0.1) * drawn(0.0197, 0.0006)
    found = hold_leak_rate(**LEAK)
    assert found.leak_ml_min == pytest.approx(leaks.mean(), rel=1e-3)
    assert found.expanded_ml_min == pytest.approx(2 * leaks.std(), rel=5e-3)


def test_a_measured_compliance_goes_before_handbook_oil_and_shows_what_that_would_hide():
    both = hold_leak_rate(**LEAK, volume_ml=25, bulk_modulus_mpa=1400)
    assert both.used_ml_per_bar == 0.0233
    assert both.handbook_ml_min == pytest.approx(
        decay_leak_rate(volume_ml=25, bulk_modulus_mpa=1400, decay_bar_per_min=2).leak_ml_min
    )
    assert both.handbook_ml_min < both.together_ml_min / 10
    assert not any("know no air" in warning for warning in both.warnings)


def test_handbook_oil_alone_is_used_with_its_spread_and_a_warning():
    found = hold_leak_rate(decay_bar_per_min=10, volume_ml=2000, bulk_modulus_mpa=1400)
    assert found.leak_ml_min == pytest.approx(1.4286, abs=5e-5)
    assert found.expanded_ml_min == pytest.approx(0.2 * found.leak_ml_min)
    assert "know no air" in found.warnings[0]
    assert "blanked rig" in found.warnings[1]


def test_a_rig_that_leaks_as_much_as_the_whole_leaves_nothing_to_the_unit():
    found = hold_leak_rate(
        decay_bar_per_min=0.8,
        compliance_ml_per_bar=0.02,
        blank_decay_bar_per_min=0.8,
        blank_compliance_ml_per_bar=0.02,
    )
    assert found.leak_ml_min == pytest.approx(0, abs=1e-15)


@given(scale=st.floats(0.1, 10))
def test_a_leak_grows_as_its_decays_and_its_compliances_do(scale):
    plain = hold_leak_rate(**LEAK)
    decays = {name: value * scale for name, value in LEAK.items() if "bar_per_min" in name}
    stiffness = {name: value * scale for name, value in LEAK.items() if "ml_per_bar" in name}
    for changed in (decays, stiffness):
        found = hold_leak_rate(**{**LEAK, **changed})
        assert found.leak_ml_min == pytest.approx(scale * plain.leak_ml_min)
        assert found.expanded_ml_min == pytest.approx(scale * plain.expanded_ml_min)


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"compliance_ml_per_bar": None}, "compliance_ml_per_bar is needed, or volume_ml with"),
        ({"blank_compliance_ml_per_bar": None}, "is needed with blank_decay_bar_per_min"),
        ({"compliance_ml_per_bar": 0}, "compliance_ml_per_bar must be above 0 mL/bar"),
        ({"decay_uncertainty_bar_per_min": -1}, "must be at least 0 bar/min"),
        ({"decay_bar_per_min": 10001}, "decay_bar_per_min must be"),
    ],
)
def test_an_impossible_leak_is_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        hold_leak_rate(**{**LEAK, **fields})

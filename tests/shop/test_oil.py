"""Trapped oil and oil with air against published examples."""

import math

import pytest

from shop.calc.oil import effective_bulk_modulus, thermal_pressure_rise

# Exact by the international yard and pound: 1 psi = 0.45359237 * 9.80665 / 0.0254² Pa.
MPA_PER_PSI = 0.45359237 * 9.80665 / 0.0254**2 / 1e6
BAR_PER_PSI = MPA_PER_PSI * 10


def rise(bulk_psi, per_f, degrees_f):
    return thermal_pressure_rise(
        bulk_modulus_mpa=bulk_psi * MPA_PER_PSI,
        expansion_per_k=per_f * 1.8,
        temperature_rise_k=degrees_f / 1.8,
    )


@pytest.mark.parametrize(
    ("bulk_psi", "per_f", "degrees_f", "rise_psi"),
    [
        (3.0e5, 0.00046, 50, 6900),  # leeimh.com bulk-modulus, printed: 70 to 120 °F
        (260_000, 0.00046, 100, 11_960),  # leeimh.com, constants of MIL-H-5606; the rise is calculated
    ],
)
def test_published_trapped_oil(bulk_psi, per_f, degrees_f, rise_psi):
    assert rise(bulk_psi, per_f, degrees_f).rise_bar == pytest.approx(rise_psi * BAR_PER_PSI)


def test_published_growth_of_free_oil():
    # leeimh.com: 0.00046 for each °F and 100 °F give 4.6 %; 100 in³ and 50 °F give 2.3 in³.
    assert rise(3.0e5, 0.00046, 100).free_expansion_pct == pytest.approx(4.6)
    assert rise(3.0e5, 0.00046, 50).free_expansion_pct == pytest.approx(2.3)


def test_oil_that_may_not_grow_is_oil_pressed_back():
    # leeimh.com: 3.0e5 psi, 3000 psi press oil by 1.0 %; so 1.0 % of growth held back gives 3000 psi.
    found = rise(3.0e5, 0.0001, 100)
    assert found.free_expansion_pct == pytest.approx(1.0)
    assert found.rise_bar == pytest.approx(3000 * BAR_PER_PSI)


def test_the_rule_of_thumb_is_in_bar_and_not_ninety_of_them():
    """fluidpower.pro: 11 bar for each °C, 90 psi for each °F; its last line misprints "bar = C × 90".

    The range in the caution: hydrocarbon fluids 14 to 17, phosphate ester 20, silicone 10 bar for each °C.
    """
    assert pytest.approx(11.17, abs=0.005) == 90 * BAR_PER_PSI * 1.8
    # leeimh.com, five fluids: bulk modulus in psi and expansion for each °F.
    fluids = [(260e3, 46e-5), (300e3, 46e-5), (260e3, 44e-5), (340e3, 47e-5), (150e3, 54e-5)]
    rises = [rise(bulk, per_f, 1).rise_bar_per_k for bulk, per_f in fluids]
    assert [round(one) for one in rises] == [15, 17, 14, 20, 10]


def test_cooling_by_100_f_takes_four_percent_and_not_one():
    """Crane manuals print 4 in and 1 in on 100 in for 100 °F; the published expansion says about 4."""
    found = rise(3.0e5, 0.00046, -100)
    assert round(found.free_expansion_pct) == -5
    assert abs(-found.free_expansion_pct - 4) < abs(-found.free_expansion_pct - 1)
    assert found.rise_bar < 0
    assert any("shrinks" in said for said in found.warnings)


def test_the_caution_stands_on_every_answer():
    found = rise(3.0e5, 0.00046, 1)
    assert "relief valve" in found.warnings[0]
    assert "11 to 17 bar" in found.warnings[0]
    assert len(found.warnings) == 1


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"bulk_modulus_mpa": 0}, "bulk_modulus_mpa must be above 0 MPa and at most 10000 MPa; got 0 MPa"),
        ({"bulk_modulus_mpa": 10001}, "got 10001 MPa"),
        ({"expansion_per_k": 0}, "expansion_per_k must be above 0 1/K"),
        ({"expansion_per_k": 0.011}, "at most 0.01 1/K; got 0.011 1/K"),
        ({"temperature_rise_k": 301}, "at most 300 K; got 301 K"),
        ({"temperature_rise_k": -301}, "at least -300 K"),
        ({"temperature_rise_k": math.inf}, "temperature_rise_k must be"),
    ],
)
def test_heat_outside_the_ranges_is_refused(fields, message):
    good = {"bulk_modulus_mpa": 1400, "expansion_per_k": 0.0008, "temperature_rise_k": 10}
    with pytest.raises(ValueError, match=message):
        thermal_pressure_rise(**{**good, **fields})


AIRY = {"bulk_modulus_mpa": 1400, "air_fraction": 0.01, "pressure_abs_mpa": 10, "polytropic_index": 1.4}


def test_one_percent_of_air_halves_the_stiffness():
    # Rabie, eq. 2.57 (p. 32) with his 1.4 GPa (p. 53): 1/(0.01/14 + 0.99/1400), worked by hand.
    assert effective_bulk_modulus(**AIRY).effective_mpa == pytest.approx(703.5, abs=0.05)


@pytest.mark.parametrize("index", [1.0, 1.2, 1.4])
@pytest.mark.parametrize("share", [0.001, 0.05, 0.4])
def test_the_stiffness_is_the_slope_of_the_volume(index, share):
    """Independent derivation: -V dp/dV by finite differences of air (P Vⁿ constant) beside oil."""

    def volume(pressure):
        air = share * (10 / pressure) ** (1 / index)
        return air + (1 - share) * math.exp((10 - pressure) / 1400)

    slope = (volume(10.001) - volume(9.999)) / 0.002
    found = effective_bulk_modulus(**{**AIRY, "air_fraction": share, "polytropic_index": index})
    assert found.effective_mpa == pytest.approx(-volume(10) / slope, rel=1e-6)


def test_the_same_air_is_a_larger_share_at_the_atmosphere():
    """Boyle's law by hand, slow: at 10 atm (1.01325 MPa) 1 mL of air in 100 is 10 mL beside 99 of oil."""
    found = effective_bulk_modulus(**{**AIRY, "pressure_abs_mpa": 1.01325, "polytropic_index": 1})
    assert found.air_growth == pytest.approx(10)
    assert found.air_fraction_at_atmosphere == pytest.approx(10 / 109)
    assert "working pressure" in found.warnings[0]
    same = effective_bulk_modulus(**{**AIRY, "pressure_abs_mpa": 0.101325})
    assert same.air_fraction_at_atmosphere == pytest.approx(0.01)


def test_oil_without_air_keeps_its_stiffness():
    found = effective_bulk_modulus(**{**AIRY, "air_fraction": 0})
    assert found.effective_mpa == pytest.approx(1400)
    assert (found.air_fraction_at_atmosphere, found.warnings) == (0, ())


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"air_fraction": 1}, "air_fraction must be at least 0 and below 1; got 1"),
        ({"air_fraction": -0.01}, "air_fraction must be"),
        ({"pressure_abs_mpa": 0}, "pressure_abs_mpa must be above 0 MPa"),
        ({"pressure_abs_mpa": 101}, "got 101 MPa"),
        ({"polytropic_index": 0.99}, "polytropic_index must be at least 1 and at most 1.4"),
        ({"polytropic_index": 1.41}, "got 1.41"),
    ],
)
def test_air_outside_the_ranges_is_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        effective_bulk_modulus(**{**AIRY, **fields})

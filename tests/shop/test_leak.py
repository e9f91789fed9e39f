"""Leaks from a decay and through a ring-shaped gap."""

import math

import pytest

from shop.calc.leak import annular_leak, decay_leak_rate

DECAY = {"volume_ml": 2000, "bulk_modulus_mpa": 1400, "decay_bar_per_min": 10}
GAP = {
    "diameter_mm": 80,
    "clearance_um": 25,
    "length_mm": 40,
    "pressure_drop_bar": 160,
    "viscosity_pa_s": 0.03,
    "eccentricity": 0,
}


def test_a_decay_with_the_published_stiffness():
    """2 L, 1.4 GPa (Rabie, p. 53), 10 bar in 60 s: in SI units by hand, 2e-3/1.4e9 * 1e6/60 m³/s."""
    per_minute = 2e-3 / 1.4e9 * 1e6 / 60 * 6e7
    assert decay_leak_rate(**DECAY).leak_ml_min == pytest.approx(per_minute)
    assert round(per_minute, 4) == 1.4286


def test_the_leak_presses_the_oil_back_by_its_own_volume():
    """leeimh.com: 3.0e5 psi (2068.43 MPa) and 3000 psi (206.843 bar) are 1.0 % of the volume."""
    found = decay_leak_rate(volume_ml=100, bulk_modulus_mpa=2068.43, decay_bar_per_min=206.843)
    assert found.leak_ml_min == pytest.approx(1.0)


def test_a_small_unit_is_warned_of():
    found = decay_leak_rate(volume_ml=4, bulk_modulus_mpa=1400, decay_bar_per_min=0)
    assert found.leak_ml_min == 0
    assert "the rig's own oil and hoses decide" in found.warnings[0]
    assert "no proof" in found.warnings[1]


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"volume_ml": 0}, "volume_ml must be above 0 mL and at most 500000 mL; got 0 mL"),
        ({"volume_ml": 500001}, "volume_ml must be"),
        ({"bulk_modulus_mpa": 0}, "bulk_modulus_mpa must be above 0 MPa"),
        ({"decay_bar_per_min": -1}, "decay_bar_per_min must be at least 0 bar/min"),
        ({"decay_bar_per_min": math.nan}, "decay_bar_per_min must be"),
    ],
)
def test_an_impossible_decay_is_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        decay_leak_rate(**{**DECAY, **fields})


def test_the_published_gap_in_si_units():
    """calculatoratoz: c 1 mm, 10 Pa, D 10 m, 0.5 Pa s, L 1 m print 5.2333e-8 m³/s, with 3.14 for pi."""
    found = annular_leak(
        diameter_mm=10000,
        clearance_um=1000,
        length_mm=1000,
        pressure_drop_bar=10e-5,
        viscosity_pa_s=0.5,
        eccentricity=0,
    )
    assert found.leak_ml_min / 6e7 == pytest.approx(5.2333e-8 * math.pi / 3.14, rel=1e-4)


def test_a_real_gap_and_the_published_factor():
    """Rabie's eq. 2.19 (p. 21) in SI units by hand; 2.5 times for parts that touch: general references."""
    by_hand = math.pi * 0.08 * 25e-6**3 * 160e5 / (12 * 0.03 * 0.04) * 6e7
    assert round(by_hand, 1) == 261.8
    assert annular_leak(**GAP).leak_ml_min == pytest.approx(by_hand)
    touching = annular_leak(**{**GAP, "eccentricity": 1})
    assert touching.leak_ml_min == pytest.approx(2.5 * by_hand)
    assert touching.concentric_leak_ml_min == pytest.approx(by_hand)


def test_the_thin_gap_agrees_with_the_whole_ring():
    """Independent derivation: exact laminar flow between two cylinders (Hagen-Poiseuille for a ring)."""
    inner, outer = 0.04 - 12.5e-6, 0.04 + 12.5e-6
    ring = outer**4 - inner**4 - (outer**2 - inner**2) ** 2 / math.log(outer / inner)
    exact = math.pi * 160e5 / (8 * 0.03 * 0.04) * ring * 6e7
    assert annular_leak(**GAP).leak_ml_min == pytest.approx(exact, rel=1e-3)


@pytest.mark.parametrize("eccentricity", [0.25, 0.5, 0.9, 1.0])
def test_an_offset_part_agrees_with_the_gap_cut_into_slices(eccentricity):
    """Independent derivation: the mean of h³ over gaps h = c (1 + e cos θ) against c³."""
    slices = [(1 + eccentricity * math.cos(2 * math.pi * at / 720)) ** 3 for at in range(720)]
    found = annular_leak(**{**GAP, "eccentricity": eccentricity})
    assert found.leak_ml_min / found.concentric_leak_ml_min == pytest.approx(sum(slices) / 720)


def test_twice_the_clearance_leaks_eight_times_as_much():
    wide = annular_leak(**{**GAP, "clearance_um": 50})
    assert wide.leak_ml_min == pytest.approx(8 * annular_leak(**GAP).leak_ml_min)


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"diameter_mm": 0.4}, r"at most a twentieth of the diameter \(20 µm\); got 25 µm"),
        ({"clearance_um": 0}, "clearance_um must be above 0 µm"),
        ({"clearance_um": 1001}, "at most 1000 µm; got 1001 µm"),
        ({"length_mm": 0}, "length_mm must be above 0 mm"),
        ({"pressure_drop_bar": -1}, "pressure_drop_bar must be at least 0 bar"),
        ({"viscosity_pa_s": 0}, "viscosity_pa_s must be above 0 Pa·s"),
        ({"eccentricity": 1.01}, "eccentricity must be at least 0 and at most 1; got 1.01"),
        ({"eccentricity": -0.01}, "got -0.01"),
    ],
)
def test_an_impossible_gap_is_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        annular_leak(**{**GAP, **fields})


def test_the_widest_gap_is_allowed():
    assert annular_leak(**{**GAP, "diameter_mm": 0.5}).leak_ml_min > 0

"""Forces, speeds and volumes of cylinders, a plugged rod port, and drift."""

import math

import pytest

from shop.calc.cylinder import cylinder_forces, cylinder_volumes, drift_leak_rate, intensified_pressure

# mechanicalengineeringcourse.com/?p=1680: 200 bar, 40 L/min, bore 100 mm, rod 70 mm; the areas are
# printed there, the rest is arithmetic on them.
PUBLISHED = {"bore_mm": 100, "rod_mm": 70, "pressure_bar": 200, "flow_l_min": 40}
FIGURES = {
    "bore_area_mm2": 7853.98,
    "annulus_area_mm2": 4005.53,
    "force_extend_kn": 157.08,
    "force_retract_kn": 80.11,
    "speed_extend_mm_s": 84.88,
    "speed_retract_mm_s": 166.44,
    "return_flow_extend_l_min": 20.40,
    "area_ratio": 1.9608,
}
SIZES = [(25, 12), (50, 28), (200, 140)]


@pytest.mark.parametrize("key", FIGURES)
def test_the_published_cylinder(key):
    found = getattr(cylinder_forces(**PUBLISHED), key)
    assert found == pytest.approx(FIGURES[key], abs=0.00006 if key == "area_ratio" else 0.006)


def test_the_power_of_the_published_cylinder():
    assert cylinder_forces(**PUBLISHED).hydraulic_power_w == pytest.approx(13330, abs=5)  # 13.33 kW


@pytest.mark.parametrize(("bore", "rod"), SIZES)
@pytest.mark.parametrize("double", [False, True])
def test_power_in_is_power_out_both_ways(bore, rod, double):
    """Conservation of energy: force × speed = pressure × flow in SI units."""
    found = cylinder_forces(bore_mm=bore, rod_mm=rod, pressure_bar=160, flow_l_min=30, double_rod=double)
    watts = 160e5 * 30e-3 / 60
    assert found.force_extend_kn * found.speed_extend_mm_s == pytest.approx(watts)  # kN mm/s = W
    assert found.force_retract_kn * found.speed_retract_mm_s == pytest.approx(watts)
    assert found.hydraulic_power_w == pytest.approx(watts)


@pytest.mark.parametrize(("bore", "rod"), SIZES)
def test_oil_is_conserved(bore, rod):
    """Independent derivation: what the rod takes up is missing in the return, by volume and by flow."""
    volumes = cylinder_volumes(bore_mm=bore, rod_mm=rod, stroke_mm=300)
    rod_litres = math.pi * (rod / 2 / 100) ** 2 * 3  # dm
    assert volumes.rod_displacement_ml / 1000 == pytest.approx(rod_litres)
    forces = cylinder_forces(bore_mm=bore, rod_mm=rod, pressure_bar=1, flow_l_min=12)
    seconds = 300 / forces.speed_extend_mm_s
    assert volumes.extend_ml == pytest.approx(12000 / 60 * seconds)
    assert volumes.retract_ml == pytest.approx(forces.return_flow_extend_l_min * 1000 / 60 * seconds)
    back = 300 / forces.speed_retract_mm_s
    assert volumes.extend_ml == pytest.approx(forces.return_flow_retract_l_min * 1000 / 60 * back)


def test_volumes_of_the_published_areas():
    # 7853.98 mm² and 4005.53 mm² (mechanicalengineeringcourse.com/?p=1680) over 500 mm.
    found = cylinder_volumes(bore_mm=100, rod_mm=70, stroke_mm=500)
    assert found.extend_ml == pytest.approx(7853.98 / 2, abs=0.01)
    assert found.retract_ml == pytest.approx(4005.53 / 2, abs=0.01)


def test_a_rod_on_both_sides_makes_both_ways_alike():
    found = cylinder_forces(**PUBLISHED, double_rod=True)
    assert found.force_extend_kn == found.force_retract_kn == pytest.approx(80.11, abs=0.006)
    assert found.speed_extend_mm_s == found.speed_retract_mm_s
    assert found.return_flow_extend_l_min == 40
    assert found.intensified_pressure_bar == 200
    assert "Never put pressure on one side" in found.warnings[0]


def test_the_caution_names_the_raised_pressure():
    assert "rod port is plugged" in cylinder_forces(**PUBLISHED).warnings[0]
    assert "392 bar" in cylinder_forces(**PUBLISHED).warnings[0]


def test_a_published_cylinder_gives_its_raised_pressure():
    # The printed areas: 200 * 7853.98 / 4005.53; the danger: scribd.com 163207220.
    raised = intensified_pressure(pressure_bar=200, bore_mm=100, rod_mm=70)
    assert raised == pytest.approx(200 * 7853.98 / 4005.53, rel=1e-5)
    assert raised == cylinder_forces(**PUBLISHED).intensified_pressure_bar


@pytest.mark.parametrize(("bore", "rod"), SIZES)
def test_the_forces_on_both_sides_of_the_piston_are_equal(bore, rod):
    raised = intensified_pressure(pressure_bar=160, bore_mm=bore, rod_mm=rod)
    push = 160 * math.pi / 4 * bore**2
    assert raised * math.pi / 4 * (bore**2 - rod**2) == pytest.approx(push)


def test_a_thin_rod_raises_little_and_a_thick_one_much():
    thin = intensified_pressure(pressure_bar=100, bore_mm=100, rod_mm=1)
    assert thin == pytest.approx(100.01, abs=1e-3)
    assert intensified_pressure(pressure_bar=100, bore_mm=100, rod_mm=99) > 5000
    assert intensified_pressure(pressure_bar=0, bore_mm=100, rod_mm=50) == 0


@pytest.mark.parametrize(("side", "leak"), [("rod", 16.02), ("bore", 31.42)])
def test_drift_as_a_leak_rate(side, leak):
    # The drift limit of TM 5-3805-280-24-1, p. 6-257 (20 mm in 5 min) on the printed areas
    # 4005.53 and 7853.98 mm²: area × 20 mm / 5 min.
    found = drift_leak_rate(bore_mm=100, rod_mm=70, drift_mm=20, minutes=5, side=side)
    assert found.leak_ml_min == pytest.approx(leak, abs=0.006)


def test_drift_never_blames_the_piston_seal():
    # yeskey.com; scribd.com 163207220: without a piston seal a single-rod cylinder still holds.
    found = drift_leak_rate(bore_mm=50, rod_mm=25, drift_mm=0, minutes=3, side="bore")
    assert found.leak_ml_min == 0
    assert "does not prove a leaking piston seal" in found.warnings[0]
    assert "hydraulic lock" in found.warnings[0]


def test_drift_over_the_whole_stroke_is_the_volume_of_the_side():
    drift = drift_leak_rate(bore_mm=63, rod_mm=36, drift_mm=400, minutes=1, side="rod")
    assert drift.leak_ml_min == pytest.approx(
        cylinder_volumes(bore_mm=63, rod_mm=36, stroke_mm=400).retract_ml
    )


BAD_FORCES = [
    ({"rod_mm": 100}, r"rod_mm must be above 0 mm and below bore_mm \(100 mm\); got 100 mm"),
    ({"rod_mm": 120}, "got 120 mm"),
    ({"rod_mm": 0}, "rod_mm must be above 0 mm"),
    ({"bore_mm": 0}, "bore_mm must be above 0 mm"),
    ({"bore_mm": 2001}, "at most 2000 mm; got 2001 mm"),
    ({"pressure_bar": -1}, "pressure_bar must be at least 0 bar and at most 1000 bar; got -1 bar"),
    ({"pressure_bar": 1001}, "got 1001 bar"),
    ({"pressure_bar": math.nan}, "pressure_bar must be"),
    ({"flow_l_min": -0.1}, "flow_l_min must be at least 0 L/min"),
    ({"flow_l_min": 10001}, "got 10001 L/min"),
    ({"double_rod": "maybe"}, "double_rod must be yes or no"),
]


@pytest.mark.parametrize(("fields", "message"), BAD_FORCES)
def test_impossible_cylinders_are_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        cylinder_forces(**{**PUBLISHED, **fields})


def test_the_ends_of_the_ranges_are_allowed():
    found = cylinder_forces(bore_mm=2000, rod_mm=1999, pressure_bar=1000, flow_l_min=10000)
    assert found.area_ratio == pytest.approx(2000**2 / 3999)
    assert cylinder_forces(**{**PUBLISHED, "pressure_bar": 0, "flow_l_min": 0}).force_extend_kn == 0


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"pressure_bar": -1}, "from 0 bar; got -1 bar"),
        ({"pressure_bar": math.nan}, "from 0 bar"),
        ({"rod_mm": 100}, r"below bore_mm \(100 mm\); got 100 mm"),
        ({"rod_mm": 0}, "got 0 mm"),
        ({"bore_mm": math.nan}, r"bore_mm \(nan mm\)"),
    ],
)
def test_a_raised_pressure_that_cannot_be_is_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        intensified_pressure(**{"pressure_bar": 100, "bore_mm": 100, "rod_mm": 50, **fields})


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"minutes": 0}, "minutes must be above 0 min"),
        ({"drift_mm": -1}, "drift_mm must be at least 0 mm"),
        ({"side": "annulus"}, "side must be one of bore, rod; got 'annulus'"),
        ({"rod_mm": 60}, "rod_mm must be above 0 mm and below bore_mm"),
    ],
)
def test_an_impossible_drift_is_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        drift_leak_rate(**{"bore_mm": 50, "rod_mm": 25, "drift_mm": 5, "minutes": 3, "side": "rod", **fields})


@pytest.mark.parametrize("stroke", [0, -1, 50001, math.inf])
def test_an_impossible_stroke_is_refused(stroke):
    with pytest.raises(ValueError, match="stroke_mm must be above 0 mm and at most 50000 mm"):
        cylinder_volumes(bore_mm=50, rod_mm=25, stroke_mm=stroke)

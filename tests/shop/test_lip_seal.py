"""Housings of lip seals, wipers and energised seals against entered figures."""

import pytest

from shop.calc.lip_seal import lip_seal_check
from shop.calc.parameters import InputError

IN = 25.4
PSI = 0.0689475729
# Invented figures of a rod seal 40 x 50 x 8; what is tested is the comparison.
HOUSING = {
    "profile": "lip",
    "inner_diameter_found_mm": 39.98,
    "inner_diameter_min_mm": 39.94,
    "inner_diameter_max_mm": 40.00,
    "outer_diameter_found_mm": 50.05,
    "outer_diameter_min_mm": 50.00,
    "outer_diameter_max_mm": 50.10,
    "width_found_mm": 8.1,
    "width_min_mm": 8.0,
    "width_max_mm": 8.2,
    "lead_in_found_mm": 4.5,
    "lead_in_min_mm": 4.0,
    "extrusion_gap_found_mm": 0.3,
    "extrusion_gap_max_mm": 0.4,
}
STAND_IN = {"extrusion_gap_max_mm": None, "hardness_shore_a": 90.0, "pressure_bar": 1200 * PSI}


def _check(found, what):
    return next(check for check in found.checks if check.what.startswith(what))


@pytest.mark.parametrize("profile", ["lip", "wiper", "energised"])
def test_a_housing_within_all_figures_passes(profile):
    found = lip_seal_check(**{**HOUSING, "profile": profile})
    assert (found.verdict, found.decided, len(found.checks), found.warnings) == ("passes", 5, 5, ())
    assert all("maker" in check.source and not check.advice for check in found.checks)


@pytest.mark.parametrize(
    ("name", "value", "what", "verdict"),
    [
        ("inner_diameter_found_mm", 39.94, "inner", "passes"),
        ("inner_diameter_found_mm", 39.939, "inner", "fails"),
        ("inner_diameter_found_mm", 40.00, "inner", "passes"),
        ("inner_diameter_found_mm", 40.001, "inner", "fails"),
        ("outer_diameter_found_mm", 50.00, "outer", "passes"),
        ("outer_diameter_found_mm", 49.999, "outer", "fails"),
        ("outer_diameter_found_mm", 50.10, "outer", "passes"),
        ("outer_diameter_found_mm", 50.101, "outer", "fails"),
        ("width_found_mm", 8.0, "width", "passes"),
        ("width_found_mm", 7.999, "width", "fails"),
        ("width_found_mm", 8.2, "width", "passes"),
        ("width_found_mm", 8.201, "width", "fails"),
        ("lead_in_found_mm", 4.0, "length", "passes"),
        ("lead_in_found_mm", 3.999, "length", "fails"),
        ("lead_in_found_mm", 0.0, "length", "fails"),
        ("extrusion_gap_found_mm", 0.4, "extrusion", "passes"),
        ("extrusion_gap_found_mm", 0.401, "extrusion", "fails"),
    ],
)
def test_each_figure_at_its_end_and_past_it(name, value, what, verdict):
    found = lip_seal_check(**{**HOUSING, name: value})
    check = _check(found, what)
    assert (check.value, check.verdict, found.verdict) == (value, verdict, verdict)
    assert bool(check.advice) is (verdict == "fails")
    assert [one.verdict for one in found.checks if one is not check] == ["passes"] * 4


@pytest.mark.parametrize(("angle", "verdict"), [(20.0, "passes"), (20.1, "fails")])
def test_the_angle_of_the_lead_in_where_it_is_given(angle, verdict):
    found = lip_seal_check(**{**HOUSING, "lead_in_angle_found_deg": angle, "lead_in_angle_max_deg": 20.0})
    assert (_check(found, "angle").verdict, len(found.checks)) == (verdict, 6)


@pytest.mark.parametrize(
    ("name", "value", "advice"),
    [
        ("width_found_mm", 8.3, "too large: build it up"),
        ("width_found_mm", 7.9, "too small: take metal off"),
        ("inner_diameter_found_mm", 40.1, "too large: take metal off"),
        ("inner_diameter_found_mm", 39.8, "too small: build it up"),
        ("outer_diameter_found_mm", 50.2, "too large: build it up"),
        ("lead_in_found_mm", 1.0, "longer lead-in"),
        ("extrusion_gap_found_mm", 0.5, "smaller"),
    ],
)
def test_what_fails_says_what_to_change(name, value, advice):
    found = lip_seal_check(**{**HOUSING, name: value})
    assert advice in next(check.advice for check in found.checks if check.verdict == "fails")


@pytest.mark.parametrize(
    ("missing", "what", "advice"),
    [
        (["width_found_mm"], "width", "Measure the width."),
        (["width_min_mm"], "width", "Enter the maker's least and most width."),
        (["width_max_mm"], "width", "Enter the maker's least and most width."),
        (
            ["width_found_mm", "width_min_mm", "width_max_mm"],
            "width",
            "Measure the width and enter the maker's least and most width.",
        ),
        (["inner_diameter_found_mm"], "inner", "Measure the inner diameter."),
        (["lead_in_found_mm"], "length", "Measure the length of the lead-in."),
        (["lead_in_min_mm"], "length", "Enter the maker's limit of the length of the lead-in."),
        (["extrusion_gap_found_mm"], "extrusion", "Measure the extrusion gap (diametral)."),
        (["extrusion_gap_max_mm"], "extrusion", "Enter the maker's greatest gap, or pressure and hardness."),
    ],
)
def test_what_was_not_given_is_not_decided(missing, what, advice):
    found = lip_seal_check(**{name: value for name, value in HOUSING.items() if name not in missing})
    check = _check(found, what)
    assert (check.verdict, check.advice, found.verdict) == ("not decided", advice, "not decided")
    assert found.decided == 4


def test_one_known_end_is_enough_to_fail():
    found = lip_seal_check(profile="lip", width_found_mm=7.9, width_min_mm=8.0)
    assert (_check(found, "width").verdict, found.verdict, found.decided) == ("fails", "fails", 1)


@pytest.mark.parametrize(("profile", "checks"), [("lip", 5), ("energised", 5), ("wiper", 4)])
def test_nothing_given_decides_nothing(profile, checks):
    """A wiper holds no pressure, so that no gap is asked for."""
    found = lip_seal_check(profile=profile)
    assert (found.verdict, found.decided, len(found.checks)) == ("not decided", 0, checks)
    assert all(check.advice for check in found.checks)


# --- the extrusion table as a stand-in


@pytest.mark.parametrize("profile", ["lip", "energised"])
@pytest.mark.parametrize(("gap_mm", "verdict"), [(0.020 * IN, "passes"), (0.020 * IN + 0.001, "fails")])
def test_without_the_makers_gap_the_table_of_o_rings_stands_in_and_warns(profile, gap_mm, verdict):
    """sealanddesign.com: 90 Shore A, 1000 to 1500 psi: 0.020 in."""
    found = lip_seal_check(**{**HOUSING, **STAND_IN, "profile": profile, "extrusion_gap_found_mm": gap_mm})
    check = _check(found, "extrusion")
    assert (check.verdict, found.verdict) == (verdict, verdict)
    assert "stand-in" in check.source
    assert "for O-rings of elastomer" in found.warnings[0]


@pytest.mark.parametrize("changed", [{"hardness_shore_a": 80.0}, {"pressure_bar": 207.0}])
def test_what_the_table_does_not_have_is_not_decided(changed):
    found = lip_seal_check(**{**HOUSING, **STAND_IN, **changed})
    check = _check(found, "extrusion")
    assert (check.verdict, check.upper) == ("not decided", None)
    assert "ask the maker" in check.advice


def test_the_makers_gap_goes_before_the_table():
    found = lip_seal_check(**{**HOUSING, **STAND_IN, "extrusion_gap_max_mm": 0.2})
    check = _check(found, "extrusion")
    assert (check.upper, check.verdict, found.warnings) == (0.2, "fails", ())


def test_a_wiper_is_not_judged_by_pressure():
    found = lip_seal_check(**{**HOUSING, **STAND_IN, "profile": "wiper", "pressure_bar": 300.0})
    assert (len(found.checks), found.warnings) == (4, ())


@pytest.mark.parametrize(("pressure_bar", "warned"), [(103.5, False), (103.6, True)])
def test_a_backup_ring_is_asked_for_above_103_5_bar(pressure_bar, warned):
    """O-ring handbook, section IV, 4.0."""
    found = lip_seal_check(**{**HOUSING, "pressure_bar": pressure_bar})
    assert any("back-up ring" in warning for warning in found.warnings) is warned


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"profile": "O-ring"}, "profile must be one of lip, wiper, energised; got 'O-ring'"),
        ({"width_found_mm": 0.0}, "width_found_mm must be above 0 mm and at most 2000 mm; got 0 mm"),
        ({"width_min_mm": 8.3}, r"width_min_mm must be at most width_max_mm \(8.2 mm\); got 8.3 mm"),
        ({"outer_diameter_min_mm": 51.0}, "outer_diameter_min_mm must be at most outer_diameter_max_mm"),
        (
            {"inner_diameter_found_mm": 50.05},
            r"inner_diameter_found_mm must be below outer_diameter_found_mm \(50.05 mm\); got 50.05 mm",
        ),
        ({"inner_diameter_max_mm": 60.0}, "inner_diameter_max_mm must be below outer_diameter_max_mm"),
        ({"lead_in_angle_max_deg": 90.0}, "lead_in_angle_max_deg must be above 0 ° and below 90 °; got 90 °"),
        ({"extrusion_gap_found_mm": -0.1}, "extrusion_gap_found_mm must be at least 0 mm"),
    ],
)
def test_bad_input_is_refused(changed, message):
    with pytest.raises(InputError, match=message):
        lip_seal_check(**{**HOUSING, **changed})

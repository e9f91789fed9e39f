"""Both sides of every limit of a gland, what cannot be decided, and where sources disagree."""

import csv
import math

import pytest

from shop.calc.gland_check import gland_check
from shop.calc.gland_limits import worst_verdict
from shop.calc.registry import find
from shop.calc.result import within
from tests.shop.test_gland_check import DATA, IN, PISTON, PLAIN, check_of, without


def _depth(pct, section=4.0):
    return section * (1 - pct / 100)


@pytest.mark.parametrize(
    ("motion", "section", "what", "pct", "verdict"),
    [
        ("static", 4.0, "squeeze, most", 30.0, "passes"),  # handbook: 30 % static
        ("static", 4.0, "squeeze, most", 30.1, "fails"),
        ("static", 4.0, "squeeze, least", 10.0, "passes"),  # guidance band: at least 10 %
        ("static", 4.0, "squeeze, least", 9.9, "fails"),
        ("reciprocating", 4.0, "squeeze, most", 16.0, "passes"),  # handbook: 16 % dynamic
        ("reciprocating", 4.0, "squeeze, most", 16.1, "fails"),
        ("rotary", 4.0, "squeeze, most", 16.1, "fails"),
        ("reciprocating", 4.0, "squeeze, least", 8.0, "passes"),  # printed glands: 8.3 %
        ("reciprocating", 4.0, "squeeze, least", 7.9, "fails"),
        ("reciprocating", 1.8, "squeeze, most", 25.0, "passes"),  # handbook: 25 % for small sections
        ("reciprocating", 1.8, "squeeze, most", 25.1, "fails"),
        ("reciprocating", 1.81, "squeeze, most", 25.0, "fails"),
    ],
)
def test_squeeze_at_its_limit_and_past_it(motion, section, what, pct, verdict):
    depth = _depth(pct, section)
    found = gland_check(
        **{**PLAIN, "motion": motion, "cs_mm": section, "depth_min_mm": depth, "depth_max_mm": depth}
    )
    check = check_of(found, what)
    assert check.value == pytest.approx(pct)
    assert (check.verdict, bool(check.advice)) == (verdict, verdict == "fails")


@pytest.mark.parametrize(("depth", "gap"), [(3.99, False), (4.0, True), (4.1, True)])
def test_a_gap_fails_whatever_the_limit(depth, gap):
    found = gland_check(
        **{**PLAIN, "depth_min_mm": depth, "depth_max_mm": depth, "squeeze_static_min_pct": 0.01}
    )
    assert (check_of(found, "squeeze, least").verdict == "fails") is gap
    assert any("does not touch" in warning for warning in found.warnings) is gap


@pytest.mark.parametrize(
    ("groove_mm", "limit", "verdict"),
    [(52.5, 5.0, "passes"), (52.51, 5.0, "fails"), (51.5, 3.0, "passes"), (51.51, 3.0, "fails")],
)
def test_stretch_at_its_limit_and_past_it(groove_mm, limit, verdict):
    """gallagherseals.com: up to 5 %; allorings.com: more than 3 % shortens the life."""
    found = gland_check(
        **{
            **PLAIN,
            "arrangement": "piston",
            "groove_diameter_mm": groove_mm,
            "groove_diameter_tol_mm": 0.0,
            "stretch_max_pct": limit,
        }
    )
    check = check_of(found, "stretch")
    assert check.verdict == verdict
    assert ("as entered or set" in check.source) is (limit != 5.0)


@pytest.mark.parametrize(("pct", "verdict"), [(85.0, "passes"), (85.1, "fails")])
def test_fill_at_its_limit_and_past_it(pct, verdict):
    """kaspercalc.com: up to 85 % is in order."""
    width = math.pi * 4.0 / (3.2 * pct / 100)
    found = gland_check(**{**PLAIN, "width_min_mm": width, "width_max_mm": width})
    assert found.fill_max_pct == pytest.approx(pct)
    assert check_of(found, "fill").verdict == verdict
    assert found.verdict == verdict


def _with_gap(clearance_mm, **changed):
    gland = {
        "groove_diameter_mm": 50.5,
        "groove_diameter_tol_mm": 0.0,
        "mating_diameter_mm": 57.0,
        "mating_diameter_tol_mm": 0.0,
        "land_diameter_mm": 57.0 - clearance_mm,
        "land_diameter_tol_mm": 0.0,
    }
    values = {**without(PLAIN, "depth_min_mm", "depth_max_mm"), **gland, "arrangement": "piston"}
    return gland_check(**{**values, "pressure_bar": 80.0, "hardness_shore_a": 70.0, **changed})


@pytest.mark.parametrize(
    ("clearance_mm", "hardness", "verdict"),
    [
        (0.006 * IN, 70.0, "passes"),
        (0.006 * IN + 0.001, 70.0, "fails"),
        (0.020 * IN, 90.0, "passes"),
        (0.020 * IN + 0.001, 90.0, "fails"),
        (0.006 * IN, 80.0, "not decided"),
    ],
)
def test_gap_at_the_extrusion_limit_and_past_it(clearance_mm, hardness, verdict):
    """sealanddesign.com: at 1000 to 1500 psi 0.006 in for 70 and 0.020 in for 90 Shore A."""
    found = _with_gap(clearance_mm, hardness_shore_a=hardness)
    check = check_of(found, "diametral clearance")
    assert check.verdict == verdict
    assert "sealanddesign.com" in check.source
    assert found.verdict == verdict


@pytest.mark.parametrize(
    ("changed", "advice"),
    [
        ({"pressure_bar": None}, "Give the pressure"),
        ({"hardness_shore_a": None}, "Give the pressure and the hardness"),
        ({"pressure_bar": 210.0}, "ask the maker"),
        ({"land_diameter_mm": None, "land_diameter_tol_mm": None}, "Measure the land"),
    ],
)
def test_a_gap_that_cannot_be_told_is_not_decided(changed, advice):
    found = _with_gap(0.1, **changed)
    check = check_of(found, "diametral clearance")
    assert (check.verdict, found.verdict) == ("not decided", "not decided")
    assert advice in check.advice


def test_an_unknown_seat_leaves_the_stretch_undecided():
    found = gland_check(**{**PLAIN, "arrangement": "piston"})
    assert (found.stretch_min_pct, found.stretch_max_pct) == (None, None)
    assert check_of(found, "stretch").verdict == "not decided"


@pytest.mark.parametrize(("pressure_bar", "advised"), [(103.5, False), (103.6, True)])
def test_a_backup_ring_is_advised_above_103_5_bar(pressure_bar, advised):
    found = gland_check(**{**PLAIN, "pressure_bar": pressure_bar})
    assert any("back-up ring" in warning for warning in found.warnings) is advised


@pytest.mark.parametrize(
    ("motion", "words"),
    [("static", None), ("reciprocating", "poor stand-in"), ("rotary", "rotating shaft")],
)
def test_moving_rings_are_warned_of(motion, words):
    """Common practice, no source."""
    warnings = " ".join(gland_check(**{**PLAIN, "motion": motion}).warnings)
    assert all((known in warnings) is (known == words) for known in ("poor stand-in", "rotating shaft"))


@pytest.mark.parametrize(
    ("motion", "section", "band"),
    [
        ("static", 3.53, "20 to 30 %"),
        ("reciprocating", 3.53, "9 to 17 %"),
        ("static", 3.59, "no printed gland for this section"),
        ("static", 4.0, "no printed gland for this section"),
        ("rotary", 3.53, "no printed gland for rotary motion"),
    ],
)
def test_the_printed_gland_of_the_section_is_shown_beside(motion, section, band):
    found = gland_check(**{**PLAIN, "motion": motion, "cs_mm": section})
    assert found.published_band.startswith(band)


@pytest.mark.parametrize(
    ("values", "word"),
    [
        ((1.0, 1.0), "passes"),
        ((1.0, None), "not decided"),
        ((None, 3.0, 1.0), "fails"),
        ((), "not decided"),
    ],
)
def test_the_worst_word_wins(values, word):
    checks = tuple(within(what="", value=value, unit="", upper=2.0, source="") for value in values)
    assert worst_verdict(checks=checks) == word


@pytest.mark.parametrize(("depth_in", "told"), [(0.100, True), (0.101, False), (0.098, False)])
def test_a_limit_that_a_printed_gland_does_not_keep_is_told(depth_in, told):
    """The printed face gland for .139 in is 0.100 in deep: 30.07 %, printed as 30, against 30 at most."""
    depth = depth_in * IN
    given = {"cs_mm": 0.139 * IN, "cs_tol_mm": 0.004 * IN, "depth_min_mm": depth, "depth_max_mm": depth}
    found = gland_check(**{**PLAIN, **given})
    assert any("printed gland (20 to 30 %) disagree" in warning for warning in found.warnings) is told
    assert check_of(found, "squeeze, most").verdict == ("passes" if depth_in == 0.101 else "fails")


def test_every_check_names_its_source():
    found = gland_check(**PISTON)
    assert all(check.source for check in found.checks)
    assert set(found.sources) == {check.source for check in found.checks}
    assert len(found.checks) == 5


def test_defaults_are_the_limits_that_come_with_the_database():
    with (DATA / "limit_settings.csv").open(encoding="utf-8", newline="") as file:
        settings = {row["key"]: (float(row["value"]), row["unit"]) for row in csv.DictReader(file)}
    asked = [one for one in find(name="gland_check").asked if one.parameter.setting]
    assert len(asked) == 8
    for one in asked:
        assert settings[one.parameter.setting] == (one.default, one.parameter.unit), one.name

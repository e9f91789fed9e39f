"""A used O-ring against the printed AS568 sizes: both sides of each tolerance, set and swell undone."""

import pytest

from shop.calc.oring import all_sizes, oring_match
from shop.calc.oring_used import used_oring_match
from shop.calc.parameters import InputError

# As printed: AS568 table of shop/calc/data/as568.csv (its sources are named in shop/calc/oring.py):
# dash, inside diameter, its tolerance, section, its tolerance, in inches.
PRINTED = [
    ("012", 0.364, 0.005, 0.070, 0.003),
    ("112", 0.487, 0.005, 0.103, 0.003),
    ("214", 0.984, 0.010, 0.139, 0.004),
    ("325", 1.475, 0.015, 0.210, 0.005),
]


def named(found, dash):
    return next((one for one in found.candidates if one.designation == f"AS568-{dash}"), None)


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: row[0])
def test_a_ring_of_the_printed_size_is_found_first(row):
    dash, inside, _tol, section, _cs_tol = row
    found = used_oring_match(id_mm=inside * 25.4, cs_mm=section * 25.4)
    assert found.candidates[0].designation == f"AS568-{dash}"
    assert found.candidates[0].inside


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: row[0])
@pytest.mark.parametrize("sign", [-1, 1])
def test_both_sides_of_the_tolerance_of_the_inside_diameter(row, sign):
    dash, inside, tol, section, _cs_tol = row
    at = (inside + sign * tol) * 25.4
    # The table rounds to 0.01 mm, so that the printed end may lie up to 0.01 mm beside it.
    just_in, just_out = at - sign * 0.011, at + sign * 0.011
    assert named(used_oring_match(id_mm=just_in, cs_mm=section * 25.4), dash).inside
    assert not named(used_oring_match(id_mm=just_out, cs_mm=section * 25.4), dash).inside


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: row[0])
@pytest.mark.parametrize("sign", [-1, 1])
def test_both_sides_of_the_tolerance_of_the_section(row, sign):
    dash, inside, _tol, section, cs_tol = row
    at = (section + sign * cs_tol) * 25.4
    just_in, just_out = at - sign * 0.011, at + sign * 0.011
    assert named(used_oring_match(id_mm=inside * 25.4, cs_mm=just_in), dash).inside
    assert not named(used_oring_match(id_mm=inside * 25.4, cs_mm=just_out), dash).inside


@pytest.mark.parametrize(("id_mm", "cs_mm"), [(24.9, 3.5), (9.1, 1.8), (37.0, 5.2), (10.0, 2.0)])
def test_without_allowances_it_agrees_with_the_match_of_a_new_ring(id_mm, cs_mm):
    used = used_oring_match(id_mm=id_mm, cs_mm=cs_mm)
    new = oring_match(id_mm=id_mm, cs_mm=cs_mm)
    assert {one.designation for one in used.candidates if one.inside} == {
        one.designation for one in new.candidates if one.inside
    }


@pytest.mark.parametrize("set_pct", [5.0, 30.0, 60.0])
@pytest.mark.parametrize("swell_pct", [0.0, 12.0])
def test_what_set_and_swell_did_is_within_what_they_undo(set_pct, swell_pct):
    """The inverse: a ring of a printed size, flattened and swollen by the definitions, is found again."""
    depth = 2.66
    for size in all_sizes():
        if size.cs_mm != 3.53 or size.id_mm < 10:
            continue
        grown = (1 + swell_pct / 100) ** (1 / 3)
        flat = size.cs_mm - set_pct / 100 * (size.cs_mm - depth)
        found = used_oring_match(
            id_mm=size.id_mm * grown,
            cs_mm=flat,
            set_most_pct=set_pct,
            depth_mm=depth,
            swell_most_pct=swell_pct,
        )
        assert found.id_least_mm <= size.id_mm + 1e-9 <= found.id_most_mm + 2e-9
        assert found.cs_least_mm <= size.cs_mm <= found.cs_most_mm + 1e-9
        assert named(found, size.dash) is None or named(found, size.dash).inside
        assert found.candidates[0].inside


def test_a_set_makes_a_size_possible_that_the_ring_alone_does_not_show():
    """-214 squeezed to 2.66 mm, a set of 30 %: 3.53 - 0.3 x 0.87 = 3.27 mm, 0.26 below its section."""
    assert not named(used_oring_match(id_mm=24.99, cs_mm=3.27), "214").inside
    found = used_oring_match(id_mm=24.99, cs_mm=3.27, set_most_pct=30.0, depth_mm=2.66)
    assert named(found, "214").inside
    assert found.cs_most_mm == pytest.approx(3.5314, abs=1e-4)


def test_swell_is_the_cube_root_of_the_volume():
    found = used_oring_match(id_mm=20.0, cs_mm=2.0, swell_most_pct=33.1)
    assert found.id_least_mm == pytest.approx(20 / 1.1)
    assert found.cs_least_mm == pytest.approx(2 / 1.1)
    assert (found.id_most_mm, found.cs_most_mm) == (20.0, 2.0)


@pytest.mark.parametrize(("cs_mm", "allowed"), [(2.66, False), (2.67, True)])
def test_a_ring_no_thicker_than_its_gland_took_no_set(cs_mm, allowed):
    found = used_oring_match(id_mm=24.99, cs_mm=cs_mm, set_most_pct=50.0, depth_mm=2.66)
    assert (found.cs_most_mm > cs_mm) is allowed
    assert any("a set does not do that" in warning for warning in found.warnings) is not allowed


def test_a_ring_that_is_no_as568_size_says_so():
    found = used_oring_match(id_mm=24.0, cs_mm=3.0)
    assert "No AS568 size is within both tolerances." in found.warnings


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"id_mm": 0.0, "cs_mm": 2.0}, "id_mm must be above 0"),
        ({"id_mm": 10.0, "cs_mm": 51.0}, "cs_mm must be"),
        ({"id_mm": 10.0, "cs_mm": 2.0, "set_most_pct": 20.0}, "depth_mm must be given"),
        ({"id_mm": 10.0, "cs_mm": 2.0, "set_most_pct": 91.0, "depth_mm": 1.5}, "set_most_pct must be"),
        ({"id_mm": 10.0, "cs_mm": 2.0, "swell_most_pct": 201.0}, "swell_most_pct must be"),
    ],
)
def test_bad_input_is_named(given, words):
    with pytest.raises(InputError, match=words):
        used_oring_match(**given)

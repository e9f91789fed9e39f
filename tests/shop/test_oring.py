"""Sizes of O-rings against the inch, the grid of the series, and the errors of published tables."""

from decimal import ROUND_HALF_UP, Decimal

import pytest

from shop.calc.oring import MEMORY, _table, oring_match, oring_size
from shop.calc.parameters import InputError

SIZES = list(_table().values())

# globaloring.com/as568-size-chart: section and ends of the inside diameter of each series, in inches.
# Its 4xx series starts with "extended sizes" that the table does not list.
SERIES = [
    ("0", "0.070", "0.029", "5.239"),
    ("1", "0.103", "0.049", "9.737"),
    ("2", "0.139", "0.171", "17.955"),
    ("3", "0.210", "0.412", "25.940"),
    ("4", "0.275", None, "25.940"),
    ("9", None, "0.185", "2.337"),
]
# A table of public code (file 62139613426) that is wrong for these six sizes, in mm.
WRONG_ELSEWHERE = [
    ("240", 101.19),
    ("250", 139.29),
    ("325", 37.69),
    ("350", 101.32),
    ("425", 107.32),
    ("450", 228.19),
]
# The sizes that a Rust table of public code (file 57475865232) prints: inside diameter and section, inches.
SECOND_TABLE = [("012", 0.364, 0.070), ("112", 0.487, 0.103), ("214", 0.984, 0.139), ("325", 1.475, 0.210)]
# precixinc.com, size classes of the section tolerance; the 9xx series has sections of its own.
SECTION_TOLERANCES = {"0.070": 0.003, "0.103": 0.003, "0.139": 0.004, "0.210": 0.005, "0.275": 0.006}


def _inches(size):
    return Decimal(str(size.id_in))


def test_as568_has_369_sizes():
    """heximf.com/jszc/20190801196.html: 369 sizes."""
    assert len(SIZES) == 369
    assert sum(size.basis == MEMORY for size in SIZES) == 13


@pytest.mark.parametrize("size", SIZES, ids=lambda size: size.dash)
def test_millimetres_follow_from_the_inch_rounded_half_up(size):
    for field in ("id", "id_tol", "cs", "cs_tol"):
        inch = Decimal(str(getattr(size, f"{field}_in")))
        expected = (inch * Decimal("25.4")).quantize(Decimal("0.01"), ROUND_HALF_UP)
        assert Decimal(str(getattr(size, f"{field}_mm"))) == expected


def test_half_a_hundredth_is_rounded_up():
    """4.475 in are exactly 113.665 mm, which binary floats round down to 113.66."""
    assert oring_size(dash="425").id_mm == 113.67
    assert oring_size(dash="450").id_mm == 266.07


def _off_grid(size, inch=None):
    """Distance of the inside diameter from the 1/32 in grid of its series, in inches."""
    wide = Decimal("0.045") if _inches(size) >= Decimal("15.955") else None
    offset = wide or {"0": Decimal("0.011"), "1": Decimal("0.013"), "2": Decimal("0.016")}.get(
        size.dash[0], Decimal("0.025")
    )
    steps = ((inch or _inches(size)) + offset) * 32
    return abs(steps - steps.to_integral_value()) / 32


ON_THE_GRID = [size for size in SIZES if size.dash[0] != "9" and size.dash > "005" and size.basis != MEMORY]


@pytest.mark.parametrize("size", ON_THE_GRID, ids=lambda size: size.dash)
def test_every_size_lies_on_the_grid_of_its_series(size):
    """Independent of any table: inside diameters step by 1/32 in; rounding moves them 0.0013 in at most."""
    assert _off_grid(size) <= Decimal("0.0013")


@pytest.mark.parametrize(("dash", "printed"), [("319", "1.034"), ("377", "9.925")])
def test_two_typing_errors_of_the_table_that_was_read_lie_off_the_grid(dash, printed):
    size = _table()[dash]
    assert _off_grid(size, Decimal(printed)) > Decimal("0.0013")
    assert _inches(size) != Decimal(printed)
    found = oring_size(dash=dash)
    assert found.status == "CORRECTED"
    assert printed in found.warnings[0]


@pytest.mark.parametrize(("first", "section", "least", "most"), SERIES)
def test_series_end_where_another_source_says(first, section, least, most):
    series = [size for size in SIZES if size.dash.startswith(first)]
    assert max(map(_inches, series)) == Decimal(most)
    assert least is None or min(map(_inches, series)) == Decimal(least)
    odd = {size.dash for size in series if section and Decimal(str(size.cs_in)) != Decimal(section)}
    assert odd == ({"001", "002", "003"} if first == "0" else set())


@pytest.mark.parametrize("size", [one for one in SIZES if one.dash[0] != "9"], ids=lambda one: one.dash)
def test_section_tolerances_are_those_of_the_size_classes(size):
    assert size.cs_tol_in == SECTION_TOLERANCES.get(f"{size.cs_in:.3f}", 0.003)


@pytest.mark.parametrize(("dash", "wrong_mm"), WRONG_ELSEWHERE)
def test_errors_of_another_table_are_not_followed(dash, wrong_mm):
    assert oring_size(dash=dash).id_mm != wrong_mm
    assert _off_grid(_table()[dash]) <= Decimal("0.0013")


def test_the_wrong_minus_240_is_minus_242():
    assert oring_size(dash="242").id_mm == 101.19


@pytest.mark.parametrize(("dash", "id_in", "cs_in"), SECOND_TABLE)
def test_sizes_of_a_second_table(dash, id_in, cs_in):
    found = oring_size(dash=dash)
    assert (found.id_in, found.cs_in) == (id_in, cs_in)
    assert (found.status, found.warnings) == ("READ", ())


def test_published_mix_ups_of_series_are_not_followed():
    """A web guide calls .139 "300 series" and .103 "200 series"; another gives -214 a section of 2.62 mm."""
    assert oring_size(dash="214").cs_mm == 3.53
    assert oring_size(dash="214").cs_in == 0.139
    assert oring_size(dash="325").cs_in == 0.210


def test_a_listing_that_gives_minus_325_as_a_size_of_two_inches_outside_is_not_followed():
    """A market listing: 1-5/8 x 2 in. It is 1.475 in inside and 1.895 in outside."""
    found = oring_size(dash="325")
    assert found.id_in + 2 * found.cs_in == pytest.approx(1.895)


@pytest.mark.parametrize("text", ["214", "-214", "AS568-214", "as568-214", "AS568A-214", " AS568 - 214 "])
def test_ways_to_write_a_dash_number(text):
    assert oring_size(dash=text).designation == "AS568-214"


@pytest.mark.parametrize("text", ["12", "012", "-12", "-012"])
def test_leading_zeros_may_be_left_out(text):
    found = oring_size(dash=text)
    assert (found.designation, found.id_mm, found.id_tol_mm) == ("AS568-012", 9.25, 0.13)


@pytest.mark.parametrize("text", ["285", "101", "915", "000", "999"])
def test_an_unknown_dash_number_says_so(text):
    with pytest.raises(
        InputError, match=f"one of the 369 sizes of AS568, which has no -{text}; got '{text}'"
    ):
        oring_size(dash=text)


@pytest.mark.parametrize("text", ["21x", "2140", "25x3.5", "-", "AS568", "٢١٤"])
def test_what_is_no_dash_number_is_refused(text):
    with pytest.raises(InputError, match="dash must be an AS568 dash number such as 214"):
        oring_size(dash=text)


@pytest.mark.parametrize("dash", [size.dash for size in SIZES if size.basis == MEMORY])
def test_rows_from_memory_say_so(dash):
    found = oring_size(dash=dash)
    assert found.status == MEMORY
    assert "From memory, not verified" in found.warnings[0]


def test_a_doubtful_tolerance_is_told():
    """-283 and -463 have the same inside diameter as -386 and another tolerance."""
    assert "doubtful" in oring_size(dash="386").warnings[0]
    assert oring_size(dash="283").id_tol_in == oring_size(dash="463").id_tol_in == 0.080


# --- which ring is it?


@pytest.mark.parametrize("size", SIZES, ids=lambda size: size.dash)
def test_every_size_finds_itself(size):
    """Inverse: a ring that measures its nominal size is that size."""
    first = oring_match(id_mm=size.id_mm, cs_mm=size.cs_mm).candidates[0]
    assert first.designation == f"AS568-{size.dash}"
    assert (first.inside, first.id_deviation_mm, first.cs_deviation_mm) == (True, 0, 0)


def test_deviations_in_millimetres_and_in_tolerances():
    """By hand from -214, 24.99 ± 0.25 by 3.53 ± 0.10 mm."""
    first = oring_match(id_mm=24.90, cs_mm=3.50).candidates[0]
    assert first.designation == "AS568-214"
    assert first.id_deviation_mm == pytest.approx(-0.09)
    assert first.cs_deviation_mm == pytest.approx(-0.03)
    assert first.id_deviation_tolerances == pytest.approx(-0.09 / 0.25)
    assert first.cs_deviation_tolerances == pytest.approx(-0.3)


@pytest.mark.parametrize(
    ("id_mm", "cs_mm", "inside"),
    [
        (25.24, 3.53, True),
        (25.25, 3.53, False),
        (24.74, 3.53, True),
        (24.73, 3.53, False),
        (24.99, 3.63, True),
        (24.99, 3.64, False),
        (24.99, 3.43, True),
        (24.99, 3.42, False),
    ],
)
def test_inside_up_to_the_tolerance_and_not_beyond(id_mm, cs_mm, inside):
    found = {one.designation: one for one in oring_match(id_mm=id_mm, cs_mm=cs_mm).candidates}
    assert found["AS568-214"].inside is inside


def test_a_metric_section_is_offered_before_sizes_that_do_not_fit():
    """20 x 1.8 mm is no AS568 size: -018 is 18.77 mm and -019 is 20.35 ± 0.23 mm."""
    found = oring_match(id_mm=20.0, cs_mm=1.8)
    first = found.candidates[0]
    assert (first.designation, first.id_mm, first.inside) == ("ISO 3601 section 1.8 mm", None, None)
    assert first.basis == MEMORY
    assert "No AS568 size is within both tolerances." in found.warnings


@pytest.mark.parametrize("section", [1.8, 2.65, 3.55, 5.3, 7.0])
def test_metric_sections_of_iso_3601(section):
    names = [one.designation for one in oring_match(id_mm=300.0, cs_mm=section).candidates]
    assert f"ISO 3601 section {section:g} mm" in names


def test_the_answer_is_short_ranked_and_warns():
    found = oring_match(id_mm=25.0, cs_mm=3.0)
    assert len(found.candidates) == 8
    assert "used ring is only a hint" in found.warnings[0]
    assert "from memory" in found.warnings[1]
    order = [{True: 0, None: 1, False: 2}[one.inside] for one in found.candidates]
    assert order == sorted(order)


def test_a_candidate_from_memory_is_named():
    assert "AS568-470 is from memory, not verified." in oring_match(id_mm=532.26, cs_mm=6.99).warnings


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ({"id_mm": 0, "cs_mm": 3.5}, "id_mm must be above 0 mm and at most 2000 mm; got 0 mm"),
        ({"id_mm": 25, "cs_mm": -1}, "cs_mm must be above 0 mm and at most 50 mm; got -1 mm"),
        ({"id_mm": float("nan"), "cs_mm": 3.5}, "id_mm must be above 0 mm"),
    ],
)
def test_a_bad_measurement_is_refused(values, message):
    with pytest.raises(InputError, match=message):
        oring_match(**values)

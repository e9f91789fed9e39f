"""A gland at its worst case: the printed glands, corners of all tolerances, both sides of each limit."""

import csv
import itertools
import math
from pathlib import Path

import pytest

import shop.calc
from shop.calc.gland_check import gland_check
from shop.calc.oring import oring_size
from shop.calc.parameters import InputError

IN = 25.4
DATA = Path(shop.calc.__file__).parent / "data"
# Size classes of the section tolerance, in inches (precixinc.com).
TOLERANCES = {".040": 0.003, ".050": 0.003, ".060": 0.003, ".070": 0.003}
TOLERANCES |= {".103": 0.003, ".139": 0.004, ".210": 0.005}
RING = {"id_mm": 24.99, "id_tol_mm": 0.25, "cs_mm": 3.53, "cs_tol_mm": 0.10}
PISTON = {
    "motion": "static",
    "arrangement": "piston",
    **RING,
    "groove_diameter_mm": 25.40,
    "groove_diameter_tol_mm": 0.05,
    "mating_diameter_mm": 31.14,
    "mating_diameter_tol_mm": 0.03,
    "width_min_mm": 4.95,
    "width_max_mm": 5.08,
    "land_diameter_mm": 31.06,
    "land_diameter_tol_mm": 0.02,
    "pressure_bar": 60.0,
    "hardness_shore_a": 70.0,
}
# A gland without any tolerance or stretch, so that each limit can be met exactly.
PLAIN = {
    "motion": "static",
    "arrangement": "face",
    "id_mm": 50.0,
    "id_tol_mm": 0.0,
    "cs_mm": 4.0,
    "cs_tol_mm": 0.0,
    "depth_min_mm": 3.2,
    "depth_max_mm": 3.2,
    "width_min_mm": 6.0,
    "width_max_mm": 6.0,
}


def without(values, *names):
    return {name: value for name, value in values.items() if name not in names}


def check_of(found, what):
    return next(check for check in found.checks if check.what.startswith(what))


def _printed():
    """Rows of an O-ring maker's design guide (fdocument.pub, seal types and gland design)."""
    tables = [
        ("gland_dynamic.csv", "gland_depth", "squeeze", "reciprocating", "piston"),
        ("gland_static.csv", "radial_depth", "radial_sq", "static", "rod"),
        ("gland_static.csv", "axial_depth", "axial_sq", "static", "face"),
    ]
    for name, depth, squeeze, motion, arrangement in tables:
        with (DATA / name).open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                depths = [float(row[f"{depth}_{end}"]) * IN for end in ("min", "max")]
                printed = [float(row[f"{squeeze}_{end}_pct"]) for end in ("min", "max")]
                yield motion, arrangement, row["cs_in"], float(row["groove_width_0bur"]) * IN, depths, printed


@pytest.mark.parametrize(
    ("motion", "arrangement", "section", "width_mm", "depths", "printed"), list(_printed()), ids=str
)
def test_every_printed_gland(motion, arrangement, section, width_mm, depths, printed):
    """Squeeze to half a percent, 0.6 where the table rounds to the half; the band is shown; it fits."""
    found = gland_check(
        motion=motion,
        arrangement=arrangement,
        id_mm=50.0,
        id_tol_mm=0.5,
        cs_mm=float(section) * IN,
        cs_tol_mm=TOLERANCES[section] * IN,
        depth_min_mm=depths[0],
        depth_max_mm=depths[1],
        width_min_mm=width_mm,
        width_max_mm=width_mm,
    )
    assert [found.squeeze_min_pct, found.squeeze_max_pct] == pytest.approx(printed, abs=0.6)
    assert found.published_band.startswith(f"{printed[0]:g} to {printed[1]:g} %")
    assert check_of(found, "squeeze, least").verdict == "passes"
    assert check_of(found, "fill").verdict == "passes"


@pytest.mark.parametrize("dash", ["004", "110", "214", "325", "425"])
def test_a_ring_by_its_dash_number_goes_in(dash):
    ring = oring_size(dash=dash)
    size = {name: getattr(ring, name) for name in ("id_mm", "id_tol_mm", "cs_mm", "cs_tol_mm")}
    depth, width = 0.82 * ring.cs_mm, 1.4 * ring.cs_mm
    given = {"depth_min_mm": depth, "depth_max_mm": depth, "width_min_mm": width, "width_max_mm": width}
    assert gland_check(**{**PLAIN, **size, **given}).verdict == "passes"


# --- the worst case


def test_the_example_by_hand():
    """Derived: bore 31.11 to 31.17, groove 25.35 to 25.45, land 31.04 to 31.08, ring 24.74 to 25.24 mm."""
    found = gland_check(**PISTON)
    assert found.clearance_max_mm == pytest.approx(31.17 - 31.04)
    assert found.depth_most_mm == pytest.approx((31.17 - 25.35) / 2 + 0.065)
    assert found.depth_least_mm == pytest.approx((31.11 - 25.45) / 2 - 0.065)
    assert found.stretch_max_pct == pytest.approx(100 * (25.45 / 24.74 - 1))
    assert found.stretch_min_pct == pytest.approx(100 * (25.35 / 25.24 - 1))
    assert found.section_least_mm == pytest.approx(3.43 * math.sqrt(24.74 / 25.45))
    assert found.section_most_mm == pytest.approx(3.63 * math.sqrt(25.24 / 25.35))
    assert found.fill_max_pct == pytest.approx(
        100 * math.pi * found.section_most_mm**2 / 4 / (2.765 * 4.95), rel=1e-6
    )
    assert found.verdict == "passes"


def _corners(values, *names):
    """Every piece that can be made: each size at the one or the other end."""
    ends = [
        (values[f"{name}_mm"] - values[f"{name}_tol_mm"], values[f"{name}_mm"] + values[f"{name}_tol_mm"])
        for name in names
    ]
    return itertools.product(*ends)


@pytest.mark.parametrize("arrangement", ["piston", "rod"])
def test_no_piece_that_can_be_made_is_worse(arrangement):
    """Independent: 32 corners of the tolerances, each with its own clearance, taken to either side."""
    values = {**PISTON, "arrangement": arrangement}
    if arrangement == "rod":
        values |= {"groove_diameter_mm": 31.0, "mating_diameter_mm": 25.26, "land_diameter_mm": 25.36}
    found = gland_check(**values)
    squeezes, fills, stretches = [], [], []
    for inside, section, groove, mating, land in _corners(
        values, "id", "cs", "groove_diameter", "mating_diameter", "land_diameter"
    ):
        inner, outer = (groove, mating) if arrangement == "piston" else (mating, groove)
        stretches.append(100 * (inner / inside - 1))
        cut = section / math.sqrt(max(1.0, inner / inside))
        for side in (-1, 1):
            depth = (outer - inner) / 2 + side * abs(mating - land) / 2
            squeezes.append(100 * (1 - depth / cut))
            fills.append(100 * math.pi * cut**2 / 4 / (depth * values["width_min_mm"]))
    assert found.squeeze_min_pct <= min(squeezes)
    assert found.squeeze_max_pct >= max(squeezes)
    assert found.fill_max_pct >= max(fills)
    assert found.stretch_min_pct == pytest.approx(min(stretches))
    assert found.stretch_max_pct == pytest.approx(max(stretches))
    assert found.squeeze_min_pct == pytest.approx(min(squeezes), abs=1.0)
    assert found.squeeze_max_pct == pytest.approx(max(squeezes), abs=2.0)


def test_a_known_clearance_makes_one_side_deeper_by_half_of_it():
    inline = gland_check(**without(PISTON, "land_diameter_mm", "land_diameter_tol_mm"))
    aside = gland_check(**PISTON)
    assert inline.clearance_max_mm is None
    assert aside.depth_most_mm - inline.depth_most_mm == pytest.approx(0.13 / 2)
    assert inline.depth_least_mm - aside.depth_least_mm == pytest.approx(0.13 / 2)


def test_the_clearance_itself_does_what_the_land_that_gives_it_does():
    """The land of PISTON is 31.06 ± 0.02 in 31.14 ± 0.03: 31.17 - 31.04 is 0.13 mm at most."""
    by_land = gland_check(**PISTON)
    told = gland_check(
        **without(PISTON, "land_diameter_mm", "land_diameter_tol_mm"), clearance_max_mm=31.17 - 31.04
    )
    assert (told.checks, told.verdict) == (by_land.checks, by_land.verdict)
    assert told.squeeze_min_pct == pytest.approx(by_land.squeeze_min_pct)
    assert told.clearance_max_mm == pytest.approx(0.13)


def test_a_measured_depth_goes_out_of_line_by_half_the_clearance():
    known = {**without(PLAIN, "arrangement"), "arrangement": "piston"}
    inline, aside = gland_check(**known), gland_check(**known, clearance_max_mm=0.2)
    assert aside.depth_least_mm == pytest.approx(inline.depth_least_mm - 0.1)
    assert aside.depth_most_mm == pytest.approx(inline.depth_most_mm + 0.1)


@pytest.mark.parametrize(
    ("values", "message"),
    [
        (PISTON, "clearance_max_mm must be left out where land_diameter_mm is given; got 0.1 mm"),
        (PLAIN, "clearance_max_mm must be left out for a face groove; got 0.1 mm"),
    ],
    ids=["beside the land", "face"],
)
def test_a_clearance_that_is_given_twice_or_has_no_place_is_refused(values, message):
    with pytest.raises(InputError, match=message):
        gland_check(**values, clearance_max_mm=0.1)


def test_a_rod_gland_is_stretched_by_its_shaft():
    rod = {**PISTON, "arrangement": "rod", "groove_diameter_mm": 31.1, "mating_diameter_mm": 25.4}
    found = gland_check(**{**rod, "land_diameter_mm": 25.5})
    assert found.stretch_max_pct == pytest.approx(100 * (25.43 / 24.74 - 1))
    assert found.clearance_max_mm == pytest.approx(25.52 - 25.37)
    assert found.depth_most_mm == pytest.approx((31.15 - 25.37) / 2 + 0.075)


def test_a_loose_ring_is_not_thickened_and_is_warned_of():
    loose = gland_check(**{**PISTON, "id_mm": 26.0, "id_tol_mm": 0.0})
    assert loose.stretch_max_pct < 0
    assert (loose.section_least_mm, loose.section_most_mm) == (pytest.approx(3.43), pytest.approx(3.63))
    assert any("loose" in warning for warning in loose.warnings)
    assert not any("loose" in warning for warning in gland_check(**PISTON).warnings)


@pytest.mark.parametrize(
    ("rise_k", "thinner", "thicker"), [(100.0, 1.0, 1.016), (-50.0, 0.992, 1.0), (0.0, 1, 1)]
)
def test_heat_and_cold_take_the_worse_end(rise_k, thinner, thicker):
    """Derived: length factor 1 + 0.00016 × rise; the ring as measured is judged too."""
    found = gland_check(**{**PLAIN, "temperature_rise_k": rise_k})
    assert found.section_least_mm == pytest.approx(4.0 * thinner)
    assert found.section_most_mm == pytest.approx(4.0 * thicker)


def test_swell_in_volume_is_its_third_root_in_the_section():
    """Conservation: section cubed grows as the volume does."""
    found = gland_check(**{**PLAIN, "swell_pct": 15.0})
    assert (found.section_most_mm / 4.0) ** 3 == pytest.approx(1.15)
    assert found.section_least_mm == pytest.approx(4.0)
    shrunk = gland_check(**{**PLAIN, "swell_pct": -10.0})
    assert (shrunk.section_least_mm / 4.0) ** 3 == pytest.approx(0.90)


@pytest.mark.parametrize(
    ("given", "warned"),
    [
        ({}, False),
        ({"temperature_rise_k": 40.0}, True),
        ({"temperature_rise_k": 40.0, "seal_expansion_per_k": 0.0002}, False),
    ],
)
def test_the_expansion_from_memory_says_so_where_it_is_used(given, warned):
    found = gland_check(**{**PLAIN, **given})
    assert any("expansion of the seal is from memory" in warning for warning in found.warnings) is warned


# --- bad input


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"motion": "sliding"}, "motion must be one of static, reciprocating, rotary; got 'sliding'"),
        ({"arrangement": "bore"}, "arrangement must be one of piston, rod, face; got 'bore'"),
        ({"cs_mm": 0.0}, "cs_mm must be above 0 mm and at most 50 mm; got 0 mm"),
        ({"cs_tol_mm": 3.6}, r"cs_tol_mm must be below cs_mm \(3.53 mm\); got 3.6 mm"),
        ({"id_tol_mm": None}, "id_tol_mm must be at least 0 mm"),
        ({"groove_diameter_tol_mm": None}, "groove_diameter_tol_mm must be given with groove_diameter_mm"),
        ({"mating_diameter_mm": None}, "mating_diameter_mm must be given with mating_diameter_tol_mm"),
        ({"width_min_mm": 5.2}, r"width_min_mm must be at most width_max_mm \(5.08 mm\); got 5.2 mm"),
        ({"depth_min_mm": 2.8}, "depth_max_mm must be given with the other end of the depth; got nothing"),
        (
            {"depth_min_mm": 2.8, "depth_max_mm": 2.9},
            "depth_min_mm must be left out where groove_diameter_mm and mating_diameter_mm give the depth",
        ),
        ({"depth_min_mm": 3.0, "depth_max_mm": 2.9}, r"depth_min_mm must be at most depth_max_mm \(2.9 mm\)"),
        (
            {"mating_diameter_mm": 25.0, "land_diameter_mm": 24.9},
            "groove_diameter_mm must leave a depth above 0",
        ),
        ({"land_diameter_mm": 32.0}, "land_diameter_mm must be below mating_diameter_mm"),
        (
            {"arrangement": "rod", "mating_diameter_mm": 40.0},
            "land_diameter_mm must be above mating_diameter_mm",
        ),
        ({"arrangement": "face"}, "mating_diameter_mm must be left out for a face groove"),
        (
            {"squeeze_static_min_pct": 0.0},
            "squeeze_static_min_pct must be above 0 % and at most 100 %; got 0 %",
        ),
        ({"swell_pct": -51.0}, "swell_pct must be at least -50 % and at most 200 %; got -51 %"),
    ],
)
def test_bad_input_is_refused(changed, message):
    with pytest.raises(InputError, match=message):
        gland_check(**{**PISTON, **changed})


def test_a_depth_that_nothing_gives_is_asked_for():
    with pytest.raises(InputError, match="depth_min_mm must be given with depth_max_mm where"):
        gland_check(**without(PISTON, "groove_diameter_mm", "groove_diameter_tol_mm"))

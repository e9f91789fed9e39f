"""Squeeze, fill and stretch against printed charts and worked examples."""

import csv
import math
from pathlib import Path

import pytest

import shop.calc
from shop.calc.gland import gland_fill, gland_squeeze, oring_stretch
from shop.calc.oring import oring_size
from shop.calc.parameters import InputError

IN = 25.4
DATA = Path(shop.calc.__file__).parent / "data"
# The tolerance of each section in the charts, in inches; precixinc.com, size classes.
TOLERANCES = {
    ".040": 0.003,
    ".050": 0.003,
    ".060": 0.003,
    ".070": 0.003,
    ".103": 0.003,
    ".139": 0.004,
    ".210": 0.005,
}


def _chart(name, prefix_depth, prefix_squeeze):
    """Rows of an O-ring maker's design guide (fdocument.pub, seal types and gland design)."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            yield (
                row["cs_in"],
                *(float(row[f"{prefix_depth}_{end}"]) for end in ("min", "max")),
                *(float(row[f"{prefix_squeeze}_{end}_in"]) for end in ("min", "max")),
                *(float(row[f"{prefix_squeeze}_{end}_pct"]) for end in ("min", "max")),
            )


CHARTS = [
    *_chart("gland_dynamic.csv", "gland_depth", "squeeze"),
    *_chart("gland_static.csv", "radial_depth", "radial_sq"),
    *_chart("gland_static.csv", "axial_depth", "axial_sq"),
]


def _squeeze(section, depth_min, depth_max):
    return gland_squeeze(
        cs_mm=float(section) * IN,
        cs_tol_mm=TOLERANCES[section] * IN,
        depth_min_mm=depth_min * IN,
        depth_max_mm=depth_max * IN,
    )


@pytest.mark.parametrize("row", CHARTS, ids=str)
def test_squeeze_of_every_printed_gland(row):
    """The chart prints whole and half percents: half a percent, and 0.6 where it rounds to the half."""
    section, depth_min, depth_max, least_in, most_in, least_pct, most_pct = row
    found = _squeeze(section, depth_min, depth_max)
    assert found.squeeze_min_mm / IN == pytest.approx(least_in, abs=1e-9)
    assert found.squeeze_max_mm / IN == pytest.approx(most_in, abs=1e-9)
    assert found.squeeze_min_pct == pytest.approx(least_pct, abs=0.6)
    assert found.squeeze_max_pct == pytest.approx(most_pct, abs=0.6)


@pytest.mark.parametrize(
    ("depth_min", "depth_max", "least_pct", "most_pct"),
    [(0.119, 0.123, 9, 17), (0.110, 0.116, 14, 23), (0.100, 0.108, 20, 30)],
)
def test_worked_glands_of_the_139_section(depth_min, depth_max, least_pct, most_pct):
    """The design guide: reciprocating, static radial, static face."""
    found = _squeeze(".139", depth_min, depth_max)
    assert (round(found.squeeze_min_pct), round(found.squeeze_max_pct)) == (least_pct, most_pct)


@pytest.mark.parametrize(("depth_mm", "warned"), [(3.42, False), (3.43, True), (3.44, True)])
def test_a_ring_that_just_touches_or_less_is_a_gap(depth_mm, warned):
    found = gland_squeeze(cs_mm=3.53, cs_tol_mm=0.10, depth_min_mm=3.0, depth_max_mm=depth_mm)
    assert bool(found.warnings) is warned


def test_squeeze_gives_back_the_depth():
    """Inverse: section less squeeze is depth, at both ends."""
    found = gland_squeeze(cs_mm=3.53, cs_tol_mm=0.10, depth_min_mm=3.02, depth_max_mm=3.12)
    assert 3.43 - found.squeeze_min_mm == pytest.approx(3.12)
    assert 3.63 * (1 - found.squeeze_max_pct / 100) == pytest.approx(3.02)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"cs_mm": -1}, "cs_mm must be above 0 mm and at most 50 mm; got -1 mm"),
        ({"cs_tol_mm": 3.53}, r"cs_tol_mm must be below cs_mm \(3.53 mm\); got 3.53 mm"),
        ({"depth_min_mm": 3.2}, r"depth_min_mm must be at most depth_max_mm \(3.12 mm\); got 3.2 mm"),
        ({"depth_max_mm": math.inf}, "depth_max_mm must be above 0 mm"),
    ],
)
def test_bad_squeeze_input_is_refused(changed, message):
    values = {"cs_mm": 3.53, "cs_tol_mm": 0.1, "depth_min_mm": 3.02, "depth_max_mm": 3.12, **changed}
    with pytest.raises(InputError, match=message):
        gland_squeeze(**values)


# --- fill


def _fill(**changed):
    values = {
        "cs_mm": 2.0,
        "cs_tol_mm": 0.0,
        "depth_min_mm": 1.6,
        "depth_max_mm": 1.6,
        "width_min_mm": 3.2,
        "width_max_mm": 3.2,
    }
    return gland_fill(**{**values, **changed})


def test_printed_fill():
    """machinecalcs.com/o-ring-gland-calculator: 3.142 mm² in 5.12 mm² is 61.36 %."""
    found = _fill()
    assert round(found.fill_nominal_pct, 2) == 61.36
    assert found.fill_min_pct == pytest.approx(found.fill_max_pct)


def test_a_published_fill_that_geometry_contradicts():
    """toolcroze shows 62.8 % for a .139 ring in .112 x .185 in; the areas give 73.2 %."""
    found = _fill(
        cs_mm=0.139 * IN,
        depth_min_mm=0.112 * IN,
        depth_max_mm=0.112 * IN,
        width_min_mm=0.185 * IN,
        width_max_mm=0.185 * IN,
    )
    assert round(found.fill_nominal_pct, 1) == 73.2


def test_fill_at_the_ends_by_the_area_of_a_polygon():
    """Independent: the ring's area as a polygon of many corners (shoelace)."""
    found = _fill(cs_tol_mm=0.08, depth_min_mm=1.55, depth_max_mm=1.65, width_min_mm=3.1, width_max_mm=3.3)

    def area(section):
        corners = [
            (section / 2 * math.cos(2 * math.pi * i / 20000), section / 2 * math.sin(2 * math.pi * i / 20000))
            for i in range(20000)
        ]
        pairs = zip(corners, corners[1:] + corners[:1], strict=True)
        return sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs) / 2

    assert found.fill_max_pct == pytest.approx(100 * area(2.08) / (1.55 * 3.1), rel=1e-6)
    assert found.fill_min_pct == pytest.approx(100 * area(1.92) / (1.65 * 3.3), rel=1e-6)
    assert found.fill_min_pct < found.fill_nominal_pct < found.fill_max_pct


@pytest.mark.parametrize(("width_mm", "warned"), [(1.97, False), (1.96, True)])
def test_a_ring_larger_than_its_gland_is_warned_of(width_mm, warned):
    """π mm² of ring in 1.6 mm of depth need 1.9635 mm of width."""
    assert bool(_fill(width_min_mm=width_mm, width_max_mm=width_mm).warnings) is warned


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"width_min_mm": 3.3}, r"width_min_mm must be at most width_max_mm \(3.2 mm\); got 3.3 mm"),
        ({"depth_min_mm": 1.7}, r"depth_min_mm must be at most depth_max_mm \(1.6 mm\); got 1.7 mm"),
        ({"cs_tol_mm": 2.5}, r"cs_tol_mm must be below cs_mm \(2 mm\); got 2.5 mm"),
        ({"width_max_mm": 0}, "width_max_mm must be above 0 mm and at most 200 mm; got 0 mm"),
    ],
)
def test_bad_fill_input_is_refused(changed, message):
    with pytest.raises(InputError, match=message):
        _fill(**changed)


# --- stretch


def test_printed_stretch():
    """machinecalcs.com/o-ring-gland-calculator: the worked example prints a stretch of 2 %."""
    assert oring_stretch(id_mm=50.0, groove_diameter_mm=51.0).stretch_pct == pytest.approx(2.0)


def test_stretch_at_constant_volume():
    """Derived: a bar 5 % longer has 1/1.05 of the area, and a section 2.41 % thinner."""
    found = oring_stretch(id_mm=100.0, groove_diameter_mm=105.0)
    assert round(found.cs_reduction_pct, 2) == 2.41
    assert "polynomial" in found.warnings[0]


@pytest.mark.parametrize("groove_mm", [24.0, 25.5, 27.5, 37.5])
def test_the_volume_is_conserved(groove_mm):
    ring = oring_size(dash="214")
    found = oring_stretch(id_mm=ring.id_mm, groove_diameter_mm=groove_mm)
    longer, thinner = 1 + found.stretch_pct / 100, 1 - found.cs_reduction_pct / 100
    assert longer * thinner**2 == pytest.approx(1)
    assert ring.id_mm * longer == pytest.approx(groove_mm)


@pytest.mark.parametrize(("groove_mm", "loose"), [(99.99, True), (100.0, False), (100.01, False)])
def test_a_groove_smaller_than_the_ring_leaves_it_loose(groove_mm, loose):
    found = oring_stretch(id_mm=100.0, groove_diameter_mm=groove_mm)
    assert (found.stretch_pct < 0) is loose
    assert any("loose" in warning for warning in found.warnings) is loose


def test_no_stretch_needs_no_warning():
    found = oring_stretch(id_mm=100.0, groove_diameter_mm=100.0)
    assert (found.stretch_pct, found.cs_reduction_pct, found.warnings) == (0, 0, ())


@pytest.mark.parametrize(
    ("id_mm", "groove_mm", "message"),
    [
        (0, 10, "id_mm must be above 0 mm and at most 2000 mm; got 0 mm"),
        (10, -3, "groove_diameter_mm must be above 0 mm"),
    ],
)
def test_bad_stretch_input_is_refused(id_mm, groove_mm, message):
    with pytest.raises(InputError, match=message):
        oring_stretch(id_mm=id_mm, groove_diameter_mm=groove_mm)


@pytest.mark.parametrize(("id_mm", "groove_mm"), [(5e-23, 1e-246), (1000.0, 1e-15)])
def test_a_groove_of_next_to_nothing_is_told_in_a_sentence(id_mm, groove_mm):
    with pytest.raises(InputError, match="must be of a usual size"):
        oring_stretch(id_mm=id_mm, groove_diameter_mm=groove_mm)

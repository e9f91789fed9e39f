"""A ring in the gland of a position: what is read from a size, what is missing, and who judges."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.models import LimitSetting, SealPosition
from shop.services.gland_fit import (
    gland_fit,
    gland_pressure_bar,
    judge_gland_reading,
    judge_run_out,
    ring_of,
    same_size,
    shop_limits,
)
from tests.factories import DimensionLimitFactory, TypeRevisionFactory

IN = 25.4
GLAND = {
    "motion": "static",
    "arrangement": "face",
    "gland_depth_min_mm": 2.60,
    "gland_depth_max_mm": 2.74,
    "gland_width_min_mm": 4.95,
    "gland_width_max_mm": 5.08,
}
# AS568-214 is 24.99 ± 0.25 by 3.53 ± 0.10 mm; what follows from a depth is derived here.
RING = "AS568-214"


def position(**fields):
    return SealPosition(code="S6", name="gland seal", kind="static_seal", **{**GLAND, **fields})


def piston(**fields):
    given = {"arrangement": "piston", "gland_diameter_mm": 25.2, "gland_diameter_tol_mm": 0.05}
    return position(**{"gland_depth_min_mm": 2.75, "gland_depth_max_mm": 2.85, **given, **fields})


@pytest.mark.parametrize("text", ["AS568-214", "as568 214", "AS568A-214", " -214 "])
def test_a_dash_number_is_a_ring_with_its_tolerances(text):
    ring = ring_of(designation=text)
    assert (ring.id_mm, ring.id_tol_mm, ring.cs_mm, ring.cs_tol_mm) == (24.99, 0.25, 3.53, 0.1)
    assert ring.designation == RING


@pytest.mark.parametrize("text", ["10 x 2", "10x2", "10 × 2.0 mm", "10,0 X 2"])
def test_two_numbers_are_inside_diameter_by_section_without_tolerance(text):
    ring = ring_of(designation=text)
    assert (ring.id_mm, ring.cs_mm, ring.id_tol_mm, ring.cs_tol_mm) == (10, 2, 0, 0)
    assert "not known: taken as 0 mm" in ring.warnings[0]


@pytest.mark.parametrize("text", ["", "12 x 20 x 5.7", "25 mm", "214", "AS568-999", "0 x 2", "10 x 60"])
def test_anything_else_is_no_ring(text):
    assert ring_of(designation=text) is None


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("AS568-214", "-214", True),
        ("AS568-012", "AS568-12", True),
        ("10 x 2", "10x2.0", True),
        ("12 x 20 x 5.7", "12X20x5,7", True),
        ("AS568-214", "AS568-215", False),
        ("10 x 2", "10 x 2.5", False),
        ("12 x 20 x 5.7", "12 x 20 x 4", False),
    ],
)
def test_sizes_are_compared_as_sizes(one, other, same):
    assert same_size(one, other) is same


def test_the_printed_gland_gives_the_printed_squeeze():
    """0.139 in, radial: 0.110 to 0.116 in deep, 0.195 in wide, squeeze 14 to 23 %.

    O-ring maker's design guide, gland design tables (fdocument.pub); it neither stretches the ring
    nor stands it out of line.
    """
    printed = position(
        arrangement="piston",
        gland_depth_min_mm=0.110 * IN,
        gland_depth_max_mm=0.116 * IN,
        gland_width_min_mm=0.195 * IN,
        gland_width_max_mm=0.200 * IN,
    )
    fit = gland_fit(position=printed, designation=RING)
    assert fit.result.squeeze_min_pct == pytest.approx(14, abs=0.5)
    assert fit.result.squeeze_max_pct == pytest.approx(23, abs=0.5)
    assert fit.failing == []
    assert fit.verdict == "not decided"  # neither the seat of the ring nor the clearance is entered


def test_a_gland_that_fits_passes():
    fit = gland_fit(position=position(), designation=RING)
    assert (fit.verdict, fit.why_not, fit.failing, fit.ring.size) == ("passes", "", [], "24.99 x 3.53")


@pytest.mark.parametrize(
    ("fields", "designation", "words"),
    [
        ({}, "", "no size given"),
        ({}, "12 x 20 x 5.7", "is not the size of an O-ring"),
        (
            dict.fromkeys([name for name in GLAND if name.startswith("gland")]),
            RING,
            "no gland is entered for this position",
        ),
        ({"gland_width_max_mm": None}, RING, "it is not entered: its width"),
        ({"gland_depth_min_mm": None}, RING, "it is not entered: its depth"),
        ({"arrangement": ""}, RING, "on which side the groove is"),
        ({"gland_diameter_mm": 25.2, "gland_diameter_tol_mm": 30.0}, RING, "groove_diameter_tol_mm must be"),
    ],
)
def test_what_is_missing_is_named(fields, designation, words):
    fit = gland_fit(position=position(**fields), designation=designation)
    assert fit.result is None
    assert fit.verdict == "not decided"
    assert words in fit.why_not


def test_a_reading_takes_the_place_of_both_ends():
    """Depth 3.00 mm: (3.43 - 3.00) / 3.43 and (3.63 - 3.00) / 3.63 of a ring without stretch."""
    fit = gland_fit(position=position(), designation=RING, measured={"depth": 3.0})
    assert fit.result.squeeze_min_pct == pytest.approx(100 * (3.43 - 3.0) / 3.43)
    assert fit.result.squeeze_max_pct == pytest.approx(100 * (3.63 - 3.0) / 3.63)
    wide = gland_fit(position=position(), designation=RING, measured={"width": 10.0})
    assert wide.result.fill_max_pct < gland_fit(position=position(), designation=RING).result.fill_max_pct
    worn = gland_fit(position=piston(), designation=RING, measured={"diameter": 24.0})
    assert worn.result.stretch_max_pct == pytest.approx(100 * (24.0 / 24.74 - 1))


def rod(**fields):
    given = {"arrangement": "rod", "gland_diameter_mm": 30.6, "gland_diameter_tol_mm": 0.05}
    return position(**{"gland_depth_min_mm": 2.75, "gland_depth_max_mm": 2.85, **given, **fields})


def test_the_shaft_in_a_rod_gland_follows_from_its_groove_and_depth():
    """30.55 - 2 x 2.85 = 24.85 mm and 30.65 - 2 x 2.75 = 25.15 mm, on 25.24 and 24.74 mm inside."""
    fit = gland_fit(position=rod(), designation=RING)
    assert fit.result.stretch_min_pct == pytest.approx(100 * (24.85 / 25.24 - 1))
    assert fit.result.stretch_max_pct == pytest.approx(100 * (25.15 / 24.74 - 1))
    assert (fit.result.depth_least_mm, fit.result.depth_most_mm) == pytest.approx((2.75, 2.85))
    assert any("groove less twice the depth" in warning for warning in fit.warnings)
    read = gland_fit(position=rod(), designation=RING, measured={"diameter": 31.0, "depth": 2.8})
    assert read.result.stretch_min_pct == pytest.approx(100 * (25.4 / 25.24 - 1))


@pytest.mark.parametrize(("groove_mm", "verdict"), [(31.47, "passes"), (31.48, "fails")])
def test_a_shaft_that_stretches_the_ring_too_far_fails(groove_mm, verdict):
    """At most 5 % of 24.74 mm is a shaft of 25.977 mm: a groove of 31.477 mm at a depth of 2.75 mm."""
    fields = {"gland_diameter_mm": groove_mm, "gland_diameter_tol_mm": 0.0}
    fit = gland_fit(position=rod(gland_depth_max_mm=2.75, **fields), designation=RING)
    (stretch,) = [check for check in fit.result.checks if check.what.startswith("stretch")]
    assert stretch.verdict == verdict


def test_the_shaft_stays_unknown_without_a_groove_and_must_be_above_nothing():
    unknown = gland_fit(position=rod(gland_diameter_mm=None, gland_diameter_tol_mm=None), designation=RING)
    assert unknown.result.stretch_max_pct is None
    wrong = gland_fit(position=rod(gland_diameter_mm=5.0), designation=RING)
    assert "mating_diameter_mm must be" in wrong.why_not


def test_the_clearance_is_held_against_hardness_and_pressure():
    """70 Shore A at 60 bar (500 to 1000 psi): 0.010 in, which is 0.254 mm (sealanddesign.com)."""
    given = {"designation": RING, "hardness_shore_a": 70, "pressure_bar": 60}
    for clearance, verdict in ((0.254, "passes"), (0.26, "fails")):
        fit = gland_fit(position=piston(clearance_max_mm=clearance), **given)
        gap = next(check for check in fit.result.checks if "clearance" in check.what)
        assert gap.verdict == verdict
    open_gap = gland_fit(position=piston(), **given)
    assert (open_gap.failing, open_gap.verdict) == ([], "not decided")  # no clearance entered


def test_a_diameter_without_tolerance_is_taken_as_exact_and_says_so():
    fit = gland_fit(position=piston(gland_diameter_tol_mm=None), designation=RING)
    assert any("groove diameter is not entered: taken as 0 mm" in warning for warning in fit.warnings)


def test_the_pressure_of_a_gland_is_the_proof_pressure_else_the_rated_one():
    revision = TypeRevisionFactory.build(
        unit_type=None, service_fluid=None, proof_pressure_bar=160.0, rated_pressure_bar=120.0
    )
    assert gland_pressure_bar(revision) == 160
    revision.proof_pressure_bar = None
    assert gland_pressure_bar(revision) == 120


@pytest.mark.django_db
def test_the_limits_of_the_shop_judge_and_are_read_at_once():
    with CaptureQueriesContext(connection) as queries:
        limits = shop_limits()
    assert len(queries) == 1
    with CaptureQueriesContext(connection) as queries:
        assert gland_fit(position=position(), designation=RING, limits=limits).verdict == "passes"
    assert len(queries) == 0
    LimitSetting.objects.filter(key="squeeze-static-least").update(value=25)
    fit = gland_fit(position=position(), designation=RING, limits=shop_limits())
    assert [check.what for check in fit.failing] == ["squeeze, least"]


# --- readings ---


@pytest.mark.parametrize(
    ("depth_mm", "within"),
    # At least 10 % static: 3.43 x 0.9 = 3.087 mm; at most 30 %: 3.63 x 0.7 = 2.541 mm.
    [(3.08, True), (3.10, False), (2.55, True), (2.53, False)],
)
def test_a_depth_read_is_judged_by_the_squeeze(depth_mm, within):
    limit = DimensionLimitFactory.build(revision=None, position=position(), gland_figure="depth")
    judged = judge_gland_reading(limit=limit, value=depth_mm, designation=RING, limits={})
    assert judged.within is within
    assert judged.sentence.startswith("With AS568-214 (24.99 x 3.53 mm) at S6: squeeze, least ")
    assert ("fails" in judged.sentence) is not within


def test_a_reading_answers_only_for_its_own_figure():
    """A ring that is stretched too far does not make the width of the groove bad."""
    tight = piston(gland_diameter_mm=28.0)
    assert gland_fit(position=tight, designation=RING).failing
    width = DimensionLimitFactory.build(revision=None, position=tight, gland_figure="width")
    judged = judge_gland_reading(limit=width, value=5.5, designation=RING, limits={})
    assert judged.within is True
    assert "stretch" not in judged.sentence
    diameter = DimensionLimitFactory.build(revision=None, position=tight, gland_figure="diameter")
    assert judge_gland_reading(limit=diameter, value=28.0, designation=RING, limits={}).within is False


def test_a_reading_that_no_sum_can_judge_is_not_decided_and_says_why():
    limit = DimensionLimitFactory.build(revision=None, position=position(), gland_figure="depth")
    judged = judge_gland_reading(limit=limit, value=3.0, designation="12 x 20 x 5.7", limits={})
    assert judged.within is None
    assert "is not the size of an O-ring" in judged.sentence
    gap = DimensionLimitFactory.build(revision=None, position=piston(), gland_figure="clearance")
    judged = judge_gland_reading(limit=gap, value=0.1, designation=RING, limits={})
    assert judged.within is None  # neither hardness nor pressure is known to the reading
    assert "not decided" in judged.sentence


def test_a_dimension_without_position_is_no_gland():
    with pytest.raises(ValueError, match="no figure of a gland"):
        judge_gland_reading(
            limit=DimensionLimitFactory.build(revision=None), value=3.0, designation=RING, limits={}
        )


@pytest.mark.parametrize(("value_mm", "within"), [(0.65, True), (0.66, False)])
def test_a_run_out_is_judged_by_its_length(value_mm, within):
    """0.65 mm for 1300 mm (hydraulic-ram-repairs.com)."""
    judged = judge_run_out(length_mm=1300, value_mm=value_mm, limits={})
    assert judged.within is within
    assert "0.5 mm for each metre over 1300 mm is 0.65 mm at most" in judged.sentence


def test_the_run_out_for_each_metre_is_the_shops():
    assert judge_run_out(length_mm=1000, value_mm=0.9, limits={"rod-run-out": 1.0}).within is True
    assert judge_run_out(length_mm=1000, value_mm=0.9, limits={}).within is False
    nonsense = judge_run_out(length_mm=1000, value_mm=0.9, limits={"rod-run-out": -1.0})
    assert nonsense.within is None
    assert "must be above 0 mm/m" in nonsense.sentence

"""Surfaces of rods and bores against the published limits."""

import pytest

from shop.calc.parameters import InputError
from shop.calc.surface import rod_surface_check


# simritna.com SurfaceFinish: rod and bore Ra 0.05 to 0.3 µm.
@pytest.mark.parametrize(
    ("ra_um", "word"), [(0.049, "fails"), (0.05, "passes"), (0.3, "passes"), (0.301, "fails")]
)
def test_roughness_has_a_limit_on_both_sides(ra_um, word):
    assert rod_surface_check(ra_um=ra_um).verdict == word


# simritna.com SurfaceFinish: Rmax at most 2.5 µm.
@pytest.mark.parametrize(("rmax_um", "word"), [(2.5, "passes"), (2.51, "fails")])
def test_the_highest_peak_has_a_limit(rmax_um, word):
    assert rod_surface_check(ra_um=0.2, rmax_um=rmax_um).verdict == word


# simritna.com prints 30 to 50 µm, sterc.org 13 to 25 µm (0.0005 to 0.001 in) for new rods.
@pytest.mark.parametrize(
    ("chrome_um", "word"), [(29.9, "fails"), (30, "passes"), (50, "passes"), (51, "fails")]
)
def test_chrome_is_judged_by_the_first_source_unless_the_shop_sets_the_other(chrome_um, word):
    found = rod_surface_check(ra_um=0.2, chrome_um=float(chrome_um))
    assert found.verdict == word
    assert "disagree" in found.warnings[0]
    other = rod_surface_check(
        ra_um=0.2, chrome_um=0.0008 * 25400, chrome_least_um=0.0005 * 25400, chrome_most_um=0.001 * 25400
    )
    assert other.verdict == "passes"


def test_each_way_out_has_its_own_advice():
    rough, smooth = rod_surface_check(ra_um=0.5), rod_surface_check(ra_um=0.01)
    assert "Polish" in rough.checks[0].advice
    assert "oil film" in smooth.checks[0].advice
    assert rod_surface_check(ra_um=0.2).checks[0].advice == ""


# epm.com: Rt = (7 Ra + 0.2) ± 35 % for Ra above 0.1 µm; inverse of the formula.
def test_the_estimate_of_rt_is_given_only_where_it_holds():
    found = rod_surface_check(ra_um=0.25)
    assert (found.rt_estimate_um - 0.2) / 7 == pytest.approx(0.25)
    assert rod_surface_check(ra_um=0.1).rt_estimate_um is None


def test_limits_that_cross_and_bad_readings_are_refused():
    with pytest.raises(InputError, match="ra_least_um must be at most"):
        rod_surface_check(ra_um=0.2, ra_least_um=0.4)
    with pytest.raises(InputError, match="chrome_least_um must be at most 50 µm"):
        rod_surface_check(ra_um=0.2, chrome_least_um=60.0)
    with pytest.raises(InputError, match="ra_um must be above 0 µm"):
        rod_surface_check(ra_um=0.0)

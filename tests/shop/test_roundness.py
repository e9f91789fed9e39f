"""Out of round against the published limit."""

import statistics

import pytest

from shop.calc.parameters import InputError
from shop.calc.roundness import out_of_round


# A lift maker's maintenance manual, p. 30: more than 0.007 in is a reject.
@pytest.mark.parametrize(("spread_in", "word"), [(0.0069, "passes"), (0.007, "passes"), (0.0071, "fails")])
def test_the_published_limit_holds_on_both_sides(spread_in, word):
    found = out_of_round(diameters_mm=(50.0, 50.0 + spread_in * 25.4, 50.01))
    assert found.verdict == word
    assert bool(found.checks[0].advice) == (word == "fails")


def test_spread_and_mean_agree_with_the_standard_library_in_any_order():
    readings = [63.02, 63.10, 63.21, 63.05]
    found = out_of_round(diameters_mm=tuple(readings))
    assert found.mean_mm == pytest.approx(statistics.fmean(readings))
    assert found.out_of_round_mm == pytest.approx(max(readings) - min(readings))
    assert out_of_round(diameters_mm=tuple(reversed(readings))) == found


def test_two_directions_warn_and_three_do_not():
    assert out_of_round(diameters_mm=(50.0, 50.1)).warnings
    assert not out_of_round(diameters_mm=(50.0, 50.1, 50.05)).warnings


@pytest.mark.parametrize(
    ("readings", "sentence"),
    [
        ((50.0,), r"diameters_mm must be a list of 2 or more numbers, .*; got 1"),
        ((50.0, -1.0), r"diameters_mm must be above 0 mm and at most 2000 mm; got -1 mm"),
        ((50.0, float("nan")), r"got nan mm"),
        (50.0, r"must be a list"),
    ],
)
def test_bad_readings_are_refused(readings, sentence):
    with pytest.raises(InputError, match=sentence):
        out_of_round(diameters_mm=readings)

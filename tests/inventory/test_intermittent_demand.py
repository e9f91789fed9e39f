"""Croston's method and its correction: another library, identities, the bias by simulation."""

import hypothesis
import hypothesis.strategies as st
import numpy as np
import pytest

from inventory.calc.demand import demand_rate, intermittent_demand
from shop.calc.parameters import InputError


# The open library statsforecast 2.1.1 (CrostonClassic and CrostonSBA, smoothing constant 0.1): size,
# interval, rate, corrected rate.
@pytest.mark.parametrize(
    ("demands", "size", "interval", "croston", "corrected"),
    [
        ([0, 0, 5, 0, 3, 0, 0, 0, 6, 2, 0, 4], 4.5652, 2.7281, 1.6733990689490854, 1.589729115501631),
        ([4, 0, 0, 1, 2, 0, 7, 0, 0, 0, 0, 3, 0], 3.7893, 1.6358, 2.316481232424502, 2.200657170803277),
    ],
)
def test_another_library_gives_the_same(demands, size, interval, croston, corrected):
    found = intermittent_demand(demands=demands, alpha=0.1)
    assert found.size == pytest.approx(size, abs=1e-12)
    assert found.interval == pytest.approx(interval, abs=1e-12)
    assert found.rate_croston == pytest.approx(croston, rel=1e-14)
    assert found.rate == pytest.approx(corrected, rel=1e-14)


@pytest.mark.parametrize("alpha", [0.05, 0.1, 0.5, 1])
@pytest.mark.parametrize(("size", "every"), [(1, 1), (4, 3), (7, 12)])
def test_the_same_use_every_nth_period_gives_its_rate(alpha, size, every):
    demands = ([0] * (every - 1) + [size]) * 9
    found = intermittent_demand(demands=demands, alpha=alpha)
    assert found.rate_croston == pytest.approx(size / every, rel=1e-12)
    assert found.rate == pytest.approx((1 - alpha / 2) * size / every, rel=1e-12)
    assert found.mean == pytest.approx(size / every, rel=1e-12)
    assert found.mean_interval == every


@pytest.mark.parametrize("begin", ["first", "mean"])
def test_it_does_not_matter_to_the_same_use_with_what_it_begins(begin):
    found = intermittent_demand(demands=[0, 0, 6] * 5, alpha=0.3, begin=begin)
    assert found.rate_croston == pytest.approx(2, rel=1e-12)


def test_beginning_with_the_means_by_hand():
    found = intermittent_demand(demands=[0, 2, 0, 0, 4, 0], alpha=0.5, begin="mean")
    # Means 3 and 3; then (2, 2) and (4, 3) are smoothed into them.
    assert [row.smoothed_size for row in found.occasions] == [2.5, 3.25]
    assert [row.smoothed_interval for row in found.occasions] == [2.5, 2.75]
    assert found.rate_croston == pytest.approx(3.25 / 2.75)


def test_with_a_constant_of_one_only_the_last_counts():
    found = intermittent_demand(demands=[0, 9, 1, 0, 0, 0, 6, 0], alpha=1)
    assert (found.size, found.interval) == (6, 4)


def test_the_sizes_and_intervals_are_told():
    found = intermittent_demand(demands=[0, 2, 0, 0, 4, 0], alpha=0.5)
    told = [(row.period, row.size, row.interval) for row in found.occasions]
    assert told == [(2, 2, 2), (5, 4, 3)]
    assert [row.smoothed_size for row in found.occasions] == [2, 3]
    assert [row.smoothed_interval for row in found.occasions] == [2, 2.5]


@pytest.mark.parametrize(("alpha", "every"), [(0.3, 4), (0.2, 10)])
def test_croston_is_too_high_by_what_the_derivation_says_and_the_correction_nearly_right(alpha, every):
    """Drawn series of use with the chance 1 / p in each period: docs/demand.md derives the factor."""
    throw = np.random.default_rng(1972)
    rates, corrected = [], []
    for _ in range(1200):
        demands = np.where(throw.random(400) < 1 / every, 1 + throw.poisson(3, 400), 0).tolist()
        found = intermittent_demand(demands=demands, alpha=alpha)
        rates.append(found.rate_croston)
        corrected.append(found.rate)
    true = 4 / every
    bias, left = np.mean(rates) / true - 1, np.mean(corrected) / true - 1
    spread = np.std(rates) / true / np.sqrt(len(rates))
    assert bias > 5 * spread
    # The second term of the series; the terms after it are left out there, and add a little.
    assert bias == pytest.approx(alpha / (2 - alpha) * (every - 1) / every, abs=0.03)
    assert abs(left) < bias / 2


@pytest.mark.parametrize(
    ("demands", "pattern"),
    [
        ([3, 3, 3, 3], "smooth"),
        ([3, 0, 3, 0], "intermittent"),
        ([1, 20, 1, 1], "erratic"),
        ([1, 0, 20, 0, 1, 0], "lumpy"),
        ([0, 0], "no use"),
        ([0, 0, 0, 5], "intermittent"),
    ],
)
def test_patterns(demands, pattern):
    assert intermittent_demand(demands=demands, alpha=0.1).pattern == pattern


def test_both_sides_of_the_limits_of_a_pattern():
    demands = [2, 0, 2, 4]  # interval 4 / 3; sizes 2, 2, 4: variance 4 / 3, mean 8 / 3, so 0.1875
    told = {"demands": demands, "alpha": 0.1}
    found = intermittent_demand(**told)
    assert found.mean_interval == pytest.approx(4 / 3)
    assert found.variation_squared == pytest.approx(0.1875)
    assert intermittent_demand(**told, interval_limit=4 / 3).pattern == "intermittent"
    assert intermittent_demand(**told, interval_limit=1.34).pattern == "smooth"
    assert intermittent_demand(**told, interval_limit=2, variation_limit=0.1875).pattern == "erratic"
    assert intermittent_demand(**told, interval_limit=2, variation_limit=0.1876).pattern == "smooth"


def test_nothing_used_has_no_rate_and_says_so():
    found = intermittent_demand(demands=[0, 0, 0], alpha=0.1)
    assert (found.rate, found.rate_croston, found.mean, found.occasions) == (None, None, 0, ())
    assert "Nothing was used" in found.warnings[0]


def test_few_uses_and_a_long_quiet_time_are_warned_about():
    told = intermittent_demand(demands=[0, 1] + [0] * 7, alpha=0.1).warnings
    assert len(told) == 2
    assert not intermittent_demand(demands=[0, 1, 0, 1, 0, 1] + [0] * 6, alpha=0.1).warnings


@pytest.mark.parametrize("alpha", [0, 1.001])
def test_a_constant_outside_its_range_is_refused(alpha):
    with pytest.raises(InputError, match=r"^alpha must be above 0 and at most 1"):
        intermittent_demand(demands=[1], alpha=alpha)


def test_an_unknown_beginning_is_refused():
    with pytest.raises(InputError, match=r"^begin must be one of first, mean; got 'last'"):
        intermittent_demand(demands=[1], alpha=0.1, begin="last")


@pytest.mark.parametrize("demands", [[], [1, -1]])
def test_a_wrong_list_is_refused(demands):
    with pytest.raises(InputError, match=r"^demands must be"):
        intermittent_demand(demands=demands, alpha=0.1)


@hypothesis.given(
    st.lists(st.integers(0, 40), min_size=1, max_size=60),
    st.floats(0.01, 1),
)
def test_the_rate_of_many_parts_is_that_of_one(demands, alpha):
    limits = {"interval_limit": 1.32, "variation_limit": 0.49}
    one = intermittent_demand(demands=demands, alpha=alpha, begin="mean", **limits)
    many = demand_rate(demands=demands, alpha=alpha, **limits)
    for name in ("mean", "mean_interval", "variation_squared", "pattern", "rate"):
        assert getattr(many, name) == getattr(one, name)

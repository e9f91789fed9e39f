"""Reorder points and the stock of slow parts: published examples, SciPy, simulation, limits."""

import math

import numpy as np
import pytest
from scipy import stats

from inventory.calc.reorder import poisson_stock, reorder_point
from shop.calc.parameters import InputError

STEADY = {"mean_daily": 30, "sd_daily": 5, "lead_days": 10, "service": 0.95}


def test_the_published_example():
    """flylib.com 3.287.1.225 prints 26.1 and 326.1, with z rounded to 1.65."""
    found = reorder_point(**STEADY)
    assert round(found.z, 3) == 1.645
    assert found.safety_stock * 1.65 / found.z == pytest.approx(26.1, abs=0.05)
    assert found.lead_demand + found.safety_stock * 1.65 / found.z == pytest.approx(326.1, abs=0.05)
    assert found.reorder_point == pytest.approx(326.007, abs=0.001)


def test_the_hammers():
    """Data of mycoursehelp.com 36573; standard deviation and results computed by hand from them."""
    found = reorder_point(mean_daily=5, sd_daily=2, lead_days=3, service=0.95)
    assert found.sd_lead == pytest.approx(3.464, abs=0.001)
    assert found.safety_stock == pytest.approx(5.70, abs=0.005)
    assert found.reorder_point == pytest.approx(20.70, abs=0.005)


def test_a_printed_error_is_not_repeated():
    """A published page states z = 1.65 for 95 % and goes on with 1.28, the z of 90 %."""
    at_95, at_90 = (reorder_point(**{**STEADY, "service": one}) for one in (0.95, 0.90))
    assert round(at_90.z, 2) == 1.28
    assert at_95.z != pytest.approx(1.28, abs=0.3)
    assert at_95.safety_stock > 1.2 * at_90.safety_stock


@pytest.mark.parametrize("service", [0.5, 0.8, 0.95, 0.999])
def test_the_normal_distribution_gives_the_service_back(service):
    found = reorder_point(mean_daily=7, sd_daily=3, lead_days=9, service=service, sd_lead_days=2)
    reached = stats.norm.cdf(found.reorder_point, found.lead_demand, found.sd_lead)
    assert reached == pytest.approx(service, abs=1e-12)


def test_an_uncertain_delivery_adds_its_variance():
    """A sum of a random number of days, drawn: mean and variance as the formula says."""
    throw = np.random.default_rng(20260301)
    days = throw.integers(6, 15, 40_000)  # mean 10, variance (9² - 1) / 12
    sums = np.array([throw.normal(30, 5, count).sum() for count in days])
    found = reorder_point(**STEADY, sd_lead_days=math.sqrt(80 / 12))
    assert found.lead_demand == pytest.approx(sums.mean(), rel=0.01)
    assert found.sd_lead == pytest.approx(sums.std(), rel=0.02)


def test_without_spread_nothing_is_kept_for_bad_luck():
    found = reorder_point(mean_daily=4, sd_daily=0, lead_days=5, service=0.99)
    assert (found.safety_stock, found.reorder_point, found.warnings) == (0, 20, ())


def test_little_use_is_warned_about():
    assert reorder_point(**{**STEADY, "mean_daily": 0.99}).warnings
    assert not reorder_point(**{**STEADY, "mean_daily": 1.0}).warnings


@pytest.mark.parametrize(
    ("name", "good", "bad"),
    [
        ("mean_daily", 0, -0.001),
        ("sd_daily", 0, -0.001),
        ("lead_days", 0, -1),
        ("lead_days", 3650, 3651),
        ("service", 0.5, 0.499),
        ("service", 0.9999, 1),
        ("service", 0.95, 95),
        ("sd_lead_days", 0, -1),
    ],
)
def test_both_sides_of_each_limit_of_a_reorder_point(name, good, bad):
    reorder_point(**{**STEADY, name: good})
    with pytest.raises(InputError, match=f"^{name} must be .*; got {bad:g}"):
        reorder_point(**{**STEADY, name: bad})


# scribd.com 928380662, mean 1.25: distribution function and mean shortage at 0 to 4.
PRINTED = [
    (0, 0.286505, 1.25),
    (1, 0.644636, 0.53650),
    (2, 0.868468, 0.18114),
    (3, 0.961731, 0.04961),
    (4, 0.990876, 0.01134),
]


@pytest.mark.parametrize(("stock", "reached", "short"), PRINTED[1:])
def test_the_printed_table(stock, reached, short):
    found = poisson_stock(mean_lead_demand=1.25, service=reached - 1e-5)
    assert found.stock == stock
    assert found.reached_service == pytest.approx(reached, abs=5e-7)
    assert found.service_below == pytest.approx(PRINTED[stock - 1][1], abs=5e-7)
    assert found.expected_short == pytest.approx(short, abs=5e-6)


@pytest.mark.parametrize(("stock", "reached", "_short"), PRINTED[1:4])
def test_a_service_just_above_the_table_needs_a_piece_more(stock, reached, _short):
    assert poisson_stock(mean_lead_demand=1.25, service=reached + 1e-5).stock == stock + 1


@pytest.mark.parametrize(("service", "stock"), [(0.90, 3), (0.95, 3), (0.99, 4)])
def test_the_usual_services(service, stock):
    assert poisson_stock(mean_lead_demand=1.25, service=service).stock == stock


@pytest.mark.parametrize("mean", [0.01, 0.7, 4, 9, 37.5, 1_000, 1_000_000])
@pytest.mark.parametrize("service", [0.5, 0.9, 0.95, 0.999])
def test_the_stock_is_the_smallest_by_scipy(mean, service):
    found = poisson_stock(mean_lead_demand=mean, service=service)
    assert found.stock == stats.poisson.ppf(service, mean)
    assert stats.poisson.cdf(found.stock, mean) >= service > stats.poisson.cdf(found.stock - 1, mean)


@pytest.mark.parametrize("mean", [0.3, 4, 60])
def test_the_mean_shortage_is_the_sum_term_by_term(mean):
    found = poisson_stock(mean_lead_demand=mean, service=0.9)
    terms = ((x - found.stock) * stats.poisson.pmf(x, mean) for x in range(found.stock + 1, 400))
    assert found.expected_short == pytest.approx(math.fsum(terms), rel=1e-9)


def test_what_nobody_uses_needs_no_stock():
    found = poisson_stock(mean_lead_demand=0, service=0.99)
    assert (found.stock, found.reached_service, found.expected_short) == (0, 1, 0)


@pytest.mark.parametrize(
    ("name", "good", "bad"),
    [
        ("mean_lead_demand", 0, -0.1),
        ("mean_lead_demand", 1e6, 1.1e6),
        ("service", 0.5, 0.49),
        ("service", 0.99999, 1),
    ],
)
def test_both_sides_of_each_limit_of_a_stock(name, good, bad):
    told = {"mean_lead_demand": 3, "service": 0.95}
    poisson_stock(**{**told, name: good})
    with pytest.raises(InputError, match=f"^{name} must be .*; got"):
        poisson_stock(**{**told, name: bad})

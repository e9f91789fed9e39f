"""The economic quantity with price breaks, and what expires before its use, against counting it out."""

import random

import pytest

from inventory.calc.expiry import unused_at_expiry
from inventory.calc.order_quantity import order_quantity
from shop.calc.parameters import InputError

BREAKS = {
    "yearly_demand": 1200,
    "order_cost": 12,
    "holding_rate": 0.25,
    "break_quantities": [1, 100, 500],
    "break_prices": [2.0, 1.8, 1.7],
}


def price_at(pieces, quantities, prices):
    return [price for start, price in zip(quantities, prices, strict=True) if start <= pieces][-1]


def tried(
    *,
    yearly_demand,
    order_cost,
    holding_rate,
    break_quantities,
    break_prices,
    pack_size=1,
    least=1,
    most=6000,
):
    """The cheapest of all quantities up to far beyond the last break, one after another."""
    start = max(least, break_quantities[0])
    best = None
    for pieces in range(-(-start // pack_size) * pack_size, most + 1, pack_size):
        price = price_at(pieces, break_quantities, break_prices)
        cost = yearly_demand * price + order_cost * yearly_demand / pieces + holding_rate * price * pieces / 2
        if best is None or cost < best[0] - 1e-9:
            best = (cost, pieces)
    return best


def test_the_example_by_hand():
    found = order_quantity(**BREAKS)
    assert (found.quantity, found.price) == (500, 1.7)
    assert found.yearly_cost == pytest.approx(2040 + 28.80 + 106.25)
    assert [row.pieces for row in found.breaks] == [99, 253, 500]


def test_every_quantity_tried_gives_the_same():
    throw = random.Random(8)
    for _ in range(120):
        count = throw.randint(1, 4)
        quantities = sorted(throw.sample(range(1, 900), count))
        prices = sorted((round(throw.uniform(0.1, 9), 2) for _ in range(count)), reverse=True)
        told = {
            "yearly_demand": throw.randint(1, 4000),
            "order_cost": throw.randint(1, 60),
            "holding_rate": throw.uniform(0.05, 0.9),
            "break_quantities": quantities,
            "break_prices": prices,
            "pack_size": throw.choice([1, 1, 6, 25]),
            "least": throw.choice([1, 1, 40]),
            "most": throw.choice([6000, 6000, 1000]),
        }
        cost, pieces = tried(**told)
        found = order_quantity(**told)
        assert found.yearly_cost == pytest.approx(cost, rel=1e-9), told
        assert found.quantity == pieces, told
        assert found.quantity % told["pack_size"] == 0


def test_one_price_gives_the_square_root():
    found = order_quantity(
        yearly_demand=1000, order_cost=20, holding_rate=0.2, break_quantities=[1], break_prices=[2.0]
    )
    assert found.breaks[0].economic_pieces == pytest.approx((2 * 1000 * 20 / 0.4) ** 0.5)
    assert found.quantity == 316
    # At the square root, ordering and holding cost the same.
    assert found.ordering_cost == pytest.approx(found.holding_cost, rel=0.01)


def test_a_break_that_no_whole_pack_fits_into_is_left_out():
    found = order_quantity(**{**BREAKS, "break_quantities": [1, 101, 120]}, pack_size=200)
    assert [row.from_pieces for row in found.breaks] == [120]


def test_no_more_is_ordered_than_the_most():
    assert order_quantity(**BREAKS, most=499).quantity == 253
    assert order_quantity(**BREAKS, most=500).quantity == 500
    with pytest.raises(InputError, match=r"^least must be reached"):
        order_quantity(**BREAKS, least=20, most=19)


@pytest.mark.parametrize("quantities", [[1, 100, 100], [1, 500, 100]])
def test_breaks_that_do_not_rise_are_refused(quantities):
    with pytest.raises(InputError, match=r"^break_quantities must be rising"):
        order_quantity(**{**BREAKS, "break_quantities": quantities})


def test_a_price_too_few_is_refused():
    with pytest.raises(InputError, match=r"^break_prices must be as many as break_quantities \(3\); got 2"):
        order_quantity(**{**BREAKS, "break_prices": [2.0, 1.8]})


@pytest.mark.parametrize(
    ("name", "good", "bad"),
    [
        ("yearly_demand", 0.01, 0),
        ("order_cost", 0.01, 0),
        ("holding_rate", 10, 10.1),
        ("pack_size", 1, 0),
        ("least", 1, 0),
        ("pack_size", 2, 1.5),
    ],
)
def test_both_sides_of_each_limit_of_a_quantity(name, good, bad):
    order_quantity(**{**BREAKS, name: good})
    with pytest.raises(InputError, match=f"^{name} must be .*; got"):
        order_quantity(**{**BREAKS, name: bad})


def counted_out(pieces, days_left, every_days):
    """Use one piece every so many days, from the lot that expires first; count what expires."""
    lots = sorted([days, held] for days, held in zip(days_left, pieces, strict=True))
    for day in range(every_days, max(days_left) + 1, every_days):
        for lot in lots:
            if lot[0] >= day and lot[1]:
                lot[1] -= 1
                break
    return sum(held for _days, held in lots)


def test_what_expires_is_what_a_count_day_by_day_leaves():
    throw = random.Random(5)
    for _ in range(200):
        count = throw.randint(1, 5)
        pieces = [throw.randint(0, 40) for _ in range(count)]
        days = [throw.randint(0, 400) for _ in range(count)]
        every = throw.choice([1, 2, 5, 10])
        found = unused_at_expiry(pieces=pieces, days_left=days, mean_daily=1 / every)
        assert found.unused == counted_out(pieces, days, every), (pieces, days, every)
        assert sum(row.used + row.unused for row in found.lots) == sum(pieces)


def test_without_use_everything_expires_and_with_much_nothing():
    told = {"pieces": [3, 4], "days_left": [10, 20]}
    assert unused_at_expiry(**told, mean_daily=0).unused == 7
    assert unused_at_expiry(**told, mean_daily=1).unused == 0


def test_lists_of_different_lengths_are_refused():
    with pytest.raises(InputError, match=r"^days_left must be as many as pieces \(2\); got 1"):
        unused_at_expiry(pieces=[1, 2], days_left=[3], mean_daily=1)

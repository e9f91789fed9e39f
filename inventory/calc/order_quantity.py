"""How many pieces to order: the economic quantity where the price falls with it."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated

from shop.calc.parameters import InputError, Number, Numbers
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

YearlyDemand = Annotated[float, Number(title="Use in a year", of="pieces/year", above=0, at_most=1e9)]
OrderCost = Annotated[
    float,
    Number(title="Cost of one order", of="money", above=0, at_most=1e9, setting="stores-order-cost"),
]
HoldingRate = Annotated[
    float,
    Number(
        title="Cost of holding, share of the price in a year",
        of="1/year",
        above=0,
        at_most=10,
        setting="stores-carrying-rate",
    ),
]
Quantities = Annotated[
    tuple[float, ...],
    Numbers(
        title="Price breaks: from so many pieces on",
        each=Number(title="From", of="pieces", at_least=1, at_most=1e9, whole=True),
    ),
]
Prices = Annotated[
    tuple[float, ...],
    Numbers(
        title="Price of a piece from each break on",
        each=Number(title="Price", of="money", above=0, at_most=1e9),
    ),
]
PackSize = Annotated[int, Number(title="Pieces in a pack", of="pieces", at_least=1, at_most=1e6, whole=True)]
Least = Annotated[
    int, Number(title="Fewest pieces to order", of="pieces", at_least=1, at_most=1e9, whole=True)
]

Most = Annotated[
    int | None,
    Number(
        title="Most pieces to order",
        of="pieces",
        at_least=1,
        at_most=1e9,
        whole=True,
        help="what can be used before it expires, or what the shelf holds",
    ),
]


@dataclass(frozen=True, kw_only=True)
class BreakCost:
    """The best quantity at one price, and what a year costs with it."""

    from_pieces: int
    price: float
    economic_pieces: float
    pieces: int
    yearly_cost: float


@dataclass(frozen=True, kw_only=True)
class OrderQuantity(Result):
    """The quantity whose year costs least, and the same for every price."""

    quantity: Annotated[
        int, Figure(title="Order", of="pieces", how="the row of the list whose year costs least")
    ]
    price: Annotated[float, Figure(title="Price of a piece", of="money", how="the price at that quantity")]
    buying_cost: Annotated[
        float, Figure(title="Buying, in a year", of="money/year", formula="yearly_demand * price")
    ]
    ordering_cost: Annotated[
        float,
        Figure(title="Ordering, in a year", of="money/year", formula="order_cost * yearly_demand / quantity"),
    ]
    holding_cost: Annotated[
        float,
        Figure(title="Holding, in a year", of="money/year", formula="holding_rate * price * quantity / 2"),
    ]
    yearly_cost: Annotated[
        float,
        Figure(title="A year in all", of="money/year", formula="buying_cost + ordering_cost + holding_cost"),
    ]
    breaks: Annotated[
        tuple[BreakCost, ...], Figure(title="Each price", how="the best quantity at each price")
    ]


@calculation(
    family="stores",
    title="Order quantity with price breaks",
    example={
        "yearly_demand": 1200.0,
        "break_quantities": [1, 100, 500],
        "break_prices": [2.0, 1.8, 1.7],
        "order_cost": 12.0,
        "holding_rate": 0.25,
    },
    example_source="Derived here: at 1.70 the economic quantity is 260.3, below its break, so 500 are "
    "bought; 2040 + 28.80 + 106.25 = 2175.05 a year, less than 2273.84 with 253 pieces at 1.80.",
)
def order_quantity(
    *,
    yearly_demand: YearlyDemand,
    break_quantities: Quantities,
    break_prices: Prices,
    order_cost: OrderCost = 15.0,
    holding_rate: HoldingRate = 0.25,
    pack_size: PackSize = 1,
    least: Least = 1,
    most: Most = None,
) -> OrderQuantity:
    """Pieces to order at a time where the price of all pieces falls with their number.

    Parameters
    ----------
    yearly_demand : float
        Use in a year, above 0 [pieces/year].
    break_quantities : list of int
        From so many pieces on a price holds; rising, each from 1 [pieces].
    break_prices : list of float
        Price of a piece from each break on, as many as breaks [money].
    order_cost : float, optional
        What one order costs whatever its size, above 0 [money].
    holding_rate : float, optional
        What holding costs in a year, as a share of the price, above 0 [1/year].
    pack_size : int, optional
        The supplier sells whole packs of so many, from 1 [pieces].
    least : int, optional
        Fewest pieces to order, from 1 [pieces].
    most : int, optional
        Most pieces to order, from 1; none for as many as is cheapest [pieces].

    Returns
    -------
    OrderQuantity
        ``quantity`` [pieces], ``price`` [money], the costs of a year [money/year], and ``breaks``
        with the best quantity at each price.

    Raises
    ------
    InputError
        Breaks that do not rise, or more or fewer prices than breaks; a value outside its range.

    Notes
    -----
    A year costs C(Q) = D c + K D / Q + h c Q / 2, where c is the price at Q. At one price the
    least lies at Q = sqrt(2 D K / (h c)); where that lies outside the quantities of its price, at
    their nearer end, since C falls before it and rises after it. Whole packs beside it are
    compared, and the cheapest of all prices wins; of two that cost the same, the smaller.

    Validity: steady use; the lower price holds for all pieces of the order.
    Left out: prices that fall for further pieces only; what expires, unless ``most`` keeps it out.

    References
    ----------
    The square-root formula is a textbook one; every answer is compared in the tests with all
    quantities tried one after another, so no published figure is relied on.

    Examples
    --------
    >>> order_quantity(yearly_demand=1200, order_cost=12, holding_rate=0.25,
    ...     break_quantities=[1, 100, 500], break_prices=[2.0, 1.8, 1.7]).quantity
    500
    """
    _check_breaks(break_quantities, break_prices)
    rows = []
    starts = [int(one) for one in break_quantities]
    for start, end, price in zip(starts, [*starts[1:], None], break_prices, strict=True):
        economic = math.sqrt(2 * yearly_demand * order_cost / (holding_rate * price))
        costs = [
            (_year(yearly_demand, order_cost, holding_rate, price, pieces), pieces)
            for pieces in _candidates(economic, max(start, least), _last(end, most), pack_size)
        ]
        if costs:
            cost, pieces = min(costs)
            rows.append(
                BreakCost(
                    from_pieces=start,
                    price=price,
                    economic_pieces=economic,
                    pieces=pieces,
                    yearly_cost=cost,
                )
            )
    if not rows:
        message = "least must be reached by whole packs at a price, and with no more than most; got none"
        raise InputError("least", message)
    best = min(rows, key=lambda row: (row.yearly_cost, row.pieces))
    return OrderQuantity(
        quantity=best.pieces,
        price=best.price,
        buying_cost=yearly_demand * best.price,
        ordering_cost=order_cost * yearly_demand / best.pieces,
        holding_cost=holding_rate * best.price * best.pieces / 2,
        yearly_cost=best.yearly_cost,
        breaks=tuple(rows),
        sources=("derived in the notes of this sum; compared with all quantities tried one by one",),
    )


def _check_breaks(quantities: Sequence[float], prices: Sequence[float]) -> None:
    if any(later <= earlier for earlier, later in pairwise(quantities)):
        shown = " ".join(f"{one:g}" for one in quantities)
        raise InputError(
            "break_quantities", f"break_quantities must be rising from one to the next; got {shown}"
        )
    if len(prices) != len(quantities):
        message = f"break_prices must be as many as break_quantities ({len(quantities)}); got {len(prices)}"
        raise InputError("break_prices", message)


def _year(demand: float, order_cost: float, holding_rate: float, price: float, pieces: int) -> float:
    return demand * price + order_cost * demand / pieces + holding_rate * price * pieces / 2


def _last(end: int | None, most: int | None) -> int | None:
    """Return the most pieces that one price allows, None for as many as you like."""
    limits = [*([] if end is None else [end - 1]), *([] if most is None else [most])]
    return min(limits, default=None)


def _candidates(economic: float, start: int, last: int | None, pack: int) -> Iterator[int]:
    """Yield the whole packs beside the economic quantity that have this price, or the nearer end."""
    first = -(-start // pack) * pack
    last = None if last is None else last // pack * pack
    if last is not None and last < first:
        return
    below = math.floor(economic / pack) * pack
    for pieces in {below, below + pack}:
        yield max(first, pieces if last is None else min(pieces, last))

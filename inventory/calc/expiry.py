"""Pieces that will expire before anybody uses them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from shop.calc.parameters import InputError, Number, Numbers
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

Pieces = Annotated[
    tuple[float, ...],
    Numbers(
        title="Pieces of each lot that can expire",
        each=Number(title="Pieces", of="pieces", at_least=0, at_most=1e9, whole=True),
    ),
]
DaysLeft = Annotated[
    tuple[float, ...],
    Numbers(
        title="Days until each lot expires",
        each=Number(title="Days left", of="days", at_least=0, at_most=1e6, whole=True),
    ),
]
MeanDaily = Annotated[float, Number(title="Use in a day, mean", of="pieces/day", at_least=0, at_most=1e9)]


@dataclass(frozen=True, kw_only=True)
class LotUse:
    """One lot, the first to expire first: how much of it is used in time, and how much is not."""

    days_left: int
    pieces: int
    used: int
    unused: int


@dataclass(frozen=True, kw_only=True)
class UnusedAtExpiry(Result):
    """What expires on the shelf, lot by lot and in all."""

    unused: Annotated[
        int, Figure(title="Expires before its use", of="pieces", how="the sum over the lots below")
    ]
    lots: Annotated[tuple[LotUse, ...], Figure(title="Each lot", how="the first to expire is used first")]


@calculation(
    family="stores",
    title="Pieces that expire before their use",
    example={"pieces": [30, 50], "days_left": [60, 400], "mean_daily": 0.2},
    example_source="Derived here: 12 pieces are used in 60 days, so 18 of 30 expire; by day 400 another "
    "68 could be used, more than 50.",
)
def unused_at_expiry(*, pieces: Pieces, days_left: DaysLeft, mean_daily: MeanDaily) -> UnusedAtExpiry:
    """Pieces of lots that will expire before they are used.

    Parameters
    ----------
    pieces : list of int
        Pieces left of each lot that can expire, from 0 [pieces].
    days_left : list of int
        Days until each of these lots expires, as many as lots, from 0 [days].
    mean_daily : float
        Mean use in a day, from 0 [pieces/day].

    Returns
    -------
    UnusedAtExpiry
        ``unused`` [pieces], and ``lots`` with what of each is used in time and what is not.

    Raises
    ------
    InputError
        Lists of different lengths, or a value outside its range.

    Notes
    -----
    The lot that expires first is used first. Until a lot expires, mean_daily × days whole pieces
    are used in all; what the lots before it took of them is not left for it.

    Validity: steady use, and people who take the first to expire; the mean alone, so about every
    second time a little more expires than is said.
    Left out: lots on hold, extension after an inspection, lots that never expire (they are used
    last).

    References
    ----------
    Derived here from first expired, first out; compared in the tests with a count day by day.

    Examples
    --------
    >>> unused_at_expiry(pieces=[30, 50], days_left=[60, 400], mean_daily=0.2).unused
    18
    """
    if len(pieces) != len(days_left):
        message = f"days_left must be as many as pieces ({len(pieces)}); got {len(days_left)}"
        raise InputError("days_left", message)
    rows = _lots(sorted(zip(days_left, pieces, strict=True)), mean_daily)
    return UnusedAtExpiry(
        unused=sum(row.unused for row in rows),
        lots=rows,
        sources=("derived in the notes of this sum",),
    )


def _lots(lots: Sequence[tuple[float, float]], mean_daily: float) -> tuple[LotUse, ...]:
    rows, taken = [], 0
    for days, held in lots:
        # A whole number that a float missed by a hair is still that number.
        by_then = math.floor(mean_daily * days + 1e-9)
        used = min(int(held), by_then - taken)
        taken += used
        rows.append(LotUse(days_left=int(days), pieces=int(held), used=used, unused=int(held) - used))
    return tuple(rows)

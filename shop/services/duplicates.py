"""Pairs of customers who may be one, found by the database among any number of them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, overload

from django.db import connection

from shop.models import Customer, CustomerKey, DifferentCustomers
from shop.models.customer import CustomerQuerySet
from shop.services.customer_keys import keys_for

# A name or number that more customers share tells nobody (common practice, no source); it would
# also fill the list with every pair of them.
MOST_ALIKE = 30

# Both databases read the index of keys; no customer is compared with every other.
_PAIRS = """
WITH telling AS (
  SELECT kind, value FROM shop_customerkey GROUP BY kind, value HAVING COUNT(*) BETWEEN 2 AND %s)
SELECT a.customer_id AS first, b.customer_id AS second, COUNT(*) AS alike,
  MIN(LOWER(one.name)) AS first_name, MIN(LOWER(other.name)) AS second_name
FROM telling t
JOIN shop_customerkey a ON a.kind = t.kind AND a.value = t.value
JOIN shop_customerkey b ON b.kind = t.kind AND b.value = t.value AND b.customer_id > a.customer_id
JOIN shop_customer one ON one.id = a.customer_id AND one.merged_into_id IS NULL
JOIN shop_customer other ON other.id = b.customer_id AND other.merged_into_id IS NULL
WHERE NOT EXISTS (
  SELECT 1 FROM shop_differentcustomers d WHERE d.first_id = a.customer_id AND d.second_id = b.customer_id)
"""
_NAMED = r"AND UPPER(one.name || ' ' || other.name) LIKE UPPER(%s) ESCAPE '\' "
_GROUPED = "GROUP BY a.customer_id, b.customer_id"
_MOST_FIRST = "alike DESC"
_ORDERS = {"first-name": "first_name", "second-name": "second_name"}


@dataclass(frozen=True)
class Pair:
    """Two customers, the one entered first in front, and what is the same of them, in words."""

    first: Customer
    second: Customer
    same: tuple[str, ...]


class LikelyPairs(Sequence[Pair]):
    """Every pair that may be one customer, read as it is asked for.

    Those with most in common come first, unless ``order`` names a column of the list, of which
    ``falling`` turns it round; ``text`` leaves the pairs in whose two names every word of it stands.
    """

    def __init__(self, text: str = "", *, order: str = "", falling: bool = False) -> None:
        self.words = [f"%{_plain(word)}%" for word in text.split()]
        by = _ORDERS.get(order)
        self.order = f"{by} {'DESC' if falling else 'ASC'}" if by else _MOST_FIRST
        self.pairs = _PAIRS + _NAMED * len(self.words) + _GROUPED

    def __len__(self) -> int:
        statement = f"SELECT COUNT(*) FROM ({self.pairs}) pairs"  # noqa: S608 (of constants)
        return int(_rows(statement, MOST_ALIKE, *self.words)[0][0])

    @overload
    def __getitem__(self, place: int) -> Pair: ...
    @overload
    def __getitem__(self, place: slice) -> list[Pair]: ...
    def __getitem__(self, place: int | slice) -> Pair | list[Pair]:
        if isinstance(place, int):
            return self[place : place + 1][0]
        start, stop = place.start or 0, place.stop if place.stop is not None else len(self)
        page = f"{self.pairs} ORDER BY {self.order}, first, second LIMIT %s OFFSET %s"
        return pairs_of(_rows(page, MOST_ALIKE, *self.words, max(0, stop - start), start))

    def __iter__(self) -> Iterator[Pair]:
        return iter(self[:])


def _plain(word: str) -> str:
    """Return a word in which nothing stands for other letters."""
    return word.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")


def _rows(statement: str, *values: int | str) -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        return list(cursor.fetchall())


def pairs_of(rows: Sequence[Sequence[Any]]) -> list[Pair]:
    """Return pairs by the keys of their customers, in the order given."""
    wanted = {pk for row in rows for pk in row[:2]}
    found = Customer.objects.prefetch_related("keys").in_bulk(wanted)
    return [_pair(found[row[0]], found[row[1]]) for row in rows]


def _pair(first: Customer, second: Customer) -> Pair:
    theirs = {(key.kind, key.value) for key in second.keys.all()}
    same = [key.get_kind_display() for key in first.keys.all() if (key.kind, key.value) in theirs]
    return Pair(first, second, tuple(same))


def perhaps_the_same(customer: Customer) -> CustomerQuerySet:
    """Return those who may be the same as a customer and are not recorded as somebody else."""
    if customer.merged_into_id:
        return Customer.objects.none()
    found: set[int] = set()
    for kind, value in keys_for(customer).items():
        alike = CustomerKey.objects.filter(kind=kind, value=value).exclude(customer=customer)
        found |= set(alike.values_list("customer", flat=True)[:MOST_ALIKE])
    apart = DifferentCustomers.objects
    found -= set(apart.filter(first=customer).values_list("second", flat=True))
    found -= set(apart.filter(second=customer).values_list("first", flat=True))
    return Customer.objects.standing().filter(pk__in=found)

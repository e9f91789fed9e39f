"""What lots are made from and went into, to any depth, each by one recursive query."""

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date

from django.db import connection

from inventory.models import Lot

# How one step goes from the lots in reach to their neighbours: key there, key here, tables.
_STANDING = "NOT EXISTS (SELECT 1 FROM inventory_makingtakenback t WHERE t.making_id = k.id)"
_STEPS = {
    "inside": (
        "m.lot_id",
        "k.lot_id",
        "JOIN inventory_making k ON k.lot_id = reach.lot_id "
        "JOIN inventory_makinginput i ON i.making_id = k.id "
        "JOIN inventory_movement m ON m.id = i.movement_id",
    ),
    "outside": (
        "k.lot_id",
        "m.lot_id",
        "JOIN inventory_movement m ON m.lot_id = reach.lot_id "
        "JOIN inventory_makinginput i ON i.movement_id = m.id "
        "JOIN inventory_making k ON k.id = i.making_id",
    ),
}


@dataclass(frozen=True)
class Twig:
    """One lot in a tree, so deep below its root, with the pieces on the way there."""

    depth: int
    pieces: int
    number: str
    part: str
    polymer: str
    state: str
    use_by: date | None
    again: bool = False  # stands in the tree already: its own twigs are not drawn twice

    @property
    def indent(self) -> range:
        """As many steps as the twig is deep, for a page."""
        return range(self.depth - 1)


def made_from(lot: Lot) -> list[Twig]:
    """Return the lots that a lot was made from, those of each made one below it."""
    return _tree(lot.pk, "inside")


def went_into(lot: Lot) -> list[Twig]:
    """Return the made lots that hold pieces of a lot, and those that hold them."""
    return _tree(lot.pk, "outside")


def lots_inside(lot_pks: Collection[int]) -> dict[int, list[Twig]]:
    """Return, for each of several lots, the tree that it was made from; empty for bought ones."""
    if not lot_pks:
        return {}
    edges = _edges(lot_pks, "inside")
    return {pk: list(_walk(pk, edges, 1, set())) for pk in lot_pks}


def lots_with(lot_pks: Collection[int]) -> set[int]:
    """Return the keys of all made lots that hold pieces of the given lots, however deep."""
    return _reached(lot_pks, "outside") - set(lot_pks)


def held_inside(lot: Lot) -> Lot | None:
    """Return a lot, however deep inside this one, that may not be used; None where there is none."""
    inside = _reached([lot.pk], "inside") - {lot.pk}
    return Lot.objects.filter(pk__in=inside).exclude(state=Lot.State.ACCEPTED).order_by("pk").first()


def _reach(lot_pks: Collection[int], way: str) -> str:
    """Begin a query with every lot that can be reached from the given ones."""
    there, _here, tables = _STEPS[way]
    marks = ", ".join(["%s"] * len(lot_pks))
    return (
        f"WITH RECURSIVE reach(lot_id) AS (SELECT id FROM inventory_lot WHERE id IN ({marks}) "  # noqa: S608
        f"UNION SELECT {there} FROM reach {tables} WHERE {_STANDING})"
    )


def _reached(lot_pks: Collection[int], way: str) -> set[int]:
    if not lot_pks:
        return set()
    with connection.cursor() as cursor:
        cursor.execute(f"{_reach(lot_pks, way)} SELECT lot_id FROM reach", list(lot_pks))  # noqa: S608
        return {pk for (pk,) in cursor.fetchall()}


def _edges(lot_pks: Collection[int], way: str) -> dict[int, list[tuple[int, Twig]]]:
    """Read the edges of all lots in reach: parent -> (child, the child as a twig of depth 0)."""
    there, here, tables = _STEPS[way]
    query = (
        f"{_reach(lot_pks, way)} SELECT {here}, {there}, -m.quantity, "  # noqa: S608 - our own words
        "l.number, p.number, p.name, p.polymer, l.state, l.use_by "
        f"FROM reach {tables} JOIN inventory_lot l ON l.id = {there} "
        f"JOIN inventory_part p ON p.id = l.part_id WHERE {_STANDING} ORDER BY p.number, l.number"
    )
    found = defaultdict(list)
    with connection.cursor() as cursor:
        cursor.execute(query, list(lot_pks))
        for parent, child, pieces, number, part, name, polymer, state, use_by in cursor.fetchall():
            day = date.fromisoformat(use_by) if isinstance(use_by, str) else use_by
            twig = Twig(0, pieces, number, f"{part} {name}", polymer, state, day)
            found[parent].append((child, twig))
    return found


def _tree(pk: int, way: str) -> list[Twig]:
    return list(_walk(pk, _edges([pk], way), 1, set()))


def _walk(pk: int, edges: dict[int, list[tuple[int, Twig]]], depth: int, seen: set[int]) -> Iterator[Twig]:
    for child, twig in edges.get(pk, ()):
        again = child in seen and child in edges
        yield Twig(**{**twig.__dict__, "depth": depth, "again": again})
        if child not in seen:
            seen.add(child)
            yield from _walk(child, edges, depth + 1, seen)

"""Trace both ways: from a lot to every unit that holds it, and from a unit down to every lot."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.utils import timezone

from inventory.models import Lot
from inventory.services.genealogy import Twig, lots_inside
from workorders.models import Rebuild, Unit
from workorders.services.sits import (
    OnShelf,
    Place,
    on_the_shelf,
    places_in_unit,
    places_of_lots,
)

Stage = Rebuild.Stage
IN_SHOP, ON_SHELF, OUT, AS_FOUND, SCRAPPED, CORE = "shop", "shelf", "out", "as_found", "scrapped", "core"
# Where a unit can be: code, words of a filter.
WHERE = (
    (OUT, "with a customer"),
    (IN_SHOP, "in the shop"),
    (ON_SHELF, "on the shelf as exchange unit"),
    (AS_FOUND, "returned as found"),
    (CORE, "kept as exchange core"),
    (SCRAPPED, "scrapped"),
)


@dataclass(frozen=True, kw_only=True)
class UnitWith:
    """One unit that a lot went into: its places, where it is now, and its warranty on a day."""

    places: tuple[Place, ...]
    on: date

    @property
    def at(self) -> Place:
        """What is the same in all its places."""
        return self.places[0]

    @property
    def serial(self) -> str:
        """The shop serial."""
        return self.at.serial

    @property
    def url(self) -> str:
        """The address of its page."""
        return Unit(serial=self.serial).get_absolute_url()

    @property
    def inside(self) -> tuple[Place, ...]:
        """The places in which it sits still."""
        return tuple(place for place in self.places if place.is_inside)

    @property
    def state(self) -> str:
        """Whether it sits inside, or in which rebuild the last of it came out."""
        if self.inside:
            return "inside"
        return f"renewed in rebuild {max(place.out_in or 0 for place in self.places)}"

    @property
    def where(self) -> str:
        """Where the unit is now, as one of the codes of `WHERE`."""
        return where_code(self.at)

    @property
    def where_words(self) -> str:
        """Where the unit is now, in words."""
        return where_words(self.at)

    @property
    def warranty(self) -> str:
        """The state of its latest warranty on the day."""
        return warranty_words(self.at, self.on)

    @property
    def in_warranty(self) -> bool:
        """Whether its latest warranty runs on the day."""
        first, last = self.at.starts_on, self.at.ends_on
        return bool(first and last and first <= self.on <= last)

    @property
    def place_words(self) -> str:
        """Every place with what came out of it since, for a line of text."""
        return "; ".join(map(place_words, self.places))


@dataclass(frozen=True, kw_only=True)
class WhereUsed:
    """Where some lots went: units, and what lies in the stores."""

    lots: Sequence[Lot]
    on: date
    units: list[UnitWith]
    stock: list[OnShelf]

    @property
    def inside(self) -> int:
        """How many units hold it still."""
        return sum(bool(unit.inside) for unit in self.units)


@dataclass(frozen=True, kw_only=True)
class LotAt:
    """What one place of a unit holds, or held: the lot, and the lots inside it where it was made here."""

    place: Place
    lot: Lot
    within: tuple[tuple[Twig, Lot], ...]

    @property
    def state(self) -> str:
        """Whether it sits inside, or when it came out."""
        return "inside" if self.place.is_inside else f"renewed in rebuild {self.place.out_in}"


def where_code(place: Place) -> str:
    """Return where a unit is, from its latest rebuild."""
    if place.stage == Stage.RELEASED and place.destination == Rebuild.Destination.EXCHANGE:
        return ON_SHELF
    side = {Stage.SHIPPED: OUT, Stage.SCRAPPED: SCRAPPED, Stage.EXCHANGE_CORE: CORE}
    if place.stage in side:
        return side[Stage(place.stage)]
    if place.stage == Stage.RETURNED_AS_FOUND:
        return AS_FOUND if place.shipment else IN_SHOP
    return IN_SHOP


def where_words(place: Place) -> str:
    """Say where a unit is, and with whom."""
    code = where_code(place)
    shelf = f", {place.shelf}" if place.shelf else ""
    sent = f"{place.customer}, {place.shipment} of {_day(place.shipped_at)}" if place.shipped_at else ""
    return {
        OUT: f"shipped to {sent}",
        AS_FOUND: f"returned as found to {sent}",
        IN_SHOP: f"in the shop: {Stage(place.stage).label}, {place.work_order}{shelf}",
        ON_SHELF: f"on the shelf as exchange unit, {place.work_order}{shelf}",
        CORE: f"kept as exchange core, {place.work_order}{shelf}",
        SCRAPPED: f"scrapped, {place.work_order}",
    }[code]


def warranty_words(place: Place, on: date) -> str:
    """Say how the latest warranty of a unit stands on a day."""
    if place.starts_on is None or place.ends_on is None:
        return "no warranty"
    if on < place.starts_on:
        return f"in warranty from {place.starts_on:%d %b %Y}"
    if on > place.ends_on:
        return f"out of warranty since {place.ends_on:%d %b %Y}"
    return f"in warranty until {place.ends_on:%d %b %Y}"


def place_words(place: Place) -> str:
    """Name a place, how much went in, by way of which made lot, and what became of it."""
    amount = f"{place.amount:g} mL" if place.kind == "fluid" else f"{place.amount:g} ×"
    kind = {"part": amount, "locker": "thread locker", "fluid": amount}[place.kind]
    where = f"{place.place} {place.place_name}".strip() or "whole unit"
    way = f", inside {place.path}" if place.depth else ""
    out = f", renewed in rebuild {place.out_in}" if place.out_in else ""
    return f"{where}: {kind} in rebuild {place.rebuild}{way}{out}"


def _day(value: datetime | None) -> str:
    return f"{timezone.localtime(value):%d %b %Y}" if value else ""


def by_unit(places: Iterable[Place], on: date) -> list[UnitWith]:
    """Put the places of each unit together."""
    units: dict[int, list[Place]] = {}
    for place in places:
        units.setdefault(place.unit_id, []).append(place)
    return [UnitWith(places=tuple(rows), on=on) for rows in units.values()]


def where_used(lots: Sequence[Lot], *, on: date) -> WhereUsed:
    """Return every unit that pieces of the lots went into, however deep, and what is left in the stores.

    Pieces taken back and pieces spoiled in fitting went into no unit. Two queries, whatever the depth.
    """
    keys = [lot.pk for lot in lots]
    return WhereUsed(lots=lots, on=on, units=by_unit(places_of_lots(keys), on), stock=on_the_shelf(keys))


def lots_in_unit(unit: Unit) -> list[LotAt]:
    """Return every lot that went into a unit, place by place, with the lots inside made ones.

    The number of queries does not grow with places, lots or depth.
    """
    places = places_in_unit(unit.pk)
    keys = {lot.number: lot for lot in _lots({place.lot for place in places})}
    trees = lots_inside({lot.pk for lot in keys.values() if lot.made_here})
    deeper = {twig.number for tree in trees.values() for twig in tree}
    keys |= {lot.number: lot for lot in _lots(deeper - set(keys))}
    return [
        LotAt(
            place=place,
            lot=keys[place.lot],
            within=tuple((twig, keys[twig.number]) for twig in trees.get(keys[place.lot].pk, ())),
        )
        for place in places
    ]


def _lots(numbers: set[str]) -> Iterable[Lot]:
    if not numbers:
        return ()
    rows = Lot.objects.filter(number__in=numbers).select_related("part", "supplier")
    return rows.prefetch_related("certificates__file")


def used_record(found: WhereUsed) -> dict[str, Any]:
    """Return where lots went as plain data, for JSON."""
    return {
        "lots": [_lot_record(lot) for lot in found.lots],
        "on": found.on.isoformat(),
        "units": [_unit_record(unit) for unit in found.units],
        "stock": [
            {
                "lot": row.lot,
                "by_way_of": row.path,
                "part": row.part,
                "place": row.place,
                "pieces": row.pieces,
            }
            for row in found.stock
        ],
    }


def _lot_record(lot: Lot) -> dict[str, Any]:
    return {
        "lot": lot.number,
        "part": lot.part.number,
        "name": lot.part.name,
        "polymer": lot.part.polymer,
        "supplier": lot.supplier.name,
        "supplier_batch": lot.supplier_batch,
        "cure_date": lot.cure_date,
        "state": lot.state,
        "made_here": lot.made_here,
    }


def _unit_record(unit: UnitWith) -> dict[str, Any]:
    at = unit.at
    return {
        "serial": at.serial,
        "unit_type": at.type_code,
        "inside": bool(unit.inside),
        "state": unit.state,
        "where": unit.where,
        "where_words": unit.where_words,
        "stage": at.stage,
        "work_order": at.work_order,
        "shipment": at.shipment or None,
        "shipped_at": at.shipped_at.isoformat() if at.shipped_at else None,
        "customer": at.customer or None,
        "warranty": unit.warranty,
        "warranty_ends_on": at.ends_on.isoformat() if at.ends_on else None,
        "places": [
            {
                "position": place.place or None,
                "name": place.place_name,
                "kind": place.kind,
                "quantity": place.amount,
                "quantity_unit": "mL" if place.kind == "fluid" else "pieces",
                "lot": place.lot,
                "by_way_of": place.path,
                "rebuild": place.rebuild,
                "put_in_at": place.put_in_at.isoformat(),
                "renewed_in_rebuild": place.out_in,
            }
            for place in unit.places
        ],
    }


def lots_record(unit: Unit, rows: Iterable[LotAt]) -> dict[str, Any]:
    """Return every lot that went into a unit as plain data, for JSON."""
    return {
        "serial": unit.serial,
        "unit_type": unit.unit_type.code,
        "places": [
            {
                "position": row.place.place or None,
                "name": row.place.place_name,
                "kind": row.place.kind,
                "rebuild": row.place.rebuild,
                "renewed_in_rebuild": row.place.out_in,
                **_lot_record(row.lot),
                "certificates": certificates(row.lot),
                "lots_inside": [
                    {**_lot_record(lot), "depth": twig.depth, "certificates": certificates(lot)}
                    for twig, lot in row.within
                ],
            }
            for row in rows
        ],
    }


def certificates(lot: Lot) -> list[str]:
    """Return the digests of the certificates of a lot that stand."""
    return [row.file.sha256 for row in lot.certificates.all() if not row.withdrawn_why]

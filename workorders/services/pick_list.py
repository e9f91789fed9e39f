"""The pick list of a work order, from rows to plain data."""

import re
from collections.abc import Collection, Iterator
from datetime import date

from django.conf import settings

from inventory.models import Part
from inventory.services.shelf import Shelf
from inventory.services.walking import walking_key, walking_lines
from shop.errors import RuleBroken
from shop.models import ShopProfile
from workorders.documents.pick_list import PickLine, PickList, PickUnit, ShortLine, pick_list_pdf
from workorders.models import WorkOrder
from workorders.services.open_work import OpenWork, PartWanted, UnitParts, open_work
from workorders.services.papers import shop_data


def order_address(base: str, number: str) -> str:
    """Return the web address of a work order's page, in upper case as its symbol says it."""
    return f"{base}/w/{number}".upper()


def read_order_number(text: str) -> str | None:
    """Find the number of a work order at the end of a scanned address; None for any other text."""
    found = re.search(r"/w/([\w-]+)/?\s*$", text, re.IGNORECASE)
    return found[1].upper() if found else None


def pick_list_paper(work_order: WorkOrder, *, on: date, units: Collection[int] = ()) -> bytes:
    """Print what to take for the open units of a work order, or for the rebuilds with these keys.

    The pieces are those that are promised to them: what work wants that is served before stays on
    the shelf. Of these the lots that expire first are named, as the whole shelf stands. Nothing is
    reserved. Raises RuleBroken where no unit waits for a part.
    """
    keys = set(work_order.rebuilds.values_list("pk", flat=True))
    keys &= set(units) or keys
    work = open_work(on=on, until=keys)
    waiting = [unit for unit in work.units if unit.rebuild.pk in keys and unit.wanted]
    if not waiting:
        raise RuleBroken("No unit of this list waits for a part: there is nothing to pick.")
    profile = ShopProfile.objects.first() or ShopProfile(name="Rebuild shop")
    data = PickList(
        number=work_order.number,
        address=order_address(settings.PUBLIC_ADDRESS, work_order.number),
        shop=shop_data(profile),
        customer=work_order.customer.name,
        on=on,
        wanted_by=work_order.rush_wanted_by,
        units=tuple(map(_unit, waiting)),
        lines=_lines(waiting, on),
        short=tuple(_short(row, work) for unit in waiting for row in unit.wanted if row.short),
    )
    return pick_list_pdf(data, page_size=profile.paper_size)


def _unit(unit: UnitParts) -> PickUnit:
    row = unit.rebuild
    return PickUnit(
        serial=row.unit.serial,
        type_name=f"{row.revision.unit_type.code} {row.revision.unit_type.name}",
        where=row.shelf,
        packed_kit=unit.packed.code if unit.packed else "",
    )


def _lines(waiting: Collection[UnitParts], on: date) -> tuple[PickLine, ...]:
    rows = [row for unit in waiting for row in unit.wanted if row.given]
    shelf = Shelf(parts={row.line.part_id for row in rows}, on=on)
    key = walking_key(walking_lines())
    # Sorting keeps the order of picking within a place and part: the lot that expires first.
    picks = [pick for unit in waiting for pick in _picks(unit, shelf)]
    return tuple(sorted(picks, key=lambda pick: (key(pick.place), pick.part)))


def _picks(unit: UnitParts, shelf: Shelf) -> Iterator[PickLine]:
    for row in unit.wanted:
        for taken in shelf.take(part=row.line.part_id, pieces=row.given):
            yield PickLine(
                place=taken.place,
                lot=taken.lot.number,
                part=_words(row.line.part),
                pieces=taken.pieces,
                serial=row.rebuild.unit.serial,
                position=str(row.place),
                use_by=taken.lot.use_by,
                note=_why(row) if row.instead_of else "",
            )


def _why(row: PartWanted) -> str:
    """Say what an alternative stands in for, and the kit's own reason for it."""
    preferred = " with ".join(line.part.number for line in row.instead_of)
    reason = f" The kit says: {row.line.reason.rstrip('.')}." if row.line.reason else ""
    return f"Alternative, since too little of {preferred} is free.{reason}"


def _short(row: PartWanted, work: OpenWork) -> ShortLine:
    stock = work.stores.stock.get(row.line.part_id)
    coming = [
        f"{stock.ordered} on order" if stock and stock.ordered else "",
        f"{stock.drafted} on a draft" if stock and stock.drafted else "",
    ]
    return ShortLine(
        part=_words(row.line.part),
        pieces=row.short,
        serial=row.rebuild.unit.serial,
        position=str(row.place),
        note=", ".join(filter(None, coming)),
    )


def _words(part: Part) -> str:
    return ", ".join(filter(None, (str(part), part.polymer, part.size_designation)))

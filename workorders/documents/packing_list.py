"""The packing list of a shipment: parcels, units, what belongs to them, counted against arrival."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Spacer

from workorders.calc.serial import grouped
from workorders.documents.certificate_data import Customer, Shop
from workorders.documents.letterhead import boxed, end_mark, letterhead, small_print
from workorders.documents.printed import day, moment
from workorders.documents.sheet import (
    HEAD,
    NOTE,
    STRONG_NOTE,
    SectionHead,
    Sheet,
    body_width,
    facts,
    para,
    render,
    table,
)

KIND = "Packing list"
HEADS = ("Shop serial", "Unit, and what belongs to it", "Packed", "Note", "Received")
SHARES = (15, 40, 13, 24, 8)
PACKED, TO_TICK = "✓ packed", "☐"


@dataclass(frozen=True, kw_only=True)
class PackedItem:
    """A hose, accessory or part on the arrival list, and whether it lies in the parcel."""

    label: str
    packed: bool
    note: str = ""
    counts: bool = True  # a piece of its own, and not what sits in or on the unit


@dataclass(frozen=True, kw_only=True)
class PackedUnit:
    """One unit in a parcel; `as_found` for a unit that goes back untouched.

    `caps` are the ports that carry a cap; `exchange` says what a unit from the shelf is given for.
    """

    serial: str
    type_name: str
    caps: tuple[str, ...] = ()
    maker_serial: str = ""
    paper: str = ""
    as_found: bool = False
    exchange: str = ""
    items: tuple[PackedItem, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PackedParcel:
    """One parcel with its tracking number, which may come later."""

    number: int
    units: tuple[PackedUnit, ...]
    tracking: str = ""
    carrier: str = ""
    measures: str = ""


@dataclass(frozen=True, kw_only=True)
class PackingList:
    """One shipment as it was packed, and who checked it.

    `part` says which part of the work order it is; `address` leads to its page.
    """

    number: str
    shop: Shop
    recipient: Customer
    work_order: str
    shipped_on: date
    packed_by: str
    packed_at: datetime
    parcels: tuple[PackedParcel, ...]
    customer_order: str = ""
    carrier: str = ""
    part: str = ""
    address: str = ""
    bill_to: str = ""
    warranty_holder: str = ""


@dataclass(frozen=True)
class Count:
    """Units and accessories that are packed."""

    units: int = 0
    accessories: int = 0

    def __add__(self, other: "Count") -> "Count":
        return Count(self.units + other.units, self.accessories + other.accessories)

    def __str__(self) -> str:
        units = "1 unit" if self.units == 1 else f"{self.units} units"
        pieces = "1 accessory" if self.accessories == 1 else f"{self.accessories} accessories"
        return f"{units}, {pieces}"


class _Tally(Flowable):
    """Takes no room; adds its row to the count of the page that the row lands on."""

    def __init__(self, pages: dict[int, Count], count: Count):
        super().__init__()
        self.pages, self.count = pages, count

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return 0, 0

    def draw(self) -> None:
        page = self.canv.getPageNumber()
        self.pages[page] = self.pages.get(page, Count()) + self.count


def packing_list_pdf(data: PackingList, *, page_size: str = "A4") -> bytes:
    """Print a packing list on "A4" or "Letter"; what is packed on each page is counted at its foot."""
    width = body_width(page_size)
    pages: dict[int, Count] = {}
    sheet = Sheet(
        kind=KIND,
        number=data.number,
        shop=data.shop.name,
        foot=lambda page: f"packed on this page: {pages.get(page, Count())}",
    )

    return render(_story(data, width, pages), sheet, page_size=page_size)


def total(data: PackingList) -> Count:
    """Count what is packed in the whole shipment."""
    units = [unit for parcel in data.parcels for unit in parcel.units]
    return Count(len(units), sum(item.packed and item.counts for unit in units for item in unit.items))


def _story(data: PackingList, width: float, pages: dict[int, Count]) -> list[Flowable]:
    pairs = [
        ("Recipient", "\n".join((data.recipient.name, *data.recipient.address))),
        ("Shipped", day(data.shipped_on)),
        ("Recipient contact", data.recipient.contact),
        ("Carrier", data.carrier),
        ("Work order", data.work_order),
        ("Customer's order no.", data.customer_order),
        ("Bill to", data.bill_to),
        ("Warranty held by", data.warranty_holder),
    ]
    symbol = (data.address.upper(), data.number) if data.address else None
    story = letterhead(data.shop, KIND, f"Shipment {data.number}", width, symbol=symbol)
    story += [facts(pairs, width, style=NOTE), Spacer(0, 1 * mm)]
    if data.part:
        story += boxed([para(data.part, STRONG_NOTE)], width)
    for parcel in data.parcels:
        told = [f"Parcel {parcel.number} of {len(data.parcels)}", parcel.measures, parcel.carrier]
        tracking = f"tracking number {parcel.tracking or 'to follow'}"
        title = ", ".join([*filter(None, told), tracking])
        story += [
            CondPageBreak(25 * mm),
            SectionHead(str(parcel.number), title),
            _parcel(parcel, width, pages),
        ]
    parcels = "1 parcel" if len(data.parcels) == 1 else f"{len(data.parcels)} parcels"
    return [
        *story,
        Spacer(0, 2 * mm),
        para(f"In all: {parcels}, {total(data)}.", STRONG_NOTE),
        para(
            f"Packed and checked against the arrival list by {data.packed_by}, {moment(data.packed_at)}.",
            NOTE,
        ),
        small_print(
            "The boxes in the last column are for the recipient. Tell the shop at once what is missing."
        ),
        Spacer(0, 2 * mm),
        end_mark("packing list", data.number),
    ]


def _parcel(parcel: PackedParcel, width: float, pages: dict[int, Count]) -> Flowable:
    rows: list[list[object]] = [[para(head, HEAD) for head in HEADS]]
    for unit in parcel.units:
        rows.append(_unit_row(unit, pages))
        rows += _item_rows(unit, pages)
    return table(rows, SHARES, width, head=True)


def _unit_row(unit: PackedUnit, pages: dict[int, Count]) -> list[object]:
    remarks = [f"caps on {', '.join(unit.caps)}" if unit.caps else "no caps"]
    if unit.as_found:
        remarks.append("returned as found: not tested, no warranty")
    remarks += filter(None, [unit.paper, unit.exchange])
    name = unit.type_name + (f", maker's serial {unit.maker_serial}" if unit.maker_serial else "")
    packed = [_Tally(pages, Count(units=1)), para(PACKED, NOTE)]
    return [
        para(grouped(unit.serial), STRONG_NOTE),
        para(name, STRONG_NOTE),
        packed,
        para("; ".join(remarks), NOTE),
        para(TO_TICK, NOTE),
    ]


def _item_rows(unit: PackedUnit, pages: dict[int, Count]) -> Iterator[list[object]]:
    for item in unit.items:
        packed = [_Tally(pages, Count(accessories=int(item.counts))), para(PACKED, NOTE)]
        yield [
            "",
            para(f"– {item.label}", NOTE),
            packed if item.packed else para("✗ not packed", NOTE),
            para(item.note or "–", NOTE),
            para(TO_TICK if item.packed else "–", NOTE),
        ]
    if not unit.items:
        yield ["", para("– nothing else came with it", NOTE), *[para("–", NOTE)] * 3]

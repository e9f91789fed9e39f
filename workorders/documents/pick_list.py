"""The pick list of a work order: what to take from which place, in walking order, and what is short."""

from dataclasses import dataclass
from datetime import date

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Spacer

from workorders.calc.serial import grouped
from workorders.documents.certificate_data import Shop
from workorders.documents.letterhead import boxed, end_mark, letterhead, small_print
from workorders.documents.printed import day
from workorders.documents.sheet import (
    HEAD,
    NOTE,
    PLAIN,
    STRONG_NOTE,
    SectionHead,
    Sheet,
    body_width,
    facts,
    grid,
    para,
    render,
    table,
)
from workorders.documents.writing import TickBox

KIND = "Pick list"
NO_RESERVATION = (
    "This list reserves nothing. It shows the shelf as it stood on that day; whoever takes pieces first "
    "has them. Pieces leave the ledger when they are recorded at the bench or packed as a kit."
)
HEADS = ("", "Place", "Lot", "Part", "Pieces", "For unit", "Position", "Use by")
SHARES = (4, 9, 15, 30, 7, 14, 18, 13)


@dataclass(frozen=True, kw_only=True)
class PickUnit:
    """One unit of the list; ``where`` is where it stands in the shop."""

    serial: str
    type_name: str
    where: str = ""
    packed_kit: str = ""


@dataclass(frozen=True, kw_only=True)
class PickLine:
    """Pieces to take from one lot at one place; ``note`` says why an alternative was chosen."""

    place: str
    lot: str
    part: str
    pieces: int
    serial: str
    position: str
    use_by: date | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class ShortLine:
    """Pieces that the stores cannot give."""

    part: str
    pieces: int
    serial: str
    position: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class PickList:
    """What the list says; ``address`` is the web address of the work order's page."""

    number: str
    address: str
    shop: Shop
    customer: str
    on: date
    units: tuple[PickUnit, ...]
    lines: tuple[PickLine, ...]
    short: tuple[ShortLine, ...] = ()
    wanted_by: date | None = None


def pick_list_pdf(data: PickList, *, page_size: str = "A4") -> bytes:
    """Print the list on "A4" or "Letter"; the same data gives the same bytes."""
    sheet = Sheet(
        kind=KIND,
        number=data.number,
        shop=data.shop.name,
        foot=lambda page: f"shelf of {day(data.on)}; reserves nothing",
    )
    return render(_story(data, body_width(page_size)), sheet, page_size=page_size)


def _story(data: PickList, width: float) -> list[Flowable]:
    subtitle = f"Work order {data.number}, as the shelf stood on {day(data.on)}"
    pairs = [("Customer", data.customer), ("Units", str(len(data.units)))]
    if data.wanted_by:
        pairs.append(("Rush, wanted by", day(data.wanted_by)))
    story = [
        *letterhead(data.shop, KIND, subtitle, width, symbol=(data.address, data.number)),
        facts(pairs, width, columns=len(pairs), style=NOTE),
        Spacer(0, 2 * mm),
        *boxed([para(NO_RESERVATION, NOTE)], width),
    ]
    parts: list[tuple[str, list[Flowable]]] = [("The units", _units(data, width))]
    parts.append(("Take, in walking order", _picks(data, width)))
    parts.append(("Short", _short(data, width)))
    for number, (title, content) in enumerate(parts, 1):
        story += [CondPageBreak(25 * mm), SectionHead(str(number), title, 10), *content, Spacer(0, 2 * mm)]
    story += [
        para("Taken by ____________________    on ____________________", PLAIN),
        Spacer(0, 2 * mm),
        small_print(
            "The lot that expires first comes first; where one place does not hold enough of one lot, "
            "several are named. Check part, lot and date on the bag before you tick."
        ),
        end_mark("pick list", data.number),
    ]
    return story


def _units(data: PickList, width: float) -> list[Flowable]:
    rows = [
        (grouped(unit.serial), unit.type_name, unit.where or "–", unit.packed_kit or "–")
        for unit in data.units
    ]
    return grid(("Unit", "Type", "Where it is", "Packed kit to take"), rows, (18, 44, 20, 18), width, NOTE)


def _picks(data: PickList, width: float) -> list[Flowable]:
    if not data.lines:
        return [para("Nothing lies on the shelf for these units.", NOTE)]
    rows: list[list[object]] = [[para(head, HEAD) if head else "" for head in HEADS]]
    for line in data.lines:
        part = f"{line.part}\n{line.note}" if line.note else line.part
        cells = (line.lot, part, str(line.pieces), grouped(line.serial), line.position, _use_by(line.use_by))
        rows.append([TickBox(), para(line.place, STRONG_NOTE), *(para(cell, NOTE) for cell in cells)])
    return [table(rows, SHARES, width, head=True)]


def _use_by(use_by: date | None) -> str:
    return day(use_by) if use_by else "no limit"


def _short(data: PickList, width: float) -> list[Flowable]:
    if not data.short:
        return [para("Nothing is short.", NOTE)]
    rows = [
        (str(line.pieces), line.part, grouped(line.serial), line.position, line.note or "–")
        for line in data.short
    ]
    return grid(
        ("Pieces", "Part", "For unit", "Position", "On order"), rows, (8, 38, 16, 18, 20), width, NOTE
    )

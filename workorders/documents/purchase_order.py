"""The paper of a purchase order: to whom, what, how many, at what price, where it is to go."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Spacer

from workorders.documents.certificate_data import Shop
from workorders.documents.letterhead import boxed, end_mark, letterhead, small_print
from workorders.documents.printed import day
from workorders.documents.sheet import (
    LOUD,
    NOTE,
    PLAIN,
    SectionHead,
    Sheet,
    body_width,
    facts,
    grid,
    para,
    render,
)

KIND = "Purchase order"
HEADS = ("Your number", "Part", "Pieces", "Price of a piece", "Value")
SHARES = (22, 46, 10, 15, 15)
SEALS = (
    "Seals: mark each package with batch and cure quarter (such as 3Q24), and keep batches apart. "
    "Tell us before you send another material, hardness or size."
)


@dataclass(frozen=True, kw_only=True)
class OrderedPart:
    """One line of the order."""

    supplier_number: str
    part: str
    pieces: int
    unit_price: Decimal | None


@dataclass(frozen=True, kw_only=True)
class PurchaseOrderPaper:
    """What the paper says; ``ordered_on`` None marks a draft."""

    number: str
    shop: Shop
    supplier: str
    supplier_contact: str
    currency: str
    drafted_on: date
    ordered_on: date | None
    lines: tuple[OrderedPart, ...]
    note: str = ""
    cancelled: str = ""
    has_seals: bool = False


def purchase_order_pdf(data: PurchaseOrderPaper, *, page_size: str = "A4") -> bytes:
    """Print the order on "A4" or "Letter"."""
    sheet = Sheet(
        kind=KIND,
        number=data.number,
        shop=data.shop.name,
        foot=lambda page: f"questions: telephone {data.shop.phone or 'N/A'}",
    )
    return render(_story(data, body_width(page_size)), sheet, page_size=page_size)


def _story(data: PurchaseOrderPaper, width: float) -> list[Flowable]:
    sent = f"ordered {day(data.ordered_on)}" if data.ordered_on else f"drafted {day(data.drafted_on)}"
    story = letterhead(data.shop, KIND, f"No. {data.number}, {sent}", width)
    pairs = [
        ("To", "\n".join(filter(None, (data.supplier, data.supplier_contact)))),
        ("Deliver to", "\n".join((data.shop.name, *data.shop.address))),
    ]
    story += [facts(pairs, width, style=NOTE), Spacer(0, 2 * mm)]
    for text in _marks(data):
        story += boxed([para(text, LOUD)], width)
    parts: list[tuple[str, list[Flowable]]] = [("What is ordered", _lines(data, width))]
    if data.note:
        parts.append(("Note", [para(data.note, PLAIN)]))
    if data.has_seals:
        parts.append(("With the delivery", [para(SEALS, PLAIN)]))
    for number, (title, content) in enumerate(parts, 1):
        story += [CondPageBreak(25 * mm), SectionHead(str(number), title, 10), *content]
    if any(line.unit_price is None for line in data.lines):
        story.append(small_print("Where no price stands, tell us yours before you deliver."))
    return [*story, Spacer(0, 2 * mm), end_mark("order", data.number)]


def _marks(data: PurchaseOrderPaper) -> list[str]:
    if data.cancelled:
        return [f"Cancelled: {data.cancelled}"]
    return [] if data.ordered_on else ["Draft: not ordered yet"]


def _lines(data: PurchaseOrderPaper, width: float) -> list[Flowable]:
    rows = [
        (
            line.supplier_number or "–",
            line.part,
            str(line.pieces),
            "–" if line.unit_price is None else _money(line.unit_price, data.currency),
            "–" if line.unit_price is None else _money(line.pieces * line.unit_price, data.currency),
        )
        for line in data.lines
    ]
    priced = [line.pieces * line.unit_price for line in data.lines if line.unit_price is not None]
    if priced:
        rows.append(("", "In all", "", "", _money(sum(priced, Decimal()), data.currency)))
    return grid(HEADS, [tuple(cell or "–" for cell in row) for row in rows], SHARES, width, NOTE)


def _money(amount: Decimal, currency: str) -> str:
    """Write an amount with two decimals, with more where a price has more."""
    places = max(2, -int(amount.normalize().as_tuple().exponent))
    return f"{amount:.{places}f} {currency}"

"""The call sheet of a recall: whom to call about which units, what was reached so far, room to write."""

from dataclasses import dataclass
from datetime import date

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Spacer

from workorders.calc.serial import grouped
from workorders.documents.certificate_data import Shop
from workorders.documents.letterhead import boxed, end_mark, letterhead
from workorders.documents.printed import day
from workorders.documents.sheet import (
    NOTE,
    PLAIN,
    STRONG_NOTE,
    SectionHead,
    Sheet,
    body_width,
    bullets,
    facts,
    grid,
    para,
    render,
)

KIND = "Call sheet"
TO_WRITE = "_" * 74


@dataclass(frozen=True, kw_only=True)
class CallLine:
    """One customer: telephone, units with their state, the attempts so far, and the next call."""

    customer: str
    phone: str
    units: tuple[tuple[str, str, str], ...]  # serial, what it is and where the part sits, state
    calls: tuple[str, ...]
    next_on: date | None
    is_done: bool


@dataclass(frozen=True, kw_only=True)
class CallSheet:
    """What the sheet prints: the recall, how far it is in words, and the customers."""

    recall: str
    shop: Shop
    printed_on: date
    advice: str
    reason: str
    progress: str
    lines: tuple[CallLine, ...]
    here: tuple[tuple[str, str, str], ...]


def call_sheet_pdf(data: CallSheet, *, page_size: str = "A4") -> bytes:
    """Print the sheet on "A4" or "Letter"."""
    width = body_width(page_size)
    sheet = Sheet(
        kind=KIND,
        number=data.recall,
        shop=data.shop.name,
        foot=lambda page: f"as it stood on {day(data.printed_on)}",
    )
    return render(_story(data, width), sheet, page_size=page_size)


def _story(data: CallSheet, width: float) -> list[Flowable]:
    story: list[Flowable] = [
        *letterhead(data.shop, KIND, f"Recall {data.recall}, {day(data.printed_on)}", width),
        facts([("Customers are asked to", data.advice), ("Why", data.reason)], width, columns=1, style=NOTE),
        Spacer(0, 2 * mm),
        *boxed([para(data.progress, STRONG_NOTE)], width),
    ]
    for number, line in enumerate(data.lines, 1):
        story += _line(number, line, width)
    if not data.lines:
        story += [Spacer(0, 2 * mm), para("No unit is with a customer.", PLAIN)]
    if data.here:
        story += [
            CondPageBreak(25 * mm),
            SectionHead("", "In the shop", 10),
            *grid(("Shop serial", "Unit", "Where it is"), data.here, (16, 44, 40), width, NOTE),
        ]
    return [*story, Spacer(0, 3 * mm), end_mark("call sheet", data.recall)]


def _line(number: int, line: CallLine, width: float) -> list[Flowable]:
    done = ", done" if line.is_done else ""
    rows = [(grouped(serial), what, state) for serial, what, state in line.units]
    told = [*line.calls, *([f"call again on {day(line.next_on)}"] if line.next_on else [])]
    return [
        CondPageBreak(35 * mm),
        Spacer(0, 2 * mm),
        SectionHead(str(number), f"{line.customer}{done}", 10),
        para(f"telephone {line.phone or 'none known'}", PLAIN),
        *grid(("Shop serial", "Unit and place", "State"), rows, (16, 58, 26), width, NOTE),
        *(bullets(told, NOTE) if told else []),
        *([] if line.is_done else [Spacer(0, 2 * mm), para(TO_WRITE, NOTE)]),
    ]

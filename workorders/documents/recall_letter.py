"""The letter of a recall to one customer: which units, where in them, and what to do."""

from dataclasses import dataclass
from datetime import date

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Spacer

from workorders.calc.serial import grouped
from workorders.documents.cautions import INJECTION, STORED_PRESSURE, SUSPENDED_LOADS, sources
from workorders.documents.certificate_data import Customer, Replaces, Shop
from workorders.documents.letterhead import boxed, end_mark, letterhead, replacement, small_print
from workorders.documents.printed import day
from workorders.documents.sections import cautions_list
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

KIND = "Recall letter"
CAUTIONS = (STORED_PRESSURE, INJECTION, SUSPENDED_LOADS)
HEADLINES = {
    "stop": "Stop using the units named here",
    "look": "Have the units named here looked at",
    "service": "Nothing to do until the next service of the units named here",
}
WITHDRAWN = "This recall is withdrawn: the units named here may be used as before"


@dataclass(frozen=True, kw_only=True)
class LetterUnit:
    """One unit of the customer: serial, what it is, where the lot sits, and when it was sent."""

    serial: str
    type_name: str
    maker_serial: str
    places: str
    sent: str


@dataclass(frozen=True, kw_only=True)
class RecallLetter:
    """What the letter prints; ``withdrawn`` is the reason where the recall no longer stands."""

    number: str
    recall: str
    shop: Shop
    customer: Customer
    written_on: date
    advice: str
    reason: str
    instructions: str
    units: tuple[LetterUnit, ...]
    withdrawn: str = ""
    replaces: Replaces | None = None


def recall_letter_pdf(data: RecallLetter, *, page_size: str = "A4") -> bytes:
    """Print the letter on "A4" or "Letter"; KeyError for an unknown advice."""
    width = body_width(page_size)
    sheet = Sheet(
        kind=KIND,
        number=data.number,
        shop=data.shop.name,
        foot=lambda page: f"questions: telephone {data.shop.phone}",
    )
    return render(_story(data, width), sheet, page_size=page_size)


def _story(data: RecallLetter, width: float) -> list[Flowable]:
    pairs = [
        ("To", "\n".join((data.customer.name, *data.customer.address))),
        ("Written", day(data.written_on)),
    ]
    headline = WITHDRAWN if data.withdrawn else HEADLINES[data.advice]
    return [
        *letterhead(data.shop, "Recall", f"Letter {data.number}", width),
        *replacement(data.replaces, "letter", width),
        facts(pairs, width, columns=1, style=NOTE),
        Spacer(0, 3 * mm),
        *boxed([para(f"{headline}.", LOUD)], width),
        Spacer(0, 2 * mm),
        *_parts(data, width),
        Spacer(0, 3 * mm),
        end_mark("letter", data.number),
    ]


def _parts(data: RecallLetter, width: float) -> list[Flowable]:
    units = [
        (grouped(unit.serial), unit.type_name, unit.maker_serial or "none", unit.places, unit.sent)
        for unit in data.units
    ]
    heads = ("Shop serial", "Unit", "Maker’s serial", "Where the part sits", "Sent to you")
    table = grid(heads, units, (15, 27, 15, 27, 16), width, NOTE)
    if data.withdrawn:
        parts = [("Why it is withdrawn", [para(data.withdrawn, PLAIN)]), ("Your units", table)]
    else:
        reach = f"Call us: telephone {data.shop.phone or 'N/A'}, e-mail {data.shop.email or 'N/A'}. Have the "
        reach += "serial at hand; it is on the label of the unit in groups of three."
        parts = [
            ("What is wrong", [para(data.reason, PLAIN)]),
            ("What to do", [*(para(line, PLAIN) for line in data.instructions.splitlines() if line.strip())]),
            ("Your units", table),
            ("How to reach us", [para(reach, PLAIN)]),
            ("Before you touch the machine", [*cautions_list(CAUTIONS), small_print(sources(CAUTIONS))]),
        ]
    story: list[Flowable] = []
    for number, (title, content) in enumerate(parts, 1):
        story += [CondPageBreak(20 * mm), SectionHead(str(number), title, 10), *content, Spacer(0, 2 * mm)]
    return story

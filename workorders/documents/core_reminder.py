"""The letter that asks a customer for a core that is owed for an exchange unit."""

from dataclasses import dataclass
from datetime import date

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Spacer

from workorders.documents.certificate_data import Customer, Shop
from workorders.documents.letterhead import boxed, end_mark, letterhead
from workorders.documents.printed import day
from workorders.documents.sheet import (
    NOTE,
    PLAIN,
    STRONG_NOTE,
    Sheet,
    body_width,
    bullets,
    facts,
    para,
    render,
)

KIND = "Core to come"
# Common practice, no source.
HOW_TO_SEND = (
    "Take the pressure off and drain it; leave no fluid in the box.",
    "Cap every open port. Leave hoses and fittings on it, and do not open it.",
    "Put this letter into the box, or write its number on the outside.",
)


@dataclass(frozen=True, kw_only=True)
class CoreReminder:
    """What was sent for which core, and until when the core was to come."""

    number: str
    shop: Shop
    customer: Customer
    written_on: date
    unit: str
    core_type: str
    shipment: str
    sent_on: date
    work_order: str
    due_on: date


def core_reminder_pdf(data: CoreReminder, *, page_size: str = "A4") -> bytes:
    """Print the letter on "A4" or "Letter"."""
    width = body_width(page_size)
    sheet = Sheet(
        kind=KIND,
        number=data.number,
        shop=data.shop.name,
        foot=lambda page: f"questions: telephone {data.shop.phone}",
    )
    return render(_story(data, width), sheet, page_size=page_size)


def _story(data: CoreReminder, width: float) -> list[Flowable]:
    pairs = [
        ("To", "\n".join((data.customer.name, *data.customer.address))),
        ("Written", day(data.written_on)),
        ("Unit that we sent", data.unit),
        ("With shipment", f"{data.shipment}, {day(data.sent_on)}"),
        ("Work order", data.work_order),
        ("Core due", day(data.due_on)),
    ]
    late = data.due_on < data.written_on
    asked = (
        f"Your core, a {data.core_type}, was due on {day(data.due_on)} and is not here yet."
        if late
        else f"Your core, a {data.core_type}, is due by {day(data.due_on)}."
    )
    return [
        *letterhead(data.shop, KIND, f"Reminder {data.number}", width),
        facts(pairs, width, style=NOTE),
        Spacer(0, 3 * mm),
        *boxed([para(asked, STRONG_NOTE)], width),
        para(
            "We sent you a rebuilt unit from our shelf in exchange for your used one. Send it to the address "
            "above, or tell us if it cannot come; then we settle it another way.",
            PLAIN,
        ),
        Spacer(0, 3 * mm),
        *bullets(HOW_TO_SEND, NOTE),
        Spacer(0, 3 * mm),
        end_mark("letter", data.number),
    ]

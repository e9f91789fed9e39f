"""The slip that goes with a part to a supplier: what is asked, the sizes before, whose it is, until when."""

from dataclasses import dataclass
from datetime import date

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Spacer

from workorders.documents.certificate_data import Shop, UnitIdentity
from workorders.documents.letterhead import boxed, end_mark, letterhead, small_print
from workorders.documents.printed import day
from workorders.documents.sections import unit_pairs
from workorders.documents.sheet import (
    LOUD,
    NOTE,
    PLAIN,
    SectionHead,
    Sheet,
    body_width,
    bullets,
    facts,
    grid,
    para,
    render,
)

KIND = "Outside work"
TO_FILL_IN = "____________"
BAKE_QUESTION = (
    "Plating can charge hard steel with hydrogen and make it brittle. Does this steel need a bake after "
    "plating, by your process and by the drawing? Tell us in writing: baked, for how many hours, at which "
    "temperature, how soon after plating; or not needed, and on what basis."
)
BAKE_SOURCE = (
    "Common practice, no source. Hardness limits and times are not ours to state: the plater's process "
    "and the drawing decide."
)
RETURN = (
    "Send this slip back with the part, and your certificate or report with it.",
    "Tell us before you take off more than the limits above allow, or where they cannot be met.",
    "Pack the part so that nothing touches the worked surfaces.",
)


@dataclass(frozen=True, kw_only=True)
class SizeRow:
    """One dimension of the part: its limits as text, and what was read before it went out."""

    what: str
    limits: str
    before: str


@dataclass(frozen=True, kw_only=True)
class OutsideSlip:
    """What the slip says; ``asks_bake`` where the work may be plating."""

    number: str
    shop: Shop
    supplier: str
    supplier_contact: str
    kind: str
    part: str
    unit: UnitIdentity
    work_order: str
    asked: str
    sent_on: date
    due_on: date
    sizes: tuple[SizeRow, ...] = ()
    asks_bake: bool = False
    note: str = ""


def outside_slip_pdf(data: OutsideSlip, *, page_size: str = "A4") -> bytes:
    """Print the slip on "A4" or "Letter"."""
    sheet = Sheet(
        kind=KIND,
        number=data.number,
        shop=data.shop.name,
        foot=lambda page: f"questions: telephone {data.shop.phone or 'N/A'}",
    )
    return render(_story(data, body_width(page_size)), sheet, page_size=page_size)


def _story(data: OutsideSlip, width: float) -> list[Flowable]:
    subtitle = f"No. {data.number}, sent {day(data.sent_on)}"
    pairs = [
        ("To", "\n".join(filter(None, (data.supplier, data.supplier_contact)))),
        ("Due back", day(data.due_on)),
        ("Back to", "\n".join((data.shop.name, *data.shop.address))),
        ("Work order", data.work_order),
    ]
    story = letterhead(data.shop, f"{KIND}: {data.kind}", subtitle, width, unit=data.unit)
    story += [facts(pairs, width, style=NOTE), Spacer(0, 2 * mm)]
    story += boxed([para(data.part, LOUD), para(f"Due back {day(data.due_on)}", PLAIN)], width)
    asked = [para(line, PLAIN) for line in data.asked.splitlines() if line.strip()]
    parts = [
        ("What is asked", asked),
        ("Sizes before the work, and their limits", _sizes(data, width)),
        ("The unit it belongs to", [facts(unit_pairs(data.unit), width, style=NOTE)]),
    ]
    if data.asks_bake:
        parts.append(("Bake after plating", _bake(width)))
    if data.note:
        parts.append(("Note", [para(data.note, PLAIN)]))
    parts.append(("When it comes back", bullets(RETURN, PLAIN)))
    for number, (title, content) in enumerate(parts, 1):
        story += [CondPageBreak(25 * mm), SectionHead(str(number), title, 10), *content]
    return [*story, Spacer(0, 2 * mm), end_mark("slip", data.number)]


def _sizes(data: OutsideSlip, width: float) -> list[Flowable]:
    if not data.sizes:
        return [para("none: no dimension of this part is in the record", PLAIN)]
    rows = [(row.what, row.limits, row.before, TO_FILL_IN) for row in data.sizes]
    return grid(("Dimension", "Limits", "Before", "After (supplier)"), rows, (36, 26, 20, 18), width, NOTE)


def _bake(width: float) -> list[Flowable]:
    pairs = [("Baked, hours", "________"), ("Temperature", "________ °C"), ("Not needed, basis", "________")]
    return [para(BAKE_QUESTION, PLAIN), facts(pairs, width, columns=3, style=NOTE), small_print(BAKE_SOURCE)]

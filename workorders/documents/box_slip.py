"""The slip that a customer prints and puts into the box: its number, its symbol, what should be in it."""

from dataclasses import dataclass
from datetime import date

from reportlab.lib.enums import TA_CENTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Spacer, Table

from shop.documents.paper import CODE
from workorders.documents.cautions import COMMON, Caution
from workorders.documents.certificate_data import Shop
from workorders.documents.letterhead import UNPADDED, end_mark, letterhead, small_print
from workorders.documents.printed import day
from workorders.documents.sections import cautions_list
from workorders.documents.sheet import (
    NOTE,
    PLAIN,
    TEXT,
    QrSquare,
    SectionHead,
    Sheet,
    body_width,
    facts,
    grid,
    para,
    render,
)

KIND = "Slip for the box"
QR_MM = 46
NUMBER = ParagraphStyle(
    "box number", parent=TEXT, fontName=CODE, fontSize=40, leading=46, alignment=TA_CENTER
)
PACKING = (
    Caution(
        hazard="Pressure",
        text="Let all pressure down before a hose comes off, and send nothing that is still under pressure. "
        "Never feel for a leak with the hand: oil under pressure goes through the skin, and such a wound "
        "needs a hospital at once.",
        short="send nothing under pressure",
        source=COMMON,
    ),
    Caution(
        hazard="Oil",
        text="Drain the unit into a pan, and bring the oil to where used oil is collected. What is left "
        "inside leaks on the way: wrap each unit in a closed plastic bag with something that soaks up oil.",
        short="drain it and bag it",
        source=COMMON,
    ),
    Caution(
        hazard="Ports",
        text="Cap or plug every open port, so that no dirt gets in and no oil gets out. Push rods in.",
        short="cap every port",
        source=COMMON,
    ),
    Caution(
        hazard="Weight",
        text="Pack heavy units so that they cannot move, rods and fittings away from the walls of the box, "
        "and write the weight on a box that one person should not lift. The carrier's own rules for "
        "goods with oil in them come first.",
        short="nothing may move inside",
        source=COMMON,
    ),
)


@dataclass(frozen=True, kw_only=True)
class SlipLine:
    """One unit that should be in the box."""

    number: int
    what: str
    symptoms: str = ""


@dataclass(frozen=True, kw_only=True)
class BoxSlip:
    """What the slip says; ``address`` is the web address of the box's page in the shop."""

    number: str
    address: str
    shop: Shop
    announced_on: date
    sender: str
    lines: tuple[SlipLine, ...]
    return_address: str = ""
    contact: str = ""
    customer_order: str = ""


def box_slip_pdf(data: BoxSlip, *, page_size: str = "A4") -> bytes:
    """Print the slip on "A4" or "Letter"."""
    sheet = Sheet(
        kind=KIND,
        number=data.number,
        shop=data.shop.name,
        foot=lambda page: f"questions: telephone {data.shop.phone}",
    )
    return render(_story(data, body_width(page_size)), sheet, page_size=page_size)


def _story(data: BoxSlip, width: float) -> list[Flowable]:
    pairs = [
        ("Sender", data.sender),
        ("Announced", day(data.announced_on)),
        ("Goes back to", data.return_address),
        ("Whom to ask", data.contact),
        ("Order number", data.customer_order),
        ("Send it to", "\n".join((data.shop.name, *data.shop.address))),
    ]
    rows = [(str(line.number), line.what, line.symptoms or "not said") for line in data.lines]
    subtitle = "Put this sheet into the box, on top. One box, one slip."
    return [
        *letterhead(data.shop, KIND, subtitle, width),
        _number(data, width),
        Spacer(0, 3 * mm),
        facts(pairs, width, style=NOTE),
        Spacer(0, 3 * mm),
        SectionHead("1", "What should be in the box", 10),
        *grid(("No.", "Unit", "What is wrong with it"), rows, (6, 44, 50), width, NOTE),
        Spacer(0, 3 * mm),
        CondPageBreak(40 * mm),
        SectionHead("2", "Before you pack", 10),
        *cautions_list(PACKING),
        small_print("Common practice, no source. Local rules and the carrier's conditions come first."),
        Spacer(0, 2 * mm),
        end_mark("slip", data.number),
    ]


def _number(data: BoxSlip, width: float) -> Table:
    symbol = QrSquare(data.address, QR_MM)
    cells = [
        [[para(data.number, NUMBER), Spacer(0, 2 * mm), para("The shop scans the symbol.", PLAIN)], symbol]
    ]
    side = QR_MM * mm + 6
    return Table(cells, colWidths=[width - side, side], style=UNPADDED, hAlign="LEFT")

"""What stands on top of every paper: the shop, what the paper is, its number, the unit's symbol."""

from collections.abc import Sequence

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Spacer, Table

from shop.documents.paper import BODY, INK
from workorders.calc.serial import grouped
from workorders.documents.certificate_data import Replaces, Shop, UnitIdentity
from workorders.documents.printed import plain
from workorders.documents.sheet import NAME, SERIAL, SMALL, TEXT, TITLE, QrSquare, para
from workorders.documents.words import Words, strong

QR_MM = 27
BOX_PADDING = 12  # points: ReportLab's own 6 on either side
UNPADDED = [
    ("FONTNAME", (0, 0), (-1, -1), BODY),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 0),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
]


def letterhead(
    shop: Shop,
    title: str,
    subtitle: str,
    width: float,
    *,
    unit: UnitIdentity | None = None,
    symbol: tuple[str, str] | None = None,
) -> list[Flowable]:
    """Lay out shop and title, with the unit's symbol and serial at the right if there is a unit.

    ``symbol`` is another address to print there, with the words below it.
    """
    left = [
        para(shop.name, NAME),
        Spacer(0, 1 * mm),
        para(", ".join(shop.address)),
        para(f"telephone {shop.phone or 'N/A'} · e-mail {shop.email or 'N/A'}"),
        Spacer(0, 2 * mm),
        para(title, TITLE),
        Spacer(0, 1.2 * mm),
        para(subtitle),
    ]
    told = (unit.address, grouped(unit.shop_serial)) if unit else symbol
    right = [QrSquare(told[0], QR_MM), para(told[1], SERIAL)] if told else []
    side = 30 * mm
    style = [*UNPADDED, ("ALIGN", (1, 0), (1, 0), "CENTER")]
    head = Table([[left, right]], colWidths=[width - side, side], style=style, hAlign="LEFT")
    return [head, Spacer(0, 1.2 * mm)]


def boxed(content: Sequence[Flowable], width: float) -> list[Flowable]:
    """Put a frame round what must not be overlooked; the content gets `width` less BOX_PADDING."""
    style = [
        ("FONTNAME", (0, 0), (-1, -1), BODY),
        ("BOX", (0, 0), (-1, -1), 0.9, INK),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
    ]
    frame = Table([[item] for item in content], colWidths=[width], style=style, hAlign="LEFT", splitInRow=1)
    return [frame, Spacer(0, 1 * mm)]


def replacement(replaces: Replaces | None, kind: str, width: float) -> list[Flowable]:
    """Say on top which paper a reissue takes the place of, and why; nothing for a first issue."""
    if replaces is None:
        return []
    text = f"This {kind} replaces {replaces.number}. Reason: {replaces.reason}"
    return boxed([para(text)], width)


def end_mark(kind: str, number: str) -> Flowable:
    """Close a paper, so that a missing last page shows."""
    return Words(["— ", strong(f"End of {plain(kind)} {plain(number)}"), " —"], TEXT)


def small_print(text: str) -> Flowable:
    """Print a line of sources or of general notice in small type."""
    return para(text, SMALL)

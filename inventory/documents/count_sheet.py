"""The sheet to count a place by hand: its lots without the pieces that the ledger expects."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from io import BytesIO
from xml.sax.saxutils import escape

from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Paragraph, SimpleDocTemplate, Spacer, Table

from shop.documents.paper import BODY, INK, REPEATABLE, RULE, STRONG, page_size_points

_TEXT = ParagraphStyle("text", fontName=BODY, fontSize=9, leading=11.5, textColor=INK)
_TITLE = ParagraphStyle("title", fontName=STRONG, fontSize=15, leading=19, textColor=INK)
_HEAD = ParagraphStyle("head", fontName=STRONG, fontSize=8, leading=10, textColor=INK)
EMPTY_ROWS = 4  # for lots that lie there and are not listed


@dataclass(frozen=True, kw_only=True)
class CountSheet:
    """What the sheet says; ``lots`` are numbers with their parts."""

    shop: str
    place: str
    begun_on: date
    begun_by: str
    lots: Sequence[tuple[str, str]]


def count_sheet_pdf(data: CountSheet, *, page_size: str = "A4") -> bytes:
    """Print the sheet on "A4" or "Letter"."""
    stream = BytesIO()
    document = SimpleDocTemplate(
        stream,
        pagesize=page_size_points(page_size),
        title=f"Count of {data.place}",
        leftMargin=17 * mm,
        rightMargin=15 * mm,
        topMargin=15 * mm,
        bottomMargin=15 * mm,
        **REPEATABLE,
    )
    rows = [(number, part, "") for number, part in data.lots] + [("", "", "")] * EMPTY_ROWS
    cells = [[_para(text) for text in row] for row in rows]
    head = [Paragraph(text, _HEAD) for text in ("Lot", "Part", "Pieces counted")]
    table = Table([head, *cells], colWidths=[38 * mm, 100 * mm, 38 * mm], repeatRows=1, hAlign="LEFT")
    table.setStyle([("LINEBELOW", (0, 0), (-1, -1), 0.5, RULE), ("BOTTOMPADDING", (0, 1), (-1, -1), 7)])
    intro = (
        f"{data.shop}. Begun {data.begun_on:%d %b %Y}, {data.begun_by}. Count what lies there; "
        "the ledger is not on this sheet. Write down lots that are not listed, and 0 where none lies."
    )
    document.build(
        [
            Paragraph(escape(f"Count of {data.place}"), _TITLE),
            _para(intro),
            Spacer(0, 4 * mm),
            table,
            Spacer(0, 8 * mm),
            _para("Counted by ____________________    on ____________________"),
        ]
    )
    return stream.getvalue()


def _para(text: str) -> Paragraph:
    return Paragraph(escape(text), _TEXT)

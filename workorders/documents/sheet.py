"""The ruled sheet that every work-order paper is printed on: header, footer, headings, tables."""

import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from html import escape
from io import BytesIO

from reportlab.lib.colors import HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate, Paragraph, Table

from shop.documents import qr
from shop.documents.paper import (
    BODY,
    CODE,
    INK,
    MUTED,
    PAGE_SIZES_MM,
    REPEATABLE,
    RULE,
    STRONG,
    page_size_points,
)

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
COPPER = HexColor("#9a5a2c")
LEFT_MM, RIGHT_MM, TOP_MM, BOTTOM_MM = 17, 12, 15, 15
NOT_AVAILABLE = "N/A"


def _style(name: str, size: float, **more) -> ParagraphStyle:
    settings = {"fontName": BODY, "textColor": INK, "leading": size * 1.25, "splitLongWords": 1} | more
    return ParagraphStyle(name, fontSize=size, **settings)


TEXT = _style("text", 7.4)
LABEL = _style("label", 6.6, textColor=MUTED)
SMALL = _style("small", 6.2, textColor=MUTED)
HEAD = _style("head", 6.2, fontName=STRONG, textColor=MUTED)
TITLE = _style("title", 15, fontName=STRONG)
NAME = _style("name", 11, fontName=STRONG)
SERIAL = _style("serial", 9, fontName=CODE)
DIGEST = _style("digest", 6.2, fontName=CODE)
PLAIN = _style("plain", 9.5)


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """What stands on every page: kind of paper, its number, the shop, and a last word at the foot."""

    kind: str
    number: str
    shop: str
    foot: str = ""

    @property
    def title(self) -> str:
        """The title of the file, also told to whoever opens it."""
        return f"{self.kind} {self.number}"


def day(value: date | None) -> str:
    """Print a date that nobody can read two ways, as 05 Nov 2026; N/A where there is none."""
    if value is None:
        return NOT_AVAILABLE
    return f"{value.day:02d} {MONTHS[value.month - 1]} {value.year:04d}"


def moment(value: datetime) -> str:
    """Print date and time with the distance to UTC; ValueError for a time without a zone."""
    offset = value.strftime("%z")
    if not offset:
        raise ValueError(f"a printed time needs its time zone; got {value!r}")
    zone = "UTC" if value.utcoffset().total_seconds() == 0 else f"UTC{offset[:3]}:{offset[3:5]}"
    return f"{day(value)}, {value:%H:%M} {zone}"


def unprintable(text: str) -> list[str]:
    """List the characters of `text` that the shipped font has no sign for, each once, in order."""
    register_fonts()
    known = pdfmetrics.getFont(BODY).face.charToGlyph
    return list(dict.fromkeys(c for c in text if not c.isspace() and ord(c) not in known))


def markup(text: str) -> str:
    """Turn plain text into paragraph markup: nothing is lost, N/A for nothing.

    A character without a sign in the font is printed as its code point, [U+6F22], since an
    empty box would hide which one it was.
    """
    text = unicodedata.normalize("NFC", str(text)).strip()
    for character in unprintable(text):
        text = text.replace(character, f"[U+{ord(character):04X}]")
    return escape(text or NOT_AVAILABLE, quote=False).replace("\n", "<br/>")


def para(text: str, style: ParagraphStyle = TEXT) -> Paragraph:
    """Make a paragraph from plain text."""
    return Paragraph(markup(text), style)


def bullets(lines: Iterable[str], style: ParagraphStyle = TEXT) -> list[Paragraph]:
    """Make one dashed paragraph for each line; N/A for none."""
    hanging = ParagraphStyle(style.name + " dash", parent=style, leftIndent=3 * mm, bulletIndent=0)
    found = [Paragraph(markup(line), hanging, bulletText="–") for line in lines]
    return found or [para("", style)]


class SectionHead(Flowable):
    """A heading with its number in the margin left of the copper rule."""

    def __init__(self, number: str, title: str, size: float = 8.4):
        super().__init__()
        self.number, self.heading, self.size = number, title, size

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Take the full width and the heading's own height."""
        self.width = width
        return width, self.size + 8.5

    def draw(self) -> None:
        """Draw number, title and a hairline to the right edge."""
        canvas = self.canv
        canvas.setFillColor(COPPER)
        canvas.setFont(STRONG, 7.5)
        canvas.drawRightString(-3.4 * mm, 2.6, self.number)
        canvas.setFillColor(INK)
        canvas.setFont(STRONG, self.size)
        canvas.drawString(0, 2.6, self.heading)
        start = pdfmetrics.stringWidth(self.heading, STRONG, self.size) + 6
        canvas.setStrokeColor(COPPER)
        canvas.setLineWidth(0.5)
        canvas.line(start, 4.6, self.width, 4.6)


RULED = [
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 5),
    ("TOPPADDING", (0, 0), (-1, -1), 1.2),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 1.6),
    ("LINEBELOW", (0, 0), (-1, -1), 0.3, RULE),
]


def table(rows: Sequence[Sequence], shares: Sequence[float], width: float, *, head: bool, more=()) -> Table:
    """Lay ruled rows over `width` points, columns in proportion to `shares`; a long row is split."""
    whole = sum(shares)
    style = RULED + ([("LINEBELOW", (0, 0), (-1, 0), 0.7, INK)] if head else []) + list(more)
    return Table(
        rows,
        colWidths=[width * share / whole for share in shares],
        repeatRows=1 if head else 0,
        splitInRow=1,
        style=style,
        hAlign="LEFT",
    )


def grid(heads: Sequence[str], rows: Sequence[Sequence], shares: Sequence[float], width: float) -> Table:
    """Make a table with a heading row that comes again on each page; a str cell is plain text."""
    body = [[para(cell) if isinstance(cell, str) else cell for cell in row] for row in rows]
    return table([[para(head, HEAD) for head in heads], *body], shares, width, head=True)


def facts(pairs: Sequence[tuple[str, str]], width: float, *, columns: int = 2) -> Table:
    """Lay label and value pairs in ruled rows, `columns` pairs to a row, read line by line."""
    cells = [[para(label, LABEL), para(value)] for label, value in pairs]
    while len(cells) % columns:
        cells.append(["", ""])
    rows = [sum(cells[at : at + columns], []) for at in range(0, len(cells), columns)]
    return table(rows, (1, 2.2) * columns if columns > 1 else (1, 5.4), width, head=False)


def body_width(page_size: str) -> float:
    """Give the width in points that a paper's text may take."""
    if page_size not in PAGE_SIZES_MM:
        raise ValueError(f"page size must be one of {', '.join(PAGE_SIZES_MM)}; got {page_size!r}")
    return page_size_points(page_size)[0] - (LEFT_MM + RIGHT_MM) * mm


def _draw_page(canvas: Canvas, sheet: Sheet, size: tuple[float, float], total: int) -> None:
    width, height = size
    canvas.saveState()
    canvas.setStrokeColor(COPPER)
    canvas.setLineWidth(0.6)
    canvas.line(LEFT - 2.2 * mm, BOTTOM - 1 * mm, LEFT - 2.2 * mm, height - TOP + 1 * mm)
    canvas.setStrokeColor(INK)
    canvas.line(LEFT, height - TOP + 1 * mm, width - RIGHT, height - TOP + 1 * mm)
    canvas.line(LEFT, BOTTOM - 1 * mm, width - RIGHT, BOTTOM - 1 * mm)
    canvas.setFillColor(MUTED)
    canvas.setFont(BODY, 6.6)
    canvas.drawString(LEFT, height - TOP + 2.4 * mm, sheet.shop)
    canvas.drawString(LEFT, BOTTOM - 4.2 * mm, sheet.foot)
    canvas.setFillColor(INK)
    canvas.setFont(STRONG, 6.6)
    canvas.drawRightString(width - RIGHT, height - TOP + 2.4 * mm, sheet.title)
    canvas.drawRightString(width - RIGHT, BOTTOM - 4.2 * mm, f"page {canvas.getPageNumber()} of {total}")
    canvas.restoreState()


def _build(story: list[Flowable], sheet: Sheet, size: tuple[float, float], total: int, after) -> tuple[bytes, int]:
    buffer = BytesIO()
    width, height = size

    def draw(canvas: Canvas, document: BaseDocTemplate) -> None:
        _draw_page(canvas, sheet, size, total)
        if after:
            after(canvas, total)

    document = BaseDocTemplate(
        buffer, pagesize=size, invariant=1, title=sheet.title, author=sheet.shop, subject=sheet.kind, lang="en"
    )
    frame = Frame(LEFT, BOTTOM, width - LEFT - RIGHT, height - TOP - BOTTOM, 0, 0, 0, 0)
    document.addPageTemplates(PageTemplate(frames=[frame], onPageEnd=draw))
    document.build(story)
    return buffer.getvalue(), document.page


def render(
    story: Callable[[], list[Flowable]], sheet: Sheet, *, page_size: str, after: Callable | None = None
) -> bytes:
    """Print a story; it is laid out twice, since the number of pages stands on each page.

    `after(canvas, total)` may draw more on a page once its text stands. The same story gives
    the same bytes. ValueError for a page size that is not A4 or Letter.
    """
    register_fonts()
    body_width(page_size)
    size = PAGE_SIZES[page_size]
    _, total = _build(story(), sheet, size, 0, after)
    return _build(story(), sheet, size, total, after)[0]

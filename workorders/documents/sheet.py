"""The ruled sheet that every work-order paper is printed on: header, footer, headings, tables."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from io import BytesIO
from itertools import chain
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_CENTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate, Table

from shop.documents import qr
from shop.documents.paper import (
    BODY,
    CODE,
    INK,
    MUTED,
    PAGE_SIZES_MM,
    REPEATABLE,
    STRONG,
    page_size_points,
)
from workorders.documents.printed import plain
from workorders.documents.rows import BOTTOM_PAD, HEAD_RULE, RIGHT_PAD, ROW_RULE, TOP_PAD, Rows
from workorders.documents.words import Words

COPPER = HexColor("#a63c06")
LEFT_MM, RIGHT_MM, TOP_MM, BOTTOM_MM = 17, 12, 12.5, 12


def _style(name: str, size: float, **more: object) -> ParagraphStyle:
    settings = {"fontName": BODY, "textColor": INK, "leading": size * 1.2, "splitLongWords": 1} | more
    return ParagraphStyle(name, fontSize=size, **settings)


TEXT = _style("text", 7.4)
LABEL = _style("label", 6.6, textColor=MUTED)
SMALL = _style("small", 6.2, textColor=MUTED)
STRONG_TEXT = _style("strong text", 7.4, fontName=STRONG)
HEAD = _style("head", 6.2, fontName=STRONG, textColor=MUTED)
TITLE = _style("title", 15, fontName=STRONG)
NAME = _style("name", 11, fontName=STRONG)
LOUD = _style("loud", 13, fontName=STRONG)
SERIAL = _style("serial", 9, fontName=CODE, alignment=TA_CENTER)
DIGEST = _style("digest", 6.2, fontName=CODE)
NOTE = _style("note", 8.4)
STRONG_NOTE = _style("strong note", 8.4, fontName=STRONG)
PLAIN = _style("plain", 9.5)


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """What stands on every page: kind of paper, its number, the shop, and what the foot of a page says.

    ``head`` stands between shop and number: a line to write on, say.
    """

    kind: str
    number: str
    shop: str
    foot: Callable[[int], str] = lambda page: ""
    head: str = ""

    @property
    def title(self) -> str:
        """The title of the file, also told to whoever opens it."""
        return f"{self.kind} {self.number}"


def para(text: str, style: ParagraphStyle = TEXT) -> Words:
    """Set plain text in lines."""
    return Words(plain(text), style)


def bullets(lines: Iterable[str], style: ParagraphStyle = TEXT) -> list[Flowable]:
    """Set each line after a dash; N/A for none."""
    found: list[Flowable] = [Words(plain(line), style, bullet="–", indent=9) for line in lines]
    return found or [para("", style)]


def numbered(lines: Sequence[str], style: ParagraphStyle) -> list[Flowable]:
    """Set each line after its number, from 1."""
    return [Words(plain(line), style, bullet=f"{at}.", indent=14) for at, line in enumerate(lines, 1)]


class SectionHead(Flowable):
    """A heading with its number in the margin left of the copper rule."""

    def __init__(self, number: str, title: str, size: float = 8.4):
        super().__init__()
        self.number, self.heading, self.size = number, title, size

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Take the full width and the heading's own height."""
        self.width = width
        return width, self.size + 6

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


class QrSquare(Flowable):
    """A QR symbol with its quiet zone, as large as whole dots of a 300 dpi printer allow."""

    def __init__(self, text: str, size_mm: float):
        super().__init__()
        self.symbol = qr.symbol(text.upper())
        dot_points = 72 / 300
        dots = int(size_mm * mm / dot_points / self.symbol.modules_with_quiet_zone)
        self.module_points = dots * dot_points
        self.side = self.symbol.modules_with_quiet_zone * self.module_points

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Take a square."""
        return self.side, self.side

    def draw(self) -> None:
        """Draw the symbol from the upper left corner of its quiet zone."""
        qr.draw(self.canv, self.symbol, left_points=0, top_points=self.side, module_points=self.module_points)


# Without a font of ours ReportLab names Helvetica in the file, which is not embedded.
PLAIN_TABLE = [
    ("FONT", (0, 0), (-1, -1), BODY, 7, 8),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), RIGHT_PAD),
    ("TOPPADDING", (0, 0), (-1, -1), TOP_PAD),
    ("BOTTOMPADDING", (0, 0), (-1, -1), BOTTOM_PAD),
]
UNDER_ROWS = ("LINEBELOW", (0, 0), (-1, -1), *ROW_RULE)
UNDER_HEAD = ("LINEBELOW", (0, 0), (-1, 0), *HEAD_RULE)
FACT_VALUE_SHARES = {1: 5.4, 2: 2.2, 3: 1.9}


def table(
    rows: Sequence[Sequence[object]],
    shares: Sequence[float],
    width: float,
    *,
    head: bool = False,
    lines: bool = True,
) -> Rows | Table:
    """Lay rows over `width` points, columns in proportion to `shares`; a row too long for a page is split."""
    widths = [width * share / sum(shares) for share in shares]
    if all(isinstance(cell, Words) for row in rows for cell in row):
        return Rows(rows, widths, head=int(head), lines=lines)  # type: ignore[arg-type]
    style = [*PLAIN_TABLE, *([UNDER_ROWS] if lines else []), *([UNDER_HEAD] if head else [])]
    return Table(rows, colWidths=widths, repeatRows=int(head), splitInRow=1, style=style, hAlign="LEFT")


def grid(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    shares: Sequence[float],
    width: float,
    style: ParagraphStyle = TEXT,
) -> list[Flowable]:
    """Make a table of plain text whose heading row comes again on each page; N/A without rows."""
    if not rows:
        return [para("", style)]
    body = [[para(cell, style) for cell in row] for row in rows]
    return [table([[para(head, HEAD) for head in heads], *body], shares, width, head=True)]


def facts(
    pairs: Sequence[tuple[str, str | list[Flowable]]],
    width: float,
    *,
    columns: int = 2,
    lines: bool = True,
    style: ParagraphStyle = TEXT,
) -> Rows | Table:
    """Lay label and value pairs in ruled rows, 1 to 3 pairs to a row, read line by line."""
    label_style = ParagraphStyle(
        "fact label", parent=LABEL, fontSize=style.fontSize * 0.89, leading=style.leading
    )
    cells = [
        [para(label, label_style), para(value, style) if isinstance(value, str) else value]
        for label, value in pairs
    ]
    while len(cells) % columns:
        cells.append([Words("", style)] * 2)
    rows = [list(chain(*cells[at : at + columns])) for at in range(0, len(cells), columns)]
    return table(rows, (1, FACT_VALUE_SHARES[columns]) * columns, width, lines=lines)


def body_width(page_size: str) -> float:
    """Give the width in points that a paper's text may take."""
    if page_size not in PAGE_SIZES_MM:
        raise ValueError(f"page size must be one of {', '.join(PAGE_SIZES_MM)}; got {page_size!r}")
    return float(page_size_points(page_size)[0] - (LEFT_MM + RIGHT_MM) * mm)


def body_height(page_size: str) -> float:
    """Give the height in points that a paper's text may take on one page."""
    return float(page_size_points(page_size)[1] - (TOP_MM + BOTTOM_MM) * mm)


@dataclass(frozen=True)
class _Edges:
    """The four edges of the text area of one page size, in points from its lower left corner."""

    left: float
    right: float
    top: float
    bottom: float

    @classmethod
    def of(cls, page_size: str) -> "_Edges":
        width, height = page_size_points(page_size)
        return cls(LEFT_MM * mm, width - RIGHT_MM * mm, height - TOP_MM * mm, BOTTOM_MM * mm)


class _NumberedCanvas(Canvas):
    """Holds pages back until all are drawn, since the number of pages stands on each of them."""

    def __init__(self, *args: Any, finish: Callable[[Canvas, int], None], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.finish, self.held = finish, list[dict[str, Any]]()

    def showPage(self) -> None:
        """Keep the page as drawn so far, and begin the next."""
        self.held.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        """Finish each page with the number of all, and write the file."""
        held = self.held
        for page in held:
            self.__dict__.update(page)
            self.finish(self, len(held))
            super().showPage()
        super().save()


def _draw_page(canvas: Canvas, sheet: Sheet, edges: _Edges, total: int) -> None:
    top, bottom = edges.top + 1 * mm, edges.bottom - 1 * mm
    canvas.saveState()
    canvas.setLineWidth(0.6)
    canvas.setStrokeColor(COPPER)
    canvas.line(edges.left - 2.2 * mm, bottom, edges.left - 2.2 * mm, top)
    canvas.setStrokeColor(INK)
    for height in (top, bottom):
        canvas.line(edges.left, height, edges.right, height)
    canvas.setFillColor(INK)
    canvas.setFont(BODY, 6.6)
    canvas.drawString(edges.left, top + 1.4 * mm, sheet.shop)
    if sheet.head:
        canvas.drawCentredString((edges.left + edges.right) / 2, top + 1.4 * mm, sheet.head)
    canvas.drawString(edges.left, bottom - 3.2 * mm, sheet.foot(canvas.getPageNumber()))
    canvas.setFont(STRONG, 6.6)
    canvas.drawRightString(edges.right, top + 1.4 * mm, sheet.title)
    canvas.drawRightString(edges.right, bottom - 3.2 * mm, f"page {canvas.getPageNumber()} of {total}")
    canvas.restoreState()


def render(story: list[Flowable], sheet: Sheet, *, page_size: str) -> bytes:
    """Print a story; the same story gives the same bytes.

    ValueError for a page size that is not A4 or Letter.
    """
    body_width(page_size)
    buffer = BytesIO()
    edges = _Edges.of(page_size)
    document = BaseDocTemplate(
        buffer,
        pagesize=page_size_points(page_size),
        title=sheet.title,
        author=sheet.shop,
        subject=sheet.kind,
        creator=sheet.shop,
        initialFontName=BODY,
        pageCompression=1,
        **REPEATABLE,
    )
    frame = Frame(edges.left, edges.bottom, edges.right - edges.left, edges.top - edges.bottom, 0, 0, 0, 0)
    document.addPageTemplates(PageTemplate(frames=[frame]))

    def finish(canvas: Canvas, total: int) -> None:
        _draw_page(canvas, sheet, edges, total)

    document.build(story, canvasmaker=partial(_NumberedCanvas, finish=finish))
    return buffer.getvalue()

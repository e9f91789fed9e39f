"""A small drawing measured in printer dots, painted as a one-bit image or onto a PDF page."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from io import BytesIO
from math import ceil

from PIL import Image, ImageDraw
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from shop.documents import paper, qr

MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Code:
    """A QR symbol; left and top are the outer corner of its quiet zone."""

    left: int
    top: int
    symbol: qr.Symbol
    module_dots: int


@dataclass(frozen=True)
class Text:
    """One line of text; the baseline is measured from the top edge."""

    left: int
    baseline: int
    text: str
    face: str
    size: int


@dataclass(frozen=True)
class Box:
    """An empty rectangle; the line lies inside it."""

    left: int
    top: int
    width: int
    height: int
    line: int


@dataclass(frozen=True)
class Ring:
    """The mark of a hole; the line lies inside the circle."""

    left: int
    top: int
    diameter: int
    line: int


Item = Code | Text | Box | Ring


@dataclass(frozen=True)
class Drawing:
    """Items in dots from the top left corner of a paper of exact size in mm."""

    width_mm: float
    height_mm: float
    dpi: int
    title: str
    items: tuple[Item, ...]


def dots(length_mm: float, dpi: int) -> int:
    """Return the nearest whole number of printer dots."""
    return round(length_mm * dpi / MM_PER_INCH)


@cache
def text_width(text: str, face: str, size: int) -> int:
    """Return the width in dots of the wider of the two ways of painting (a bitmap font is hinted)."""
    hinted = paper.bitmap_font(face, size).getlength(text)
    scaled: float = pdfmetrics.stringWidth(text, face, size)
    return ceil(max(hinted, scaled))


def text_rise(text: str, face: str, size: int) -> tuple[int, int]:
    """Return how many dots the ink of a text reaches above and below its baseline."""
    _, top, _, bottom = paper.bitmap_font(face, size).getbbox(text, anchor="ls")
    return ceil(-top), max(0, ceil(bottom))


def to_image(drawing: Drawing) -> Image.Image:
    """Paint a drawing as a black and white image at the printer's own resolution."""
    size = dots(drawing.width_mm, drawing.dpi), dots(drawing.height_mm, drawing.dpi)
    image = Image.new("1", size, 1)
    pen = ImageDraw.Draw(image)
    for item in drawing.items:
        match item:
            case Code():
                image.paste(qr.bitmap(item.symbol, module_dots=item.module_dots), (item.left, item.top))
            case Text():
                font = paper.bitmap_font(item.face, item.size)
                pen.text((item.left, item.baseline), item.text, fill=0, font=font, anchor="ls")
            case Box():
                corner = item.left + item.width - 1, item.top + item.height - 1
                pen.rectangle((item.left, item.top, *corner), outline=0, width=item.line)
            case Ring():
                corner = item.left + item.diameter - 1, item.top + item.diameter - 1
                pen.ellipse((item.left, item.top, *corner), outline=0, width=item.line)
    return image


def to_png(drawing: Drawing) -> bytes:
    """Paint a drawing as PNG, one bit per dot, with the printer's resolution in pHYs."""
    stream = BytesIO()
    to_image(drawing).save(stream, "PNG", dpi=(drawing.dpi, drawing.dpi), optimize=True)
    return stream.getvalue()


def to_pdf(drawings: Sequence[Drawing]) -> bytes:
    """Paint drawings of one size as the pages of a PDF of exactly that size."""
    first = drawings[0]
    stream = BytesIO()
    canvas = paper.new_canvas(stream, size_mm=(first.width_mm, first.height_mm), title=first.title)
    for drawing in drawings:
        paint(canvas, drawing, left_points=0, top_points=first.height_mm * paper.POINTS_PER_MM)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def paint(canvas: Canvas, drawing: Drawing, *, left_points: float, top_points: float) -> None:
    """Paint a drawing onto a PDF page with its top left corner at the given point."""
    unit = 72 / drawing.dpi
    canvas.setStrokeColor(paper.INK)
    canvas.setFillColor(paper.INK)
    for item in drawing.items:
        left = left_points + item.left * unit
        match item:
            case Code():
                top, module = top_points - item.top * unit, item.module_dots * unit
                qr.draw(canvas, item.symbol, left_points=left, top_points=top, module_points=module)
            case Text():
                canvas.setFont(item.face, item.size * unit)
                canvas.drawString(left, top_points - item.baseline * unit, item.text)
            case Box():
                inset, line = item.line * unit / 2, item.line * unit
                canvas.setLineWidth(line)
                bottom = top_points - (item.top + item.height) * unit
                canvas.rect(left + inset, bottom + inset, item.width * unit - line, item.height * unit - line)
            case Ring():
                canvas.setLineWidth(item.line * unit)
                radius = item.diameter * unit / 2
                centre = top_points - item.top * unit - radius
                canvas.circle(left + radius, centre, radius - item.line * unit / 2)

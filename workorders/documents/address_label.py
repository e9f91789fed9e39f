"""The address label of a parcel, on A6: where it goes, where it comes from, which parcel of how many."""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from shop.documents import qr
from shop.documents.paper import BODY, INK, MUTED, POINTS_PER_MM, RULE, STRONG, new_canvas

SIZE_MM = (148.0, 105.0)  # ISO 216, A6 lying
MARGIN = 8 * POINTS_PER_MM
LARGEST, LEAST, LEADING = 22.0, 8.0, 1.25
ADDRESS_ROOM = 48 * POINTS_PER_MM
SYMBOL_MM, LEAST_DPI = 24.0, 203
HANDLING = "Hydraulic part, holds a little oil. Keep the caps on and this side up."


@dataclass(frozen=True, kw_only=True)
class AddressLabel:
    """One parcel; ``recipient`` and ``sender`` are lines, the first of each is the name.

    ``address`` leads to the page of the shipment; ``measures`` are weight and size.
    """

    sender: tuple[str, ...]
    recipient: tuple[str, ...]
    shipment: str
    parcel: int
    parcels: int
    carrier: str = ""
    tracking: str = ""
    measures: str = ""
    address: str = ""


def address_labels_pdf(labels: Sequence[AddressLabel]) -> bytes:
    """Print the labels, one on each A6 page; the same labels give the same bytes.

    Raises ValueError where there is none.
    """
    if not labels:
        raise ValueError("labels must be one or more; got none")
    stream = BytesIO()
    canvas = new_canvas(stream, size_mm=SIZE_MM, title=f"Address labels {labels[0].shipment}")
    for label in labels:
        _draw(canvas, label)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _draw(canvas: Canvas, label: AddressLabel) -> None:
    width, height = (side * POINTS_PER_MM for side in SIZE_MM)
    inner = width - 2 * MARGIN
    top = height - MARGIN
    canvas.setFillColor(MUTED)
    _line(canvas, "From: " + ", ".join(label.sender), BODY, 9, MARGIN, top - 9, inner)
    canvas.setStrokeColor(RULE)
    canvas.line(MARGIN, top - 15, width - MARGIN, top - 15)
    canvas.setFillColor(INK)
    _address(canvas, label.recipient, top - 22, inner)
    foot = MARGIN + 26
    beside = inner - (_symbol(canvas, label, width) if label.address else 0)
    canvas.line(MARGIN, foot + 14, MARGIN + beside, foot + 14)
    parcel = f"{label.shipment}, parcel {label.parcel} of {label.parcels}"
    _line(canvas, parcel, STRONG, 13, MARGIN, foot, beside)
    sent = ", ".join(part for part in (label.carrier, label.tracking, label.measures) if part)
    _line(canvas, sent, BODY, 10, MARGIN, foot - 14, beside)
    canvas.setFillColor(MUTED)
    _line(canvas, HANDLING, BODY, 8, MARGIN, foot - 26, beside)


def _symbol(canvas: Canvas, label: AddressLabel, width: float) -> float:
    """Draw the symbol of the shipment into the lower right corner; return the room that it takes."""
    symbol = qr.symbol(label.address.upper())
    dot_points = 72 / LEAST_DPI
    dots = int(SYMBOL_MM * POINTS_PER_MM / dot_points / symbol.modules_with_quiet_zone)
    side = symbol.modules_with_quiet_zone * dots * dot_points
    edge = 3 * POINTS_PER_MM
    canvas.setFillColor(INK)
    qr.draw(
        canvas,
        symbol,
        left_points=width - edge - side,
        top_points=edge + side,
        module_points=dots * dot_points,
    )
    return side + edge - MARGIN + 3 * POINTS_PER_MM


def _address(canvas: Canvas, lines: Sequence[str], top: float, inner: float) -> None:
    """Write the recipient as large as its longest line and the number of lines allow."""
    widest = max(stringWidth(line, STRONG, 1.0) for line in lines)
    size = max(LEAST, min(LARGEST, inner / widest, ADDRESS_ROOM / (len(lines) * LEADING)))
    for number, line in enumerate(lines):
        face = STRONG if number == 0 else BODY
        _line(canvas, line, face, size, MARGIN, top - size * (1 + number * LEADING), inner)


def _line(canvas: Canvas, text: str, face: str, size: float, left: float, base: float, room: float) -> None:
    """Write one line, smaller where it would not fit."""
    width = stringWidth(text, face, size)
    canvas.setFont(face, size if width <= room else size * room / width)
    canvas.drawString(left, base, text)

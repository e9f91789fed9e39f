"""Labels and wired tags as files: PDF of exact size, PNG at the printer's own resolution, sheets."""

from collections.abc import Sequence
from io import BytesIO

from shop.documents import drawing, paper
from shop.documents.drawing import dots
from shop.documents.label_layout import Label, lay_out, lay_out_tag, longest_address
from shop.documents.label_stock import (
    LABEL_STOCKS,
    PRINTER_DPI,
    SHEET_DPI,
    SHEET_STOCKS,
    WIRED_TAG,
    LabelStock,
    SheetStock,
    TagStock,
)
from shop.documents.text_fit import LabelError

__all__ = [
    "LABEL_STOCKS",
    "PRINTER_DPI",
    "SHEET_STOCKS",
    "WIRED_TAG",
    "Label",
    "LabelError",
    "label_pdf",
    "label_png",
    "longest_address",
    "sheet_pdf",
    "tag_pdf",
    "tag_png",
]


def label_png(label: Label, stock: LabelStock, *, dpi: int) -> bytes:
    """Return one label as PNG, one bit per dot, at the printer's own resolution."""
    return drawing.to_png(lay_out(label, stock, dpi=dpi))


def label_pdf(labels: Sequence[Label], stock: LabelStock, *, dpi: int) -> bytes:
    """Return labels as PDF, one on each page of exact label size; modules are whole dots at ``dpi``."""
    return drawing.to_pdf([lay_out(label, stock, dpi=dpi) for label in _some(labels)])


def tag_png(label: Label, tag: TagStock = WIRED_TAG, *, dpi: int) -> bytes:
    """Return one wired tag as PNG, one bit per dot, at the printer's own resolution."""
    return drawing.to_png(lay_out_tag(label, tag, dpi=dpi))


def tag_pdf(labels: Sequence[Label], tag: TagStock = WIRED_TAG, *, dpi: int) -> bytes:
    """Return wired tags as PDF, one on each page of exact tag size; modules are whole dots at ``dpi``."""
    return drawing.to_pdf([lay_out_tag(label, tag, dpi=dpi) for label in _some(labels)])


def sheet_pdf(labels: Sequence[Label], sheet: SheetStock, *, start: int = 1) -> bytes:
    """Return labels as PDF sheets; ``start`` is the first free place of the first sheet, from 1.

    Places count along the rows. Raises LabelError where the sheet has no such place.
    """
    if not 1 <= start <= sheet.places:
        raise LabelError(
            f"A sheet of {sheet.name} labels has places 1 to {sheet.places}; {start} is not one."
        )
    stream, unit = BytesIO(), 72 / SHEET_DPI
    size_mm = sheet.page_width_mm, sheet.page_height_mm
    canvas = paper.new_canvas(stream, size_mm=size_mm, title=f"Labels on {sheet.name}")
    for at, label in enumerate(_some(labels), start - 1):
        if at % sheet.places == 0 and at >= start:
            canvas.showPage()
        left_mm, top_mm = sheet.corner_mm(at % sheet.places)
        left, top = dots(left_mm, SHEET_DPI) * unit, dots(top_mm, SHEET_DPI) * unit
        page_top = sheet.page_height_mm * paper.POINTS_PER_MM
        drawing.paint(
            canvas,
            lay_out(label, sheet.label, dpi=SHEET_DPI),
            left_points=left,
            top_points=page_top - top,
        )
    canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _some(labels: Sequence[Label]) -> Sequence[Label]:
    if not labels:
        raise LabelError("There is nothing to print: no label was asked for.")
    return labels

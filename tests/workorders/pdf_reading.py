"""Reads printed papers back the way an outsider would: text by pypdf, symbols from a picture."""

import dataclasses
import re
from collections.abc import Iterator
from datetime import date, datetime
from io import BytesIO

import pypdf
import pypdfium2
import zxingcpp

from workorders.documents.trace_chart import HoldTrace


def squeezed(text: str) -> str:
    """Every run of white space as one space: where a line ends is the layout's business."""
    return re.sub(r"\s+", " ", text).strip()


def pages_of(pdf: bytes) -> list[str]:
    return [squeezed(page.extract_text()) for page in pypdf.PdfReader(BytesIO(pdf)).pages]


def text_of(pdf: bytes) -> str:
    return " ".join(pages_of(pdf))


def symbols_of(pdf: bytes, *, page: int = 0, dpi: int = 150) -> list[str]:
    """Decode the QR symbols of a page from a raster, with a reader that the project does not use."""
    picture = pypdfium2.PdfDocument(pdf)[page].render(scale=dpi / 72).to_pil()
    return [found.text for found in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)]


def character_boxes(pdf: bytes) -> list[tuple[float, float]]:
    """Left and right edge of every character on every page, in points from the left of the page."""
    boxes = []
    for page in pypdfium2.PdfDocument(pdf):
        text = page.get_textpage()
        for at in range(text.count_chars()):
            left, _bottom, right, _top = text.get_charbox(at)
            if right > left:
                boxes.append((left, right))
    return boxes


def fonts_of(pdf: bytes) -> dict[str, bool]:
    """Name each font and tell whether its outlines are in the file."""
    found = {}
    for page in pypdf.PdfReader(BytesIO(pdf)).pages:
        for font in page["/Resources"]["/Font"].values():
            font = font.get_object()
            descriptor = font.get("/FontDescriptor", {})
            found[font["/BaseFont"]] = "/FontFile2" in (descriptor.get_object() if descriptor else {})
    return found


def stored_texts(value: object) -> Iterator[str]:
    """Every text stored in a dataclass of printed data; numbers of a drawn trace are not text."""
    if isinstance(value, str):
        yield from [squeezed(value)] if value.strip() else []
    elif isinstance(value, tuple):
        for item in value:
            yield from stored_texts(item)
    elif dataclasses.is_dataclass(value) and not isinstance(value, HoldTrace):
        for field in dataclasses.fields(value):
            yield from stored_texts(getattr(value, field.name))


def stored_dates(value: object) -> Iterator[date]:
    """Every date and time stored in a dataclass of printed data."""
    if isinstance(value, (date, datetime)):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from stored_dates(item)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from stored_dates(getattr(value, field.name))

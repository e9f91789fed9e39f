"""How dates, times and text from the record are printed, so that nothing is lost or read two ways."""

import unicodedata
from datetime import date, datetime

from reportlab.pdfbase import pdfmetrics

from shop.documents.paper import BODY

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NOT_AVAILABLE = "N/A"
MARKS = {"passes": "✓", "fails": "✗", "not decided": "?", "invalid": "–", "recorded": "·"}


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
    zone = "UTC" if offset in {"+0000", "-0000"} else f"UTC{offset[:3]}:{offset[3:5]}"
    return f"{day(value)}, {value:%H:%M} {zone}"


def judged(verdict: str) -> str:
    """Print a verdict by word and shape, since a copy has no colour."""
    return f"{MARKS[verdict]} {verdict}"


def short(digest: str) -> str:
    """Print the first 16 characters of a digest in fours, for comparing by eye."""
    return " ".join(digest[at : at + 4] for at in range(0, 16, 4))


def unprintable(text: str) -> list[str]:
    """List the characters of `text` that the shipped font has no sign for, each once, in order."""
    if text.isascii():
        return []
    known = pdfmetrics.getFont(BODY).face.charToGlyph
    return list(dict.fromkeys(c for c in text if not c.isspace() and ord(c) not in known))


def plain(text: str) -> str:
    """Return text as it is printed; N/A for nothing.

    A character without a sign in the font is printed as its code point, [U+6F22], since an
    empty box would hide which one it was.
    """
    text = unicodedata.normalize("NFC", text).strip()
    for character in unprintable(text):
        text = text.replace(character, f"[U+{ord(character):04X}]")
    return text or NOT_AVAILABLE

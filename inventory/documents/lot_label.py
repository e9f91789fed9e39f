"""The label of a lot: its page as QR symbol, its number in large type, what it is and until when."""

import re
from dataclasses import dataclass
from datetime import date
from urllib.parse import unquote

from shop.documents.label import Label

# What a QR symbol holds in its small upper-case alphabet; the rest goes as %XX, which it holds too.
_PLAIN = re.compile(r"[^0-9A-Z$*+\-./:]")
_ADDRESS = re.compile(r"(?<!/)/L/([^/?#\s\x00-\x1f]+)", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class LotLabel:
    """What stores know of a lot; ``address`` is the short web address of its page."""

    number: str
    address: str
    part: str
    cure_date: str
    use_by: date | None
    pieces: int
    place: str

    def as_label(self) -> Label:
        """Return the label to print."""
        until = f"use by {self.use_by:%Y-%m-%d}" if self.use_by else "no use-by date"
        age = f"cured {self.cure_date}, {until}" if self.cure_date else until
        pieces = f"{self.pieces} piece{'' if self.pieces == 1 else 's'}"
        where = f"{pieces}, {self.place}" if self.place else pieces
        return Label(address=self.address, big=self.number, lines=(self.part, age, where))


def lot_address(base: str, number: str) -> str:
    """Return the short web address of a lot's page, in upper case as printed.

    The page answers to ``/L/`` as to ``/l/``, and finds the number in any case.
    """
    told = _PLAIN.sub(lambda found: "".join(f"%{byte:02X}" for byte in found[0].encode()), number.upper())
    return f"{base}/l/".upper() + told


def scanned_words(text: str) -> list[str]:
    """Return the words of a search, with the scan of a lot's label as the number of the lot."""
    return [read_lot_scan(word) or word for word in text.split()]


def read_lot_scan(text: str) -> str | None:
    """Return the lot number in a scan of a lot's label; None where the text is no such address."""
    found = set(_ADDRESS.findall(text))
    return unquote(found.pop()) if len(found) == 1 else None

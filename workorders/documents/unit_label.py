"""The label of a unit: its page as QR symbol, its serial in large type, what it is."""

from dataclasses import dataclass
from datetime import date

from shop.documents.label import Label
from workorders.calc.serial import grouped


@dataclass(frozen=True, kw_only=True)
class UnitLabel:
    """What receiving knows of a unit; ``address`` is the web address of its page.

    ``place`` is where it was mounted: what tells a left twin from a right one.
    """

    serial: str
    address: str
    unit_type: str
    place: str = ""
    work_order: str = ""
    received: date | None = None

    def as_label(self) -> Label:
        """Return the label to print; the address goes upper-case, which makes the symbol smaller."""
        received = f"received {self.received:%Y-%m-%d}" if self.received else ""
        lines = (self.unit_type, *filter(None, (self.place,)), self.work_order, received)
        return Label(address=self.address.upper(), big=grouped(self.serial), lines=lines)


def unit_address(base: str, serial: str) -> str:
    """Return the web address of a unit's page below the shop's public address, as printed.

    ``base`` has no slash at its end; scheme and host are the same in either case, and the page
    answers to ``/U/`` as to ``/u/``.
    """
    return f"{base}/u/{serial}".upper()

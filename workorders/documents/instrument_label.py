"""The label of an instrument: its page as QR symbol, its code in large type, calibrated and due."""

from dataclasses import dataclass
from datetime import date

from shop.documents.label import Label


@dataclass(frozen=True, kw_only=True)
class InstrumentLabel:
    """What the register knows of an instrument; ``address`` is the web address of its page."""

    code: str
    address: str
    name: str
    calibrated_on: date | None
    due_on: date | None
    out_of_tolerance: bool = False

    def as_label(self) -> Label:
        """Return the label to print; one left out of tolerance says so in place of its dates."""
        if self.out_of_tolerance:
            return Label(
                address=self.address, big=self.code, lines=(self.name, "OUT OF TOLERANCE", "do not use")
            )
        calibrated = f"calibrated {self.calibrated_on:%Y-%m-%d}" if self.calibrated_on else "not calibrated"
        due = f"due {self.due_on:%Y-%m-%d}" if self.due_on else ""
        return Label(address=self.address, big=self.code, lines=(self.name, calibrated, due))


def instrument_address(base: str, pk: int) -> str:
    """Return the short web address of an instrument's page, in upper case as printed."""
    return f"{base}/g/{pk}".upper()

"""The label of a rig: its page as QR symbol, its code in large type, what it is and where it stands."""

from dataclasses import dataclass

from shop.documents.label import Label


@dataclass(frozen=True, kw_only=True)
class RigLabel:
    """What the register knows of a rig; ``address`` is the web address of its page."""

    code: str
    address: str
    name: str
    place: str

    def as_label(self) -> Label:
        """Return the label to print."""
        return Label(address=self.address, big=self.code, lines=(self.name, self.place, ""))


def rig_address(base: str, pk: int) -> str:
    """Return the short web address of a rig's page, in upper case as printed."""
    return f"{base}/r/{pk}".upper()

"""The tag on the ports of a unit that leaves: the fluid inside, what to fill, which caps to take off."""

from dataclasses import dataclass

from shop.documents.label import Label
from workorders.calc.serial import grouped

CAUTION = "Open slowly over a tray; keep oil off skin and eyes."  # common practice, no source


@dataclass(frozen=True, kw_only=True)
class PortTag:
    """What whoever unpacks a unit must see first; ``capped`` are codes of ports with a cap.

    ``inside_ml`` is how much fluid was left inside, where somebody measured it. A unit that goes
    back ``as_found`` has nothing to fill: it is not fit to work.
    """

    serial: str
    address: str
    fluid_inside: str
    fluid_to_fill: str = ""
    inside_ml: float | None = None
    capped: tuple[str, ...] = ()
    as_found: bool = False

    def as_label(self) -> Label:
        """Return the label to print."""
        caps = f"Take off caps: {', '.join(self.capped)}" if self.capped else "No caps"
        amount = f", {self.inside_ml:g} mL" if self.inside_ml is not None else ""
        inside = f"Inside: {self.fluid_inside}{amount}"
        last = "AS FOUND: not tested, do not fit" if self.as_found else f"Fill: {self.fluid_to_fill}"
        lines = (caps, inside, last, CAUTION)
        return Label(address=self.address.upper(), big=grouped(self.serial), lines=lines)

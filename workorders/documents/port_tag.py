"""The tag on the ports of a unit that leaves: the fluid inside, what to fill, which caps to take off."""

from dataclasses import dataclass

from shop.documents.label import Label
from workorders.calc.serial import grouped


@dataclass(frozen=True, kw_only=True)
class PortTag:
    """What whoever unpacks a unit must see first; ``capped`` are codes of ports with a cap."""

    serial: str
    address: str
    fluid_inside: str
    fluid_to_fill: str
    capped: tuple[str, ...] = ()

    def as_label(self) -> Label:
        """Return the label to print."""
        caps = f"Take off caps: {', '.join(self.capped)}" if self.capped else "No caps"
        fill = f"Fill: {self.fluid_to_fill}"
        inside = f"Inside: {self.fluid_inside}"
        return Label(address=self.address.upper(), big=grouped(self.serial), lines=(caps, inside, fill))

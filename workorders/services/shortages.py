"""What open work is short of, part by part: needed, on the shelf, to come, short, and what stands in."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from inventory.models import Part
from inventory.services.order_facts import Stock
from workorders.services.open_work import OpenWork, PartWanted, UnitParts, open_work


@dataclass(kw_only=True)
class PartShortage:
    """One part that open work needs by its kits; all figures are pieces."""

    part: Part
    stock: Stock
    free: int = 0  # usable on the shelf and promised to nobody
    wanted: list[PartWanted] = field(default_factory=list)  # where this part itself is to go in
    replaced: list[PartWanted] = field(default_factory=list)  # where an alternative stands in for it
    before: int = 0  # promised to work that is served before, where only some work is shown

    @property
    def in_packed(self) -> int:
        """Pieces that lie ready in packed kits."""
        return sum(row.pieces for row in self.wanted if row.packed)

    @property
    def needed(self) -> int:
        """Pieces still to be fitted where the kit prefers this part, and where it stands in itself."""
        return sum(row.pieces for row in self.wanted) + self.stood_in

    @property
    def stood_in(self) -> int:
        """Pieces for which an alternative stands in."""
        return sum(_replaced(row, self.part) for row in self.replaced)

    @property
    def short(self) -> int:
        """Pieces that neither shelf, packed kit nor alternative can give."""
        return sum(row.short for row in self.wanted)

    @property
    def shelf(self) -> int:
        """Usable pieces on the shelf."""
        return self.stock.shelf

    @property
    def on_order(self) -> int:
        """Pieces on order or in quarantine."""
        return self.stock.ordered

    @property
    def drafted(self) -> int:
        """Pieces on drafts of orders, which nobody has sent."""
        return self.stock.drafted

    @property
    def to_order(self) -> int:
        """Pieces that are short and not on order either."""
        return max(0, self.short + self.stood_in - self.on_order - self.drafted)

    @property
    def short_at(self) -> list[PartWanted]:
        """Where it is short."""
        return [row for row in self.wanted if row.short]

    @property
    def others(self) -> list[Part]:
        """Alternatives that the kits name where it is short; none of them is there in full."""
        found = {line.part_id: line.part for row in self.short_at for line in row.others}
        return list(found.values())

    @property
    def state(self) -> tuple[str, str]:
        """Word and shape."""
        if self.short:
            coming = self.on_order >= self.short
            return (
                (f"short of {self.short}, on order", "wait") if coming else (f"short of {self.short}", "bad")
            )
        if self.stood_in:
            return "an alternative stands in", "warn"
        return "all there", "good"


def _replaced(row: PartWanted, part: Part) -> int:
    return sum(line.quantity for line in row.instead_of if line.part_id == part.pk)


def shortages(*, on: date, of: Collection[int] | None = None) -> tuple[list[PartShortage], list[UnitParts]]:
    """Return what all open work needs, or the rebuilds with the keys ``of``; parts by number, and units.

    A part whose places are all filled is left out. The number of queries does not grow.
    """
    work = open_work(on=on, until=of)
    units = [unit for unit in work.units if of is None or unit.rebuild.pk in of]
    rows = _by_part(work, units)
    if of is not None:
        for unit in work.units:
            for row in unit.wanted:
                if unit.rebuild.pk not in of and row.line.part_id in rows:
                    rows[row.line.part_id].before += row.given
    return sorted(rows.values(), key=lambda row: row.part.number), units


def _by_part(work: OpenWork, units: Iterable[UnitParts]) -> dict[int, PartShortage]:
    found: dict[int, PartShortage] = {}

    def at(part: Part) -> PartShortage:
        if part.pk not in found:
            stock = work.stores.stock.get(part.pk) or Stock()
            found[part.pk] = PartShortage(part=part, stock=stock, free=work.stores.left[part.pk])
        return found[part.pk]

    for unit in units:
        for row in unit.wanted:
            at(row.line.part).wanted.append(row)
            for part in {line.part_id: line.part for line in row.instead_of}.values():
                at(part).replaced.append(row)
    return found


def needed_from_shelf(on: date) -> Mapping[int, int]:
    """Return the pieces that open work wants from shelf or orders, by the key of the part.

    Pieces in packed kits are left out, since they are promised already; where an alternative
    stands in, the preferred part is what is wanted.
    """
    rows, _units = shortages(on=on)
    return {row.part.pk: needed for row in rows if (needed := row.needed - row.in_packed)}

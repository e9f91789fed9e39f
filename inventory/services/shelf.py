"""What lies on the shelf lot by lot and place by place, and which pieces to take for a want."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import F

from inventory.models import Balance, Lot
from inventory.services.stock import KIT_PREFIX


@dataclass
class ShelfLot:
    """Pieces of one lot at one place that may be used; ``left`` shrinks as they are picked."""

    lot: Lot
    place: str
    left: int


@dataclass(frozen=True)
class Taken:
    """So many pieces of one lot at one place."""

    lot: Lot
    place: str
    pieces: int


class Shelf:
    """The usable pieces of some parts, first expired first."""

    def __init__(self, *, parts: Collection[int], on: date) -> None:
        rows = Balance.objects.filter(
            quantity__gt=0, lot__part__in=parts, lot__in=Lot.objects.usable(on=on)
        ).exclude(place__startswith=KIT_PREFIX)
        first = F("lot__use_by").asc(nulls_last=True)
        rows = rows.select_related("lot__part").order_by(first, "lot__received_on", "lot__number", "place")
        self.by_part: dict[int, list[ShelfLot]] = defaultdict(list)
        for row in rows:
            self.by_part[row.lot.part_id].append(ShelfLot(row.lot, row.place, row.quantity))

    def take(self, *, part: int, pieces: int) -> list[Taken]:
        """Take pieces of a part: of the first lot that holds enough at one place, else of several.

        Less than asked, or nothing, where the shelf holds no more.
        """
        rows = self.by_part[part]
        enough = [row for row in rows if row.left >= pieces][:1]
        taken = []
        for row in enough or rows:
            count = min(pieces, row.left)
            if count:
                row.left -= count
                pieces -= count
                taken.append(Taken(row.lot, row.place, count))
        return taken

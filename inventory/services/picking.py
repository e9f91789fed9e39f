"""First expired, first out: which lot should be taken, and a reason where another one is."""

from dataclasses import dataclass
from datetime import date

from inventory.models import Lot
from inventory.services.stock import KIT_PREFIX
from shop.errors import RuleBroken

# Asked at every piece taken: as text, since building the query takes longer than running it.
_EARLIER = """
SELECT l.* FROM inventory_lot l
WHERE l.part_id = %s AND l.state = %s AND l.use_by >= %s AND l.use_by < %s AND EXISTS (
  SELECT 1 FROM inventory_balance b WHERE b.lot_id = l.id AND b.quantity >= %s AND b.place NOT LIKE %s)
ORDER BY l.use_by, l.received_on, l.number LIMIT 1
"""


@dataclass(frozen=True, kw_only=True)
class Pick:
    """A lot in the hand, and the one that should go first, if there is one."""

    lot: Lot
    first: Lot | None = None

    @property
    def warning(self) -> str:
        """What is passed over; empty where the lot in the hand is the one to take."""
        if self.first is None:
            return ""
        until = f" and lot {self.lot} on {self.lot.use_by:%d %b %Y}" if self.lot.use_by else ""
        return f"Lot {self.first} expires on {self.first.use_by:%d %b %Y}{until}."


def pick_of(*, lot: Lot, quantity: int, on: date) -> Pick:
    """Look whether a usable lot of the same part expires earlier and one place holds enough of it.

    Lots that expire on the same day, or never, may be taken in any order.
    """
    until = lot.use_by or date.max
    found = Lot.objects.raw(
        _EARLIER, [lot.part_id, Lot.State.ACCEPTED, on, until, quantity, KIT_PREFIX + "%"]
    )
    return Pick(lot=lot, first=next(iter(found), None))


def checked_pick(*, lot: Lot, quantity: int, on: date, reason: str) -> Pick:
    """Return the pick; raise RuleBroken where an earlier lot is passed over without a reason."""
    pick = pick_of(lot=lot, quantity=quantity, on=on)
    if pick.first and not reason.strip():
        message = f"{pick.warning} Take lot {pick.first}, or say why this one."
        raise RuleBroken(fields={"lot_reason": message})
    return pick

"""What a piece of a lot cost, corrected later; lots made here from it follow."""

from decimal import Decimal

from inventory.models import Lot, Making
from inventory.services.making import cost_of_made
from inventory.services.stock import check_reason
from shop.errors import RuleBroken
from shop.services.writing import Act, keep, locked, service


@service("costs")
def correct_cost(*, act: Act, lot: Lot, unit_cost: Decimal | None) -> Lot:
    """Change what a piece of a lot cost, for the reason in ``act.why``; None where nobody knows.

    In the shop's currency, up to four decimals. Lots made here from it are reckoned anew, however
    deep, each with its history. Raises RuleBroken for the cost that stands, a negative one, and for
    a lot that was made here from others: its cost is that of its inputs.
    """
    check_reason(act)
    row = locked(lot)
    if Making.objects.filter(lot=row, inputs__isnull=False).exists():
        message = f"Lot {row} was made here: its cost is that of what went in. Correct the cost there."
        raise RuleBroken(fields={"unit_cost": message})
    if row.unit_cost == unit_cost:
        raise RuleBroken(fields={"unit_cost": "That is the cost that stands."})
    row.unit_cost = unit_cost
    keep(row)
    _follow(row)
    return row


def _follow(lot: Lot) -> None:
    """Reckon anew the lots made from a lot; the tree has no rings, so this ends."""
    made = Lot.objects.filter(making__inputs__movement__lot=lot).order_by("pk").distinct()
    for each in made:
        above = locked(each)
        inputs = above.making.inputs.select_related("movement__lot")
        cost = cost_of_made(above.quantity_received, [row.movement for row in inputs])
        if cost != above.unit_cost:
            above.unit_cost = cost
            keep(above)
            _follow(above)

"""What suppliers sell: numbers, lead times, packs and price lists."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from inventory.models import PriceBreak, SupplierPart
from shop.errors import RuleBroken
from shop.services.writing import Act, keep, locked, service


@service("stores")
def save_supplier_part(*, act: Act, supplier_part: SupplierPart | None = None, **fields: Any) -> SupplierPart:
    """Enter what a supplier sells of a part, or change it for the reason in ``act.why``.

    The first supplier of a part is where it is ordered; the mark moves when another one gets it.
    Raises RuleBroken for a wrong field, and a change without a reason.
    """
    row = locked(supplier_part) if supplier_part else SupplierPart()
    if supplier_part and not act.why.strip():
        raise RuleBroken(fields={"why": "Say why this is changed; the reason stays in the history."})
    for name, value in fields.items():
        setattr(row, name, value)
    others = SupplierPart.objects.filter(part=row.part, preferred=True).exclude(pk=row.pk)
    if not supplier_part and not others.exists():
        row.preferred = True
    if row.preferred:
        for other in others.select_for_update():
            other.preferred = False
            keep(other)
    return keep(row)


@service("stores")
def save_prices(
    *, act: Act, supplier_part: SupplierPart, valid_from: date, prices: Sequence[tuple[int, Decimal]]
) -> SupplierPart:
    """Enter a supplier's price list that is valid from a day: pairs of quantity and price of a piece.

    A list of the same day is replaced, for the reason in ``act.why``; lists of other days stay.
    Raises RuleBroken for an empty list, and for prices that do not stand at rising quantities.
    """
    row = locked(supplier_part)
    quantities = [quantity for quantity, _price in prices]
    if not prices or quantities != sorted(set(quantities)):
        message = "Enter each quantity once, the smallest first, with its price."
        raise RuleBroken(fields={"prices": message})
    stored = {one.quantity: one for one in row.price_breaks.filter(valid_from=valid_from)}
    if stored and not act.why.strip():
        message = "There is a list from that day already. Say why it is replaced."
        raise RuleBroken(fields={"why": message})
    for quantity, price in prices:
        line = stored.pop(quantity, None) or PriceBreak(
            supplier_part=row, valid_from=valid_from, quantity=quantity
        )
        line.price = price
        keep(line)
    for gone in stored.values():
        gone.delete()
    return row

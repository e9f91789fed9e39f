"""Purchase orders: drafted, sent, delivered lot by lot, closed or cancelled."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone

from inventory.models import Lot, OrderLine, Part, PurchaseOrder, Supplier, SupplierPart
from inventory.models.supplier_part import price_of, prices_on
from shop.errors import RuleBroken
from shop.services.numbering import next_number
from shop.services.writing import Act, keep, locked, service

State = PurchaseOrder.State


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """A part and how many pieces of it to order; without a price the supplier's list gives it."""

    part: Part
    quantity: int
    unit_price: Decimal | None = None


@service("stores")
def draft_order(
    *, act: Act, supplier: Supplier, wanted: Iterable[Wanted] = (), note: str = ""
) -> PurchaseOrder:
    """Draft an order to a supplier; nothing is ordered until it is sent."""
    order = keep(
        PurchaseOrder(
            number=next_number("P", act.at),
            supplier=supplier,
            note=note.strip(),
            drafted_at=act.at,
            drafted_by=act.by,
        )
    )
    for one in wanted:
        save_order_line(act=act, order=order, part=one.part, quantity=one.quantity, unit_price=one.unit_price)
    return order


@service("stores")
def change_order(*, act: Act, order: PurchaseOrder, note: str) -> PurchaseOrder:
    """Change the note to the supplier of a draft."""
    row = _draft(order)
    row.note = note.strip()
    return keep(row)


@service("stores")
def save_order_line(
    *,
    act: Act,
    order: PurchaseOrder,
    part: Part,
    quantity: int,
    unit_price: Decimal | None = None,
    line: OrderLine | None = None,
) -> OrderLine:
    """Put a part on a draft, or change its line; an empty price is filled from the supplier's list.

    Raises RuleBroken for an order that was sent, for no pieces, and for a part that is on it already.
    """
    row = _draft(order)
    found = locked(line) if line else OrderLine(order=row)
    sold = SupplierPart.objects.filter(part=part, supplier=row.supplier).first()
    if unit_price is None and sold:
        prices = prices_on(list(sold.price_breaks.all()), timezone.localdate(act.at))
        unit_price = price_of(prices, quantity)
    found.part, found.quantity, found.unit_price = part, quantity, unit_price
    found.supplier_number = sold.number if sold else ""
    return keep(found)


@service("stores")
def remove_order_line(*, act: Act, line: OrderLine) -> PurchaseOrder:
    """Take a line off a draft."""
    order = _draft(line.order)
    locked(line).delete()
    return order


@service("stores")
def send_order(*, act: Act, order: PurchaseOrder) -> PurchaseOrder:
    """Record that a draft went to the supplier; from now on its lines stay as they are."""
    row = _draft(order)
    if not row.lines.exists():
        raise RuleBroken("There is nothing on this order: add a part before it is sent.")
    row.state, row.sent_at, row.sent_by = State.SENT, act.at, act.by
    return keep(row)


@service("stores")
def cancel_order(*, act: Act, order: PurchaseOrder) -> PurchaseOrder:
    """Cancel an order of which nothing came, for the reason in ``act.why``."""
    row = locked(order)
    if row.state not in (State.DRAFTED, State.SENT):
        raise RuleBroken(f"Order {row} is {row.get_state_display()}; only a whole order is cancelled.")
    return _end(act, row, State.CANCELLED)


@service("stores")
def close_order(*, act: Act, order: PurchaseOrder) -> PurchaseOrder:
    """Close an order of which the rest will not come, for the reason in ``act.why``."""
    row = locked(order)
    if row.state != State.PARTLY:
        raise RuleBroken(
            f"Order {row} is {row.get_state_display()}; one that is partly delivered can be closed."
        )
    return _end(act, row, State.CLOSED)


@service("stores")
def note_delivery(*, act: Act, lot: Lot, over_reason: str = "") -> OrderLine:
    """Check a lot that came for an order line, and bring the order's state along.

    Raises RuleBroken where part or supplier are others, where nothing is awaited, and where more
    came than was ordered without a reason.
    """
    assert lot.order_line_id
    line = OrderLine.objects.select_related("order__supplier", "part").get(pk=lot.order_line_id)
    order = locked(line.order, fixed=("supplier",))
    if not order.is_awaited:
        message = f"Order {order} is {order.get_state_display()}: nothing is awaited for it."
        raise RuleBroken(fields={"order_line": message})
    if (lot.part_id, lot.supplier_id) != (line.part_id, order.supplier_id):
        message = f"That line is for {line.part} of {order.supplier}, not for what is received."
        raise RuleBroken(fields={"order_line": message})
    _check_over(line, over_reason)
    _refresh(act, order)
    return line


def _check_over(line: OrderLine, over_reason: str) -> None:
    over = sum(line.lots.values_list("quantity_received", flat=True)) - line.quantity
    if over <= 0:
        return
    if not over_reason.strip():
        message = f"With this lot {over} more came than ordered. Say why they are kept."
        raise RuleBroken(fields={"over_reason": message})
    line.over_reason = over_reason.strip()
    keep(line)


def _refresh(act: Act, order: PurchaseOrder) -> None:
    """Set the state that follows from the lots received."""
    waiting = OrderLine.objects.outstanding().filter(order=order).exists()
    order.state = State.PARTLY if waiting else State.CLOSED
    if not waiting:
        order.ended_at, order.ended_by = act.at, act.by
    keep(order)


def _draft(order: PurchaseOrder) -> PurchaseOrder:
    row = locked(order, fixed=("supplier",))
    if not row.is_draft:
        raise RuleBroken(f"Order {row} is {row.get_state_display()}: its lines stay as they were sent.")
    return row


def _end(act: Act, order: PurchaseOrder, state: str) -> PurchaseOrder:
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why; the reason stays with the order."})
    order.state, order.end_reason = state, act.why.strip()[:300]
    order.ended_at, order.ended_by = act.at, act.by
    return keep(order)

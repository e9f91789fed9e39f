"""Purchasing in the demo: who sells what for how much, an order that is awaited and one partly delivered."""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal

from inventory.models import PurchaseOrder, Supplier
from inventory.services.purchasing import Wanted, draft_order, send_order
from inventory.services.supplier_parts import save_prices, save_supplier_part
from shop.roles import STORES
from workorders.demo.stock import Shelf, cost_of
from workorders.demo.world import Process, World, dice, in_hours

PARTLY = (60, 25)  # pieces of the first parts that the supplier sells
OPEN = (20,)
PARTLY_DAYS_AGO, CAME_DAYS_AGO, OPEN_DAYS_AGO = 19, 6, 3
SELLS_CLIPS = 2  # the supplier of everything that is no seal


def enter_suppliers_parts(world: World) -> None:
    """Enter who sells each part, with lead time, pack and price breaks."""
    for number, part in world.parts.items():
        throw = dice("sells", number)
        supplier = world.suppliers[throw.randrange(2) if part.polymer else SELLS_CLIPS]
        price = cost_of(part)
        row = save_supplier_part(
            act=world.act(STORES),
            part=part,
            supplier=supplier,
            number=f"{throw.randint(100, 999)}-{throw.randint(1000, 9999)}",
            lead_days=throw.choice([14, 21, 28, 42]),
            pack_size=throw.choice([1, 5, 10]) if price < 1 else 1,
        )
        prices = [(1, price), (25, _less(price, "0.92")), (100, _less(price, "0.80"))]
        save_prices(act=world.act(STORES), supplier_part=row, valid_from=world.time.date(), prices=prices)


def _less(price: Decimal, share: str) -> Decimal:
    return (price * Decimal(share)).quantize(Decimal("0.001"))


def order_lately(shelf: Shelf) -> None:
    """Let the shop order by paper in its last weeks: one order partly delivered, one still awaited."""
    world = shelf.world
    world.begin(_partly(shelf), _days_ago(world, PARTLY_DAYS_AGO))
    world.begin(_open(world), _days_ago(world, OPEN_DAYS_AGO))


def _partly(shelf: Shelf) -> Process:
    world = shelf.world
    order = _send(world, world.suppliers[0], PARTLY)
    yield _days_ago(world, CAME_DAYS_AGO)
    line = order.lines.select_related("part").order_by("pk")[0]
    shelf.receive(line.part, line.quantity, age_days=100, supplier=order.supplier, order_line=line)


def _open(world: World) -> Process:
    _send(world, world.suppliers[SELLS_CLIPS], OPEN)
    return
    yield


def _send(world: World, supplier: Supplier, pieces: Sequence[int]) -> PurchaseOrder:
    sold = supplier.supplier_parts.select_related("part").order_by("part__number")
    wanted = [Wanted(part=row.part, quantity=count) for row, count in zip(sold, pieces, strict=False)]
    order = draft_order(act=world.act(STORES), supplier=supplier, wanted=wanted)
    return send_order(act=world.act(STORES), order=order)


def _days_ago(world: World, days: int) -> dt.datetime:
    return in_hours(world.now - dt.timedelta(days=days))

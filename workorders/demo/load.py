"""Load the demo shop: catalogue, stores, and about four years of work, in one transaction."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction

from inventory.models import Part
from shop.errors import RuleBroken
from shop.models import Customer, ShopProfile, User
from shop.services.writing import staging
from workorders.demo import after, life
from workorders.demo.announced import plan_last_boxes
from workorders.demo.boxes import enter_customers, pack_ahead, plan_boxes
from workorders.demo.catalogue import REASON, enter_catalogue
from workorders.demo.dispatch import plan_last_parcels
from workorders.demo.found_out import find_out_wrench
from workorders.demo.job import Agenda, Works
from workorders.demo.made_here import plan_made_here
from workorders.demo.money import plan_money
from workorders.demo.purchasing import enter_suppliers_parts, order_lately
from workorders.demo.recall import recall_bad_lot
from workorders.demo.rigs import connect_rigs
from workorders.demo.stock import open_stores
from workorders.demo.technique import teach
from workorders.demo.unknown import plan_unknown_unit
from workorders.demo.world import World, in_hours
from workorders.models import Unit

FULL_SIZE = 400
# What happens a few times only, how often in a full history.
RARE = {
    "debris": 6,
    "worn rod": 14,
    "tight": 7,
    "slow": 3,
    "slow, not decided": 1,
    "fast": 2,
    "wrong file": 1,
    "foreign rig fluid": 2,
    "reissue": 2,
    "sent to the owner": 4,
    "returned": 9,
    "scrapped": 5,
    "kept as core": 8,
}
LATE_CALLS_DAYS_AGO = (6, 3, 1)


@dataclass(frozen=True)
class Loaded:
    """What a load left behind."""

    rebuilds: int
    until: datetime


def has_demo() -> bool:
    """Whether the database holds the demo shop: the history of its profile says so for good."""
    return bool(ShopProfile.history.filter(history_change_reason=REASON).exists())


def is_empty() -> bool:
    """Whether nobody has entered anything yet."""
    return not any(model._default_manager.exists() for model in (User, Customer, Unit, Part))


def load_demo(
    *, now: datetime, size: int = FULL_SIZE, say: Callable[[str], None] = lambda _line: None
) -> Loaded:
    """Load the demo as it stands at ``now``; the same time and size give the same shop.

    ``size`` is about how many rebuilds come of it; ``say`` is told the month reached, at each
    rebuild. Raises RuleBroken, and changes nothing, unless the database is empty.
    """
    if not is_empty():
        raise RuleBroken(
            "This database holds other records already; the demo is loaded into an empty one only."
        )
    world = World(now=now.replace(microsecond=0), size=size, say=say)
    with staging(), transaction.atomic():
        enter_catalogue(world)
        own_stock = enter_customers(world)
        enter_suppliers_parts(world)
        shelf = open_stores(world)
        plan_made_here(shelf)
        plan_money(shelf)
        order_lately(shelf)
        works = Works(world, shelf, Agenda(world), own_stock, life.arrive)
        _plan(works)
        world.run()
        recall_bad_lot(shelf)
        find_out_wrench(world)
        connect_rigs(world)
    return Loaded(rebuilds=world.rebuilds, until=world.now)


def _plan(works: Works) -> None:
    world = works.world
    for thing, times in RARE.items():
        works.agenda.plan(thing, max(1, round(times * world.size / FULL_SIZE)))
    plan_boxes(works)
    plan_last_boxes(works)
    plan_unknown_unit(works)
    world.begin(teach(world), in_hours(world.now - timedelta(days=5, hours=3)))
    plan_last_parcels(works)
    world.begin(pack_ahead(works.shelf), world.start)
    for number, days in enumerate(LATE_CALLS_DAYS_AGO):
        at = in_hours(world.now - timedelta(days=days, hours=10))
        world.begin(after.late_call(works, number), min(at, world.now))

"""Money in the demo: what an hour costs, minutes of work, invoices, what the plater charged."""

from datetime import timedelta
from decimal import Decimal

from django.utils import timezone

from inventory.models import Lot
from inventory.services.lot_cost import correct_cost
from shop.roles import LEAD, STORES
from shop.services.profile import set_labour_rate
from workorders.demo.job import Job
from workorders.demo.stock import Shelf
from workorders.demo.world import Process, World, dice
from workorders.models import Claim, OutsideWork, WorkTime
from workorders.services import prices

# The shop began to write down invoices and minutes a year and a half ago.
BEGAN = timedelta(days=550)
CORRECTED = timedelta(days=40, hours=5)
RATES = (("38.00", BEGAN), ("41.50", timedelta(days=240)))
# Least and most minutes of each kind of work on one unit; invented.
MINUTES = {WorkTime.Kind.TEARDOWN: (20, 55), WorkTime.Kind.BUILD: (35, 110), WorkTime.Kind.TEST: (15, 40)}


def plan_money(shelf: Shelf) -> None:
    """Let the lead enter the cost of an hour, and stores correct the cost of a lot."""
    world = shelf.world
    for per_hour, before in RATES:
        world.begin(_enter_rate(world, Decimal(per_hour)), max(world.start, world.now - before))
    world.begin(_correct(world), max(world.start, world.now - CORRECTED))


def _enter_rate(world: World, per_hour: Decimal) -> Process:
    day = timezone.localdate(world.time)
    set_labour_rate(act=world.act(LEAD), valid_from=day, per_hour=per_hour)
    return
    yield


def _correct(world: World) -> Process:
    """The invoice of the latest lot that was used says another price than the delivery note."""
    used = Lot.objects.filter(parts_used__isnull=False, unit_cost__isnull=False, made_here=False)
    lot = used.order_by("-received_on", "-pk").first()
    if lot and lot.unit_cost is not None:
        act = world.act(STORES, "the supplier's invoice says otherwise than the delivery note")
        correct_cost(act=act, lot=lot, unit_cost=round(lot.unit_cost * Decimal("1.125"), 4))
    return
    yield


def settle(job: Job) -> None:
    """Write down minutes and the invoice of a unit that was just released."""
    if job.world.now - job.world.time > BEGAN:
        return
    throw, rebuild = dice(job.name, "money"), job.rebuild
    day = timezone.localdate(job.world.time)
    if throw.random() < 0.7:
        for kind, (least, most) in MINUTES.items():
            minutes, act = 5 * throw.randint(least // 5, most // 5), job.bench()
            prices.record_work_time(
                act=act, rebuild=rebuild, kind=kind, done_by=act.by, worked_on=day, minutes=minutes
            )
    if job.exchange or Claim.objects.filter(rebuild=rebuild).exists() or throw.random() < 0.25:
        return
    amount = Decimal(job.kind.data["price"] + 5 * throw.randint(-3, 9))
    number = f"R{rebuild.pk:05d}"
    prices.record_price(act=job.lead(), rebuild=rebuild, amount=amount, invoice=number)


def charge(job: Job, work: OutsideWork) -> None:
    """Enter what the plater charged; of one in five nobody has seen the invoice."""
    throw = dice(job.name, "plater's invoice")
    if throw.random() < 0.8:
        price = Decimal(throw.randint(360, 640)) / 10
        prices.set_outside_price(act=job.world.act(STORES), work=work, price=price)

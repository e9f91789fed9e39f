"""The last parcels of the demo: a bench half packed, a part shipment, a core that is owed."""

from datetime import timedelta

from shop.roles import RECEIVING
from workorders.demo.boxes import days_ago, make_job
from workorders.demo.job import Job, Story, Works
from workorders.demo.world import Process, World
from workorders.models import PackingLine, PackingUnit, Rebuild, Shipment
from workorders.services import packing, receiving

Stage, Destination = Rebuild.Stage, Rebuild.Destination
LEFT_INSIDE_ML = 12.0  # what this invented clerk poured back in


def plan_last_parcels(works: Works) -> None:
    """Let a set of two come whose first unit leaves alone, and the bench be busy in the last days."""
    world = works.world
    customer = world.customers[4]
    pair = [
        make_job(works, world.types["TQ-C25"], customer, "pair 0", Story(stop="released"), 0),
        make_job(works, world.types["TQ-C25"], customer, "pair 1", Story(stop="go-ahead"), 1),
    ]
    works.post(customer, pair, days_ago(world, 21))
    for days, story in ((3, _part_shipment(pair[0])), (2, _core_owed(works)), (1, _half_packed(world))):
        world.begin(story, days_ago(world, days))


def _check(world: World, unit: PackingUnit, leave: int = 0) -> None:
    """Check what goes with a unit, but for the last few things."""
    lines = list(unit.lines.all())
    for line in lines[: len(lines) - leave]:
        volume_ml = LEFT_INSIDE_ML if line.kind == PackingLine.Kind.INSIDE else None
        packing.pack_line(act=world.act(RECEIVING), line=line, volume_ml=volume_ml)


def _send(world: World, unit: PackingUnit) -> Shipment:
    customer = unit.parcel.packing.work_order.customer
    return packing.send_off(
        act=world.act(RECEIVING),
        packing=unit.parcel.packing,
        recipient=customer,
        address="\n".join([customer.name, *customer.address_lines]),
        carrier=world.words["carriers"][0],
    )


def _part_shipment(job: Job) -> Process:
    """Send the unit that is ready; its mate waits for the bench."""
    if not hasattr(job, "rebuild") or not job.box or _fresh(job.rebuild).stage != Stage.RELEASED:
        return
    world = job.world
    bench = packing.begin_packing(act=world.act(RECEIVING), work_order=job.box.order)
    parcel = bench.parcels.get()
    unit = packing.put_in(act=world.act(RECEIVING), parcel=parcel, rebuild=_fresh(job.rebuild))
    yield world.after(minutes=9)
    _check(world, unit)
    packing.close_parcel(act=world.act(RECEIVING), parcel=parcel, weight_kg=3.4, size_cm=(55.0, 18.0, 14.0))
    yield world.after(minutes=5)
    _send(world, unit)


def _core_owed(works: Works) -> Process:
    """Send a unit from the shelf to a customer whose machine stands still; the core comes later."""
    world = works.world
    code = next((code for code in sorted(works.exchange) if works.exchange[code]), None)
    if code is None:
        return
    given = works.exchange[code].pop(0).rebuild
    order = receiving.open_work_order(
        act=world.act(RECEIVING), customer=world.customers[6], note="Exchange unit asked for by telephone."
    )
    bench = packing.begin_packing(act=world.act(RECEIVING), work_order=order)
    unit = packing.put_in(
        act=world.act(RECEIVING),
        parcel=bench.parcels.get(),
        rebuild=_fresh(given),
        core_due=world.time.date() + timedelta(days=21),
    )
    yield world.after(minutes=12)
    _check(world, unit)
    _send(world, unit)


def _half_packed(world: World) -> Process:
    """Begin to pack a unit and be called away."""
    rows = Rebuild.objects.filter(stage=Stage.RELEASED, destination=Destination.CUSTOMER, packed__isnull=True)
    rows = rows.exclude(pk__in=PackingUnit.objects.lying().values("rebuild"))
    ready = rows.select_related("unit", "work_order__customer", "revision").order_by("pk").first()
    if ready is None:
        return
    bench = packing.begin_packing(act=world.act(RECEIVING), work_order=ready.work_order)
    unit = packing.put_in(act=world.act(RECEIVING), parcel=bench.parcels.get(), rebuild=ready)
    yield world.after(minutes=2)
    _check(world, unit, leave=2)


def _fresh(rebuild: Rebuild) -> Rebuild:
    rows = Rebuild.objects.select_related(
        "unit__unit_type", "work_order__customer", "revision__service_fluid"
    )
    return rows.get(pk=rebuild.pk)

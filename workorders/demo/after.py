"""After the work in the demo: parcels, exchange units, claims, and units that come back."""

from datetime import datetime, timedelta

from shop.models import Customer
from shop.roles import WARRANTY_DESK
from workorders.demo.job import Box, Job, Story, Works
from workorders.demo.world import Process, dice
from workorders.models import Claim, Rebuild, Shipment, Warranty, WorkOrder
from workorders.services import claims, shipping
from workorders.services.work_orders import settle_holder

Stage, Judgement = Rebuild.Stage, Claim.Judgement
COUNTER = "collected at the counter"
OLD_ENOUGH = timedelta(days=150)  # of a unit that a customer calls about in the last days
# What the customer reports, by what is wrong with the unit.
REPORTS = {
    "bad lot": "oil on the rod again, after a few months only",
    "weak": "grit at the rod, it scrapes and weeps",
    "assembly": "drips at the end cap since it was fitted",
    "declined": "sinks overnight; filled up with what was at hand",
    "age": "weeps a little at the rod after years of use",
}
JUDGED = {
    "bad lot": (Judgement.ACCEPTED, "cracked rod seal within months; the lot is looked into"),
    "weak": (Judgement.ACCEPTED, "the wiper of this type lets grit in; renewed at our cost"),
    "assembly": (Judgement.ACCEPTED, "seal nicked at our assembly"),
    "declined": (
        Judgement.DECLINED,
        "filled with water glycol and opened by others, against the fitting page",
    ),
    "goodwill": (Judgement.GOODWILL, "a few weeks past the end, first trouble in all that time"),
}


def send(box: Box) -> Process:
    """Pack and ship everything of a box that leaves, in one or two parcels."""
    leaving = [job for job in (*box.jobs, *box.extra) if _leaves(job)]
    if not leaving:
        return
    first = leaving[0]
    carrier = first.throw.choice(first.world.words["carriers"])
    split = len(leaving) > 2 or (len(leaving) == 2 and first.chance(0.3))
    groups = [leaving[::2], leaving[1::2]] if split else [leaving]
    at_once = carrier != COUNTER and first.chance(0.6)
    recipient = box.order.end_owner or first.customer
    shipment = shipping.ship(
        act=first.clerk(),
        work_order=box.order,
        recipient=recipient,
        address="\n".join([recipient.name, *recipient.address_lines]),
        carrier=carrier,
        parcels=[
            shipping.ParcelPlan(
                units=[_pack(job) for job in group], tracking=_tracking(first, n) if at_once else ""
            )
            for n, group in enumerate(groups)
        ],
    )
    yield first.minutes(60, 300)
    if carrier != COUNTER and not at_once:
        yield from _add_tracking(first, shipment)


def _leaves(job: Job) -> bool:
    return job.done and job.story.exit not in (Stage.SCRAPPED, Stage.EXCHANGE_CORE)


def for_the_owner(job: Job, order: WorkOrder) -> WorkOrder:
    """Name the owner now and then: the boatyard has it sent there, and the owner holds the warranty."""
    trade = job.customer.kind == Customer.Kind.TRADE and job.customer != job.works.own_stock
    owners = [row for row in job.world.customers if row.kind == Customer.Kind.OWNER]
    if not (trade and owners and job.agenda.take("sent to the owner")):
        return order
    return settle_holder(
        act=job.clerk("told by the yard"),
        work_order=order,
        holder=Customer.Holder.OWNER,
        end_owner=dice("owner", order.number).choice(owners),
    )


def _pack(job: Job) -> shipping.UnitPack:
    items = shipping.packing_items(job.rebuild)
    kept: dict[str, str] = {}
    hoses = [item for item in items if "hose" in item]
    if hoses and job.chance(0.12):
        kept[hoses[0]] = "cracked; thrown away with the customer's word"
    packed = [item for item in items if item not in kept]
    return shipping.UnitPack(
        rebuild=job.rebuild, packed=packed, caps_on=True, kept_back=kept, replaces=job.given_for
    )


def _tracking(job: Job, parcel: int) -> str:
    return f"{job.throw.choice('CH')}{dice(job.name, 'parcel', parcel).randint(10**9, 10**10 - 1)}"


def _add_tracking(job: Job, shipment: Shipment) -> Process:
    for parcel in shipment.parcels.all():
        shipping.add_tracking(act=job.clerk(), parcel=parcel, tracking=_tracking(job, parcel.number))
        yield job.minutes(1, 3)


def give_exchange_unit(job: Job) -> None:
    """Let a unit from the shelf leave in the place of a core that stays."""
    assert job.box
    unit = job.works.exchange[job.kind.code].pop(0)
    unit.customer, unit.given_for = job.customer, job.rebuild
    job.box.extra.append(unit)


def rebuild_core(job: Job) -> None:
    """Rebuild a kept core later, as stock of the shop; some are never worth it."""
    if job.chance(0.5):
        return
    core = _again(job, Story(problem="age"), "core")
    core.exchange, core.customer = True, job.works.own_stock
    job.works.post(job.works.own_stock, [core], job.days(15, 60))


def follow_up(job: Job) -> None:
    """Decide what becomes of a unit that has left: most are never heard of again."""
    if not _leaves(job) or job.followed or job.story.exit:
        return
    job.works.shipped.append(job)
    throw = dice(job.name, "after")
    weak = "weak_position" in job.kind.data
    if job.leaky_lot and throw.random() < 0.6:
        job.world.begin(_claim(job, "bad lot"), job.world.after(days=throw.randint(40, 190)))
    elif weak and throw.random() < 0.2:
        job.world.begin(_claim(job, "weak"), job.world.after(days=throw.randint(150, 640)))
    elif throw.random() < 0.025:
        job.world.begin(_claim(job, "assembly"), job.world.after(days=throw.randint(5, 160)))
    elif throw.random() < 0.02:
        job.world.begin(_claim(job, "declined"), job.world.after(days=throw.randint(60, 700)))
    elif throw.random() < 0.28:
        job.world.begin(_worn_again(job), job.world.after(days=throw.randint(560, 1300)))


def _again(job: Job, story: Story, name: str) -> Job:
    """Return the next pass of the same unit."""
    return Job(
        works=job.works,
        kind=job.kind,
        customer=job.customer,
        name=f"{job.name}/{name}",
        story=story,
        place=job.place,
        unit=job.unit,
    )


def _claim(job: Job, problem: str) -> Process:
    """Open a claim, judge it, and rebuild the unit again where it is not declined."""
    warranty = Warranty.objects.filter(rebuild=job.rebuild).select_related("holder").first()
    if warranty is None or job.followed:
        return
    job.followed = True
    judgement, reason = JUDGED[problem]
    claim = claims.open_claim(
        act=job.world.act(WARRANTY_DESK),
        warranty=warranty,
        claimant=warranty.holder,
        reported=REPORTS["age" if problem == "goodwill" else problem],
    )
    yield job.days(0.3, 4)
    claims.judge_claim(act=job.world.act(WARRANTY_DESK), claim=claim, judgement=judgement, reason=reason)
    if problem == "bad lot" and job.leaky_lot:
        job.shelf.leaked(job.leaky_lot)
    if judgement == Judgement.DECLINED and not job.chance(0.4):
        return
    _come_back(job, "age" if problem == "goodwill" else problem, job.days(3, 12), note=f"claim {claim}")


def _worn_again(job: Job) -> Process:
    """Send a unit in again after years: as a goodwill claim just past the warranty, or as plain work."""
    warranty = Warranty.objects.filter(rebuild=job.rebuild).first()
    days_over = (job.world.time.date() - warranty.ends_on).days if warranty else 0
    if 0 < days_over < 120:
        yield from _claim(job, "goodwill")
    elif not job.followed:
        job.followed = True
        _come_back(job, "age", job.world.time)


def _come_back(job: Job, problem: str, at: datetime, note: str = "") -> None:
    story = Story(problem=problem, early_word=job.chance(0.4))
    job.works.post(job.customer, [_again(job, story, "again")], at, note)


def late_call(works: Works, number: int) -> Process:
    """Open a claim in the last days: the first is judged and waits for its unit, the others wait."""
    problem = ("weak", "assembly", "age")[number % 3]
    job = next((job for job in reversed(works.shipped) if _may_claim(job, problem)), None)
    if job is None:
        return
    job.followed = True
    warranty = Warranty.objects.select_related("holder").get(rebuild=job.rebuild)
    claim = claims.open_claim(
        act=works.world.act(WARRANTY_DESK),
        warranty=warranty,
        claimant=warranty.holder,
        reported=REPORTS[problem],
    )
    yield works.world.after(hours=5)
    if number == 0:
        judgement, reason = JUDGED[problem]
        claims.judge_claim(
            act=works.world.act(WARRANTY_DESK), claim=claim, judgement=judgement, reason=reason
        )


def _may_claim(job: Job, problem: str) -> bool:
    fits = problem != "weak" or "weak_position" in job.kind.data
    if job.world.time - job.rebuild.received_at < OLD_ENOUGH:
        return False
    return fits and not job.followed and Warranty.objects.filter(rebuild=job.rebuild).exists()

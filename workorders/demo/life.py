"""The life of a unit in the demo: box, teardown, go-ahead, build, test, release, parcel, and back again."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from shop.models import Customer, Hose
from shop.roles import RECEIVING, WARRANTY_DESK
from workorders.calc.serial import draw_serial
from workorders.demo import after, money, outside, photos
from workorders.demo.assembly import build_up
from workorders.demo.bench import tear_down
from workorders.demo.job import Box, Job
from workorders.demo.rig import test_unit
from workorders.demo.world import Process, pick
from workorders.models import GoAhead, Rebuild, Release
from workorders.services import go_ahead, receiving, releasing, shipping

Exit = Rebuild.Stage


def arrive(customer: Customer, jobs: Sequence[Job], note: str) -> Process:
    """Open a customer's box: one work order, every unit in it received, each with its own life."""
    first = jobs[0]
    numbered = customer.kind == Customer.Kind.TRADE
    order = receiving.open_work_order(
        act=first.clerk(),
        customer=customer,
        customer_order=f"PO-{first.throw.randint(1000, 9999)}" if numbered else "",
        note=note,
    )
    box = Box(after.for_the_owner(first, order), list(jobs))
    yield first.minutes(2, 6)
    for job in jobs:
        job.box = box
        yield from _receive(job, box)
        job.world.rebuilds += 1
        job.world.say(f"{job.world.time:%b %Y}")
        job.world.begin(live(job), job.days(0.1, 2.5))
        yield job.minutes(3, 8)


def _receive(job: Job, box: Box) -> Process:
    words, throw = job.world.words, job.throw
    power = job.kind.unit_type.family == "power_unit"
    rows = list(job.kind.revision.hoses.all())
    fixed = [row.code for row in rows if row.attachment == Hose.Attachment.FIXED]
    hoses = fixed or [row.code for row in rows]
    intake: dict[str, Any] = {
        "mounting_place": job.place,
        "opened_before": _opened(job),
        "arrival_condition": throw.choice(words["arrivals"]),
        "reported": _reported(job, words["reported_power" if power else "reported"]),
        "destination": Rebuild.Destination.EXCHANGE if job.exchange else Rebuild.Destination.CUSTOMER,
        "hoses": hoses if fixed or throw.random() < 0.12 else hoses[:1] if throw.random() < 0.06 else (),
        "extra": [throw.choice(words["extras"])] if throw.random() < 0.15 else (),
        "missing": [throw.choice(words["missing"])] if throw.random() < 0.08 else (),
        "shelf": throw.choice(words["shelves"]),
    }
    if job.unit:
        row = receiving.add_known_unit(act=job.clerk(), work_order=box.order, unit=job.unit, **intake)
    else:
        row = receiving.add_new_unit(
            act=job.clerk(),
            work_order=box.order,
            unit_type=job.kind.unit_type,
            maker_serial=_maker_serial(job),
            draw=lambda: draw_serial(throw.choice),
            **intake,
        )
    job.adopt(row)
    if job.is_recent:
        yield from photos.take(job, "receiving", "as it came out of the box")


def _opened(job: Job) -> str:
    if job.story.problem == "declined":
        return "by_others"
    if job.unit:
        return "by_us"
    opened: str = pick(job.throw, [("not_before", 70), ("by_others", 22), ("not_clear", 8)])
    return opened


def _reported(job: Job, usual: list[str]) -> str:
    said: str = after.REPORTS.get(job.story.problem) or job.throw.choice(usual)
    return said


def _maker_serial(job: Job) -> str:
    if job.throw.random() < 0.3:
        return ""
    maker = "".join(word[0] for word in job.kind.data["maker"].split() if word[0].isalpha())
    return f"{maker}-{job.world.rebuilds % 89 + 10}{job.throw.randint(10000, 99999)}"


def live(job: Job) -> Process:
    """Take one unit through the shop as its story says."""
    yield from job.wait_at("received")
    if job.story.early_word:
        yield from _go_ahead(job)
    job.story.exit = job.story.exit or _exit_on_agenda(job)
    yield from tear_down(job)
    yield from job.wait_at("torn down")
    if job.story.exit:
        yield from _side_exit(job)
        return
    if not job.story.early_word:
        yield from _agree(job)
    yield from job.wait_at("go-ahead")
    yield job.days(0.2, 2)
    yield from job.wait_at("waiting for the bench")
    yield from outside.stay_out(job)
    yield from build_up(job)
    yield from job.wait_at("built")
    yield job.minutes(30, 600)
    yield from test_unit(job)
    yield job.minutes(30, 900)
    yield from _release(job)
    if job.exchange or job.story.stop == "released":
        receiving.move_to_shelf(act=job.clerk(), rebuild=job.rebuild, shelf="ready 1")
    yield from job.wait_at("released")
    yield from leave(job)


def _exit_on_agenda(job: Job) -> str:
    """Return the side exit that it is time for, where this unit may take it."""
    if job.exchange or job.story.problem or job.story.stop or job.rebuild.number > 1:
        return ""
    if job.works.exchange.get(job.kind.code) and job.agenda.take("kept as core"):
        return Exit.EXCHANGE_CORE
    if job.agenda.take("scrapped"):
        return Exit.SCRAPPED
    return Exit.RETURNED_AS_FOUND if job.agenda.take("returned") else ""


def _amount(job: Job) -> Decimal:
    return Decimal(job.kind.data["price"] + 5 * job.throw.randint(-3, 9))


def _agree(job: Job) -> Process:
    """Tell the customer a price, and hear what is allowed; the lead's word does for exchange stock."""
    if job.exchange:
        yield from _go_ahead(job)
        return
    if job.chance(0.75):
        go_ahead.record_quote(
            act=job.world.act(WARRANTY_DESK if job.story.problem else RECEIVING),
            rebuild=job.rebuild,
            amount=_amount(job),
            scope=job.throw.choice(job.world.words["scopes"]),
            told_to=job.customer.name,
        )
        yield job.days(0.1, 3)
        yield from job.wait_at("quoted")
    yield from _go_ahead(job)


def _go_ahead(job: Job) -> Process:
    how = pick(job.throw, [("telephone", 55), ("written", 35), ("counter", 10)])
    go_ahead.record_go_ahead(
        act=job.lead() if job.exchange else job.world.act(RECEIVING),
        rebuild=job.rebuild,
        given_by=str(job.lead().by) if job.exchange else job.customer.name,
        given_at=job.world.time,
        how=GoAhead.How.LEAD if job.exchange else how,
        scope=job.throw.choice(job.world.words["scopes"]),
        price_ceiling=None if job.exchange else _amount(job) + 40,
    )
    yield job.minutes(5, 60)


def _side_exit(job: Job) -> Process:
    """Take the unit out of the rebuild: the customer says no, or it is beyond saving."""
    reasons = {
        Exit.RETURNED_AS_FOUND: "the price was refused by telephone; goes back as found",
        Exit.SCRAPPED: "barrel scored beyond what a sleeve can save; scrapped with the customer's word",
        Exit.EXCHANGE_CORE: "barrel to be replaced; the customer takes an exchange unit, the core stays here",
    }
    if job.story.exit == Exit.RETURNED_AS_FOUND:
        go_ahead.record_quote(
            act=job.world.act(RECEIVING),
            rebuild=job.rebuild,
            amount=_amount(job) + 90,
            scope="all seals and rework as found",
            told_to=job.customer.name,
        )
        yield job.days(0.5, 4)
    reason = reasons[Exit(job.story.exit)]
    job.rebuild = shipping.exit_rebuild(
        act=job.lead(), rebuild=job.rebuild, exit=job.story.exit, reason=reason
    )
    yield job.days(0.2, 1)
    if job.story.exit == Exit.EXCHANGE_CORE:
        after.give_exchange_unit(job)
        after.rebuild_core(job)
    yield from leave(job)


def _release(job: Job) -> Process:
    # Every seal of the demo's units is renewed, which supports either word.
    status = Release.Status.REPAIRED if job.chance(0.08) else Release.Status.OVERHAULED
    remarks = "Fill with fresh fluid only; what was found inside was cloudy." if job.chance(0.08) else ""
    if job.kind.revision.mark_place:
        yield from photos.take(job, "mark", "mark and serial on the foot")
    issued = releasing.release_rebuild(act=job.lead(), rebuild=job.rebuild, status=status, remarks=remarks)
    money.settle(job)
    yield job.minutes(10, 60)
    if job.agenda.take("reissue"):
        yield from _reissue(job, issued)


def _reissue(job: Job, issued: Release) -> Process:
    """Correct the order number that the customer gave wrongly, and issue the certificate anew."""
    assert job.box
    order = job.box.order
    reason = "the customer's order number was wrong"
    job.box.order = receiving.change_work_order(
        act=job.clerk(reason),
        work_order=order,
        customer=order.customer,
        customer_order=f"PO-{job.throw.randint(1000, 9999)}",
        note=order.note,
    )
    yield job.minutes(10, 30)
    releasing.reissue_release(act=job.lead(reason), release=issued)
    yield job.minutes(10, 30)


def leave(job: Job) -> Process:
    """Put the unit on the shelf, and send the box when the last unit of it is done."""
    job.done = True
    if job.exchange:
        job.works.exchange.setdefault(job.kind.code, []).append(job)
        return
    assert job.box
    if all(each.done for each in job.box.jobs):
        yield job.days(0.2, 3)
        yield from after.send(job.box)
        for each in (*job.box.jobs, *job.box.extra):
            after.follow_up(each)

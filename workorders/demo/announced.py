"""Boxes of the last days in the demo: one on its way, one from nobody knows whom, one damaged."""

from datetime import timedelta

from shop.roles import RECEIVING, WARRANTY_DESK
from workorders.calc.serial import draw_serial
from workorders.demo.job import Works
from workorders.demo.photos import drawn
from workorders.demo.world import Process, World, dice, in_hours
from workorders.models import Rebuild
from workorders.services import boxes
from workorders.services.boxes import Expected
from workorders.services.work_orders import set_rush


def plan_last_boxes(works: Works) -> None:
    """Let the boxes come in the last week."""
    world = works.world
    for days_ago, story in ((7, _damaged), (3, _on_its_way), (4, _from_nobody)):
        at = in_hours(world.now - timedelta(days=days_ago, hours=3))
        world.begin(story(world), min(at, world.now))
    world.begin(_rush(world), min(in_hours(world.now - timedelta(days=1)), world.now))


def _rush(world: World) -> Process:
    """What came last turns out to be wanted soon."""
    here = Rebuild.objects.open().exclude(stage=Rebuild.Stage.RELEASED).select_related("work_order__customer")
    row = here.filter(destination=Rebuild.Destination.CUSTOMER).order_by("-received_at", "-pk").first()
    if row:
        set_rush(
            act=world.act(WARRANTY_DESK),
            work_order=row.work_order,
            wanted_by=(world.now + timedelta(days=4)).date(),
            agreed_by=f"the lead, asked by {row.work_order.customer}",
            why="the boat is booked with guests and its platform does not lift",
        )
    yield world.now


def _on_its_way(world: World) -> Process:
    customer = world.customers[2]
    boxes.announce_box(
        act=world.act(WARRANTY_DESK),
        how="telephone",
        customer=customer,
        expected=[
            Expected(what="lift cylinder, port side", symptoms="sinks over night"),
            Expected(what="lift cylinder, starboard", symptoms="wet at the rod"),
        ],
        contact=f"{customer}, {customer.phone}",
        return_address="\n".join(customer.address_lines),
        customer_order="PO-4471",
    )
    yield world.now


def _from_nobody(world: World) -> Process:
    box = boxes.receive_box(
        act=world.act(RECEIVING),
        packing="opened",
        damage_note="tape over older tape, no slip, label rubbed off",
        carrier="harbour courier",
        shelf="goods-in floor",
        photos=[drawn(dice("box from nobody"), "box-from-nobody.jpg", close_up=False)],
    )
    yield world.after(minutes=6)
    boxes.add_line(
        act=world.act(RECEIVING), box=box, what="grey cylinder, cord round the rod eye", outcome="extra"
    )
    boxes.add_line(
        act=world.act(RECEIVING),
        box=box,
        what="small valve block, plate ground off",
        outcome="unidentified",
        note="four ports, one of them plugged with a rag",
    )


def _damaged(world: World) -> Process:
    box = boxes.announce_box(
        act=world.act(WARRANTY_DESK),
        how="email",
        customer=world.customers[7],
        expected=[
            Expected(what="power unit", symptoms="runs and does not lift"),
            Expected(what="lift cylinder"),
        ],
    )
    yield world.after(days=1)
    boxes.receive_box(
        act=world.act(RECEIVING),
        box=box,
        packing="damaged",
        damage_note="one corner crushed, the bottom soaked with oil",
        carrier="coast freight",
        tracking="CF 20731",
        shelf="goods-in rack 2",
        photos=[drawn(dice("damaged box"), "damaged-box.jpg", close_up=False)],
    )
    yield world.after(minutes=12)
    first, second = box.lines.all()
    act = world.act(RECEIVING)
    boxes.judge_line(act=act, line=first, outcome="found", note="reservoir cracked, see the photo")
    boxes.judge_line(act=act, line=second, outcome="missing", note="the sender says it follows")
    tied = boxes.put_into_work_order(act=act, box=box)
    yield world.after(minutes=9)
    assert tied.work_order
    boxes.receive_unit_of_line(
        act=world.act(RECEIVING),
        line=first,
        work_order=tied.work_order,
        unit_type=world.types["TQ-P12"].unit_type,
        opened_before="not_before",
        arrival_condition="reservoir cracked at the corner of the box, motor dry",
        reported="runs and does not lift",
        draw=lambda: draw_serial(dice("damaged box").choice),
    )

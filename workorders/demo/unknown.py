"""The unit of the last days that nobody knew: received on a draft type, and opened at the bench."""

from datetime import timedelta
from typing import Any

from shop.models import SealPosition
from shop.roles import BENCH, RECEIVING
from shop.services.draft_types import SeenOutside
from workorders.calc.serial import draw_serial
from workorders.demo.job import Works
from workorders.demo.photos import drawn
from workorders.demo.world import Process, World, dice, in_hours
from workorders.models import Rebuild
from workorders.services import draft_glands, draft_places, receiving, seals_found, teardown
from workorders.services.unknown_units import add_unknown_unit

PLACES: tuple[tuple[str, dict[str, Any]], ...] = (
    ("position", {"kind": "rod_seal"}),
    ("position", {"kind": "wiper"}),
    ("position", {"kind": "static_seal", "name": "end cap seal"}),
    ("component", {"kind": "barrel"}),
    ("component", {"kind": "rod"}),
    ("port", {"fitting": "crimped", "thread": "banjo, 8 mm"}),
)


def plan_unknown_unit(works: Works) -> None:
    """Let the unit come two days ago."""
    world = works.world
    at = in_hours(world.now - timedelta(days=2, hours=4))
    world.begin(_opened(world), min(at, world.now))


def _opened(world: World) -> Process:
    throw = dice("unknown unit")
    order = receiving.open_work_order(act=world.act(RECEIVING), customer=world.customers[5])
    rebuild = add_unknown_unit(
        act=world.act(RECEIVING),
        work_order=order,
        seen=SeenOutside(
            family="cylinder",
            name="ramp cylinder, two eyes, black over grey",
            maker_numbers="7741-B, 162",
            bore_mm=32,
            rod_mm=18,
            ports=2,
        ),
        opened_before="by_others",
        arrival_condition="wet at the rod, screws of the end cap worn by a wrong key",
        reported="the ramp sinks over night; nobody knows where the cylinder came from",
        shelf="bench rack 1",
        photos=[drawn(throw, "unknown-unit.jpg", close_up=False)],
        draw=lambda: draw_serial(throw.choice),
    )
    yield world.after(minutes=50)
    yield from _at_the_bench(world, rebuild)


def _at_the_bench(world: World, rebuild: Rebuild) -> Process:
    act = world.act(BENCH)
    found = [
        draft_places.save_found_place(act=act, rebuild=rebuild, place=place, **fields)
        for place, fields in PLACES
    ]
    cap = found[2]
    assert isinstance(cap, SealPosition)
    told: dict[str, Any] = {"rebuild": rebuild, "position": cap, "instrument": world.instruments["TQ-M1"]}
    readings = {"depth": {1: 2.68, 2: 2.71, 3: 2.7}, "width": {1: 4.85, 2: 4.9}, "diameter": {1: 25.41}}
    draft_glands.record_gland(act=act, **told, readings=readings, arrangement="piston")
    seals_found.record_seal(
        act=act, **told, profile="o_ring", inside_mm=25.2, section_mm=3.31, set_most_pct=35.0
    )
    yield world.after(minutes=12)
    teardown.record_finding(
        act=world.act(BENCH),
        rebuild=rebuild,
        place=cap,
        condition="compression_set",
        cause="age",
        action="renewed",
        photos=[drawn(dice("unknown seal"), "end-cap-seal.jpg", close_up=True)],
    )

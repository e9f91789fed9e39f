"""Technique in the demo: notes, torque and tools of the cylinders, torque at the bench, and two lessons."""

from typing import Any

from shop.models import TypeRevision
from shop.roles import BENCH, LEAD
from shop.services.catalogue import save_place
from shop.services.technique import save_tool
from workorders.demo.job import Job
from workorders.demo.world import Process, World, dice, shop_data
from workorders.models import Operation, Rebuild
from workorders.services import build, lessons
from workorders.services.operation_values import Recorded

Kind = Operation.Kind
WRENCH = "TQ-W1"


def enter_tools(world: World) -> None:
    """Enter the special tools that the notes name."""
    for number, name, kept_at in shop_data()["technique"]["tools"]:
        world.tools[number] = save_tool(act=world.act(LEAD), number=number, name=name, kept_at=kept_at)


def enter_technique(world: World, draft: TypeRevision) -> None:
    """Enter the technique of a type with a rod seal: notes, the torque of its gland nut, its tools."""
    seal = draft.positions.filter(kind="rod_seal").first()
    if seal is None:
        return
    data = shop_data()["technique"]

    def save(kind: str, **fields: Any) -> None:
        save_place(act=world.act(LEAD), revision=draft, place=kind, **fields)

    for order, (step, text) in enumerate(data["notes"], 1):
        save("note", step=step, text=text, order=order, position=seal if step != "packing" else None)
    save("fastening", order=1, position=seal, **data["gland_nut"])
    for order, (number, step, note) in enumerate(data["needs"], 1):
        save("tool", tool=world.tools[number], step=step, note=note, order=order, position=seal)


def fasten(job: Job) -> Process:
    """Record the torque of the gland nut of a recent unit; in one of eight it is outside, with the reason."""
    figure = job.kind.revision.fastening_figures.first() if job.is_recent else None
    if figure is None:
        return
    throw = dice(job.name, "torque")
    outside = throw.random() < 1 / 8
    torque_nm = 46.0 if outside else float(throw.randint(37, 43))
    values: dict[str, float | str] = {"torque_nm": torque_nm}
    values |= {"locker": "medium", "locker_batch": f"B-{throw.randint(100, 999)}"}
    build.record_operation(
        act=job.bench(),
        rebuild=job.rebuild,
        kind=Kind.FASTENED,
        place=figure.place,
        tool="torque wrench with pin spanner",
        recorded=Recorded(
            values=values,
            instrument=job.world.instruments[WRENCH],
            figure=figure,
            reason="the nut binds in the last turn; no thread is pulled" if outside else "",
        ),
    )
    yield job.world.after(minutes=throw.randint(3, 8))


def teach(world: World) -> Process:
    """Write two lessons at the latest unit with a gland nut; the lead takes one over."""
    unit = Rebuild.objects.filter(revision__fastening_figures__isnull=False).latest("received_at")
    place = unit.revision.fastening_figures.get().position
    first, second = shop_data()["technique"]["lessons"]
    told: dict[str, Any] = {"rebuild": unit, "place": place}
    row = lessons.write_lesson(act=world.act(BENCH), step="building", text=first, **told)
    yield world.after(hours=2)
    lessons.write_lesson(act=world.act(BENCH, hand=1), step="teardown", text=second, **told)
    yield world.after(hours=20)
    lessons.take_over_lesson(act=world.act(LEAD), lesson=row, text=first, step="building")

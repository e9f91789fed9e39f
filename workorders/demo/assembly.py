"""Building in the demo: parts lot by lot or by packed kit, pieces spoiled and found, rework."""

from collections.abc import Generator, Mapping
from datetime import datetime

from inventory.models import KitLine, Lot
from shop.models import Component, DimensionLimit, Port, SealPosition
from workorders.demo.bench import carries, reading_within, record_readings
from workorders.demo.job import Job
from workorders.demo.outside import rechrome
from workorders.demo.stock import Packed
from workorders.demo.technique import fasten
from workorders.demo.world import Process
from workorders.models import Finding, Operation, PartUsed
from workorders.services import build
from workorders.services.hose_checks import check_hose, port_hoses
from workorders.services.operation_values import Recorded

Action, Kind, Quantity = Finding.Action, Operation.Kind, DimensionLimit.Quantity
NEW_BRUSH_MM = 14.0
# What brings a dimension back within its limits: the kind of rework and its tool.
REWORK: Mapping[str, tuple[str, str]] = {
    Quantity.BORE: (Kind.SLEEVED, "press, sleeve 1.5 mm, honing head"),
    Quantity.RUN_OUT: (Kind.OTHER, "straightening press with dial gauge"),
    Quantity.SURFACE: (Kind.POLISHED, "belt 600, then felt"),
}


def build_up(job: Job) -> Process:
    """Fit parts lot by lot or by one packed kit, do the rework, measure again, sign."""
    packed = job.shelf.packed_kit(job.kind) if job.story.by_kit else None
    if packed:
        used = build.use_packed_kit(act=job.bench(), rebuild=job.rebuild, packed_kit=packed.kit)
        _after_kit(job, packed, used)
        yield job.minutes(10, 30)
    yield from _fit(job, by_kit=packed is not None)
    yield from _rework(job, by_kit=packed is not None)
    yield from _check_hoses(job)
    yield from fasten(job)
    build.close_build(act=job.bench(), rebuild=job.rebuild)
    yield job.minutes(5, 20)


def _after_kit(job: Job, packed: Packed, used: list[PartUsed]) -> None:
    """Remember what went back to the shelf: places that were kept need nothing of the kit."""
    for line, lot in packed.lots.items():
        job.shelf.left[lot.pk] += line.quantity
    for row in used:
        job.shelf.left[row.lot_id] -= row.quantity
        _mark(job, row.lot)


def _mark(job: Job, lot: Lot) -> None:
    """Remember the bad lot in a unit: nobody knows yet that it will leak."""
    if lot == job.shelf.bad_lot:
        job.leaky_lot = job.shelf.bad_lot


def _fit(job: Job, *, by_kit: bool) -> Process:
    for line in job.kind.kit_lines:
        place = line.place
        action = job.findings[place.code].action
        if action != Action.RENEWED or by_kit:
            continue
        lot = yield from take_lot(job, line)
        if job.chance(0.03) and job.shelf.left[lot.pk] > 4 and isinstance(place, SealPosition):
            _use(job, line, lot, use="spoiled")
            yield job.minutes(2, 8)
            lot = yield from take_lot(job, line)
        _use(job, line, lot)
        yield job.minutes(3, 12)


def take_lot(job: Job, line: KitLine) -> Generator[datetime, None, Lot]:
    """Pick a lot for a line of the kit; wait for the delivery where the shelf is bare."""
    while (lot := job.shelf.pick(line.part, line.quantity)) is None:
        yield job.days(1, 2)
    return lot


def _use(job: Job, line: KitLine, lot: Lot, *, use: str = "fitted", why: str = "") -> None:
    """Book pieces of a lot; now and then one turns up in the bin of a lot that counts as empty."""
    empty = job.shelf.find(line.part) if use == "fitted" else None
    part = build.use_part(
        act=job.bench(why),
        rebuild=job.rebuild,
        place=line.place,
        lot=empty or lot,
        quantity=line.quantity,
        use=use,
        found_in_bin=empty is not None,
        fit_reason=line.reason,
    )
    if empty is None:
        job.shelf.took(lot, line.quantity)
    elif job.shelf.finds:
        found = empty.movements.filter(kind="found").latest("pk")
        job.world.begin(job.shelf.settle(found), job.world.time)
    if use == "fitted":
        _mark(job, part.lot)


def _check_hoses(job: Job) -> Process:
    """Read the number of each hose at its port."""
    for row in port_hoses(job.rebuild):
        if row.is_open and row.hose:
            act, hose = job.bench("hose on its port"), row.hose
            check_hose(act=act, rebuild=job.rebuild, hose=hose, number=hose.code)
            yield job.minutes(1, 2)


def fit_again(job: Job, code: str, why: str) -> Process:
    """Renew the seal of one position once more: the piece that leaked counts as spoiled."""
    line = next(line for line in job.kind.kit_lines if line.place.code == code)
    lot = yield from take_lot(job, line)
    _use(job, line, lot, use="spoiled", why=why)
    yield job.minutes(20, 60)
    yield from _check_hoses(job)
    build.close_build(act=job.bench(), rebuild=job.rebuild)
    yield job.minutes(5, 15)


def _rework(job: Job, *, by_kit: bool) -> Process:
    for code, finding in job.findings.items():
        if finding.action != Action.REWORKED:
            continue
        if finding.port:
            yield from _rework_port(job, code, finding.port, with_clip=not by_kit)
        elif finding.component and _goes_out(job, finding.component):
            yield from rechrome(job, finding.component)
        elif finding.component:
            kind, tool, note = _rework_of(job, finding.component)
            build.record_operation(
                act=job.bench(),
                rebuild=job.rebuild,
                kind=kind,
                place=finding.component,
                tool=tool,
                note=note,
                recorded=_graded(job, kind),
            )
            yield job.minutes(20, 60)
    if job.worn and job.worn.quantity != Quantity.ROD_DIAMETER:
        good = {n: _good(job, job.worn) for n in range(1, job.worn.stations + 1)}
        record_readings(job, job.worn, good, "after")
        yield job.minutes(3, 8)


def _rework_port(job: Job, code: str, port: Port, *, with_clip: bool) -> Process:
    build.record_operation(
        act=job.bench(),
        rebuild=job.rebuild,
        kind=Kind.CRIMP_REMOVED,
        place=port,
        tool="lathe, trepanning cutter",
    )
    yield job.minutes(10, 25)
    parts: list[tuple[Lot, int]] = []
    line = next((line for line in job.kind.kit_lines if line.place.code == code), None)
    if with_clip and line:
        lot = yield from take_lot(job, line)
        parts = [(lot, 1)]
    build.record_operation(
        act=job.bench(),
        rebuild=job.rebuild,
        kind=Kind.HOSE_CLIPPED,
        place=port,
        tool="torque driver 1.2 N·m",
        parts=parts,
    )
    for lot, pieces in parts:
        job.shelf.took(lot, pieces)
    yield job.minutes(5, 12)


def _goes_out(job: Job, place: Component) -> bool:
    """Whether the rod is worn in its diameter, which the shop cannot put right itself."""
    worn = job.worn
    return worn is not None and worn.quantity == Quantity.ROD_DIAMETER and carries(place, worn)


def _rework_of(job: Job, place: Component) -> tuple[str, str, str]:
    if job.worn and carries(place, job.worn):
        kind, tool = REWORK[job.worn.quantity]
        return kind, tool, f"{job.worn.name} brought back within its limits"
    return Kind.POLISHED, "cloth 800 with oil", "rust off, no pit felt with the nail"


def _graded(job: Job, kind: str) -> Recorded:
    """Return what was graded where rust was polished off a recent unit."""
    if kind != Kind.POLISHED or not job.is_recent:
        return Recorded()
    return Recorded(values={"grit": "800", "pitting_before": "light", "pitting_after": "none"})


def _good(job: Job, limit: DimensionLimit) -> float:
    return NEW_BRUSH_MM if limit.quantity == Quantity.LENGTH else reading_within(job, limit)

"""The packing bench: begun, packed thing by thing by whoever comes by, and sent off as one shipment."""

from collections.abc import Iterable
from datetime import date

from django.db.models import Max

from inventory.models import Lot
from shop.errors import RuleBroken
from shop.models import Customer, Fluid
from shop.services.writing import Act, keep, locked, service
from workorders.calc.serial import grouped
from workorders.models import (
    Packing,
    PackingLine,
    PackingParcel,
    PackingUnit,
    Rebuild,
    Shipment,
    WorkOrder,
)
from workorders.services import shipping
from workorders.services.exchanges import refuse_core, refuse_past
from workorders.services.found_out import refuse_unreviewed
from workorders.services.packing_needs import Need, line_checked, what_goes_along
from workorders.services.recall_state import refuse_recalled

Kind, State = PackingLine.Kind, PackingLine.State
CAN_LEAVE = (Rebuild.Stage.RELEASED, Rebuild.Stage.RETURNED_AS_FOUND)
WITH_LINE = ("done_by", "fluid", "lot")


@service("ship")
def begin_packing(*, act: Act, work_order: WorkOrder) -> Packing:
    """Begin to pack for a work order, with a first parcel; go on with the packing that is open."""
    order = locked(work_order)
    packing = order.packings.open().first()
    if packing:
        return packing
    packing = keep(Packing(work_order=order, begun_at=act.at, begun_by=act.by))
    keep(PackingParcel(packing=packing, number=1))
    return packing


def hold_open(packing: Packing) -> Packing:
    """Read a packing again and hold it; RuleBroken once it is sent off or given up."""
    row = locked(packing, fixed=("work_order",))
    if row.shipment_id:
        raise RuleBroken(f"This packing was sent off as {row.shipment}.")
    if row.cancelled_at:
        raise RuleBroken(f"This packing was given up: {row.cancel_reason}")
    return row


def _hold_parcel(parcel: PackingParcel, *, closed: bool = False) -> PackingParcel:
    """Hold a parcel and its packing; refuse one that is closed, or one that is not where that is asked."""
    packing = hold_open(parcel.packing)
    row = locked(parcel)
    row.packing = packing
    if row.is_open and closed:
        raise RuleBroken(f"Parcel {row.number} is open.")
    if not row.is_open and not closed:
        raise RuleBroken(f"Parcel {row.number} is closed: open it again, or choose another.")
    return row


def _hold_unit(unit: PackingUnit) -> PackingUnit:
    parcel = _hold_parcel(unit.parcel)
    row = locked(unit, fixed=("rebuild",))
    row.parcel = parcel
    if row.taken_out_at:
        raise RuleBroken(f"Unit {grouped(row.rebuild.unit.serial)} was taken out of {parcel} again.")
    return row


@service("ship")
def add_parcel(*, act: Act, packing: Packing) -> PackingParcel:
    """Put another parcel on the bench."""
    row = hold_open(packing)
    latest = row.parcels.aggregate(number=Max("number"))["number"] or 0
    return keep(PackingParcel(packing=row, number=latest + 1))


@service("ship")
def put_in(
    *,
    act: Act,
    parcel: PackingParcel,
    rebuild: Rebuild,
    replaces: Rebuild | None = None,
    core_due: date | None = None,
) -> PackingUnit:
    """Put a unit into a parcel; the lines of what must go with it are written.

    A unit from the shelf names the core that it ``replaces``, or the day on which the core is due.
    Raises RuleBroken, saying why, for a unit that may not leave, lies in a parcel already, or
    belongs to another work order.
    """
    held = _hold_parcel(parcel)
    row = locked(rebuild, fixed=("unit", "work_order", "revision"))
    order = held.packing.work_order
    refuse_unit(row, order, held.packing)
    from_shelf = row.work_order_id != order.pk
    if from_shelf:
        _check_core(act, row, order, replaces, core_due)
    unit = keep(
        PackingUnit(
            parcel=held,
            rebuild=row,
            put_in_at=act.at,
            put_in_by=act.by,
            replaces=replaces if from_shelf else None,
            core_due=core_due if from_shelf and not replaces else None,
        )
    )
    for number, need in enumerate(what_goes_along(row), start=1):
        _add_line(unit, number, need)
    return unit


def refuse_unit(rebuild: Rebuild, order: WorkOrder, packing: Packing) -> None:
    """Raise RuleBroken, naming where it belongs, for a unit that does not go into this packing."""
    name = grouped(rebuild.unit.serial)
    if hasattr(rebuild, "packed"):
        raise RuleBroken(f"Unit {name} has left already, in {rebuild.packed.parcel}.")
    exchange = rebuild.destination == Rebuild.Destination.EXCHANGE
    if rebuild.work_order_id != order.pk and not exchange:
        raise RuleBroken(
            f"Unit {name} belongs to {rebuild.work_order} of {rebuild.work_order.customer}, "
            f"not to {order}. Put it back."
        )
    if rebuild.stage not in CAN_LEAVE:
        raise RuleBroken(
            f"Unit {name} is not released: it is {rebuild.get_stage_display()}. It may not leave."
        )
    refuse_recalled(rebuild)
    refuse_unreviewed(rebuild)
    lying = rebuild.packing_units.lying().select_related("parcel__packing__work_order").first()
    if lying:
        if lying.parcel.packing_id == packing.pk:
            raise RuleBroken(f"Unit {name} lies in {lying.parcel} already. Choose that parcel to move it.")
        raise RuleBroken(
            f"Unit {name} lies in {lying.parcel} of the {lying.parcel.packing} already. "
            "Take it out there first."
        )


def _check_core(
    act: Act, given: Rebuild, order: WorkOrder, replaces: Rebuild | None, due: date | None
) -> None:
    if replaces:
        core = locked(replaces, fixed=("unit", "work_order"))
        refuse_core(core, given=given, customer=order.customer, kept=False)
    elif due is None:
        raise RuleBroken(
            fields={
                "core": f"Unit {grouped(given.unit.serial)} comes from the shelf: say which core it is given "
                "for, or on which day the core is due."
            }
        )
    else:
        refuse_past(due, act)


def _add_line(unit: PackingUnit, number: int, need: Need) -> PackingLine:
    return keep(
        PackingLine(
            packing_unit=unit,
            order=number,
            kind=need.kind,
            code=need.code,
            text=need.text,
            fluid=need.fluid if need.kind in PackingLine.FLUIDS else None,
            volume_ml=need.volume_ml,
        )
    )


@service("ship")
def take_out(*, act: Act, unit: PackingUnit) -> PackingUnit:
    """Take a unit out of its parcel again; what was checked stays in the history."""
    row = _hold_unit(unit)
    row.taken_out_at, row.taken_out_by = act.at, act.by
    return keep(row)


@service("ship")
def move_unit(*, act: Act, unit: PackingUnit, parcel: PackingParcel | None = None) -> PackingUnit:
    """Lay a unit, with everything that was checked of it, into another parcel of its packing.

    Without ``parcel`` another one is put on the bench for it. Raises RuleBroken where either
    parcel is closed, and for a parcel of another packing.
    """
    row = _hold_unit(unit)
    target = _hold_parcel(parcel) if parcel else add_parcel(act=act, packing=row.parcel.packing)
    if target.packing_id != row.parcel.packing_id:
        raise RuleBroken(f"{target} is not on this bench; choose another.".capitalize())
    if target == row.parcel:
        raise RuleBroken(f"Unit {grouped(row.rebuild.unit.serial)} lies in {target} already.")
    row.parcel = target
    return keep(row)


@service("ship")
def add_line(
    *, act: Act, unit: PackingUnit, text: str, fluid: Fluid | None = None, volume_ml: float | None = None
) -> PackingLine:
    """Write down something else that goes along: a thing in words, or spare fluid with its millilitres."""
    row = _hold_unit(unit)
    if fluid:
        need = Need(kind=Kind.SPARE, text=f"spare fluid: {fluid}", fluid=fluid, volume_ml=volume_ml)
    elif text.strip():
        need = Need(kind=Kind.OTHER, text=text.strip(), code=text.strip()[:60])
    else:
        raise RuleBroken(fields={"text": "Say what goes along."})
    if fluid and not volume_ml:
        raise RuleBroken(fields={"volume_ml": "Say how many millilitres go along."})
    latest = row.lines.aggregate(number=Max("order"))["number"] or 0
    return _add_line(row, latest + 1, need)


def _hold_line(line: PackingLine, *, settled: bool) -> PackingLine:
    unit = _hold_unit(line.packing_unit)
    row = locked(line, fixed=("fluid",))
    row.packing_unit = unit
    if row.is_open and settled:
        raise RuleBroken(f"“{row.text}” is neither packed nor kept back; there is nothing to undo.")
    if not row.is_open and not settled:
        raise RuleBroken(
            f"“{row.text}” is {row.get_state_display()} already, by {row.done_by}. Undo that first."
        )
    return row


@service("ship")
def pack_line(
    *, act: Act, line: PackingLine, volume_ml: float | None = None, lot: Lot | None = None
) -> PackingLine:
    """Record that a thing lies in the parcel, with the unit; for a fluid how much of it, of which lot."""
    row = _hold_line(line, settled=False)
    if row.kind in PackingLine.FLUIDS:
        row.volume_ml = row.volume_ml if volume_ml is None else volume_ml
        row.lot = lot
    row.state, row.done_at, row.done_by = State.PACKED, act.at, act.by
    return keep(row)


@service("ship")
def keep_back(*, act: Act, line: PackingLine, reason: str) -> PackingLine:
    """Record that a thing does not go along, and why."""
    row = _hold_line(line, settled=False)
    if not reason.strip():
        raise RuleBroken(fields={"reason": "Say why it is kept back."})
    row.state, row.reason = State.KEPT, reason.strip()
    row.done_at, row.done_by = act.at, act.by
    return keep(row)


@service("ship")
def undo_line(*, act: Act, line: PackingLine) -> PackingLine:
    """Open a line again that was packed or kept back; both facts stay in the history."""
    row = _hold_line(line, settled=True)
    row.state, row.reason, row.done_at, row.done_by, row.lot = State.OPEN, "", None, None, None
    return keep(row)


@service("ship")
def close_parcel(
    *,
    act: Act,
    parcel: PackingParcel,
    weight_kg: float | None = None,
    size_cm: tuple[float | None, float | None, float | None] = (None, None, None),
) -> PackingParcel:
    """Close a parcel in which everything is settled, with its weight and size if anybody took them."""
    row = _hold_parcel(parcel)
    units = list(_units(row.packing, parcel=row))
    if not units:
        raise RuleBroken(f"Parcel {row.number} is empty.")
    _refuse_unsettled(units)
    row.weight_kg = weight_kg
    row.length_cm, row.width_cm, row.height_cm = size_cm
    row.closed_at, row.closed_by = act.at, act.by
    return keep(row)


@service("ship")
def reopen_parcel(*, act: Act, parcel: PackingParcel) -> PackingParcel:
    """Open a closed parcel again, before it leaves; it is weighed anew when it is closed."""
    row = _hold_parcel(parcel, closed=True)
    row.closed_at = row.closed_by = None
    row.weight_kg = row.length_cm = row.width_cm = row.height_cm = None
    return keep(row)


@service("ship")
def cancel_packing(*, act: Act, packing: Packing) -> Packing:
    """Give a packing up, for the reason in ``act.why``: its units are taken out and stand ready again."""
    row = hold_open(packing)
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the packing is given up."})
    for unit in _units(row):
        unit.taken_out_at, unit.taken_out_by = act.at, act.by
        keep(unit)
    row.cancelled_at, row.cancelled_by, row.cancel_reason = act.at, act.by, act.why.strip()
    return keep(row)


@service("ship")
def send_off(*, act: Act, packing: Packing, recipient: Customer, address: str, carrier: str) -> Shipment:
    """Send off what is packed, as one shipment; sent a second time, it answers with the same shipment.

    Parcels in which nothing lies are left out, and the rest numbered on. Raises RuleBroken while a
    line is neither packed nor kept back, and as ``shipping.ship`` does.
    """
    row = locked(packing, fixed=("work_order",))
    if row.shipment:
        return row.shipment
    row = hold_open(row)
    units = list(_units(row))
    if not units:
        raise RuleBroken("Nothing is packed yet: scan a unit into a parcel first.")
    _refuse_unsettled(units)
    row.shipment = shipping.ship(
        act=act,
        work_order=row.work_order,
        recipient=recipient,
        address=address,
        carrier=carrier,
        parcels=_plans(units),
        packing=row,
    )
    keep(row)
    return row.shipment


def _units(packing: Packing, **narrowed: PackingParcel) -> "Iterable[PackingUnit]":
    """Return the units that lie in a packing, in the order of their parcels, with their lines."""
    rows = PackingUnit.objects.lying().filter(parcel__packing=packing, **narrowed)
    return (
        rows.select_related(
            "parcel",
            "rebuild__unit__unit_type",
            "rebuild__work_order__customer",
            "rebuild__revision__service_fluid",
            "replaces__unit__unit_type",
            "replaces__work_order",
        )
        .prefetch_related("lines__done_by", "lines__fluid", "lines__lot")
        .order_by("parcel__number", "pk")
    )


def _refuse_unsettled(units: Iterable[PackingUnit]) -> None:
    for unit in units:
        still = [line.text for line in unit.lines.all() if line.is_open]
        if still:
            raise RuleBroken(
                f"Unit {grouped(unit.rebuild.unit.serial)} in {unit.parcel}: neither packed nor kept back: "
                f"{'; '.join(still)}."
            )


def _plans(units: Iterable[PackingUnit]) -> list[shipping.ParcelPlan]:
    loaded: dict[PackingParcel, list[shipping.UnitPack]] = {}
    for unit in units:
        loaded.setdefault(unit.parcel, []).append(
            shipping.UnitPack(
                rebuild=unit.rebuild,
                lines=[line_checked(line) for line in unit.lines.all()],
                replaces=unit.replaces,
                core_due=unit.core_due,
            )
        )
    return [
        shipping.ParcelPlan(units=packs, weight_kg=parcel.weight_kg, size_cm=parcel.size_cm)
        for parcel, packs in loaded.items()
    ]

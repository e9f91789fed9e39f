"""Building: parts used against the ledger, rework operations, and the signature that closes it."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from typing import NamedTuple

from inventory.models import KitLine, Lot, Movement, PackedKit, PackedKitLine
from inventory.services.kits import mark_kit_used, place_of_kit
from inventory.services.part_fit import PartFit, part_fit
from inventory.services.picking import Pick, checked_pick
from inventory.services.stock import day_of, home_place, put_back, shift, take
from shop.errors import RuleBroken
from shop.roles import LEAD, roles_of
from shop.services.writing import Act, keep, locked, service
from workorders.models import Operation, PartTakenBack, PartUsed, Rebuild, Signature
from workorders.services.build_needs import Need, build_needs, missing_for_build
from workorders.services.facts import standing_build_key
from workorders.services.missing import require_nothing_missing
from workorders.services.operation_values import Recorded, keep_values, set_recorded
from workorders.services.places import Place, at, key_of, require_place_of
from workorders.services.record.work import work_record
from workorders.services.signing import sign
from workorders.services.stages import refresh_stage
from workorders.services.standing import Meaning, begin_build, check_done_at
from workorders.services.work import work_of

Use = PartUsed.Use
NOTHING = Recorded()


class Pieces(NamedTuple):
    """Pieces of one lot that a rework operation uses; with reasons where part or lot is another."""

    lot: Lot
    quantity: int
    found_in_bin: bool = False
    fit_reason: str = ""
    lot_reason: str = ""


@service("build")
def use_part(
    *,
    act: Act,
    rebuild: Rebuild,
    place: Place | None,
    lot: Lot,
    quantity: int,
    use: str = Use.FITTED,
    found_in_bin: bool = False,
    fit_reason: str = "",
    lot_reason: str = "",
    operation: Operation | None = None,
) -> PartUsed:
    """Record pieces of a lot at a place and take them off the ledger, in one transaction.

    Raises RuleBroken before teardown and go-ahead, while a test stands, for a lot on hold, past
    its use-by date or without enough pieces, for one passed over that expires earlier without
    ``lot_reason``, for a part that does not fit motion, size, gland or fluid without
    ``fit_reason``, and for a seal that a source calls unsuitable for the service fluid.
    """
    row = begin_build(act, rebuild)
    part = _use(act, row, place, lot, quantity, use, found_in_bin, fit_reason, lot_reason, operation)
    refresh_stage(row)
    return part


def _use(
    act: Act,
    rebuild: Rebuild,
    place: Place | None,
    lot: Lot,
    quantity: int,
    use: str = Use.FITTED,
    found_in_bin: bool = False,
    fit_reason: str = "",
    lot_reason: str = "",
    operation: Operation | None = None,
    packed: PackedKitLine | None = None,
) -> PartUsed:
    if place is None and operation is None:
        raise RuleBroken("Say at which place of the unit the part goes in.")
    if place:
        require_place_of(rebuild.revision, place)
    fit = _checked_fit(rebuild, place, lot, fit_reason) if use == Use.FITTED else PartFit()
    # Pieces in a packed kit were picked, and a reason asked for, when it was packed.
    on = day_of(act)
    pick = Pick(lot=lot) if packed else checked_pick(lot=lot, quantity=quantity, on=on, reason=lot_reason)
    movement = take(
        act=act,
        lot=lot,
        quantity=quantity,
        document=document_of(rebuild),
        place=place_of_kit(packed.packed_kit) if packed else None,
        found_in_bin=found_in_bin,
    )
    return keep(
        PartUsed(
            rebuild=rebuild,
            **at(place),
            operation=operation,
            lot=lot,
            movement=movement,
            quantity=quantity,
            use=use,
            found_in_bin=found_in_bin,
            fit_reason=fit_reason.strip() if fit.asks else "",
            fit_warning=fit.warning,
            lot_reason=packed.lot_reason if packed else lot_reason.strip() if pick.first else "",
            lot_warning=packed.lot_warning if packed else pick.warning,
            upgrade=_upgrade(rebuild, place, lot, packed) if use == Use.FITTED else "",
            by=act.by,
            at=act.at,
            why=act.why,
        )
    )


def _upgrade(rebuild: Rebuild, place: Place | None, lot: Lot, packed: PackedKitLine | None) -> str:
    """Return what the kit states of the material at the place today; the record keeps it as it stands."""
    if place is None or not lot.part.polymer:
        return ""
    if packed:
        return packed.kit_line.upgrade_sentence
    line = KitLine.objects.filter(kit__revision=rebuild.revision_id, part=lot.part_id, **at(place)).first()
    return line.upgrade_sentence if line else ""


def _checked_fit(rebuild: Rebuild, place: Place | None, lot: Lot, reason: str) -> PartFit:
    """Refuse what a source calls unsuitable, and what does not fit and has no reason."""
    fit = part_fit(part=lot.part, place=place, revision=rebuild.revision)
    if fit.refusal:
        raise RuleBroken(fit.refusal)
    if fit.asks and not reason.strip():
        at_place = f"{place}: " if place else ""
        message = f"{at_place}{fit.question} Say why it goes in, or take another part."
        raise RuleBroken(fields={"fit_reason": message})
    return fit


def document_of(rebuild: Rebuild) -> str:
    """Return how the ledger names a rebuild: work order and serial."""
    return f"{rebuild.work_order.number} {rebuild.unit.serial}"


@service("build")
def use_packed_kit(*, act: Act, rebuild: Rebuild, packed_kit: PackedKit) -> list[PartUsed]:
    """Fill every open place from a packed kit by one scan; what is not needed goes back to the shelf.

    Raises RuleBroken for a kit of another revision, one that is used or unpacked, one with a lot
    that may no longer be used, and where no place is open; then nothing is taken.
    """
    row = begin_build(act, rebuild)
    if packed_kit.kit.revision_id != row.revision_id:
        raise RuleBroken(f"Kit {packed_kit} is for {packed_kit.kit.revision}; this unit is {row.revision}.")
    mark_kit_used(act=act, packed_kit=packed_kit, document=document_of(row))
    needs = {key_of(need.place): need for need in build_needs(row, on=None)}
    lines = packed_kit.lines.select_related(
        *("lot__part", "kit_line__part"),
        *("kit_line__position", "kit_line__component", "kit_line__port", "kit_line__hose"),
    )
    used = []
    # By lot, so that two people at once hold the lots in the same order.
    for line in lines.order_by("lot", "pk"):
        part = _use_packed_line(act, row, line, needs[key_of(line.kit_line.place)])
        used.extend([part] if part else [])
    if not used:
        raise RuleBroken("No place is open for this kit: every place is filled, or was kept.")
    refresh_stage(row)
    return used


def _use_packed_line(act: Act, rebuild: Rebuild, line: PackedKitLine, need: Need) -> PartUsed | None:
    shelf = place_of_kit(line.packed_kit)
    wanted = min(line.quantity, need.outstanding(line.kit_line)) if need.is_open else 0
    part = None
    if wanted:
        part = _use(
            act,
            rebuild,
            need.place,
            line.lot,
            wanted,
            fit_reason=line.kit_line.reason,
            packed=line,
        )
    if line.quantity > wanted:
        shift(
            act=act,
            lot=line.lot,
            quantity=line.quantity - wanted,
            place=shelf,
            to_place=home_place(line.lot),
            document=document_of(rebuild),
        )
    return part


@service("build")
def take_back_part(*, act: Act, part_used: PartUsed) -> PartTakenBack:
    """Undo a wrong entry: the pieces return to the shelf, and both rows stay.

    Raises RuleBroken where it is taken back already, and as ``use_part`` does.
    """
    row = begin_build(act, part_used.rebuild)
    if PartTakenBack.objects.filter(part_used=part_used).exists():
        raise RuleBroken("This entry is taken back already.")
    movement: Movement = put_back(act=act, movement=part_used.movement, document=document_of(row))
    taken = keep(PartTakenBack(part_used=part_used, movement=movement, by=act.by, at=act.at, why=act.why))
    refresh_stage(row)
    return taken


@service("build")
def record_operation(
    *,
    act: Act,
    rebuild: Rebuild,
    kind: str,
    place: Place | None,
    tool: str,
    note: str = "",
    parts: Iterable[Pieces | tuple[Lot, int]] = (),
    recorded: Recorded = NOTHING,
) -> Operation:
    """Record a rework operation with its tool, its grades and values, and the parts that it used.

    ``place`` None is the whole unit. Raises RuleBroken as ``use_part`` and ``set_recorded`` do.
    """
    row = begin_build(act, rebuild)
    if place:
        require_place_of(row.revision, place)
    operation = Operation(
        rebuild=row,
        **at(place),
        kind=kind,
        tool=tool.strip(),
        note=note.strip(),
        done_at=act.at,
        done_by=act.by,
    )
    set_recorded(act, operation, recorded)
    keep(operation)
    keep_values(operation, recorded.values)
    for pieces in parts:
        lot, quantity, found, fit_reason, lot_reason = Pieces(*pieces)
        _use(
            act,
            row,
            place,
            lot,
            quantity,
            found_in_bin=found,
            fit_reason=fit_reason,
            lot_reason=lot_reason,
            operation=operation,
        )
    refresh_stage(row)
    return operation


@service("build")
def correct_operation(
    *,
    act: Act,
    operation: Operation,
    kind: str,
    place: Place | None,
    tool: str,
    note: str = "",
    recorded: Recorded = NOTHING,
    unmasked: bool = False,
) -> Operation:
    """Correct an operation for the reason in ``act.why``; history keeps what stood there.

    ``recorded`` is everything it records from now on. A fastening keeps the time from which its
    thread locker cures unless it is corrected too. Masking that is off stays so with ``unmasked``.
    Raises RuleBroken without a reason, for another place while parts are booked on the operation,
    and as ``use_part`` does.
    """
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why this is corrected."})
    rebuild = begin_build(act, operation.rebuild)
    if place:
        require_place_of(rebuild.revision, place)
    row = locked(operation)
    if row.place != place and row.parts_used.filter(taken_back__isnull=True).exists():
        raise RuleBroken(fields={"place": "Parts are recorded with this operation; take those back first."})
    row.position = row.component = row.port = row.hose = None
    for name, value in at(place).items():
        setattr(row, name, value)
    since = recorded.fastened_at or row.fastened_at
    row.kind, row.tool, row.note = kind, tool.strip(), note.strip()
    row.done_at, row.done_by = act.at, act.by
    row.rebuild = rebuild
    if not unmasked or kind != Operation.Kind.MASKED:
        row.unmasked_at, row.unmasked_by = None, None
    set_recorded(act, row, replace(recorded, fastened_at=since))
    keep(row)
    keep_values(row, recorded.values)
    refresh_stage(rebuild)
    return row


@service("build")
def take_masking_off(*, act: Act, operation: Operation) -> Operation:
    """Record that masking is off again; until then no build is signed.

    Raises RuleBroken for other rework, for masking that is off already, and as ``use_part`` does.
    """
    rebuild = begin_build(act, operation.rebuild)
    row = locked(operation)
    if not row.is_masking_on:
        raise RuleBroken("This masking is off already.")
    row.unmasked_at, row.unmasked_by = act.at, act.by
    keep(row)
    refresh_stage(rebuild)
    return row


@service("build")
def close_build(*, act: Act, rebuild: Rebuild, done_at: datetime | None = None) -> Signature:
    """Sign the build over the record as it stands; ``done_at`` may lie before now.

    A reason given by the lead (``act.why``) accepts that required parts of the kit are left out
    at places that teardown kept; it stands with the signature. Raises RuleBroken that names
    everything missing.
    """
    if standing_build_key(rebuild):
        raise RuleBroken("The build is signed already.")
    row = begin_build(act, rebuild)
    accepts = bool(act.why.strip()) and LEAD in roles_of(act.by)
    work = work_of(row)
    missing = missing_for_build(row, lead_accepts=accepts, work=work)
    require_nothing_missing(missing, "The build is not complete.")
    check_done_at(act, row, done_at)
    signed = sign(
        act=act, rebuild=row, meaning=Meaning.BUILT, content=work_record(row, work), done_at=done_at
    )
    refresh_stage(row)
    return signed

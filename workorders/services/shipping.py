"""Shipments, the start of warranties, and the side exits of a rebuild."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from dateutil.relativedelta import relativedelta
from django.db.models import QuerySet
from django.utils import timezone

from shop.errors import RuleBroken
from shop.models import Customer, ShopProfile
from shop.services.customers import standing
from shop.services.files import store_bytes
from shop.services.numbering import next_number
from shop.services.writing import Act, keep, locked, service
from workorders.models import (
    PackedUnit,
    Packing,
    PackingLine,
    PackingUnit,
    Parcel,
    Rebuild,
    Shipment,
    Signature,
    Warranty,
    WorkOrder,
)
from workorders.services.claims import carried_warranty
from workorders.services.exchanges import record_exchange, refuse_core
from workorders.services.found_out import refuse_unreviewed
from workorders.services.order_parts import part_of
from workorders.services.outside_work import require_nothing_out
from workorders.services.packing_needs import Checked, packing_items, ticked, what_goes_along
from workorders.services.papers import packing_list_pdf
from workorders.services.recall_state import refuse_recalled
from workorders.services.record.work import work_record
from workorders.services.signing import sign
from workorders.services.stages import refresh_stage
from workorders.services.work_orders import warranty_holder

__all__ = [
    "ParcelPlan",
    "UnitPack",
    "add_tracking",
    "exit_rebuild",
    "packing_items",
    "ship",
    "shippable",
    "start_warranty",
]

Checks = Mapping[int, Sequence[Checked]]  # by the key of the rebuild


@dataclass(frozen=True)
class UnitPack:
    """The packing check of one unit: what is in the parcel, and what stays behind and why.

    ``lines`` is the check as the packing bench keeps it; without it ``packed``, ``caps_on`` and
    ``kept_back`` tell the same in words. A unit from the shelf says which core it ``replaces``, or
    on which day the core is due.
    """

    rebuild: Rebuild
    packed: Sequence[str] = ()
    caps_on: bool = False
    kept_back: dict[str, str] = field(default_factory=dict)
    lines: Sequence[Checked] = ()
    replaces: Rebuild | None = None
    core_due: date | None = None


@dataclass(frozen=True)
class ParcelPlan:
    """One parcel of a shipment; ``carrier`` only where it is another than the shipment's."""

    units: Sequence[UnitPack]
    tracking: str = ""
    carrier: str = ""
    weight_kg: float | None = None
    size_cm: tuple[float, float, float] | None = None


def shippable(work_order: WorkOrder) -> list[Rebuild]:
    """Return what can leave with a work order: its released units, those going back as found,
    and released exchange units waiting on the shelf.
    """
    return [
        row
        for rows in _shippable(work_order)
        for row in rows.select_related("unit__unit_type", "work_order", "revision__unit_type")
    ]


def _shippable(work_order: WorkOrder) -> tuple[QuerySet[Rebuild], QuerySet[Rebuild]]:
    stages = Rebuild.Stage
    rows = Rebuild.objects.filter(packed__isnull=True).order_by("pk")
    own = rows.filter(work_order=work_order, stage__in=[stages.RELEASED, stages.RETURNED_AS_FOUND])
    shelf = rows.filter(stage=stages.RELEASED, destination=Rebuild.Destination.EXCHANGE)
    return own, shelf.exclude(work_order=work_order)


@service("ship")
def ship(
    *,
    act: Act,
    work_order: WorkOrder,
    recipient: Customer,
    address: str,
    carrier: str,
    parcels: Sequence[ParcelPlan],
    packing: Packing | None = None,
) -> Shipment:
    """Ship units in one or more parcels after the packing check; warranties start.

    Raises RuleBroken naming each unit that may not leave, each thing that is neither packed nor
    kept back with a reason, each unit without its caps, and each one from the shelf without a core.
    """
    if not parcels or not all(plan.units for plan in parcels):
        raise RuleBroken("A shipment needs at least one parcel, and every parcel at least one unit.")
    if not address.strip():
        raise RuleBroken(fields={"address": "Give the address that the shipment goes to."})
    packs = [pack for plan in parcels for pack in plan.units]
    recipient = standing(recipient)
    # Held: the papers name its customer and its addresses, which stay from now on.
    work_order = locked(work_order)
    checks = _checked(work_order, packs, packing)
    number = next_number("S", act.at)
    part = part_of(work_order, leaving={pack.rebuild.pk for pack in packs})
    paper = store_bytes(
        act=act,
        data=packing_list_pdf(act, number, work_order, recipient, address, carrier, parcels, checks, part),
        name=f"packing-list-{number}.pdf",
        kind="paper",
        content_type="application/pdf",
    )
    shipment = keep(
        Shipment(
            number=number,
            work_order=work_order,
            recipient=recipient,
            address=address,
            carrier=carrier,
            packing_list=paper,
            by=act.by,
            at=act.at,
            why=act.why,
        )
    )
    for place, plan in enumerate(parcels, start=1):
        parcel = _send_parcel(shipment, place, plan)
        for pack in plan.units:
            _pack_unit(act, shipment, parcel, pack, checks[pack.rebuild.pk])
    return shipment


def _checked(work_order: WorkOrder, packs: Sequence[UnitPack], packing: Packing | None) -> Checks:
    """Return the check of each unit, after refusing every one that may not leave so."""
    pks = {pack.rebuild.pk for pack in packs}
    if len(pks) != len(packs):
        raise RuleBroken("A unit can be in one parcel only.")
    own, shelf = (set(rows.values_list("pk", flat=True)) for rows in _shippable(work_order))
    for pack in packs:
        if pack.rebuild.pk not in own | shelf:
            raise RuleBroken(
                f"Unit {pack.rebuild.unit.serial} may not leave: "
                "it is neither released nor going back as found."
            )
    refuse_recalled(*(pack.rebuild for pack in packs))
    refuse_unreviewed(*(pack.rebuild for pack in packs))
    _refuse_packed_elsewhere(pks, packing)
    checks = {}
    for pack in packs:
        _check_core(work_order, pack, from_shelf=pack.rebuild.pk in shelf)
        checks[pack.rebuild.pk] = _check_pack(pack)
    return checks


def _refuse_packed_elsewhere(pks: set[int], packing: Packing | None) -> None:
    lying = PackingUnit.objects.lying().filter(rebuild__in=pks).exclude(parcel__packing=packing)
    for row in lying.select_related("rebuild__unit", "parcel__packing__work_order"):
        raise RuleBroken(
            f"Unit {row.rebuild.unit.serial} lies in {row.parcel} of the {row.parcel.packing}: "
            "send that off, or take the unit out there."
        )


def _check_core(work_order: WorkOrder, pack: UnitPack, *, from_shelf: bool) -> None:
    serial = pack.rebuild.unit.serial
    if from_shelf and pack.replaces is None and pack.core_due is None:
        raise RuleBroken(
            f"Unit {serial} comes from the shelf: say which core it is given for, "
            "or until when the core is due."
        )
    if not from_shelf and (pack.replaces or pack.core_due):
        raise RuleBroken(f"Unit {serial} is no exchange unit from the shelf; no core is given for it.")
    if pack.replaces:
        refuse_core(
            locked(pack.replaces, fixed=("unit", "work_order")),
            given=pack.rebuild,
            customer=work_order.customer,
        )


def _check_pack(pack: UnitPack) -> Sequence[Checked]:
    """Return the check of a unit; everything that must go along is in it and settled."""
    serial = pack.rebuild.unit.serial
    needs = what_goes_along(pack.rebuild)
    if not pack.lines and not pack.caps_on:
        raise RuleBroken(f"Unit {serial}: cap every open port before it is packed.")
    checks = pack.lines or ticked(needs, packed=pack.packed, kept_back=pack.kept_back, caps_on=pack.caps_on)
    listed = {(check.kind, check.item) for check in checks}
    for need in needs:
        if (need.kind, need.text) not in listed:
            raise RuleBroken(
                f"Unit {serial}: '{need.text}' was not on the list when it was packed. "
                "Take the unit out and put it in again."
            )
    for check in checks:
        if not check.packed and not check.reason:
            raise RuleBroken(f"Unit {serial}: '{check.item}' is neither packed nor kept back with a reason.")
    return checks


def _send_parcel(shipment: Shipment, number: int, plan: ParcelPlan) -> Parcel:
    length, width, height = plan.size_cm or (None, None, None)
    return keep(
        Parcel(
            shipment=shipment,
            number=number,
            tracking=plan.tracking,
            carrier=plan.carrier,
            weight_kg=plan.weight_kg,
            length_cm=length,
            width_cm=width,
            height_cm=height,
        )
    )


def _pack_unit(
    act: Act, shipment: Shipment, parcel: Parcel, pack: UnitPack, checks: Sequence[Checked]
) -> None:
    rebuild = locked(pack.rebuild)
    as_found = rebuild.stage == Rebuild.Stage.RETURNED_AS_FOUND
    packed = keep(
        PackedUnit(
            parcel=parcel,
            rebuild=rebuild,
            checked=[check.as_stored() for check in checks],
            caps_on=all(check.packed for check in checks if check.kind == PackingLine.Kind.CAP),
            as_found=as_found,
            by=act.by,
            at=act.at,
            why=act.why,
        )
    )
    if pack.replaces or pack.core_due:
        record_exchange(act, packed, core=pack.replaces, due=pack.core_due)
    if not as_found:
        start_warranty(act, shipment, rebuild, core=pack.replaces)
    refresh_stage(rebuild)


def start_warranty(
    act: Act, shipment: Shipment, rebuild: Rebuild, core: Rebuild | None = None
) -> Warranty | None:
    """Start the warranty of one unit for the one who holds it by the shipment's work order.

    A unit given in exchange stands in for its ``core``, and so for a claim that the core came under.

    After an accepted or goodwill claim under the remaining-term policy the first warranty's end
    stays; where that end has passed there is no new warranty.
    """
    profile = ShopProfile.objects.get(pk=1)
    starts_on = timezone.localdate(act.at)
    ends_on = starts_on + relativedelta(months=profile.warranty_months)
    carried = carried_warranty(rebuild) or (carried_warranty(core) if core else None)
    if carried:
        ends_on = carried.ends_on
    if ends_on <= starts_on:
        return None
    return keep(
        Warranty(
            rebuild=rebuild,
            shipment=shipment,
            holder=warranty_holder(shipment.work_order, rebuild, core),
            starts_on=starts_on,
            months=profile.warranty_months,
            ends_on=ends_on,
            terms=profile.warranty_terms,
        )
    )


@service("ship")
def add_tracking(*, act: Act, parcel: Parcel, tracking: str, carrier: str | None = None) -> Parcel:
    """Enter or correct the tracking number of a parcel, and its carrier unless that is None.

    An empty carrier, or that of the shipment, means that the shipment's takes it.
    """
    row = locked(parcel)
    row.tracking = tracking.strip()
    if carrier is not None:
        row.carrier = "" if carrier.strip() == row.shipment.carrier else carrier.strip()
    return keep(row)


@service("side_exit")
def exit_rebuild(*, act: Act, rebuild: Rebuild, exit: str, reason: str) -> Rebuild:
    """Take a unit out of the rebuild: returned as found, scrapped or kept as exchange core.

    The findings so far are signed. Raises RuleBroken without a reason, while a part is out at a
    supplier's, or for a unit that is released or has left already.
    """
    row = locked(rebuild)
    if not row.is_open:
        raise RuleBroken("This rebuild is closed already.")
    if row.stage == Rebuild.Stage.RELEASED:
        raise RuleBroken("A released unit ships; it does not leave by a side exit.")
    if exit not in Rebuild.SIDE_EXITS:
        raise RuleBroken(fields={"exit": "Choose returned as found, scrapped or kept as exchange core."})
    if not reason.strip():
        raise RuleBroken(fields={"reason": "Give the reason."})
    require_nothing_out(row)
    sign(act=act, rebuild=row, meaning=Signature.Meaning.RETURNED, content=work_record(row))
    row.stage, row.exit_reason = exit, reason
    return keep(row)

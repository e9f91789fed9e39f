"""Shipments, the start of warranties, and the side exits of a rebuild."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from dateutil.relativedelta import relativedelta
from django.db.models import QuerySet
from django.utils import timezone

from shop.errors import RuleBroken
from shop.models import Customer, ShopProfile
from shop.services.files import store_bytes
from shop.services.numbering import next_number
from shop.services.writing import Act, keep, locked, service
from workorders.models import (
    PackedUnit,
    Parcel,
    Rebuild,
    Shipment,
    Signature,
    Warranty,
    WorkOrder,
)
from workorders.services.claims import carried_warranty
from workorders.services.outside_work import require_nothing_out
from workorders.services.papers import packing_list_pdf
from workorders.services.record import work_record
from workorders.services.signing import sign
from workorders.services.stages import refresh_stage, standing_release


@dataclass(frozen=True)
class UnitPack:
    """The packing check of one unit: what is in the parcel, and what stays behind and why."""

    rebuild: Rebuild
    packed: Sequence[str]
    caps_on: bool
    kept_back: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Contents:
    """What must be found in the parcel with a unit; without a certificate it goes back as found."""

    items: list[str]
    certificate: str


@dataclass(frozen=True)
class ParcelPlan:
    """One parcel of a shipment."""

    units: Sequence[UnitPack]
    tracking: str = ""


def shippable(work_order: WorkOrder) -> list[Rebuild]:
    """Return what can leave with a work order: its released units, those going back as found,
    and released exchange units waiting on the shelf.
    """
    return [
        row for rows in _shippable(work_order) for row in rows.select_related("unit__unit_type", "work_order")
    ]


def _shippable(work_order: WorkOrder) -> tuple[QuerySet[Rebuild], QuerySet[Rebuild]]:
    stages = Rebuild.Stage
    rows = Rebuild.objects.filter(packed__isnull=True).order_by("pk")
    own = rows.filter(work_order=work_order, stage__in=[stages.RELEASED, stages.RETURNED_AS_FOUND])
    shelf = rows.filter(stage=stages.RELEASED, destination=Rebuild.Destination.EXCHANGE)
    return own, shelf.exclude(work_order=work_order)


def packing_items(rebuild: Rebuild) -> list[str]:
    """Return what must be found in the parcel with a unit: what came with it, and its papers."""
    return _contents(rebuild).items


def _contents(rebuild: Rebuild) -> Contents:
    items = [str(item) for item in rebuild.arrival_items.exclude(kind="missing")]
    release = standing_release(rebuild)
    paper = f"certificate {release.number} and fitter's page" if release else "as-found paper"
    return Contents(items=[*items, paper], certificate=release.number if release else "")


@service("ship")
def ship(
    *,
    act: Act,
    work_order: WorkOrder,
    recipient: Customer,
    address: str,
    carrier: str,
    parcels: Sequence[ParcelPlan],
) -> Shipment:
    """Ship units in one or more parcels after the packing check; warranties start.

    Raises RuleBroken naming each unit that may not leave, each thing that is neither packed nor
    kept back with a reason, and each unit without its caps.
    """
    if not parcels or not all(plan.units for plan in parcels):
        raise RuleBroken("A shipment needs at least one parcel, and every parcel at least one unit.")
    if not address.strip():
        raise RuleBroken(fields={"address": "Give the address that the shipment goes to."})
    packs = [pack for plan in parcels for pack in plan.units]
    if len({pack.rebuild.pk for pack in packs}) != len(packs):
        raise RuleBroken("A unit can be in one parcel only.")
    allowed = {pk for rows in _shippable(work_order) for pk in rows.values_list("pk", flat=True)}
    contents = {pack.rebuild.pk: _contents(pack.rebuild) for pack in packs}
    for pack in packs:
        _check_pack(pack, contents[pack.rebuild.pk], allowed)
    number = next_number("S", act.at)
    paper = store_bytes(
        act=act,
        data=packing_list_pdf(act, number, work_order, recipient, address, carrier, parcels, contents),
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
        parcel = keep(Parcel(shipment=shipment, number=place, tracking=plan.tracking))
        for pack in plan.units:
            _pack_unit(act, shipment, parcel, pack, contents[pack.rebuild.pk])
    return shipment


def _check_pack(pack: UnitPack, contents: Contents, allowed: set[int]) -> None:
    serial = pack.rebuild.unit.serial
    if pack.rebuild.pk not in allowed:
        raise RuleBroken(f"Unit {serial} may not leave: it is neither released nor going back as found.")
    if not pack.caps_on:
        raise RuleBroken(f"Unit {serial}: cap every open port before it is packed.")
    for item in contents.items:
        if item not in pack.packed and not pack.kept_back.get(item, "").strip():
            raise RuleBroken(f"Unit {serial}: '{item}' is neither packed nor kept back with a reason.")


def _pack_unit(act: Act, shipment: Shipment, parcel: Parcel, pack: UnitPack, contents: Contents) -> None:
    rebuild = locked(pack.rebuild)
    as_found = rebuild.stage == Rebuild.Stage.RETURNED_AS_FOUND
    checked = [
        {"item": item, "packed": item in pack.packed, "reason": pack.kept_back.get(item, "")}
        for item in contents.items
    ]
    keep(
        PackedUnit(
            parcel=parcel,
            rebuild=rebuild,
            checked=checked,
            caps_on=pack.caps_on,
            as_found=as_found,
            by=act.by,
            at=act.at,
            why=act.why,
        )
    )
    if not as_found:
        start_warranty(act, shipment, rebuild)
    refresh_stage(rebuild)


def start_warranty(act: Act, shipment: Shipment, rebuild: Rebuild) -> Warranty | None:
    """Start the warranty of one unit for the recipient of its shipment.

    After an accepted or goodwill claim under the remaining-term policy the first warranty's end
    stays; where that end has passed there is no new warranty.
    """
    profile = ShopProfile.objects.get(pk=1)
    starts_on = timezone.localdate(act.at)
    ends_on = starts_on + relativedelta(months=profile.warranty_months)
    carried = carried_warranty(rebuild)
    if carried:
        ends_on = carried.ends_on
    if ends_on <= starts_on:
        return None
    return keep(
        Warranty(
            rebuild=rebuild,
            shipment=shipment,
            recipient=shipment.recipient,
            starts_on=starts_on,
            months=profile.warranty_months,
            ends_on=ends_on,
            terms=profile.warranty_terms,
        )
    )


@service("ship")
def add_tracking(*, act: Act, parcel: Parcel, tracking: str) -> Parcel:
    """Enter or correct the tracking number of a parcel."""
    row = locked(parcel)
    row.tracking = tracking.strip()
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

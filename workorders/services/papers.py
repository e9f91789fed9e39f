"""From rows to the plain data that papers are printed from: what every paper shares, and three of them."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.utils import timezone

from shop.models import Customer, DimensionLimit, ShopProfile
from shop.services.writing import Act
from workorders.calc.serial import grouped
from workorders.documents import certificate_data as paper
from workorders.documents.packing_list import (
    PackedItem,
    PackedParcel,
    PackedUnit,
    PackingList,
)
from workorders.documents.packing_list import (
    packing_list_pdf as print_packing_list,
)
from workorders.documents.printed import day
from workorders.documents.returned_as_found import ReturnedAsFound, returned_as_found_pdf
from workorders.documents.unit_label import unit_address
from workorders.models import Finding, PackingLine, Parcel, Rebuild, Signature, WorkOrder
from workorders.services.packing_needs import Checked
from workorders.services.record.work import work_record
from workorders.services.signing import digest
from workorders.services.work import Work, placed, work_of
from workorders.services.work_orders import warranty_holder

if TYPE_CHECKING:
    from workorders.services.shipping import ParcelPlan, UnitPack

# What a finding says is done -> what a unit that goes back untouched would need there.
NEEDED = {
    Finding.Action.RENEWED.label: "to be renewed",
    Finding.Action.REWORKED.label: "to be reworked",
    Finding.Action.KEPT.label: "nothing",
}


def local(at: datetime) -> datetime:
    """Return a time in the shop's zone, as papers print it."""
    return timezone.localtime(at)


def shop_data(profile: ShopProfile) -> paper.Shop:
    """Return the letterhead."""
    return paper.Shop(
        name=profile.name, address=tuple(profile.address_lines), phone=profile.phone, email=profile.email
    )


def customer_data(customer: Customer) -> paper.Customer:
    """Return the address block of a customer."""
    contact = ", ".join(part for part in (customer.phone, customer.email) if part)
    return paper.Customer(name=customer.name, address=tuple(customer.address_lines), contact=contact)


def unit_data(rebuild: Rebuild) -> paper.UnitIdentity:
    """Return what names the unit."""
    unit_type = rebuild.revision.unit_type
    return paper.UnitIdentity(
        type_name=unit_type.name,
        catalogue_code=unit_type.code,
        revision=str(rebuild.revision.number),
        shop_serial=rebuild.unit.serial,
        maker_serial=rebuild.unit.maker_serial,
        address=unit_address(settings.PUBLIC_ADDRESS, rebuild.unit.serial),
    )


def act_rows(rebuild: Rebuild) -> tuple[paper.Act, ...]:
    """Return who did what when, from the signatures in force (the latest of each meaning)."""
    latest = {row.meaning: row for row in rebuild.signatures.order_by("pk")}
    order = [meaning for meaning in Signature.Meaning.values if meaning in latest]
    return tuple(
        paper.Act(
            meaning=latest[meaning].get_meaning_display(),
            name=latest[meaning].printed_name,
            done_at=local(latest[meaning].done_at),
            entered_at=local(latest[meaning].at),
        )
        for meaning in order
    )


def parts_at(work: Work) -> dict[tuple[str, int], tuple[str, str]]:
    """Map each place to the parts fitted there and their lots, as printed."""
    found: dict[tuple[str, int], list[tuple[str, str]]] = {}
    for row in work.parts:
        if row.use != "fitted" or row.place is None:
            continue
        name = f"{row.quantity} × {row.lot.part.number} {row.lot.part.polymer}".strip()
        key = (type(row.place).__name__, row.place.pk)
        found.setdefault(key, []).append((name, row.lot.number))
    return {
        key: (", ".join(name for name, _lot in rows), ", ".join(lot for _name, lot in rows))
        for key, rows in found.items()
    }


def finding_rows(
    work: Work,
) -> tuple[tuple[paper.PositionRow, ...], tuple[paper.ComponentRow, ...]]:
    """Return findings with the work done: by seal position, and by component or port."""
    parts = parts_at(work)
    positions, others = [], []
    for row in work.findings:
        assert row.place is not None
        part, lot = parts.get((type(row.place).__name__, row.place.pk), ("", ""))
        common: dict[str, Any] = {
            "condition": row.get_condition_display(),
            "cause": row.get_cause_display(),
            "action": row.get_action_display(),
            "part": part,
            "lot": lot,
            "note": row.note_in_full,
        }
        if row.position:
            position = row.position
            positions.append(
                paper.PositionRow(position=str(position), kind=position.kind_and_motion, **common)
            )
        else:
            others.append(paper.ComponentRow(name=str(row.place), **common))
    return tuple(positions), tuple(others)


def limit_text(lower: float | None, upper: float | None) -> str:
    """Print limits as ``11.95 to 12``, ``at least 3`` or ``at most 0.05``; empty without any."""
    if lower is not None and upper is not None:
        return f"{lower:g} to {upper:g}"
    if lower is not None:
        return f"at least {lower:g}"
    return f"at most {upper:g}" if upper is not None else ""


def judged_by(limit: DimensionLimit) -> str:
    """Print what judges a reading: its limits, its sum, or both."""
    limits = limit_text(limit.lower, limit.upper)
    words = [f"{limits} {limit.unit}"] if limits else []
    if limit.is_judged_by_nothing:
        return "no limit given yet"
    return ", and ".join([*words, *(["its sum"] if limit.is_judged_by_sum else [])])


def measurement_rows(work: Work) -> tuple[paper.MeasurementRow, ...]:
    """Return measured sizes against their limits."""
    return tuple(
        paper.MeasurementRow(
            what=f"{row.limit.code} {row.limit.name}, station {row.station}",
            when=row.get_moment_display(),
            value=f"{row.value:g}",
            unit=row.limit.unit,
            limit=judged_by(row.limit),
            verdict=row.verdict,
            instrument=row.instrument.code if row.instrument else "",
        )
        for row in work.measurements
    )


def packing_list_pdf(
    act: Act,
    number: str,
    work_order: WorkOrder,
    recipient: Customer,
    address: str,
    carrier: str,
    parcels: Sequence["ParcelPlan"],
    checks: Mapping[int, Sequence[Checked]],
    part: str,
) -> bytes:
    """Print the packing list of a shipment that is about to be written; ``checks`` by rebuild.

    ``part`` says what of the work order stays behind; empty where nothing does.
    """
    profile = ShopProfile.objects.get(pk=1)
    lines = address.splitlines()
    data = PackingList(
        number=number,
        shop=shop_data(profile),
        recipient=paper.Customer(
            name=recipient.name,
            address=tuple(lines[1:] if lines[:1] == [recipient.name] else lines),
            contact=recipient.phone,
        ),
        work_order=work_order.number,
        customer_order=work_order.customer_order,
        bill_to=work_order.bill_to,
        warranty_holder=_holders(work_order, parcels),
        shipped_on=local(act.at).date(),
        packed_by=str(act.by),
        packed_at=local(act.at),
        carrier=carrier,
        part=part,
        address=shipment_address(settings.PUBLIC_ADDRESS, number),
        parcels=tuple(
            PackedParcel(
                number=place,
                tracking=plan.tracking,
                carrier=plan.carrier,
                measures=Parcel.measures_of(plan.weight_kg, plan.size_cm),
                units=tuple(packed_unit(pack, checks[pack.rebuild.pk]) for pack in plan.units),
            )
            for place, plan in enumerate(parcels, start=1)
        ),
    )
    return print_packing_list(data, page_size=profile.paper_size)


def _holders(work_order: WorkOrder, parcels: Sequence["ParcelPlan"]) -> str:
    """Name who holds the warranties of the released units, each once."""
    packs = [pack for plan in parcels for pack in plan.units]
    released = [pack for pack in packs if pack.rebuild.stage == Rebuild.Stage.RELEASED]
    held = (warranty_holder(work_order, pack.rebuild, pack.replaces) for pack in released)
    return "; ".join(dict.fromkeys(holder.name for holder in held))


def packed_unit(pack: "UnitPack", checks: Sequence[Checked]) -> PackedUnit:
    """Return one unit of the packing list with its check; caps that are on go into one line."""
    Kind = PackingLine.Kind
    caps = [check.code for check in checks if check.kind == Kind.CAP and check.packed]
    papers = [check.code for check in checks if check.kind == Kind.PAPER]
    return PackedUnit(
        serial=pack.rebuild.unit.serial,
        type_name=pack.rebuild.unit.unit_type.name,
        maker_serial=pack.rebuild.unit.maker_serial,
        caps=tuple(caps),
        paper=next((code for code in papers if code), ""),
        as_found=not any(papers),
        exchange=_given_for(pack),
        items=tuple(
            PackedItem(label=_amount(check), packed=check.packed, note=check.reason, counts=_counts(check))
            for check in checks
            if check.kind != Kind.CAP or not check.packed
        ),
    )


def _given_for(pack: "UnitPack") -> str:
    if pack.replaces:
        return f"exchange unit, given for core {grouped(pack.replaces.unit.serial)}"
    return f"exchange unit, core due by {day(pack.core_due)}" if pack.core_due else ""


def _amount(check: Checked) -> str:
    volume = f", {check.volume_ml:g} mL" if check.volume_ml is not None else ""
    return f"{check.item}{volume}" + (f", lot {check.lot}" if check.lot else "")


def _counts(check: Checked) -> bool:
    """Whether it is a piece of its own: neither a cap on the unit nor the fluid in it."""
    return check.kind not in (PackingLine.Kind.CAP, PackingLine.Kind.INSIDE)


def shipment_address(base: str, number: str) -> str:
    """Return the web address of a shipment's page, as the symbols on its papers say it."""
    return f"{base}/s/{number}"


def as_found_pdf(rebuild: Rebuild) -> bytes:
    """Print the signed paper of a unit that leaves by a side exit, from its record.

    Raises Signature.DoesNotExist for a rebuild that has not left that way.
    """
    profile = ShopProfile.objects.get(pk=1)
    signed = rebuild.signatures.filter(meaning=Signature.Meaning.RETURNED).latest("pk")
    torn_down = rebuild.signatures.filter(meaning=Signature.Meaning.TORN_DOWN).order_by("pk").last()
    work = work_of(rebuild)
    positions, components = finding_rows(work)
    fluid = getattr(rebuild, "fluid_found", None)
    data = ReturnedAsFound(
        number=f"{rebuild.work_order.number}/{rebuild.pk}",
        shop=shop_data(profile),
        customer=customer_data(rebuild.work_order.customer),
        work_order=rebuild.work_order.number,
        customer_order=rebuild.work_order.customer_order,
        unit=unit_data(rebuild),
        condition_on_arrival=f"{rebuild.get_opened_before_display()}; {rebuild.arrival_condition}",
        reason=f"{rebuild.get_stage_display()}: {rebuild.exit_reason}",
        received_on=local(rebuild.received_at).date(),
        issued_on=local(signed.at).date(),
        torn_down_on=local(torn_down.done_at).date() if torn_down else None,
        discrepancies=discrepancies(rebuild),
        caps="cap every open port before packing",
        left_inside=str(fluid) if fluid else "not examined",
        positions=tuple(replace(row, action=NEEDED.get(row.action, row.action)) for row in positions),
        components=tuple(replace(row, action=NEEDED.get(row.action, row.action)) for row in components),
        measurements=measurement_rows(work),
        acts=act_rows(rebuild),
        signature=paper.Signature(
            statement="The findings named here are what was seen. Not tested, no warranty.",
            name=signed.printed_name,
            authority=signed.authority_no,
            at=local(signed.at),
        ),
        digest=digest(work_record(rebuild)),
    )
    return returned_as_found_pdf(data, page_size=profile.paper_size)


def discrepancies(rebuild: Rebuild) -> tuple[str, ...]:
    """Return what is wrong with a unit, one sentence each, from findings and measurements."""
    found = [
        f"{row.place}: {row.get_condition_display()}, {row.get_cause_display()}"
        for row in placed(rebuild.findings)
        if row.condition not in ("sound", "not_examined")
    ]
    found += [
        f"{row.limit.name}, station {row.station}: {row.value:g} {row.limit.unit}, "
        f"limit {judged_by(row.limit)}. {row.sum_sentence}".removesuffix(". ")
        for row in rebuild.measurements.select_related("limit")
        if not row.within
    ]
    if rebuild.debris_found:
        found.append(f"Debris found: {rebuild.debris_origin}. Flush the circuit.")
    return tuple(found)

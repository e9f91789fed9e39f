"""What goes onto the parcels and units of a shipment, labels and tags; and the letter for a core owed."""

from datetime import date
from typing import Any

from django.conf import settings

from shop.models import ShopProfile
from workorders.calc.serial import grouped
from workorders.documents.address_label import AddressLabel
from workorders.documents.core_reminder import CoreReminder, core_reminder_pdf
from workorders.documents.port_tag import PortTag
from workorders.documents.unit_label import unit_address
from workorders.models import Exchange, PackedUnit, PackingLine, Shipment
from workorders.services.papers import customer_data, local, shipment_address, shop_data


def address_labels(shipment: Shipment) -> list[AddressLabel]:
    """Return one label for each parcel."""
    profile = ShopProfile.objects.first()
    sender = (profile.name, *profile.address_lines) if profile else ("",)
    parcels = list(shipment.parcels.order_by("number"))
    address = [line.strip() for line in shipment.address.splitlines() if line.strip()]
    name = shipment.recipient.name
    recipient = address if address and address[0] == name else [name, *address]
    return [
        AddressLabel(
            sender=sender,
            recipient=tuple(recipient),
            shipment=shipment.number,
            parcel=parcel.number,
            parcels=len(parcels),
            carrier=parcel.carrier or shipment.carrier,
            tracking=parcel.tracking,
            measures=parcel.measures,
            address=shipment_address(settings.PUBLIC_ADDRESS, shipment.number),
        )
        for parcel in parcels
    ]


def port_tags(shipment: Shipment) -> list[PortTag]:
    """Return one tag for each unit, by what was checked when it was packed."""
    packed = PackedUnit.objects.filter(parcel__shipment=shipment)
    rows = packed.select_related("rebuild__unit", "rebuild__fluid_found__fluid").prefetch_related(
        "rebuild__releases__replaced_by"
    )
    return [_tag(row) for row in rows.order_by("parcel__number", "pk")]


def _tag(row: PackedUnit) -> PortTag:
    serial = row.rebuild.unit.serial
    standing = [release for release in row.rebuild.releases.all() if not hasattr(release, "replaced_by")]
    inside = _of_kind(row, PackingLine.Kind.INSIDE)
    told: dict[str, Any] = {
        "serial": serial,
        "address": unit_address(settings.PUBLIC_ADDRESS, serial),
        "inside_ml": inside[0].get("volume_ml") if inside else None,
        "capped": tuple(line["code"] for line in _of_kind(row, PackingLine.Kind.CAP) if line["packed"]),
    }
    if row.as_found or not standing:
        found = getattr(row.rebuild, "fluid_found", None)
        return PortTag(fluid_inside=str(found or "as it came, not examined"), as_found=True, **told)
    fitter = standing[-1].content["fitter_page"]
    if not inside:  # packed before each cap was checked by itself
        told["capped"] = tuple(port["code"] for port in fitter["ports"] if port["cap"])
    return PortTag(fluid_inside=fitter["fluid_inside"], fluid_to_fill=fitter["fluid_to_fill"], **told)


def _of_kind(row: PackedUnit, kind: str) -> list[dict[str, Any]]:
    return [line for line in row.checked if line.get("kind") == kind]


def core_reminder(exchange: Exchange, *, on: date) -> bytes:
    """Print the letter that asks a customer for a core that is owed."""
    profile = ShopProfile.objects.get(pk=1)
    shipment = exchange.packed.parcel.shipment
    unit = exchange.packed.rebuild.unit
    assert exchange.due is not None, "workorders_exchange_core_or_due"
    data = CoreReminder(
        number=f"{shipment.number}/{unit.serial}",
        shop=shop_data(profile),
        customer=customer_data(shipment.work_order.customer),
        written_on=on,
        unit=f"{unit.unit_type.name}, shop serial {grouped(unit.serial)}",
        core_type=unit.unit_type.name,
        shipment=shipment.number,
        sent_on=local(shipment.at).date(),
        work_order=shipment.work_order.number,
        due_on=exchange.due,
    )
    return core_reminder_pdf(data, page_size=profile.paper_size)

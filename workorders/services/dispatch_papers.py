"""What goes onto the parcels and the units of a shipment: address labels and port tags."""

from django.conf import settings

from shop.models import ShopProfile
from workorders.documents.address_label import AddressLabel
from workorders.documents.port_tag import PortTag
from workorders.documents.unit_label import unit_address
from workorders.models import PackedUnit, Release, Shipment


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
            carrier=shipment.carrier,
            tracking=parcel.tracking,
        )
        for parcel in parcels
    ]


def port_tags(shipment: Shipment) -> list[PortTag]:
    """Return one tag for each released unit, from its standing release; as-found units get none."""
    packed = PackedUnit.objects.filter(parcel__shipment=shipment, as_found=False)
    rows = packed.select_related("rebuild__unit").prefetch_related("rebuild__releases__replaced_by")
    return [
        tag(row.rebuild.unit.serial, release)
        for row in rows.order_by("parcel__number", "pk")
        for release in row.rebuild.releases.all()
        if not hasattr(release, "replaced_by")
    ]


def tag(serial: str, release: Release) -> PortTag:
    """Return the tag of a unit by what its release says to the fitter."""
    told = release.content["fitter_page"]
    return PortTag(
        serial=serial,
        address=unit_address(settings.PUBLIC_ADDRESS, serial),
        fluid_inside=told["fluid_inside"],
        fluid_to_fill=told["fluid_to_fill"],
        capped=tuple(port["code"] for port in told["ports"] if port["cap"]),
    )

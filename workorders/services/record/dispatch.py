"""The record of how a unit left: packed, shipped, given in exchange."""

from workorders.models import Exchange, Rebuild
from workorders.services.record.plain import Plain, fields, plain


def shipment_record(rebuild: Rebuild) -> Plain | None:
    """Return how a unit left, or None while it has not."""
    packed = getattr(rebuild, "packed", None)
    if packed is None:
        return None
    parcel = packed.parcel
    exchange = getattr(packed, "exchange", None)
    return {
        "number": parcel.shipment.number,
        "sent_at": plain(parcel.shipment.at),
        "recipient": parcel.shipment.recipient.name,
        "carrier": parcel.taken_by,
        "parcel": parcel.number,
        **fields(parcel, "tracking", "weight_kg", "length_cm", "width_cm", "height_cm"),
        **fields(packed, "checked", "caps_on", "as_found"),
        "given_for": exchange_record(exchange) if exchange else None,
    }


def exchange_record(exchange: Exchange) -> Plain:
    """Return for which core a unit from the shelf left, and whether it came."""
    return {
        "core": exchange.core.unit.serial if exchange.core else None,
        **fields(exchange, "due", "came_at", "came_by", "waived_at", "waived_by", "waive_reason"),
    }


def packing_record(rebuild: Rebuild) -> list[Plain]:
    """Return each time that a unit was put into a parcel, with what was checked, by whom and when."""
    units = rebuild.packing_units.select_related("parcel__packing__work_order", "put_in_by", "taken_out_by")
    return [
        {
            "work_order": unit.parcel.packing.work_order.number,
            "parcel": unit.parcel.number,
            **fields(unit, "put_in_at", "put_in_by", "taken_out_at", "taken_out_by", "core_due"),
            "lines": [
                fields(line, "kind", "text", "state", "reason", "done_at", "done_by")
                | fields(line, "fluid", "volume_ml", "lot")
                for line in unit.lines.all()
            ],
        }
        for unit in units.prefetch_related("lines__done_by", "lines__fluid", "lines__lot")
    ]


def exchanged_for(core: Rebuild) -> str | None:
    """Return the serial of the unit that was given for a core."""
    exchange: Exchange | None = getattr(core, "exchange", None)
    return exchange.packed.rebuild.unit.serial if exchange else None

"""The columns of this app's lists, as files."""

from shop.views.tables import Column, Table
from workorders.models import Shipment


def _units(shipment: Shipment) -> str:
    packed = (unit for parcel in shipment.parcels.all() for unit in parcel.units.all())
    return ", ".join(unit.rebuild.unit.serial for unit in packed)


def _tracking(shipment: Shipment) -> str:
    return ", ".join(parcel.tracking for parcel in shipment.parcels.all() if parcel.tracking)


IN_THE_SHOP = Table(
    "in-the-shop",
    (
        Column("Unit", "unit.serial"),
        Column("Maker's serial", "unit.maker_serial"),
        Column("Unit type", "unit.unit_type.code"),
        Column("Unit type's name", "unit.unit_type.name"),
        Column("Customer", "work_order.customer.name"),
        Column("Work order", "work_order.number"),
        Column("Stage", "get_stage_display"),
        Column("Received", "received_at"),
        Column("Where", "shelf"),
    ),
)
WORK_ORDERS = Table(
    "work-orders",
    (
        Column("Number", "number"),
        Column("Customer", "customer.name"),
        Column("Their order", "customer_order"),
        Column("Opened", "opened_at"),
        Column("Units", "units"),
        Column("In the shop", "units_here"),
        Column("Note", "note"),
    ),
)
# Each row is an instrument with the state of its calibration today.
INSTRUMENTS = Table(
    "instruments",
    (
        Column("Code", lambda row: row[0].code),
        Column("What it is", lambda row: row[0].name),
        Column("Serial", lambda row: row[0].serial),
        Column("Measures", lambda row: row[0].get_quantity_display()),
        Column("Unit", lambda row: row[0].unit),
        Column("Range from", lambda row: row[0].range_low),
        Column("Range to", lambda row: row[0].range_high),
        Column("Accuracy, ±", lambda row: row[0].accuracy),
        Column("Calibration today", lambda row: row[1].word),
        Column("What that means", lambda row: row[1].sentence),
    ),
)
OUTSIDE_WORK = Table(
    "outside-work",
    (
        Column("Unit", "rebuild.unit.serial"),
        Column("Work order", "rebuild.work_order.number"),
        Column("What is out", "place_name"),
        Column("Work", "get_kind_display"),
        Column("Supplier", "supplier.name"),
        Column("Telephone", "supplier.phone"),
        Column("What is asked", "asked"),
        Column("Sent", "sent_at"),
        Column("Due", "due"),
        Column("Back", "returned_at"),
        Column("Inspected", "inspected_at"),
        Column("Accepted", "accepted"),
        Column("Cancelled", "cancelled_at"),
    ),
)
CLAIMS = Table(
    "claims",
    (
        Column("Claim", "number"),
        Column("Unit", "warranty.rebuild.unit.serial"),
        Column("Unit type", "warranty.rebuild.unit.unit_type.code"),
        Column("Unit type's name", "warranty.rebuild.unit.unit_type.name"),
        Column("Claimant", "claimant.name"),
        Column("Reported", "reported"),
        Column("Opened", "opened_at"),
        Column("Judgement", "get_judgement_display"),
        Column("Judged", "judged_at"),
        Column("Reason", "reason"),
    ),
)
SHIPMENTS = Table(
    "shipments",
    (
        Column("Shipment", "number"),
        Column("Work order", "work_order.number"),
        Column("To", "recipient.name"),
        Column("Address", "address"),
        Column("Sent", "at"),
        Column("Carrier", "carrier"),
        Column("Parcels", lambda row: len(row.parcels.all())),
        Column("Tracking", _tracking),
        Column("Units", _units),
    ),
)

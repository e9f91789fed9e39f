"""The columns of this app's lists, as files."""

from typing import Any

from django.db.models.functions import Coalesce
from django.utils import timezone

from shop.models import UnitType
from shop.views.sorting import by_choice, by_text
from shop.views.tables import Column, Table
from workorders.models import Box, Claim, Instrument, Lesson, OutsideWork, Rebuild, Shipment
from workorders.services.open_work import PartWanted, UnitParts
from workorders.services.shortages import PartShortage


def _units(shipment: Shipment) -> str:
    packed = (unit for parcel in shipment.parcels.all() for unit in parcel.units.all())
    return ", ".join(unit.rebuild.unit.serial for unit in packed)


def _tracking(shipment: Shipment) -> str:
    return ", ".join(parcel.tracking for parcel in shipment.parcels.all() if parcel.tracking)


def _not_identified(box: Box) -> str:
    return ", ".join(line.what for line in box.left)  # type: ignore[attr-defined]


_BY_SENDER = by_text(Coalesce("work_order__customer__name", "customer__name", "sender_as_written"))
BOXES = Table(
    "boxes",
    (
        Column("Box", "number", sort="number"),
        Column("Sender", lambda row: row.sender or row.sender_as_written, sort=_BY_SENDER),
        Column("Their order", "customer_order", sort=by_text("customer_order")),
        Column("Work order", lambda row: row.work_order and row.work_order.number, sort="work_order__number"),
        Column("Announced", "announced_at", sort="announced_at"),
        Column("Received", "received_at", sort="received_at"),
        Column("Packing", "get_packing_display", sort=by_choice("packing", Box.Packing.values)),
        Column("Where", "shelf", sort=by_text("shelf")),
        Column("Units", "units", sort="units"),
        Column("Sorted", "sorted_units", sort="sorted_units"),
        Column("Not identified", _not_identified),
        Column("Closed", "closed_at", sort="closed_at"),
    ),
)


def _review(lesson: Lesson, name: str) -> Any:
    """Return a fact of the review of a lesson; empty while there is none."""
    review = getattr(lesson, "review", None)
    return getattr(review, name) if review else ""


IN_THE_SHOP = Table(
    "in-the-shop",
    (
        Column("Unit", "unit.serial", sort="unit__serial"),
        Column("Maker's serial", "unit.maker_serial", sort=by_text("unit__maker_serial")),
        Column("Unit type", "unit.unit_type.code", sort=by_text("unit__unit_type__code")),
        Column("Unit type's name", "unit.unit_type.name", sort=by_text("unit__unit_type__name")),
        Column("Customer", "work_order.customer.name", sort=by_text("work_order__customer__name")),
        Column("Work order", "work_order.number", sort="work_order__number"),
        Column("Rush, wanted by", "work_order.rush_wanted_by", sort="work_order__rush_wanted_by"),
        Column("Stage", "get_stage_display", sort=by_choice("stage", Rebuild.Stage.values)),
        Column("Received", "received_at", sort="received_at"),
        Column("Where", "shelf", sort=by_text("shelf")),
    ),
)
WORK_ORDERS = Table(
    "work-orders",
    (
        Column("Number", "number", sort="number"),
        Column("Customer", "customer.name", sort=by_text("customer__name")),
        Column("Their order", "customer_order", sort=by_text("customer_order")),
        Column("Opened", "opened_at", sort="opened_at"),
        Column("Units", "units", sort="units"),
        Column("In the shop", "units_here", sort="units_here"),
        Column("Sent", "units_left", sort="units_left"),
        Column("Rush, wanted by", "rush_wanted_by", sort="rush_wanted_by"),
        Column("Rush agreed by", "rush_agreed_by"),
        Column("Why it is a rush", "rush_why"),
        Column("Owner of the machine", "end_owner"),
        Column("Who holds the warranty", "get_warranty_holder_display"),
        Column("Bill to", "bill_to"),
        Column("Ship to", "ship_to"),
        Column("Note", "note"),
    ),
)


def _calibrated(row: Instrument, name: str) -> Any:
    """Return a fact of the latest calibration of an instrument; empty where it has none."""
    latest = row.calibration_on(timezone.localdate())
    return getattr(latest, name) if latest else ""


# Each row is an instrument with the state of its calibration today.
INSTRUMENTS = Table(
    "instruments",
    (
        Column("Code", lambda row: row[0].code, sort=True),
        Column("What it is", lambda row: row[0].name, sort=True),
        Column("Serial", lambda row: row[0].serial),
        Column("Measures", lambda row: row[0].get_quantity_display(), sort=True),
        Column("Unit", lambda row: row[0].unit),
        Column("Range from", lambda row: row[0].range_low),
        Column("Range to", lambda row: row[0].range_high, sort=True),
        Column("Accuracy", lambda row: row[0].accuracy_text),
        Column("Calibrated on", lambda row: _calibrated(row[0], "calibrated_on")),
        Column("Certificate", lambda row: _calibrated(row[0], "certificate_no")),
        Column("Due on", lambda row: _calibrated(row[0], "due_on"), sort=True),
        Column("Calibration today", lambda row: row[1].word, sort=True),
        Column("What that means", lambda row: row[1].sentence),
    ),
)
OUTSIDE_WORK = Table(
    "outside-work",
    (
        Column("Unit", "rebuild.unit.serial", sort="rebuild__unit__serial"),
        Column("Work order", "rebuild.work_order.number", sort="rebuild__work_order__number"),
        Column("What is out", "place_name"),
        Column("Work", "get_kind_display", sort=by_choice("kind", OutsideWork.Kind.values)),
        Column("Supplier", "supplier.name", sort=by_text("supplier__name")),
        Column("Telephone", "supplier.phone"),
        Column("What is asked", "asked"),
        Column("Sent", "sent_at", sort="sent_at"),
        Column("Due", "due", sort="due"),
        Column("Back", "returned_at", sort="returned_at"),
        Column("Inspected", "inspected_at", sort="inspected_at"),
        Column("Accepted", "accepted"),
        Column("Cancelled", "cancelled_at"),
    ),
)
LESSONS = Table(
    "lessons",
    (
        Column("Lesson", "pk", sort="pk"),
        Column("Unit type", "rebuild.unit.unit_type.code", sort="rebuild__unit__unit_type__code"),
        Column("Unit type's name", "rebuild.unit.unit_type.name"),
        Column("Unit", "rebuild.unit.serial"),
        Column("Where", "place_name"),
        Column("Step", "get_step_display", sort="step"),
        Column("What was learned", "text"),
        Column("By", "by", sort="by__printed_name"),
        Column("When", "at", sort="at"),
        Column("State", "state"),
        Column("Reviewed by", lambda row: _review(row, "by")),
        Column("Reviewed", lambda row: _review(row, "at")),
        Column("Reason", lambda row: _review(row, "why")),
    ),
)
CLAIMS = Table(
    "claims",
    (
        Column("Claim", "number", sort="number"),
        Column("Unit", "warranty.rebuild.unit.serial", sort="warranty__rebuild__unit__serial"),
        Column(
            "Unit type",
            "warranty.rebuild.unit.unit_type.code",
            sort=by_text("warranty__rebuild__unit__unit_type__code"),
        ),
        Column("Unit type's name", "warranty.rebuild.unit.unit_type.name"),
        Column("Claimant", "claimant.name", sort=by_text("claimant__name")),
        Column("Reported", "reported"),
        Column("Opened", "opened_at", sort="opened_at"),
        Column("Judgement", "get_judgement_display", sort=by_choice("judgement", Claim.Judgement.values)),
        Column("Judged", "judged_at", sort="judged_at"),
        Column("Reason", "reason"),
    ),
)


def _wanted(row: PartWanted) -> str:
    return f"{row.rebuild.work_order.number} {row.rebuild.unit.serial} {row.place.code}"


def _short_at(row: PartShortage) -> str:
    return "; ".join(f"{_wanted(each)} ({each.short})" for each in row.short_at)


def _stands_in(row: PartShortage) -> str:
    return "; ".join(f"{_wanted(each)}: {each.line.part.number}" for each in row.replaced)


def _short_parts(unit: UnitParts) -> str:
    return "; ".join(
        f"{row.place.code} {row.line.part.number} ({row.short})" for row in unit.wanted if row.short
    )


SHOWN = "what it shows"  # lists that are no queryset are sorted by it
SHORTAGES = Table(
    "shortages",
    (
        Column("Part number", "part.number", sort=SHOWN),
        Column("Part name", "part.name", sort=SHOWN),
        Column("Needed", "needed", sort=SHOWN),
        Column("In packed kits", "in_packed", sort=SHOWN),
        Column("Usable on the shelf", "shelf", sort=SHOWN),
        Column("Promised before", "before"),
        Column("On order", "on_order", sort=SHOWN),
        Column("On drafts", "drafted"),
        Column("Short", "short", sort=SHOWN),
        Column("Alternative stands in", "stood_in", sort=SHOWN),
        Column("State", lambda row: row.state[0]),
        Column("Short at", _short_at),
        Column("Stands in at", _stands_in),
    ),
)
SHORTAGES_BY_UNIT = Table(
    "shortages-by-unit",
    (
        Column("Unit", "rebuild.unit.serial"),
        Column("Unit type", "rebuild.unit.unit_type.code", sort=SHOWN),
        Column("Work order", "rebuild.work_order.number", sort=SHOWN),
        Column("Customer", "rebuild.work_order.customer.name", sort=SHOWN),
        Column("Rush, wanted by", "rebuild.work_order.rush_wanted_by", sort=SHOWN),
        Column("Received", "rebuild.received_at", sort=SHOWN),
        Column("Stage", "rebuild.get_stage_display", sort=SHOWN),
        Column("State of its parts", lambda unit: unit.state[0], sort=SHOWN),
        Column("Short", "short", sort=SHOWN),
        Column("What is short", _short_parts),
        Column("Packed kit", lambda unit: unit.packed.code if unit.packed else ""),
    ),
)
_EXCHANGED = "packed__parcel__shipment__"
EXCHANGES = Table(
    "exchanges",
    (
        Column(
            "Customer",
            "packed.parcel.shipment.work_order.customer.name",
            sort=by_text(f"{_EXCHANGED}work_order__customer__name"),
        ),
        Column("Telephone", "packed.parcel.shipment.work_order.customer.phone"),
        Column(
            "Work order",
            "packed.parcel.shipment.work_order.number",
            sort=f"{_EXCHANGED}work_order__number",
        ),
        Column("Unit given", "packed.rebuild.unit.serial", sort="packed__rebuild__unit__serial"),
        Column(
            "Unit type",
            "packed.rebuild.unit.unit_type.code",
            sort=by_text("packed__rebuild__unit__unit_type__code"),
        ),
        Column("Shipment", "packed.parcel.shipment.number", sort=f"{_EXCHANGED}number"),
        Column("Sent", "packed.parcel.shipment.at", sort=f"{_EXCHANGED}at"),
        Column("Core due", "due", sort="due"),
        Column("Core", lambda row: row.core.unit.serial if row.core else ""),
        Column("Core here since", "came_at", sort="came_at"),
        Column("Given up", "waived_at", sort="waived_at"),
        Column("Why", "waive_reason"),
    ),
)
SHIPMENTS = Table(
    "shipments",
    (
        Column("Shipment", "number", sort="number"),
        Column("Work order", "work_order.number", sort="work_order__number"),
        Column("To", "recipient.name", sort=by_text("recipient__name")),
        Column("Address", "address"),
        Column("Sent", "at", sort="at"),
        Column("Carrier", "carrier", sort=by_text("carrier")),
        Column("Parcels", lambda row: len(row.parcels.all())),
        Column("Tracking", _tracking),
        Column("Units", _units),
    ),
)
WHERE_USED = Table(
    "where-used",
    (
        Column("Unit", "serial", sort="1"),
        Column("Unit type", "at.type_code", sort="1"),
        Column("Unit type's name", "at.type_name"),
        Column("In the unit", "state", sort="1"),
        Column("Places", "place_words"),
        Column("Where it is now", "where_words", sort="1"),
        Column("Customer", "at.customer", sort="1"),
        Column("Shipped", "at.shipped_at", sort="1"),
        Column("Work order", "at.work_order"),
        Column("Warranty", "warranty"),
        Column("Warranty ends", "at.ends_on", sort="1"),
    ),
)
UNIT_LOTS = Table(
    "lots-in-unit",
    (
        Column("Place", "place.place"),
        Column("Name", "place.place_name"),
        Column("Rebuild", "place.rebuild"),
        Column("State", "state"),
        Column("Lot", "lot.number"),
        Column("Part", "lot.part.number"),
        Column("Part's name", "lot.part.name"),
        Column("Material", "lot.part.polymer"),
        Column("Supplier", "lot.supplier.name"),
        Column("Supplier's batch", "lot.supplier_batch"),
        Column("Cure date", "lot.cure_date"),
        Column("Lots inside", lambda row: ", ".join(lot.number for _twig, lot in row.within)),
    ),
)
RECALLS = Table(
    "recalls",
    (
        Column("Recall", "number", sort="number"),
        Column("State", "state"),
        Column("Lots", lambda row: ", ".join(each.lot.number for each in row.lots.all())),
        Column("What is wrong", "reason"),
        Column("What customers should do", "get_advice_display", sort="advice"),
        Column("Units", "unit_count", sort="unit_count"),
        Column("Opened", "opened_at", sort="opened_at"),
        Column("Closed", "closed_at"),
        Column("Withdrawn", "withdrawn_at"),
    ),
)
RECALL_UNITS = Table(
    "recall-units",
    (
        Column("Unit", "listed.unit.serial"),
        Column("Unit type", "listed.unit.unit_type.code"),
        Column("Unit type's name", "listed.unit.unit_type.name"),
        Column("Places", lambda row: "; ".join(row.listed.places)),
        Column("State", "state"),
        Column("Where it is now", "where_words"),
        Column("Customer", lambda row: row.now.at.customer if row.now else ""),
        Column("Warranty", lambda row: row.now.warranty if row.now else ""),
        Column("Found", lambda row: "found since the list was made" if row.found_since else row.listed.at),
        Column("Where it was when found", "listed.where"),
    ),
)
DRAFTS = Table(
    "drafts-from-the-bench",
    (
        Column("Draft", "code", sort=by_text("code")),
        Column("Working name", "name", sort=by_text("name")),
        Column("Family", "get_family_display", sort=by_choice("family", UnitType.Family.values)),
        Column("Numbers on the body", lambda row: ", ".join(map(str, row.maker_numbers.all()))),
        Column("Opened", "latest", sort="latest"),
        Column("Seal positions", "found", sort="found"),
        Column("Units", "unit_count", sort="unit_count"),
        Column("In the shop", "units_here", sort="units_here"),
    ),
)
# The address of a link is as good as a key: it stands on the page and in no file.
LINKS = Table(
    "links-for-customers",
    (
        Column("For whom", "for_whom", sort=by_text("for_whom")),
        Column("Customer", "customer", sort=by_text("customer__name")),
        Column("Made", "made_at", sort="made_at"),
        Column("By", "made_by", sort=by_text("made_by__printed_name")),
        Column("Good until", "expires_at", sort="expires_at"),
        Column("Box", "box", sort="box__number"),
        Column("Revoked", "revoked_at", sort="revoked_at"),
    ),
)

"""The columns of the stores' lists, as files."""

from collections.abc import Callable
from operator import attrgetter
from typing import Any

from django.db.models import OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce

from inventory.models import Balance, Lot
from inventory.services.order_plan import OrderPlan
from shop.views.tables import Column, Table

# Summed beside the query: joined to it, the sum would count what the list is narrowed by.
_HELD = Balance.objects.filter(lot=OuterRef("pk")).order_by().values("lot").annotate(held=Sum("quantity"))
LEFT = Coalesce(Subquery(_HELD.values("held")), 0)


def _places(lot: Lot) -> str:
    held = (row for row in lot.balances.all() if row.quantity)
    return "; ".join(f"{row.place} ({row.quantity})" for row in held)


def _sold(name: str) -> Callable[[OrderPlan], Any]:
    """Read a field of what the supplier of a plan sells; empty without one."""
    read = attrgetter(name)
    return lambda plan: read(plan.sold) if plan.sold else ""


def _per_week(plan: OrderPlan) -> float | str:
    return round(plan.points.mean_daily * 7, 3) if plan.usage else ""


SHOWN = "what it shows"  # lists that are no queryset are sorted by it
WHAT_TO_ORDER = Table(
    "what-to-order",
    (
        Column("Part number", "part.number", sort=SHOWN),
        Column("Part name", "part.name", sort=SHOWN),
        Column("Supplier", _sold("supplier.name"), sort=SHOWN),
        Column("Supplier's number", _sold("number")),
        Column("Order", "quantity", sort=SHOWN),
        Column("Price of a piece", "unit_price"),
        Column("Value", "value", sort=SHOWN),
        Column("Cover", "cover", sort=SHOWN),
        Column("On the shelf", "stock.shelf"),
        Column("Promised to packed kits", "stock.promised"),
        Column("On order", "stock.ordered"),
        Column("On drafts", "stock.drafted"),
        Column("Wanted by open work", "open_work", sort=SHOWN),
        Column("Expires before use", "expiring", sort=SHOWN),
        Column("Lasts, days", "lasts_days", sort=SHOWN),
        Column("Used in a week", _per_week, sort=SHOWN),
        Column("Reorder point", "points.reorder_point", sort=SHOWN),
        Column("By the normal distribution", "points.normal"),
        Column("By the Poisson distribution", "points.poisson"),
        Column("By the corrected rate", "points.corrected"),
        Column("Taken", "points.used", sort=SHOWN),
        Column("Why", "points.why"),
        Column("Lead time, days", "lead.days"),
        Column("Lead time from", "lead.basis"),
    ),
)
PURCHASE_ORDERS = Table(
    "purchase-orders",
    (
        Column("Order number", "number", sort="number"),
        Column("Supplier", "supplier.name", sort="supplier__name"),
        Column("State", "get_state_display", sort="state"),
        Column("Lines", "line_count", sort="line_count"),
        Column("Value", "total", sort="total"),
        Column("Drafted", "drafted_at", sort="drafted_at"),
        Column("Sent", "sent_at", sort="sent_at"),
        Column("Ended", "ended_at"),
        Column("Why it ended so", "end_reason"),
        Column("Note", "note"),
    ),
)
ORDER_LINES = Table(
    "order-lines",
    (
        Column("Order number", "order.number"),
        Column("Part number", "part.number"),
        Column("Part name", "part.name"),
        Column("Size", "part.size_designation"),
        Column("Material", "part.polymer"),
        Column("Supplier's number", "supplier_number"),
        Column("Pieces", "quantity"),
        Column("Price of a piece", "unit_price"),
        Column("Value", "value"),
        Column("Pieces received", "received"),
        Column("Why more came", "over_reason"),
    ),
)
EXPIRING = Table(
    "expiring",
    (
        Column("Lot number", "lot.number", sort=SHOWN),
        Column("Part number", "lot.part.number", sort=SHOWN),
        Column("Part name", "lot.part.name"),
        Column("Supplier", "lot.supplier.name", sort=SHOWN),
        Column("Use by", "lot.use_by", sort=SHOWN),
        Column("Days left", "days_left", sort=SHOWN),
        Column("Pieces on the shelf", "shelf", sort=SHOWN),
        Column("Pieces in packed kits", "packed", sort=SHOWN),
        Column("Expires before use", "unused", sort=SHOWN),
        Column("Cost of a piece", "lot.unit_cost"),
        Column("Value lost", "value", sort=SHOWN),
    ),
)
DEAD_STOCK = Table(
    "dead-stock",
    (
        Column("Part number", "number", sort="number"),
        Column("Part name", "name", sort="name"),
        Column("Kind", "get_kind_display", sort="kind"),
        Column("Pieces", "held", sort="held"),
        Column("Value", "value", sort="value"),
        Column("Last used", "last_used", sort="last_used"),
        Column("Last received", "last_received", sort="last_received"),
    ),
)
PARTS = Table(
    "parts",
    (
        Column("Part number", "number", sort="number"),
        Column("Name", "name", sort="name"),
        Column("Kind", "get_kind_display", sort="kind"),
        Column("Material", "polymer", sort="polymer"),
        Column("Hardness, Shore A", "hardness_shore_a"),
        Column("Size", "size_designation", sort="size_designation"),
        Column("Note", "note"),
        Column("Usable today", "usable", sort="usable"),
    ),
)
LOTS = Table(
    "lots",
    (
        Column("Lot number", "number", sort="number"),
        Column("Part number", "part.number", sort="part__number"),
        Column("Part name", "part.name"),
        Column("State", "get_state_display", sort="state"),
        Column("Why on hold", "hold_reason"),
        Column("Cure date", "cure_date"),
        Column("Use by", "use_by", sort="use_by"),
        Column("Supplier", "supplier.name", sort="supplier__name"),
        Column("Supplier's batch", "supplier_batch"),
        Column("Received on", "received_on", sort="received_on"),
        Column("Pieces received", "quantity_received"),
        Column("Cost of a piece", "unit_cost"),
        Column("Where", _places),
        Column("Pieces left", "pieces_left", sort=LEFT),
    ),
)
LEDGER = Table(
    "ledger",
    (
        Column("When", "at", sort="at"),
        Column("Lot number", "lot.number", sort="lot__number"),
        Column("Part number", "lot.part.number", sort="lot__part__number"),
        Column("Part name", "lot.part.name"),
        Column("What", "get_kind_display", sort="kind"),
        Column("Pieces", "quantity", sort="quantity"),
        Column("Place", "place", sort="place"),
        Column("Document", "document", sort="document"),
        Column("By", "by", sort="by__printed_name"),
        Column("Why", "why"),
        Column("Found out", lambda row: row.settlement.finding if hasattr(row, "settlement") else ""),
    ),
)
COUNTS = Table(
    "counts",
    (
        Column("Place", "place", sort="place"),
        Column("State", "get_state_display", sort="state"),
        Column("Begun", "begun_at", sort="begun_at"),
        Column("Begun by", "begun_by"),
        Column("Over", "closed_at", sort="closed_at"),
        Column("Closed by", "closed_by"),
        Column("Reason", "reason"),
        Column("Same person", "same_person"),
        Column("Lots", "lots", sort="lots"),
    ),
)
SUPPLIERS = Table(
    "suppliers",
    (
        Column("Name", "name", sort="name"),
        Column("Telephone", "phone", sort="phone"),
        Column("E-mail", "email", sort="email"),
        Column("Note", "note"),
        Column("Lots", "lots_in_all", sort="lots_in_all"),
    ),
)
FOUND = Table(
    "found-in-bin",
    (
        Column("Lot number", "lot.number", sort="lot__number"),
        Column("Part number", "lot.part.number", sort="lot__part__number"),
        Column("Part name", "lot.part.name"),
        Column("Pieces", "quantity", sort="quantity"),
        Column("Place", "place", sort="place"),
        Column("Document", "document", sort="document"),
        Column("By", "by"),
        Column("When", "at", sort="at"),
        Column("Why", "why"),
    ),
)
KITS = Table(
    "kits",
    (
        Column("Kit", "name", sort="name"),
        Column("Unit type", "revision.unit_type.code", sort="revision__unit_type__code"),
        Column("Unit type's name", "revision.unit_type.name"),
        Column("Revision", "revision.number", sort="revision__number"),
        Column("State of the revision", "revision.get_state_display"),
        Column("Lines", "line_count", sort="line_count"),
        Column("Upgraded materials", "upgrade_count", sort="upgrade_count"),
        Column("Packed", "packed_count", sort="packed_count"),
    ),
)
KIT_LINES = Table(
    "kit-lines",
    (
        Column("Place", "place"),
        Column("Part number", "part.number"),
        Column("Part name", "part.name"),
        Column("Material", "part.polymer"),
        Column("Pieces", "quantity"),
        Column("Choice", "preference"),
        Column("Required", "required"),
        Column("Why this part", "reason"),
        Column("Material before", "original_polymer"),
        Column("Better against, stated by the shop", lambda line: ", ".join(line.upgrade_reasons)),
        Column("Upgrade in words", "upgrade_words"),
    ),
)
PACKED_KITS = Table(
    "packed-kits",
    (
        Column("Code", "code", sort="code"),
        Column("Kit", "kit.name", sort="kit__name"),
        Column("Unit type", "kit.revision.unit_type.code"),
        Column("Revision", "kit.revision.number"),
        Column("State", "get_state_display", sort="state"),
        Column("Lines", "pieces", sort="pieces"),
        Column("Packed by", "packed_by"),
        Column("Packed", "packed_at", sort="packed_at"),
        Column("Used in", "document"),
    ),
)

"""The columns of the stores' lists, as files."""

from inventory.models import Lot
from shop.views.tables import Column, Table


def _places(lot: Lot) -> str:
    held = (row for row in lot.balances.all() if row.quantity)
    return "; ".join(f"{row.place} ({row.quantity})" for row in held)


PARTS = Table(
    "parts",
    (
        Column("Part number", "number"),
        Column("Name", "name"),
        Column("Kind", "get_kind_display"),
        Column("Material", "polymer"),
        Column("Hardness, Shore A", "hardness_shore_a"),
        Column("Size", "size_designation"),
        Column("Note", "note"),
        Column("Usable today", "usable"),
    ),
)
LOTS = Table(
    "lots",
    (
        Column("Lot number", "number"),
        Column("Part number", "part.number"),
        Column("Part name", "part.name"),
        Column("State", "get_state_display"),
        Column("Why on hold", "hold_reason"),
        Column("Cure date", "cure_date"),
        Column("Use by", "use_by"),
        Column("Supplier", "supplier.name"),
        Column("Supplier's batch", "supplier_batch"),
        Column("Received on", "received_on"),
        Column("Pieces received", "quantity_received"),
        Column("Cost of a piece", "unit_cost"),
        Column("Where", _places),
        Column("Pieces left", "pieces_left"),
    ),
)
SUPPLIERS = Table(
    "suppliers",
    (
        Column("Name", "name"),
        Column("Telephone", "phone"),
        Column("E-mail", "email"),
        Column("Note", "note"),
        Column("Lots", "lots_in_all"),
    ),
)
FOUND = Table(
    "found-in-bin",
    (
        Column("Lot number", "lot.number"),
        Column("Part number", "lot.part.number"),
        Column("Part name", "lot.part.name"),
        Column("Pieces", "quantity"),
        Column("Place", "place"),
        Column("Document", "document"),
        Column("By", "by"),
        Column("When", "at"),
        Column("Why", "why"),
    ),
)
KITS = Table(
    "kits",
    (
        Column("Kit", "name"),
        Column("Unit type", "revision.unit_type.code"),
        Column("Unit type's name", "revision.unit_type.name"),
        Column("Revision", "revision.number"),
        Column("State of the revision", "revision.get_state_display"),
        Column("Lines", "line_count"),
        Column("Packed", "packed_count"),
    ),
)
PACKED_KITS = Table(
    "packed-kits",
    (
        Column("Code", "code"),
        Column("Kit", "kit.name"),
        Column("Unit type", "kit.revision.unit_type.code"),
        Column("Revision", "kit.revision.number"),
        Column("State", "get_state_display"),
        Column("Lines", "pieces"),
        Column("Packed by", "packed_by"),
        Column("Packed", "packed_at"),
        Column("Used in", "document"),
    ),
)

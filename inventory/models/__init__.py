"""Stores: suppliers, parts, lots, the ledger, kits."""

from .kit import Kit, KitLine, PackedKit, PackedKitLine
from .lot import Lot
from .movement import Balance, Movement, Settlement
from .part import Part
from .supplier import Supplier

__all__ = [
    "Balance",
    "Kit",
    "KitLine",
    "Lot",
    "Movement",
    "PackedKit",
    "PackedKitLine",
    "Part",
    "Settlement",
    "Supplier",
]

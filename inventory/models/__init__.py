"""Stores: suppliers, parts, lots, the ledger, kits."""

from .counting import CountLine, PlaceCount
from .kit import Kit, KitLine, PackedKit, PackedKitLine
from .lot import Lot
from .lot_papers import LotCertificate, LotInspection, LotReading
from .making import Making, MakingInput, MakingTakenBack, RecipeLine
from .movement import Balance, Movement, Settlement
from .part import Part
from .purchase import OrderLine, PurchaseOrder
from .supplier import Supplier
from .supplier_part import PriceBreak, SupplierPart
from .walking import WalkingOrder

__all__ = [
    "Balance",
    "CountLine",
    "Kit",
    "KitLine",
    "Lot",
    "LotCertificate",
    "LotInspection",
    "LotReading",
    "Making",
    "MakingInput",
    "MakingTakenBack",
    "Movement",
    "OrderLine",
    "PackedKit",
    "PackedKitLine",
    "Part",
    "PlaceCount",
    "PriceBreak",
    "PurchaseOrder",
    "RecipeLine",
    "Settlement",
    "Supplier",
    "SupplierPart",
    "WalkingOrder",
]

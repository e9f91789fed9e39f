"""What a supplier sells: their number, lead time, pack and prices of one part."""

from datetime import date
from decimal import Decimal

from django.db import models
from django.db.models import Q

from shop.models import Tracked

from .part import Part
from .supplier import Supplier


class SupplierPart(Tracked):
    """One part as one supplier sells it."""

    part = models.ForeignKey(Part, models.PROTECT, related_name="supplier_parts")
    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="supplier_parts")
    number = models.CharField("supplier's number", max_length=60, blank=True)
    lead_days = models.PositiveSmallIntegerField("lead time in days")
    pack_size = models.PositiveIntegerField("pieces in a pack", default=1)
    minimum = models.PositiveIntegerField("fewest pieces sold", default=1)
    preferred = models.BooleanField("this part is ordered here", default=False)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["part", "-preferred", "supplier"]
        constraints = [
            models.UniqueConstraint(
                fields=["part", "supplier"],
                name="inventory_supplierpart_once",
                violation_error_message="This part is entered for that supplier already: change it there.",
            ),
            models.UniqueConstraint(
                fields=["part"],
                condition=Q(preferred=True),
                name="inventory_supplierpart_one_preferred",
                violation_error_message="A part is ordered at one supplier: take the mark off the other.",
            ),
            models.CheckConstraint(
                name="inventory_supplierpart_pack_positive",
                condition=Q(pack_size__gt=0, minimum__gt=0),
                violation_error_message="A pack, and the least that is sold, hold at least one piece.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part} from {self.supplier}"


class PriceBreak(Tracked):
    """The price of a piece from a quantity on; those of one day are one list, which replaces earlier ones."""

    supplier_part = models.ForeignKey(SupplierPart, models.PROTECT, related_name="price_breaks")
    valid_from = models.DateField()
    quantity = models.PositiveIntegerField("from pieces")
    price = models.DecimalField("price of a piece", max_digits=12, decimal_places=4)

    class Meta:
        ordering = ["supplier_part", "-valid_from", "quantity"]
        constraints = [
            models.UniqueConstraint(
                fields=["supplier_part", "valid_from", "quantity"],
                name="inventory_pricebreak_once",
                violation_error_message="This list has a price from that quantity on already.",
            ),
            models.CheckConstraint(
                name="inventory_pricebreak_positive",
                condition=Q(quantity__gt=0, price__gt=0),
                violation_error_message="A price break has a quantity and a price above nothing.",
            ),
        ]

    def __str__(self) -> str:
        return f"from {self.quantity}: {self.price.normalize():f} each, valid from {self.valid_from}"


def prices_on(breaks: "list[PriceBreak]", on: date) -> "list[PriceBreak]":
    """Return the list that is valid on a day, the smallest quantity first; empty where there is none."""
    days = [row.valid_from for row in breaks if row.valid_from <= on]
    latest = max(days, default=None)
    return sorted((row for row in breaks if row.valid_from == latest), key=lambda row: row.quantity)


def price_of(breaks: "list[PriceBreak]", quantity: int) -> Decimal | None:
    """Return the price of a piece where so many are bought from one list; None below its first break."""
    reached = [row for row in breaks if row.quantity <= quantity]
    return max(reached, key=lambda row: row.quantity).price if reached else None

"""Purchase orders: what was asked of a supplier, and what of it came."""

from typing import Any

from django.db import models
from django.db.models import F, Q, Sum
from django.db.models.functions import Coalesce
from django.urls import reverse

from shop.models import Tracked

from .part import Part
from .supplier import Supplier

SENT_STATES = ("sent", "partly", "closed")
ENDED_STATES = ("closed", "cancelled")


class PurchaseOrderQuerySet(models.QuerySet["PurchaseOrder"]):
    """Ways to narrow orders down."""

    def open(self) -> "PurchaseOrderQuerySet":
        """Drafted or sent, and not all of it came."""
        return self.exclude(state__in=ENDED_STATES)

    def awaited(self) -> "PurchaseOrderQuerySet":
        """Sent, and not all of it came."""
        return self.filter(state__in=["sent", "partly"])


class PurchaseOrder(Tracked):
    """One order to one supplier."""

    class State(models.TextChoices):
        DRAFTED = "drafted", "drafted"
        SENT = "sent", "sent"
        PARTLY = "partly", "partly delivered"
        CLOSED = "closed", "closed"
        CANCELLED = "cancelled", "cancelled"

    number = models.CharField("order number", max_length=20, unique=True)
    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="purchase_orders")
    state = models.CharField(max_length=10, choices=State, default=State.DRAFTED, db_index=True)
    note = models.CharField("note to the supplier", max_length=300, blank=True)
    drafted_at = models.DateTimeField()
    drafted_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    sent_at = models.DateTimeField(null=True, blank=True)
    sent_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    end_reason = models.CharField("why it ended so", max_length=300, blank=True)

    objects = PurchaseOrderQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="inventory_purchaseorder_sent_names_who",
                condition=Q(sent_at__isnull=False, sent_by__isnull=False)
                | Q(sent_at__isnull=True, sent_by__isnull=True, state__in=["drafted", "cancelled"]),
                violation_error_message="An order that was sent names who sent it and when.",
            ),
            models.CheckConstraint(
                name="inventory_purchaseorder_draft_not_sent",
                condition=~Q(state="drafted") | Q(sent_at__isnull=True),
                violation_error_message="An order that was sent is no draft any more.",
            ),
            models.CheckConstraint(
                name="inventory_purchaseorder_end_names_who",
                condition=Q(state__in=ENDED_STATES, ended_at__isnull=False, ended_by__isnull=False)
                | (~Q(state__in=ENDED_STATES) & Q(ended_at__isnull=True, ended_by__isnull=True)),
                violation_error_message="An order that ended names who ended it and when.",
            ),
            models.CheckConstraint(
                name="inventory_purchaseorder_cancel_has_reason",
                condition=~Q(state="cancelled") | ~Q(end_reason=""),
                violation_error_message="A cancelled order needs the reason.",
            ),
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("inventory:purchase_order", args=[self.number])

    @property
    def is_draft(self) -> bool:
        """Whether its lines may still change."""
        return self.state == self.State.DRAFTED

    @property
    def is_awaited(self) -> bool:
        """Whether something of it may still come."""
        return self.state in (self.State.SENT, self.State.PARTLY)


class OrderLineQuerySet(models.QuerySet["OrderLine"]):
    """Ways to narrow order lines down."""

    def with_received(self) -> "OrderLineQuerySet":
        """Add ``received``: the pieces of the lots that came for the line."""
        return self.annotate(received=Coalesce(Sum("lots__quantity_received"), 0))

    def outstanding(self) -> "OrderLineQuerySet":
        """Lines of sent orders of which pieces are still to come."""
        awaited = self.with_received().filter(order__state__in=["sent", "partly"])
        return awaited.filter(received__lt=F("quantity"))  # type: ignore[misc]


class OrderLine(Tracked):
    """One part on an order; what came of it is the sum of the lots received for it."""

    order = models.ForeignKey(PurchaseOrder, models.PROTECT, related_name="lines")
    part = models.ForeignKey(Part, models.PROTECT, related_name="order_lines")
    supplier_number = models.CharField("supplier's number", max_length=60, blank=True)
    quantity = models.PositiveIntegerField("pieces")
    unit_price = models.DecimalField(
        "price of a piece", max_digits=12, decimal_places=4, null=True, blank=True
    )
    over_reason = models.CharField("why more came than ordered", max_length=200, blank=True)

    objects = OrderLineQuerySet.as_manager()

    class Meta:
        ordering = ["order", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["order", "part"],
                name="inventory_orderline_part_once",
                violation_error_message="This part is on the order already: change the pieces there.",
            ),
            models.CheckConstraint(
                name="inventory_orderline_positive",
                condition=Q(quantity__gt=0) & (Q(unit_price__isnull=True) | Q(unit_price__gte=0)),
                violation_error_message="A line orders at least one piece, at no price below nothing.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.part}"

    @property
    def value(self) -> Any:
        """Pieces times price; None without a price."""
        return None if self.unit_price is None else self.quantity * self.unit_price

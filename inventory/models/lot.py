"""Lots: parts received together."""

from datetime import date

from django.db import models
from django.db.models import Q
from django.db.models.functions import Upper
from django.urls import reverse

from shop.models import Tracked
from shop.models.shop_profile import STORAGE_STANDARDS

from .part import Part
from .purchase import OrderLine
from .supplier import Supplier


class LotQuerySet(models.QuerySet["Lot"]):
    """Ways to narrow lots down."""

    def usable(self, *, on: date) -> "LotQuerySet":
        """Accepted, not past the use-by date on that day."""
        fresh = Q(use_by__isnull=True) | Q(use_by__gte=on)
        return self.filter(fresh, state=Lot.State.ACCEPTED)

    def with_stock(self) -> "LotQuerySet":
        """Lots whose ledger says that pieces are left."""
        return self.filter(balances__quantity__gt=0).distinct()

    def expired(self, *, on: date) -> "LotQuerySet":
        """Past their use-by date on that day."""
        return self.filter(use_by__lt=on)

    def first_expired_first(self) -> "LotQuerySet":
        """The order in which lots should be picked; unlimited ones last."""
        return self.order_by(models.F("use_by").asc(nulls_last=True), "received_on", "number")


class Lot(Tracked):
    """Parts received together: supplier, batch, cure date, quantity."""

    class State(models.TextChoices):
        ACCEPTED = "accepted", "accepted"
        ON_HOLD = "on_hold", "on hold"
        QUARANTINED = "quarantined", "in quarantine"

    number = models.CharField("lot number", max_length=40, unique=True)
    part = models.ForeignKey(Part, models.PROTECT, related_name="lots")
    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="lots")
    supplier_batch = models.CharField("supplier's batch", max_length=60, blank=True)
    cure_date = models.CharField("cure date as printed", max_length=20, blank=True)
    counted_from = models.DateField("age counted from", null=True, blank=True)
    use_by = models.DateField(null=True, blank=True, db_index=True)
    computed_use_by = models.DateField("use-by date as computed at receipt", null=True, blank=True)
    storage_standard = models.CharField(max_length=10, choices=STORAGE_STANDARDS, blank=True)
    age_basis = models.CharField("basis of the use-by date", max_length=300, blank=True)
    received_on = models.DateField()
    quantity_received = models.PositiveIntegerField()
    unit_cost = models.DecimalField("cost of a piece", max_digits=12, decimal_places=4, null=True, blank=True)
    order_line = models.ForeignKey(
        OrderLine, models.PROTECT, null=True, blank=True, related_name="lots", verbose_name="for the order"
    )
    made_here = models.BooleanField(default=False)
    state = models.CharField(max_length=12, choices=State, default=State.ACCEPTED)
    hold_reason = models.CharField(max_length=300, blank=True)

    objects = LotQuerySet.as_manager()

    class Meta:
        ordering = ["-received_on", "number"]
        constraints = [
            models.CheckConstraint(
                name="inventory_lot_hold_has_reason",
                condition=Q(state="accepted") | ~Q(hold_reason=""),
                violation_error_message="A lot on hold or in quarantine needs the reason.",
            ),
            models.UniqueConstraint(
                Upper("number"),
                name="inventory_lot_number_any_case",
                violation_error_message="Another lot has this number, written in other letters.",
            ),
            models.CheckConstraint(
                name="inventory_lot_quantity_positive",
                condition=Q(quantity_received__gt=0),
                violation_error_message="A lot holds at least one piece.",
            ),
            models.CheckConstraint(
                name="inventory_lot_cost_not_negative",
                condition=Q(unit_cost__isnull=True) | Q(unit_cost__gte=0),
                violation_error_message="A cost is not negative; leave it empty where nobody knows it.",
            ),
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("inventory:lot", args=[self.number])

    def is_expired(self, on: date) -> bool:
        """Whether the use-by date has passed on that day."""
        return self.use_by is not None and self.use_by < on

    @property
    def pieces_left(self) -> int:
        """What the ledger holds in all places, packed kits too; prefetch balances in lists."""
        return sum(balance.quantity for balance in self.balances.all())

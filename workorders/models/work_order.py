"""Work orders: one customer's box or visit."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.models import Customer, Tracked


class WorkOrder(Tracked):
    """One customer's box or visit, with one or more rebuilds."""

    number = models.CharField(max_length=16, unique=True, editable=False)
    customer = models.ForeignKey(Customer, models.PROTECT, related_name="work_orders")
    customer_order = models.CharField("customer's order number", max_length=60, blank=True)
    opened_at = models.DateTimeField(db_index=True)
    opened_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    note = models.TextField(blank=True)
    bill_to = models.TextField("bill to", max_length=600, blank=True)
    ship_to = models.TextField("ship to", max_length=600, blank=True)
    end_owner = models.ForeignKey(
        Customer,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="owned_orders",
        verbose_name="owner of the machine",
    )
    warranty_holder = models.CharField(
        "who holds the warranty", max_length=8, choices=Customer.Holder, default=Customer.Holder.CUSTOMER
    )
    rush_wanted_by = models.DateField("rush, wanted by", null=True, blank=True, db_index=True)
    rush_agreed_by = models.CharField("who agreed to the rush", max_length=120, blank=True)
    rush_why = models.CharField("why it is a rush", max_length=300, blank=True)

    class Meta:
        ordering = ["-opened_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_workorder_rush_whole",
                condition=Q(rush_wanted_by__isnull=True, rush_agreed_by="", rush_why="")
                | (Q(rush_wanted_by__isnull=False) & ~Q(rush_agreed_by="") & ~Q(rush_why="")),
                violation_error_message="A rush needs the day it is wanted by, who agreed to it, and why.",
            ),
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("workorders:work_order", args=[self.number])

    @property
    def holder(self) -> Customer | None:
        """Who holds the warranty of what leaves in this order; None while the owner is not named."""
        if self.warranty_holder == Customer.Holder.CUSTOMER:
            return self.customer
        return self.end_owner

"""Work orders: one customer's box or visit."""

from django.db import models
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

    class Meta:
        ordering = ["-opened_at", "-pk"]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("workorders:work_order", args=[self.number])

"""Panels that this app puts on pages of the shop app."""

from typing import Any

from django.db.models import Count, Max, Q
from django.http import HttpRequest
from django.utils import timezone

from shop import panels
from shop.models import Customer
from shop.roles import may
from workorders.models import Rebuild, Unit, Warranty, WorkOrder

SHOWN = 15


def customer_records(request: HttpRequest, customer: Customer) -> tuple[str, dict[str, Any]]:
    """Show a customer's work orders, units and warranties, latest first."""
    orders = WorkOrder.objects.filter(customer=customer).order_by("-opened_at", "-pk")
    units = Unit.objects.filter(rebuilds__work_order__customer=customer).select_related("unit_type")
    warranties = Warranty.objects.filter(recipient=customer).select_related("rebuild__unit__unit_type")
    here = Count("rebuilds", filter=~Q(rebuilds__stage__in=Rebuild.CLOSED_STAGES))
    latest = units.annotate(last=Max("rebuilds__received_at")).order_by("-last", "-pk")
    return "workorders/_customer_records.html", {
        "orders": orders.annotate(units=Count("rebuilds"), units_here=here)[:SHOWN],
        "order_count": orders.count(),
        "units": latest[:SHOWN],
        "unit_count": units.distinct().count(),
        "warranties": warranties[:SHOWN],
        "warranty_count": warranties.count(),
        "today": timezone.localdate(),
        "shown": SHOWN,
        "may_receive": may(request.user, "receive"),
    }


def register() -> None:
    """Put the panels on their pages."""
    panels.register("shop:customer", customer_records)

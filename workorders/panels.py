"""Panels that this app puts on pages of the earlier apps."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, Max, Q
from django.http import HttpRequest
from django.utils import timezone

from inventory.models import Lot
from shop import panels
from shop.models import Customer
from shop.roles import may
from workorders.models import PartUsed, Rebuild, Unit, Warranty, WorkOrder

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
        "may_announce": may(request.user, "announce"),
    }


def lot_used(request: HttpRequest, lot: Lot) -> tuple[str, dict[str, Any]]:
    """Show in which units a lot sits, and where each is now."""
    rows = (
        PartUsed.objects.filter(lot=lot, taken_back__isnull=True, use=PartUsed.Use.FITTED)
        .select_related(
            "rebuild__unit__unit_type",
            "rebuild__work_order__customer",
            "rebuild__warranty__recipient",
            "position",
            "component",
            "port",
        )
        .order_by("-pk")
    )
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    return "workorders/_lot_used.html", {"used": page, "today": timezone.localdate()}


def register() -> None:
    """Put the panels on their pages."""
    panels.register("shop:customer", customer_records)
    panels.register("inventory:lot", lot_used)

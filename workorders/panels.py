"""Panels that this app puts on pages of the earlier apps."""

from typing import Any

from django.db.models import Count, Max, Q
from django.http import HttpRequest
from django.utils import timezone

from inventory.models import Lot, PurchaseOrder
from shop import panels
from shop.models import Customer, TestPlan, TypeRevision, UnitType
from shop.roles import may
from shop.services.customers import family
from workorders.models import Rebuild, Recall, Shipment, Unit, Warranty, WorkOrder
from workorders.services.recall_state import mark_recalled
from workorders.services.where_used import where_used
from workorders.views.found_out import found_out_notice
from workorders.views.recall_notice import recall_notice

SHOWN = 15


def customer_records(request: HttpRequest, customer: Customer) -> tuple[str, dict[str, Any]]:
    """Show a customer's work orders, units, warranties and shipments, latest first.

    Warranties are those that it holds and those of its orders that an owner holds; shipments name
    merged rows still.
    """
    rows = family(customer)
    orders = WorkOrder.objects.filter(customer__in=rows).order_by("-opened_at", "-pk")
    units = Unit.objects.filter(rebuilds__work_order__customer__in=rows).select_related("unit_type")
    warranties = Warranty.objects.filter(
        Q(holder__in=rows) | Q(shipment__work_order__customer__in=rows)
    ).select_related("rebuild__unit__unit_type", "holder")
    shipments = Shipment.objects.filter(recipient__in=rows).select_related("recipient", "work_order")
    here = Count("rebuilds", filter=~Q(rebuilds__stage__in=Rebuild.CLOSED_STAGES))
    latest = list(units.annotate(last=Max("rebuilds__received_at")).order_by("-last", "-pk")[:SHOWN])
    mark_recalled(latest)
    return "workorders/_customer_records.html", {
        "orders": orders.annotate(units=Count("rebuilds"), units_here=here)[:SHOWN],
        "order_count": orders.count(),
        "units": latest,
        "unit_count": units.distinct().count(),
        "warranties": warranties[:SHOWN],
        "warranty_count": warranties.count(),
        "shipments": shipments[:SHOWN],
        "shipment_count": shipments.count(),
        "today": timezone.localdate(),
        "shown": SHOWN,
        "may_receive": may(request.user, "receive") and not customer.merged_into_id,
        "may_announce": may(request.user, "announce") and not customer.merged_into_id,
    }


def identify_link(request: HttpRequest, row: None) -> tuple[str, dict[str, Any]]:
    """Lead from the list of unit types to the page that finds the type of a unit in hand."""
    return "workorders/_identify_link.html", {}


def plan_sheet_link(request: HttpRequest, plan: TestPlan) -> tuple[str, dict[str, Any]]:
    """Offer the blank test sheet of a plan."""
    return "workorders/_plan_sheet_link.html", {"plan": plan}


def lot_used(request: HttpRequest, lot: Lot) -> tuple[str, dict[str, Any]]:
    """Show in which units a lot sits, by itself or inside a made one, and where each is now."""
    found = where_used([lot], on=timezone.localdate())
    latest = sorted(found.units, key=lambda unit: (not unit.inside, -unit.at.unit_id))
    return "workorders/_lot_used.html", {"found": found, "units": latest[:SHOWN], "lot": lot}


def lot_recalls(request: HttpRequest, lot: Lot) -> tuple[str, dict[str, Any]]:
    """Lead to the recalls of a lot, or to the page that recalls it."""
    rows = Recall.objects.filter(lots__lot=lot)
    return "workorders/_lot_recalls.html", {
        "recalls": rows,
        "lot": lot,
        "may_recall": may(request.user, "recall") and not any(not row.withdrawn_at for row in rows),
    }


def draft_count(request: HttpRequest, _row: None) -> tuple[str, dict[str, Any]]:
    """Show how many draft types came from the bench."""
    return "workorders/_draft_count.html", {"draft_count": UnitType.objects.bench_drafts().count()}


def draft_page(request: HttpRequest, revision: TypeRevision) -> tuple[str, dict[str, Any]]:
    """Lead from a draft that was opened at the bench to the page that approves it."""
    unit_type = revision.unit_type
    shown = unit_type.provisional and unit_type.merged_into_id is None
    return "workorders/_draft_link.html", {
        "draft": revision if shown else None,
        "may_approve": may(request.user, "catalogue"),
    }


def purchase_order_paper(_request: HttpRequest, order: PurchaseOrder) -> tuple[str, dict[str, Any]]:
    """Offer the paper of an order."""
    return "workorders/_purchase_order_paper.html", {"order": order}


def shortages_link(_request: HttpRequest, _row: None) -> tuple[str, dict[str, Any]]:
    """Lead from what to order to what open work is short of."""
    return "workorders/_shortages_link.html", {}


def register() -> None:
    """Put the panels on their pages."""
    panels.register("shop:unit_types", draft_count)
    panels.register("shop:test_plan", plan_sheet_link)
    panels.register("shop:unit_type", draft_page)
    panels.register("inventory:purchase_order", purchase_order_paper)
    panels.register("shop:customer", customer_records)
    panels.register("inventory:lot", lot_recalls)
    panels.register("inventory:lot", lot_used)
    panels.register("inventory:what_to_order", shortages_link)
    panels.register("shop:unit_types", identify_link)
    panels.register_notice(recall_notice)
    panels.register_notice(found_out_notice)

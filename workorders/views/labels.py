"""Labels and wired tags, of one unit or of a whole work order; nothing here changes a record."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from shop.documents import label as printing
from shop.views.answers import needs
from shop.views.label_files import PDF, label_answer, label_choices
from workorders.documents.unit_label import UnitLabel, unit_address
from workorders.models import Rebuild, Unit, WorkOrder
from workorders.views import trails


@require_GET
@needs("labels")
def labels(request: HttpRequest, serial: str) -> HttpResponse:
    """Choose the stock for one unit's label, with a picture of each."""
    unit = get_object_or_404(Unit.objects.select_related("unit_type"), serial=serial)
    latest = unit.rebuilds.select_related("work_order").first()
    context = {**label_choices(request), "unit": unit, "trail": trails.to_unit(unit, latest)}
    return render(request, "workorders/labels.html", context)


@require_GET
@needs("labels")
def work_order_labels(request: HttpRequest, number: str) -> HttpResponse:
    """Choose the stock for the labels of every unit of a work order."""
    order = get_object_or_404(WorkOrder, number=number)
    rebuilds = order.rebuilds.select_related("unit__unit_type").order_by("pk")
    context = {
        **label_choices(request),
        "order": order,
        "rebuilds": rebuilds,
        "trail": trails.to_order(order),
    }
    return render(request, "workorders/work_order_labels.html", context)


@require_GET
@needs("labels")
def label_file(request: HttpRequest, serial: str, paper: str, kind: str) -> HttpResponse:
    """One unit's label or tag as a file."""
    unit = get_object_or_404(Unit.objects.select_related("unit_type"), serial=serial)
    latest = unit.rebuilds.select_related("work_order", "mounting_place__application").first()
    return label_answer(request, [_label(unit, latest)], paper, kind, unit.serial)


@require_GET
@needs("labels")
def work_order_label_file(request: HttpRequest, number: str, paper: str) -> HttpResponse:
    """The labels or tags of every unit of a work order as one PDF."""
    order = get_object_or_404(WorkOrder, number=number)
    rebuilds = order.rebuilds.select_related("unit__unit_type", "work_order", "mounting_place__application")
    rebuilds = rebuilds.order_by("pk")
    return label_answer(request, [_label(row.unit, row) for row in rebuilds], paper, PDF, order.number)


def _label(unit: Unit, rebuild: Rebuild | None) -> printing.Label:
    return UnitLabel(
        serial=unit.serial,
        address=unit_address(settings.PUBLIC_ADDRESS, unit.serial),
        unit_type=str(unit.unit_type),
        place=str(rebuild.mounting_place or "") if rebuild else "",
        work_order=rebuild.work_order.number if rebuild else "",
        received=timezone.localdate(rebuild.received_at) if rebuild else None,
    ).as_label()

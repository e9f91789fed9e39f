"""How the pages of the packing bench find what they are about, and the way back to it."""

from django.shortcuts import get_object_or_404
from django.urls import reverse

from workorders.models import Packing, PackingLine, PackingParcel, PackingUnit, WorkOrder
from workorders.views.trails import Trail, to_order

ORDER = "work_order__customer"


def order_of(number: str) -> WorkOrder:
    """Return a work order with its customer. Http404 where there is none."""
    return get_object_or_404(WorkOrder.objects.select_related("customer"), number=number)


def packing_of(pk: int) -> Packing:
    """Return a packing with its work order. Http404 where there is none."""
    return get_object_or_404(Packing.objects.select_related(ORDER, "shipment"), pk=pk)


def parcel_of(pk: int) -> PackingParcel:
    """Return a parcel of the bench with its packing. Http404 where there is none."""
    return get_object_or_404(PackingParcel.objects.select_related(f"packing__{ORDER}"), pk=pk)


def unit_of(pk: int) -> PackingUnit:
    """Return a unit of the bench with its parcel. Http404 where there is none."""
    rows = PackingUnit.objects.select_related(f"parcel__packing__{ORDER}", "rebuild__unit__unit_type")
    return get_object_or_404(rows, pk=pk)


def line_of(pk: int) -> PackingLine:
    """Return a line of the bench with its unit. Http404 where there is none."""
    rows = PackingLine.objects.select_related(
        f"packing_unit__parcel__packing__{ORDER}",
        "packing_unit__rebuild__unit__unit_type",
        "fluid",
        "done_by",
    )
    return get_object_or_404(rows, pk=pk)


def address_of(parcel: PackingParcel, unit: PackingUnit | None = None) -> str:
    """Return the bench with a parcel, and a unit, in hand."""
    page = f"{parcel.packing.get_absolute_url()}?parcel={parcel.number}"
    return f"{page}&unit={unit.pk}#unit-{unit.pk}" if unit else page


def to_bench(order: WorkOrder) -> Trail:
    """Return the way to a page below the bench."""
    return [*to_order(order), ("Packing", reverse("workorders:pack", args=[order.number]))]

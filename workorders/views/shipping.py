"""Shipments: packing check, list, page, tracking."""

from django.conf import settings
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.documents import label as printing
from shop.errors import RuleBroken
from shop.roles import may
from shop.views.answers import act_of, answer_form, needs
from shop.views.tables import answer_list
from workorders.documents.address_label import address_labels_pdf
from workorders.forms.releasing import ShipForm, TrackingForm
from workorders.models import Parcel, Rebuild, Shipment, WorkOrder
from workorders.services import dispatch_papers, shipping
from workorders.views import columns


@require_http_methods(["GET", "POST"])
@needs("ship")
def ship(request: HttpRequest, number: str) -> HttpResponse:
    """Pack units of a work order into parcels, checked against the intake list."""
    order = get_object_or_404(WorkOrder.objects.select_related("customer"), number=number)
    rebuilds = shipping.shippable(order)
    form = ShipForm(request.POST or None, work_order=order, rebuilds=rebuilds)
    return answer_form(
        request,
        form=form,
        template="workorders/ship.html",
        context={
            "order": order,
            "rebuilds": rebuilds,
            "waiting": order.rebuilds.open()
            .exclude(stage=Rebuild.Stage.RELEASED)
            .select_related("unit__unit_type"),
        },
        write=lambda data: shipping.ship(
            act=act_of(request),
            work_order=order,
            recipient=data["recipient"],
            address=data["address"],
            carrier=data["carrier"],
            parcels=form.plans(data),
        ),
    )


@require_GET
@needs("see")
def shipments(request: HttpRequest) -> HttpResponse:
    """Shipments, latest first, and what is ready to leave."""
    rows = Shipment.objects.select_related("recipient", "work_order").prefetch_related(
        "parcels__units__rebuild__unit"
    )
    ready = Rebuild.objects.filter(
        packed__isnull=True, stage__in=[Rebuild.Stage.RELEASED, Rebuild.Stage.RETURNED_AS_FOUND]
    ).select_related("unit__unit_type", "work_order__customer")
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "ready": ready.order_by("received_at")[:50],
        "may_ship": may(request.user, "ship"),
    }
    return answer_list(request, "workorders/shipments.html", context, table=columns.SHIPMENTS, rows=rows)


def _context(request: HttpRequest, number: str) -> dict[str, object]:
    rows = Shipment.objects.select_related("recipient", "work_order", "by", "packing_list")
    row = get_object_or_404(rows, number=number)
    parcels = row.parcels.prefetch_related(
        "units__rebuild__unit__unit_type", "units__rebuild__warranty", "units__rebuild__releases__certificate"
    )
    return {
        "shipment": row,
        "parcels": parcels,
        "has_released": any(not unit.as_found for parcel in parcels for unit in parcel.units.all()),
        "may_ship": may(request.user, "ship"),
        "form": TrackingForm(),
    }


@require_GET
@needs("see")
def shipment(request: HttpRequest, number: str) -> HttpResponse:
    """One shipment with its parcels, packing checks and warranties."""
    return render(request, "workorders/shipment.html", _context(request, number))


@require_GET
@needs("labels")
def address_labels(request: HttpRequest, number: str) -> HttpResponse:
    """The address labels of every parcel of a shipment, as PDF."""
    row = get_object_or_404(Shipment.objects.select_related("recipient"), number=number)
    data = address_labels_pdf(dispatch_papers.address_labels(row))
    return _pdf(data, f"address-labels-{row.number}.pdf")


@require_GET
@needs("labels")
def port_tags(request: HttpRequest, number: str) -> HttpResponse:
    """The port tags of every released unit of a shipment, as PDF on the shop's first label stock."""
    row = get_object_or_404(Shipment, number=number)
    tags = [tag.as_label() for tag in dispatch_papers.port_tags(row)]
    if not tags:
        raise RuleBroken("No unit of this shipment was released; what goes back as found gets no port tag.")
    stock = printing.LABEL_STOCKS[settings.LABEL_STOCKS[0]]
    try:
        data = printing.label_pdf(tags, stock, dpi=printing.PRINTER_DPI[-1])
    except printing.LabelError as error:
        raise RuleBroken(str(error)) from error
    return _pdf(data, f"port-tags-{row.number}.pdf")


def _pdf(data: bytes, name: str) -> HttpResponse:
    response = HttpResponse(data, content_type="application/pdf")
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@require_POST
@needs("ship")
def tracking(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter or correct the tracking number of a parcel."""
    parcel = get_object_or_404(Parcel.objects.select_related("shipment"), pk=pk)

    def write(data: dict[str, str]) -> str:
        shipping.add_tracking(act=act_of(request), parcel=parcel, tracking=data["tracking"])
        return parcel.shipment.get_absolute_url()

    form = TrackingForm(request.POST)
    context = {**_context(request, parcel.shipment.number), "wrong_parcel": parcel.pk}
    return answer_form(request, form=form, template="workorders/shipment.html", context=context, write=write)

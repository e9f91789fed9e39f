"""Shipments: the list, one of them, its labels and tags, tracking."""

from django.conf import settings
from django.core.paginator import Paginator
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from shop.documents import label as printing
from shop.errors import RuleBroken
from shop.roles import may
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from workorders.documents.address_label import address_labels_pdf
from workorders.forms.packing import TrackingForm
from workorders.models import Exchange, Packing, PackingUnit, Parcel, Rebuild, Shipment
from workorders.services import dispatch_papers, shipping
from workorders.views import columns
from workorders.views.narrowing import with_words_or_scan


@require_GET
@needs("see")
def shipments(request: HttpRequest) -> HttpResponse:
    """Shipments, latest first, and what is ready to leave."""
    text = searched(request)
    rows = Shipment.objects.select_related("recipient", "work_order")
    rows = rows.prefetch_related("parcels__units__rebuild__unit")
    names = ("number", "recipient__name", "work_order__number", "carrier", "address")
    rows = with_words_or_scan(rows, text, *names, more=_in_a_parcel)
    rows = in_order(request, columns.SHIPMENTS, rows)
    ready = (
        Rebuild.objects.filter(
            packed__isnull=True, stage__in=[Rebuild.Stage.RELEASED, Rebuild.Stage.RETURNED_AS_FOUND]
        )
        .exclude(pk__in=PackingUnit.objects.lying().values("rebuild"))
        .select_related("unit__unit_type", "work_order__customer")
    )
    owed = Exchange.objects.owed()
    context = {
        "text": text,
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "ready": ready.order_by("received_at")[:50],
        "packings": Packing.objects.open().select_related("work_order__customer", "begun_by")[:50],
        "owed": owed.count(),
        "overdue": owed.filter(due__lt=timezone.localdate()).count(),
        "may_ship": may(request.user, "ship"),
    }
    return answer_list(request, "workorders/shipments.html", context, table=columns.SHIPMENTS, rows=rows)


def _in_a_parcel(word: str) -> Q:
    """Return the condition of a shipment with a parcel or a unit that the word is found in."""
    found = Q(tracking__icontains=word) | Q(units__rebuild__unit__serial__icontains=word)
    return Q(pk__in=Parcel.objects.filter(found).values("shipment"))


def _context(request: HttpRequest, number: str) -> dict[str, object]:
    rows = Shipment.objects.select_related("recipient", "work_order", "by", "packing_list")
    row = get_object_or_404(rows, number=number)
    parcels = row.parcels.prefetch_related(
        "units__rebuild__unit__unit_type",
        "units__rebuild__warranty__holder",
        "units__rebuild__releases__certificate",
        "units__exchange__core__unit",
    )
    for parcel in parcels:
        parcel.shipment = row
    return {
        "shipment": row,
        "parcels": parcels,
        "may_ship": may(request.user, "ship"),
        "form": TrackingForm(),
    }


@require_GET
@needs("see")
def shipment(request: HttpRequest, number: str) -> HttpResponse:
    """One shipment with its parcels, packing checks and warranties."""
    return render(request, "workorders/shipment.html", _context(request, number))


@require_GET
@needs("see")
def shipment_scanned(request: HttpRequest, number: str) -> HttpResponse:
    """Answer the symbol of an address label or a packing list."""
    return redirect(get_object_or_404(Shipment, number=number.upper()))


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
    """The port tags of every unit of a shipment, as PDF on the shop's first label stock."""
    row = get_object_or_404(Shipment, number=number)
    tags = [tag.as_label() for tag in dispatch_papers.port_tags(row)]
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
        shipping.add_tracking(act=act_of(request), parcel=parcel, **data)
        return parcel.shipment.get_absolute_url()

    form = TrackingForm(request.POST)
    context = {**_context(request, parcel.shipment.number), "wrong_parcel": parcel.pk}
    return answer_form(request, form=form, template="workorders/shipment.html", context=context, write=write)

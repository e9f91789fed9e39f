"""Exchanges: the cores still owed, one that came, another day, one given up, the reminder."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import F
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from shop.roles import may
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from workorders.forms import packing as forms
from workorders.models import Exchange
from workorders.services import exchanges as service
from workorders.services.dispatch_papers import core_reminder
from workorders.views import columns
from workorders.views.narrowing import with_words_or_scan

BOTH = ["GET", "POST"]
FILTERS = (("owed", "Owed"), ("all", "All exchanges"))
RELATED = (
    "packed__rebuild__unit__unit_type",
    "packed__parcel__shipment__work_order__customer",
    "core__unit",
    "came_by",
    "waived_by",
)
SEARCHED = (
    "packed__rebuild__unit__serial",
    "packed__rebuild__unit__unit_type__name",
    "packed__parcel__shipment__number",
    "packed__parcel__shipment__work_order__number",
    "packed__parcel__shipment__work_order__customer__name",
    "core__unit__serial",
    "waive_reason",
)


@require_GET
@needs("see")
def cores_owed(request: HttpRequest) -> HttpResponse:
    """Cores that customers owe, the day due first; or all exchanges; narrowed by text."""
    show, text = request.GET.get("show", "owed"), searched(request)
    rows = Exchange.objects.all() if show == "all" else Exchange.objects.owed()
    rows = rows.select_related(*RELATED).order_by(F("due").asc(nulls_last=True), "pk")
    rows = in_order(request, columns.EXCHANGES, with_words_or_scan(rows, text, *SEARCHED))
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "filters": FILTERS,
        "show": show,
        "text": text,
        "today": timezone.localdate(),
        "may_ship": may(request.user, "ship"),
    }
    return answer_list(request, "workorders/cores_owed.html", context, table=columns.EXCHANGES, rows=rows)


def _exchange(pk: int) -> Exchange:
    return get_object_or_404(Exchange.objects.select_related(*RELATED), pk=pk)


def _ask(
    request: HttpRequest,
    exchange: Exchange,
    form: Form,
    title: str,
    submit: str,
    write: Callable[[dict[str, Any]], Any],
    **more: Any,
) -> HttpResponse:
    back = reverse("workorders:cores_owed")
    shipment = exchange.packed.parcel.shipment

    def written(data: dict[str, Any]) -> str:
        write(data)
        messages.success(request, f"Recorded: {exchange}.")
        return back

    context = {
        "trail": [("Cores owed", back)],
        "order": shipment.work_order,
        "title": title,
        "submit": submit,
        "told": (
            f"{service.customer_of(exchange)} got unit {exchange.packed.rebuild.unit.serial} with {shipment}."
        ),
        "back": back,
        **more,
    }
    return answer_form(
        request, form=form, template="workorders/pack_ask.html", write=written, context=context
    )


@require_http_methods(BOTH)
@needs("ship")
def core_came(request: HttpRequest, pk: int) -> HttpResponse:
    """The core that was owed is here."""
    row = _exchange(pk)
    found = service.cores_for(
        row.packed.rebuild, service.customer_of(row), taken=request.method == "POST"
    ).filter(service.KEPT)
    fitting = service.fitting_types(row.packed.rebuild.unit.unit_type)
    form = forms.CoreCameForm(request.POST or None, cores=list(found[:50]), fitting=fitting)
    none = (
        ""
        if form.cores
        else (
            "No unit of this customer that fits is here as an exchange core. Receive it first, as "
            "“exchange core, stays with us”."
        )
    )
    return _ask(
        request,
        row,
        form,
        "The core came",
        "Tie it to the exchange",
        lambda _data: service.core_came(act=act_of(request), exchange=row, core=form.chosen),
        none=none,
    )


@require_http_methods(BOTH)
@needs("ship")
def core_due(request: HttpRequest, pk: int) -> HttpResponse:
    """Another day for an owed core."""
    row = _exchange(pk)
    form = forms.CoreDueForm(request.POST or None, initial={"due": row.due})
    return _ask(
        request,
        row,
        form,
        "Another day for the core",
        "Change the day",
        lambda data: service.change_core_due(act=act_of(request, data["why"]), exchange=row, due=data["due"]),
    )


@require_http_methods(BOTH)
@needs("ship")
def core_waive(request: HttpRequest, pk: int) -> HttpResponse:
    """No core comes."""
    row = _exchange(pk)
    return _ask(
        request,
        row,
        forms.WaiveCoreForm(request.POST or None),
        "No core comes",
        "Give the core up",
        lambda data: service.waive_core(act=act_of(request, data["why"]), exchange=row),
        grave=True,
    )


@require_GET
@needs("see")
def core_letter(request: HttpRequest, pk: int) -> HttpResponse:
    """The letter that asks for an owed core, as PDF."""
    row = _exchange(pk)
    response = HttpResponse(core_reminder(row, on=timezone.localdate()), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="core-reminder-{row.pk}.pdf"'
    return response

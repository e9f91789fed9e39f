"""Home, search and the unit page."""

from django.contrib.auth.decorators import login_not_required
from django.core.paginator import Paginator
from django.db.models import Case, Value, When
from django.http import HttpRequest, HttpResponse, HttpResponsePermanentRedirect, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from shop.models import ShopProfile
from shop.roles import may
from shop.views.answers import needs
from shop.views.tables import answer_list
from workorders.calc.serial import SerialError, parse_serial
from workorders.models import Box, OutsideWork, Rebuild, Unit
from workorders.services import lookup
from workorders.services.record import unit_record
from workorders.views import columns

# Released units may wait on the shelf for years; what is in work comes first, the oldest on top.
SHELVED_LAST = Case(When(stage=Rebuild.Stage.RELEASED, then=Value(1)), default=Value(0))


@require_GET
@needs("see")
def home(request: HttpRequest) -> HttpResponse:
    """What is in the shop, by stage, and what waits for the signed-in person."""
    stage = request.GET.get("stage", "")
    rows = Rebuild.objects.open().select_related("unit__unit_type", "work_order__customer")
    if stage in Rebuild.Stage.values:
        rows = rows.at_stage(stage)
    context = {
        "counts": lookup.open_counts(),
        "stage": stage,
        "page": Paginator(rows.order_by(SHELVED_LAST, "received_at"), 50).get_page(request.GET.get("page")),
        "open_boxes": Box.objects.open().count(),
        "overdue_outside": OutsideWork.objects.overdue(on=timezone.localdate()).count(),
        "may_receive": may(request.user, "receive"),
    }
    return answer_list(
        request,
        "workorders/home.html",
        context,
        table=columns.IN_THE_SHOP,
        rows=rows.order_by(SHELVED_LAST, "received_at"),
    )


@require_GET
@needs("see")
def find(request: HttpRequest) -> HttpResponse:
    """Answer the one search box; a single hit opens at once."""
    found = lookup.find(request.GET.get("q", ""))
    if found.only is not None:
        return redirect(found.only.get_absolute_url())
    return render(request, "workorders/find.html", {"found": found, "search_text": found.text})


@require_GET
@login_not_required
def unit(request: HttpRequest, serial: str) -> HttpResponse:
    """The page behind the label: the answer on top, the whole history below.

    Signed out it shows only what a stranger with the label may know.
    """
    try:
        known = parse_serial(serial)
    except SerialError as error:
        context = {"problem": str(error), "profile": ShopProfile.objects.first()}
        return render(request, "workorders/unit_unknown.html", context, status=404)
    row = Unit.objects.select_related("unit_type").filter(serial=known).first()
    if row is None:
        context = {"problem": "No unit carries this serial.", "profile": ShopProfile.objects.first()}
        return render(request, "workorders/unit_unknown.html", context, status=404)
    if serial != row.serial:
        return HttpResponsePermanentRedirect(row.get_absolute_url())
    if not may(request.user, "see"):
        return _public(request, row)
    passes = lookup.history_of(row)
    told: dict[str, object] = {
        "unit": row,
        "passes": [(rebuild, lookup.timeline(rebuild)) for rebuild in passes],
        "answer": lookup.answer(row, passes, on=timezone.localdate()),
        "open_now": next((rebuild for rebuild in passes if rebuild.is_open), None),
        "may_claim": may(request.user, "claims"),
        "may_label": may(request.user, "labels"),
    }
    return render(request, "workorders/unit.html", told)


def _public(request: HttpRequest, row: Unit) -> HttpResponse:
    told = lookup.answer(row, lookup.history_of(row), on=timezone.localdate())
    context = {
        "unit": row,
        "type_name": row.unit_type.name,
        "rebuilt_on": told.rebuilt_on,
        "ends_on": told.warranty.ends_on if told.warranty else None,
        "in_warranty": told.in_warranty,
        "profile": ShopProfile.objects.first(),
        "sign_in": f"{reverse('shop:sign_in')}?next={row.get_absolute_url()}",
    }
    return render(request, "workorders/unit_public.html", context)


@require_GET
@needs("see")
def unit_json(request: HttpRequest, serial: str) -> JsonResponse:
    """The whole record of a unit as JSON, the same as the history command prints."""
    row = get_object_or_404(Unit.objects.select_related("unit_type"), serial=serial)
    response = JsonResponse(unit_record(row), json_dumps_params={"indent": 2, "ensure_ascii": False})
    response["Content-Disposition"] = f'attachment; filename="{row.serial}.json"'
    return response

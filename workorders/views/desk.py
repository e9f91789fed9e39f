"""Home, search and the unit page."""

from django.contrib.auth.decorators import login_not_required
from django.core.paginator import Paginator
from django.db.models import Case, F, Q, Value, When
from django.http import HttpRequest, HttpResponse, HttpResponsePermanentRedirect, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from shop.models import ShopProfile
from shop.roles import may
from shop.services.profile import currency_of_shop
from shop.views.answers import needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from workorders.calc.serial import SerialError, parse_serial
from workorders.models import Box, Lesson, OutsideWork, Rebuild, Recall, Unit
from workorders.services import lookup
from workorders.services.bench_sheets import scanned_sheet
from workorders.services.found_out import flags
from workorders.services.recall_state import found_since, mark_recalled
from workorders.services.record.unit import unit_record
from workorders.views import columns
from workorders.views.narrowing import with_words_or_scan

# Released units may wait on the shelf for years; a rush comes first, then what is in work, the
# oldest on top. An exchange unit on the shelf waits for nobody, whatever it came in with.
ON_THE_SHELF = Q(stage=Rebuild.Stage.RELEASED) & (
    Q(work_order__rush_wanted_by__isnull=True) | Q(destination=Rebuild.Destination.EXCHANGE)
)
IN_ORDER = (
    Case(When(ON_THE_SHELF, then=Value(1)), default=Value(0)),
    F("work_order__rush_wanted_by").asc(nulls_last=True),
    "received_at",
    "pk",
)
SEARCHED = (
    "unit__serial",
    "unit__maker_serial",
    "unit__unit_type__code",
    "unit__unit_type__name",
    "work_order__number",
    "work_order__customer__name",
    "shelf",
)


@require_GET
@needs("see")
def home(request: HttpRequest) -> HttpResponse:
    """What is in the shop, by stage, and what waits for the signed-in person."""
    stage, text = request.GET.get("stage", ""), searched(request)
    rows = Rebuild.objects.open().select_related("unit__unit_type", "work_order__customer")
    if stage in Rebuild.Stage.values:
        rows = rows.at_stage(stage)
    rows = with_words_or_scan(rows.order_by(*IN_ORDER), text, *SEARCHED)
    rows = in_order(request, columns.IN_THE_SHOP, rows)
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    mark_recalled(rebuild.unit for rebuild in page)
    context = {
        "counts": lookup.open_counts(),
        "stage": stage,
        "text": text,
        "page": page,
        "open_boxes": Box.objects.open().count(),
        "overdue_outside": OutsideWork.objects.overdue(on=timezone.localdate()).count(),
        "may_receive": may(request.user, "receive"),
        "open_lessons": Lesson.objects.open().count() if may(request.user, "catalogue") else 0,
        **_open_recalls(request),
        "open_reviews": _open_reviews() if may(request.user, "review_instrument") else 0,
    }
    return answer_list(request, "workorders/home.html", context, table=columns.IN_THE_SHOP, rows=rows)


def _open_recalls(request: HttpRequest) -> dict[str, int]:
    """Return, for who recalls or calls, how many recalls are open and how many units lack on their lists."""
    if not (may(request.user, "recall") or may(request.user, "recall_calls")):
        return {}
    standing = Recall.objects.standing().exists()
    return {
        "open_recalls": Recall.objects.open().count() if standing else 0,
        "found_since": sum(found_since().values()) if standing else 0,
    }


def _open_reviews() -> int:
    """Return how many rebuilds wait for a review of a bad instrument."""
    return sum(flag.is_open for flag in flags())


@require_GET
@needs("see")
def find(request: HttpRequest) -> HttpResponse:
    """Answer the one search box; a single hit opens at once."""
    text = searched(request)
    if sheet := scanned_sheet(text):
        return redirect("workorders:sheet_scanned", sheet)
    found = lookup.find(text)
    if found.only is not None:
        return redirect(found.only.get_absolute_url())
    mark_recalled(found.units)
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
    passes, currency = lookup.history_of(row), currency_of_shop()
    told: dict[str, object] = {
        "unit": row,
        "passes": [(rebuild, lookup.timeline(rebuild, currency=currency)) for rebuild in passes],
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

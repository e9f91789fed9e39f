"""Counting by place: the list, the blind entry, the differences, the sheet."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from inventory.documents.count_sheet import CountSheet, count_sheet_pdf
from inventory.forms.counting import BeginCountForm, CountedForm
from inventory.models import CountLine, PlaceCount
from inventory.services import counting
from inventory.services.count_limits import may_book_alone, second_person_above
from inventory.views import columns
from inventory.views.lots import unsettled
from shop.changes import changes
from shop.forms.rows import WhyForm
from shop.models import ShopProfile
from shop.roles import may, refusal
from shop.services.profile import currency_of_shop
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list

BOTH = ["GET", "POST"]


@require_GET
@needs("see")
def counts(request: HttpRequest) -> HttpResponse:
    """List the counts, the latest first."""
    rows = PlaceCount.objects.select_related("begun_by", "closed_by").annotate(lots=Count("lines"))
    text, state = searched(request), request.GET.get("state", "")
    for word in text.split():
        rows = rows.filter(
            Q(place__icontains=word) | Q(begun_by__printed_name__icontains=word) | Q(reason__icontains=word)
        )
    if state in PlaceCount.State.values:
        rows = rows.filter(state=state)
    rows = in_order(request, columns.COUNTS, rows.order_by("-begun_at", "-pk"))
    context = {
        "text": text,
        "state": state,
        "states": PlaceCount.State.choices,
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "may_count": may(request.user, "stores"),
        "refusal": refusal(request.user, "stores"),
    }
    return answer_list(request, "inventory/counts.html", context, table=columns.COUNTS, rows=rows)


@require_http_methods(BOTH)
@needs("stores")
def count_new(request: HttpRequest) -> HttpResponse:
    """Begin to count a place."""
    return answer_form(
        request,
        form=BeginCountForm(request.POST or None),
        template="shop/form_page.html",
        write=lambda data: counting.begin_count(act=act_of(request), place=data["place"]),
        context={
            "title": "Count a place",
            "note": "The lots there are listed without the pieces that the ledger expects.",
            "submit": "Begin to count",
            "trail": [("Counts", reverse("inventory:counts"))],
            "cancel_url": reverse("inventory:counts"),
        },
    )


def _of(pk: int) -> PlaceCount:
    return get_object_or_404(PlaceCount.objects.select_related("begun_by", "closed_by"), pk=pk)


def _trail(row: PlaceCount) -> list[tuple[str, str]]:
    return [("Counts", reverse("inventory:counts")), (str(row), row.get_absolute_url())]


@require_GET
@needs("see")
def count(request: HttpRequest, pk: int) -> HttpResponse:
    """One count: what is entered so far, blind while it is open; all of it once it is over."""
    row = _of(pk)
    lines = row.lines.select_related("lot__part", "counted_by", "movement")
    context = {
        "count": row,
        "lines": lines,
        "left": sum(line.counted is None for line in lines),
        "closed": row.state != PlaceCount.State.OPEN,
        "may_count": may(request.user, "stores"),
        "refusal": refusal(request.user, "stores"),
        "changes": changes(row.history.all(), fields=("state", "reason", "same_person")),
        "trail": [("Counts", reverse("inventory:counts"))],
    }
    return render(request, "inventory/count.html", context)


@require_http_methods(BOTH)
@needs("stores")
def count_enter(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter what was counted, blind."""
    row = _of(pk)
    form = CountedForm(request.POST or None, lines=list(row.lines.select_related("lot__part")))

    def write(_data: dict[str, Any]) -> PlaceCount:
        return counting.enter_counted(act=act_of(request), count=row, counted=form.counted)

    return answer_form(
        request,
        form=form,
        template="shop/form_page.html",
        write=write,
        context={
            "title": f"Enter the count of {row.place}",
            "note": "Enter 0 where none lies; what is left empty is not counted yet. An entry is held "
            "against the ledger of the moment in which it is kept: enter a lot as soon as it is counted.",
            "submit": "Keep what was counted",
            "trail": _trail(row),
            "cancel_url": row.get_absolute_url(),
        },
    )


@require_http_methods(BOTH)
@needs("stores")
def count_book(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the differences with their value, and book them."""
    row = _of(pk)
    found = counting.differences_of(row)
    limit = second_person_above()
    lines: list[tuple[CountLine, Any]] = [(line, counting.value_of(line)) for line in found.lines]
    since = counting.moved_since(row)
    for line in found.lines:
        line.since = since.get(line.lot_id, [])  # type: ignore[attr-defined]
    return answer_form(
        request,
        form=WhyForm(request.POST or None),
        template="inventory/count_book.html",
        write=lambda data: counting.book_count(act=act_of(request, data["why"]), count=row),
        context={
            "title": f"Differences of {row.place}",
            "count": row,
            "lines": lines,
            "found": found,
            "moved": any(line.lot_id in since for line in found.lines),
            "limit": limit,
            "needs_second": found.needs_second(limit),
            "counted_by_me": row.lines.filter(counted_by=act_of(request).by).exists(),
            "alone": may_book_alone(),
            "currency": currency_of_shop(),
            "found_in_bin": unsettled().filter(lot__count_lines__count=row).select_related("lot__part", "by"),
            "trail": _trail(row),
            "cancel_url": row.get_absolute_url(),
        },
    )


@require_http_methods(BOTH)
@needs("stores")
def count_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Drop a count, with the reason."""
    row = _of(pk)
    return answer_form(
        request,
        form=WhyForm(request.POST or None),
        template="shop/form_page.html",
        write=lambda data: counting.drop_count(act=act_of(request, data["why"]), count=row),
        context={
            "title": f"Drop the count of {row.place}",
            "note": "The ledger stays as it is; what was entered stays in the record.",
            "submit": "Drop it",
            "trail": _trail(row),
            "cancel_url": row.get_absolute_url(),
        },
    )


@require_GET
@needs("stores")
def count_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The sheet to count by hand, as PDF."""
    row = _of(pk)
    profile = ShopProfile.objects.first()
    data = CountSheet(
        shop=profile.name if profile else "",
        place=row.place,
        begun_on=timezone.localdate(row.begun_at),
        begun_by=str(row.begun_by),
        lots=[(line.lot.number, str(line.lot.part)) for line in row.lines.select_related("lot__part")],
    )
    paper = count_sheet_pdf(data, page_size=profile.paper_size if profile else "A4")
    response = HttpResponse(paper, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="count-{row.pk}.pdf"'
    return response

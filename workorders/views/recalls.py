"""Recalls: the list, one recall with its call sheet, and everything that happens to it."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count, Q, QuerySet
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from inventory.documents.lot_label import read_lot_scan
from inventory.models import Lot
from shop.changes import changes
from shop.forms.rows import WhyForm
from shop.models import Customer
from shop.roles import may
from shop.views.answers import act_of, answer_form, answer_post, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list, table_file
from workorders.forms import recall as forms
from workorders.models import Rebuild, Recall
from workorders.services import recalls as service
from workorders.services.recall_papers import letters_to_write
from workorders.services.recall_progress import Line, progress_of
from workorders.services.recall_state import found_since
from workorders.views import columns

BOTH = ["GET", "POST"]
VIEWS = (("standing", "standing"), ("open", "open"), ("closed", "closed"), ("withdrawn", "withdrawn"))
MOST_LOTS = 50
SHOWN_CHANGES = frozenset(
    ("advice", "reason", "instructions", "close_reason", "withdraw_reason", "closed_at", "withdrawn_at")
)


@require_GET
@needs("see")
def recalls(request: HttpRequest) -> HttpResponse:
    """List recalls, the latest first."""
    view, text = request.GET.get("show", "standing"), searched(request)
    counted = Recall.objects.annotate(unit_count=Count("units", distinct=True))
    rows = counted.prefetch_related("lots__lot__part").order_by("-opened_at", "-pk")
    narrowed = {
        "open": Q(withdrawn_at__isnull=True, closed_at__isnull=True),
        "closed": Q(withdrawn_at__isnull=True, closed_at__isnull=False),
        "withdrawn": Q(withdrawn_at__isnull=False),
    }
    rows = rows.filter(narrowed.get(view, Q(withdrawn_at__isnull=True)))
    if text:
        found = Q(lots__lot__number__icontains=text) | Q(lots__lot__supplier_batch__icontains=text)
        rows = rows.filter(Q(number__icontains=text) | Q(reason__icontains=text) | found).distinct()
    rows = in_order(request, columns.RECALLS, rows)
    page, since = Paginator(rows, 50).get_page(request.GET.get("page")), found_since()
    for each in page:
        each.found_since = since.get(each.pk, 0)
    context = {
        "page": page,
        "views": VIEWS,
        "view": view if view in dict(VIEWS) else "standing",
        "text": text,
        "may_recall": may(request.user, "recall"),
    }
    return answer_list(request, "workorders/recalls.html", context, table=columns.RECALLS, rows=rows)


def recall_of(number: str) -> Recall:
    """Return a recall by its number, or answer 404."""
    rows = Recall.objects.select_related("opened_by", "closed_by", "withdrawn_by")
    return get_object_or_404(rows, number=number)


@require_GET
@needs("see")
def recall(request: HttpRequest, number: str) -> HttpResponse:
    """One recall: how far it is, what is in the shop, whom to call, letters, history."""
    row, today = recall_of(number), timezone.localdate()
    progress = progress_of(row, on=today)
    if "format" in request.GET:
        return table_file(table=columns.RECALL_UNITS, form=request.GET["format"], rows=progress.units)
    context = {
        "recall": row,
        "progress": progress,
        "page": Paginator(progress.lines, 20).get_page(request.GET.get("page")),
        "today": today,
        "lots": row.lots.select_related("lot__part", "lot__supplier", "by"),
        "letters": row.letters.select_related("customer", "file", "by", "replaces", "replaced_by"),
        "decisions": row.decisions.select_related("by", "rebuild__unit"),
        "to_write": letters_to_write(row, progress),
        "exports": ("csv", "xlsx"),
        "changes": changes(row.history.all(), fields=SHOWN_CHANGES),
        "may": {name: may(request.user, name) for name in ("recall", "recall_calls", "recall_decide")},
    }
    return render(request, "workorders/recall.html", context)


def _candidates(request: HttpRequest) -> QuerySet[Lot]:
    """Return the lots that may be meant: the one named, those of its supplier's batch, those searched for."""
    named, text = request.GET.get("lot", ""), searched(request)
    wanted = Q(pk__in=[])
    if named and (lot := Lot.objects.filter(number=named.replace("\0", "")).first()):
        wanted |= Q(pk=lot.pk)
        if lot.supplier_batch:
            wanted |= Q(supplier=lot.supplier, supplier_batch__iexact=lot.supplier_batch)
    if text:
        wanted |= Q(number__iexact=read_lot_scan(text) or text) | Q(supplier_batch__iexact=text)
    ticked = [pk for pk in request.POST.getlist("lots") if pk.isdecimal() and len(pk) < 19]
    rows = Lot.objects.filter(wanted | Q(pk__in=ticked)).select_related("part", "supplier")
    return rows.order_by("number")


@require_http_methods(BOTH)
@needs("recall")
def recall_new(request: HttpRequest) -> HttpResponse:
    """Recall a lot, or several of one supplier's batch at once."""
    candidates = _candidates(request)
    form = forms.RecallForm(
        request.POST or None, candidates=candidates, initial={"lots": list(candidates[:MOST_LOTS])}
    )
    return _lots_page(
        request,
        form,
        title="Recall lots",
        submit="Recall these lots",
        note="They go on hold at once, with everything made of them; every unit that holds them gets a "
        "banner, and what is in the shop stops at its stage.",
        trail=[("Recalls", reverse("workorders:recalls"))],
        write=lambda data: service.open_recall(act=act_of(request), **data),
        candidates=candidates,
    )


@require_http_methods(BOTH)
@needs("recall")
def recall_lots(request: HttpRequest, number: str) -> HttpResponse:
    """Recall more lots under a recall that stands."""
    row, candidates = recall_of(number), _candidates(request)
    form = forms.MoreLotsForm(request.POST or None, candidates=candidates)
    return _lots_page(
        request,
        form,
        title=f"More lots for {row}",
        submit="Recall these lots too",
        note="They go on hold with everything made of them, and their units join the list.",
        trail=_to(row),
        write=lambda data: service.add_lots(act=act_of(request, data["why"]), recall=row, lots=data["lots"]),
        candidates=candidates,
    )


def _lots_page(
    request: HttpRequest, form: Form, *, write: Callable[[dict[str, Any]], Any], candidates: Any, **more: Any
) -> HttpResponse:
    context = {
        **more,
        "text": searched(request),
        "lot": request.GET.get("lot", ""),
        "found": candidates.exists(),
        "cancel_url": more["trail"][-1][1],
    }
    return answer_form(
        request, form=form, template="workorders/recall_lots.html", write=write, context=context
    )


def _to(row: Recall) -> list[tuple[str, str]]:
    return [("Recalls", reverse("workorders:recalls")), (str(row), row.get_absolute_url())]


def _ask(
    request: HttpRequest,
    row: Recall,
    form: Form,
    title: str,
    submit: str,
    write: Callable[[dict[str, Any]], Any],
    **more: Any,
) -> HttpResponse:
    """Answer one act on a recall, which leads back to it."""

    def written(data: dict[str, Any]) -> str:
        write(data)
        messages.success(request, f"Recorded for recall {row}.")
        return row.get_absolute_url()

    context = {
        "title": title,
        "submit": submit,
        "trail": _to(row),
        "cancel_url": row.get_absolute_url(),
        **more,
    }
    return answer_form(request, form=form, template="shop/form_page.html", write=written, context=context)


@require_http_methods(BOTH)
@needs("recall")
def recall_change(request: HttpRequest, number: str) -> HttpResponse:
    """Word the recall otherwise."""
    row = recall_of(number)
    initial = {name: getattr(row, name) for name in ("advice", "reason", "instructions")}

    def write(data: dict[str, Any]) -> Recall:
        why = data.pop("why")
        return service.change_recall(act=act_of(request, why), recall=row, **data)

    return _ask(
        request,
        row,
        forms.ChangeForm(request.POST or None, initial=initial),
        f"Word {row} otherwise",
        "Change the words",
        write,
        note="Letters that were issued stay as they are; issue the letters again afterwards.",
    )


@require_POST
@needs("see")
def recall_units(request: HttpRequest, number: str) -> HttpResponse:
    """Add the units found since."""
    row = recall_of(number)

    def write() -> str:
        found = service.add_found_units(act=act_of(request), recall=row)
        messages.success(request, f"{len(found)} added to the list.")
        return row.get_absolute_url()

    return answer_post(request, write)


def _line(row: Recall, customer: Customer) -> Line | None:
    lines = progress_of(row, on=timezone.localdate()).lines
    return next((line for line in lines if line.customer.pk == customer.pk), None)


@require_http_methods(BOTH)
@needs("recall_calls")
def recall_call(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    """Record a call to one customer."""
    row, customer = recall_of(number), get_object_or_404(Customer, pk=pk)
    line = _line(row, customer)
    units = [unit.listed.pk for unit in line.units if unit.listed.pk] if line else []
    return _ask(
        request,
        row,
        forms.CallForm(request.POST or None, units=units),
        f"Call {customer}",
        "Record the call",
        lambda data: service.record_call(act=act_of(request), recall=row, customer=customer, **data),
        note=f"Telephone {customer.phone or 'none known'}. {row.get_advice_display().capitalize()}: "
        f"{row.instructions}",
    )


@require_http_methods(BOTH)
@needs("recall_decide")
def recall_decide(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    """Let a unit in the shop go, or stop it again."""
    row = recall_of(number)
    rebuild = get_object_or_404(Rebuild.objects.select_related("unit__unit_type", "work_order"), pk=pk)
    return _ask(
        request,
        row,
        forms.DecideForm(request.POST or None),
        f"Decide on unit {rebuild.unit.serial}",
        "Record the decision",
        lambda data: service.decide(
            act=act_of(request, data["why"]), recall=row, rebuild=rebuild, may_go=data["may_go"] == "yes"
        ),
        rebuild=rebuild,
    )


@require_http_methods(BOTH)
@needs("recall_decide")
def recall_close(request: HttpRequest, number: str) -> HttpResponse:
    """Close the recall."""
    row = recall_of(number)
    return _ask(
        request,
        row,
        forms.CloseForm(request.POST or None),
        f"Close {row}",
        "Close the recall",
        lambda data: service.close_recall(
            act=act_of(request, data["why"]), recall=row, accept_open=data["accept_open"]
        ),
        note=f"{progress_of(row, on=timezone.localdate()).words} The lot stays bad: banners stay, and what "
        "comes back is stopped.",
    )


@require_http_methods(BOTH)
@needs("recall_decide")
def recall_reopen(request: HttpRequest, number: str) -> HttpResponse:
    """Open a closed recall again."""
    row = recall_of(number)
    return _ask(
        request,
        row,
        WhyForm(request.POST or None),
        f"Open {row} again",
        "Open it again",
        lambda data: service.reopen_recall(act=act_of(request, data["why"]), recall=row),
    )


@require_http_methods(BOTH)
@needs("recall_decide")
def recall_withdraw(request: HttpRequest, number: str) -> HttpResponse:
    """Withdraw the recall: it was not the lot after all."""
    row = recall_of(number)
    return _ask(
        request,
        row,
        WhyForm(request.POST or None),
        f"Withdraw {row}",
        "Withdraw the recall",
        lambda data: service.withdraw_recall(act=act_of(request, data["why"]), recall=row),
        note="Banners and stops go at once. The lots stay on hold until stores accept them again. Letters "
        "and calls stay; issue letters once more, to tell everybody who got one.",
    )

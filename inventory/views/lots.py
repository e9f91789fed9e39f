"""Lots: the list, one lot with its ledger, receiving, and everything that happens to a lot."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from inventory.documents.lot_label import scanned_words
from inventory.forms import stores as forms
from inventory.models import Lot, LotCertificate, Making, Movement, OrderLine, Part
from inventory.services import lot_papers, stock
from inventory.services.genealogy import made_from, went_into
from inventory.views import columns
from shop.changes import changes
from shop.forms import ShopForm
from shop.panels import panels_for
from shop.roles import may, refusal
from shop.services.profile import currency_of_shop
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list

SOON = timedelta(days=90)
SHOWN = (
    ("stock", "with stock"),
    ("usable", "usable now"),
    ("expiring", "expiring within 90 days"),
    ("expired", "past the use-by date, with stock"),
    ("hold", "on hold"),
    ("quarantine", "in quarantine"),
    ("all", "all, empty ones too"),
)


@require_GET
@needs("see")
def lots(request: HttpRequest) -> HttpResponse:
    """List lots, narrowed by text and state; above them, what waits for stores."""
    text, show = searched(request), request.GET.get("show", "")
    today = timezone.localdate()
    rows = _matching(_shown(show, today), text)
    rows = rows.select_related("part", "supplier").prefetch_related("balances")
    rows = in_order(request, columns.LOTS, rows)
    context = {
        "text": text,
        "show": show,
        "choices": SHOWN,
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "narrowed": bool(text or show),
        "waiting": {
            name: _shown(name, today).count() for name in ("expiring", "expired", "hold", "quarantine")
        },
        "to_settle": unsettled().count(),
        "today": today,
        "soon": today + SOON,
        "may_receive": may(request.user, "stores"),
        "may_cost": may(request.user, "costs"),
        "may_make": may(request.user, "make"),
        "refusal": refusal(request.user, "stores"),
    }
    return answer_list(request, "inventory/lots.html", context, table=columns.LOTS, rows=rows)


def unsettled() -> QuerySet[Movement]:
    """Return the entries “found in bin” that stores have not settled."""
    return Movement.objects.filter(kind=Movement.Kind.FOUND, settlement=None)


def _shown(show: str, today: date) -> QuerySet[Lot]:
    with_stock = Lot.objects.with_stock()
    expiring = with_stock.filter(use_by__gte=today, use_by__lte=today + SOON)
    choices = {
        "usable": with_stock.usable(on=today).first_expired_first(),
        "expiring": expiring.first_expired_first(),
        "expired": with_stock.expired(on=today).first_expired_first(),
        "hold": Lot.objects.filter(state=Lot.State.ON_HOLD),
        "quarantine": Lot.objects.filter(state=Lot.State.QUARANTINED),
        "all": Lot.objects.all(),
    }
    return choices.get(show, with_stock)


def _matching(rows: QuerySet[Lot], text: str) -> QuerySet[Lot]:
    for word in scanned_words(text):
        rows = rows.filter(
            Q(number__icontains=word)
            | Q(supplier_batch__icontains=word)
            | Q(part__number__icontains=word)
            | Q(part__name__icontains=word)
            | Q(supplier__name__icontains=word)
        )
    return rows


@require_GET
@needs("see")
def lot(request: HttpRequest, number: str) -> HttpResponse:
    """One lot: whether it may be used, where it lies, its ledger, and where it went."""
    lots = Lot.objects.select_related("part", "supplier", "order_line__order").prefetch_related("balances")
    row = get_object_or_404(lots, number=number)
    ledger = row.movements.select_related("by", "settlement").order_by("-pk")
    today = timezone.localdate()
    balances = [balance for balance in row.balances.all() if balance.quantity]
    context = {
        "lot": row,
        "expired": row.is_expired(today),
        "expiring": row.use_by is not None and today <= row.use_by <= today + SOON,
        "balances": balances,
        "stock": row.pieces_left,
        "page": Paginator(ledger, 50).get_page(request.GET.get("page")),
        "panels": panels_for("inventory:lot", request, row),
        "made_from": made_from(row) if row.made_here else [],
        "went_into": went_into(row),
        "making": _making(row),
        "certificates": row.certificates.select_related("file__by"),
        "inspections": row.inspections.select_related("by").prefetch_related("readings"),
        "may_extend": row.use_by is not None and not lot_papers.extension_of(row)[1],
        "changes": changes(row.history.all(), several=[LotCertificate.history.filter(lot=row)]),
        "may_change": may(request.user, "stores"),
        "may_cost": may(request.user, "costs"),
        "may_make": may(request.user, "make"),
        "refusal": refusal(request.user, "stores"),
        "currency": currency_of_shop(),
    }
    return render(request, "inventory/lot.html", context)


def _making(lot: Lot) -> Making | None:
    """Return how a lot was made here, with what is shown of it."""
    if not lot.made_here:
        return None
    return Making.objects.select_related("done_by", "taken_back__by").filter(lot=lot).first()


def asked_row(request: HttpRequest, name: str, rows: "QuerySet[Any]") -> Any:
    """Return the row whose key the address names; None where it names none that there is."""
    asked = request.GET.get(name, "")
    return rows.filter(pk=asked).first() if asked.isascii() and asked.isdigit() and len(asked) < 19 else None


@require_http_methods(["GET", "POST"])
@needs("stores")
def lot_receive(request: HttpRequest) -> HttpResponse:
    """Receive a lot; the part, or the line of an order, may be named in the address."""
    part = asked_row(request, "part", Part.objects.all())
    line = asked_row(
        request, "line", OrderLine.objects.outstanding().select_related("order__supplier", "part")
    )
    initial = {"part": part}
    if line:
        initial = {
            "part": line.part,
            "supplier": line.order.supplier,
            "order_line": line,
            "quantity": line.quantity - line.received,
            "unit_cost": line.unit_price,
        }
    form = forms.ArrivedLotForm(
        request.POST or None,
        request.FILES or None,
        initial=initial,
        today=timezone.localdate(),
        currency=currency_of_shop(),
    )
    return answer_form(
        request,
        form=form,
        template="shop/form_page.html",
        write=lambda data: lot_papers.receive_with_papers(act=act_of(request), **data),
        context={
            "title": "Receive a lot",
            "submit": "Put this lot into the stores",
            "trail": [("Lots", reverse("inventory:lots"))],
            "cancel_url": reverse("inventory:lots"),
            "links": [
                ("The part is not in the list: enter it", reverse("inventory:part_new")),
                ("The supplier is not in the list: enter it", reverse("inventory:supplier_new")),
            ],
        },
    )


def answer_lot(
    request: HttpRequest,
    row: Lot,
    form: ShopForm,
    title: str,
    submit: str,
    write: Callable[[dict[str, Any]], Any],
    note: str = "",
) -> HttpResponse:
    """Answer a page with one form about a lot, which leads back to the lot."""

    def write_and_return(data: dict[str, Any]) -> str:
        write(data)
        return row.get_absolute_url()

    context = {
        "title": f"{title} {row.number}",
        "note": note,
        "submit": submit,
        "trail": [("Lots", reverse("inventory:lots")), (row.number, row.get_absolute_url())],
        "cancel_url": row.get_absolute_url(),
    }
    return answer_form(
        request, form=form, template="shop/form_page.html", write=write_and_return, context=context
    )


@require_http_methods(["GET", "POST"])
@needs("stores")
def lot_scrap(request: HttpRequest, number: str) -> HttpResponse:
    """Take pieces off the ledger for good."""
    row = get_object_or_404(Lot, number=number)

    def write(data: dict[str, Any]) -> Movement:
        act = act_of(request, data.pop("reason"))
        return stock.scrap(act=act, lot=row, **data)

    form = forms.ScrapForm(request.POST or None, lot=row)
    return answer_lot(request, row, form, "Scrap pieces of lot", "Scrap these pieces", write)


@require_http_methods(["GET", "POST"])
@needs("stores")
def lot_move(request: HttpRequest, number: str) -> HttpResponse:
    """Move pieces to another place."""
    row = get_object_or_404(Lot, number=number)
    form = forms.MoveForm(request.POST or None, lot=row)
    return answer_lot(
        request,
        row,
        form,
        "Move pieces of lot",
        "Move these pieces",
        lambda data: stock.move(act=act_of(request), lot=row, **data),
    )


@require_http_methods(["GET", "POST"])
@needs("stores")
def lot_count(request: HttpRequest, number: str) -> HttpResponse:
    """Bring the ledger to what was counted."""
    row = get_object_or_404(Lot, number=number)

    def write(data: dict[str, Any]) -> Movement:
        act = act_of(request, data.pop("reason"))
        return stock.count(act=act, lot=row, **data)

    form = forms.AdjustForm(request.POST or None, lot=row)
    return answer_lot(request, row, form, "Count lot", "Put the ledger right", write)


@require_GET
@needs("see")
def found_in_bin(request: HttpRequest) -> HttpResponse:
    """List the entries “found in bin”: those to settle first, then the latest settled ones."""
    text = searched(request)
    rows = unsettled().select_related("lot__part", "by")
    for word in scanned_words(text):
        rows = rows.filter(
            Q(lot__number__icontains=word)
            | Q(lot__part__number__icontains=word)
            | Q(lot__part__name__icontains=word)
            | Q(place__icontains=word)
            | Q(document__icontains=word)
        )
    rows = in_order(request, columns.FOUND, rows)
    settled = Movement.objects.filter(settlement__isnull=False)
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "text": text,
        "settled": settled.select_related("lot__part", "by", "settlement__by").order_by("-settlement")[:20],
        "may_settle": may(request.user, "stores"),
        "refusal": refusal(request.user, "stores"),
    }
    return answer_list(request, "inventory/found_in_bin.html", context, table=columns.FOUND, rows=rows)


@require_http_methods(["GET", "POST"])
@needs("stores")
def found_settle(request: HttpRequest, pk: int) -> HttpResponse:
    """Settle one entry “found in bin”."""
    row = get_object_or_404(Movement.objects.select_related("lot__part"), pk=pk, kind=Movement.Kind.FOUND)

    def write(data: dict[str, Any]) -> str:
        stock.settle_found(act=act_of(request), movement=row, finding=data["finding"])
        return reverse("inventory:found_in_bin")

    url = reverse("inventory:found_in_bin")
    return answer_form(
        request,
        form=forms.SettleForm(request.POST or None),
        template="shop/form_page.html",
        write=write,
        context={
            "title": f"Settle {row.quantity} of {row.lot} found at {row.place}",
            "note": f"{row.lot.part}. Recorded by {row.by} for {row.document} on {row.at:%d %b %Y}.",
            "submit": "Settle this entry",
            "trail": [("Lots", reverse("inventory:lots")), ("Found in bin", url)],
            "cancel_url": url,
        },
    )

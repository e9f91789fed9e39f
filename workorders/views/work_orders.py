"""Work orders: the list, one of them, corrections of its head."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from shop.changes import changes
from shop.models import Customer
from shop.roles import may, refusal
from shop.services.customers import family, find_customers
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from workorders.calc.serial import SerialError, read_scan
from workorders.forms.receiving import ChangeWorkOrderForm, ReasonForm
from workorders.models import Claim, Rebuild, WorkOrder
from workorders.services.open_work import units_of
from workorders.services.order_parts import parts_of, with_parts
from workorders.services.recall_state import mark_recalled
from workorders.services.receiving import change_work_order
from workorders.services.twins import twins_of
from workorders.views import columns, trails

FILTERS = (("open", "In the shop"), ("all", "All"))


@require_GET
@needs("see")
def work_orders(request: HttpRequest) -> HttpResponse:
    """List work orders: open ones or all, of one customer, with some text."""
    show = request.GET.get("show", "open")
    text = searched(request)
    pk = request.GET.get("customer", "")
    customer = get_object_or_404(Customer, pk=pk) if pk.isdecimal() else None
    rows = WorkOrder.objects.select_related("customer", "end_owner")
    if show != "all":
        rows = _open(rows)
    if customer:
        rows = rows.filter(customer__in=family(customer))
    rows = _matching(rows, text)
    in_shop = ~Q(rebuilds__stage__in=Rebuild.CLOSED_STAGES) | _waits("rebuilds__")
    rows = with_parts(rows.annotate(units=Count("rebuilds"), units_here=Count("rebuilds", filter=in_shop)))
    # Said again: a query that groups drops the order of the model. A rush of last year is none.
    rush = [] if show == "all" else [F("rush_wanted_by").asc(nulls_last=True)]
    rows = rows.order_by(*rush, "-opened_at", "-pk")
    rows = in_order(request, columns.WORK_ORDERS, rows)
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "show": show,
        "filters": FILTERS,
        "customer": customer,
        "text": text,
        "may_receive": may(request.user, "receive"),
    }
    return answer_list(request, "workorders/work_orders.html", context, table=columns.WORK_ORDERS, rows=rows)


def _open(rows: QuerySet[WorkOrder]) -> QuerySet[WorkOrder]:
    """Keep those with a unit in the shop, and those opened for a unit still to come."""
    mine = Rebuild.objects.filter(work_order=OuterRef("pk"))
    return rows.filter(Exists(mine.open()) | Exists(mine.filter(_waits())) | ~Exists(mine))


def _waits(path: str = "") -> Q:
    """Return the condition of a unit that goes back as found and has not left yet."""
    stage = Rebuild.Stage.RETURNED_AS_FOUND
    return Q(**{f"{path}stage": stage, f"{path}packed__isnull": True})


def _matching(rows: QuerySet[WorkOrder], text: str) -> QuerySet[WorkOrder]:
    """Keep those that hold the text as it stands, such as a serial in threes, or each of its words."""
    words = text.split()
    if len(words) < 2:
        return rows.filter(_holds(text)) if text else rows
    every = Q()
    for word in words:
        every &= _holds(word)
    return rows.filter(_holds(text) | every)


def _holds(text: str) -> Q:
    """Return the condition of a number, customer's order, customer or unit serial that holds the text."""
    try:
        serial = read_scan(text) or ""
    except SerialError:
        serial = ""
    part = serial or "".join(text.upper().replace("-", " ").split())
    units = Rebuild.objects.filter(Q(unit__serial__contains=part) | Q(unit__maker_serial__icontains=text))
    return (
        Q(number__icontains=text)
        | Q(customer_order__icontains=text)
        | Q(customer__in=find_customers(text))
        | Q(end_owner__in=find_customers(text))
        | Q(pk__in=units.values("work_order"))
    )


@require_GET
@needs("see")
def work_order(request: HttpRequest, number: str) -> HttpResponse:
    """One work order: its head, its units with their stage, the field that adds a unit."""
    order = get_object_or_404(
        WorkOrder.objects.select_related("customer", "end_owner", "opened_by"), number=number
    )
    rebuilds = _units_of(order)
    waiting = [row for row in rebuilds if row.is_open]
    context = {
        "order": order,
        "trail": [("Work orders", reverse("workorders:work_orders"))],
        "rebuilds": rebuilds,
        "kits": list(units_of(waiting, on=timezone.localdate()).values()),
        "boxes": order.boxes.order_by("pk"),
        "parts": parts_of(order),
        "packing": order.packings.open().select_related("begun_by").first(),
        "changes": changes(order.history.all()),
        "scan": request.GET.get("serial", ""),
        "may_receive": may(request.user, "receive"),
        "may_ship": may(request.user, "ship"),
        "may_promise": may(request.user, "promise"),
        "refusal": refusal(request.user, "receive"),
    }
    return render(request, "workorders/work_order.html", context)


@require_GET
@needs("see")
def work_order_scanned(request: HttpRequest, number: str) -> HttpResponse:
    """Answer the symbol of a pick list."""
    return redirect(get_object_or_404(WorkOrder, number=number.upper()))


def _units_of(order: WorkOrder) -> list[Any]:
    """Read the rebuilds of a work order with what the clerk must know: twins and open claims."""
    rebuilds: list[Any] = list(
        order.rebuilds.select_related("unit__unit_type", "mounting_place__application")
        .annotate(photo_count=Count("photos"))
        .order_by("pk")
    )
    twins = twins_of(row.mounting_place for row in rebuilds if row.mounting_place)
    here = {row.mounting_place_id for row in rebuilds}
    waiting = Claim.objects.filter(
        warranty__rebuild__unit__in=[row.unit_id for row in rebuilds], rebuild__isnull=True
    ).exclude(judgement=Claim.Judgement.DECLINED)
    claims = {claim.warranty.rebuild.unit_id: claim for claim in waiting.select_related("warranty__rebuild")}
    mark_recalled(row.unit for row in rebuilds)
    for row in rebuilds:
        row.twin = twins.get(row.mounting_place_id)
        row.twin_here = row.twin is not None and row.twin.pk in here
        row.claim = claims.get(row.unit_id) if row.is_open else None
    return rebuilds


@require_http_methods(["GET", "POST"])
@needs("receive")
def work_order_change(request: HttpRequest, number: str) -> HttpResponse:
    """Correct the customer's order number, the addresses or the note, with the reason."""
    order = get_object_or_404(WorkOrder.objects.select_related("customer"), number=number)

    def write(data: dict[str, Any]) -> WorkOrder:
        act = act_of(request, data.pop("why"))
        return change_work_order(act=act, work_order=order, customer=order.customer, **data)

    initial = {name: getattr(order, name) for name in ("customer_order", "note", "bill_to", "ship_to")}
    return answer_form(
        request,
        form=ChangeWorkOrderForm(request.POST or None, initial=initial),
        template="workorders/work_order_change.html",
        write=write,
        context={"order": order, "trail": trails.to_order(order)},
    )


@require_GET
@needs("receive")
def work_order_customer(request: HttpRequest, number: str) -> HttpResponse:
    """Find the customer that a work order should have been opened for."""
    order = get_object_or_404(WorkOrder.objects.select_related("customer"), number=number)
    text = searched(request)
    found = find_customers(text)[:25] if text else []
    context = {"order": order, "text": text, "found": found, "trail": trails.to_order(order)}
    return render(request, "workorders/work_order_customer.html", context)


@require_http_methods(["GET", "POST"])
@needs("receive")
def work_order_move(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    """Give a work order to another customer, with the reason."""
    order = get_object_or_404(WorkOrder.objects.select_related("customer"), number=number)
    customer = get_object_or_404(Customer, pk=pk)

    def write(data: dict[str, Any]) -> WorkOrder:
        return change_work_order(
            act=act_of(request, data["why"]),
            work_order=order,
            customer=customer,
            customer_order=order.customer_order,
            note=order.note,
        )

    return answer_form(
        request,
        form=ReasonForm(request.POST or None),
        template="workorders/work_order_move.html",
        write=write,
        context={"order": order, "customer": customer, "trail": trails.to_order(order)},
    )

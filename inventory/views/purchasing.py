"""Purchase orders: the list, one order, its lines, and everything that happens to it."""

from collections.abc import Callable
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, F, Prefetch, Q, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from inventory.forms.purchasing import NewOrderForm, OrderLineForm, OrderNoteForm
from inventory.models import Lot, OrderLine, PurchaseOrder
from inventory.services import purchasing
from inventory.views import columns
from shop.changes import changes
from shop.forms import ShopForm
from shop.forms.rows import WhyForm
from shop.panels import panels_for
from shop.roles import may, refusal
from shop.services.profile import currency_of_shop
from shop.views.answers import act_of, answer_form, answer_post, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list, table_file

SHOWN = (
    ("", "drafted and open"),
    ("drafted", "drafted"),
    ("awaited", "sent, to be delivered"),
    ("ended", "closed and cancelled"),
    ("all", "all"),
)


@require_GET
@needs("see")
def purchase_orders(request: HttpRequest) -> HttpResponse:
    """List purchase orders, narrowed by text and state."""
    text, show = searched(request), request.GET.get("show", "")
    rows = _shown(show).select_related("supplier").order_by("-pk")
    for word in text.split():
        lines = OrderLine.objects.filter(
            Q(part__number__icontains=word) | Q(part__name__icontains=word), order__isnull=False
        )
        rows = rows.filter(
            Q(number__icontains=word)
            | Q(supplier__name__icontains=word)
            | Q(note__icontains=word)
            | Q(pk__in=lines.values("order"))
        )
    rows = rows.annotate(line_count=Count("lines"), total=Sum(F("lines__quantity") * F("lines__unit_price")))
    rows = in_order(request, columns.PURCHASE_ORDERS, rows)
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "text": text,
        "show": show,
        "choices": SHOWN,
        "narrowed": bool(text or show),
        "currency": currency_of_shop(),
        "may_order": may(request.user, "stores"),
    }
    return answer_list(
        request, "inventory/purchase_orders.html", context, table=columns.PURCHASE_ORDERS, rows=rows
    )


def _shown(show: str) -> Any:
    orders = PurchaseOrder.objects
    choices = {
        "drafted": orders.filter(state=PurchaseOrder.State.DRAFTED),
        "awaited": orders.awaited(),
        "ended": orders.filter(state__in=["closed", "cancelled"]),
        "all": orders.all(),
    }
    return choices.get(show, orders.open())


def _order(number: str) -> PurchaseOrder:
    return get_object_or_404(PurchaseOrder.objects.select_related("supplier"), number=number)


@require_GET
@needs("see")
def purchase_order(request: HttpRequest, number: str) -> HttpResponse:
    """One order with its lines and what came of each; ``format`` gives the lines as a file."""
    order = get_object_or_404(
        PurchaseOrder.objects.select_related("supplier", "drafted_by", "sent_by", "ended_by"), number=number
    )
    lots = Prefetch("lots", Lot.objects.order_by("received_on", "pk"))
    lines = order.lines.with_received().select_related("part", "order__supplier").prefetch_related(lots)
    if "format" in request.GET:
        return table_file(table=columns.ORDER_LINES, form=request.GET["format"], rows=list(lines))
    priced = [line.value for line in lines if line.value is not None]
    context = {
        "order": order,
        "lines": lines,
        "total": sum(priced) if priced else None,
        "unpriced": len(lines) - len(priced),
        "currency": currency_of_shop(),
        "panels": panels_for("inventory:purchase_order", request, order),
        "changes": changes(order.history.all(), several=[OrderLine.history.filter(order=order)]),
        "may_order": may(request.user, "stores"),
        "refusal": refusal(request.user, "stores"),
    }
    return render(request, "inventory/purchase_order.html", context)


@require_http_methods(["GET", "POST"])
@needs("stores")
def purchase_order_new(request: HttpRequest) -> HttpResponse:
    """Draft an order by hand."""
    orders = reverse("inventory:purchase_orders")
    return answer_form(
        request,
        form=NewOrderForm(request.POST or None),
        template="shop/form_page.html",
        write=lambda data: purchasing.draft_order(act=act_of(request), **data),
        context={
            "title": "Draft an order",
            "submit": "Draft the order",
            "trail": [("Purchase orders", orders)],
            "cancel_url": orders,
        },
    )


def _answer(
    request: HttpRequest,
    order: PurchaseOrder,
    form: ShopForm,
    title: str,
    submit: str,
    write: Callable[[dict[str, Any]], Any],
    **more: Any,
) -> HttpResponse:
    """Answer a page with one form about an order, which leads back to the order."""

    def write_and_return(data: dict[str, Any]) -> str:
        write(data)
        return order.get_absolute_url()

    trail = [
        ("Purchase orders", reverse("inventory:purchase_orders")),
        (order.number, order.get_absolute_url()),
    ]
    context = {"title": title, "submit": submit, "trail": trail, "cancel_url": order.get_absolute_url()}
    return answer_form(
        request, form=form, template="shop/form_page.html", write=write_and_return, context=context | more
    )


@require_http_methods(["GET", "POST"])
@needs("stores")
def purchase_order_change(request: HttpRequest, number: str) -> HttpResponse:
    """Change the note of a draft."""
    order = _order(number)
    return _answer(
        request,
        order,
        OrderNoteForm(request.POST or None, instance=order),
        f"Note on order {order}",
        "Save the note",
        lambda data: purchasing.change_order(act=act_of(request, "note changed"), order=order, **data),
    )


@require_http_methods(["GET", "POST"])
@needs("stores")
def order_line_new(request: HttpRequest, number: str) -> HttpResponse:
    """Put a part on a draft."""
    order = _order(number)
    return _answer(
        request,
        order,
        OrderLineForm(request.POST or None, currency=currency_of_shop()),
        f"Add a part to order {order}",
        "Add this part",
        lambda data: purchasing.save_order_line(act=act_of(request), order=order, **data),
        links=[("The part is not in the list: enter it", reverse("inventory:part_new"))],
    )


@require_http_methods(["GET", "POST"])
@needs("stores")
def order_line_change(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    """Change pieces and price of a line of a draft, or take it off."""
    order = _order(number)
    line = get_object_or_404(order.lines.select_related("part"), pk=pk)
    initial = {"quantity": line.quantity, "unit_price": line.unit_price}
    form = OrderLineForm(request.POST or None, currency=currency_of_shop(), line=line, initial=initial)
    return _answer(
        request,
        order,
        form,
        f"{line.part} on order {order}",
        "Save the line",
        lambda data: purchasing.save_order_line(
            act=act_of(request, "line changed"), order=order, part=line.part, line=line, **data
        ),
        remove_url=reverse("inventory:order_line_remove", args=[order.number, line.pk]),
        remove_words="Take it off the order",
    )


@require_POST
@needs("stores")
def order_line_remove(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    """Take a line off a draft."""
    order = _order(number)

    # Looked up inside the write: a repeated request still gets the answer of the first.
    def write() -> PurchaseOrder:
        line = get_object_or_404(order.lines.select_related("order"), pk=pk)
        return purchasing.remove_order_line(act=act_of(request, "taken off the order"), line=line)

    return answer_post(request, write)


@require_POST
@needs("stores")
def purchase_order_send(request: HttpRequest, number: str) -> HttpResponse:
    """Record that an order went out."""
    order = _order(number)
    return answer_post(request, lambda: purchasing.send_order(act=act_of(request), order=order))


@require_http_methods(["GET", "POST"])
@needs("stores")
def purchase_order_cancel(request: HttpRequest, number: str) -> HttpResponse:
    """Cancel an order, with the reason."""
    order = _order(number)
    return _answer(
        request,
        order,
        WhyForm(request.POST or None),
        f"Cancel order {order}",
        "Cancel the order",
        lambda data: purchasing.cancel_order(act=act_of(request, data["why"]), order=order),
        note="" if order.is_draft else "It was sent: tell the supplier too.",
    )


@require_http_methods(["GET", "POST"])
@needs("stores")
def purchase_order_close(request: HttpRequest, number: str) -> HttpResponse:
    """Close an order of which the rest will not come, with the reason."""
    order = _order(number)
    return _answer(
        request,
        order,
        WhyForm(request.POST or None),
        f"Close order {order}",
        "Close the order",
        lambda data: purchasing.close_order(act=act_of(request, data["why"]), order=order),
        note="What did not come is awaited no longer.",
    )

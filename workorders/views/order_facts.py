"""What was promised with a work order: the rush, the owner of the machine, who holds the warranty."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from shop.models import Customer
from shop.services.customers import find_customers
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.customers import answer_new_customer
from workorders.forms.order_facts import HolderForm, RushForm
from workorders.forms.receiving import ReasonForm
from workorders.models import WorkOrder
from workorders.services.work_orders import end_rush, set_rush, settle_holder
from workorders.views import trails

MOST_FOUND = 25


def _order(number: str) -> WorkOrder:
    return get_object_or_404(WorkOrder.objects.select_related("customer", "end_owner"), number=number)


def _page(order: WorkOrder, **more: Any) -> dict[str, Any]:
    return {
        "order": order,
        "trail": trails.to_order(order),
        "cancel_url": order.get_absolute_url(),
        **more,
    }


@require_http_methods(["GET", "POST"])
@needs("promise")
def rush(request: HttpRequest, number: str) -> HttpResponse:
    """Record that an order is a rush, or change by when and why."""
    order = _order(number)
    initial = {
        "wanted_by": order.rush_wanted_by,
        "agreed_by": order.rush_agreed_by or str(request.user),
        "why": order.rush_why,
    }
    context = _page(order, title=f"{order} is a rush", submit="Record the rush")
    if order.rush_wanted_by:
        end = reverse("workorders:order_rush_end", args=[order.number])
        context["links"] = [("It is no rush any more", end)]
    return answer_form(
        request,
        form=RushForm(request.POST or None, initial=initial),
        template="shop/form_page.html",
        context=context,
        write=lambda data: set_rush(act=act_of(request, data["why"]), work_order=order, **data),
    )


@require_http_methods(["GET", "POST"])
@needs("promise")
def rush_end(request: HttpRequest, number: str) -> HttpResponse:
    """Record that an order is no rush any more, with the reason."""
    order = _order(number)
    return answer_form(
        request,
        form=ReasonForm(request.POST or None),
        template="shop/form_page.html",
        context=_page(order, title=f"{order} is no rush any more", submit="It is no rush"),
        write=lambda data: end_rush(act=act_of(request, data["why"]), work_order=order),
    )


@require_http_methods(["GET", "POST"])
@needs("promise")
def owner(request: HttpRequest, number: str) -> HttpResponse:
    """Say who holds the warranty; find the owner of the machine."""
    order = _order(number)
    text = searched(request)

    def write(data: dict[str, Any]) -> WorkOrder:
        kept = None if data.get("no_owner") else order.end_owner
        act = act_of(request, data["why"])
        return settle_holder(act=act, work_order=order, holder=data["holder"], end_owner=kept)

    form = HolderForm(request.POST or None, work_order=order, initial={"holder": order.warranty_holder})
    context = _page(
        order,
        text=text,
        found=find_customers(text).exclude(pk=order.customer_id)[:MOST_FOUND] if text else [],
    )
    return answer_form(
        request, form=form, template="workorders/order_owner.html", context=context, write=write
    )


@require_http_methods(["GET", "POST"])
@needs("promise")
def owner_new(request: HttpRequest, number: str) -> HttpResponse:
    """Enter the owner of the machine as a new customer, and go on to name it."""
    order = _order(number)
    return answer_new_customer(
        request,
        template="workorders/order_owner_new.html",
        use=lambda row: reverse("workorders:order_owner_named", args=[order.number, row.pk]),
        context=_page(order),
    )


@require_http_methods(["GET", "POST"])
@needs("promise")
def owner_named(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    """Name the owner of the machine, and say who of the two holds the warranty."""
    order = _order(number)
    named = get_object_or_404(Customer, pk=pk)
    form = HolderForm(
        request.POST or None, work_order=order, naming=True, initial={"holder": Customer.Holder.OWNER}
    )

    def write(data: dict[str, Any]) -> WorkOrder:
        act = act_of(request, data["why"])
        return settle_holder(act=act, work_order=order, holder=data["holder"], end_owner=named)

    return answer_form(
        request,
        form=form,
        template="shop/form_page.html",
        context=_page(
            order,
            title=f"{named} owns the machine",
            note=", ".join([*named.address_lines, named.phone or "no telephone given"]),
            submit="Name this owner",
            cancel_url=reverse("workorders:order_owner", args=[order.number]),
        ),
        write=write,
    )

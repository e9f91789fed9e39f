"""Another holder for a warranty: found or entered, and named with the reason."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from shop.changes import changes
from shop.models import Customer
from shop.services.customers import find_customers
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.customers import answer_new_customer
from workorders.forms.receiving import ReasonForm
from workorders.models import Warranty
from workorders.services.warranties import give_warranty
from workorders.views import trails

MOST_FOUND = 25


def _warranty(pk: int) -> Warranty:
    rows = Warranty.objects.select_related("rebuild__unit__unit_type", "rebuild__work_order", "holder")
    return get_object_or_404(rows, pk=pk)


def _page(warranty: Warranty, **more: Any) -> dict[str, Any]:
    return {
        "warranty": warranty,
        "trail": trails.to_unit(warranty.rebuild.unit, warranty.rebuild),
        "cancel_url": warranty.get_absolute_url(),
        **more,
    }


@require_GET
@needs("claims")
def holder(request: HttpRequest, pk: int) -> HttpResponse:
    """Find who holds a warranty from now on; what was changed so far stands below."""
    warranty, text = _warranty(pk), searched(request)
    found = find_customers(text).exclude(pk=warranty.holder_id)[:MOST_FOUND] if text else []
    context = _page(warranty, text=text, found=found, changes=changes(warranty.history.all()))
    return render(request, "workorders/warranty_holder.html", context)


@require_http_methods(["GET", "POST"])
@needs("claims")
def holder_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter the new holder as a customer, and go on to name them."""
    return answer_new_customer(
        request,
        template="workorders/warranty_holder_new.html",
        use=lambda row: reverse("workorders:warranty_holder_named", args=[pk, row.pk]),
        context=_page(_warranty(pk)),
    )


@require_http_methods(["GET", "POST"])
@needs("claims")
def holder_named(request: HttpRequest, pk: int, customer: int) -> HttpResponse:
    """Name the new holder, with the reason."""
    warranty, named = _warranty(pk), get_object_or_404(Customer, pk=customer)
    return answer_form(
        request,
        form=ReasonForm(request.POST or None),
        template="shop/form_page.html",
        context=_page(
            warranty,
            title=f"{named} holds the warranty of {warranty.rebuild.unit.serial}",
            note=f"Until now {warranty.holder} holds it. It runs to {warranty.ends_on:%d %b %Y} as before; "
            "papers that were issued stay as they are.",
            submit="Name this holder",
            cancel_url=reverse("workorders:warranty_holder", args=[pk]),
        ),
        write=lambda data: give_warranty(act=act_of(request, data["why"]), warranty=warranty, holder=named),
    )

"""Ship-to addresses of customers: entered, changed, retired."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from shop.changes import changes
from shop.forms.customers import ChangeShipToForm, ShipToForm
from shop.models import Customer, ShipTo
from shop.services.customers import SHIP_TO_FIELDS, save_ship_to
from shop.views.answers import act_of, answer_form, needs


def _page(customer: Customer) -> dict[str, Any]:
    trail = [("Customers", reverse("shop:customers")), (customer.name, customer.get_absolute_url())]
    return {"trail": trail, "cancel_url": customer.get_absolute_url()}


@require_http_methods(["GET", "POST"])
@needs("customers")
def ship_to_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter a ship-to address of a customer."""
    customer = get_object_or_404(Customer, pk=pk)
    first = not customer.ship_tos.in_use().exists()
    return answer_form(
        request,
        form=ShipToForm(request.POST or None, initial={"name": customer.name, "is_default": first}),
        template="shop/form_page.html",
        context={"title": f"Ship-to address of {customer}", "submit": "Enter it", **_page(customer)},
        write=lambda data: save_ship_to(act=act_of(request), customer=customer, **data),
    )


@require_http_methods(["GET", "POST"])
@needs("customers")
def ship_to_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a ship-to address, or say that it is no longer used."""
    row = get_object_or_404(ShipTo.objects.select_related("customer"), pk=pk)

    def write(data: dict[str, Any]) -> ShipTo:
        act = act_of(request, data.pop("why"))
        return save_ship_to(act=act, ship_to=row, **data)

    initial = {name: getattr(row, name) for name in SHIP_TO_FIELDS}
    return answer_form(
        request,
        form=ChangeShipToForm(request.POST or None, initial=initial),
        template="shop/form_page.html",
        context={
            "title": f"Change {row}",
            "note": "Papers that are issued already, and open work orders, keep the address they were given.",
            "submit": "Save the change",
            "changes": changes(row.history.all()),
            **_page(row.customer),
        },
        write=write,
    )

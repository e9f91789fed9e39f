"""Customers: the list, one customer, entering and changing."""

from collections.abc import Callable, Mapping
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from shop.changes import changes
from shop.errors import RuleBroken
from shop.forms.customers import ChangeCustomerForm, NewCustomerForm
from shop.models import Customer, ShipTo
from shop.panels import panels_for
from shop.roles import may, refusal
from shop.services.customer_keys import digits_of
from shop.services.customers import (
    FIELDS,
    find_customers,
    likely_duplicates,
    save_customer,
)
from shop.services.duplicates import perhaps_the_same
from shop.views import columns
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list


def _trail() -> list[tuple[str, str]]:
    return [("Customers", reverse("shop:customers"))]


@require_GET
@needs("see")
def customers(request: HttpRequest) -> HttpResponse:
    """List customers, narrowed by the search text."""
    text = searched(request)
    rows = (find_customers(text) if text else Customer.objects.standing()).prefetch_related("ship_tos")
    rows = in_order(request, columns.CUSTOMERS, rows)
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    context = {"page": page, "text": text, "may_enter": may(request.user, "customers")}
    return answer_list(request, "shop/customers.html", context, table=columns.CUSTOMERS, rows=rows)


@require_GET
@needs("see")
def customer(request: HttpRequest, pk: int) -> HttpResponse:
    """One customer: address, account, the panels of later apps, and every change, of merged rows too."""
    row = get_object_or_404(Customer.objects.select_related("merged_into"), pk=pk)
    merged = list(row.merged_from.all())
    context = {
        "customer": row,
        "ship_tos": row.ship_tos.order_by("retired", "-is_default", "label", "pk"),
        "alike": perhaps_the_same(row),
        "merged": merged,
        "merges": row.merges.select_related("gone", "by").filter(taken_back__isnull=True),
        "may_merge": may(request.user, "merge_customers"),
        "panels": panels_for("shop:customer", request, row),
        "changes": changes(
            row.history.all(),
            *[each.history.all() for each in merged],
            ShipTo.history.filter(customer=row.pk),
        ),
        "may_change": may(request.user, "customers"),
        "refusal": refusal(request.user, "customers"),
        "trail": _trail(),
    }
    return render(request, "shop/customer.html", context)


@require_http_methods(["GET", "POST"])
@needs("customers")
def customer_new(request: HttpRequest) -> HttpResponse:
    """Enter a customer."""
    return answer_new_customer(
        request,
        template="shop/customer_new.html",
        use=lambda row: row.get_absolute_url(),
        context={"cancel_url": reverse("shop:customers"), "trail": _trail()},
    )


def answer_new_customer(
    request: HttpRequest,
    *,
    template: str,
    use: Callable[[Customer], str],
    context: Mapping[str, Any],
    initial: Mapping[str, str] | None = None,
    entered: Callable[[Customer], str] | None = None,
) -> HttpResponse:
    """Answer a page with the form for a new customer.

    Likely duplicates are shown once, with status 422, before the customer is entered; ``use``
    gives the address to go to with the one found, and with the customer entered unless ``entered``
    does something with it first, in the same transaction.
    """
    form = NewCustomerForm(request.POST or None, initial=initial)
    page = dict(context)

    # Inside the write, so that a repeated request gets its answer before its own row is a duplicate.
    def write(data: dict[str, Any]) -> str:
        found = _unseen_duplicates(data)
        if found:
            form.data = {**request.POST.dict(), "seen": ",".join(str(row.pk) for row in found)}
            page["duplicates"] = [{"customer": row, "url": use(row)} for row in found]
            raise RuleBroken
        row = save_customer(act=act_of(request), **{name: data[name] for name in FIELDS})
        return (entered or use)(row)

    return answer_form(request, form=form, template=template, write=write, context=page)


def as_customer(text: str) -> dict[str, str]:
    """Put a text that found nobody into the field of the form that it belongs to."""
    if "@" in text:
        return {"email": text}
    if len(digits_of(text)) > len(text) / 2:
        return {"phone": text}
    return {"name": text}


def _unseen_duplicates(data: Mapping[str, Any]) -> list[Customer]:
    """Return all likely duplicates where one of them was not shown before, else none."""
    told = {name: data[name] for name in ("name", "phone", "email", "street", "postcode")}
    found = list(likely_duplicates(**told)[:10])
    seen = data["seen"].split(",")
    return found if any(str(row.pk) not in seen for row in found) else []


@require_http_methods(["GET", "POST"])
@needs("customers")
def customer_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a customer, with the reason."""
    row = get_object_or_404(Customer, pk=pk)
    initial = {name: getattr(row, name) for name in FIELDS}

    def write(data: dict[str, Any]) -> Customer:
        why = data.pop("why")
        return save_customer(act=act_of(request, why), customer=row, **data)

    return answer_form(
        request,
        form=ChangeCustomerForm(request.POST or None, initial=initial),
        template="shop/customer_change.html",
        write=write,
        context={"customer": row, "trail": [*_trail(), (row.name, row.get_absolute_url())]},
    )

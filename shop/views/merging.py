"""Customers entered twice: likely pairs, two side by side, merged, taken back, or recorded as two."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from shop.forms.merging import MergeForm, WhyForm, shown, words_of
from shop.models import Customer, CustomerMerge, DifferentCustomers
from shop.roles import may, refusal
from shop.services.customers import FIELDS, find_customers
from shop.services.duplicates import MOST_ALIKE, LikelyPairs
from shop.services.merging import (
    lasting_references,
    merge_customers,
    record_different,
    references,
    take_back_merge,
)
from shop.views import columns
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.narrowing import with_words
from shop.views.sorting import in_order, sorting_of
from shop.views.tables import answer_list

MOST_FOUND = 25
SHOWN = (*FIELDS[:2], "phone", "email", "street", "postcode", "town", "country")


def _trail(*more: tuple[str, str]) -> list[tuple[str, str]]:
    return [("Customers", reverse("shop:customers")), *more]


@require_GET
@needs("customers")
def duplicates(request: HttpRequest) -> HttpResponse:
    """List the pairs that may be one customer, or those recorded as two."""
    apart = request.GET.get("show") == "different"
    told = DifferentCustomers.objects.select_related("first", "second", "by")
    table = columns.DIFFERENT_CUSTOMERS if apart else columns.LIKELY_DUPLICATES
    sorting, text = sorting_of(request, table), searched(request)
    rows: Any
    if apart:
        rows = in_order(request, table, with_words(told, text, "first__name", "second__name"))
    else:
        rows = LikelyPairs(text, order=sorting.key, falling=sorting.falling)
    context = {
        "text": text,
        "page": Paginator(rows, 25).get_page(request.GET.get("page")),
        "apart": apart,
        "most_alike": MOST_ALIKE,
        "may_merge": may(request.user, "merge_customers"),
        "refusal": refusal(request.user, "merge_customers"),
        "trail": _trail(),
    }
    return answer_list(request, "shop/duplicates.html", context, table=table, rows=rows)


@require_GET
@needs("merge_customers")
def merge_with(request: HttpRequest, pk: int) -> HttpResponse:
    """Find the other row of a customer that was entered twice."""
    row = get_object_or_404(Customer.objects.standing(), pk=pk)
    text = searched(request)
    found = find_customers(text).exclude(pk=pk)[:MOST_FOUND] if text else []
    context = {"customer": row, "text": text, "found": found}
    return render(
        request, "shop/merge_with.html", {**context, "trail": _trail((row.name, row.get_absolute_url()))}
    )


def _pair(pk: int, other_pk: int) -> tuple[Customer, Customer]:
    """Return two customers, the one entered first in front."""
    if pk == other_pk:
        raise Http404("These are not two customers.")
    first, second = sorted((pk, other_pk))
    return get_object_or_404(Customer, pk=first), get_object_or_404(Customer, pk=second)


def _merged_already(request: HttpRequest, *pair: Customer) -> HttpResponseRedirect | None:
    """Lead on where one of the two was merged since the page was listed, unless a form is sent."""
    for row in pair:
        if row.merged_into and request.method != "POST":
            messages.info(request, f"{row} was merged into {row.merged_into} already.")
            return redirect(row.merged_into)
    return None


@require_http_methods(["GET", "POST"])
@needs("merge_customers")
def merge(request: HttpRequest, pk: int, other_pk: int) -> HttpResponse:
    """Two customers side by side: which stays, which values are right, what moves."""
    first, second = _pair(pk, other_pk)
    if elsewhere := _merged_already(request, first, second):
        return elsewhere
    moving = _counts(references(), first, second)
    more = sum(theirs - ours for _title, ours, theirs in moving)
    form = MergeForm(request.POST or None, first=first, second=second, stays=second if more > 0 else first)

    def write(data: dict[str, Any]) -> Customer:
        gone, stays, values = form.chosen(data)
        merge_customers(act=act_of(request, data["why"]), gone=gone, stays=stays, values=values)
        messages.success(request, f"{gone} is merged into this customer.")
        return stays

    context = {
        "pair": (first, second),
        "facts": [(words_of(name), shown(first, name), shown(second, name)) for name in SHOWN],
        "moving": moving,
        "staying": _counts(lasting_references(), first, second),
        "apart": DifferentCustomers.objects.filter(first=first, second=second).first(),
        "trail": _trail(("Likely duplicates", reverse("shop:duplicates"))),
    }
    return answer_form(request, form=form, template="shop/merge.html", write=write, context=context)


def _counts(found: Any, first: Customer, second: Customer) -> list[tuple[str, int, int]]:
    """Return how many rows of each table name the two customers; those that name neither are left out."""
    rows = [(each.title, each.rows(first).count(), each.rows(second).count()) for each in found]
    return [row for row in rows if row[1] or row[2]]


@require_http_methods(["GET", "POST"])
@needs("customers")
def different(request: HttpRequest, pk: int, other_pk: int) -> HttpResponse:
    """Record that two customers who look alike are not the same."""
    first, second = _pair(pk, other_pk)
    url = reverse("shop:duplicates")

    def write(data: dict[str, Any]) -> str:
        record_different(act=act_of(request, data["why"]), one=first, other=second)
        return url

    return answer_form(
        request,
        form=WhyForm(request.POST or None),
        template="shop/form_page.html",
        context={
            "title": f"{first} and {second} are two customers",
            "note": "The pair leaves the list of likely duplicates. The reason stays with it.",
            "submit": "They are not the same",
            "trail": _trail(("Likely duplicates", url)),
            "cancel_url": url,
        },
        write=write,
    )


@require_http_methods(["GET", "POST"])
@needs("merge_customers")
def merge_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a merge back."""
    row = get_object_or_404(CustomerMerge.objects.select_related("gone", "stays"), pk=pk)

    def write(data: dict[str, Any]) -> Customer:
        take_back_merge(act=act_of(request, data["why"]), merge=row)
        messages.success(request, f"{row.gone} and {row.stays} are two customers again.")
        return row.gone

    return answer_form(
        request,
        form=WhyForm(request.POST or None),
        template="shop/form_page.html",
        context={
            "title": f"Take back: {row}",
            "note": (
                "What the merge moved and changed goes back. What came to the one that stays since then "
                "stays with it."
            ),
            "submit": "Take the merge back",
            "trail": _trail((row.stays.name, row.stays.get_absolute_url())),
            "cancel_url": row.stays.get_absolute_url(),
        },
        write=write,
    )

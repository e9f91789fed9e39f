"""Margins: what rebuilds cost and earned, by unit type and one by one."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from shop.services.profile import currency_of_shop
from shop.views.answers import needs
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from workorders.forms.prices import MarginsForm
from workorders.services.margins import TypeMargin, account_of, by_type, released_rebuilds
from workorders.views import margin_columns as columns

PER_PAGE = 50
PAID, WARRANTY = "paid", "warranty"
VIEWS = ((PAID, "paid for"), (WARRANTY, "under warranty"))


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What a page of margins is asked for, and the rebuilds of it."""

    form: MarginsForm
    view: str

    @property
    def rows(self) -> Any:
        """The rebuilds of the period and type, paid for or under warranty, the latest first."""
        every = released_rebuilds(self.form.period)
        narrowed = every.filter(warranty_claim=self.view == WARRANTY)
        return narrowed.select_related("unit__unit_type", "work_order").order_by("-released_at", "-pk")

    @property
    def context(self) -> dict[str, Any]:
        """What both pages show."""
        return {
            "form": self.form,
            "period": self.form.period,
            "view": self.view,
            "views": VIEWS,
            "currency": currency_of_shop(),
        }


def _asked(request: HttpRequest) -> Asked:
    view = request.GET.get("show", PAID)
    return Asked(form=MarginsForm.asked(request.GET), view=view if view in dict(VIEWS) else PAID)


@require_GET
@needs("costs")
def margins(request: HttpRequest) -> HttpResponse:
    """Margins by unit type."""
    asked = _asked(request)
    kinds = by_type(asked.rows.iterator(chunk_size=1000))
    rows = in_order(request, columns.MARGINS, kinds)
    context = {**asked.context, "rows": rows, "total": _total(kinds)}
    return answer_list(request, "workorders/margins.html", context, table=columns.MARGINS, rows=rows)


def _total(kinds: Iterable[TypeMargin]) -> dict[str, Any]:
    """Return what all types come to: rebuilds, and sums over those of which all is known."""
    every = [one for kind in kinds for one in kind.accounts]
    known = [one for one in every if one.known and one.before_labour is not None]
    return {
        "rebuilds": len(every),
        "known": len(known),
        "price": sum(one.price for one in known if one.price is not None),
        "cost": sum(one.cost for one in known),
        "before_labour": sum(one.before_labour for one in known if one.before_labour is not None),
    }


@require_GET
@needs("costs")
def margins_rebuilds(request: HttpRequest) -> HttpResponse:
    """Margins one by one."""
    asked = _asked(request)
    rows = in_order(request, columns.REBUILD_MARGINS, asked.rows)
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    context = {**asked.context, "page": page, "accounts": [account_of(row) for row in page]}
    every = (account_of(row) for row in rows.iterator(chunk_size=1000))
    return answer_list(
        request, "workorders/margins_rebuilds.html", context, table=columns.REBUILD_MARGINS, rows=every
    )

"""Quotes and go-aheads of a rebuild."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from shop.roles import LEAD, roles_of
from shop.services.profile import currency_of_shop
from shop.views.answers import act_of, answer_form, needs
from workorders.forms.go_ahead import GoAheadForm
from workorders.forms.quote import QuoteForm
from workorders.models import Rebuild
from workorders.services import go_ahead as service
from workorders.services.open_work import units_of
from workorders.views.rebuild_of import rebuild_of
from workorders.views.trails import to_rebuild


def _context(rebuild: Rebuild) -> dict[str, Any]:
    return {
        "trail": to_rebuild(rebuild),
        "rebuild": rebuild,
        "currency": currency_of_shop(),
        "quotes": rebuild.quotes.select_related("by"),
        "go_aheads": rebuild.go_aheads.select_related("by"),
        "unit": units_of([rebuild], on=timezone.localdate()).get(rebuild.pk),
    }


@require_http_methods(["GET", "POST"])
@needs("go_ahead")
def go_ahead(request: HttpRequest, pk: int) -> HttpResponse:
    """Record who allowed what, up to which price."""
    rebuild = rebuild_of(pk)
    exchange = rebuild.destination == Rebuild.Destination.EXCHANGE
    quote = rebuild.quotes.order_by("-pk").first()
    form = GoAheadForm(
        request.POST or None,
        currency=currency_of_shop(),
        leads_word=exchange and LEAD in roles_of(request.user),
        initial={
            "given_by": "" if exchange else rebuild.work_order.customer.name,
            "given_at": timezone.localtime().replace(second=0, microsecond=0),
            "scope": quote.scope if quote else "",
            "price_ceiling": quote.amount if quote else None,
        },
    )

    def write(data: dict[str, Any]) -> str:
        service.record_go_ahead(act=act_of(request), rebuild=rebuild, **data)
        messages.success(request, "The go-ahead is recorded.")
        return rebuild.get_absolute_url()

    return answer_form(
        request, form=form, template="workorders/go_ahead.html", write=write, context=_context(rebuild)
    )


@require_http_methods(["GET", "POST"])
@needs("go_ahead")
def quote(request: HttpRequest, pk: int) -> HttpResponse:
    """Record a price told to the customer."""
    rebuild = rebuild_of(pk)
    form = QuoteForm(
        request.POST or None,
        currency=currency_of_shop(),
        initial={"told_to": rebuild.work_order.customer.name},
    )

    def write(data: dict[str, Any]) -> str:
        service.record_quote(act=act_of(request), rebuild=rebuild, **data)
        messages.success(request, "The quote is recorded.")
        return rebuild.get_absolute_url()

    return answer_form(
        request, form=form, template="workorders/quote.html", write=write, context=_context(rebuild)
    )

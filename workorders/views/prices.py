"""The money of one rebuild: the invoiced price, minutes of work, what outside work cost."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_http_methods

from shop.forms import ShopForm
from shop.services.profile import currency_of_shop
from shop.views.answers import act_of, answer_form, needs
from workorders.forms.prices import OutsidePriceForm, PriceForm, WorkTimeForm
from workorders.models import OutsideWork, Rebuild, WorkTime
from workorders.services import prices as service
from workorders.views.rebuild_of import rebuild_of
from workorders.views.teardown import act_with_reason
from workorders.views.trails import Trail, to_rebuild

BOTH = ["GET", "POST"]


def _answer(
    request: HttpRequest, form: ShopForm, write: Any, *, trail: Trail, back: str, title: str, **more: str
) -> HttpResponse:
    context = {"title": title, "trail": trail, "cancel_url": back, **more}
    return answer_form(request, form=form, template="shop/form_page.html", write=write, context=context)


def _costs_of(rebuild: Rebuild) -> str:
    return f"{rebuild.get_absolute_url()}#costs"


@require_http_methods(BOTH)
@needs("prices")
def rebuild_price(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what was invoiced for a rebuild, or correct it."""
    rebuild = rebuild_of(pk)
    before = service.standing_price(rebuild)
    form = PriceForm(
        request.POST or None,
        currency=currency_of_shop(),
        correction=before is not None,
        initial={"amount": before.amount, "invoice": before.invoice} if before else {},
    )

    def write(data: dict[str, Any]) -> str:
        told = {name: data[name] for name in ("amount", "invoice")}
        service.record_price(act=act_with_reason(request, data), rebuild=rebuild, **told)
        messages.success(request, "The invoiced price is recorded.")
        return _costs_of(rebuild)

    return _answer(
        request,
        form,
        write,
        trail=to_rebuild(rebuild),
        back=_costs_of(rebuild),
        title=f"Invoiced price of {rebuild.unit.serial}",
        note="It stands beside the signed record and is printed nowhere.",
        submit="Correct the price" if before else "Record the price",
    )


@require_http_methods(BOTH)
@needs("work_time")
def work_time(request: HttpRequest, pk: int) -> HttpResponse:
    """Record minutes of work on a rebuild."""
    rebuild = rebuild_of(pk)
    form = WorkTimeForm(request.POST or None, correction=False, initial={"done_by": request.user.pk})

    def write(data: dict[str, Any]) -> str:
        entry = service.record_work_time(act=act_of(request), rebuild=rebuild, **data)
        messages.success(request, f"Recorded: {entry}.")
        return f"{rebuild.get_absolute_url()}#work-time"

    return _answer(
        request,
        form,
        write,
        trail=to_rebuild(rebuild),
        back=f"{rebuild.get_absolute_url()}#work-time",
        title=f"Minutes of work on {rebuild.unit.serial}",
        submit="Record the minutes",
    )


@require_http_methods(BOTH)
@needs("work_time")
def work_time_correct(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct an entry of minutes, or take it back."""
    entry = get_object_or_404(WorkTime, pk=pk)
    rebuild = rebuild_of(entry.rebuild_id)
    names = ("kind", "minutes", "done_by", "worked_on")
    initial = {name: getattr(entry, name) for name in names}
    form = WorkTimeForm(request.POST or None, correction=True, initial=initial)

    def write(data: dict[str, Any]) -> str:
        told = {name: data[name] for name in names}
        service.correct_work_time(act=act_of(request, data["why"]), entry=entry, **told)
        messages.success(request, "The minutes are corrected.")
        return f"{rebuild.get_absolute_url()}#work-time"

    return _answer(
        request,
        form,
        write,
        trail=to_rebuild(rebuild),
        back=f"{rebuild.get_absolute_url()}#work-time",
        title=f"Correct minutes of work on {rebuild.unit.serial}",
        note=f"It says: {entry}. What stands there now stays on record.",
        submit="Correct the minutes",
    )


@require_http_methods(BOTH)
@needs("costs")
def outside_price(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter what outside work cost."""
    work = get_object_or_404(OutsideWork.objects.select_related("supplier", "component"), pk=pk)
    rebuild = rebuild_of(work.rebuild_id)
    form = OutsidePriceForm(request.POST or None, currency=currency_of_shop(), initial={"price": work.price})

    def write(data: dict[str, Any]) -> str:
        service.set_outside_price(act=act_of(request, data["why"]), work=work, price=data["price"])
        messages.success(request, f"Recorded: what {work} cost.")
        return work.get_absolute_url()

    return _answer(
        request,
        form,
        write,
        trail=[*to_rebuild(rebuild), ("Outside work", work.get_absolute_url())],
        back=work.get_absolute_url(),
        title="What the outside work cost",
        note=f"{work}, {work.supplier}".capitalize(),
        submit="Save what it cost",
    )

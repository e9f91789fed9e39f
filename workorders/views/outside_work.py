"""Outside work: the list of what is out, one sending, and its acts."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Case, Q, Value, When
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from shop.roles import may
from shop.services.profile import currency_of_shop
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from workorders.forms.outside_work import (
    CancelForm,
    DueForm,
    InspectForm,
    PapersForm,
    ReturnForm,
    SendOutForm,
)
from workorders.models import OutsideWork
from workorders.services import outside_work as service
from workorders.services.outside_papers import outside_slip
from workorders.services.standing import standing_build
from workorders.services.work import RELATED_TO_OUTSIDE_WORK
from workorders.views import columns
from workorders.views.narrowing import with_words_or_scan
from workorders.views.rebuild_of import rebuild_of
from workorders.views.teardown import act_with_reason
from workorders.views.trails import Trail, to_rebuild

BOTH = ["GET", "POST"]
VIEWS = (("open", "open"), ("overdue", "overdue"), ("inspect", "to be inspected"), ("all", "all"))
PER_PAGE = 50


@require_GET
@needs("see")
def outside_works(request: HttpRequest) -> HttpResponse:
    """What is out and what waits for inspection, overdue first."""
    view = request.GET.get("show", "open")
    today = timezone.localdate()
    text = searched(request)
    rows = _narrowed(view if view in dict(VIEWS) else "open", text)
    rows = in_order(request, columns.OUTSIDE_WORK, rows)
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "page": page,
        "shown": service.shown_on(page, today),
        "views": VIEWS,
        "view": view,
        "search_text": text,
        "overdue": OutsideWork.objects.overdue(on=today).count(),
    }
    return answer_list(
        request, "workorders/outside_works.html", context, table=columns.OUTSIDE_WORK, rows=rows
    )


def _narrowed(view: str, text: str) -> Any:
    """Return the rows of one view that the text is found in; overdue first, then by the day due."""
    today = timezone.localdate()
    rows = OutsideWork.objects.select_related(
        "component", "supplier", "rebuild__unit__unit_type", "rebuild__work_order__customer"
    )
    out = Q(returned_at__isnull=True, cancelled_at__isnull=True)
    waiting = Q(returned_at__isnull=False, inspected_at__isnull=True)
    wanted = {"open": out | waiting, "overdue": out & Q(due__lt=today), "inspect": waiting, "all": Q()}
    names = ("supplier__name", "asked", "rebuild__unit__serial", "rebuild__work_order__number")
    rows = with_words_or_scan(rows, text, *names)
    late = Case(
        When(out & Q(due__lt=today), then=Value(0)), When(out | waiting, then=Value(1)), default=Value(2)
    )
    return rows.filter(wanted[view]).order_by(late, "due", "pk")


def _work_of(pk: int) -> OutsideWork:
    rows = OutsideWork.objects.select_related(*RELATED_TO_OUTSIDE_WORK)
    work = get_object_or_404(rows, pk=pk)
    work.rebuild = rebuild_of(work.rebuild_id)
    return work


def _to_work(work: OutsideWork) -> Trail:
    return [*to_rebuild(work.rebuild), ("Outside work", work.get_absolute_url())]


@require_GET
@needs("see")
def outside_work(request: HttpRequest, pk: int) -> HttpResponse:
    """One sending: what is asked, where it stands, and the dimensions before and after."""
    work = _work_of(pk)
    may_work = may(request.user, "build") and work.rebuild.is_open
    context = {
        "trail": to_rebuild(work.rebuild),
        "work": work,
        "rebuild": work.rebuild,
        "state": service.shown_on([work], timezone.localdate())[0],
        "dimensions": service.carried_dimensions(work),
        "waits": work.returned_at is not None and work.inspected_at is None,
        "may_work": may_work,
        "may_price": may(request.user, "costs"),
        "currency": currency_of_shop(),
        "moment": "after" if may_work and work.returned_at and not work.inspected_at else "",
    }
    return render(request, "workorders/outside_work.html", context)


@require_GET
@needs("see")
def slip(request: HttpRequest, pk: int) -> HttpResponse:
    """The slip that goes with the part, as PDF."""
    work = _work_of(pk)
    response = HttpResponse(outside_slip(work), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="outside-work-{work.pk}.pdf"'
    return response


@require_http_methods(BOTH)
@needs("build")
def send_out(request: HttpRequest, pk: int) -> HttpResponse:
    """Send a component or the whole unit to a supplier."""
    rebuild = rebuild_of(pk)
    form = SendOutForm(
        request.POST or None,
        components=list(rebuild.revision.components.all()),
        signed=standing_build(rebuild) is not None,
    )

    def write(data: dict[str, Any]) -> str:
        told = {name: data[name] for name in ("kind", "supplier", "asked", "due", "note")}
        work = service.send_out(
            act=act_with_reason(request, data), rebuild=rebuild, component=form.chosen, **told
        )
        messages.success(request, f"Sent out: {work}. Print the slip and put it with the part.")
        return work.get_absolute_url()

    context = {
        "trail": to_rebuild(rebuild),
        "rebuild": rebuild,
        "title": "Send out",
        "submit": "Send it out",
        "back": reverse("workorders:rebuild", args=[rebuild.pk]),
    }
    return answer_form(
        request, form=form, template="workorders/outside_work_form.html", write=write, context=context
    )


def _answer(
    request: HttpRequest,
    work: OutsideWork,
    form: Form,
    title: str,
    submit: str,
    write: Callable[[dict[str, Any]], OutsideWork],
    **more: Any,
) -> HttpResponse:
    """Answer one act on a sending; what was done is said on its page."""

    def written(data: dict[str, Any]) -> str:
        row = write(data)
        messages.success(request, f"Recorded: {row}.")
        return row.get_absolute_url()

    context = {
        "trail": _to_work(work),
        "rebuild": work.rebuild,
        "work": work,
        "title": title,
        "submit": submit,
        "back": work.get_absolute_url(),
        **more,
    }
    return answer_form(
        request, form=form, template="workorders/outside_work_form.html", write=written, context=context
    )


@require_http_methods(BOTH)
@needs("build")
def change_due(request: HttpRequest, pk: int) -> HttpResponse:
    """Another day on which it is due back."""
    work = _work_of(pk)
    form = DueForm(request.POST or None, initial={"due": work.due})
    return _answer(
        request,
        work,
        form,
        "Another day",
        "Change the day",
        lambda data: service.change_due(act=act_of(request, data["why"]), work=work, due=data["due"]),
    )


@require_http_methods(BOTH)
@needs("build")
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Cancel a sending that never left, or came back undone."""
    work = _work_of(pk)
    return _answer(
        request,
        work,
        CancelForm(request.POST or None),
        "Cancel the outside work",
        "Cancel it",
        lambda data: service.cancel_outside_work(act=act_of(request, data["why"]), work=work),
    )


def _papers_form(form_class: type[PapersForm], request: HttpRequest, work: OutsideWork) -> Any:
    known = ("bake", "bake_h", "bake_temperature_c", "bake_basis", "note")
    initial = {name: getattr(work, name) for name in known}
    return form_class(request.POST or None, request.FILES or None, work=work, initial=initial)


@require_http_methods(BOTH)
@needs("build")
def record_return(request: HttpRequest, pk: int) -> HttpResponse:
    """The part is back."""
    work = _work_of(pk)
    form = _papers_form(ReturnForm, request, work)
    return _answer(
        request,
        work,
        form,
        "It is back",
        "Record the return",
        lambda data: service.record_return(
            act=act_of(request), work=work, papers=form.papers, note=data["note"]
        ),
        caution=work.is_plating,
    )


@require_http_methods(BOTH)
@needs("build")
def inspect(request: HttpRequest, pk: int) -> HttpResponse:
    """Accept or reject what came back."""
    work = _work_of(pk)
    form = _papers_form(InspectForm, request, work)
    return _answer(
        request,
        work,
        form,
        "Inspect the return",
        "Record the inspection",
        lambda data: service.inspect_return(
            act=act_of(request),
            work=work,
            accepted=data["verdict"] == "accepted",
            reject_reason=data["reject_reason"],
            papers=form.papers,
        ),
        caution=work.is_plating,
        missing=service.missing_readings(work),
        inspecting=True,
    )

"""Lessons: written from the bench, listed for the lead, taken over, declined or withdrawn."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Q
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from shop.forms.rows import WhyForm
from shop.models import Step, UnitType
from shop.roles import may
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from workorders.forms.lesson import LessonForm, TakeOverForm
from workorders.models import Lesson, LessonReview, Operation, Rebuild
from workorders.services import lessons as service
from workorders.services.places import Place
from workorders.views import columns
from workorders.views.rebuild_of import place_of, rebuild_of
from workorders.views.technique import page_of_step, panels_of
from workorders.views.trails import to_rebuild

BOTH = ["GET", "POST"]
VIEWS = (("open", "not reviewed"), *LessonReview.Outcome.choices, ("all", "all"))
OF_LIST = (*service.RELATED, "rebuild__unit__unit_type")


@require_http_methods(BOTH)
@needs("lesson")
def lesson_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a lesson for the step and place in the address; it answers with the page of that step."""
    rebuild = rebuild_of(pk)
    step, kind = request.GET.get("step", ""), request.GET.get("kind", "")
    if step not in Step.values or (kind and kind not in Operation.Kind.values):
        raise Http404("There is no such step.")
    place = _place_named(rebuild, request.GET.get("place", ""))
    form = LessonForm(request.POST or None, request.FILES or None)
    page = page_of_step(rebuild, step=step, place=place, kind=kind)

    def write(data: dict[str, Any]) -> str:
        service.write_lesson(act=act_of(request), rebuild=rebuild, step=step, place=place, **data)
        messages.success(request, "The lesson is written. Everybody sees it at this step from now on.")
        return f"{page}#technique-{rebuild.revision_id}"

    shown = panels_of(request, rebuild, step=step, place=place, kind=kind, form=form)
    context = {"trail": to_rebuild(rebuild), "rebuild": rebuild, "panels": shown, "back": page}
    return answer_form(
        request, form=form, template="workorders/lesson_new.html", write=write, context=context
    )


def _place_named(rebuild: Rebuild, value: str) -> Place | None:
    """Return the place that an address names; None for the whole unit."""
    kind, _dash, pk = value.partition("-")
    if not value:
        return None
    if not pk.isdecimal():
        raise Http404("There is no such place.")
    return place_of(rebuild, kind, int(pk))


@require_GET
@needs("see")
def lessons(request: HttpRequest) -> HttpResponse:
    """List lessons, those that wait for review first."""
    view, text = request.GET.get("show", "open"), searched(request)
    view = view if view in dict(VIEWS) else "open"
    step, unit_type = request.GET.get("step", ""), request.GET.get("type", "")
    rows = _narrowed(view, text)
    if step in Step.values:
        rows = rows.filter(step=step)
    if unit_type.isdecimal():
        rows = rows.filter(rebuild__unit__unit_type=unit_type)
    rows = in_order(request, columns.LESSONS, rows)
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "views": VIEWS,
        "view": view,
        "search_text": text,
        "step": step,
        "steps": Step.choices,
        "unit_type": unit_type,
        "unit_types": UnitType.objects.filter(units__rebuilds__lessons__isnull=False).distinct(),
    }
    return answer_list(request, "workorders/lessons.html", context, table=columns.LESSONS, rows=rows)


def _narrowed(view: str, text: str) -> Any:
    rows = Lesson.objects.select_related(*OF_LIST)
    if view == "open":
        rows = rows.filter(review__isnull=True)
    elif view != "all":
        rows = rows.filter(review__outcome=view)
    for word in text.split():
        rows = rows.filter(
            Q(text__icontains=word)
            | Q(rebuild__unit__serial__icontains=word)
            | Q(rebuild__unit__unit_type__code__icontains=word)
            | Q(rebuild__unit__unit_type__name__icontains=word)
            | Q(by__printed_name__icontains=word)
        )
    return rows


def _lesson_of(pk: int) -> Lesson:
    rows = Lesson.objects.select_related(
        *OF_LIST, "rebuild__revision__unit_type", "rebuild__work_order", "review__revision__unit_type"
    )
    return get_object_or_404(rows, pk=pk)


@require_GET
@needs("see")
def lesson(request: HttpRequest, pk: int) -> HttpResponse:
    """One lesson: where it was learned, by whom, and what became of it."""
    row = _lesson_of(pk)
    review = getattr(row, "review", None)
    context = {
        "lesson": row,
        "review": review,
        "may_review": review is None and may(request.user, "catalogue"),
        "may_withdraw": review is None and row.by_id == request.user.pk and may(request.user, "lesson"),
    }
    return render(request, "workorders/lesson.html", context)


def _answer(
    request: HttpRequest,
    row: Lesson,
    form: Form,
    title: str,
    submit: str,
    write: Callable[[dict[str, Any]], LessonReview],
    note: str,
) -> HttpResponse:
    """Answer one act on a lesson."""

    def written(data: dict[str, Any]) -> str:
        messages.success(request, f"{write(data)}.")
        return row.get_absolute_url()

    context = {
        "title": title,
        "submit": submit,
        "note": note,
        "trail": [("Lessons", reverse("workorders:lessons")), (str(row), row.get_absolute_url())],
        "cancel_url": row.get_absolute_url(),
    }
    return answer_form(request, form=form, template="shop/form_page.html", write=written, context=context)


@require_http_methods(BOTH)
@needs("catalogue")
def take_over(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a lesson a technique note of the type's draft."""
    row = _lesson_of(pk)
    return _answer(
        request,
        row,
        TakeOverForm(request.POST or None, initial={"text": row.text, "step": row.step}),
        "Take the lesson over",
        "Take it over as a technique note",
        lambda data: service.take_over_lesson(act=act_of(request), lesson=row, **data),
        f"It becomes a note at {row.place_name} in the draft revision of {row.rebuild.unit.unit_type}; "
        "a draft is started where none is open. Units in the shop see the lesson until they are built to it.",
    )


@require_http_methods(BOTH)
@needs("catalogue")
def decline(request: HttpRequest, pk: int) -> HttpResponse:
    """Decline a lesson, with the reason."""
    row = _lesson_of(pk)
    return _answer(
        request,
        row,
        WhyForm(request.POST or None),
        "Decline the lesson",
        "Decline it",
        lambda data: service.decline_lesson(act=act_of(request, data["why"]), lesson=row),
        row.text,
    )


@require_http_methods(BOTH)
@needs("lesson")
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Withdraw one's own lesson, with the reason."""
    row = _lesson_of(pk)
    return _answer(
        request,
        row,
        WhyForm(request.POST or None),
        "Withdraw the lesson",
        "Withdraw it",
        lambda data: service.withdraw_lesson(act=act_of(request, data["why"]), lesson=row),
        row.text,
    )

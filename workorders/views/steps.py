"""One step of a running test: its form, and the charts of its logger files."""

from datetime import date
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from shop.errors import RuleBroken
from shop.views.answers import act_of, needs, once, show_rule
from workorders.documents.trace_chart import PALETTES, HoldTrace, hold_chart_svg
from workorders.models import LoggerFile, PressureTest, Trace
from workorders.services.readings import evaluated_again, recomputed
from workorders.services.step_results import record_step
from workorders.services.traces import chart_of, drawn, stored_chart
from workorders.services.ways.base import accuracy_words
from workorders.views.bench import OpenStep, open_step, render_test, shown_file, step_of
from workorders.views.testing import get_test

UNSEEN = "What you entered was not in the verdict yet. It is now: look at it above, then record the step."
NEVER_CHANGED = "This test is signed or set aside and is never changed."
SHAPES = {"wide": (640, 300), "narrow": (340, 280)}  # pt; the narrow one is for phones


@require_http_methods(["GET", "POST"])
@needs("test")
def test_step(request: HttpRequest, pk: int, order: int) -> HttpResponse:
    """Show one step open; POST records every reading of it at once, or shows a file with what was entered."""
    test = get_test(pk)
    state = step_of(test, order)
    looks = request.method == "GET" or "show" in request.POST
    if test.state != PressureTest.State.RUNNING and looks:
        return redirect(test)
    opened = open_step(request, test, state)
    if looks:
        return render_test(request, test, opened)
    try:
        return redirect(once(request, lambda: _record(request, test, opened)))
    except RuleBroken as error:
        if test.state != PressureTest.State.RUNNING:
            raise
        show_rule(opened.form, error)
    return render_test(request, test, opened, status=422)


test_step.__test__ = False  # type: ignore[attr-defined]  # not a pytest function


def _record(request: HttpRequest, test: PressureTest, opened: OpenStep) -> str:
    """Check and record; inside the token, since a repeat meets a form that asks why."""
    valid = opened.form.is_valid() and all(shown.proposal for shown in opened.files)
    if not valid:
        raise RuleBroken(NEVER_CHANGED if test.state != PressureTest.State.RUNNING else "")
    if any(shown.unseen for shown in opened.files):
        raise RuleBroken(UNSEEN)
    data: dict[str, Any] = opened.form.cleaned_data
    record_step(
        act=act_of(request, data.get("why", "")),
        test=test,
        step=opened.state.step,
        entries=opened.form.entries(data),
        note=data["note"],
        photo=data["photo"],
    )
    return f"{test.get_absolute_url()}#steps"


def _svg(request: HttpRequest, trace: HoldTrace, name: str) -> HttpResponse:
    theme = request.GET.get("theme", "light")
    palette = theme if theme in PALETTES else "light"
    width, height = SHAPES.get(request.GET.get("shape", ""), SHAPES["wide"])
    svg = hold_chart_svg(trace, palette=palette, name=name, width=width, height=height)
    response = HttpResponse(svg, content_type="image/svg+xml")
    response["Cache-Control"] = "private, max-age=3600"
    return response


@require_GET
@needs("see")
def trace_chart(request: HttpRequest, pk: int) -> HttpResponse:
    """The chart of a recorded trace; ``?theme=dark`` for dark pages."""
    rows = Trace.objects.select_related("file", "reading__limit", "reading__result__step")
    trace = get_object_or_404(rows, pk=pk)
    return _svg(request, stored_chart(trace), f"trace-{trace.pk}")


@require_GET
@needs("see")
def logger_file_chart(request: HttpRequest, pk: int) -> HttpResponse:
    """The chart of a logger file that is shown for confirmation, by window and columns asked for."""
    rows = LoggerFile.objects.select_related("pressure_test", "limit__step", "file", "instrument")
    row = get_object_or_404(rows, pk=pk)
    asked = request.GET.copy()
    asked[f"r{row.limit_id}-file"] = str(row.pk)
    shown = shown_file(request, row.pressure_test, row.limit, asked)
    if shown is None or shown.proposal is None:
        raise Http404("The file cannot be drawn in this way.")
    trace = drawn(shown.proposal.evaluated, limit=row.limit, title=row.limit.step.title)
    return _svg(request, trace, f"file-{row.pk}")


@require_GET
@needs("see")
def trace_page(request: HttpRequest, pk: int) -> HttpResponse:
    """A recorded trace: chart, figures, every channel of the file, and the verdict computed anew."""
    rows = Trace.objects.select_related(
        "file__by",
        "reading__limit__step",
        "reading__instrument",
        "reading__result__step",
        "reading__result__pressure_test__rebuild__unit__unit_type",
    )
    trace = get_object_or_404(rows, pk=pk)
    evaluated = evaluated_again(trace)
    due = trace.reading.observed["instrument"]["due_on"]
    context = {
        "trace": trace,
        "reading": trace.reading,
        "test": trace.reading.result.pressure_test,
        "columns": evaluated.trace.columns,
        "strokes": getattr(evaluated.fit, "strokes", ()),
        "duration_s": evaluated.trace.duration_s,
        "size_bytes": trace.file.size_bytes,
        "accuracy_text": accuracy_words(trace.reading.observed["instrument"]),
        "due_on": date.fromisoformat(due) if due else None,
        "again": recomputed(trace.reading, evaluated),
        "chart": chart_of(evaluated, limit=trace.reading.limit),
    }
    return render(request, "workorders/trace.html", context)

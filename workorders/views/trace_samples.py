"""Samples of logged traces for the chart of a page: JSON, thinned for what is in view."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, JsonResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET

from shop.errors import RuleBroken
from shop.views.answers import needs
from workorders.calc.trace import Trace as LoggerTrace
from workorders.calc.trace import TraceError
from workorders.forms.step import ChoicesForm
from workorders.models import LoggerFile, Trace
from workorders.services.trace_samples import logger_file_trace, recorded_trace, samples_of

USUAL_DOTS = 640


class ViewForm(forms.Form):
    """What part of a trace is looked at; what is left open is all of it."""

    to = forms.FloatField(required=False)
    dots = forms.IntegerField(required=False, min_value=1)
    columns = forms.RegexField(r"^\d{1,4}(,\d{1,4}){0,40}$", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["from"] = forms.FloatField(required=False)  # a word of the language


def _answer(request: HttpRequest, read: Callable[[], LoggerTrace]) -> JsonResponse:
    form = ViewForm(request.GET)
    if not form.is_valid():
        raise Http404("There is no such part of the chart.")
    asked = form.cleaned_data
    try:
        trace = read()
        told = samples_of(
            trace=trace,
            from_s=asked["from"] or 0.0,
            to_s=trace.duration_s if asked["to"] is None else asked["to"],
            dots=asked["dots"] or USUAL_DOTS,
            columns=[int(place) for place in asked["columns"].split(",") if place],
        )
    except (TraceError, RuleBroken, ValueError) as error:
        raise Http404("The file cannot be drawn in this way.") from error
    response = JsonResponse(told)
    response["Cache-Control"] = "private, max-age=3600"
    return response


@require_GET
@needs("see")
def logger_file_samples(request: HttpRequest, pk: int) -> JsonResponse:
    """Samples of a logger file that is shown for confirmation, by the columns asked for."""
    row = get_object_or_404(LoggerFile.objects.select_related("limit", "file", "instrument"), pk=pk)
    asked = request.GET.copy()
    asked[f"r{row.limit_id}-file"] = str(row.pk)
    form = ChoicesForm(asked, limit=row.limit)
    form.is_valid()  # a window that is none does not matter here
    return _answer(request, lambda: logger_file_trace(row, form.mapping))


@require_GET
@needs("see")
def trace_samples(request: HttpRequest, pk: int) -> JsonResponse:
    """Samples of a recorded trace."""
    row = get_object_or_404(Trace.objects.select_related("file"), pk=pk)
    return _answer(request, lambda: recorded_trace(row))

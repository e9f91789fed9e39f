"""Logger files on their way in: taken at once, or read by a process of its own while a page waits."""

import uuid
from collections.abc import Mapping
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.datastructures import MultiValueDict
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from shop.errors import RuleBroken
from shop.models import FormToken, StepLimit
from shop.views.answers import act_of, needs, once, show_rule
from workorders.forms.step import MAPPED, UploadForm
from workorders.models import PressureTest
from workorders.services.logger_files import offer_file
from workorders.services.trace_sources import is_long
from workorders.services.trace_waiting import (
    Progress,
    Waiting,
    WaitingUpload,
    drop_waiting,
    keep_waiting,
    progress_of,
    waiting_of,
)
from workorders.views.bench import instrument_states, step_of
from workorders.views.testing import get_test

GONE = "This file is no longer here. Hand it in again."


@require_POST
@needs("test")
def logger_file_new(request: HttpRequest, pk: int, order: int, limit_pk: int) -> HttpResponse:
    """Take a logger file for one reading and show how it would be read.

    A long one is put aside first; the page that waits for it comes back here, without the file.
    """
    test = get_test(pk)
    limit = get_object_or_404(StepLimit, pk=limit_pk, step=step_of(test, order).step)
    key = _key(request)
    waiting = waiting_of(key) if key and "waiting" in request.POST else None
    form = _form(request, limit, waiting)
    used = FormToken.objects.filter(token=key).exists() if key else False
    if key and not used and _is_long(request) and form.is_valid():
        waiting = keep_waiting(key=key, upload=form.cleaned_data["file"], facts=_facts(request))
        form = _form(request, limit, waiting)
    if waiting and not used and progress_of(waiting) == Progress.READING:
        return redirect("workorders:logger_file_reading", test.pk, order, limit.pk, key)
    if form.is_valid() or used:
        try:
            answer = redirect(once(request, lambda: _offer(request, test, limit, form, waiting)))
            _drop(waiting)
            return answer
        except RuleBroken as error:
            _drop(waiting)
            names = {name.removeprefix(f"{form.prefix}-"): text for name, text in error.fields.items()}
            show_rule(form, RuleBroken(error.message, names))
    elif "waiting" in request.POST:
        form = _form(request, limit, None)
        form.add_error(None, GONE)
    return render_upload(request, test, limit, form)


@require_GET
@never_cache
@needs("test")
def logger_file_reading(
    request: HttpRequest, pk: int, order: int, limit_pk: int, key: uuid.UUID
) -> HttpResponse:
    """Wait for a long file to be read; asked again and again until it is."""
    test = get_test(pk)
    limit = get_object_or_404(StepLimit, pk=limit_pk, step=step_of(test, order).step)
    waiting = waiting_of(key)
    if waiting is None:
        raise Http404("No file waits here: it was read, or refused.")
    back = reverse("workorders:logger_file_new", args=[test.pk, order, limit.pk])
    context = {
        "test": test,
        "limit": limit,
        "waiting": waiting,
        "size_bytes": waiting.path.stat().st_size,
        "is_reading": progress_of(waiting) == Progress.READING,
        "key": key,
        "back": f"{back}?{waiting.facts['query']}" if waiting.facts["query"] else back,
    }
    return render(request, "workorders/logger_file_reading.html", context)


def _key(request: HttpRequest) -> uuid.UUID | None:
    """Return the token of the form, under which a long file waits; `once` refuses a wrong one."""
    try:
        return uuid.UUID(request.POST.get("form_token", ""))
    except ValueError:
        return None


def _drop(waiting: Waiting | None) -> None:
    if waiting:
        drop_waiting(waiting)


def _is_long(request: HttpRequest) -> bool:
    return any(is_long(file.size or 0) for _name, files in request.FILES.lists() for file in files)


def _form(request: HttpRequest, limit: StepLimit, waiting: Waiting | None) -> UploadForm:
    states = instrument_states(request)
    if waiting is None:
        return UploadForm(request.POST, request.FILES, limit=limit, states=states)
    files: MultiValueDict[str, Any] = MultiValueDict()
    files[f"r{limit.pk}-file"] = WaitingUpload(waiting)
    return UploadForm(QueryDict(waiting.facts["form"]), files, limit=limit, states=states)


def _facts(request: HttpRequest) -> Mapping[str, Any]:
    form = request.POST.copy()
    form.pop("csrfmiddlewaretoken", None)
    return {"form": form.urlencode(), "query": request.GET.urlencode()}


def _offer(
    request: HttpRequest, test: PressureTest, limit: StepLimit, form: UploadForm, waiting: Waiting | None
) -> str:
    if waiting and waiting.refusal:
        raise RuleBroken(fields={f"{form.prefix}-file": waiting.refusal})
    data = form.cleaned_data
    row = offer_file(
        act=act_of(request),
        test=test,
        limit=limit,
        instrument=data["instrument"],
        upload=data["file"],
        mapping=form.mapping,
    )
    query = request.GET.copy()
    query[f"r{limit.pk}-file"] = str(row.pk)
    for name in MAPPED:
        if data.get(name) not in (None, ""):
            query[f"r{limit.pk}-{name}"] = str(data[name])
    page = reverse("workorders:test_step", args=[test.pk, limit.step.order])
    return f"{page}?{query.urlencode()}#step"


def render_upload(
    request: HttpRequest, test: PressureTest, limit: StepLimit, form: UploadForm
) -> HttpResponse:
    """Show a refused logger file on a page of its own, with the form to try again."""
    context = {"test": test, "limit": limit, "form": form}
    return render(request, "workorders/logger_file_refused.html", context, status=422)

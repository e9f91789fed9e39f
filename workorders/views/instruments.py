"""The register of instruments: list, page, entry, calibrations."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from shop.roles import may, refusal
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.narrowing import with_words
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from workorders.forms.instruments import (
    CalibrationCorrectionForm,
    CalibrationForm,
    InstrumentChangeForm,
    InstrumentForm,
)
from workorders.models import Calibration, Instrument
from workorders.services import instruments
from workorders.views import columns

SHOWN = (
    ("use", "in use"),
    ("overdue", "overdue or not valid"),
    ("due", "due soon or not valid"),
    ("retired", "retired"),
)
PER_PAGE = 50


def _days(request: HttpRequest) -> int:
    """Read how many days ahead *due soon* looks; 30 where none, or nothing sensible, was asked."""
    asked = request.GET.get("days", "")
    return (
        int(asked) if asked.isascii() and asked.isdecimal() and len(asked) < 5 else instruments.DUE_SOON_DAYS
    )


@require_GET
@needs("see")
def instrument_list(request: HttpRequest) -> HttpResponse:
    """Instruments with the state of their calibration today."""
    shown = request.GET.get("show", "use")
    today, text = timezone.localdate(), searched(request)
    rows = Instrument.objects.filter(retired=shown == "retired").prefetch_related("calibrations")
    rows = with_words(rows, text, "code", "name", "serial")
    states = [(row, instruments.calibration_state(row, today)) for row in rows]
    waiting = [pair for pair in states if pair[1].word not in ("in calibration", "retired")]
    days = _days(request)
    shown_rows = states
    if shown in ("overdue", "due"):
        ahead = days if shown == "due" else -1
        shown_rows = [
            (row, state) for row, state in states if not state.is_valid or row.due_in(today) <= ahead
        ]
    shown_rows = in_order(request, columns.INSTRUMENTS, shown_rows)
    page = Paginator(shown_rows, PER_PAGE).get_page(request.GET.get("page"))
    return answer_list(
        request,
        "workorders/instruments.html",
        {
            "page": page,
            "text": text,
            "shown": shown,
            "views": SHOWN,
            "waiting": len(waiting),
            "days": days,
            "may_change": may(request.user, "instruments"),
            "may_label": may(request.user, "labels"),
        },
        table=columns.INSTRUMENTS,
        rows=shown_rows,
    )


@require_GET
@needs("see")
def instrument(request: HttpRequest, pk: int) -> HttpResponse:
    """One instrument with its calibrations, latest first."""
    row = get_object_or_404(Instrument.objects.prefetch_related("calibrations"), pk=pk)
    context = {
        "instrument": row,
        "state": instruments.calibration_state(row, timezone.localdate()),
        "calibrations": row.calibrations.all(),
        "remembered": (row.trace_mapping or {}).get("shape"),
        "may_change": may(request.user, "instruments"),
        "may_label": may(request.user, "labels"),
        "refusal": refusal(request.user, "instruments"),
    }
    return render(request, "workorders/instrument.html", context)


@require_http_methods(["GET", "POST"])
@needs("instruments")
def instrument_new(request: HttpRequest) -> HttpResponse:
    """Add an instrument."""
    return answer_form(
        request,
        form=InstrumentForm(request.POST or None),
        template="workorders/instrument_form.html",
        write=lambda data: instruments.save_instrument(act=act_of(request), **data),
    )


@require_http_methods(["GET", "POST"])
@needs("instruments")
def instrument_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change an instrument, with the reason."""
    row = get_object_or_404(Instrument, pk=pk)

    def write(data: dict[str, Any]) -> Instrument:
        why = data.pop("why")
        return instruments.save_instrument(act=act_of(request, why), instrument=row, **data)

    return answer_form(
        request,
        form=InstrumentChangeForm(request.POST or None, initial=InstrumentChangeForm.initial_of(row)),
        template="workorders/instrument_form.html",
        context={"instrument": row},
        write=write,
    )


@require_http_methods(["GET", "POST"])
@needs("instruments")
def calibration_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Record a calibration of an instrument."""
    row = get_object_or_404(Instrument, pk=pk)

    def write(data: dict[str, Any]) -> str:
        made = instruments.add_calibration(act=act_of(request), instrument=row, **data)
        return made.instrument.get_absolute_url()

    return answer_form(
        request,
        form=CalibrationForm(request.POST or None, request.FILES or None),
        template="workorders/calibration_form.html",
        context={"instrument": row},
        write=write,
    )


@require_http_methods(["GET", "POST"])
@needs("instruments")
def calibration_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct a wrongly entered calibration, with the reason."""
    row = get_object_or_404(Calibration.objects.select_related("instrument"), pk=pk)

    def write(data: dict[str, Any]) -> str:
        why = data.pop("why")
        instruments.correct_calibration(act=act_of(request, why), calibration=row, **data)
        return row.instrument.get_absolute_url()

    return answer_form(
        request,
        form=CalibrationCorrectionForm(
            request.POST or None, request.FILES or None, initial=CalibrationForm.initial_of(row)
        ),
        template="workorders/calibration_form.html",
        context={"instrument": row.instrument, "calibration": row},
        write=write,
    )

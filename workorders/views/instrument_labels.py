"""Labels of instruments, of one or of many, and the short address on them."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from shop.documents.label import Label
from shop.errors import RuleBroken
from shop.views.answers import needs
from shop.views.label_files import PDF, label_answer, label_choices
from workorders.documents.instrument_label import InstrumentLabel, instrument_address
from workorders.models import Instrument

MOST_LABELS = 300


@require_GET
@needs("see")
def scanned(request: HttpRequest, pk: int) -> HttpResponse:
    """Answer the symbol of an instrument's label."""
    return redirect(get_object_or_404(Instrument, pk=pk).get_absolute_url())


@require_GET
@needs("labels")
def labels(request: HttpRequest) -> HttpResponse:
    """Choose the stock for the labels of the instruments asked for, or of all in use."""
    rows = _wanted(request)
    query = request.GET.copy()
    query.pop("dpi", None)
    context = {**label_choices(request), "instruments": rows, "wanted": query.urlencode()}
    context["asked"] = request.GET.getlist("only")
    return render(request, "workorders/instrument_labels.html", context)


@require_GET
@needs("labels")
def label_file(request: HttpRequest, paper: str) -> HttpResponse:
    """The labels of the instruments asked for as one PDF, one label a page or on sheets."""
    return label_answer(request, [_label(row) for row in _wanted(request)], paper, PDF, "instruments")


def _wanted(request: HttpRequest) -> list[Instrument]:
    """Return the instruments named by ``only`` in the address, else all in use."""
    named = request.GET.getlist("only")
    if any(not (pk.isascii() and pk.isdecimal() and len(pk) < 19) for pk in named):
        raise RuleBroken("An instrument is asked for by its number in the address.")
    known = Instrument.objects.prefetch_related("calibrations")
    rows = known.filter(pk__in=named) if named else known.filter(retired=False)
    return list(rows[:MOST_LABELS])


def _label(row: Instrument) -> Label:
    latest = row.calibration_on(timezone.localdate())
    bad = latest is not None and not latest.left_good
    return InstrumentLabel(
        code=row.code,
        address=instrument_address(settings.PUBLIC_ADDRESS, row.pk),
        name=row.name,
        calibrated_on=latest.calibrated_on if latest else None,
        due_on=latest.due_on if latest else None,
        out_of_tolerance=bad,
    ).as_label()

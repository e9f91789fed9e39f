"""Rework: choosing what was done, recording it with what it records, correcting it, taking masking off."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods, require_POST

from shop.models import FasteningFigure
from shop.views.answers import act_of, answer_form, answer_post, needs
from shop.views.units import takes_inch, unit_switch
from workorders.forms.finding import GRADED
from workorders.forms.operation import CorrectOperationForm, OperationForm
from workorders.models import Operation, Rebuild
from workorders.models.finding import PLACE_FIELDS
from workorders.services import build as service
from workorders.services.dimensions import dimensions
from workorders.services.operation_values import SPECS
from workorders.services.places import Place, places
from workorders.services.standing import standing_build
from workorders.services.work import placed
from workorders.views.rebuild_of import rebuild_of, to_build
from workorders.views.technique import panels_of, step_of_kind

BOTH = ["GET", "POST"]
Kind = Operation.Kind


def _kind_of(request: HttpRequest, default: str = "") -> str:
    """Return the kind of rework that the request is about; empty where it names none."""
    kind = request.POST.get("kind", request.GET.get("kind", default))
    return kind if kind in Kind.values else ""


def _context(
    request: HttpRequest, rebuild: Rebuild, kind: str, place: Place | None, **more: Any
) -> dict[str, Any]:
    """Return what the page of one rework shows beside its form."""
    step = step_of_kind(kind)
    measured = {spec.dimension for spec in SPECS.get(kind, ()) if spec.dimension}
    rows = dimensions(rebuild) if measured else []
    return {
        "trail": to_build(rebuild),
        "rebuild": rebuild,
        **unit_switch(request, inch=takes_inch(request)),
        "kind": kind,
        "kind_words": Kind(kind).label if kind else "",
        "panels": panels_of(request, rebuild, step=step, place=place, kind=kind),
        "dimensions": [row for row in rows if row.limit.quantity in measured],
        **more,
    }


@require_http_methods(BOTH)
@needs("build")
def operation(request: HttpRequest, pk: int) -> HttpResponse:
    """Record rework: what was done is chosen first, then its form asks for what it records."""
    rebuild = rebuild_of(pk)
    kind = _kind_of(request)
    if request.method == "GET" and not kind:
        return _choose(request, rebuild)
    figure = _figure_of(request, rebuild)
    form = OperationForm(
        request.POST or None,
        places=places(rebuild.revision),
        revision=rebuild.revision,
        kind=kind,
        signed=standing_build(rebuild) is not None,
        inch=takes_inch(request),
        initial={
            "place": request.GET.get("place", ""),
            "figure": str(figure.pk) if figure else "",
            **_found_at(rebuild, request.GET.get("place", "")),
        },
    )

    def write(data: dict[str, Any]) -> str:
        done = service.record_operation(
            act=act_of(request, form.reason(data)),
            rebuild=rebuild,
            kind=data["kind"],
            place=form.chosen_place,
            tool=data["tool"],
            note=data["note"],
            parts=form.parts,
            recorded=form.recorded,
        )
        messages.success(request, f"Recorded: {done}.")
        return reverse("workorders:build", args=[rebuild.pk]) + "#operations"

    place = figure.place if figure else form.places.get(request.GET.get("place", ""))
    context = _context(request, rebuild, kind, place, title="Record rework", other_url=request.path)
    return answer_form(request, form=form, template="workorders/operation.html", write=write, context=context)


def _choose(request: HttpRequest, rebuild: Rebuild) -> HttpResponse:
    place = request.GET.get("place", "")
    kinds = [(label, urlencode({"kind": value, "place": place})) for value, label in Kind.choices]
    context = {"trail": to_build(rebuild), "rebuild": rebuild, "kinds": kinds}
    return render(request, "workorders/operation_kind.html", context)


def _found_at(rebuild: Rebuild, named: str) -> dict[str, str]:
    """Return the grades that teardown found at the named place, as those from before the rework."""
    kind, _dash, key = named.partition("-")
    if kind not in PLACE_FIELDS or not (key.isdecimal() and len(key) < 18):
        return {}
    found = rebuild.findings.filter(**{kind: key}).first()
    return {f"{name}_before": getattr(found, name) for name in GRADED} if found else {}


def _figure_of(request: HttpRequest, rebuild: Rebuild) -> FasteningFigure | None:
    """Return the figure that the address names, for a fastening that the build still lacks."""
    named = request.GET.get("figure", "")
    rows = rebuild.revision.fastening_figures
    return rows.filter(pk=named).first() if named.isdecimal() else None


@require_http_methods(BOTH)
@needs("build")
def correct_operation(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct rework, with a reason; ``?kind=`` where it was something else."""
    rows = placed(Operation.objects.select_related("locker_lot")).prefetch_related("values")
    row = get_object_or_404(rows, pk=pk)
    rebuild = rebuild_of(row.rebuild_id)
    kind = _kind_of(request, row.kind)
    form = CorrectOperationForm(
        request.POST or None,
        operation=row,
        kind=kind,
        places=places(rebuild.revision),
        revision=rebuild.revision,
        inch=takes_inch(request),
    )

    def write(data: dict[str, Any]) -> str:
        service.correct_operation(
            act=act_of(request, form.reason(data)),
            operation=row,
            kind=data["kind"],
            place=form.chosen_place,
            tool=data["tool"],
            note=data["note"],
            recorded=form.recorded,
            unmasked=data.get("unmasked", False),
        )
        messages.success(request, "The operation is corrected; history keeps what stood there.")
        return reverse("workorders:build", args=[rebuild.pk]) + "#operations"

    other = [(label, urlencode({"kind": value})) for value, label in Kind.choices if value != kind]
    context = _context(request, rebuild, kind, row.place, title="Correct rework", other_kinds=other)
    return answer_form(request, form=form, template="workorders/operation.html", write=write, context=context)


@require_POST
@needs("build")
def masking_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that masking is off again."""
    row = get_object_or_404(placed(Operation.objects), pk=pk)
    rebuild = rebuild_of(row.rebuild_id)

    def write() -> str:
        service.take_masking_off(act=act_of(request), operation=row)
        messages.success(request, f"Masking off: {row.place or 'whole unit'}.")
        return reverse("workorders:build", args=[rebuild.pk]) + "#operations"

    return answer_post(request, write)

"""Identify a unit: what was seen of it against the catalogue, with or without a work order."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_GET

from shop.calc.identify import Candidate
from shop.models import UnitType
from shop.services import identify as identification
from shop.views.answers import needs
from shop.views.units import takes_inch, unit_switch
from workorders.forms.identify import IdentifyForm
from workorders.models import BoxLine, Rebuild, WorkOrder
from workorders.services.boxes import refuse_foreign_order
from workorders.views import trails

# Common practice, no source.
BEFORE_MEASURING = (
    "A unit may still hold pressure or a loaded spring: loosen no fitting to measure it.",
    "Wipe the oil off before you read a stamp; keep hands and eyes away from the ports.",
)


@dataclass(frozen=True)
class Proposal:
    """A candidate with its unit type, and where choosing it leads."""

    candidate: Candidate
    unit_type: UnitType
    choose_url: str
    choose_words: str


@dataclass(frozen=True)
class Purpose:
    """For which work order, line of a box or rebuild a unit is identified; all may be missing."""

    order: WorkOrder | None = None
    line: BoxLine | None = None
    rebuild: Rebuild | None = None

    def choice(self, unit_type: UnitType, serial: str) -> tuple[str, str]:
        """Return the address that choosing a type leads to, and the words of the button."""
        ready = unit_type.ready or unit_type.provisional  # type: ignore[attr-defined]
        if self.rebuild and ready:
            return reverse("workorders:other_type_chosen", args=[self.rebuild.pk, unit_type.pk]), (
                "It is this type"
            )
        if self.order and ready:
            url = reverse("workorders:add_new", args=[self.order.number, unit_type.pk])
            told = self._query(maker_serial=serial)
            return (f"{url}?{urlencode(told)}" if told else url), "Receive it as this type"
        return unit_type.get_absolute_url(), "Open this type"

    def unknown(self, told: Mapping[str, str]) -> tuple[str, str]:
        """Return where it goes on when no type fits, and the words of the button; empty for nowhere."""
        if self.order:
            url = reverse("workorders:add_unknown", args=[self.order.number])
            return f"{url}?{urlencode({**told, **self._query()})}", "Receive it as a unit of an unknown type"
        if self.line:
            url = reverse("workorders:box_line", args=[self.line.box.number, self.line.order])
            return url, "Write it down as not identified"
        return "", ""

    def _query(self, **more: str) -> dict[str, str]:
        line = {"line": str(self.line.pk)} if self.line else {}
        return {**line, **{name: text for name, text in more.items() if text}}


@require_GET
@needs("see")
def identify(request: HttpRequest) -> HttpResponse:
    """Identify a unit for its own sake, or from a line of a box that has no work order yet."""
    line = _line(request)
    trail = trails.to_box(line.box) if line else [("Unit types", reverse("shop:unit_types"))]
    return _answer(request, Purpose(line=line), trail)


@require_GET
@needs("receive")
def identify_for(request: HttpRequest, number: str) -> HttpResponse:
    """Identify a unit that is to be received in a work order."""
    order = get_object_or_404(WorkOrder, number=number)
    line = _line(request)
    if line:
        refuse_foreign_order(line, order)
    return _answer(request, Purpose(order=order, line=line), trails.to_choice(order))


@require_GET
@needs("receive")
def identify_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Identify a unit that was received as the wrong type."""
    rows = Rebuild.objects.select_related("unit__unit_type", "work_order")
    rebuild = get_object_or_404(rows, pk=pk)
    return _answer(request, Purpose(rebuild=rebuild), trails.to_intake(rebuild))


def _line(request: HttpRequest) -> BoxLine | None:
    pk = request.GET.get("line", "")
    if not pk:
        return None
    rows = BoxLine.objects.select_related("box__work_order", "box__customer")
    return get_object_or_404(rows, pk=pk if pk.isdecimal() and len(pk) < 18 else 0)


def _answer(request: HttpRequest, purpose: Purpose, trail: trails.Trail) -> HttpResponse:
    """Answer the page: the form alone, or with what it found."""
    diameter_mm, length_mm = identification.uncertainties()
    asked = any(name in request.GET for name in IdentifyForm.base_fields)
    data = {name: request.GET[name].replace("\0", "") for name in request.GET}
    inch = takes_inch(request)
    form = IdentifyForm(data if asked else None, diameter_mm=diameter_mm, length_mm=length_mm, inch=inch)
    context: dict[str, Any] = {
        "form": form,
        "purpose": purpose,
        "line": purpose.line,
        "trail": trail,
        "cautions": BEFORE_MEASURING,
        "asked": asked,
    }
    status = 200
    if asked and form.is_valid():
        context |= _found(form, purpose)
    elif asked:
        status = 422
    context |= unit_switch(request, inch=inch, **(form.typed_in_other_units() if asked else {}))
    return render(request, "workorders/identify.html", context, status=status)


def _found(form: IdentifyForm, purpose: Purpose) -> dict[str, Any]:
    found, more = identification.propose(form.observed)
    types = identification.types_of(found)
    serial = form.cleaned_data["maker_serial"]
    proposals = [
        Proposal(one, types[one.entry.key], *purpose.choice(types[one.entry.key], serial)) for one in found
    ]
    unknown_url, unknown_words = purpose.unknown(form.passed_on)
    return {
        "proposals": proposals,
        "more": more,
        "told": form.told,
        "unknown_url": unknown_url,
        "unknown_words": unknown_words,
    }

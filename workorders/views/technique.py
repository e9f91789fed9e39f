"""The panel of technique on the pages of the bench, with the button that writes a lesson."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils.http import urlencode

from shop.models import Step
from shop.roles import may
from workorders.forms.lesson import LessonForm
from workorders.models import Operation, Rebuild
from workorders.services.bench_technique import BenchTechnique, bench_technique
from workorders.services.places import Place, kind_of
from workorders.services.standing import current_test

Kind = Operation.Kind
CLEANING = (Kind.CLEANED, Kind.BLASTED, Kind.CORROSION_REMOVED)


@dataclass(frozen=True, kw_only=True)
class Panel:
    """What is known of a step, and the form that adds a lesson to it."""

    known: BenchTechnique
    form: LessonForm | None
    url: str


def panels_of(
    request: HttpRequest,
    *rebuilds: Rebuild,
    step: str,
    place: Place | None = None,
    kind: str = "",
    form: LessonForm | None = None,
) -> list[Panel]:
    """Return a panel for each unit type among the rebuilds; the form where its person may write.

    ``kind`` is the kind of rework that the page records; ``form`` is one that was refused.
    """
    writes = may(request.user, "lesson")
    return [
        Panel(
            known=known,
            form=(form or LessonForm()) if writes else None,
            url=lesson_url(known.rebuild, step=step, place=place, kind=kind),
        )
        for known in bench_technique(rebuilds, step=step, place=place)
    ]


def step_of_kind(kind: str) -> str:
    """Return the step at which a kind of rework is done."""
    if kind in CLEANING:
        return Step.CLEANING
    return Step.BUILDING if kind == Kind.FASTENED else Step.REWORK


def lesson_url(rebuild: Rebuild, *, step: str, place: Place | None, kind: str = "") -> str:
    """Return the address that takes a lesson, with step and place filled in."""
    told: dict[str, Any] = {"step": step}
    if place:
        told["place"] = f"{kind_of(place)}-{place.pk}"
    if kind:
        told["kind"] = kind
    return f"{reverse('workorders:lesson_new', args=[rebuild.pk])}?{urlencode(told)}"


def page_of_step(rebuild: Rebuild, *, step: str, place: Place | None, kind: str = "") -> str:
    """Return the page of the bench at which a step of a rebuild is done."""
    if step == Step.PACKING:
        return reverse("workorders:pack", args=[rebuild.work_order.number])
    if step == Step.TEST:
        test = current_test(rebuild)
        return test.get_absolute_url() if test else rebuild.get_absolute_url()
    if kind:
        where = {"place": f"{kind_of(place)}-{place.pk}"} if place else {}
        return f"{reverse('workorders:operation', args=[rebuild.pk])}?{urlencode({'kind': kind, **where})}"
    page, at_place = ("teardown", "finding") if step == Step.TEARDOWN else ("build", "use_part")
    if place:
        return reverse(f"workorders:{at_place}", args=[rebuild.pk, kind_of(place), place.pk])
    return reverse(f"workorders:{page}", args=[rebuild.pk])

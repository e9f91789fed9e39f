"""Pressure tests: start, rig fluid, the page of a test, signing, setting aside."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from shop.models import Fluid
from shop.roles import may, refusal
from shop.views.answers import act_of, answer_form, needs
from workorders.forms.testing import FluidDecisionForm, SignTestForm, StartForm, SupersedeForm, signing_data
from workorders.models import PressureTest, Rebuild
from workorders.services import rig_fluid, testing
from workorders.services.rigs import filled_rigs
from workorders.services.stages import standing_release
from workorders.services.standing import current_test
from workorders.views.bench import render_test, test_cautions
from workorders.views.rig_parts import part_answer, shown_for_test


def get_rebuild(pk: int) -> Rebuild:
    """Return a rebuild with what the head of every page of the bench shows."""
    rows = Rebuild.objects.select_related(
        "unit__unit_type", "work_order", "revision__unit_type", "revision__service_fluid"
    )
    return get_object_or_404(rows, pk=pk)


def get_test(pk: int) -> PressureTest:
    """Return a test with its plan, fluids, people and unit."""
    rows = PressureTest.objects.select_related(
        "plan",
        "rig_fluid",
        "fluid_left",
        "started_by",
        "signature",
        "rebuild__unit__unit_type",
        "rebuild__work_order",
        "rebuild__revision__unit_type",
        "rebuild__revision__service_fluid",
    )
    return get_object_or_404(rows, pk=pk)


@require_http_methods(["GET", "POST"])
@needs("test")
def test_start(request: HttpRequest, pk: int) -> HttpResponse:
    """What a test needs first, every fluid checked against the unit, and the start."""
    rebuild = get_rebuild(pk)
    plan = testing.approved_plan(rebuild)
    checks = rig_fluid.check_fluids(rebuild, list(Fluid.objects.all()))
    rigs = [(rig, check) for rig in filled_rigs() for check in checks if check.fluid == rig.fluid]
    asked = request.GET.get("rig", str(rigs[0][0].pk) if len(rigs) == 1 else "")
    on_rig = next(((rig, check) for rig, check in rigs if str(rig.pk) == asked), None)
    usual = on_rig[1].fluid.pk if on_rig else rebuild.revision.service_fluid_id
    runs = any(check.may_run and check.fluid.pk == usual for check in checks)
    context = {
        "rebuild": rebuild,
        "plan": plan,
        "missing": testing.missing_for_test(rebuild, at=timezone.now()),
        "current": current_test(rebuild),
        "tests": rebuild.pressure_tests.order_by("number"),
        "checks": checks,
        "rigs": rigs,
        "on_rig": on_rig[0] if on_rig else None,
        "may_decide": may(request.user, "decide_fluid"),
        **test_cautions(rebuild, plan),
    }
    return answer_form(
        request,
        form=StartForm(request.POST or None, checks=checks, initial={"rig_fluid": usual if runs else None}),
        template="workorders/test_start.html",
        context=context,
        write=lambda data: testing.start_test(act=act_of(request), rebuild=rebuild, **data),
    )


@require_http_methods(["GET", "POST"])
@needs("decide_fluid")
def fluid_decide(request: HttpRequest, pk: int, fluid_pk: int) -> HttpResponse:
    """The lead decides on one rig fluid for one unit."""
    rebuild = get_rebuild(pk)
    fluid = get_object_or_404(Fluid, pk=fluid_pk)

    def write(data: dict[str, Any]) -> str:
        testing.decide_fluid(
            act=act_of(request, data["reason"]),
            rebuild=rebuild,
            rig_fluid=fluid,
            flushing=data["flushing"],
        )
        return reverse("workorders:test_start", args=[rebuild.pk])

    return answer_form(
        request,
        form=FluidDecisionForm(request.POST or None),
        template="workorders/fluid_decide.html",
        context={"rebuild": rebuild, "check": rig_fluid.check_fluid(rebuild, fluid)},
        write=write,
    )


@require_GET
@needs("see")
def pressure_test(request: HttpRequest, pk: int) -> HttpResponse:
    """A test with its steps; while it runs, the next step stands open."""
    test = get_test(pk)
    if part := part_answer(request, lambda: shown_for_test(test)):
        return part
    return render_test(request, test)


@require_http_methods(["GET", "POST"])
@needs("test")
def test_sign(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign a complete test with the password again."""
    test = get_test(pk)
    form = SignTestForm(
        request.POST or None, request=request, initial={"fluid_left": test.rebuild.revision.service_fluid_id}
    )
    return answer_form(
        request,
        form=form,
        template="workorders/test_sign.html",
        context={"test": test, "state": testing.state_of(test)},
        write=lambda data: testing.sign_test(act=act_of(request), test=test, **signing_data(data)),
    )


@require_http_methods(["GET", "POST"])
@needs("test")
def test_supersede(request: HttpRequest, pk: int) -> HttpResponse:
    """Stop a running test, or set a signed one aside, with the reason."""
    test = get_test(pk)
    released = standing_release(test.rebuild)
    context = {
        "test": test,
        "released": released,
        "lead_only": released and not may(request.user, "release"),
        "refusal": refusal(request.user, "release"),
    }
    return answer_form(
        request,
        form=SupersedeForm(request.POST or None),
        template="workorders/test_supersede.html",
        context=context,
        write=lambda data: testing.supersede_test(act=act_of(request), test=test, reason=data["reason"]),
    )

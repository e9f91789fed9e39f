"""Test sheets: blank ones for the bench, the filled one of a test, and the symbol on them."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.text import slugify
from django.views.decorators.http import require_GET

from shop.errors import RuleBroken
from shop.models import TestPlan
from shop.roles import may
from shop.views.answers import needs
from workorders.forms.on_paper import boxes_of_plan
from workorders.models import PressureTest, Rebuild
from workorders.services.bench_sheets import blank_paper, filled_paper, read_sheet
from workorders.services.standing import current_test
from workorders.services.testing import approved_plan
from workorders.views.testing import get_rebuild, get_test


@require_GET
@needs("see")
def plan_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """A blank sheet of a plan, for any unit of its type."""
    rows = TestPlan.objects.select_related("revision__unit_type", "revision__service_fluid")
    plan = get_object_or_404(rows, pk=pk)
    data = blank_paper(plan=plan, boxes=boxes_of_plan(plan))
    return _pdf(data, f"blank-test-sheet-{slugify(plan.revision.unit_type.code)}-plan-{plan.version}")


@require_GET
@needs("see")
def rebuild_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """A blank sheet of the approved plan for one unit."""
    rebuild = get_rebuild(pk)
    plan = approved_plan(rebuild)
    if plan is None:
        raise RuleBroken(f"{rebuild.revision} has no approved test plan; the lead writes and approves one.")
    data = blank_paper(plan=plan, boxes=boxes_of_plan(plan), rebuild=rebuild)
    return _pdf(data, f"blank-test-sheet-{rebuild.unit.serial}")


@require_GET
@needs("see")
def test_blank_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """A blank sheet of the plan that a test is made to."""
    test = get_test(pk)
    boxes = boxes_of_plan(test.plan)
    data = blank_paper(plan=test.plan, boxes=boxes, rebuild=test.rebuild, test=test)
    return _pdf(data, f"blank-test-sheet-{test.rebuild.unit.serial}-{test.number}")


test_blank_sheet.__test__ = False  # type: ignore[attr-defined]  # not a pytest function


@require_GET
@needs("see")
def test_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The sheet of a test as it stands."""
    test = get_test(pk)
    return _pdf(filled_paper(test), f"test-sheet-{test.rebuild.unit.serial}-{test.number}")


test_sheet.__test__ = False  # type: ignore[attr-defined]  # not a pytest function


@require_GET
@needs("see")
def sheet_scanned(request: HttpRequest, told: str) -> HttpResponse:
    """Answer the symbol of a test sheet: a rebuild, one of its tests, or a plan."""
    found = read_sheet(told)
    if found is None:
        raise Http404("No test sheet carries this symbol.")
    if found["plan"]:
        return redirect("shop:test_plan", get_object_or_404(TestPlan, pk=int(found["plan"])).pk)
    pk = int(found["pk"])
    if found["number"]:
        return redirect(get_object_or_404(PressureTest, rebuild=pk, number=int(found["number"])))
    rebuild = get_object_or_404(Rebuild, pk=pk)
    if test := current_test(rebuild):
        return redirect(test)
    return redirect("workorders:test_start", rebuild.pk) if may(request.user, "test") else redirect(rebuild)


def _pdf(data: bytes, name: str) -> HttpResponse:
    response = HttpResponse(data, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response

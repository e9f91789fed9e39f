"""Test plans: one version with its steps and limits, and what the lead changes while it is a draft."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.changes import changes
from shop.errors import RuleBroken
from shop.forms.catalogue import PlanForm
from shop.forms.rows import WhyForm
from shop.forms.test_plan import LimitFormSet, StepForm, kind_asked
from shop.models import LimitSetting, StepLimit, TestPlan, TestStep, TypeRevision
from shop.panels import panels_for
from shop.roles import may, refusal
from shop.services import test_plans
from shop.services.plan_proposal import lacks_proof, missing_steps
from shop.services.plan_steps import missing_readings, open_readings, unstated
from shop.step_kinds import KINDS, StepKind
from shop.views.answers import act_of, answer_form, answer_post, needs, once, show_rule
from shop.views.catalogue import Trail, trail_of

LIMIT_FIELDS = tuple(name for name in test_plans.LIMIT_FIELDS if name != "order")


def plan_url(plan: TestPlan) -> str:
    """Return the address of a plan's page."""
    return reverse("shop:test_plan", args=[plan.pk])


def _trail(plan: TestPlan) -> Trail:
    return [*trail_of(plan.revision), (f"Test plan, version {plan.version}", plan_url(plan))]


def _plan_or_404(pk: int) -> TestPlan:
    return get_object_or_404(TestPlan.objects.select_related("revision__unit_type"), pk=pk)


def steps_of(plan: TestPlan) -> list[TestStep]:
    """Return the steps with their limits; each says what its kind still wants stated and read."""
    rows = list(plan.steps.prefetch_related("limits"))
    for step in rows:
        step.lacks = missing_readings(step, step.limits.all())  # type: ignore[attr-defined]
        step.unstated = unstated(step)  # type: ignore[attr-defined]
    return rows


@require_GET
@needs("see")
def test_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """One version of a plan with its steps, limits and every change."""
    row = _plan_or_404(pk)
    is_draft = row.state == TestPlan.State.DRAFT
    step_ids = TestStep.history.filter(plan=row).values("id")
    context = {
        "plan": row,
        "steps": steps_of(row),
        "missing": missing_steps(row) if is_draft else [],
        "trail": trail_of(row.revision),
        "panels": panels_for("shop:test_plan", request, row),
        "is_draft": is_draft,
        "needs_proof": lacks_proof(row.revision),
        "may_edit": is_draft and may(request.user, "catalogue"),
        "refusal": "" if may(request.user, "catalogue") else refusal(request.user, "catalogue"),
        "changes": changes(
            row.history.all(),
            several=[
                TestStep.history.filter(plan=row),
                StepLimit.history.filter(step_id__in=step_ids),
            ],
        ),
    }
    return render(request, "shop/test_plan.html", context)


@require_POST
@needs("catalogue")
def plan_draft(request: HttpRequest, pk: int) -> HttpResponse:
    """Start the next version of a revision's plan."""
    revision = get_object_or_404(TypeRevision, pk=pk)
    return answer_post(
        request,
        lambda: plan_url(test_plans.draft_plan(act=act_of(request), revision=revision, proposed=True)),
    )


@require_POST
@needs("catalogue")
def plan_propose(request: HttpRequest, pk: int) -> HttpResponse:
    """Fill an empty draft with the steps that suit its type."""
    row = _plan_or_404(pk)
    return answer_post(request, lambda: plan_url(test_plans.propose_steps(act=act_of(request), plan=row)))


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def plan_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the title, conditioning and note of a draft."""
    row = _plan_or_404(pk)
    return answer_form(
        request,
        form=PlanForm(request.POST or None, instance=row),
        template="shop/form_page.html",
        write=lambda data: plan_url(test_plans.change_plan(act=act_of(request), plan=row, **data)),
        context={
            "title": f"Change {row}",
            "submit": "Save the change",
            "trail": _trail(row),
            "cancel_url": plan_url(row),
        },
    )


def _before_approval(plan: TestPlan) -> str:
    """Say what approval means, and which steps would suit the type and are not in the plan."""
    note = "Tests that start from now on follow it. An approved version never changes again."
    missing = "; ".join(step.title for step in missing_steps(plan))
    return f"{note} Would suit this type, and is not in the plan: {missing}." if missing else note


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def plan_approve(request: HttpRequest, pk: int) -> HttpResponse:
    """Approve a draft, with the reason."""
    row = _plan_or_404(pk)
    return answer_form(
        request,
        form=WhyForm(request.POST or None),
        template="shop/form_page.html",
        write=lambda data: plan_url(test_plans.approve_plan(act=act_of(request, data["why"]), plan=row)),
        context={
            "title": f"Approve {row}",
            "note": _before_approval(row),
            "submit": "Approve this version",
            "trail": _trail(row),
            "cancel_url": plan_url(row),
        },
    )


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def step_edit(request: HttpRequest, pk: int, step_pk: int | None = None) -> HttpResponse:
    """Add or change a step with its limits."""
    plan = _plan_or_404(pk)
    step = get_object_or_404(TestStep, pk=step_pk, plan=plan) if step_pk else None
    kind = _kind_of(request, step)
    if kind is None:
        status = 422 if request.method == "POST" else 200
        return render(request, "shop/step_kinds.html", _kind_choices(plan, step), status=status)
    old = [{name: getattr(row, name) for name in LIMIT_FIELDS} for row in step.limits.all()] if step else []
    shown = TestStep(plan=plan, kind=kind.code)
    asked = open_readings(shown, step.limits.all() if step else [])
    form = StepForm(
        request.POST or None, instance=step, kind=kind, initial=_first_values(request, plan, step, kind)
    )
    limits = LimitFormSet(
        request.POST or None, prefix="limits", initial=old, asked=asked, known=kind.readings
    )
    status = 200
    if request.method == "POST":
        # Both are asked, so that every error shows at once.
        if all([form.is_valid(), limits.is_valid()]):
            try:
                return redirect(once(request, lambda: _write_step(request, plan, step, form, limits)))
            except RuleBroken as error:
                show_rule(form, error)
        status = 422
    context = {
        "plan": plan,
        "step": step,
        "kind": kind,
        "form": form,
        "limits": limits,
        "settings": LimitSetting.objects.filter(key__in=kind.settings),
        "trail": _trail(plan),
        "cancel_url": plan_url(plan),
    }
    return render(request, "shop/test_step.html", context, status=status)


def _kind_of(request: HttpRequest, step: TestStep | None) -> StepKind | None:
    """Return the kind that a request is about; None where it still has to be chosen."""
    if request.method == "POST":
        return kind_asked(request.POST.get("kind", ""))
    if "kind" in request.GET:
        return kind_asked(request.GET["kind"])
    return step.facts if step else None


def _kind_choices(plan: TestPlan, step: TestStep | None) -> dict[str, Any]:
    family = plan.revision.unit_type.family
    return {
        "plan": plan,
        "step": step,
        "suiting": [kind for kind in KINDS.values() if kind.suits(family)],
        "others": [kind for kind in KINDS.values() if not kind.suits(family)],
        "family": plan.revision.unit_type.get_family_display(),
        "trail": _trail(plan),
        "cancel_url": plan_url(plan),
    }


def _first_values(
    request: HttpRequest, plan: TestPlan, step: TestStep | None, kind: StepKind
) -> dict[str, Any]:
    if step:
        return {"kind": kind.code}
    last = plan.steps.order_by("-order").values_list("order", flat=True).first()
    side = request.GET.get("side", kind.sides[0])
    words = f", {TestStep.Side(side).label}" if side in kind.sides and side else ""
    title = f"{kind.name[:1].upper()}{kind.name[1:]}{words}"
    first = {"kind": kind.code, "order": (last or 0) + 1, "side": side, "title": title}
    return first | _proof_figures(plan.revision, kind)


def _proof_figures(revision: TypeRevision, kind: StepKind) -> dict[str, Any]:
    """Return the proof of the type for a proof step; other kinds have no figure that is known."""
    if kind.code != TestStep.Kind.PROOF:
        return {}
    return {"pressure_bar": revision.proof_pressure_bar, "hold_s": revision.proof_hold_s}


def _write_step(
    request: HttpRequest, plan: TestPlan, step: TestStep | None, form: StepForm, limits: Any
) -> str:
    wanted = [
        {name: row[name] for name in LIMIT_FIELDS}
        for row in limits.cleaned_data
        if row and not row.get("DELETE")
    ]
    test_plans.save_step(act=act_of(request), plan=plan, step=step, limits=wanted, **form.cleaned_data)
    return plan_url(plan)


@require_POST
@needs("catalogue")
def step_remove(request: HttpRequest, pk: int, step_pk: int) -> HttpResponse:
    """Take a step out of a draft."""
    plan = _plan_or_404(pk)

    def write() -> str:
        step = get_object_or_404(TestStep, pk=step_pk, plan=plan)
        return plan_url(test_plans.remove_step(act=act_of(request), step=step))

    return answer_post(request, write)

"""Test plans: drafted, approved, superseded; an approved version never changes."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from shop.errors import RuleBroken
from shop.models import StepLimit, TestPlan, TestStep, TypeRevision
from shop.services.plan_proposal import fill_plan
from shop.services.plan_steps import check_needs, require_readings
from shop.services.writing import Act, keep, locked, service
from shop.step_kinds import LIQUID

State = TestPlan.State
Judged = StepLimit.Judged
Kind = TestStep.Kind
# What a value may be of: the words of instruments (a test compares them) with the units that fit.
QUANTITIES: Mapping[str, tuple[str, ...]] = {
    "pressure": ("bar",),
    "flow": ("mL/min", "L/min"),
    "length": ("mm", "µm"),
    "temperature": ("°C",),
    "current": ("A",),
    "voltage": ("V",),
    "time": ("s", "min"),
    "roughness": ("µm",),
    "torque": ("N·m",),
    "resistance": ("Ω",),
    "insulation": ("MΩ",),
    "speed": ("1/min",),
    "count": (),
}
DECAY_UNIT = "bar/min"
# What a copy of a plan takes along: every field that the lead fills in (a test compares them).
STEP_FIELDS = (
    "kind",
    "side",
    "title",
    "instruction",
    "pressure_bar",
    "hold_s",
    "medium",
    "time_limit_s",
    "voltage_v",
    "load_n",
    "relief_bar",
    "fixture",
    "blank_required",
    "order",
)
LIMIT_FIELDS = (
    "reading",
    "judged",
    "quantity",
    "unit",
    "lower",
    "upper",
    "figure",
    "code_at_most",
    "displacement_cm3",
    "displacement_error_pct",
    "source",
    "basis",
    "order",
)
# Ways of judging a number that an instrument of the register shows.
BY_INSTRUMENT = (Judged.VALUE, Judged.STEADY, Judged.RECORDED)


@service("catalogue")
def draft_plan(*, act: Act, revision: TypeRevision, title: str = "", proposed: bool = False) -> TestPlan:
    """Start the next version of a revision's plan: a copy of the approved one, or an empty one.

    ``proposed`` fills an empty one with the steps that suit the type, for the lead to edit. Raises
    RuleBroken while another draft is open, or where the revision is superseded.
    """
    revision = locked(revision)
    if revision.state == TypeRevision.State.SUPERSEDED:
        raise RuleBroken(f"{revision} is superseded; its plan no longer changes.")
    plans = revision.test_plans.order_by("-version")
    if plans.filter(state=State.DRAFT).exists():
        raise RuleBroken("A draft of this plan is open already: change or approve that one.")
    version = (latest.version if (latest := plans.first()) else 0) + 1
    if approved := plans.filter(state=State.APPROVED).first():
        return copy_plan(approved, revision=revision, version=version)
    name = title.strip() or f"Test of {revision.unit_type.name}"
    draft = keep(TestPlan(revision=revision, version=version, title=name[:120]))
    return fill_plan(draft) if proposed else draft


def copy_plan(plan: TestPlan, *, revision: TypeRevision, version: int) -> TestPlan:
    """Write a draft with the steps and limits of another plan; call inside a service."""
    draft = keep(
        TestPlan(
            revision=revision,
            version=version,
            title=plan.title,
            conditioning=plan.conditioning,
            note=plan.note,
        )
    )
    for step in plan.steps.all():
        copy = keep(TestStep(plan=draft, **_values(step, STEP_FIELDS)))
        for limit in step.limits.all():
            keep(StepLimit(step=copy, **_values(limit, LIMIT_FIELDS)))
    return draft


def _values(row: Any, names: Iterable[str]) -> dict[str, Any]:
    return {name: getattr(row, name) for name in names}


@service("catalogue")
def propose_steps(*, act: Act, plan: TestPlan) -> TestPlan:
    """Fill a draft without steps with those that suit its type; RuleBroken where it has some."""
    draft = draft_of(plan)
    if draft.steps.exists():
        raise RuleBroken("This draft has steps already: add the missing ones one by one.")
    return fill_plan(draft)


@service("catalogue")
def change_plan(*, act: Act, plan: TestPlan, title: str, conditioning: str = "", note: str = "") -> TestPlan:
    """Change the title, conditioning and note of a draft."""
    draft = draft_of(plan)
    draft.title, draft.conditioning, draft.note = title, conditioning, note
    return keep(draft)


@service("catalogue")
def save_step(
    *,
    act: Act,
    plan: TestPlan,
    step: TestStep | None = None,
    limits: Sequence[Mapping[str, Any]],
    **fields: Any,
) -> TestStep:
    """Add or change a step of a draft together with all its limits, in their order.

    Each limit maps what ``LIMIT_FIELDS`` names, without its order; limits of the step that are not
    among them are removed. Without ``order`` a new step goes last.
    """
    draft = draft_of(plan)
    row = locked(step) if step else TestStep(plan=draft, order=_next_order(draft))
    for name, value in fields.items():
        setattr(row, name, value)
    if "medium" not in fields:
        row.medium = LIQUID if row.facts.presses else ""
    _check_step(row, draft.revision)
    _check_blank(row, [values["judged"] for values in limits])
    _make_room(draft, row)
    keep(row)
    old = {limit.reading: limit for limit in row.limits.all()}
    for order, values in enumerate(limits, 1):
        limit = old.pop(values["reading"], None) or StepLimit(step=row)
        for name, value in values.items():
            setattr(limit, name, value)
        limit.order = order
        _keep_limit(limit, row)
    for limit in old.values():
        limit.delete()
    return row


@service("catalogue")
def remove_step(*, act: Act, step: TestStep) -> TestPlan:
    """Take a step with its limits out of a draft."""
    draft = draft_of(step.plan)
    row = locked(step)
    for limit in row.limits.all():
        limit.delete()
    row.delete()
    return draft


@service("catalogue")
def approve_plan(*, act: Act, plan: TestPlan) -> TestPlan:
    """Make a draft the plan that units are tested by; the earlier version is superseded.

    ``act.why`` says what changed. Raises RuleBroken for an empty plan, a step that lacks what its
    kind needs or has no limit, and a proof that departs from the unit type.
    """
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say what this version changes; the reason stays in the history."})
    draft = draft_of(plan)
    steps = list(draft.steps.prefetch_related("limits"))
    if not steps:
        raise RuleBroken("The plan has no steps yet.")
    judged = {limit.judged for step in steps for limit in step.limits.all()}
    if judged == {Judged.RECORDED}:
        raise RuleBroken(
            "Nothing in this plan has a limit, so it could never pass. Give a reading its limit."
        )
    for step in steps:
        _check_named(step, draft.revision)
        require_readings(step, step.limits.all())
    for earlier in TestPlan.objects.filter(revision=draft.revision_id, state=State.APPROVED):
        earlier.state = State.SUPERSEDED
        keep(earlier)
    draft.state = State.APPROVED
    return keep(draft)


def draft_of(plan: TestPlan) -> TestPlan:
    """Return the plan, held for this write; RuleBroken unless it is a draft."""
    row = locked(plan)
    if row.state != State.DRAFT:
        raise RuleBroken(f"{row} is {row.get_state_display()} and no longer changes. Start a draft.")
    return row


def _next_order(plan: TestPlan) -> int:
    last = plan.steps.order_by("-order").values_list("order", flat=True).first()
    return (last or 0) + 1


def _make_room(plan: TestPlan, step: TestStep) -> None:
    """Move the other steps along where one of them has the place in the order that a step takes."""
    others = list(plan.steps.exclude(pk=step.pk).order_by("order"))
    at = next((at for at, other in enumerate(others) if other.order == step.order), None)
    if at is None:
        return
    if stored := TestStep.objects.filter(pk=step.pk).first():
        at += stored.order < step.order  # moved down the list, it comes after the one that stood there
        stored.order = _next_order(plan)
        keep(stored)
    wanted = [*enumerate(others[:at], 1), *enumerate(others[at:], at + 2)]
    step.order = at + 1
    # Never two at one place: those that move up go first and from the top, the others from the end.
    up = [(order, other) for order, other in wanted if order < other.order]
    down = [(order, other) for order, other in wanted if order > other.order]
    for order, other in [*up, *reversed(down)]:
        other.order = order
        keep(other)


def _check_named(step: TestStep, revision: TypeRevision) -> None:
    """Check a step at approval, where no field stands beside the message: the step is named in it."""
    try:
        _check_step(step, revision)
    except RuleBroken as error:
        words = " ".join(word for word in (error.message, *error.fields.values()) if word)
        raise RuleBroken(f"Step {step}: {words}") from error


def _check_step(step: TestStep, revision: TypeRevision) -> None:
    check_needs(step)
    if step.kind == Kind.PROOF:
        _check_proof(step, revision)


def _check_blank(step: TestStep, judged: Iterable[str]) -> None:
    """The blanked rig is checked for the sake of a decay; without one there is nothing to take it off."""
    if step.blank_required and Judged.DECAY not in judged:
        message = "Only a hold that is judged by its decay has the blanked rig checked before it."
        raise RuleBroken(fields={"blank_required": message})


def _check_proof(step: TestStep, revision: TypeRevision) -> None:
    """A proof is the unit type's own: its pressure exactly, its hold at least."""
    proof_bar, hold_s = revision.proof_pressure_bar, revision.proof_hold_s
    if proof_bar is None or hold_s is None:
        message = "The unit type has no proof pressure: enter it there first, with its basis."
        raise RuleBroken(fields={"kind": message})
    if step.pressure_bar != proof_bar:
        message = f"The proof pressure of the unit type is {proof_bar:g} bar ({revision.proof_basis})."
        raise RuleBroken(fields={"pressure_bar": message})
    if (step.hold_s or 0) < hold_s:
        message = f"The unit type asks for at least {hold_s:g} s ({revision.proof_basis})."
        raise RuleBroken(fields={"hold_s": message})


def _keep_limit(limit: StepLimit, step: TestStep) -> None:
    """Keep a limit; what is wrong is said with the name of its reading."""
    problem = _limit_problem(limit, step)
    try:
        if problem:
            raise RuleBroken(problem)
        keep(limit)
    except RuleBroken as error:
        words = [error.message, *error.fields.values()]
        raise RuleBroken(f"{limit.reading}: {' '.join(word for word in words if word)}") from error


def _limit_problem(limit: StepLimit, step: TestStep) -> str:
    """Say what keeps a limit from being judged at the rig; empty where nothing does."""
    if limit.judged == Judged.DECAY:
        if limit.unit != DECAY_UNIT or limit.upper is None or limit.lower is not None:
            return f"A decay is limited by “at most”, in {DECAY_UNIT}."
        if not (step.pressure_bar and step.hold_s):
            return "A decay needs the pressure and the time of its step."
    if limit.judged in BY_INSTRUMENT and limit.unit not in QUANTITIES.get(limit.quantity, ()):
        units = "; ".join(f"{name} in {' or '.join(units)}" for name, units in QUANTITIES.items() if units)
        return f"A reading needs its quantity and a unit that fits: {units}."
    if limit.judged == Judged.EFFICIENCY and limit.lower is None:
        return "An efficiency is limited by “at least”, in %."
    if limit.judged == Judged.WITNESS and not (limit.lower is None and limit.upper is None):
        return "A witnessed observation has no number; count it, or leave the limits empty."
    return ""

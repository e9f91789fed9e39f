"""Test plans as a service: drafted, approved, superseded; limits that can be judged, with their basis."""

import pytest

from shop.errors import NotAllowed, RuleBroken
from shop.models import StepLimit, TestStep
from shop.services import test_plans as plans
from shop.services.test_plans import QUANTITIES
from tests.factories import TestPlanFactory as PlanFactory
from tests.factories import TypeRevisionFactory
from workorders.models import Instrument

pytestmark = pytest.mark.django_db
WITNESS = {"reading": "outside dry", "judged": "witness", "basis": "common practice, no source"}
DECAY = {
    "reading": "decay",
    "judged": "decay",
    "unit": "bar/min",
    "upper": 0.5,
    "source": "shop",
    "basis": "this shop's experience",
}
HOLD = {"kind": "hold", "title": "hold", "pressure_bar": 120.0, "hold_s": 300.0}


@pytest.fixture
def plan():
    """A draft for a revision proved at 160 bar for 60 s."""
    return PlanFactory(state="draft")


def dry(act, user, plan, **fields):
    fields = {"kind": "dryness", "title": "dry outside", "limits": [WITNESS]} | fields
    return plans.save_step(act=act(user), plan=plan, **fields)


def shape(plan):
    return [
        (step.order, step.title, [(row.reading, row.limit_text, row.basis) for row in step.limits.all()])
        for step in plan.steps.all()
    ]


def test_a_plan_starts_empty_and_then_copies_the_approved_version(act, lead):
    revision = TypeRevisionFactory()
    first = plans.draft_plan(act=act(lead), revision=revision, title="Cylinder test")
    dry(act, lead, first)
    plans.save_step(act=act(lead), plan=first, limits=[DECAY], **HOLD)
    plans.approve_plan(act=act(lead, why="first"), plan=first)
    second = plans.draft_plan(act=act(lead), revision=revision)
    assert (second.version, second.state, second.title) == (2, "draft", "Cylinder test")
    assert shape(second) == shape(first)
    with pytest.raises(RuleBroken, match="open already"):
        plans.draft_plan(act=act(lead), revision=revision)


def test_approving_supersedes_and_what_is_approved_never_changes(act, lead):
    revision = TypeRevisionFactory()
    first = plans.draft_plan(act=act(lead), revision=revision)
    step = dry(act, lead, first)
    plans.approve_plan(act=act(lead, why="first"), plan=first)
    second = plans.draft_plan(act=act(lead), revision=revision)
    plans.approve_plan(act=act(lead, why="second"), plan=second)
    first.refresh_from_db()
    assert first.state == "superseded"
    assert second.history.latest("history_id").history_change_reason == "second"
    for plan in (first, second):
        for change in (
            lambda plan=plan: plans.change_plan(act=act(lead), plan=plan, title="x"),
            lambda plan=plan: dry(act, lead, plan),
            lambda plan=plan: plans.approve_plan(act=act(lead, why="x"), plan=plan),
            lambda: plans.remove_step(act=act(lead), step=step),
        ):
            with pytest.raises(RuleBroken, match="no longer changes"):
                change()
    assert shape(first)[0][1] == "dry outside"


def test_a_superseded_revision_gets_no_new_plan(act, lead):
    with pytest.raises(RuleBroken, match="superseded"):
        plans.draft_plan(act=act(lead), revision=TypeRevisionFactory(state="superseded"))


def test_approving_needs_a_reason_steps_and_limits(act, lead, plan):
    with pytest.raises(RuleBroken, match="Say what this version changes"):
        plans.approve_plan(act=act(lead), plan=plan)
    with pytest.raises(RuleBroken, match="no steps yet"):
        plans.approve_plan(act=act(lead, why="x"), plan=plan)
    dry(act, lead, plan, limits=[])
    with pytest.raises(RuleBroken, match="has no limit"):
        plans.approve_plan(act=act(lead, why="x"), plan=plan)
    plan.refresh_from_db()
    assert plan.state == "draft"


@pytest.mark.parametrize("kind", ["proof", "hold"])
@pytest.mark.parametrize("missing", ["pressure_bar", "hold_s"])
def test_proof_and_hold_have_no_default(act, lead, plan, kind, missing):
    fields = {"kind": kind, "title": "x", "pressure_bar": 160.0, "hold_s": 60.0} | {missing: None}
    with pytest.raises(RuleBroken) as refused:
        plans.save_step(act=act(lead), plan=plan, limits=[], **fields)
    assert "no general default" in refused.value.fields[missing]
    assert not TestStep.objects.exists()


@pytest.mark.parametrize(
    ("pressure_bar", "hold_s", "wrong"),
    [(159.9, 60.0, "pressure_bar"), (160.1, 60.0, "pressure_bar"), (160.0, 59.9, "hold_s")],
)
def test_a_proof_is_the_one_of_the_unit_type(act, lead, plan, pressure_bar, hold_s, wrong):
    fields = {"kind": "proof", "title": "proof", "limits": [WITNESS]}
    with pytest.raises(RuleBroken) as refused:
        plans.save_step(act=act(lead), plan=plan, pressure_bar=pressure_bar, hold_s=hold_s, **fields)
    assert "Wall calculation of this shop" in refused.value.fields[wrong]
    assert plans.save_step(act=act(lead), plan=plan, pressure_bar=160.0, hold_s=60.0, **fields)


def test_without_a_proof_pressure_there_is_no_proof_step(act, lead):
    revision = TypeRevisionFactory(proof_pressure_bar=None, proof_hold_s=None, proof_basis="")
    plan = PlanFactory(state="draft", revision=revision)
    with pytest.raises(RuleBroken, match="has no proof pressure"):
        plans.save_step(
            act=act(lead), plan=plan, kind="proof", title="x", pressure_bar=1.0, hold_s=1.0, limits=[]
        )


def test_a_proof_pressure_that_changed_since_stops_the_approval(act, lead):
    revision = TypeRevisionFactory(state="draft")
    plan = PlanFactory(state="draft", revision=revision)
    plans.save_step(
        act=act(lead),
        plan=plan,
        kind="proof",
        title="proof",
        pressure_bar=160.0,
        hold_s=60.0,
        limits=[WITNESS],
    )
    revision.proof_pressure_bar = 140.0
    revision.save()
    with pytest.raises(RuleBroken, match="is 140 bar"):
        plans.approve_plan(act=act(lead, why="x"), plan=plan)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"basis": ""}, "cannot be blank"),
        ({"upper": None}, "decay is limited"),
        ({"unit": "bar"}, "decay is limited"),
        ({"lower": 0.1}, "decay is limited"),
        ({"judged": "value", "quantity": "pressure", "upper": None}, "unit that fits"),
        ({"judged": "value", "quantity": "", "unit": "bar"}, "unit that fits"),
        (
            {"judged": "value", "quantity": "flow", "unit": "mL/min", "upper": None},
            "Give a lower or an upper",
        ),
        ({"judged": "count", "unit": "drips", "upper": None}, "Give a lower or an upper"),
        ({"judged": "count", "unit": "drips", "lower": 2.0, "upper": 1.0}, "above the upper limit"),
        ({"judged": "witness"}, "has no number"),
        ({"judged": "recorded", "unit": "bar", "quantity": "pressure"}, "kept beside has no limit"),
        ({"judged": "recorded", "unit": "bar", "upper": None}, "unit that fits"),
        ({"judged": "steady", "unit": "bar", "quantity": "flow"}, "unit that fits"),
        ({"judged": "stroke", "unit": "bar"}, "needs its figure"),
        ({"judged": "efficiency", "unit": "%"}, "limited by .at least"),
        ({"judged": "efficiency", "unit": "%", "lower": 0.1}, "needs the displacement"),
        ({"judged": "cleanliness", "unit": "", "upper": None}, "needs its code"),
        ({"judged": "cleanliness", "unit": "", "upper": None, "code_at_most": "13/16/18"}, "never rise"),
        (
            {"judged": "cleanliness", "unit": "", "upper": None, "code_at_most": "18/16"},
            "three scale numbers",
        ),
        ({"judged": "cleanliness", "unit": "", "upper": None, "code_at_most": "30/16/1"}, "end at 28"),
        (
            {"judged": "cleanliness", "unit": "", "upper": None, "code_at_most": "9/08/07"},
            "Write the limit as",
        ),
    ],
)
def test_a_limit_that_cannot_be_judged_is_refused_by_name(act, lead, plan, changes, words):
    with pytest.raises(RuleBroken, match=f"decay: .*{words}"):
        plans.save_step(act=act(lead), plan=plan, limits=[DECAY | changes], **HOLD)
    assert not TestStep.objects.exists()
    assert not StepLimit.objects.exists()


def test_a_decay_needs_the_pressure_and_time_of_its_step(act, lead, plan):
    with pytest.raises(RuleBroken, match="pressure and the time of its step"):
        plans.save_step(act=act(lead), plan=plan, kind="dryness", title="dry", limits=[DECAY])


def test_saving_a_step_replaces_its_limits_and_keeps_their_history(act, lead, plan):
    step = plans.save_step(act=act(lead), plan=plan, limits=[DECAY, WITNESS], **HOLD)
    kept = step.limits.get(reading="decay")
    drips = {"reading": "drips", "judged": "count", "unit": "drips", "upper": 0.0, "basis": "x"}
    plans.save_step(act=act(lead), plan=plan, step=step, limits=[drips, DECAY | {"upper": 0.4}], **HOLD)
    assert [(row.reading, row.order, row.limit_text) for row in step.limits.all()] == [
        ("drips", 1, "at most 0 drips"),
        ("decay", 2, "at most 0.4 bar/min"),
    ]
    assert step.limits.get(reading="decay").pk == kept.pk
    assert list(kept.history.values_list("upper", flat=True)) == [0.4, 0.5]
    with pytest.raises(RuleBroken, match="reading of that name already"):
        plans.save_step(act=act(lead), plan=plan, step=step, limits=[DECAY, DECAY], **HOLD)


EACH_WAY = (
    DECAY,
    {"reading": "break-away", "judged": "stroke", "figure": "break_away", "unit": "bar", "upper": 3.0},
    {"reading": "flow", "judged": "steady", "quantity": "flow", "unit": "L/min", "lower": 2.0},
    {
        "reading": "efficiency",
        "judged": "efficiency",
        "unit": "%",
        "lower": 80.0,
        "displacement_cm3": 1.2,
        "displacement_error_pct": 2.0,
    },
    {"reading": "oil", "judged": "cleanliness", "code_at_most": "18/16/13"},
    {"reading": "voltage", "judged": "recorded", "quantity": "voltage", "unit": "V"},
    {"reading": "coil", "judged": "value", "quantity": "resistance", "unit": "Ω", "upper": 9.0},
    {"reading": "insulation", "judged": "value", "quantity": "insulation", "unit": "MΩ", "lower": 1.0},
)


def test_a_new_version_copies_every_field_that_the_lead_filled_in(act, lead):
    revision = TypeRevisionFactory()
    first = plans.draft_plan(act=act(lead), revision=revision)
    limits = [{"basis": "shop rule", "source": "shop"} | limit for limit in EACH_WAY]
    plans.save_step(act=act(lead), plan=first, limits=limits, blank_required=True, side="bore", **HOLD)
    plans.approve_plan(act=act(lead, why="first"), plan=first)
    second = plans.draft_plan(act=act(lead), revision=revision)
    for model, rows, own in (
        (TestStep, lambda plan: plan.steps.all(), {"id", "plan"}),
        (StepLimit, lambda plan: StepLimit.objects.filter(step__plan=plan), {"id", "step"}),
    ):
        names = [field.name for field in model._meta.concrete_fields if field.name not in own]
        assert list(rows(first).values_list(*names)) == list(rows(second).values_list(*names))
    assert shape(second)[0][2][4][1:] == ("at most 18/16/13", "shop rule")
    assert shape(second)[0][2][5][1] == "recorded, in V"


def test_the_blanked_rig_is_only_checked_before_a_decay(act, lead, plan):
    with pytest.raises(RuleBroken) as refused:
        dry(act, lead, plan, blank_required=True)
    assert "judged by its decay" in refused.value.fields["blank_required"]


def test_a_plan_in_which_nothing_has_a_limit_is_not_approved(act, lead, plan):
    dry(act, lead, plan, limits=[{"basis": "x"} | EACH_WAY[5]])
    with pytest.raises(RuleBroken, match="could never pass"):
        plans.approve_plan(act=act(lead, why="x"), plan=plan)


def test_steps_keep_their_order_and_can_be_taken_out(act, lead, plan):
    first, second = dry(act, lead, plan, title="a"), dry(act, lead, plan, title="b")
    assert (first.order, second.order) == (1, 2)
    plans.remove_step(act=act(lead), step=first)
    assert [row[1] for row in shape(plan)] == ["b"]


def titles(plan):
    return [(step.order, step.title) for step in plan.steps.all()]


@pytest.mark.parametrize(
    ("moved", "to", "then"),
    [
        ("d", 1, "dabc"),
        ("d", 2, "adbc"),
        ("a", 4, "bcda"),
        ("a", 2, "bacd"),
        ("b", 2, "abcd"),
    ],
)
def test_a_step_takes_the_place_of_another_and_the_rest_moves_along(act, lead, plan, moved, to, then):
    rows = {title: dry(act, lead, plan, title=title) for title in "abcd"}
    dry(act, lead, plan, step=rows[moved], title=moved, order=to)
    assert titles(plan) == list(enumerate(then, 1))


@pytest.mark.parametrize(("to", "then"), [(1, "eacd"), (3, "aecd"), (4, "aced")])
def test_a_new_step_finds_room_between_others_also_after_one_was_taken_out(act, lead, plan, to, then):
    rows = {title: dry(act, lead, plan, title=title) for title in "abcd"}
    plans.remove_step(act=act(lead), step=rows["b"])
    dry(act, lead, plan, title="e", order=to)
    assert titles(plan) == list(enumerate(then, 1))


def test_only_the_lead_changes_plans(act, bench, plan):
    with pytest.raises(NotAllowed, match="lead"):
        dry(act, bench, plan)


def test_quantities_are_those_of_instruments():
    assert set(QUANTITIES) == set(Instrument.Quantity.values)

"""Kinds of step as data, what a step must state by its kind, and the steps proposed for a type."""

import pytest

from shop import step_kinds
from shop.cautions import COMPRESSED_AIR
from shop.errors import RuleBroken
from shop.models import TestStep, UnitType
from shop.services import test_plans as plans
from shop.services.plan_proposal import missing_steps, proposed_steps
from shop.services.plan_steps import missing_readings, unstated
from shop.services.test_plans import QUANTITIES
from shop.step_kinds import KINDS, Code
from tests.factories import (
    ComponentFactory,
    PositionFactory,
    TypeRevisionFactory,
)
from tests.factories import (
    TestPlanFactory as PlanFactory,
)

FIELDS = {field.name for field in TestStep._meta.get_fields()}
# What point 1 of a shop's list of steps asks of each kind, beside what it measures (common practice).
STATES = {
    Code.PROOF: {"pressure_bar", "hold_s"},
    Code.HOLD: {"pressure_bar", "hold_s"},
    Code.SHAFT_SEAL: {"pressure_bar", "hold_s", "fixture", "relief_bar"},
    Code.DEAD_HEAD: {"time_limit_s"},
    Code.INSULATION: {"voltage_v"},
    Code.FLOW: {"pressure_bar"},
}
LIMITS = {
    "value": {"lower": 1.0, "basis": "set by this shop"},
    "count": {"upper": 0.0, "basis": "set by this shop"},
    "witness": {"basis": "set by this shop"},
    "decay": {"upper": 0.5, "basis": "set by this shop"},
}


def filled(ask, way):
    return {"reading": ask.name, "judged": way, "quantity": ask.quantity, "unit": ask.unit, **LIMITS[way]}


# ---------- the data ----------


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.code)
def test_a_kind_is_whole(kind):
    assert kind.shows.endswith(".")
    assert kind.readings
    assert set(kind.fields) <= FIELDS
    assert set(kind.families) <= set(UnitType.Family.values)
    assert set(kind.sides) <= set(TestStep.Side.values)
    assert len(kind.code) <= TestStep._meta.get_field("kind").max_length
    assert all(each.sentence.endswith(".") for each in kind.conditions)
    assert kind.cautions, "no step is without its hazard"
    assert all(each.source for each in kind.cautions), "a caution names its source"
    assert len({each.name for each in kind.readings}) == len(kind.readings)


def test_every_code_is_a_kind_and_the_codes_of_stored_plans_stay():
    assert set(KINDS) == set(Code)
    stored = {
        "low_pressure_leak", "proof", "hold", "bypass", "strokes", "flow", "dead_head", "relief",
        "shaft_seal", "current", "manual_release", "dryness",
    }  # fmt: skip
    assert stored <= {code.value for code in Code}


@pytest.mark.parametrize(("code", "states"), STATES.items())
def test_a_kind_asks_for_what_it_needs(code, states):
    assert states <= set(KINDS[code].fields)


def test_no_limit_comes_from_a_kind():
    numbers = [
        value
        for kind in KINDS.values()
        for ask in kind.readings
        for value in vars(ask).values()
        if isinstance(value, int | float) and not isinstance(value, bool)
    ]
    assert numbers == []


def test_what_puts_pressure_on_takes_liquid_only():
    for kind in KINDS.values():
        assert step_kinds.GAS not in kind.mediums
    assert KINDS[Code.PROOF].presses
    assert KINDS[Code.SHAFT_SEAL].presses


def test_drift_says_what_it_does_not_show():
    # Read at yeskey.com and scribd.com 163207220: both ports blocked, a single-rod cylinder with no
    # piston seal at all still holds.
    assert "piston seal" in KINDS[Code.DRIFT].shows_not
    assert "bypass" in KINDS[Code.DRIFT].shows_not


# ---------- what a step must state ----------


@pytest.fixture
def plan(db):
    return PlanFactory(state="draft")


def figures(kind, **changes):
    known = {"pressure_bar": 160.0, "hold_s": 60.0, "time_limit_s": 2.0, "voltage_v": 500.0}
    known |= {"load_n": 4000.0, "fixture": "seal carrier", "relief_bar": 200.0}
    return {name: known[name] for name in kind.fields} | changes


NEEDS = [
    (kind.code, need if isinstance(need, str) else need[0], need)
    for kind in KINDS.values()
    for need in kind.needs
]


@pytest.mark.django_db
@pytest.mark.parametrize(("code", "named", "need"), NEEDS)
def test_a_step_without_what_its_kind_needs_is_refused(act, lead, plan, code, named, need):
    kind = KINDS[code]
    lacking = dict.fromkeys([need] if isinstance(need, str) else need)
    if "fixture" in lacking:
        lacking["fixture"] = ""
    told = {"kind": code, "side": kind.sides[0], "title": kind.name, "limits": []}
    with pytest.raises(RuleBroken) as refused:
        plans.save_step(act=act(lead), plan=plan, **told, **figures(kind, **lacking))
    assert "no general default" in refused.value.fields[named]
    assert plans.save_step(act=act(lead), plan=plan, **told, **figures(kind)).pk


@pytest.mark.django_db
@pytest.mark.parametrize("code", [code for code, kind in KINDS.items() if kind.presses])
def test_gas_is_refused_with_the_reason_and_its_source(act, lead, plan, code):
    kind = KINDS[code]
    told = {"kind": code, "side": kind.sides[0], "title": "x", "limits": [], **figures(kind)}
    with pytest.raises(RuleBroken) as refused:
        plans.save_step(act=act(lead), plan=plan, medium="gas", **told)
    assert "200 times the energy" in refused.value.fields["medium"]
    assert COMPRESSED_AIR.source in refused.value.fields["medium"]
    assert not TestStep.objects.exists()


@pytest.mark.django_db
def test_a_side_that_the_kind_does_not_know_is_refused(act, lead, plan):
    with pytest.raises(RuleBroken) as refused:
        plans.save_step(
            act=act(lead), plan=plan, kind="dead_head", side="bore", title="x", time_limit_s=2, limits=[]
        )
    assert "pump turning forward" in refused.value.fields["side"]


@pytest.mark.django_db
@pytest.mark.parametrize(
    "code",
    [
        code
        for code, kind in KINDS.items()
        if all(set(ask.judged) & set(LIMITS) for ask in kind.readings if ask.needed)
        and all(ask.quantity in ("", *QUANTITIES) for ask in kind.readings)
    ],
)
def test_a_plan_is_approved_once_each_needed_reading_has_its_limit(act, lead, plan, code):
    kind = KINDS[code]
    needed = [ask for ask in kind.readings if ask.needed]
    told = {"kind": code, "side": kind.sides[0], "title": "x", **figures(kind)}
    step = plans.save_step(act=act(lead), plan=plan, limits=[], **told)
    with pytest.raises(RuleBroken, match="has no limit"):
        plans.approve_plan(act=act(lead, why="x"), plan=plan)
    ways = [(ask, next(way for way in ask.judged if way in LIMITS)) for ask in needed]
    for given in range(1, len(needed)):
        rows = [filled(ask, way) for ask, way in ways[:given]]
        plans.save_step(act=act(lead), plan=plan, step=step, limits=rows, **told)
        if missing_readings(step, step.limits.all()):
            with pytest.raises(RuleBroken, match="needs: “"):
                plans.approve_plan(act=act(lead, why="x"), plan=plan)
    plans.save_step(
        act=act(lead), plan=plan, step=step, limits=[filled(ask, way) for ask, way in ways], **told
    )
    assert plans.approve_plan(act=act(lead, why="x"), plan=plan).state == "approved"


# ---------- proposals ----------


def codes(revision):
    return [(step.code.value, step.side) for step in proposed_steps(revision)]


@pytest.mark.django_db
def test_a_cylinder_is_offered_low_pressure_first_and_dryness_last():
    revision = TypeRevisionFactory()
    PositionFactory(revision=revision, kind="piston_seal")
    found = codes(revision)
    assert found.index(("low_pressure_leak", "both")) < found.index(("proof", "bore"))
    assert {("proof", "bore"), ("proof", "rod"), ("hold", "bore"), ("bypass", "bore")} <= set(found)
    assert found[-1] == ("dryness", "")
    assert not {"shaft_seal", "dead_head", "brush_length", "drift"} & {code for code, _side in found}


@pytest.mark.django_db
def test_without_a_proof_pressure_no_proof_is_proposed():
    revision = TypeRevisionFactory(proof_pressure_bar=None, proof_hold_s=None, proof_basis="")
    assert "proof" not in {code for code, _side in codes(revision)}


@pytest.mark.django_db
@pytest.mark.parametrize(("volume_ml", "asked"), [(5.0, True), (177.0, False), (None, False)])
def test_a_unit_of_few_millilitres_gets_the_check_of_the_rig(volume_ml, asked):
    revision = TypeRevisionFactory(volume_ml=volume_ml)
    assert (codes(revision)[0] == ("rig_blank", "")) is asked


@pytest.mark.django_db
def test_a_power_unit_is_offered_what_it_is_made_of():
    revision = TypeRevisionFactory(unit_type__family="power_unit")
    bare = {code for code, _side in codes(revision)}
    assert not {"brush_length", "solenoid", "shaft_seal", "hold_after_stop"} & bare
    for kind in ("brushes", "coil", "ball"):
        ComponentFactory(revision=revision, kind=kind)
    PositionFactory(revision=revision, kind="shaft_seal", motion="rotary")
    found = codes(revision)
    assert {"brush_length", "insulation", "solenoid", "shaft_seal", "hold_after_stop", "manual_release"} <= {
        code for code, _side in found
    }
    assert {("dead_head", "forward"), ("dead_head", "reverse")} <= set(found)


@pytest.mark.django_db
def test_a_new_plan_is_proposed_without_limits_and_waits_for_them(act, lead):
    revision = TypeRevisionFactory()
    plan = plans.draft_plan(act=act(lead), revision=revision, proposed=True)
    assert [(row.kind, row.side) for row in plan.steps.all()] == codes(revision)
    assert not any(row.limits.exists() for row in plan.steps.all())
    assert plan.steps.get(kind="proof", side="rod").pressure_bar == revision.proof_pressure_bar
    assert missing_steps(plan) == []
    assert unstated(plan.steps.get(kind="hold")) == ["the pressure", "the time"]
    assert unstated(plan.steps.get(kind="strokes")) == ["the pressure or the load"]
    assert unstated(plan.steps.get(kind="proof", side="rod")) == []
    with pytest.raises(RuleBroken, match="Step 1"):
        plans.approve_plan(act=act(lead, why="x"), plan=plan)
    with pytest.raises(RuleBroken, match="has steps already"):
        plans.propose_steps(act=act(lead), plan=plan)


@pytest.mark.django_db
def test_what_a_plan_lacks_is_named_by_side(act, lead):
    plan = plans.draft_plan(act=act(lead), revision=TypeRevisionFactory())
    told = {"title": "proof", "pressure_bar": 160.0, "hold_s": 60.0, "limits": []}
    plans.save_step(act=act(lead), plan=plan, kind="proof", side="bore", **told)
    lacking = [step.side for step in missing_steps(plan) if step.code == Code.PROOF]
    assert lacking == ["rod"]
    step = plan.steps.get()
    plans.save_step(act=act(lead), plan=plan, step=step, kind="proof", side="both", **told)
    assert not [step for step in missing_steps(plan) if step.code == Code.PROOF]

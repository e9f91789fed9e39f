"""A changed plan never changes an old test: its record keeps the digest, its readings their verdicts."""

import random

import pytest

from shop.errors import RuleBroken
from shop.services import test_plans as plans
from shop.services.writing import Act
from tests.workorders import bench as at_bench
from workorders.models import Reading
from workorders.services import testing
from workorders.services.readings import recomputed
from workorders.services.signing import digest

pytestmark = pytest.mark.django_db


@pytest.fixture
def signed(bench):
    test = at_bench.started(bench)
    at_bench.record_all(bench, test)
    return testing.sign_test(act=Act(by=bench, at=at_bench.AT), test=test, fluid_left=test.rig_fluid)


def values_of(row, names):
    return {name: getattr(row, name) for name in names}


STEP = ("kind", "side", "title", "pressure_bar", "hold_s", "instruction", "order")
LIMIT = ("reading", "judged", "quantity", "unit", "lower", "upper", "source", "basis")


def edit(act, draft, choose):
    """Change a draft in one of the ways that a lead does."""
    step = choose.choice(list(draft.steps.all()))
    fields = values_of(step, STEP)
    limits = [values_of(row, LIMIT) for row in step.limits.all()]
    way = choose.choice(["retitle", "tighten", "remove", "add", "title"])
    if way == "retitle":
        plans.save_step(act=act, plan=draft, step=step, limits=limits, **fields | {"title": "renamed"})
    elif way == "tighten" and step.kind != "proof":
        for row in limits:
            for name in ("lower", "upper"):
                if row[name]:
                    row[name] *= choose.choice([0.5, 2.0])
            row["reading"], row["basis"] = f"{row['reading']} {choose.randint(1, 99)}", "changed"
        plans.save_step(act=act, plan=draft, step=step, limits=limits, **fields)
    elif way == "remove" and draft.steps.count() > 1:
        plans.remove_step(act=act, step=step)
    elif way == "add":
        dry = {"reading": "dry", "judged": "witness", "basis": "added"}
        plans.save_step(act=act, plan=draft, kind="dryness", title="dry again", limits=[dry])
    else:
        plans.change_plan(act=act, plan=draft, title=f"Plan {choose.randint(1, 99)}", note="changed")


def state_of(test):
    test.refresh_from_db()
    readings = Reading.objects.filter(result__pressure_test=test).order_by("pk")
    return digest(testing.signed_content(test)), [
        (reading.verdict, recomputed(reading)) for reading in readings
    ]


@pytest.mark.parametrize("seed", range(4))
def test_a_changed_plan_never_changes_an_old_test(lead, signed, seed):
    act, choose = Act(by=lead, at=at_bench.AT, why="changed"), random.Random(seed)
    before = state_of(signed)
    assert before[0] == signed.signature.content_sha256
    assert all(verdict == again.verdict for verdict, again in before[1])
    for _version in range(2):
        draft = plans.draft_plan(act=act, revision=signed.rebuild.revision)
        for _edit in range(6):
            edit(act, draft, choose)
        plans.approve_plan(act=act, plan=draft)
        assert state_of(signed) == before
    signed.plan.refresh_from_db()
    assert signed.plan.state == "superseded"
    with pytest.raises(RuleBroken, match="no longer changes"):
        edit(act, signed.plan, random.Random(0))
    assert state_of(signed) == before

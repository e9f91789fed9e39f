"""Pressure tests: started, signed once, superseded with a reason; never edited after signing."""

from datetime import datetime
from typing import Any

from django.db.models import Max
from django.urls import reverse

from shop.errors import RuleBroken
from shop.models import Fluid, TestPlan
from shop.services.writing import Act, keep, locked, require, service
from workorders.models import PressureTest, Rebuild
from workorders.services.facts import standing_build_key
from workorders.services.missing import Missing
from workorders.services.operation_values import missing_cure
from workorders.services.readings import recomputed, recomputed_verdict
from workorders.services.recall_state import missing_recall, refuse_recalled
from workorders.services.record.testing import test_record
from workorders.services.rig_fluid import check_fluid, decide_fluid, refuse_unsuitable, require_runnable
from workorders.services.running import TestState, progress_of, running_test, state_of
from workorders.services.signing import sign
from workorders.services.stages import refresh_stage, standing_release
from workorders.services.standing import Meaning, check_done_at, current_test, hold_open
from workorders.services.step_results import record_step
from workorders.services.step_start import start_step

__all__ = [
    "TestState",
    "approved_plan",
    "decide_fluid",
    "missing_for_test",
    "recomputed",
    "recomputed_verdict",
    "record_step",
    "sign_test",
    "signed_content",
    "start_step",
    "start_test",
    "state_of",
    "supersede_test",
]

State = PressureTest.State


def approved_plan(rebuild: Rebuild) -> TestPlan | None:
    """Return the approved test plan of the revision that a rebuild is built to."""
    return rebuild.revision.test_plans.filter(state=TestPlan.State.APPROVED).first()


def missing_for_test(rebuild: Rebuild, *, at: datetime) -> list[Missing]:
    """Return what stands in the way of a test at a time, apart from the choice of the rig fluid."""
    return _missing_for_test(rebuild, approved_plan(rebuild), at)


def _missing_for_test(rebuild: Rebuild, plan: TestPlan | None, at: datetime) -> list[Missing]:
    missing = [*missing_recall(rebuild), *missing_cure(rebuild, at=at)]
    if not standing_build_key(rebuild):
        sentence = "The build is not signed, or something was changed after it was; close it first"
        missing.append(Missing("build", sentence, reverse("workorders:build", args=[rebuild.pk])))
    if plan is None:
        sentence = f"{rebuild.revision} has no approved test plan; the lead writes and approves one"
        missing.append(Missing("test plan", sentence, rebuild.revision.unit_type.get_absolute_url()))
    elif not plan.steps.exists():
        missing.append(Missing("test plan", f"The plan “{plan}” has no steps; the lead corrects it"))
    return missing


@service("test")
def start_test(*, act: Act, rebuild: Rebuild, rig_fluid: Fluid) -> PressureTest:
    """Start a test to the approved plan with the fluid that is in the rig.

    Raises RuleBroken while a recall stops the unit, the build is not signed or a thread locker
    cures, without an approved plan, while another test runs or stands, and where the fluid is
    unsuitable or waits for the lead's decision.
    """
    row, facts = hold_open(rebuild)
    if facts.has_current_test and (test := current_test(row)):
        raise RuleBroken(
            f"Test {test.number} is {test.get_state_display()}; supersede it with a reason first."
        )
    plan = approved_plan(row)
    if missing := _missing_for_test(row, plan, act.at):
        raise RuleBroken(" ".join(f"{each.sentence}." for each in missing))
    require_runnable(check_fluid(row, rig_fluid))
    last = row.pressure_tests.aggregate(last=Max("number"))["last"] if facts.has_test else None
    test = keep(
        PressureTest(
            rebuild=row,
            plan=plan,
            number=(last or 0) + 1,
            rig_fluid=rig_fluid,
            started_at=act.at,
            started_by=act.by,
        )
    )
    refresh_stage(row)
    return test


def signed_content(test: PressureTest) -> dict[str, Any]:
    """Return what the signature of a test covers: the unit and the whole record of the test.

    State and reason for superseding come later and are left out, so that the digest of a
    superseded test still holds.
    """
    record = test_record(test)
    later = ("state", "superseded_reason")
    return {
        "unit": test.rebuild.unit.serial,
        "work_order": test.rebuild.work_order.number,
        "rebuild": test.rebuild.number,
        **{name: value for name, value in record.items() if name not in later},
    }


@service("test")
def sign_test(
    *, act: Act, test: PressureTest, fluid_left: Fluid, done_at: datetime | None = None
) -> PressureTest:
    """Sign a complete test, whatever its verdict: a failed test is a fact too.

    ``fluid_left`` is what stays inside for shipping. Raises RuleBroken while a step has no
    result, for a fluid known to ruin a fitted seal, and while a recall stops the unit.
    """
    row = running_test(test)
    state = progress_of(row)
    if not state.is_complete:
        names = ", ".join(str(step) for step in state.missing)
        raise RuleBroken(f"Every step needs its result before the test is signed. Missing: {names}.")
    refuse_unsuitable(check_fluid(row.rebuild, fluid_left), "fluid_left")
    refuse_recalled(row.rebuild)
    check_done_at(act, row.rebuild, done_at)
    row.fluid_left, row.verdict = fluid_left, state.verdict
    row.signature = sign(
        act=act, rebuild=row.rebuild, meaning=Meaning.TESTED, content=signed_content(row), done_at=done_at
    )
    row.state = State.SIGNED
    keep(row)
    refresh_stage(row.rebuild)
    return row


@service("test")
def supersede_test(*, act: Act, test: PressureTest, reason: str) -> PressureTest:
    """Stop a running test, or set a signed one aside; both stay visible, and a new one may start.

    The test of a released rebuild is superseded by the lead only, and the release then no longer
    stands. Raises RuleBroken without a reason, once the unit has left, and where it is superseded
    already.
    """
    row = locked(test)
    if row.state == State.SUPERSEDED:
        raise RuleBroken("This test is superseded already.")
    rebuild = locked(row.rebuild)
    if not rebuild.is_open:
        raise RuleBroken(
            f"This rebuild is closed ({rebuild.get_stage_display()}); its tests stay as they are."
        )
    if standing_release(rebuild):
        require(act, "release")
    if not reason.strip():
        raise RuleBroken(fields={"reason": "Say why this test is set aside."})
    row.state, row.superseded_reason = State.SUPERSEDED, reason.strip()
    keep(row)
    refresh_stage(rebuild)
    return row

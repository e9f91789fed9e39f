"""Pressure tests: started, signed, set aside; never edited after signing."""

import datetime as dt

import pytest

from shop.errors import NotAllowed, RuleBroken
from shop.models import Fluid, FluidFamily, TestPlan
from tests import factories
from tests.workorders import bench as at_bench
from workorders.models import PartUsed, PressureTest, Rebuild, Signature
from workorders.services import testing
from workorders.services.signing import digest
from workorders.services.step_results import CountEntry

pytestmark = pytest.mark.django_db
LATER = at_bench.AT + dt.timedelta(hours=1)


def oil(test):
    return test.rebuild.revision.service_fluid


def sign(act, person, test, **fields):
    return testing.sign_test(act=act(person, at=LATER), test=test, **{"fluid_left": oil(test), **fields})


# -- start


def test_a_test_starts_to_the_approved_plan_and_sets_the_stage(bench, act):
    rebuild = at_bench.ready_rebuild()
    test = at_bench.started(bench, rebuild)
    assert (test.number, test.state, test.plan) == (1, "running", testing.approved_plan(rebuild))
    assert (test.started_by, test.started_at) == (bench, at_bench.AT)
    rebuild.refresh_from_db()
    assert rebuild.stage == Rebuild.Stage.ON_TEST


def test_a_test_needs_the_build_signed(bench):
    rebuild = factories.RebuildFactory()
    at_bench.make_plan(rebuild.revision)
    with pytest.raises(RuleBroken, match="The build is not signed"):
        at_bench.started(bench, rebuild)
    assert not PressureTest.objects.exists()


def test_a_seal_fitted_after_the_build_was_signed_opens_it_again(bench):
    rebuild = at_bench.ready_rebuild()
    part = at_bench.fit_seal(rebuild, "NBR")
    assert PartUsed.objects.filter(pk=part.pk, at__lte=factories.NOW).exists()
    at_bench.started(bench, rebuild)  # booked no later than the signature: the build stands

    other = at_bench.ready_rebuild()
    at_bench.sign_build(other, at=factories.NOW - dt.timedelta(days=2))
    with pytest.raises(RuleBroken, match="something was changed after"):
        at_bench.started(bench, other)


@pytest.mark.parametrize("state", [TestPlan.State.DRAFT, TestPlan.State.SUPERSEDED])
def test_a_test_needs_an_approved_plan(bench, state):
    rebuild = at_bench.ready_rebuild()
    plan = testing.approved_plan(rebuild)
    plan.state = state
    plan.save()
    with pytest.raises(RuleBroken, match="no approved test plan"):
        at_bench.started(bench, rebuild)


def test_a_plan_without_steps_starts_no_test(bench):
    rebuild = at_bench.ready_rebuild(steps=())
    with pytest.raises(RuleBroken, match="has no steps"):
        at_bench.started(bench, rebuild)


def test_only_one_test_runs_or_stands_at_a_time(bench, act):
    rebuild = at_bench.ready_rebuild()
    test = at_bench.started(bench, rebuild)
    with pytest.raises(RuleBroken, match="Test 1 is running"):
        at_bench.started(bench, rebuild)
    at_bench.record_all(bench, test)
    sign(act, bench, test)
    with pytest.raises(RuleBroken, match="Test 1 is signed"):
        at_bench.started(bench, rebuild)
    assert PressureTest.objects.count() == 1


def test_a_closed_rebuild_is_not_tested(bench):
    rebuild = at_bench.ready_rebuild()
    rebuild.stage, rebuild.exit_reason = Rebuild.Stage.SCRAPPED, "cracked"
    rebuild.save()
    with pytest.raises(RuleBroken, match="closed"):
        at_bench.started(bench, rebuild)


def test_the_desk_runs_no_tests(warranty_desk):
    with pytest.raises(NotAllowed, match="run and sign a pressure test"):
        at_bench.started(warranty_desk)
    assert not PressureTest.objects.exists()


# -- sign


def test_a_complete_test_is_signed_over_the_digest_of_its_record(bench, act):
    test = at_bench.started(bench)
    at_bench.record_all(bench, test)
    signed = sign(act, bench, test, done_at=at_bench.AT)
    assert (signed.state, signed.verdict, signed.fluid_left) == ("signed", "passes", oil(test))
    signature = signed.signature
    assert (signature.meaning, signature.by, signature.at) == (Signature.Meaning.TESTED, bench, LATER)
    assert signature.done_at == at_bench.AT
    fresh = PressureTest.objects.get(pk=test.pk)
    assert signature.content_sha256 == digest(testing.signed_content(fresh))
    change = PressureTest.history.filter(id=test.pk).first()
    assert (change.state, change.history_user, change.history_change_reason) == ("signed", bench, "sign test")


@pytest.mark.record_row("R36")
def test_the_signature_covers_every_reading_and_no_other_unit(bench, act):
    test = at_bench.started(bench)
    at_bench.record_all(bench, test)
    signature = sign(act, bench, test).signature
    other = at_bench.started(bench)
    assert digest(testing.signed_content(other)) != signature.content_sha256
    reading = test.results.first().readings.first()
    reading.observed = {**reading.observed, "count": 7}
    reading.save()
    fresh = PressureTest.objects.get(pk=test.pk)
    assert digest(testing.signed_content(fresh)) != signature.content_sha256


def test_a_test_that_fails_is_signed_too(bench, act):
    test = at_bench.started(bench)
    at_bench.record_all(bench, test, drips=CountEntry(count=3))
    assert sign(act, bench, test).verdict == "fails"


def test_a_test_is_not_signed_before_every_step_has_its_result(bench, act):
    test = at_bench.started(bench)
    for step in at_bench.steps_of(test)[:-1]:
        at_bench.record(bench, test, step)
    with pytest.raises(RuleBroken, match=r"Missing: 4\. Full strokes"):
        sign(act, bench, test)
    test.refresh_from_db()
    assert (test.state, test.signature, test.fluid_left) == ("running", None, None)
    assert not Signature.objects.filter(meaning=Signature.Meaning.TESTED).exists()


def test_a_fluid_that_ruins_a_fitted_seal_is_not_left_inside(bench, act):
    test = at_bench.started(bench)
    at_bench.record_all(bench, test)
    brake = Fluid.objects.create(name="brake fluid", family=FluidFamily.DOT)
    with pytest.raises(RuleBroken, match="known to ruin a seal") as refused:
        sign(act, bench, test, fluid_left=brake)
    assert list(refused.value.fields) == ["fluid_left"]
    assert PressureTest.objects.get().state == "running"


def test_a_test_cannot_be_completed_in_the_future(bench, act):
    test = at_bench.started(bench)
    at_bench.record_all(bench, test)
    with pytest.raises(RuleBroken) as refused:
        sign(act, bench, test, done_at=LATER + dt.timedelta(minutes=1))
    assert list(refused.value.fields) == ["done_at"]


# -- never edited after signing


@pytest.fixture
def signed(bench, act):
    test = at_bench.started(bench)
    at_bench.record_all(bench, test)
    return sign(act, bench, test)


def test_a_signed_test_takes_no_result(bench, signed):
    before = testing.signed_content(signed)
    for step in at_bench.steps_of(signed):
        with pytest.raises(RuleBroken, match="signed and is never changed"):
            at_bench.record(bench, signed, step, why="typing error")
    assert testing.signed_content(PressureTest.objects.get()) == before


def test_a_signed_test_takes_no_logger_file(bench, signed):
    with pytest.raises(RuleBroken, match="signed and is never changed"):
        at_bench.hand_in(bench, signed, "hold_tight.csv")
    assert not signed.logger_files.exists()


def test_a_signed_test_is_not_signed_again(bench, act, signed):
    with pytest.raises(RuleBroken, match="signed and is never changed"):
        sign(act, bench, signed)
    assert Signature.objects.filter(meaning=Signature.Meaning.TESTED).count() == 1


# -- set aside


def test_a_signed_test_is_set_aside_with_a_reason_and_a_new_one_starts(bench, act, signed):
    testing.supersede_test(act=act(bench), test=signed, reason="gauge was swapped")
    signed.refresh_from_db()
    assert (signed.state, signed.superseded_reason) == ("superseded", "gauge was swapped")
    assert signed.signature.content_sha256 == digest(testing.signed_content(signed))
    again = at_bench.started(bench, signed.rebuild)
    assert again.number == 2
    assert list(signed.rebuild.pressure_tests.values_list("number", "state")) == [
        (1, "superseded"),
        (2, "running"),
    ]


def test_a_running_test_is_stopped_with_a_reason(bench, act):
    test = at_bench.started(bench)
    at_bench.record(bench, test, at_bench.steps_of(test)[0])
    testing.supersede_test(act=act(bench, at=LATER), test=test, reason="hose burst")
    change = PressureTest.history.filter(id=test.pk).first()
    assert (change.state, change.superseded_reason) == ("superseded", "hose burst")
    assert (change.history_user, change.history_date) == (bench, LATER)
    assert test.results.count() == 1


@pytest.mark.parametrize("reason", ["", "  "])
def test_a_test_is_not_set_aside_without_a_reason(bench, act, signed, reason):
    with pytest.raises(RuleBroken) as refused:
        testing.supersede_test(act=act(bench), test=signed, reason=reason)
    assert list(refused.value.fields) == ["reason"]
    assert PressureTest.objects.get().state == "signed"


def test_a_test_is_set_aside_once(bench, act, signed):
    testing.supersede_test(act=act(bench), test=signed, reason="one")
    with pytest.raises(RuleBroken, match="superseded already"):
        testing.supersede_test(act=act(bench), test=signed, reason="two")
    assert PressureTest.objects.get().superseded_reason == "one"


def test_a_superseded_test_takes_nothing(bench, act, signed):
    testing.supersede_test(act=act(bench), test=signed, reason="gauge")
    with pytest.raises(RuleBroken, match="superseded and is never changed"):
        at_bench.record(bench, signed, at_bench.steps_of(signed)[0], why="x")
    with pytest.raises(RuleBroken, match="superseded and is never changed"):
        sign(act, bench, signed)


def test_the_test_of_a_unit_that_left_stays(bench, act, signed):
    rebuild = signed.rebuild
    rebuild.stage = Rebuild.Stage.SHIPPED
    rebuild.save()
    with pytest.raises(RuleBroken, match=r"closed \(shipped\)"):
        testing.supersede_test(act=act(bench), test=signed, reason="late doubt")
    assert PressureTest.objects.get().state == "signed"


def test_the_verdict_of_a_test_is_its_worst_step(bench):
    test = at_bench.started(bench)
    assert testing.state_of(test).verdict == ""
    steps = at_bench.steps_of(test)
    at_bench.record(bench, test, steps[0])
    state = testing.state_of(test)
    assert (state.verdict, state.is_complete, state.next_step) == ("passes", False, steps[1])
    at_bench.record(bench, test, steps[1], drips=CountEntry(count=1))
    for step in steps[2:]:
        at_bench.record(bench, test, step)
    state = testing.state_of(test)
    assert (state.verdict, state.is_complete, state.next_step) == ("fails", True, None)

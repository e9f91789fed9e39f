"""A piston seal that leaks inside: shown by a failed bypass step or damage seen, never by drift."""

import datetime as dt
import uuid

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from shop.errors import RuleBroken
from shop.services.writing import Act, keep
from tests import factories
from tests.workorders import bench as at_bench
from tests.workorders.bench_pages import text
from workorders.models import Finding, Signature, StepResult
from workorders.services import teardown, testing
from workorders.services.record.work import finding_record
from workorders.services.step_results import CountEntry, ValueEntry

pytestmark = pytest.mark.django_db
DRIFT = (
    {
        "kind": "drift",
        "side": "bore",
        "title": "Drift under load",
        "pressure_bar": 80,
        "hold_s": 300,
        "load_n": 4000,
    },
    (
        {
            "reading": "drift",
            "judged": "value",
            "quantity": "length",
            "unit": "mm",
            "upper": 2.0,
            "basis": "set by this shop",
        },
    ),
)
BYPASS = (
    {"kind": "bypass", "side": "bore", "title": "Bypass", "pressure_bar": 80, "hold_s": 60},
    ({"reading": "drops", "judged": "count", "unit": "drops", "upper": 3, "basis": "set by this shop"},),
)


@pytest.fixture
def rebuild():
    row = at_bench.ready_rebuild(steps=(DRIFT, BYPASS))
    person = factories.UserFactory()
    for meaning in ("received", "torn_down"):
        Signature.objects.get_or_create(
            rebuild=row,
            meaning=meaning,
            defaults={
                "printed_name": str(person),
                "done_at": factories.NOW - dt.timedelta(hours=1),
                "content_sha256": "0" * 64,
                "by": person,
                "at": factories.NOW - dt.timedelta(hours=1),
            },
        )
    return row


@pytest.fixture
def seal(rebuild):
    return factories.PositionFactory(
        revision=rebuild.revision, code="X9", kind="piston_seal", motion="reciprocating"
    )


def find(person, rebuild, place, **told):
    told = {"condition": "leaks_inside", "cause": "wear", "action": "renewed"} | told
    act = Act(by=person, at=at_bench.AT, why="after the test")
    return teardown.record_finding(act=act, rebuild=rebuild, place=place, **told)


def drifted(person, rebuild, drift_mm=9.0):
    """A running test whose drift step reads so much."""
    test = at_bench.started(person, rebuild)
    ruler = at_bench.gauge(quantity="length", unit="mm", range_high=100.0, accuracy=0.05, resolution=0.01)
    entry = ValueEntry(value=drift_mm, instrument=ruler)
    at_bench.record(person, test, at_bench.steps_of(test)[0], drift=entry)
    return test


def stopped(person, test):
    return testing.supersede_test(act=Act(by=person, at=at_bench.AT), test=test, reason="opened again")


def test_drift_alone_is_never_stored_as_a_leaking_piston_seal(bench, rebuild, seal):
    stopped(bench, drifted(bench, rebuild))
    for evidence in ("drift", "", "bypass", "guess"):
        with pytest.raises(RuleBroken) as refused:
            find(bench, rebuild, seal, evidence=evidence, note="it crept 9 mm in 5 min")
        assert "bypass step" in refused.value.fields["evidence"]
    assert "still even without any piston seal" in refused_words(bench, rebuild, seal)
    assert not Finding.objects.filter(position=seal).exists()


def refused_words(person, rebuild, seal):
    with pytest.raises(RuleBroken) as refused:
        find(person, rebuild, seal, evidence="drift")
    return refused.value.fields["evidence"]


def test_a_failed_bypass_step_shows_it_once_its_test_cannot_change(bench, rebuild, seal):
    test = drifted(bench, rebuild)
    at_bench.record(bench, test, at_bench.steps_of(test)[1], drops=CountEntry(count=40))
    with pytest.raises(RuleBroken) as refused:
        find(bench, rebuild, seal, evidence="bypass")
    assert "sign or stop it first" in refused.value.fields["evidence"]
    stopped(bench, test)
    finding = find(bench, rebuild, seal, evidence="bypass")
    assert finding.evidence_result.step.kind == "bypass"
    assert finding_record(finding)["evidence"] == {"shown_by": "bypass", "test": 1, "step": "2. Bypass"}
    assert "Shown by: a bypass step that failed" in finding.note_in_full


def test_a_bypass_step_that_passes_shows_nothing(bench, rebuild, seal):
    test = drifted(bench, rebuild)
    at_bench.record(bench, test, at_bench.steps_of(test)[1], drops=CountEntry(count=0))
    stopped(bench, test)
    with pytest.raises(RuleBroken) as refused:
        find(bench, rebuild, seal, evidence="bypass")
    assert "No bypass step of this unit has failed" in refused.value.fields["evidence"]


def test_a_bypass_of_another_unit_shows_nothing(bench, rebuild, seal):
    other = at_bench.ready_rebuild(steps=(BYPASS,))
    test = at_bench.started(bench, other)
    at_bench.record(bench, test, at_bench.steps_of(test)[0], drops=CountEntry(count=40))
    stopped(bench, test)
    with pytest.raises(RuleBroken):
        find(bench, rebuild, seal, evidence="bypass")


def test_damage_seen_shows_it_where_it_is_said(bench, rebuild, seal):
    with pytest.raises(RuleBroken) as refused:
        find(bench, rebuild, seal, evidence="seen", note=" ")
    assert "note" in refused.value.fields
    finding = find(bench, rebuild, seal, evidence="seen", note="lip torn over a third of its round")
    assert (finding.evidence, finding.evidence_result) == ("seen", None)
    changed = find(bench, rebuild, seal, condition="worn", evidence="seen")
    assert changed.evidence == "", "another condition needs no such evidence"


def test_only_a_piston_seal_leaks_inside(bench, rebuild):
    place = factories.PositionFactory(revision=rebuild.revision, code="X8", kind="rod_seal")
    with pytest.raises(RuleBroken) as refused:
        find(bench, rebuild, place, evidence="seen", note="wet")
    assert "condition" in refused.value.fields


@pytest.mark.parametrize(
    "fields", [{}, {"evidence": "bypass"}, {"evidence": "seen"}, {"evidence": "drift", "note": "crept"}]
)
def test_the_database_refuses_a_leak_that_nothing_shows(bench, rebuild, seal, fields):
    row = Finding(
        rebuild=rebuild, position=seal, condition="leaks_inside", cause="wear", action="renewed",
        found_at=at_bench.AT, found_by=bench, **fields,
    )  # fmt: skip
    with pytest.raises(IntegrityError, match="leak_inside_shown"), transaction.atomic():
        row.save()


def leak(person, rebuild, place, **fields):
    """A finding that says so, written past the services."""
    return Finding(
        rebuild=rebuild, position=place, condition="leaks_inside", cause="wear", action="renewed",
        found_at=at_bench.AT, found_by=person, **fields,
    )  # fmt: skip


def bypassed(person, rebuild, at, drops=40):
    """The result of a bypass step, in a test that was stopped."""
    test = at_bench.started(person, rebuild) if at == 0 else drifted(person, rebuild)
    step = at_bench.steps_of(test)[at]
    at_bench.record(person, test, step, drops=CountEntry(count=drops))
    stopped(person, test)
    return StepResult.objects.get(step=step)


@pytest.mark.parametrize("shown_by", ["drift", "a bypass that passed", "another unit"])
def test_the_database_refuses_a_step_that_does_not_show_it(bench, rebuild, seal, shown_by):
    if shown_by == "drift":
        stopped(bench, drifted(bench, rebuild))
        result = StepResult.objects.get(step__kind="drift")
        assert result.verdict == "fails"
    elif shown_by == "another unit":
        result = bypassed(bench, at_bench.ready_rebuild(steps=(BYPASS,)), 0)
    else:
        result = bypassed(bench, rebuild, 1, drops=0)
    row = leak(bench, rebuild, seal, evidence="bypass", evidence_result=result)
    with pytest.raises(IntegrityError, match="drift does not"), transaction.atomic():
        row.save()
    row.condition, row.evidence, row.evidence_result = "worn", "", None
    row.save()
    changed = {"condition": "leaks_inside", "evidence": "bypass", "evidence_result": result}
    with pytest.raises(IntegrityError, match="drift does not"), transaction.atomic():
        Finding.objects.filter(pk=row.pk).update(**changed)


def test_the_database_takes_a_bypass_step_that_failed(bench, rebuild, seal):
    leak(bench, rebuild, seal, evidence="bypass", evidence_result=bypassed(bench, rebuild, 1)).save()
    assert Finding.objects.filter(condition="leaks_inside").count() == 1


def test_no_place_but_a_piston_seal_leaks_inside_whoever_writes(bench, rebuild, seal):
    rod_seal = factories.PositionFactory(revision=rebuild.revision, code="X8", kind="rod_seal")
    with pytest.raises(IntegrityError, match="only a piston seal"), transaction.atomic():
        leak(bench, rebuild, rod_seal, evidence="seen", note="wet").save()
    finding = find(bench, rebuild, seal, evidence="seen", note="lip torn")
    finding.position = rod_seal  # as where a draft type turns out to be a known one
    with pytest.raises(RuleBroken, match="Only a piston seal leaks inside"):
        keep(finding)
    seal.kind = "rod_seal"  # as on the page of the place
    with pytest.raises(RuleBroken, match="correct the finding first"):
        keep(seal)


def test_the_page_of_a_failed_drift_explains_and_leads_to_the_bypass_step(client, bench, rebuild):
    test = drifted(bench, rebuild)
    client.force_login(bench)
    shown = text(client.get(test.get_absolute_url()))
    assert "This does not show a leaking piston seal" in shown
    assert "yeskey.com" in shown
    assert reverse("workorders:test_step", args=[test.pk, 2]) in shown


def test_a_drift_that_passes_explains_nothing(client, bench, rebuild):
    test = drifted(bench, rebuild, drift_mm=0.5)
    client.force_login(bench)
    assert "does not show a leaking piston seal" not in text(client.get(test.get_absolute_url()))


def test_the_lead_is_led_to_a_plan_without_a_bypass_step(client, lead, bench):
    test = drifted(bench, at_bench.ready_rebuild(steps=(DRIFT,)))
    client.force_login(lead)
    assert "Add a bypass step to the plan" in text(client.get(test.get_absolute_url()))
    client.force_login(bench)
    assert "ask the lead to add one" in text(client.get(test.get_absolute_url()))


def test_the_finding_page_offers_drift_and_says_why_it_is_refused(client, bench, rebuild, seal):
    client.force_login(bench)
    address = reverse("workorders:finding", args=[rebuild.pk, "position", seal.pk])
    assert "If it leaks inside: what shows it" in text(client.get(address))
    data = {
        "form_token": uuid.uuid4().hex, "condition": "leaks_inside", "evidence": "drift",
        "cause": "wear", "action": "renewed", "note": "", "why": "after the test",
    }  # fmt: skip
    answer = client.post(address, data)
    assert answer.status_code == 422
    assert "Drift does not show that a piston seal leaks" in text(answer)
    assert not Finding.objects.filter(position=seal).exists()

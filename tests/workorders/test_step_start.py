"""The start of a step: confirmed by a person first; rod port, relief path and medium as they must be."""

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from shop.errors import NotAllowed, RuleBroken
from shop.services.writing import Act
from tests.workorders import bench as at_bench
from tests.workorders.bench_pages import send, step_data, text
from workorders.models import StepConfirmation, StepResult
from workorders.services.record.testing import test_record as record_of
from workorders.services.step_start import asks_rod_port, raised_bar, start_step

pytestmark = pytest.mark.django_db
DRIPS = {"reading": "drips", "judged": "count", "unit": "drips", "upper": 0, "basis": "shop rule"}
PROOF = {"kind": "proof", "side": "bore", "title": "Proof", "pressure_bar": 160, "hold_s": 60}
SHAFT = {
    "kind": "shaft_seal",
    "title": "Shaft seal",
    "pressure_bar": 1.0,
    "hold_s": 120,
    "fixture": "seal carrier 3",
    "relief_bar": 1.5,
}
ALL = {"conditions": ["bled", "shielded"]}


def waiting(person, step=PROOF, **revision):
    """A running test whose only step waits for its start, of a 25/12 cylinder rated 120 bar."""
    rebuild = at_bench.ready_rebuild(steps=((step, (DRIPS,)),))
    of_type = {"bore_mm": 25.0, "rod_mm": 12.0, "rated_pressure_bar": 120.0} | revision
    for name, value in of_type.items():
        setattr(rebuild.revision, name, value)
    rebuild.revision.save()
    test = at_bench.started(person, rebuild, first_step=False)
    return test, at_bench.steps_of(test)[0]


def begin(person, test, step, **told):
    return start_step(act=Act(by=person, at=at_bench.AT), test=test, step=step, **ALL | told)


def nothing():
    return not StepConfirmation.objects.exists() and not StepResult.objects.exists()


def test_a_step_cannot_be_recorded_before_it_is_started(bench):
    test, step = waiting(bench)
    with pytest.raises(RuleBroken, match="is not started yet"):
        at_bench.record(bench, test, step)
    assert nothing()
    begin(bench, test, step, rod_port="open")
    assert at_bench.record(bench, test, step).verdict == "passes"


def test_what_is_not_confirmed_is_named(bench):
    test, step = waiting(bench)
    with pytest.raises(RuleBroken) as refused:
        begin(bench, test, step, conditions=["bled"], rod_port="open")
    assert list(refused.value.fields) == ["confirm-shielded"]
    assert nothing()


# Balance of forces on the piston, by hand: 200 bar on 100/70 mm is 200 * 100² / (100² - 70²) = 392 bar
# (the worked case of the training text on intensification); 160 bar on 25/12 mm is 207.9 bar.
@pytest.mark.parametrize(
    ("bore_mm", "rod_mm", "pressure_bar", "raised"), [(100.0, 70.0, 200.0, 392.0), (25.0, 12.0, 160.0, 208.0)]
)
def test_a_plugged_rod_port_is_refused_with_the_pressure_it_would_see(
    bench, bore_mm, rod_mm, pressure_bar, raised
):
    test, step = waiting(bench, PROOF | {"pressure_bar": pressure_bar}, bore_mm=bore_mm, rod_mm=rod_mm)
    with pytest.raises(RuleBroken) as refused:
        begin(bench, test, step, rod_port="plugged")
    assert f"would see {raised:.0f} bar" in refused.value.fields["rod_port"]
    assert "relief path" in refused.value.fields["rod_port"]
    assert raised_bar(test.rebuild.revision, pressure_bar) == pytest.approx(raised, abs=0.5)
    assert nothing()


def test_how_the_rod_port_stands_must_be_said(bench):
    test, step = waiting(bench)
    with pytest.raises(RuleBroken) as refused:
        begin(bench, test, step)
    assert "Say how the rod port stands" in refused.value.fields["rod_port"]


def test_without_bore_and_rod_a_plugged_port_is_refused_too(bench):
    test, step = waiting(bench, bore_mm=None, rod_mm=None)
    with pytest.raises(RuleBroken) as refused:
        begin(bench, test, step, rod_port="plugged")
    assert "how much cannot be said" in refused.value.fields["rod_port"]


@pytest.mark.parametrize("rod_port", ["plugged", "relieved"])
@pytest.mark.parametrize(
    ("kind", "relief_bar", "refused"),
    [
        # A proof may bring the rod side to the proof of the type, 160 bar; other steps to its rating.
        ("proof", 160.0, False),
        ("proof", 160.1, True),
        ("hold", 120.0, False),
        ("hold", 120.1, True),
    ],
)
def test_a_relief_above_what_the_rod_side_may_see_is_refused(bench, rod_port, kind, relief_bar, refused):
    test, step = waiting(bench, PROOF | {"kind": kind})
    told = {"rod_port": rod_port, "relief_bar": relief_bar, "relief_by": "valve RV-2"}
    if refused:
        with pytest.raises(RuleBroken) as error:
            begin(bench, test, step, **told)
        assert "lets more through" in error.value.fields["relief_bar"]
        assert nothing()
        return
    row = begin(bench, test, step, **told)
    assert (row.rod_port, row.relief_bar, row.relief_by) == (rod_port, relief_bar, "valve RV-2")


def test_a_relief_needs_a_rating_and_a_name(bench):
    test, step = waiting(bench)
    with pytest.raises(RuleBroken) as refused:
        begin(bench, test, step, rod_port="relieved", relief_bar=100.0)
    assert "relief_by" in refused.value.fields
    nowhere = {"rated_pressure_bar": None, "proof_pressure_bar": None, "proof_hold_s": None}
    test, step = waiting(bench, PROOF | {"kind": "hold"}, **nowhere, proof_basis="")
    with pytest.raises(RuleBroken) as refused:
        begin(bench, test, step, rod_port="relieved", relief_bar=10.0, relief_by="valve")
    assert "neither a rated nor a proof pressure" in refused.value.fields["relief_bar"]


@pytest.mark.parametrize(
    ("side", "family", "rod_mm", "asked"),
    [
        ("bore", "cylinder", 12.0, True),
        ("both", "cylinder", 12.0, True),
        ("", "cylinder", 12.0, True),
        ("rod", "cylinder", 12.0, False),
        ("bore", "cylinder", None, True),
        ("", "valve_block", None, False),
    ],
)
def test_the_rod_port_is_asked_for_where_the_bore_side_may_be_under_pressure(
    bench, side, family, rod_mm, asked
):
    test, step = waiting(bench, PROOF | {"side": side})
    revision = test.rebuild.revision
    revision.rod_mm, revision.unit_type.family = rod_mm, family
    assert asks_rod_port(revision, step) is asked


def test_gas_is_refused_at_the_rig_too(bench):
    test, step = waiting(bench)
    with pytest.raises(RuleBroken) as refused:
        begin(bench, test, step, rod_port="open", medium="gas")
    assert "SAFed PSG21" in refused.value.fields["medium"]
    assert nothing()


def test_a_shaft_seal_needs_fixture_liquid_and_relief(bench):
    test, step = waiting(bench, SHAFT)
    every = {"conditions": ["on_fixture", "no_reservoir", "bled"]}
    given = {"relief_bar": 1.4, "relief_by": "valve RV-3", "rod_port": "open"}
    for wrong, field in (
        ({"conditions": ["bled", "on_fixture"]}, "confirm-no_reservoir"),
        ({"relief_bar": None}, "relief_bar"),
        ({"relief_bar": 1.6}, "relief_bar"),
        ({"relief_bar": 0.9}, "relief_bar"),
        ({"relief_by": " "}, "relief_by"),
        ({"medium": "gas"}, "medium"),
    ):
        with pytest.raises(RuleBroken) as refused:
            begin(bench, test, step, **{**every, **given, **wrong})
        assert list(refused.value.fields) == [field]
    assert nothing()
    assert begin(bench, test, step, **every, **given).relief_bar == 1.4


def test_only_who_may_test_starts_a_step(receiving, bench):
    test, step = waiting(bench)
    with pytest.raises(NotAllowed):
        begin(receiving, test, step, rod_port="open")


def test_the_signed_record_says_who_confirmed_what(bench):
    test, step = waiting(bench)
    begin(bench, test, step, rod_port="relieved", relief_bar=90.0, relief_by="valve RV-2")
    at_bench.record(bench, test, step)
    started = record_of(test)["steps"][0]["started"]
    assert (started["rod_port"], started["relief_bar"]) == ("relieved", 90.0)
    assert started["by"] == str(bench)
    assert started["raised_bar"] == pytest.approx(207.9, abs=0.1)
    assert len(started["confirmed"]) == 2


def test_a_step_of_before_this_was_asked_keeps_its_record(bench):
    test, step = waiting(bench)
    begin(bench, test, step, rod_port="open")
    at_bench.record(bench, test, step)
    told = record_of(test)["steps"][0]
    assert "started" in told
    StepResult.objects.update(done_at=at_bench.AT.replace(year=2020))
    del told["started"], told["done_at"]
    before = record_of(test)["steps"][0]
    del before["done_at"]
    assert before == told


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"medium": "gas"}, "no_gas"),
        ({"rod_port": "plugged"}, "plugged_relieved"),
        ({"rod_port": "relieved"}, "plugged_relieved"),
        ({"rod_port": "relieved", "relief_bar": 90.0}, "relief_whole"),
        ({"relief_bar": 0.0, "relief_by": "valve"}, "relief_whole"),
    ],
)
def test_the_database_refuses_what_must_never_stand(bench, fields, name):
    test, step = waiting(bench)
    row = StepConfirmation(pressure_test=test, step=step, by=bench, at=at_bench.AT, **fields)
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        row.save()


def test_a_start_is_never_changed(bench):
    test, step = waiting(bench)
    row = begin(bench, test, step, rod_port="open")
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        StepConfirmation.objects.filter(pk=row.pk).update(rod_port="none")


# ---------- pages ----------


def page(test, name="step_start"):
    return reverse(f"workorders:{name}", args=[test.pk, 1])


def start_data(**changes):
    return {
        "confirm-bled": "on", "confirm-shielded": "on", "medium": "liquid", "rod_port": "open",
        "relief_bar": "", "relief_by": "", **changes,
    }  # fmt: skip


def test_the_step_asks_for_its_start_before_its_readings(client, bench):
    test, step = waiting(bench)
    client.force_login(bench)
    shown = text(client.get(page(test, "test_step")))
    assert "would see 208 bar" in shown
    assert "Confirm and start this step" in shown
    assert "Record this step" not in shown
    assert send(client, page(test), **start_data()).status_code == 302
    shown = text(client.get(page(test, "test_step")))
    assert "Record this step" in shown
    assert f"Started by {bench}" in shown
    assert send(client, page(test, "test_step"), **step_data(step)).status_code == 302
    assert f"Confirmed first by {bench}" in text(client.get(test.get_absolute_url()))


def test_recording_by_the_address_alone_is_refused(client, bench):
    test, step = waiting(bench)
    client.force_login(bench)
    answer = send(client, page(test, "test_step"), **step_data(step))
    assert answer.status_code == 422
    assert "is not started yet" in text(answer)
    assert nothing()


def test_a_refused_start_keeps_what_was_typed(client, bench):
    test, _step = waiting(bench)
    client.force_login(bench)
    for wrong in ({"rod_port": "plugged"}, {"medium": "gas"}, {"confirm-bled": ""}):
        answer = send(client, page(test), **start_data(**wrong))
        assert answer.status_code == 422
        assert 'class="field-error"' in text(answer)
    assert nothing()


def test_the_page_of_a_start_takes_who_may_test_and_a_step_that_is_there(client, bench, receiving):
    test, _step = waiting(bench)
    assert client.get(page(test)).url.startswith("/sign-in/")
    client.force_login(receiving)
    assert send(client, page(test), **start_data()).status_code == 403
    client.force_login(bench)
    assert client.get(reverse("workorders:step_start", args=[test.pk, 9])).status_code == 404
    assert nothing()


def test_a_double_tap_starts_once(client, bench):
    test, _step = waiting(bench)
    client.force_login(bench)
    token = {"form_token": "11111111-1111-4111-8111-111111111111"}
    for _tap in range(2):
        assert send(client, page(test), **start_data(**token)).status_code == 302
    assert StepConfirmation.objects.count() == 1


def test_how_the_rod_port_stands_is_said_anew_each_time(client, bench):
    test, step = waiting(bench)
    begin(bench, test, step, rod_port="relieved", relief_bar=90.0, relief_by="valve RV-2")
    client.force_login(bench)
    shown = text(client.get(page(test)))
    assert 'value="valve RV-2"' in shown
    tiles = [line for line in shown.split("<input") if 'name="rod_port"' in line]
    assert len(tiles) == 4
    assert not [line for line in tiles if "checked" in line.split(">")[0]]

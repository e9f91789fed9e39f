"""Pages of the test bench: start, fluid decision, steps, signing, setting aside."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.models import Fluid, FluidFamily
from shop.services.writing import Act
from tests import factories
from tests.workorders import bench as at_bench
from tests.workorders.bench_pages import send, step_data, text, url
from workorders.models import FluidDecision, PressureTest, Rebuild, Signature, StepResult
from workorders.services import testing

pytestmark = pytest.mark.django_db


@pytest.fixture
def rebuild():
    return at_bench.ready_rebuild()


@pytest.fixture
def test(bench, rebuild):
    return at_bench.started(bench, rebuild)


@pytest.fixture
def complete(bench, test):
    at_bench.record_all(bench, test)
    return test


@pytest.fixture
def signed(bench, complete):
    act = Act(by=bench, at=at_bench.AT)
    return testing.sign_test(act=act, test=complete, fluid_left=complete.rig_fluid)


# -- the same questions to every form


def forms(rebuild, test, fluid):
    """Every form of the bench: address, what is sent, who may."""
    step = at_bench.steps_of(test)[0]
    return {
        "start": (url("test_start", rebuild.pk), {"rig_fluid": rebuild.revision.service_fluid_id}),
        "decide": (url("fluid_decide", rebuild.pk, fluid.pk), {"reason": "tried", "flushing": "HM 32 twice"}),
        "step": (url("test_step", test.pk, 1), step_data(step)),
        "sign": (
            url("test_sign", test.pk),
            {"fluid_left": test.rig_fluid_id, "password": factories.PASSWORD},
        ),
        "supersede": (url("test_supersede", test.pk), {"reason": "hose burst"}),
    }


NAMES = ("start", "decide", "step", "sign", "supersede")


@pytest.fixture
def all_forms(test):
    doubtful = Fluid.objects.create(name="HV 32", family=FluidFamily.MINERAL_HV)
    return forms(at_bench.ready_rebuild(), test, doubtful)


def counts():
    rows = (PressureTest, FluidDecision, StepResult, Signature)
    return [row.objects.count() for row in rows] + [PressureTest.history.count()]


@pytest.mark.parametrize("name", NAMES)
def test_a_signed_out_person_is_sent_to_sign_in(client, all_forms, name):
    address, data = all_forms[name]
    before = counts()
    assert client.get(address).url.startswith("/sign-in/")
    assert send(client, address, **data).url.startswith("/sign-in/")
    assert counts() == before


@pytest.mark.parametrize("name", NAMES)
def test_the_wrong_role_is_refused_with_the_reason(client, warranty_desk, all_forms, name):
    address, data = all_forms[name]
    client.force_login(warranty_desk)
    before = counts()
    assert client.get(address).status_code == 403
    answer = send(client, address, **data)
    assert answer.status_code == 403
    assert "Ask somebody from:" in text(answer)
    assert counts() == before


@pytest.mark.parametrize(
    ("name", "args"),
    [
        ("test_start", [999]),
        ("fluid_decide", [999, 1]),
        ("test_step", [999, 1]),
        ("test_sign", [999]),
        ("test_supersede", [999]),
        ("pressure_test", [999]),
        ("trace", [999]),
        ("trace_chart", [999]),
        ("logger_file_chart", [999]),
    ],
)
def test_an_unknown_row_is_not_found(client, lead, name, args):
    client.force_login(lead)
    assert client.get(url(name, *args)).status_code == 404


def test_an_unknown_step_or_fluid_is_not_found(client, lead, test):
    client.force_login(lead)
    assert client.get(url("test_step", test.pk, 9)).status_code == 404
    assert send(client, url("test_step", test.pk, 9)).status_code == 404
    assert client.get(url("fluid_decide", test.rebuild.pk, 999)).status_code == 404


@pytest.mark.parametrize("name", ["pressure_test", "trace", "trace_chart", "logger_file_chart"])
def test_pages_that_only_show_take_no_post(client, bench, test, name):
    client.force_login(bench)
    assert send(client, url(name, test.pk)).status_code == 405


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("start", {"rig_fluid": ""}),
        ("decide", {"reason": ""}),
        ("step", {"note": "x" * 10}),
        ("sign", {"password": "wrong"}),
        ("supersede", {"reason": ""}),
    ],
)
def test_a_wrong_form_changes_nothing_and_keeps_what_was_typed(client, lead, test, all_forms, name, wrong):
    address, data = all_forms[name]
    if name == "step":
        data = {key: value for key, value in data.items() if not key.endswith("as_required")}
    if name == "sign":
        at_bench.record_all(lead, test)
    client.force_login(lead)
    before = counts()
    answer = send(client, address, **{**data, **wrong})
    assert answer.status_code == 422
    assert "Nothing was saved" in text(answer)
    assert counts() == before
    kept = {"decide": "HM 32 twice", "step": "xxxxxxxxxx"}.get(name)
    assert not kept or kept in text(answer)


@pytest.mark.parametrize("name", NAMES)
def test_a_repeated_request_makes_one_record_and_gives_the_same_answer(client, lead, test, all_forms, name):
    address, data = all_forms[name]
    if name == "sign":
        at_bench.record_all(lead, test)
    client.force_login(lead)
    data = {**data, "form_token": uuid.uuid4().hex}
    first = client.post(address, data)
    assert first.status_code == 302, text(first)
    after = counts()
    again = client.post(address, data)
    assert (again.status_code, again.url) == (302, first.url)
    assert counts() == after


# -- start


def test_the_bench_starts_a_test(client, bench, rebuild):
    client.force_login(bench)
    page = text(client.get(url("test_start", rebuild.pk)))
    assert "Cylinder test, version 1" in page
    assert "Start the test" in page
    answer = send(client, url("test_start", rebuild.pk), rig_fluid=rebuild.revision.service_fluid_id)
    test = PressureTest.objects.get()
    assert answer.url == test.get_absolute_url()
    change = PressureTest.history.get()
    assert (change.history_user, change.history_change_reason) == (bench, "start test")


def test_the_cautions_name_the_raised_pressure_and_their_sources(client, bench, rebuild):
    # 160 bar on a 25 mm bore with a 12 mm rod: 160 * 625 / (625 - 144) = 207.9 bar, balance of forces.
    client.force_login(bench)
    page = text(client.get(url("test_start", rebuild.pk)))
    for words in ("Stored pressure", "Oil through the skin", "Pressure raised inside", "No compressed air"):
        assert words in page
    for source in ("HSE GS4", "scribd.com 163207220", "SAFed PSG21"):
        assert source in page
    assert '<span class="figure">208' in page
    assert "Local codes" in page
    assert "licensed practice" in page
    assert "Nothing on this page claims conformity with a standard" in page


def test_a_step_with_pressure_on_the_bore_side_shows_what_a_plugged_rod_port_would_see(client, bench, test):
    # The hold has 7 bar: 7 * 625 / (625 - 144) = 9.1 bar, balance of forces; the strokes have 20 bar.
    client.force_login(bench)
    proof, hold, strokes = (text(client.get(url("test_step", test.pk, order))) for order in (2, 3, 4))
    for page, figure in ((proof, "208"), (hold, "9"), (strokes, "26")):
        assert "Never with the rod port plugged" in page
        assert f"a plugged rod port would see {figure} bar" in page


def test_a_started_step_still_shows_what_a_plugged_rod_port_would_see(client, bench, test):
    at_bench.record(bench, test, at_bench.steps_of(test)[0])
    client.force_login(bench)
    page = text(client.get(url("test_step", test.pk, 2)))
    assert "Rod port open to the tank before pressure goes on" in page
    assert 'plugged rod port would see <span class="figure">208' in page


def test_the_start_page_says_what_is_missing(client, bench):
    rebuild = factories.RebuildFactory()
    client.force_login(bench)
    page = text(client.get(url("test_start", rebuild.pk)))
    assert "A test cannot start yet" in page
    assert "The build is not signed" in page
    assert "has no approved test plan" in page
    assert "Start the test" not in page
    answer = send(client, url("test_start", rebuild.pk), rig_fluid=rebuild.revision.service_fluid_id)
    assert answer.status_code == 422
    assert not PressureTest.objects.exists()


def test_the_start_page_leads_to_the_test_that_runs(client, bench, test):
    client.force_login(bench)
    page = text(client.get(url("test_start", test.rebuild.pk)))
    assert "Test 1 is running" in page
    assert test.get_absolute_url() in page


def test_a_fluid_known_unsuitable_is_refused_to_the_lead_too(client, lead):
    rebuild = at_bench.ready_rebuild("EPDM")
    client.force_login(lead)
    oil = rebuild.revision.service_fluid
    page = text(client.get(url("test_start", rebuild.pk)))
    assert "must not run" in page
    answer = send(client, url("test_start", rebuild.pk), rig_fluid=oil.pk)
    assert answer.status_code == 422
    assert "nobody may override" in text(answer)
    assert "nobody may override" in text(client.get(url("fluid_decide", rebuild.pk, oil.pk)))
    answer = send(client, url("fluid_decide", rebuild.pk, oil.pk), reason="just once", flushing="twice")
    assert answer.status_code == 422
    assert not FluidDecision.objects.exists()
    assert not PressureTest.objects.exists()


def test_the_bench_is_told_whom_to_ask_and_the_lead_decides(client, bench, lead):
    rebuild = at_bench.ready_rebuild("AU")
    oil = rebuild.revision.service_fluid
    client.force_login(bench)
    page = text(client.get(url("test_start", rebuild.pk)))
    assert "Ask the lead" in page
    assert url("fluid_decide", rebuild.pk, oil.pk) not in page
    answer = send(client, url("test_start", rebuild.pk), rig_fluid=oil.pk)
    assert answer.status_code == 422
    assert "AU at" in text(answer)
    client.force_login(lead)
    assert url("fluid_decide", rebuild.pk, oil.pk) in text(client.get(url("test_start", rebuild.pk)))
    answer = send(
        client, url("fluid_decide", rebuild.pk, oil.pk), reason="maker's sheet", flushing="HM 32 twice"
    )
    assert answer.url == url("test_start", rebuild.pk)
    decision = FluidDecision.objects.get()
    assert (decision.by, decision.why, decision.flushing) == (lead, "maker's sheet", "HM 32 twice")
    assert "from memory only" in decision.concerns
    client.force_login(bench)
    page = text(client.get(url("test_start", rebuild.pk)))
    assert "maker&#x27;s sheet" in page
    assert send(client, url("test_start", rebuild.pk), rig_fluid=oil.pk).status_code == 302


# -- steps


def test_the_next_step_stands_open_and_only_that(client, bench, test):
    client.force_login(bench)
    page = text(client.get(test.get_absolute_url()))
    assert "Step 1: Low-pressure leak" in page
    assert page.count('id="record"') == 1
    answer = send(client, url("test_step", test.pk, 1), **step_data(at_bench.steps_of(test)[0]))
    assert answer.url.startswith(test.get_absolute_url())
    page = text(client.get(test.get_absolute_url()))
    assert "Step 2: Proof, bore side" in page
    assert "seen as required: passes" in page


def test_a_whole_plan_is_recorded_and_signed_through_the_pages(client, bench, test):
    client.force_login(bench)
    for place, step in enumerate(at_bench.steps_of(test), start=1):
        at_bench.start_next(bench, test)
        answer = send(client, url("test_step", test.pk, place), **step_data(step))
        assert answer.status_code == 302, text(answer)
    page = text(client.get(test.get_absolute_url()))
    assert "Every step is recorded" in page
    assert "it passes" in page
    answer = send(
        client, url("test_sign", test.pk), fluid_left=test.rig_fluid_id, password=factories.PASSWORD
    )
    assert answer.url == test.get_absolute_url()
    test.refresh_from_db()
    assert (test.state, test.verdict) == ("signed", "passes")
    page = text(client.get(test.get_absolute_url()))
    assert "The test passes" in page
    assert f"Tested by {bench}" in page


def test_a_limit_from_memory_is_marked_on_the_page(client, bench, test):
    at_bench.record(bench, test, at_bench.steps_of(test)[0])
    at_bench.record(bench, test, at_bench.steps_of(test)[1])
    client.force_login(bench)
    page = text(client.get(test.get_absolute_url()))
    assert "from memory, not verified" in page
    assert "usual in the shop" in page


def test_a_step_out_of_turn_is_refused(client, bench, test):
    client.force_login(bench)
    answer = send(client, url("test_step", test.pk, 2), **step_data(at_bench.steps_of(test)[1]))
    assert answer.status_code == 422
    assert "Record step 1. Low-pressure leak first" in text(answer)
    assert not StepResult.objects.exists()


def test_a_refused_step_keeps_its_readings_in_the_form(client, bench, test):
    at_bench.record(bench, test, at_bench.steps_of(test)[0])
    proof = at_bench.steps_of(test)[1]
    limit = at_bench.limits_of(proof)["pressure"]
    data = step_data(proof)
    data[f"r{limit.pk}-instrument"] = ""
    client.force_login(bench)
    answer = send(client, url("test_step", test.pk, 2), **data)
    assert answer.status_code == 422
    assert 'value="165.0"' in text(answer)
    assert f'id="id_r{limit.pk}-instrument_error"' in text(answer)
    assert "Nothing is chosen yet." in text(answer)
    assert "This field is required." not in text(answer)


def test_a_step_is_recorded_again_only_with_a_reason(client, bench, test):
    first = at_bench.steps_of(test)[0]
    at_bench.record(bench, test, first)
    client.force_login(bench)
    assert "Why it is recorded again" in text(client.get(url("test_step", test.pk, 1)))
    assert send(client, url("test_step", test.pk, 1), **step_data(first)).status_code == 422
    answer = send(client, url("test_step", test.pk, 1), **step_data(first, why="looked again"))
    assert answer.status_code == 302
    assert StepResult.history.latest("history_id").history_change_reason == "looked again"


def test_a_correction_starts_from_what_was_entered(client, bench, test):
    first, proof = at_bench.steps_of(test)[:2]
    at_bench.record(bench, test, first, note="wiped, stayed dry")
    at_bench.record(bench, test, proof)
    client.force_login(bench)
    page = client.get(url("test_step", test.pk, 1))
    assert page.context["open"].form.initial["note"] == "wiped, stayed dry"
    dry = at_bench.limits_of(first)["dry outside"]
    assert page.context["open"].form.initial[f"r{dry.pk}-as_required"] == "yes"
    page = client.get(url("test_step", test.pk, 2))
    limit = at_bench.limits_of(proof)["pressure"]
    value = page.context["open"].form[f"r{limit.pk}-value"]
    assert 'value="165"' in str(value)
    used = test.results.get(step=proof).readings.get(limit=limit).instrument
    assert f'<option value="{used.pk}" selected' in str(page.context["open"].form[f"r{limit.pk}-instrument"])


def test_a_running_test_of_a_unit_that_left_offers_no_form(client, bench, test):
    rebuild = test.rebuild
    rebuild.stage, rebuild.exit_reason = Rebuild.Stage.SCRAPPED, "cracked"
    rebuild.save()
    client.force_login(bench)
    assert 'id="record"' not in text(client.get(test.get_absolute_url()))
    answer = send(client, url("test_step", test.pk, 1), **step_data(at_bench.steps_of(test)[0]))
    assert answer.status_code == 422
    assert not StepResult.objects.exists()


def test_only_instruments_of_the_right_quantity_are_offered_and_bad_ones_are_named(client, bench, test):
    at_bench.record(bench, test, at_bench.steps_of(test)[0])
    at_bench.stopwatch(code="SW-1")
    old = factories.InstrumentFactory(code="OLD-1", calibration=at_bench.dt.date(2026, 2, 1))
    at_bench.gauge(code="GONE-1", retired=True)
    client.force_login(bench)
    answer = client.get(url("test_step", test.pk, 2))
    proof = at_bench.steps_of(test)[1]
    pressure = at_bench.limits_of(proof)["pressure"]
    field = str(answer.context["open"].form[f"r{pressure.pk}-instrument"])
    assert "OLD-1" in field
    assert "out of calibration" in field
    assert "SW-1" not in field
    assert "GONE-1" not in field
    data = step_data(proof)
    data[f"r{pressure.pk}-instrument"] = old.pk
    assert send(client, url("test_step", test.pk, 2), **data).status_code == 302
    assert StepResult.objects.get(step=proof).verdict == "invalid"


def test_others_see_the_test_without_its_forms(client, warranty_desk, test):
    client.force_login(warranty_desk)
    page = text(client.get(test.get_absolute_url()))
    assert "Low-pressure leak" in page
    assert "You may not run and sign a pressure test" in page
    assert 'id="record"' not in page


def test_a_test_page_costs_the_same_for_ten_steps_as_for_five(client, bench):
    step = ({"kind": "strokes", "title": "Strokes"}, at_bench.STEPS[3][1])
    client.force_login(bench)
    counted = []
    for number in (5, 10):
        test = at_bench.started(bench, at_bench.ready_rebuild(steps=(step,) * number))
        at_bench.record_all(bench, test)
        client.get(test.get_absolute_url())
        with CaptureQueriesContext(connection) as queries:
            client.get(test.get_absolute_url())
        counted.append(len(queries))
    assert counted[0] == counted[1]

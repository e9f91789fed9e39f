"""The register of instruments: who changes it, what a calibration means, how it shows."""

import datetime as dt
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from shop.errors import NotAllowed, RuleBroken
from tests import factories
from tests.asking import picture
from tests.shop.scanning import decode, rendered
from tests.workorders import bench as at_bench
from workorders.documents.instrument_label import InstrumentLabel
from workorders.models import Calibration, Instrument
from workorders.services.instruments import (
    add_calibration,
    calibration_state,
    correct_calibration,
    save_instrument,
)

pytestmark = pytest.mark.django_db
DAY = dt.date(2026, 3, 4)
NEW = {
    "code": "G-07",
    "name": "Test gauge",
    "serial": "88-112",
    "quantity": "pressure",
    "unit": "bar",
    "range_low": 0.0,
    "range_high": 250.0,
    "accuracy": 1.5,
    "resolution": 0.5,
}
CALIBRATED = {
    "calibrated_on": dt.date(2026, 3, 1),
    "due_on": dt.date(2027, 3, 1),
    "certificate_no": "NC-104",
    "done_by": "Northhaven Calibration",
}


# -- services


def test_the_lead_adds_an_instrument(lead, act):
    row = save_instrument(act=act(lead), **NEW)
    assert (row.code, row.range_high, row.accuracy) == ("G-07", 250.0, 1.5)
    change = Instrument.history.get(id=row.pk)
    assert (change.history_type, change.history_user) == ("+", lead)


def test_a_change_is_kept_with_person_and_reason(lead, act):
    row = save_instrument(act=act(lead), **NEW)
    save_instrument(act=act(lead, why="new data sheet"), instrument=row, accuracy=1.0)
    latest, first = Instrument.history.filter(id=row.pk)
    assert (latest.accuracy, latest.history_change_reason, first.accuracy) == (1.0, "new data sheet", 1.5)


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"unit": "psi"}, "unit", "kept in bar"),
        ({"quantity": "flow"}, "unit", "kept in mL/min or L/min"),
        ({"range_high": -1.0}, "__all__", "end of the range must lie above"),
        ({"accuracy": 0.0}, "__all__", "accuracy as a number above zero"),
        ({"code": ""}, "code", "blank"),
    ],
)
def test_a_wrong_instrument_is_refused(lead, act, change, field, message):
    with pytest.raises(RuleBroken, match=message) as refused:
        save_instrument(act=act(lead), **{**NEW, **change})
    assert field == "__all__" or field in refused.value.fields
    assert not Instrument.objects.exists()


def test_a_code_is_given_once(lead, act):
    save_instrument(act=act(lead), **NEW)
    with pytest.raises(RuleBroken) as refused:
        save_instrument(act=act(lead), **{**NEW, "name": "another"})
    assert list(refused.value.fields) == ["code"]
    assert Instrument.objects.count() == 1


@pytest.mark.parametrize(
    "change", [{"code": "another"}, {"quantity": "flow", "unit": "L/min"}, {"unit": "kPa"}]
)
def test_an_instrument_with_readings_keeps_its_identity(lead, bench, act, change):
    test = at_bench.started(bench)
    first, proof = at_bench.steps_of(test)[:2]
    at_bench.record(bench, test, first)
    result = at_bench.record(bench, test, proof)
    instrument = result.readings.get(limit__reading="pressure").instrument
    with pytest.raises(RuleBroken, match="This instrument has readings"):
        save_instrument(act=act(lead, why="x"), instrument=instrument, **change)
    save_instrument(act=act(lead, why="moved"), instrument=instrument, name="Gauge of bench 2")
    assert Instrument.objects.get(pk=instrument.pk).name == "Gauge of bench 2"


@pytest.mark.parametrize("call", ["save", "calibrate", "correct"])
def test_only_the_lead_changes_instruments(bench, act, call):
    row = factories.InstrumentFactory()
    calls = {
        "save": lambda: save_instrument(act=act(bench), instrument=row, name="x"),
        "calibrate": lambda: add_calibration(act=act(bench), instrument=row, **CALIBRATED),
        "correct": lambda: correct_calibration(
            act=act(bench, why="x"), calibration=row.calibrations.get(), certificate_no="1"
        ),
    }
    with pytest.raises(NotAllowed, match="Ask somebody from: lead"):
        calls[call]()
    assert Calibration.objects.count() == 1


def test_a_calibration_is_added_and_counts_from_its_day(lead, act):
    row = save_instrument(act=act(lead), **NEW)
    assert not row.in_calibration(DAY)
    add_calibration(act=act(lead), instrument=row, **CALIBRATED)
    assert row.in_calibration(DAY)
    assert row.in_calibration(dt.date(2026, 3, 1))
    assert not row.in_calibration(dt.date(2026, 2, 28))
    assert row.in_calibration(dt.date(2027, 3, 1))
    assert not row.in_calibration(dt.date(2027, 3, 2))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"calibrated_on": dt.date(2026, 3, 5)}, "cannot lie in the future"),
        ({"due_on": dt.date(2026, 3, 1)}, "due date lies after"),
        ({"certificate_no": ""}, "blank"),
    ],
)
def test_a_wrong_calibration_is_refused(lead, act, change, message):
    row = save_instrument(act=act(lead), **NEW)
    with pytest.raises(RuleBroken, match=message):
        add_calibration(act=act(lead), instrument=row, **{**CALIBRATED, **change})
    assert not Calibration.objects.exists()


def test_a_retired_instrument_is_not_calibrated(lead, act):
    row = save_instrument(act=act(lead), **NEW, retired=True)
    with pytest.raises(RuleBroken, match="retired"):
        add_calibration(act=act(lead), instrument=row, **CALIBRATED)


def test_a_calibration_is_corrected_with_a_reason_and_history_keeps_the_earlier(lead, act):
    row = factories.InstrumentFactory().calibrations.get()
    with pytest.raises(RuleBroken) as refused:
        correct_calibration(act=act(lead), calibration=row, certificate_no="NC-9")
    assert list(refused.value.fields) == ["why"]
    correct_calibration(act=act(lead, why="digit missing"), calibration=row, certificate_no="NC-9")
    first, latest = Calibration.history.filter(id=row.pk).order_by("history_id")
    assert (latest.certificate_no, latest.history_user, latest.history_change_reason) == (
        "NC-9",
        lead,
        "digit missing",
    )
    assert first.certificate_no == row.certificate_no


@pytest.mark.parametrize(
    ("due", "found_good", "word", "valid"),
    [
        (dt.date(2026, 4, 4), True, "in calibration", True),
        (dt.date(2026, 4, 3), True, "due soon", True),
        (dt.date(2026, 3, 4), True, "due soon", True),
        (dt.date(2026, 3, 3), True, "out of calibration", False),
        (dt.date(2027, 1, 1), False, "out of tolerance", False),
    ],
)
def test_the_state_of_a_calibration_has_a_word(due, found_good, word, valid):
    row = factories.InstrumentFactory(calibration=due)
    row.calibrations.update_or_create(certificate_no=f"CAL-{row.code}", defaults={"in_tolerance": found_good})
    state = calibration_state(row, DAY)
    assert (state.word, state.is_valid) == (word, valid)


def test_no_calibration_and_retired_have_their_words(lead, act):
    row = save_instrument(act=act(lead), **NEW)
    assert calibration_state(row, DAY).word == "never calibrated"
    row.retired = True
    assert calibration_state(row, DAY).word == "retired"


# -- pages

PAGES = ("instrument_new", "instrument_change", "calibration_new", "calibration_change")


def address(name, row):
    pk = row.calibrations.get().pk if name == "calibration_change" else row.pk
    return reverse(f"workorders:{name}", args=[] if name == "instrument_new" else [pk])


def form_of(name, **fields):
    calibration = {**CALIBRATED, "found": "good"}
    good = {
        "instrument_new": NEW,
        "instrument_change": {**NEW, "why": "checked"},
        "calibration_new": calibration,
        "calibration_change": {**calibration, "why": "checked"},
    }[name]
    return {**good, "form_token": uuid.uuid4().hex, **fields}


@pytest.mark.parametrize("name", PAGES)
def test_the_lead_fills_in_the_form(client, lead, name):
    row = factories.InstrumentFactory()
    client.force_login(lead)
    assert client.get(address(name, row)).status_code == 200
    answer = client.post(address(name, row), form_of(name))
    assert answer.status_code == 302
    page = client.get(answer.url)
    assert page.status_code == 200
    assert ("NC-104" if "calibration" in name else "Test gauge") in page.content.decode()


@pytest.mark.parametrize("name", PAGES)
def test_others_do_not_reach_the_forms(client, bench, name):
    row = factories.InstrumentFactory()
    before = (Instrument.history.count(), Calibration.history.count())
    assert client.get(address(name, row)).url.startswith("/sign-in/")
    assert client.post(address(name, row), form_of(name)).url.startswith("/sign-in/")
    client.force_login(bench)
    assert client.get(address(name, row)).status_code == 403
    answer = client.post(address(name, row), form_of(name))
    assert answer.status_code == 403
    assert "Ask somebody from: lead" in answer.content.decode()
    assert (Instrument.history.count(), Calibration.history.count()) == before


@pytest.mark.parametrize("name", PAGES)
def test_a_wrong_form_changes_nothing(client, lead, name):
    row = factories.InstrumentFactory()
    before = (Instrument.history.count(), Calibration.history.count())
    client.force_login(lead)
    wrong = {"due_on": "tomorrow"} if "calibration" in name else {"range_high": "much"}
    answer = client.post(address(name, row), form_of(name, **wrong))
    assert answer.status_code == 422
    assert "Nothing was saved" in answer.content.decode()
    rule = {"due_on": "2026-03-01"} if "calibration" in name else {"unit": "mm"}
    assert client.post(address(name, row), form_of(name, **rule)).status_code == 422
    assert (Instrument.history.count(), Calibration.history.count()) == before


@pytest.mark.parametrize("name", PAGES)
def test_a_repeated_request_makes_one_record(client, lead, name):
    row = factories.InstrumentFactory()
    client.force_login(lead)
    data = form_of(name)
    first = client.post(address(name, row), data)
    count = (Instrument.history.count(), Calibration.history.count())
    again = client.post(address(name, row), data)
    assert (again.status_code, again.url) == (302, first.url)
    assert (Instrument.history.count(), Calibration.history.count()) == count


def test_the_reason_of_a_change_stands_in_the_history(client, lead):
    row = factories.InstrumentFactory()
    client.force_login(lead)
    client.post(address("instrument_change", row), form_of("instrument_change", why="new sticker"))
    change = Instrument.history.filter(id=row.pk).latest("history_id")
    assert (change.code, change.history_user, change.history_change_reason) == ("G-07", lead, "new sticker")


@pytest.mark.parametrize("name", ["instrument", "instrument_change", "calibration_new", "calibration_change"])
def test_an_unknown_instrument_is_not_found(client, lead, name):
    client.force_login(lead)
    assert client.get(reverse(f"workorders:{name}", args=[999])).status_code == 404


def test_the_list_shows_the_state_by_word_and_shape(client, bench):
    today = dt.date.today()
    good = at_bench.gauge(code="A-GOOD")
    factories.InstrumentFactory(code="B-SOON", calibration=today + dt.timedelta(days=5))
    factories.InstrumentFactory(code="C-OVER", calibration=today - dt.timedelta(days=1))
    at_bench.gauge(code="D-GONE", retired=True)
    client.force_login(bench)
    page = client.get(reverse("workorders:instruments")).content.decode()
    assert good.get_absolute_url() in page
    for word in ("in calibration", "due soon", "out of calibration", "2 instruments in use need"):
        assert word in page
    assert "D-GONE" not in page
    assert "Add an instrument" not in page
    due = client.get(reverse("workorders:instruments") + "?show=due").content.decode()
    assert "B-SOON" in due
    assert "C-OVER" in due
    assert "A-GOOD" not in due
    retired = client.get(reverse("workorders:instruments") + "?show=retired").content.decode()
    assert "D-GONE" in retired


@pytest.mark.parametrize(
    ("show", "words"),
    [("use", "No instruments yet"), ("due", "Nothing is due"), ("retired", "No instrument is retired")],
)
def test_an_empty_list_says_so(client, lead, show, words):
    client.force_login(lead)
    assert words in client.get(reverse("workorders:instruments") + f"?show={show}").content.decode()


def test_the_list_costs_the_same_for_twenty_rows_as_for_ten(client, bench, django_assert_num_queries):
    client.force_login(bench)
    client.get(reverse("workorders:instruments"))
    for _ in range(10):
        at_bench.gauge()
    counted = _queries(client)
    for _ in range(10):
        at_bench.gauge()
    assert _queries(client) == counted


def _queries(client):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as queries:
        client.get(reverse("workorders:instruments"))
    return len(queries)


def test_long_lists_come_in_pages(client, bench):
    for _ in range(51):
        at_bench.gauge()
    client.force_login(bench)
    first = client.get(reverse("workorders:instruments"))
    assert len(first.context["page"].object_list) == 50
    second = client.get(reverse("workorders:instruments") + "?page=2&show=use")
    assert len(second.context["page"].object_list) == 1


def test_lists_and_pages_take_no_post(client, lead):
    row = at_bench.gauge()
    client.force_login(lead)
    assert client.post(reverse("workorders:instruments")).status_code == 405
    assert client.post(row.get_absolute_url()).status_code == 405


# -- certificate, due list, labels


@pytest.mark.parametrize(
    ("name", "data", "kind"),
    [("NC-104.pdf", b"%PDF-1.4 certificate", "application/pdf"), ("NC-104.png", None, "image/jpeg")],
)
def test_a_calibration_keeps_its_certificate(client, lead, name, data, kind):
    row = factories.InstrumentFactory()
    client.force_login(lead)
    upload = SimpleUploadedFile(name, data) if data else picture(name)
    form = form_of("calibration_new", certificate=upload)
    client.post(address("calibration_new", row), form)
    stored = row.calibrations.get(certificate_no="NC-104").file
    assert (stored.content_type, stored.by) == (kind, lead)
    assert reverse("shop:file", args=[stored.pk]) in client.get(row.get_absolute_url()).content.decode()


def test_what_is_no_certificate_is_refused(client, lead):
    row = factories.InstrumentFactory()
    client.force_login(lead)
    upload = SimpleUploadedFile("NC-104.txt", b"within tolerance")
    answer = client.post(address("calibration_new", row), form_of("calibration_new", certificate=upload))
    assert answer.status_code == 422
    assert "no certificate that can be kept" in answer.content.decode()
    assert row.calibrations.count() == 1


def test_a_correction_keeps_the_certificate_unless_another_comes(client, lead):
    row = factories.InstrumentFactory()
    calibration = row.calibrations.get()
    client.force_login(lead)
    for upload in ({"certificate": picture("first.png")}, {}):
        client.post(address("calibration_change", row), form_of("calibration_change", **upload))
        calibration.refresh_from_db()
        assert calibration.file.name.startswith("first.")


@pytest.mark.parametrize(
    ("query", "codes"),
    [
        ("show=overdue", {"C-OVER"}),
        ("show=due", {"C-OVER", "B-SOON"}),
        ("show=due&days=90", {"C-OVER", "B-SOON", "A-LATER"}),
        ("show=due&days=0", {"C-OVER"}),
        ("show=due&days=many", {"C-OVER", "B-SOON"}),
    ],
)
def test_the_due_list_looks_as_far_ahead_as_asked(client, bench, query, codes):
    today = dt.date.today()
    for code, days in (("A-LATER", 60), ("B-SOON", 5), ("C-OVER", -1), ("D-FAR", 300)):
        factories.InstrumentFactory(code=code, calibration=today + dt.timedelta(days=days))
    client.force_login(bench)
    answer = client.get(reverse("workorders:instruments") + f"?{query}&format=csv")
    listed = answer.content.decode("utf-8-sig").splitlines()[1:]
    assert {line.split(",")[0] for line in listed} == codes
    page = client.get(reverse("workorders:instruments") + f"?{query}")
    assert {row.code for row, _state in page.context["page"]} == codes


def test_an_empty_overdue_list_says_so(client, lead):
    client.force_login(lead)
    assert (
        "Nothing is overdue"
        in client.get(reverse("workorders:instruments") + "?show=overdue").content.decode()
    )


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_symbols_of_a_sheet_open_the_instruments(client, bench, paper):
    made = [at_bench.gauge(code=f"G-{n}") for n in range(3)]
    retired = at_bench.gauge(code="D-GONE", retired=True)
    client.force_login(bench)
    file = client.get(reverse("workorders:instrument_label_file", args=[paper]))
    found = decode(rendered(file.content, 300))
    assert found == {f"HTTPS://SVC.EXAMPLE/G/{row.pk}" for row in made}
    for text in found:
        opened = client.get(text.removeprefix("HTTPS://SVC.EXAMPLE"))
        assert opened.url in {row.get_absolute_url() for row in made}
    one = client.get(reverse("workorders:instrument_label_file", args=[paper]), {"only": retired.pk})
    assert decode(rendered(one.content, 300)) == {f"HTTPS://SVC.EXAMPLE/G/{retired.pk}"}


def test_a_label_says_until_when_and_what_is_not_to_be_used():
    told = {"code": "G-07", "address": "X", "name": "Test gauge", "calibrated_on": DAY, "due_on": DAY}
    assert InstrumentLabel(**told).as_label().lines == (
        "Test gauge",
        "calibrated 2026-03-04",
        "due 2026-03-04",
    )
    never = InstrumentLabel(**{**told, "calibrated_on": None, "due_on": None}).as_label()
    assert never.lines == ("Test gauge", "not calibrated", "")
    bad = InstrumentLabel(**told, out_of_tolerance=True).as_label()
    assert bad.lines == ("Test gauge", "OUT OF TOLERANCE", "do not use")


def test_the_page_of_labels_and_its_refusals(client, bench, stores):
    row = at_bench.gauge(code="G-07")
    page = reverse("workorders:instrument_labels")
    assert client.get(page).url.startswith("/sign-in/")
    client.force_login(stores)
    assert client.get(page).status_code == 403
    client.force_login(bench)
    assert "G-07" in client.get(page).content.decode()
    assert f"only={row.pk}" in client.get(page, {"only": row.pk}).content.decode()
    assert client.get(page, {"only": "x"}).status_code == 422
    assert "No instrument, no label" in client.get(page, {"only": "99999"}).content.decode()
    assert client.get(reverse("workorders:instrument_label_file", args=["A7"])).status_code == 404
    assert client.get(reverse("workorders:instrument_short", args=[99999])).status_code == 404

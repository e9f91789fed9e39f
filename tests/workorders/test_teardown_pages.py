"""The teardown pages, as a gloved hand at a tablet meets them, with and without JavaScript."""

import datetime as dt
import re
import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests import factories
from tests.asking import picture, rows, send
from tests.factories import person
from tests.workorders.journey import Journey
from tests.workorders.pdf_reading import text_of as pdf_text
from workorders.documents.bench_cautions import TEARDOWN
from workorders.forms.finding import CAUSES, OTHER_CONDITIONS, SEAL_CONDITIONS
from workorders.models import Calibration, Finding, FluidFound, Photo, Rebuild
from workorders.services import teardown

pytestmark = pytest.mark.django_db
FORM = {"condition": "hardened", "cause": "age", "action": "renewed", "note": "stiff"}
FLUID = {"colour": "black", "smell": "burnt", "water": "free", "fluid": "", "kind_note": ""}
FAR = dt.date(2090, 1, 1)  # pages ask the real clock


def made_once():
    way = Journey().receive()
    Calibration.objects.create(
        instrument=way.micrometer,
        calibrated_on=dt.date(2026, 2, 1),
        due_on=FAR,
        certificate_no="CAL-2",
        done_by="Northhaven Calibration",
    )
    return way


@pytest.fixture(scope="module")
def kept(keep):
    return keep(made_once)


@pytest.fixture
def way(kept):
    return kept()


@pytest.fixture
def tech(client, way):
    way.people["bench"] = person("bench")
    client.force_login(way.people["bench"])
    return client


def place(way, code):
    revision = way.revision
    for kind in ("positions", "components", "ports", "hoses"):
        if found := getattr(revision, kind).filter(code=code).first():
            return found
    raise LookupError(code)


def url(way, name="teardown", *args):
    return reverse(f"workorders:{name}", args=[way.rebuild.pk, *args])


def finding_url(way, code="S1"):
    row = place(way, code)
    kind = {"S": "position", "K": "component", "P": "port", "H": "hose"}[code[0]]
    return url(way, "finding", kind, row.pk)


def reading_url(way, moment="as_found"):
    return url(way, "measurement", way.revision.dimension_limits.get().pk, moment)


def page_of(answer):
    return answer.content.decode()


# --- the page ---


def test_every_place_stands_on_the_page_with_its_state(tech, way):
    teardown.record_finding(
        act=way.act("bench"),
        rebuild=way.rebuild,
        place=place(way, "S2"),
        condition="cut",
        cause="assembly",
        action="renewed",
    )
    page = page_of(tech.get(url(way)))
    tiles = dict(re.findall(r'<a class="tile"[^>]*>.*?<b>(\w+)</b>(.*?)</a>', page, re.S))
    assert set(tiles) == {"S1", "S2", "S3", "S4", "K1", "P1", "H1"}
    assert "cut or nicked" in tiles["S2"]
    assert all("open" in text for code, text in tiles.items() if code != "S2")
    assert "1 of 7 places of this unit are judged" in page


def test_the_page_carries_the_cautions_with_their_sources_until_it_is_signed(tech, way):
    page = page_of(tech.get(url(way)))
    for caution in TEARDOWN:
        assert caution.hazard in page
    assert "Local codes" in page
    assert "HSE GS4" in page
    way.find().close_teardown()
    assert TEARDOWN[0].text not in page_of(tech.get(url(way)))


def test_bench_controls_are_marked_as_large(tech, way):
    page = page_of(tech.get(finding_url(way)))
    tiles = re.findall(r'<(?:a|label) class="tile"[^>]*>', page)
    assert len(tiles) >= len(SEAL_CONDITIONS) + len(CAUSES)
    assert all("data-primary" in tile for tile in tiles)
    assert re.search(r"<button[^>]*data-primary[^>]*>Save and go on", page)


def test_a_seal_and_a_component_are_asked_what_fits_them(tech, way):
    seal, barrel = (page_of(tech.get(finding_url(way, code))) for code in ("S1", "K1"))
    asked = {
        name: set(re.findall(r'name="condition" value="(\w+)"', page))
        for name, page in (("seal", seal), ("barrel", barrel))
    }
    assert asked == {
        "seal": {c.value for c in SEAL_CONDITIONS},
        "barrel": {c.value for c in OTHER_CONDITIONS},
    }
    assert 'value="reworked"' in barrel
    assert 'value="reworked"' not in seal


def test_nobody_is_led_to_invent_a_cause(tech, way):
    page = page_of(tech.get(finding_url(way)))
    causes = re.findall(r'<input type="radio" name="cause" value="(\w+)"([^>]*)>', page)
    assert causes[0][0] == "not_determined"
    assert [value for value, rest in causes if "checked" in rest] == ["not_determined"]
    assert {value for value, _ in causes} == set(Finding.Cause.values)


def test_others_may_look_and_are_told_who_records(client, way):
    client.force_login(person("warranty desk"))
    page = page_of(client.get(url(way)))
    assert "Bench or lead records the teardown" in page
    assert finding_url(way) not in page
    assert "<button" not in page.split("<main")[1]


def test_the_page_costs_the_same_for_twenty_places_as_for_ten(tech, way):
    def count():
        with CaptureQueriesContext(connection) as asked:
            tech.get(url(way))
        return len(asked)

    count()
    few = count()
    for number in range(10):
        factories.PositionFactory(revision=way.revision, code=f"T{number}")
        factories.DimensionLimitFactory(revision=way.revision, code=f"E{number}")
    assert count() == few


# --- one finding ---


def test_a_finding_is_saved_and_the_next_open_place_comes_forward_with_the_focus(tech, way):
    answer = send(tech, finding_url(way), FORM)
    assert answer.url == finding_url(way, "S2")
    row = Finding.objects.get()
    assert (row.condition, row.found_by, row.note) == ("hardened", way.people["bench"], "stiff")
    page = page_of(tech.get(answer.url))
    assert re.search(r'<h2 id="place-heading" tabindex="-1" data-focus autofocus>S2 piston seal', page)
    assert "S1 rod seal: recorded." in page


def test_after_the_last_seal_the_components_come_forward_and_then_the_rest_of_the_page(tech, way):
    teardown.renew_rest(act=way.act("bench"), rebuild=way.rebuild)
    Finding.objects.get(position__code="S4").delete()
    kept = {**FORM, "condition": "sound", "cause": "none", "action": "kept"}
    assert send(tech, finding_url(way, "S4"), FORM).url == finding_url(way, "K1")
    assert send(tech, finding_url(way, "K1"), kept).url == finding_url(way, "P1")
    assert send(tech, finding_url(way, "P1"), kept).url == finding_url(way, "H1")
    assert send(tech, finding_url(way, "H1"), kept).url == url(way) + "#after-places"


def test_an_earlier_place_left_open_comes_forward_last(tech, way):
    assert send(tech, finding_url(way, "S2"), FORM).url == finding_url(way, "S3")
    send(tech, finding_url(way, "S3"), FORM)
    assert send(tech, finding_url(way, "S4"), FORM).url == finding_url(way, "S1")


def test_htmx_swaps_the_same_page_under_the_address_it_came_from(tech, way):
    page = page_of(tech.get(finding_url(way)))
    assert f'hx-post="{finding_url(way)}" hx-target="#bench" hx-select="#bench"' in page
    headers = {"HX-Request": "true"}
    answer = send(tech, finding_url(way), FORM, headers=headers)
    assert answer.status_code == 302
    after = tech.get(answer.url, headers=headers)
    assert after["HX-Push-Url"] == answer.url
    assert 'id="bench"' in page_of(after)
    assert "HX-Push-Url" not in tech.get(answer.url)


def test_photos_are_kept_with_their_finding(tech, way):
    send(tech, finding_url(way), {**FORM, "photo": [picture("lip.png"), picture("groove.png")]})
    photos = Photo.objects.filter(finding=Finding.objects.get())
    assert [(row.moment, row.caption, row.file.name) for row in photos] == [
        ("teardown", "S1 rod seal", "lip.jpg"),
        ("teardown", "S1 rod seal", "groove.jpg"),
    ]
    assert photos[0].file.get_absolute_url() in page_of(tech.get(finding_url(way)))


def test_a_file_that_is_no_photo_is_refused_with_the_finding(tech, way):
    bad = picture("lip.png")
    bad.file.seek(0)
    bad.file.truncate(20)
    before = rows()
    answer = send(tech, finding_url(way), {**FORM, "photo": [bad]})
    assert answer.status_code == 422
    assert "lip.png" in page_of(answer)
    assert rows() == before


def test_a_double_tap_makes_one_finding_and_gives_the_same_answer(tech, way):
    token = uuid.uuid4().hex
    first, second = (send(tech, finding_url(way), FORM, token=token) for _ in range(2))
    assert (first.status_code, first.url) == (second.status_code, second.url)
    assert Finding.history.count() == 1


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({**FORM, "condition": ""}, "Nothing is chosen yet"),
        ({**FORM, "cause": "witchcraft"}, "Select a valid choice"),
        ({**FORM, "condition": "not_examined", "cause": "wear"}, "choose “cause not determined”"),
    ],
)
def test_a_refused_finding_keeps_what_was_chosen_and_changes_nothing(tech, way, form, words):
    before = rows()
    answer = send(tech, finding_url(way), form)
    assert answer.status_code == 422
    page = page_of(answer)
    assert words in page
    assert "stiff</textarea>" in page
    assert re.search(r'name="action" value="renewed"[^>]*checked', page)
    assert rows() == before


def test_a_rule_broken_is_shown_beside_the_form_and_changes_nothing(tech, way):
    bare = factories.RebuildFactory(unit=factories.UnitFactory(unit_type=way.revision.unit_type))
    way.rebuild = bare
    before = rows()
    answer = send(tech, finding_url(way), FORM)
    assert answer.status_code == 422
    assert "inspection on arrival is not signed" in page_of(answer)
    assert rows() == before


@pytest.mark.record_row("R26")
def test_a_correction_after_signing_asks_for_the_reason_and_shows_it_in_the_changes(tech, way):
    way.find().close_teardown()
    page = page_of(tech.get(finding_url(way)))
    assert 'name="why"' in page
    assert send(tech, finding_url(way), {**FORM, "condition": "cut"}).status_code == 422
    answer = send(tech, finding_url(way), {**FORM, "condition": "cut", "why": "read from the wrong tray"})
    assert answer.url.startswith(url(way))
    changes = page_of(tech.get(url(way, "rebuild_changes")))
    assert "Read from the wrong tray" in changes
    assert "S1 rod seal, condition: was “hardened”, now “cut or nicked”" in changes


# --- the rest in one press ---


@pytest.mark.parametrize(
    ("name", "codes", "action"),
    [("renew_rest", ["S1", "S2", "S3", "S4"], "renewed"), ("keep_rest", ["K1", "P1", "H1"], "kept")],
)
def test_one_press_answers_for_the_rest(tech, way, name, codes, action):
    token = uuid.uuid4().hex
    for _ in range(2):
        assert send(tech, url(way, name), token=token).url == url(way)
    found = [(row.place.code, row.condition, row.cause, row.action) for row in Finding.objects.all()]
    assert sorted(found) == [(code, "not_examined", "not_determined", action) for code in sorted(codes)]
    page = page_of(tech.get(url(way)))
    assert f"{', '.join(codes)}: {action}, not examined." in page
    assert url(way, name) not in page
    again = send(tech, url(way, name))
    assert again.status_code == 422
    assert "Nothing is open there any more" in page_of(again)


# --- dimensions ---


def test_readings_are_entered_for_every_station_and_shown_by_word_and_shape(tech, way):
    limit = way.revision.dimension_limits.get()
    limit.stations = 2
    limit.save()
    form = {"instrument": way.micrometer.pk, "reading_1": "11.97", "reading_2": "12.01"}
    assert send(tech, reading_url(way), form).url == url(way) + "#dimensions"
    assert list(way.rebuild.measurements.values_list("station", "value")) == [(1, 11.97), (2, 12.01)]
    page = page_of(tech.get(url(way)))
    assert re.search(r'11\.97.*?<span class="mark good">.*?within', page, re.S)
    assert re.search(r'12\.01.*?<span class="mark bad">.*?outside', page, re.S)


def test_one_station_may_be_entered_first_and_the_form_remembers(tech, way):
    limit = way.revision.dimension_limits.get()
    limit.stations = 2
    limit.save()
    send(tech, reading_url(way), {"instrument": way.micrometer.pk, "reading_1": "11.97", "reading_2": ""})
    page = page_of(tech.get(reading_url(way)))
    assert 'value="11.97"' in page
    assert re.search(rf'<option value="{way.micrometer.pk}" selected', page)


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({"reading_1": "11.97"}, "Choose the instrument"),
        ({"reading_1": ""}, "No reading is entered"),
        ({"reading_1": "wide"}, "Enter a number"),
    ],
)
def test_refused_readings_change_nothing(tech, way, form, words):
    form = form if "Choose" in words else {**form, "instrument": way.micrometer.pk}
    before = rows()
    answer = send(tech, reading_url(way), form)
    assert answer.status_code == 422
    assert words in page_of(answer)
    assert rows() == before


def test_only_instruments_that_fit_are_offered_and_a_late_one_is_refused(tech, way):
    late = factories.InstrumentFactory(quantity="length", unit="mm", calibration=dt.date(2026, 2, 1))
    page = page_of(tech.get(reading_url(way)))
    assert str(way.micrometer) in page
    assert str(way.gauge) not in page
    answer = send(tech, reading_url(way), {"instrument": late.pk, "reading_1": "11.97"})
    assert answer.status_code == 422
    assert "out of calibration" in page_of(answer)
    assert not way.rebuild.measurements.exists()


@pytest.mark.parametrize("moment", ["as_found", "after"])
def test_a_double_tap_makes_one_reading(tech, way, moment):
    if moment == "after":
        way.find().close_teardown().go_ahead()
    form = {"instrument": way.micrometer.pk, "reading_1": "11.97"}
    token = uuid.uuid4().hex
    answers = {send(tech, reading_url(way, moment), form, token=token).url for _ in range(2)}
    assert answers == {url(way, "build" if moment == "after" else "teardown") + "#dimensions"}
    assert way.rebuild.measurements.filter(moment=moment).count() == 1


# --- fluid and debris ---


def test_the_fluid_found_is_recorded_and_shown(tech, way):
    assert send(tech, url(way, "fluid_found"), FLUID).url == url(way) + "#fluid"
    row = FluidFound.objects.get()
    assert (row.colour, row.smell, row.water, row.fluid) == ("black", "burnt", "free", None)
    page = page_of(tech.get(url(way)))
    for word in ("not identified", "black", "burnt", "free water"):
        assert word in page


def test_the_fluid_needs_an_answer_to_every_question_and_not_examined_is_one(tech, way):
    before = rows()
    assert send(tech, url(way, "fluid_found"), {**FLUID, "smell": ""}).status_code == 422
    assert rows() == before
    unseen = {**FLUID, "colour": "not examined", "smell": "not examined", "water": "not_examined"}
    assert send(tech, url(way, "fluid_found"), unseen).status_code == 302


def test_debris_asks_where_it_came_from_and_flags_the_others(tech, way):
    other = factories.RebuildFactory(work_order=way.rebuild.work_order)
    page = page_of(tech.get(url(way, "debris")))
    assert "Where did the debris come from?" in page
    assert other.get_absolute_url() in page
    before = rows()
    assert send(tech, url(way, "debris"), {"where": "", "what": ""}).status_code == 422
    assert rows() == before
    form = {"where": "S2 piston seal", "what": "black crumbs"}
    assert send(tech, url(way, "debris"), form).url == url(way) + "#debris"
    other.refresh_from_db()
    way.rebuild.refresh_from_db()
    assert (way.rebuild.debris_origin, other.circuit_flagged) == ("S2 piston seal: black crumbs", True)
    for row in (way.rebuild, other):
        for name in ("rebuild", "teardown", "build"):
            page = page_of(tech.get(reverse(f"workorders:{name}", args=[row.pk])))
            assert reverse("workorders:flush_warning", args=[row.pk]) in page


def test_the_warning_to_flush_prints_what_is_recorded(tech, way):
    other = factories.RebuildFactory(work_order=way.rebuild.work_order)
    teardown.record_debris(act=way.act("bench"), rebuild=way.rebuild, origin="S2 piston seal: black crumbs")
    for row in (way.rebuild, other):
        answer = tech.get(reverse("workorders:flush_warning", args=[row.pk]))
        assert answer["Content-Type"] == "application/pdf"
        text = " ".join(pdf_text(answer.content).split())
        for words in (
            "Flush the circuit before fitting",
            "black crumbs",
            "S2 piston seal",
            way.rebuild.work_order.number,
            str(way.people["bench"]),
            "HM 32",
        ):
            assert words in text
        assert other.unit.serial in text.replace(" ", "")


def test_without_debris_there_is_no_warning_to_print(tech, way):
    answer = tech.get(url(way, "flush_warning"))
    assert answer.status_code == 422
    assert "nothing to warn of" in page_of(answer)


def test_debris_on_the_wrong_unit_is_taken_back_with_a_reason(tech, way):
    teardown.record_debris(act=way.act("bench"), rebuild=way.rebuild, origin="not determined")
    refused = send(tech, url(way, "withdraw_debris"), {"why": " "})
    assert refused.status_code == 422
    way.rebuild.refresh_from_db()
    assert way.rebuild.debris_found
    assert send(tech, url(way, "withdraw_debris"), {"why": "other tray"}).url == url(way) + "#debris"
    way.rebuild.refresh_from_db()
    assert not way.rebuild.debris_found


# --- signing ---


def test_the_signing_page_names_what_is_open_and_signs_nothing(tech, way):
    page = page_of(tech.get(url(way, "close_teardown")))
    for name in ("S1 rod seal", "K1 barrel", "P1 rod side", "D1 rod diameter", "Fluid found"):
        assert name in page
    before = rows()
    answer = send(tech, url(way, "close_teardown"), {"done_at": ""})
    assert answer.status_code == 422
    assert "S1 rod seal: no finding yet" in page_of(answer)
    assert rows() == before


@pytest.mark.record_row("R5")
def test_a_late_entry_is_shown_as_such(tech, way):
    way.find()
    done = way.rebuild.received_at + dt.timedelta(hours=1)
    form = {"done_at": f"{done:%Y-%m-%dT%H:%M}"}
    answer = send(tech, url(way, "close_teardown"), form)
    assert answer.url == way.rebuild.get_absolute_url()
    page = page_of(tech.get(answer.url))
    assert f"completed {done:%d %b %Y, %H:%M}" in page
    assert "late entry" in page


def test_a_double_tap_signs_once(tech, way):
    way.find()
    token = uuid.uuid4().hex
    first, second = (send(tech, url(way, "close_teardown"), {}, token=token) for _ in range(2))
    assert first.url == second.url == way.rebuild.get_absolute_url()
    assert way.rebuild.signatures.filter(meaning="torn_down").count() == 1
    assert Rebuild.objects.get().stage == "torn_down"


# --- who and where ---

WRITES = [
    ("finding", FORM),
    ("measurement", {"reading_1": "11.97"}),
    ("fluid_found", FLUID),
    ("debris", {"where": "not determined"}),
    ("withdraw_debris", {"why": "wrong"}),
    ("renew_rest", {}),
    ("keep_rest", {}),
    ("close_teardown", {}),
]


def write_url(way, name):
    if name == "finding":
        return finding_url(way)
    return reading_url(way) if name == "measurement" else url(way, name)


@pytest.mark.parametrize(("name", "form"), WRITES)
@pytest.mark.record_row("R34")
def test_strangers_sign_in_and_other_roles_are_told_whom_to_ask(client, way, name, form):
    address, people = (
        write_url(way, name),
        [person(role) for role in ("receiving", "warranty desk", "stores")],
    )
    before = {table: number for table, number in rows().items() if table != "HistoricalUser"}
    answer = send(client, address, form)
    assert answer.status_code == 302
    assert answer.url.startswith(reverse("shop:sign_in"))
    for somebody in people:
        client.force_login(somebody)
        answer = send(client, address, form)
        assert answer.status_code == 403
        assert "bench or lead" in page_of(answer)
    assert before.items() <= rows().items()


@pytest.mark.parametrize("name", ["renew_rest", "keep_rest", "withdraw_debris"])
def test_what_is_a_button_refuses_get(tech, way, name):
    assert tech.get(url(way, name)).status_code == 405


@pytest.mark.parametrize(
    "path",
    [
        "/rebuilds/99999/teardown/",
        "/rebuilds/99999/teardown/position/1/",
        "/rebuilds/{pk}/teardown/position/99999/",
        "/rebuilds/{pk}/teardown/hinge/1/",
        "/rebuilds/{pk}/measurements/99999/as_found/",
        "/rebuilds/{pk}/measurements/{limit}/yesterday/",
        "/rebuilds/99999/teardown/fluid/",
        "/rebuilds/99999/teardown/debris/",
        "/rebuilds/99999/teardown/sign/",
        "/rebuilds/99999/flush-warning.pdf",
    ],
)
def test_what_is_not_there_is_404(tech, way, path):
    filled = path.format(pk=way.rebuild.pk, limit=way.revision.dimension_limits.get().pk)
    assert tech.get(filled).status_code == 404


def test_a_place_of_another_revision_is_404(tech, way):
    foreign = factories.PositionFactory()
    assert tech.get(url(way, "finding", "position", foreign.pk)).status_code == 404

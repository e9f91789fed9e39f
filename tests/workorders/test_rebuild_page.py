"""The page of one rebuild: the route, what comes next and for whom, and everything recorded."""

import datetime as dt
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import KitLine
from tests import factories
from tests.asking import picture
from tests.factories import person
from tests.workorders.journey import Journey
from workorders.models import Rebuild
from workorders.services import build, teardown
from workorders.services.go_ahead import record_quote
from workorders.services.next_step import next_step
from workorders.services.operation_values import Recorded
from workorders.services.outside_work import send_out
from workorders.services.photos import add_photo
from workorders.services.receiving import add_new_unit
from workorders.services.shipping import exit_rebuild
from workorders.services.testing import supersede_test

pytestmark = pytest.mark.django_db


@pytest.fixture
def reader(client):
    client.force_login(person("stores"))
    return client


def page_of(client, rebuild):
    answer = client.get(rebuild.get_absolute_url())
    assert answer.status_code == 200
    return answer.content.decode()


def fresh(way):
    return Rebuild.objects.get(pk=way.rebuild.pk)


def plain(html):
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


# --- what comes next ---

STEPS = [
    ("receive", "teardown", "teardown"),
    ("find", "teardown", "teardown"),
    ("close_teardown", "go_ahead", "go_ahead"),
    ("go_ahead", "build", "build"),
    ("fit", "build", "build"),
    ("close_build", "test", "test_start"),
    ("start_test", "test", "pressure_test"),
    ("run_steps", "test", "pressure_test"),
    ("sign_test", "release", "release_rebuild"),
    ("release", "ship", "pack"),
    ("ship", "", ""),
]


@pytest.mark.record_row("R20")
def test_every_step_of_the_way_says_what_comes_next_and_who_may_do_it():
    way = Journey()
    for done, action, page in STEPS:
        getattr(way, done)()
        step = next_step(fresh(way))
        assert step.action == action, done
        if page in ("pack", "pressure_test"):
            known = {"pack": way.rebuild.work_order.number, "pressure_test": getattr(way, "test", None)}
            row = known[page]
            expected = reverse(f"workorders:{page}", args=[row if page == "pack" else row.pk])
        else:
            expected = reverse(f"workorders:{page}", args=[way.rebuild.pk]) if page else ""
        assert step.url == expected, done


def test_a_rebuild_without_its_inspection_waits_for_receiving():
    assert next_step(factories.RebuildFactory()).action == "receive"


def test_a_rejected_place_leads_to_the_lead():
    way = Journey().receive().find()
    teardown.record_finding(
        act=way.act("bench"),
        rebuild=way.rebuild,
        place=way.revision.components.get(),
        condition="cracked",
        cause="pressure",
        action="rejected",
    )
    way.close_teardown()
    step = next_step(fresh(way))
    assert (step.action, "K1 barrel is rejected" in step.sentence) == ("side_exit", True)


def test_a_failed_test_is_superseded_and_the_unit_built_again():
    way = Journey().receive().find().close_teardown().go_ahead().fit().close_build().start_test()
    way.run_steps(proof_bar=100.0).sign_test()
    step = next_step(fresh(way))
    assert step.url == way.test.get_absolute_url()
    assert "supersede it with a reason" in step.sentence
    supersede_test(act=way.act("lead"), test=way.test, reason="leaks at the rod")
    build.use_part(
        act=way.act("bench", "nicked lip"),
        rebuild=way.rebuild,
        place=way.revision.positions.first(),
        lot=KitLine.objects.first().part.lots.get(),
        quantity=1,
    )
    step = next_step(fresh(way))
    assert (step.action, "signed again" in step.sentence) == ("build", True)


@pytest.mark.parametrize(
    ("role", "offered"), [("bench", True), ("lead", True), ("stores", False), ("warranty desk", False)]
)
def test_only_who_may_do_the_next_step_is_offered_it(client, role, offered):
    way = Journey().receive()
    client.force_login(person(role))
    section = page_of(client, way.rebuild).split("What is next")[1].split("</section>")[0]
    assert ("Tear down</a>" in section) is offered
    assert ("That is done by: bench or lead" in plain(section)) is not offered


# --- the route ---


def stops_of(page):
    route = re.search(r'<ol class="route">(.*?)</ol>', page, re.S).group(1)
    return [
        (state, plain(text))
        for state, text in re.findall(r'<li class="([\w-]+)"[^>]*>(.*?)</li>', route, re.S)
    ]


def test_the_route_shows_each_stage_with_its_day(reader):
    way = Journey().receive().find().close_teardown()
    way.now += dt.timedelta(days=1)
    way.go_ahead().fit()
    stops = stops_of(page_of(reader, way.rebuild))
    assert [state for state, _ in stops] == ["done"] * 4 + ["here"] + ["to-come"] * 3
    assert stops[0][1].endswith("02 Mar 2026")
    assert stops[3][1].endswith("03 Mar 2026")
    assert stops[4][1] == "Building 03 Mar 2026"


def test_work_sent_out_is_the_beginning_of_the_build(reader):
    way = Journey().receive().find().close_teardown().go_ahead()
    send_out(
        act=way.act("bench"),
        rebuild=way.rebuild,
        component=None,
        kind="coating",
        supplier=factories.SupplierFactory(),
        asked="Phosphate the barrel.",
        due=way.now.date() + dt.timedelta(days=9),
    )
    stops = stops_of(page_of(reader, way.rebuild))
    assert stops[4] == ("here", "Building 02 Mar 2026")


@pytest.mark.parametrize("exit", ["returned_as_found", "scrapped", "exchange_core"])
def test_a_side_exit_ends_the_route_with_its_reason(reader, exit):
    way = Journey().receive().find().close_teardown()
    exit_rebuild(act=way.act("lead"), rebuild=way.rebuild, exit=exit, reason="barrel cracked")
    page = page_of(reader, way.rebuild)
    stops = stops_of(page)
    assert [state for state, _ in stops] == ["done", "done", "exit"]
    assert "barrel cracked" in page
    next_words = {"returned_as_found": "waits to go back as found"}
    assert next_words.get(exit, "this rebuild is closed") in page


# --- everything recorded ---


@pytest.mark.record_row("R7")
@pytest.mark.record_row("R35")
def test_everything_recorded_stands_on_the_page(reader):
    way = Journey().receive(reported="drifts down", shelf="B2", extra=["bracket"]).find()
    add_photo(
        act=way.act("receiving"), rebuild=way.rebuild, upload=picture(), moment="receiving", caption="rust"
    )
    teardown.record_debris(act=way.act("bench"), rebuild=way.rebuild, origin="S2 piston seal: crumbs")
    way.close_teardown()
    record_quote(act=way.act("lead"), rebuild=way.rebuild, amount=199, scope="all seals", told_to="R. Holm")
    way.go_ahead().fit()
    build.record_operation(
        act=way.act("bench"),
        rebuild=way.rebuild,
        kind="honed",
        place=way.revision.components.get(),
        tool="honing head",
        recorded=Recorded(values={"stone": "320"}),
    )
    way.close_build().start_test().run_steps().sign_test().release().ship()
    text = plain(page_of(reader, way.rebuild))
    for words in (
        way.rebuild.work_order.number,
        way.rebuild.work_order.customer.name,
        "dirty, complete",
        "drifts down",
        "hose attached: H1",
        "extra part: bracket",
        "rust",
        "S1 rod seal hardened stiff age renewed",
        "K1 barrel sound no fault found kept",
        "D1 rod diameter",
        "11.98 mm within",
        "HM 32",
        "Where it came from: S2 piston seal: crumbs",
        "199.00 EUR",
        "R. Holm, by telephone",
        "240.00 EUR",
        "Honed stone and grit: 320 honing head",
        "fitted",
        "Test 1",
        "passes",
        way.released.number,
        f"Shipment {way.shipment.number}",
        "Warranty from",
    ):
        assert words in text
    for lot in (line.part.lots.get() for line in way.revision.kit.lines.all()):
        assert lot.number in text
    bench = way.people["bench"]
    for meaning in ("Disassembled, cleaned and inspected", "Repaired as necessary and reassembled", "Tested"):
        assert re.search(rf"{meaning}[\w ]* by {bench} , completed \d\d Mar 2026, \d\d:\d\d", text)
    assert f"Released by {way.people['lead']} , completed" in text


def test_findings_come_in_the_order_of_the_unit_type(reader):
    way = Journey().receive()
    teardown.keep_rest(act=way.act("bench"), rebuild=way.rebuild)
    teardown.renew_rest(act=way.act("bench"), rebuild=way.rebuild)
    section = page_of(reader, way.rebuild).split('id="findings"')[1].split("</section>")[0]
    order = re.findall(r'data-label="Place">(\w+) ', section)
    assert order == ["S1", "S2", "S3", "S4", "K1", "P1", "H1"]


def test_an_empty_rebuild_says_so_in_every_section(reader):
    text = plain(page_of(reader, factories.RebuildFactory()))
    for words in (
        "No place is judged yet",
        "lists no dimensions",
        "Nothing is quoted or allowed yet",
        "No part is recorded yet",
        "No rework is recorded",
        "Not tested yet",
        "Not released",
        "Not shipped",
        "Nothing is signed yet",
    ):
        assert words in text


def test_a_unit_flagged_by_another_says_so_and_offers_the_warning(reader):
    way = Journey().receive()
    other = add_new_unit(
        act=way.act("receiving"),
        work_order=way.rebuild.work_order,
        unit_type=way.revision.unit_type,
        opened_before="not_before",
        arrival_condition="dirty",
    )
    teardown.record_debris(act=way.act("bench"), rebuild=way.rebuild, origin="not determined")
    page = page_of(reader, other)
    assert "Debris in another unit of this work order" in page
    assert reverse("workorders:flush_warning", args=[other.pk]) in page


@pytest.mark.record_row("R26")
def test_what_was_changed_is_two_taps_away(reader):
    way = Journey().receive().find().close_teardown()
    teardown.record_finding(
        act=way.act("bench", "read from the wrong tray"),
        rebuild=way.rebuild,
        place=way.revision.positions.first(),
        condition="cut",
        cause="age",
        action="renewed",
    )
    address = reverse("workorders:rebuild_changes", args=[way.rebuild.pk])
    assert address in page_of(reader, way.rebuild)
    text = plain(reader.get(address).content.decode())
    assert "Read from the wrong tray" in text
    assert "S1 rod seal, condition: was “hardened”, now “cut or nicked”" in text
    assert str(way.people["bench"]) in text
    assert "Found at" not in text


def test_the_page_costs_the_same_for_twenty_rows_as_for_ten(reader):
    way = Journey().receive().find().close_teardown().go_ahead()
    lot = KitLine.objects.first().part.lots.get()

    def add(first, last):
        for number in range(first, last):
            position = factories.PositionFactory(revision=way.revision, code=f"T{number}")
            act = way.act("bench", "more")
            finding = teardown.record_finding(
                act=act, rebuild=way.rebuild, place=position, condition="worn", cause="wear", action="renewed"
            )
            add_photo(act=act, rebuild=way.rebuild, upload=picture(), moment="teardown", finding=finding)
            factories.DimensionLimitFactory(revision=way.revision, code=f"E{number}", required=False)
            part = build.use_part(act=act, rebuild=way.rebuild, place=position, lot=lot, quantity=1)
            if number % 2:
                build.take_back_part(act=act, part_used=part)
            build.record_operation(
                act=act, rebuild=way.rebuild, kind="cleaned", place=position, tool="washer", parts=[]
            )
            record_quote(act=way.act("lead"), rebuild=way.rebuild, amount=1, scope="seals")
            way.go_ahead()

    def count():
        with CaptureQueriesContext(connection) as asked:
            page_of(reader, way.rebuild)
        return len(asked)

    add(0, 5)
    count()
    few = count()
    add(5, 10)
    assert count() == few


# --- who and where ---


@pytest.mark.parametrize("name", ["rebuild", "rebuild_changes"])
def test_strangers_sign_in_first_and_unknown_rebuilds_are_404(client, name):
    row = factories.RebuildFactory()
    address = reverse(f"workorders:{name}", args=[row.pk])
    assert client.get(address).url.startswith(reverse("shop:sign_in"))
    client.force_login(person("stores"))
    assert client.get(address).status_code == 200
    assert client.post(address).status_code == 405
    assert client.get(reverse(f"workorders:{name}", args=[99999])).status_code == 404


def test_somebody_without_a_role_sees_nothing(client):
    client.force_login(factories.UserFactory())
    answer = client.get(factories.RebuildFactory().get_absolute_url())
    assert answer.status_code == 403

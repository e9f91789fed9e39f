"""The pages of the packing bench and of cores owed: each act as a browser meets it."""

import datetime as dt
import re
from html import unescape

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests import writes
from tests.asking import rows, send
from tests.factories import person
from tests.workorders.packing_acts import TOLD, owed, url, write_of
from tests.workorders.packing_bench import Bench
from workorders.calc.serial import grouped
from workorders.models import Exchange, PackingUnit, Shipment
from workorders.services import packing

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def kept(keep):
    return keep(lambda: Bench(hoses=["H1"], extra=["mounting pin"]))


@pytest.fixture
def bench(kept):
    return kept()


@pytest.mark.parametrize("name", TOLD)
def test_each_act_is_written_by_the_clerk_once(client, bench, name):
    write = write_of(bench, name)
    writes.check_get(client, write)
    client.logout()
    writes.check_signed_out(client, write)
    writes.check_wrong_role(client, write)
    writes.check_unknown(client, write)
    if write.bad:
        writes.check_refused(client, write, write.bad)
    if write.broken:
        writes.check_refused(client, write, write.broken)
    writes.check_works(client, write)


@pytest.mark.parametrize("name", TOLD)
def test_a_double_tap_writes_once(client, bench, name):
    writes.check_twice(client, write_of(bench, name))


# Single buttons: the same act again, which the state of the bench now forbids.
@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("scan", "is in hand"),
        ("put_in", "is in hand"),
        ("reopen", "Parcel 1 is open"),
        ("take_out", "was taken out of parcel 1 again"),
        ("line_pack", "is packed already"),
        ("undo", "nothing to undo"),
    ],
)
def test_what_the_bench_forbids_is_said_on_top_of_it(client, bench, name, words):
    write = write_of(bench, name)
    client.force_login(person("receiving"))
    send(client, write.url, write.data)
    before = rows()
    answer = send(client, write.url, write.data)
    if name in ("scan", "put_in"):
        assert words in client.get(answer.url).content.decode()
        return
    page = unescape(answer.content.decode())
    assert answer.status_code == 422
    assert words in page
    assert "Nothing was saved" in page
    assert rows() == before


def test_a_wrong_scan_is_refused_loudly_and_kept_in_the_field(client, bench):
    client.force_login(person("receiving"))
    foreign = bench.unit()
    before = rows()
    for code, words in (
        ("H77", "is no unit, hose, cap"),
        (foreign.unit.serial, "belongs to"),
        ("", "Scan a"),
    ):
        answer = send(client, url("packing_scan", bench.parcel.pk), {"code": code, "unit": ""})
        page = unescape(answer.content.decode())
        assert answer.status_code == 422
        assert words in page
        assert f'value="{code}"' in page or not code
    assert rows() == before


def test_a_unit_is_moved_by_a_button_that_names_the_parcel(client, bench):
    unit = bench.put_in()
    second = packing.add_parcel(act=bench.clerk(), packing=bench.packing)
    client.force_login(person("receiving"))
    page = client.get(bench.packing.get_absolute_url() + "?parcel=1").content.decode()
    assert re.findall(r'name="parcel" value="(\d*)"', page) == [str(second.pk), ""]
    answer = send(client, url("packing_move", unit.pk), {"parcel": second.pk})
    page = unescape(client.get(answer.url).content.decode())
    assert f"Unit {grouped(bench.one.unit.serial)} lies in parcel 2" in page
    assert "moved into parcel 2" in page
    before = rows()
    answer = send(client, url("packing_move", unit.pk), {"parcel": "99999"})
    assert answer.status_code == 422
    assert "That parcel is not on this bench" in answer.content.decode()
    assert rows() == before


def test_a_negative_volume_comes_back_beside_its_field(client, bench):
    line = bench.put_in().lines.get(kind="inside")
    client.force_login(person("receiving"))
    answer = send(client, url("packing_line_pack", line.pk), {"volume_ml": "-3"})
    assert answer.status_code == 422
    assert "Must be at least 0 mL" in answer.content.decode()
    line.refresh_from_db()
    assert line.is_open


def test_the_bench_survives_leaving_the_page_and_shows_who_did_what(client, bench):
    unit = bench.put_in()
    packing.pack_line(act=bench.clerk(), line=unit.lines.get(kind="hose"))
    other = person("receiving")
    client.force_login(other)
    page = unescape(client.get(bench.packing.get_absolute_url()).content.decode())
    clerk = str(bench.way.people["receiving"])
    assert re.search(rf"hose attached: H1.*?packed.*?{re.escape(clerk)}", page, re.DOTALL)
    assert f"{grouped(bench.one.unit.serial)}: hose attached: H1: packed" in page
    packing.undo_line(act=bench.clerk(), line=unit.lines.get(kind="hose"))
    again = unescape(client.get(bench.packing.get_absolute_url()).content.decode())
    for words in ("hose attached: H1: packed", "hose attached: H1: undone", "put into parcel 1"):
        assert words in again


def test_a_scan_of_a_unit_from_the_shelf_leads_to_its_core(client, bench):
    shelf = bench.unit(destination="exchange")
    core = bench.another(stage="exchange_core")
    client.force_login(person("receiving"))
    answer = send(client, url("packing_scan", bench.parcel.pk), {"code": shelf.unit.serial, "unit": ""})
    assert answer.url == url("packing_exchange", bench.parcel.pk, shelf.pk)
    assert core.unit.serial in client.get(answer.url).content.decode()
    send(client, answer.url, {"core": core.pk, "due": ""})
    assert PackingUnit.objects.get().replaces == core


def test_others_may_look_and_are_told_who_packs(client, bench):
    bench.put_in()
    client.force_login(person("bench"))
    page = client.get(bench.packing.get_absolute_url()).content.decode()
    assert "You may not pack and ship units" in page
    assert "Undo" not in page
    assert 'method="post" action="/pack' not in page


def test_the_page_to_send_off_leads_on_once_it_has_left(client, bench):
    bench.full()
    shipment = bench.send()
    client.force_login(person("receiving"))
    answer = client.get(url("packing_send", bench.packing.pk))
    assert answer.url == shipment.get_absolute_url()


def test_what_is_not_checked_is_named_before_it_is_sent(client, bench):
    bench.put_in()
    client.force_login(person("receiving"))
    page = unescape(client.get(url("packing_send", bench.packing.pk)).content.decode())
    assert "neither packed nor kept back: extra part: mounting pin" in page
    data = {"recipient": bench.order.customer_id, "address": "1 Quay", "carrier": ""}
    answer = send(client, url("packing_send", bench.packing.pk), data)
    assert answer.status_code == 422
    assert not Shipment.objects.exists()


def test_the_order_says_what_has_left_what_is_ready_and_what_is_in_work(client, bench):
    bench.another(stage="received")
    ready = bench.another()
    client.force_login(person("receiving"))
    bench.full()
    bench.send()
    page = unescape(client.get(bench.order.get_absolute_url()).content.decode())
    assert "Partly shipped." in page
    assert "Has left: 1. Ready to leave: 1. Still in work: 1." in page
    assert "partly shipped" in client.get(url("work_orders")).content.decode()
    shown = unescape(client.get(url("pack", bench.order.number)).content.decode())
    for words in ("Ready to leave", "Still in work", "Has left", ready.unit.serial):
        assert words in shown
    file = client.get(url("work_orders"), {"format": "csv"}).content.decode()
    assert "Sent" in file.splitlines()[0]


def test_an_order_whose_last_unit_goes_back_as_found_stays_in_the_list_until_it_left(client, bench):
    packing.cancel_packing(act=bench.clerk("anew"), packing=bench.packing)
    lone = bench.unit(stage="returned_as_found")
    client.force_login(person("receiving"))
    assert lone.work_order.number in client.get(url("work_orders")).content.decode()
    second = packing.begin_packing(act=bench.clerk(), work_order=lone.work_order)
    bench.full(lone, parcel=second.parcels.get())
    bench.order = lone.work_order
    bench.send(second)
    assert lone.work_order.number not in client.get(url("work_orders")).content.decode()


def test_the_list_of_cores_owed_says_what_is_late_and_both_pages_link(client, bench):
    row = owed(bench)
    Exchange.objects.filter(pk=row.pk).update(due=dt.date(2001, 1, 1))
    client.force_login(person("stores"))
    page = client.get(url("cores_owed")).content.decode()
    assert "overdue" in page
    assert "It came" not in page
    assert url("core_letter", row.pk) in page
    assert "1 overdue" in client.get(url("shipments")).content.decode()
    assert client.get(url("core_letter", row.pk))["Content-Type"] == "application/pdf"
    assert client.get(url("cores_owed"), {"format": "csv"}).status_code == 200
    shown = client.get(row.packed.parcel.shipment.get_absolute_url()).content.decode()
    assert "the core is owed" in shown


def test_a_core_came_page_without_a_core_says_what_to_do(client, bench):
    row = owed(bench)
    client.force_login(person("receiving"))
    page = client.get(url("core_came", row.pk)).content.decode()
    assert "Receive it first" in page


def test_an_address_label_is_found_by_its_symbol_and_its_number(client, bench):
    bench.full()
    shipment = bench.send()
    client.force_login(person("receiving"))
    for text in (shipment.number, f"http://testserver/S/{shipment.number}"):
        answer = client.get(url("find"), {"q": text})
        assert answer.url == shipment.get_absolute_url()
    assert client.get(f"/S/{shipment.number}").url == shipment.get_absolute_url()
    assert client.get(f"/s/{shipment.number.lower()}").url == shipment.get_absolute_url()


def _cost(client, address):
    with CaptureQueriesContext(connection) as found:
        assert client.get(address).status_code == 200
    return len(found)


@pytest.mark.parametrize("page", ["pack", "packing_send", "shipments", "work_order", "cores_owed"])
def test_ten_and_twenty_units_cost_the_same(client, bench, page):
    client.force_login(person("receiving"))
    keys = {
        "pack": [bench.order.number],
        "work_order": [bench.order.number],
        "packing_send": [bench.packing.pk],
    }
    address = url(page, *keys.get(page, []))

    def add(count):
        for _ in range(count):
            unit = bench.another(stage="returned_as_found", hoses=["H1"])
            packed = bench.put_in(unit)
            packing.keep_back(act=bench.clerk(), line=packed.lines.get(kind="hose"), reason="cracked")

    add(3)
    client.get(address)
    few = _cost(client, address)
    add(6)
    assert _cost(client, address) == few

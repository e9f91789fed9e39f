"""Scans at the packing bench: what they find, and the sentence for what does not belong here."""

import pytest

from shop.errors import RuleBroken
from shop.services import applications
from tests.workorders.packing_bench import Bench
from workorders.calc.serial import draw_serial, grouped
from workorders.models import BoxLine
from workorders.services import boxes, packing
from workorders.services.packing_scans import take_scan

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def kept(keep):
    return keep(lambda: Bench(hoses=["H1"], extra=["mounting pin"]))


@pytest.fixture
def bench(kept):
    return kept()


def scan(bench, code, unit=None, parcel=None):
    return take_scan(act=bench.clerk(), parcel=parcel or bench.parcel, code=code, unit=unit)


def refused(bench, code, **told):
    with pytest.raises(RuleBroken) as error:
        scan(bench, code, **told)
    return " ".join([error.value.message, *error.value.fields.values()])


@pytest.mark.record_row("R21")
def test_scans_fill_a_parcel(bench):
    serial = bench.one.unit.serial
    unit = scan(bench, f"HTTP://TQ.EXAMPLE/U/{serial}\n").unit
    assert unit.rebuild == bench.one
    release = bench.one.releases.get()
    for code in ("h1", "mounting pin", "p1", release.number):
        assert scan(bench, code).unit == unit
    assert [line.text for line in unit.lines.filter(state="open")] == [
        f"fluid left inside: {bench.one.revision.service_fluid}"
    ]
    again = scan(bench, grouped(serial))
    assert (again.unit, again.sentence) == (unit, f"Unit {grouped(serial)} is in hand.")
    assert refused(bench, "H1") == "“hose attached: H1” is packed already."


def test_a_typed_parcel_is_taken_in_hand(bench):
    second = packing.add_parcel(act=bench.clerk(), packing=bench.packing)
    assert scan(bench, " Parcel 2 ").parcel == second
    assert refused(bench, "parcel 7") == "There is no parcel 7 on this bench."


def test_a_makers_serial_and_a_box_tag_find_their_unit(bench):
    unit = bench.one.unit
    unit.maker_serial = "BD-77"
    unit.save()
    assert scan(bench, "bd-77").unit.rebuild == bench.one
    packing.take_out(act=bench.clerk(), unit=bench.one.packing_units.get())
    box = boxes.receive_box(act=bench.clerk(), packing="sound")
    line = boxes.add_line(act=bench.clerk(), box=box, what="cylinder", outcome="extra")
    assert refused(bench, box.number) == f"No unit of box {box.number} waits for a parcel."
    boxes.name_sender(act=bench.clerk(), box=box, customer=bench.order.customer)
    boxes.put_into_work_order(act=bench.clerk(), box=box, work_order=bench.order)
    BoxLine.objects.filter(pk=line.pk).update(rebuild=bench.one)
    assert scan(bench, f"HTTP://TQ.EXAMPLE/B/{box.number}").unit.rebuild == bench.one


@pytest.mark.parametrize("stage", ["received", "released"])
def test_a_unit_of_another_order_or_not_released_is_refused_loudly(bench, stage):
    foreign = bench.unit(stage=stage)
    assert f"belongs to {foreign.work_order}" in refused(bench, foreign.unit.serial)
    ours = bench.another(stage="received")
    assert "is not released: it is received" in refused(bench, ours.unit.serial)


def test_a_unit_in_another_parcel_or_packing_is_refused(bench):
    bench.put_in()
    second = packing.add_parcel(act=bench.clerk(), packing=bench.packing)
    words = refused(bench, bench.one.unit.serial, parcel=second)
    assert words == (
        f"Unit {grouped(bench.one.unit.serial)} lies in parcel 1 already. Choose that parcel to move it."
    )
    hose = refused(bench, "H1", parcel=second)
    assert "which lies in parcel 1: choose that parcel" in hose


def test_what_nobody_knows_and_what_another_unit_brought_are_refused(bench):
    assert "is no unit, hose, cap or accessory of this packing" in refused(bench, "H77")
    other = bench.unit(stage="received", hoses=["H77"])
    words = refused(bench, "h77")
    assert f"It came with unit {grouped(other.unit.serial)} of {other.work_order}" in words
    assert "mistyped" in refused(bench, "7F3 K9Q XM3")
    assert "carries the serial" in refused(bench, "http://x/u/" + draw_serial())


def test_the_unit_in_hand_decides_whose_hose_it_is(bench):
    second = bench.another(hoses=["H1"])
    first, other = bench.put_in(), bench.put_in(second)
    assert "belongs to more than one unit here" in refused(bench, "H1")
    assert scan(bench, "H1", unit=other).unit == other
    # The other one's hose is the only one still open.
    assert scan(bench, "H1").unit == first
    assert "is packed already" in refused(bench, "H1", unit=other)


def test_twins_are_warned_about(bench):
    lead = bench.way.act("lead")
    machine = applications.save_application(act=lead, application=None, name="Platform")
    kind = bench.one.unit.unit_type
    left = applications.save_mounting_place(act=lead, application=machine, unit_type=kind, name="left")
    right = applications.save_mounting_place(
        act=lead, application=machine, unit_type=kind, name="right", twin_of=left
    )
    mine = bench.another(mounting_place=left)
    twin = bench.another(mounting_place=right)
    assert f"Its twin {grouped(twin.unit.serial)}" in scan(bench, mine.unit.serial).warning
    stranger = bench.unit(mounting_place=left)
    words = refused(bench, stranger.unit.serial)
    assert f"Its twin {grouped(twin.unit.serial)}" in words


def test_a_unit_from_the_shelf_asks_for_its_core(bench):
    shelf = bench.unit(destination="exchange")
    taken = scan(bench, shelf.unit.serial)
    assert (taken.ask_core, taken.unit) == (shelf, None)
    assert not bench.parcel.units.exists()


def test_a_scan_after_it_was_sent_off_is_refused(bench):
    bench.full()
    shipment = bench.send()
    assert refused(bench, "H1") == f"This packing was sent off as {shipment}."

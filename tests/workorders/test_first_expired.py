"""At the bench: the lot that expires first is proposed, another one is taken with a reason."""

import datetime as dt

import pytest
from django.urls import reverse

from inventory.documents.lot_label import lot_address
from inventory.services import kits, making
from shop.errors import RuleBroken
from tests.asking import rows, send
from tests.factories import LotFactory, PartFactory, person
from tests.workorders.journey import Journey
from workorders.models import PartUsed
from workorders.services import build
from workorders.services.record.unit import unit_record

pytestmark = pytest.mark.django_db
WHY = "bag of the other lot is torn"


@pytest.fixture
def way():
    return Journey().receive().find().close_teardown().go_ahead()


@pytest.fixture
def line(way):
    return way.revision.kit.lines.get(position__code="S1")


@pytest.fixture
def later(line):
    return LotFactory(part=line.part, use_by=dt.date(2035, 3, 31), number="L-LATER")


def use(way, line, lot, **told):
    return build.use_part(
        act=way.act("bench"), rebuild=way.rebuild, place=line.position, lot=lot, quantity=1, **told
    )


@pytest.mark.parametrize("use_as", ["fitted", "spoiled"])
def test_another_lot_is_refused_without_a_reason(way, line, later, use_as):
    before = rows()
    with pytest.raises(RuleBroken) as refused:
        use(way, line, later, use=use_as)
    assert "or say why this one" in refused.value.fields["lot_reason"]
    assert rows() == before


def test_the_reason_stands_on_the_record_and_on_the_page(client, way, line, later):
    row = use(way, line, later, lot_reason=f" {WHY} ")
    assert (row.lot_reason, "lot L-LATER on 31 Mar 2035" in row.lot_warning) == (WHY, True)
    (record,) = unit_record(way.unit)["rebuilds"][0]["parts_used"]
    assert (record["lot_reason"], record["lot_warning"]) == (WHY, row.lot_warning)
    client.force_login(person("bench"))
    page = client.get(reverse("workorders:build", args=[way.rebuild.pk])).content.decode()
    assert f"Taken because: {WHY}" in page


def test_the_first_to_expire_keeps_no_reason(way, line, later):
    row = use(way, line, line.part.lots.first_expired_first().first(), lot_reason="not asked for")
    assert (row.lot_reason, row.lot_warning) == ("", "")


def test_rework_asks_too(way, line, later):
    told = {"kind": "hose_clipped", "place": way.revision.ports.first(), "tool": "driver 1.2 Nm"}
    with pytest.raises(RuleBroken, match="say why this one"):
        build.record_operation(act=way.act("bench"), rebuild=way.rebuild, parts=[(later, 1)], **told)
    pieces = build.Pieces(later, 1, lot_reason=WHY)
    build.record_operation(act=way.act("bench"), rebuild=way.rebuild, parts=[pieces], **told)
    assert PartUsed.objects.get().lot_reason == WHY


def test_a_packed_kit_hands_its_reason_on_and_asks_no_more(way, line, later):
    kit = way.revision.kit
    lots = {each: each.part.lots.first_expired_first().first() for each in kit.lines.all()}
    told = {"kit": kit, "lots": {**lots, line: later}, "lot_reason": WHY}
    packed = kits.pack_kit(act=way.act("stores"), **told)
    used = build.use_packed_kit(act=way.act("bench"), rebuild=way.rebuild, packed_kit=packed)
    assert {row.place.code: row.lot_reason for row in used if row.place} == {
        "S1": WHY,
        "S2": "",
        "S3": "",
        "S4": "",
    }


def test_a_scan_of_a_later_lot_leads_to_the_question(client, way, line, later):
    client.force_login(person("bench"))
    before = PartUsed.objects.count()
    answer = send(client, reverse("workorders:scan_part", args=[way.rebuild.pk]), {"code": "l-later"})
    url = reverse("workorders:use_part", args=[way.rebuild.pk, "position", line.position_id])
    assert answer.url == f"{url}?lot=L-LATER"
    page = client.get(answer.url).content.decode()
    assert "expires on 30 Sep 2031" in page
    told = {"lot": "L-LATER", "quantity": "1", "use": "fitted"}
    refused = send(client, url, told)
    assert refused.status_code == 422
    assert "or say why this one" in refused.content.decode()
    assert PartUsed.objects.count() == before
    assert send(client, url, {**told, "lot_reason": WHY}).status_code == 302
    assert PartUsed.objects.get().lot_reason == WHY


def test_the_bench_takes_a_piece_by_the_label_of_its_lot(client, way, line):
    client.force_login(person("bench"))
    lot = line.part.lots.get()
    address = lot_address("https://svc.example", lot.number)
    answer = send(client, reverse("workorders:scan_part", args=[way.rebuild.pk]), {"code": address})
    assert answer.status_code == 302
    assert PartUsed.objects.get().lot == lot
    url = reverse("workorders:use_part", args=[way.rebuild.pk, "position", line.position_id])
    foreign = address.replace("/", "-").replace(":", "Ö")  # a US scanner on a German keyboard
    assert send(client, url, {"lot": foreign, "quantity": "1", "use": "spoiled"}).status_code == 302
    assert PartUsed.objects.filter(lot=lot).count() == 2


def test_a_lot_inside_a_made_one_leads_to_the_unit_and_stands_in_the_record(client, way, line):
    act = way.act("stores")
    seal, part = line.part.lots.get(), PartFactory(kind="component", polymer="", name="pump cartridge")
    told = {"part": part, "quantity": 2, "place": "D1", "inputs": [making.Input(lot=seal, quantity=2)]}
    made = making.make_lot(act=act, **told)
    build.use_part(
        act=way.act("bench"),
        rebuild=way.rebuild,
        place=way.revision.components.get(),
        lot=made,
        quantity=1,
    )
    (record,) = unit_record(way.unit)["rebuilds"][0]["parts_used"]
    assert record["made_here"] is True
    assert [(row["lot"], row["quantity"], row["depth"]) for row in record["lots_inside"]] == [
        (seal.number, 2, 1)
    ]
    client.force_login(person("stores"))
    page = client.get(seal.get_absolute_url()).content.decode()
    assert way.unit.get_absolute_url() in page
    assert f"inside {seal.number} &gt; {made.number}" in page

"""Every page of the stores that writes: it works, and it refuses what it must."""

from types import SimpleNamespace

import pytest
from django.urls import reverse

from inventory.models import Kit, KitLine, Lot, PackedKit, Part, Supplier
from inventory.services import kits, stock
from shop.services.writing import Act
from tests import writes
from tests.conftest import NOW
from tests.factories import (
    LotFactory,
    PartFactory,
    PositionFactory,
    ShopProfileFactory,
    TypeRevisionFactory,
    person,
)
from tests.writes import Write

pytestmark = pytest.mark.django_db


def made_once():
    """A kit with one line, its lot, a lot on hold, pieces found in a bin, a packed kit."""
    ShopProfileFactory()
    lead = Act(by=person("lead"), at=NOW, why="for the test")
    kit = Kit.objects.create(revision=TypeRevisionFactory(state="draft"), name="seal set")
    position = PositionFactory(revision=kit.revision)
    line = KitLine.objects.create(kit=kit, position=position, part=PartFactory())
    lot = LotFactory(part=line.part, unit_cost=1)
    empty = LotFactory(quantity_received=1)
    stock.take(act=lead, lot=empty, quantity=1, document="W26-0001")
    stock.take(act=lead, lot=empty, quantity=1, document="W26-0002", found_in_bin=True)
    return SimpleNamespace(
        kit=kit,
        position=position,
        other=PositionFactory(revision=kit.revision),
        line=line,
        lot=lot,
        held=LotFactory(state="on_hold", hold_reason="swollen"),
        found=empty.movements.get(kind="found"),
        packed=kits.pack_kit(act=lead, kit=kit, lots={line: lot}),
        bare=TypeRevisionFactory(),
    )


@pytest.fixture(scope="module")
def kept(keep):
    return keep(made_once)


@pytest.fixture
def world(kept):
    return kept()


def page(name, *args):
    return reverse(f"inventory:{name}", args=args)


STORES = {"role": "stores", "refused_role": "bench"}
LEAD = {"role": "lead", "refused_role": "stores"}
PACKER = {"role": "bench", "refused_role": "receiving"}
NEW_PART = {"number": "PN-NEW", "name": "wiper", "kind": "wiper", "polymer": "AU"}
WRITES = {
    "part_new": lambda w: Write(
        url=page("part_new"),
        data=NEW_PART,
        bad={"name": ""},
        broken={"polymer": ""},
        history=Part.history,
        **STORES,
    ),
    "part_change": lambda w: Write(
        url=page("part_change", w.lot.part.pk),
        data={
            "number": w.lot.part.number,
            "name": "rod seal, double lip",
            "kind": "lip_seal",
            "polymer": "NBR",
            "why": "name of the drawing",
        },
        unknown=page("part_change", 10**6),
        bad={"why": ""},
        broken={"polymer": "FKM"},
        history=Part.history,
        why="name of the drawing",
        **STORES,
    ),
    "supplier_new": lambda w: Write(
        url=page("supplier_new"),
        data={"name": "Skerry Seals"},
        bad={"email": "no address"},
        broken={"name": w.lot.supplier.name},
        history=Supplier.history,
        **STORES,
    ),
    "supplier_change": lambda w: Write(
        url=page("supplier_change", w.lot.supplier.pk),
        data={"name": "Skerry Seals", "why": "new owner"},
        unknown=page("supplier_change", 10**6),
        bad={"why": ""},
        broken={"name": w.held.supplier.name},
        history=Supplier.history,
        why="new owner",
        **STORES,
    ),
    "lot_receive": lambda w: Write(
        url=page("lot_receive"),
        data={
            "part": w.line.part.pk,
            "supplier": w.lot.supplier.pk,
            "quantity": 50,
            "cure_date": "3Q24",
            "received_on": "2026-03-01",
            "place": "A7",
        },
        bad={"number": "a lot/7"},
        broken={"cure_date": "Q3 24"},
        history=Lot.history,
        **STORES,
    ),
    "lot_hold": lambda w: Write(
        url=page("lot_hold", w.lot.number),
        data={"reason": "swollen samples"},
        unknown=page("lot_hold", "L-none"),
        bad={"reason": ""},
        history=Lot.history,
        why="swollen samples",
        **STORES,
    ),
    "lot_accept": lambda w: Write(
        url=page("lot_accept", w.held.number),
        data={"reason": "report 12"},
        unknown=page("lot_accept", "L-none"),
        bad={"reason": ""},
        history=Lot.history,
        why="report 12",
        **STORES,
    ),
    "lot_scrap": lambda w: Write(
        url=page("lot_scrap", w.lot.number),
        data={"place": "A1", "quantity": 2, "reason": "nicked"},
        unknown=page("lot_scrap", "L-none"),
        bad={"reason": ""},
        broken={"quantity": 999},
        **STORES,
    ),
    "lot_move": lambda w: Write(
        url=page("lot_move", w.lot.number),
        data={"place": "A1", "quantity": 2, "to_place": "B3"},
        unknown=page("lot_move", "L-none"),
        bad={"quantity": 0},
        broken={"to_place": "kit 4"},
        **STORES,
    ),
    "lot_count": lambda w: Write(
        url=page("lot_count", w.lot.number),
        data={"place": "A1", "counted": 15, "reason": "counted twice"},
        unknown=page("lot_count", "L-none"),
        bad={"counted": ""},
        broken={"counted": 19},
        **STORES,
    ),
    "found_settle": lambda w: Write(
        url=page("found_settle", w.found.pk),
        data={"finding": "miscounted at receiving"},
        unknown=page("found_settle", 10**6),
        bad={"finding": ""},
        **STORES,
    ),
    "kit_make": lambda w: Write(
        url=page("kit_make", w.bare.pk),
        unknown=page("kit_make", 10**6),
        history=Kit.history,
        **LEAD,
    ),
    "kit_line_new": lambda w: Write(
        url=page("kit_line_new", w.kit.pk),
        data={
            "place": f"position-{w.other.pk}",
            "part": w.line.part.pk,
            "quantity": 1,
            "preference": 1,
            "required": "on",
        },
        unknown=page("kit_line_new", 10**6),
        bad={"place": "position-0"},
        broken={"part": PartFactory(polymer="EPDM").pk},
        history=KitLine.history,
        **LEAD,
    ),
    "kit_line_change": lambda w: Write(
        url=page("kit_line_change", w.kit.pk, w.line.pk),
        data={
            "place": f"position-{w.position.pk}",
            "part": w.line.part.pk,
            "quantity": 2,
            "preference": 1,
        },
        unknown=page("kit_line_change", w.kit.pk, 10**6),
        bad={"quantity": "two"},
        broken={"part": PartFactory().pk},  # a packed kit holds the old part
        history=KitLine.history,
        **LEAD,
    ),
    "kit_line_remove": lambda w: Write(
        url=page(
            "kit_line_remove",
            w.kit.pk,
            KitLine.objects.create(kit=w.kit, position=w.other, part=w.line.part).pk,
        ),
        data={"why": "not needed"},
        unknown=page("kit_line_remove", w.kit.pk, 10**6),
        bad={"why": ""},
        history=KitLine.history,
        why="not needed",
        **LEAD,
    ),
    "kit_pack": lambda w: Write(
        url=page("kit_pack", w.kit.pk),
        data={f"line_{w.line.pk}": w.lot.pk},
        unknown=page("kit_pack", 10**6),
        bad={f"line_{w.line.pk}": w.held.pk},
        broken={f"line_{w.line.pk}": ""},
        history=PackedKit.history,
        **PACKER,
    ),
    "packed_kit_unpack": lambda w: Write(
        url=page("packed_kit_unpack", w.packed.code),
        data={"why": "lot recalled"},
        unknown=page("packed_kit_unpack", "K00-0000"),
        bad={"why": ""},
        history=PackedKit.history,
        why="lot recalled",
        **PACKER,
    ),
}


@pytest.fixture(params=WRITES)
def write(request, world):
    return WRITES[request.param](world)


def test_it_works_and_names_who_and_why(client, write):
    writes.check_works(client, write)


def test_asking_for_the_page_writes_nothing(client, write):
    writes.check_get(client, write)


def test_signed_out_people_are_asked_to_sign_in(client, write):
    writes.check_signed_out(client, write)


def test_another_role_is_refused(client, write):
    writes.check_wrong_role(client, write)


def test_a_form_sent_twice_is_written_once(client, write):
    writes.check_twice(client, write)


@pytest.mark.parametrize(
    "name", [name for name in WRITES if name not in ("part_new", "supplier_new", "lot_receive")]
)
def test_what_does_not_exist_is_not_found(client, world, name):
    writes.check_unknown(client, WRITES[name](world))


@pytest.mark.parametrize("name", [name for name in WRITES if name != "kit_make"])
def test_a_wrong_form_is_refused(client, world, name):
    write = WRITES[name](world)
    writes.check_refused(client, write, write.bad)


RULED = [
    "part_new",
    "part_change",
    "supplier_new",
    "supplier_change",
    "lot_receive",
    "lot_scrap",
    "lot_move",
    "lot_count",
    "kit_line_new",
    "kit_line_change",
    "kit_pack",
]


@pytest.mark.parametrize("name", RULED)
def test_a_broken_rule_is_refused(client, world, name):
    write = WRITES[name](world)
    writes.check_refused(client, write, write.broken)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("lot_hold", "on hold already"),
        ("lot_accept", "accepted already"),
        ("found_settle", "settled already"),
        ("packed_kit_unpack", "nothing left to unpack"),
    ],
)
def test_what_is_done_already_is_refused(client, world, name, words):
    write = WRITES[name](world)
    client.force_login(person(write.role))
    assert writes.send(client, write.url, write.data).status_code == 302
    before = writes.rows()
    answer = writes.send(client, write.url, write.data)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert writes.rows() == before


def test_a_second_kit_of_a_revision_is_refused(client, world):
    client.force_login(person("lead"))
    answer = writes.send(client, page("kit_make", world.kit.revision.pk))
    assert answer.status_code == 422
    assert "has a kit already" in answer.content.decode()


def test_a_packed_line_stays_in_the_record(client, world):
    client.force_login(person("lead"))
    answer = writes.send(client, page("kit_line_remove", world.kit.pk, world.line.pk), {"why": "x"})
    assert answer.status_code == 422
    assert "stays in the record" in answer.content.decode()
    assert KitLine.objects.filter(pk=world.line.pk).exists()

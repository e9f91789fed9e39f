"""The pick list of a work order: walking order, first expired first, what is short, and the same bytes."""

import datetime as dt

import pytest
from django.urls import reverse

from inventory.models import KitLine
from inventory.services import kits, stock
from inventory.services.walking import set_walking_order
from shop.errors import RuleBroken
from tests.factories import LotFactory, PartFactory, person
from tests.workorders.journey import Journey
from tests.workorders.pdf_reading import pages_of, symbols_of, text_of
from workorders.services.lookup import find
from workorders.services.pick_list import pick_list_paper

pytestmark = pytest.mark.django_db
ON = dt.date(2026, 3, 4)


@pytest.fixture
def way():
    return Journey().receive(shelf="B2 rack")


@pytest.fixture
def lines(way):
    return {line.position.code: line for line in way.revision.kit.lines.all()}


def move(way, line, place):
    lot = line.part.lots.get()
    stock.move(act=way.act("stores"), lot=lot, quantity=20, place="A1", to_place=place)


def printed(way, **told):
    return pick_list_paper(way.rebuild.work_order, on=ON, **told)


def picks(way, **told):
    """The text of the section to take from."""
    text = text_of(printed(way, **told))
    return text.split("Take, in walking order")[1].split("3 Short")[0].split("Short Nothing")[0]


def in_order(text, *words):
    at = [text.index(word) for word in words]
    return at == sorted(at)


def test_places_stand_in_walking_order(way, lines):
    for code, place in (("S1", "A10"), ("S2", "B1"), ("S3", "A2"), ("S4", "cold box")):
        move(way, lines[code], place)
    # With the lot behind it, since a serial may hold the letters of a place.
    assert in_order(picks(way), "A2 L", "A10 L", "B1 L", "cold box L")
    set_walking_order(act=way.act("stores"), lines=["cold box", "B"])
    assert in_order(picks(way), "cold box L", "B1 L", "A2 L", "A10 L")


def test_the_lot_that_expires_first_is_named_and_several_where_one_is_too_small(way, lines):
    line = lines["S1"]
    KitLine.objects.filter(pk=line.pk).update(quantity=3)
    old = line.part.lots.get()
    stock.adjust(act=way.act("stores", "counted"), lot=old, change=-18, place="A1")
    late = LotFactory(part=line.part, use_by=dt.date(2032, 1, 1), number="L-LATE", quantity_received=2)
    text = picks(way)
    assert in_order(text, old.number, late.number)
    enough = LotFactory(part=line.part, use_by=dt.date(2033, 1, 1), number="L-ENOUGH")
    text = picks(way)
    assert enough.number in text
    assert old.number not in text


def test_pieces_on_one_shelf_are_named_once(way, lines):
    """Two places of one unit take the same part, of which one lot holds one piece."""
    first, second = lines["S3"], lines["S4"]
    KitLine.objects.filter(pk=second.pk).update(part=first.part)
    stock.adjust(act=way.act("stores", "counted"), lot=first.part.lots.get(), change=-19, place="A1")
    later = LotFactory(part=first.part, use_by=dt.date(2032, 1, 1), number="L-LATE")
    assert in_order(picks(way), first.part.lots.get(number__startswith="L0").number, later.number)


def test_what_is_short_stands_at_the_end_and_an_alternative_says_why(way, lines):
    line = lines["S1"]
    part = PartFactory(kind="lip_seal", number="RS-ALT", polymer="HNBR")
    lot = LotFactory(part=part)
    KitLine.objects.create(
        kit=line.kit, position=line.position, part=part, preference=2, reason="same lip, other maker"
    )
    for code in ("S1", "S2"):
        stock.adjust(
            act=way.act("stores", "counted"), lot=lines[code].part.lots.get(), change=-20, place="A1"
        )
    text = text_of(printed(way))
    assert lot.number in text
    assert f"Alternative, since too little of {line.part.number} is free. The kit says: same lip" in text
    assert lines["S2"].part.number in text.split("On order")[1]
    assert in_order(text, "Take, in walking order", lot.number, "Short", lines["S2"].part.number)


def test_a_packed_kit_is_named_and_its_pieces_are_not(way, lines):
    chosen = {line: line.part.lots.get() for line in lines.values()}
    packed = kits.pack_kit(act=way.act("stores"), kit=way.revision.kit, lots=chosen)
    text = text_of(printed(way))
    assert packed.code in text
    assert "Nothing lies on the shelf" in text


def test_it_says_what_it_is_and_its_symbol_opens_the_work_order(client, way):
    pdf = printed(way)
    number = way.rebuild.work_order.number
    assert "This list reserves nothing" in text_of(pdf)
    assert symbols_of(pdf, dpi=300) == [f"HTTPS://SVC.EXAMPLE/W/{number}"]
    assert find(f"HTTPS://SVC.EXAMPLE/W/{number}").only == way.rebuild.work_order
    client.force_login(person("stores"))
    answer = client.get(f"/W/{number}")
    assert answer["Location"] == way.rebuild.work_order.get_absolute_url()


def test_the_same_data_gives_the_same_bytes(way):
    assert printed(way) == printed(way)


def test_a_long_list_repeats_its_head_and_keeps_every_line(way):
    for _unit in range(30):
        Journey(revision=way.revision, people=way.people, now=way.now).receive(order=way.rebuild.work_order)
    for line in way.revision.kit.lines.all():
        LotFactory(part=line.part, quantity_received=50)
    pages = pages_of(printed(way))
    assert len(pages) > 2
    lots = [lot.number for line in way.revision.kit.lines.all() for lot in line.part.lots.all()]
    assert sum(page.count(number) for page in pages for number in lots) == 31 * 4


def test_units_can_be_chosen_and_nothing_to_pick_is_said(client, way):
    other = Journey(revision=way.revision, people=way.people, now=way.now).receive(
        order=way.rebuild.work_order
    )
    client.force_login(person("stores"))
    url = reverse("workorders:pick_list", args=[way.rebuild.work_order.number])
    answer = client.get(url, {"unit": other.rebuild.pk})
    assert answer["Content-Type"] == "application/pdf"
    text = text_of(answer.content).replace(" ", "")
    assert other.rebuild.unit.serial in text
    assert way.rebuild.unit.serial not in text
    assert client.post(url).status_code == 405
    assert client.get(reverse("workorders:pick_list", args=["W00-0000"])).status_code == 404
    for row in way.revision.kit.lines.all():
        row.delete()
    with pytest.raises(RuleBroken, match="nothing to pick"):
        printed(way)
    client.logout()
    assert client.get(url).status_code == 302

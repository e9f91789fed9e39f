"""Packed kits: complete, from usable lots, and promised once."""

import datetime as dt

import pytest

from inventory.models import Balance, Kit, KitLine, PackedKit
from inventory.services import kits, stock
from shop.errors import RuleBroken
from tests.conftest import NOW
from tests.factories import LotFactory, PartFactory, PortFactory, PositionFactory, TypeRevisionFactory

pytestmark = pytest.mark.django_db


def line(kit, place, **fields):
    fields.setdefault("part", PartFactory())
    return KitLine.objects.create(kit=kit, position=place, **fields)


@pytest.fixture
def kit():
    revision = TypeRevisionFactory()
    kit = Kit.objects.create(revision=revision, name="seal set")
    kit.rod, kit.wiper = (PositionFactory(revision=revision, code=code) for code in ("S1", "S2"))
    kit.rod_line = line(kit, kit.rod)
    kit.wiper_line = line(kit, kit.wiper, quantity=2)
    return kit


@pytest.fixture
def lots(kit):
    return {row: LotFactory(part=row.part) for row in (kit.rod_line, kit.wiper_line)}


def test_packing_moves_the_pieces_to_the_kit(act, stores, kit, lots):
    packed = kits.pack_kit(act=act(stores), kit=kit, lots=lots)
    assert (packed.code, packed.state, packed.packed_by, packed.packed_at) == (
        "K26-0001",
        "packed",
        stores,
        NOW,
    )
    wiper_lot = lots[kit.wiper_line]
    assert Balance.objects.get(lot=wiper_lot, place="kit K26-0001").quantity == 2
    assert Balance.objects.get(lot=wiper_lot, place="A1").quantity == 18
    assert [(row.kit_line, row.lot, row.quantity) for row in packed.lines.order_by("kit_line")] == [
        (kit.rod_line, lots[kit.rod_line], 1),
        (kit.wiper_line, wiper_lot, 2),
    ]
    assert stock.ledger_differences() == []
    assert packed.history.get().history_user == stores


def test_what_is_packed_stands_by_place_and_not_by_lot(act, stores, kit):
    wiper = LotFactory(part=kit.wiper_line.part)
    lots = {kit.wiper_line: wiper, kit.rod_line: LotFactory(part=kit.rod_line.part)}
    packed = kits.pack_kit(act=act(stores), kit=kit, lots=lots)
    assert packed.lines.first().lot == wiper
    assert [row.kit_line for row in kits.packed_lines(packed)] == [kit.rod_line, kit.wiper_line]


def test_packed_pieces_are_not_promised_twice(act, stores, bench, kit):
    lots = {row: LotFactory(part=row.part, quantity_received=2) for row in (kit.rod_line, kit.wiper_line)}
    kits.pack_kit(act=act(stores), kit=kit, lots=lots)
    with pytest.raises(RuleBroken, match="Left: none"):
        stock.take(act=act(bench), lot=lots[kit.wiper_line], quantity=1, document="W")
    offered = {
        c.line: c.lots
        for p in kits.kit_choices(revision=kit.revision, on=NOW.date())
        for o in p.options
        for c in o.lines
    }
    assert offered == {kit.rod_line: [lots[kit.rod_line]], kit.wiper_line: []}


def test_a_given_code_is_kept_and_used_once(act, stores, kit, lots):
    assert kits.pack_kit(act=act(stores), kit=kit, lots=lots, code="DEMO-1").code == "DEMO-1"
    with pytest.raises(RuleBroken):
        kits.pack_kit(act=act(stores), kit=kit, lots=lots, code="DEMO-1")
    assert PackedKit.objects.count() == 1


def test_a_refused_kit_packs_nothing(act, stores, kit, lots):
    short = LotFactory(part=kit.wiper_line.part, quantity_received=1)
    expired = LotFactory(part=kit.wiper_line.part, use_by=dt.date(2026, 3, 3))
    held = LotFactory(part=kit.wiper_line.part, state="on_hold", hold_reason="swollen")
    other_kit = Kit.objects.create(revision=TypeRevisionFactory(), name="other")
    stranger = line(other_kit, PositionFactory(revision=other_kit.revision))
    for wrong, words in [
        ({kit.wiper_line: LotFactory()}, "takes PN-"),
        ({kit.wiper_line: short}, "does not hold 2"),
        ({kit.wiper_line: expired}, "use-by date"),
        ({kit.wiper_line: held}, "on hold: swollen"),
        ({stranger: LotFactory(part=stranger.part)}, "another kit"),
    ]:
        with pytest.raises(RuleBroken, match=words):
            kits.pack_kit(act=act(stores), kit=kit, lots=lots | wrong)
    with pytest.raises(RuleBroken, match=r"not complete.*S2"):
        kits.pack_kit(act=act(stores), kit=kit, lots={kit.rod_line: lots[kit.rod_line]})
    with pytest.raises(RuleBroken, match="empty kit"):
        kits.pack_kit(act=act(stores), kit=kit, lots={})
    assert not PackedKit.objects.exists()
    assert not Balance.objects.filter(place__startswith="kit").exists()


def test_unpacking_brings_the_pieces_back(act, bench, kit, lots):
    packed = kits.pack_kit(act=act(bench), kit=kit, lots=lots)
    kits.unpack_kit(act=act(bench, why="wrong kit"), packed_kit=packed)
    assert set(Balance.objects.filter(lot__in=lots.values()).values_list("place", "quantity")) == {
        ("A1", 20),
        ("kit K26-0001", 0),
    }
    assert PackedKit.objects.get().state == "unpacked"
    assert packed.history.first().history_change_reason == "wrong kit"
    with pytest.raises(RuleBroken, match="nothing left to unpack"):
        kits.unpack_kit(act=act(bench), packed_kit=packed)


def test_a_used_kit_is_used_once(act, bench, kit, lots):
    packed = kits.pack_kit(act=act(bench), kit=kit, lots=lots)
    assert kits.mark_kit_used(act=act(bench), packed_kit=packed, document="W26-0007").document == "W26-0007"
    with pytest.raises(RuleBroken, match="scan another"):
        kits.mark_kit_used(act=act(bench), packed_kit=packed, document="W26-0008")


def test_pieces_of_a_kit_that_go_back_return_to_the_shelf(act, bench, kit, lots):
    packed = kits.pack_kit(act=act(bench), kit=kit, lots=lots)
    used = stock.take(
        act=act(bench), lot=lots[kit.rod_line], quantity=1, document="W", place=kits.place_of_kit(packed)
    )
    assert stock.put_back(act=act(bench), movement=used, document="W").place == "A1"


def test_alternatives_stand_in_their_order_and_the_first_available_is_proposed(kit, lots):
    better = line(kit, kit.rod, preference=0, reason="resists oxidation")
    choice = kits.kit_choices(revision=kit.revision, on=NOW.date())[0]
    assert [option.lines[0].line for option in choice.options] == [better, kit.rod_line]
    assert choice.proposed == {kit.rod_line: lots[kit.rod_line]}
    better_lot = LotFactory(part=better.part)
    choice = kits.kit_choices(revision=kit.revision, on=NOW.date())[0]
    assert choice.proposed == {better: better_lot}


def test_one_alternative_fills_the_place_and_two_do_not_mix(act, stores, kit, lots):
    other = line(kit, kit.rod, preference=2)
    other_lot = LotFactory(part=other.part)
    with pytest.raises(RuleBroken, match="of one only"):
        kits.pack_kit(act=act(stores), kit=kit, lots=lots | {other: other_lot})
    alone = {kit.wiper_line: lots[kit.wiper_line], other: other_lot}
    assert kits.pack_kit(act=act(stores), kit=kit, lots=alone)


def test_parts_of_one_preference_go_in_together(act, stores, kit, lots):
    backup = line(kit, kit.rod, part=PartFactory(kind="backup_ring", polymer="PTFE"))
    with pytest.raises(RuleBroken, match="all parts of one alternative"):
        kits.pack_kit(act=act(stores), kit=kit, lots=lots)
    assert kits.pack_kit(act=act(stores), kit=kit, lots=lots | {backup: LotFactory(part=backup.part)})


def test_the_first_to_expire_is_offered_first_and_unusable_ones_not_at_all(kit):
    part = kit.rod_line.part
    later = LotFactory(part=part, use_by=dt.date(2031, 9, 30))
    never = LotFactory(part=part, use_by=None)
    soon = LotFactory(part=part, use_by=dt.date(2026, 3, 4))
    LotFactory(part=part, use_by=dt.date(2026, 3, 3))
    LotFactory(part=part, state="on_hold", hold_reason="swollen")
    choice = kits.kit_choices(revision=kit.revision, on=dt.date(2026, 3, 4))[0]
    assert choice.options[0].lines[0].lots == [soon, later, never]


def test_choices_cost_the_same_queries_for_a_larger_kit(kit, lots, django_assert_num_queries):
    def read():
        return kits.kit_choices(revision=kit.revision, on=NOW.date())

    with django_assert_num_queries(3):
        assert len(read()) == 2
    for _ in range(8):
        row = line(kit, PositionFactory(revision=kit.revision))
        LotFactory(part=row.part)
    port = PortFactory(revision=kit.revision)
    KitLine.objects.create(kit=kit, port=port, part=PartFactory())
    with django_assert_num_queries(3):
        assert [choice.place for choice in read()][-1] == port


def test_an_optional_place_may_stay_empty(act, stores, kit, lots):
    line(kit, PositionFactory(revision=kit.revision), required=False)
    assert not kits.kit_choices(revision=kit.revision, on=NOW.date())[2].required
    assert kits.pack_kit(act=act(stores), kit=kit, lots=lots)

"""Hold, quarantine, accept with what was checked, scrap all: and what is made from the lot."""

import pytest

from inventory.models import Lot, LotInspection, Movement
from inventory.services import kits, lot_state, making, stock
from inventory.services.lot_state import Check, Reading
from shop.errors import RuleBroken
from tests.asking import rows
from tests.factories import LotFactory, PartFactory, SupplierFactory

pytestmark = pytest.mark.django_db


def block():
    return PartFactory(kind="component", polymer="", name="valve block")


def made_from(act, lot):
    return making.make_lot(
        act=act, part=block(), quantity=2, place="D1", inputs=[making.Input(lot=lot, quantity=2)]
    )


@pytest.fixture
def quarantined(act, stores):
    return stock.receive_lot(
        act=act(stores),
        part=PartFactory(),
        supplier=SupplierFactory(),
        number="L-Q",
        quantity=10,
        place="A1",
        received_on=act(stores).at.date(),
        cure_date="3Q24",
        quarantine=True,
    )


def test_what_arrives_in_quarantine_is_not_used(act, bench, quarantined):
    assert (quarantined.state, quarantined.hold_reason) == ("quarantined", stock.ARRIVED)
    with pytest.raises(RuleBroken, match="in quarantine: arrived; not checked"):
        stock.take(act=act(bench), lot=quarantined, quantity=1, document="W")
    assert not Lot.objects.usable(on=act(bench).at.date()).exists()


def test_it_leaves_quarantine_with_what_was_checked(act, stores, bench, quarantined):
    check = Check(
        certificate_seen=True,
        pieces=3,
        what="cross-section",
        readings=[Reading(what="cross-section", value=3.53, lower=3.43, upper=3.63)],
    )
    lot = lot_state.accept_lot(act=act(stores, why="as ordered"), lot=quarantined, check=check)
    assert (lot.state, lot.hold_reason) == ("accepted", "")
    row = lot.inspections.get()
    assert (row.purpose, row.certificate_seen, row.pieces, row.passed, row.by, row.why) == (
        "arrival",
        True,
        3,
        True,
        stores,
        "as ordered",
    )
    assert str(row.readings.get()) == "cross-section: 3.53 mm"
    assert stock.take(act=act(bench), lot=lot, quantity=1, document="W")


@pytest.mark.parametrize(
    ("check", "words"),
    [
        (None, "Say what was checked"),
        (Check(), "Nothing was checked"),
        (Check(pieces=3), "Say what was inspected"),
        (
            Check(pieces=1, what="height", readings=[Reading(what="height", value=4.1, upper=4.05)]),
            "height: 4.1 mm lies outside its limits",
        ),
        (
            Check(pieces=1, what="height", readings=[Reading(what="height", value=3.9, lower=3.95)]),
            "lies outside its limits",
        ),
    ],
)
def test_it_stays_in_quarantine_where_the_check_does_not_hold(act, stores, quarantined, check, words):
    before = rows()
    with pytest.raises(RuleBroken) as refused:
        lot_state.accept_lot(act=act(stores, why="as ordered"), lot=quarantined, check=check)
    assert words in " ".join([refused.value.message, *refused.value.fields.values()])
    assert rows() == before


def test_a_lot_may_go_from_hold_to_quarantine_and_back(act, stores):
    lot = LotFactory()
    lot_state.hold_lot(act=act(stores), lot=lot, reason="swollen")
    lot_state.quarantine_lot(act=act(stores), lot=lot, reason="to be measured")
    with pytest.raises(RuleBroken, match="in quarantine already: to be measured"):
        lot_state.quarantine_lot(act=act(stores), lot=lot, reason="again")
    with pytest.raises(RuleBroken):
        lot_state.hold_lot(act=act(stores), lot=lot, reason=" ")
    lot.refresh_from_db()
    assert (lot.state, lot.hold_reason) == ("quarantined", "to be measured")


def test_what_is_made_from_a_lot_goes_on_hold_with_it_however_deep(act, stores):
    lot = LotFactory()
    first = made_from(act(stores), lot)
    second = made_from(act(stores), first)
    lot_state.hold_lot(act=act(stores), lot=lot, reason="cracks")
    for made, below in ((first, lot), (second, lot)):
        made.refresh_from_db()
        assert made.state == "on_hold"
        assert made.hold_reason == f"made from lot {below}, which is on hold: cracks"
        assert made.history.latest("history_id").history_user == stores
    with pytest.raises(RuleBroken, match=f"holds pieces of lot {lot}, which is on hold: cracks"):
        lot_state.accept_lot(act=act(stores, why="looked at"), lot=second)
    for each in (lot, first, second):
        lot_state.accept_lot(act=act(stores, why="hardness is right"), lot=each)
    assert Lot.objects.filter(state="accepted").count() == 3


def test_scrapping_all_empties_every_place_and_holds_the_lot(act, stores, bench):
    lot = LotFactory()
    stock.move(act=act(stores), lot=lot, quantity=5, place="A1", to_place="B2")
    with pytest.raises(RuleBroken, match="Say why"):
        lot_state.scrap_lot(act=act(stores), lot=lot)
    gone = lot_state.scrap_lot(act=act(stores, why="cracks"), lot=lot)
    assert sorted((row.place, row.quantity, row.why) for row in gone) == [
        ("A1", -15, "cracks"),
        ("B2", -5, "cracks"),
    ]
    lot.refresh_from_db()
    assert (lot.state, lot.pieces_left) == ("on_hold", 0)
    with pytest.raises(RuleBroken, match="all that was left was scrapped: cracks"):
        stock.take(act=act(bench), lot=lot, quantity=1, document="W", found_in_bin=True)
    with pytest.raises(RuleBroken, match="Nothing is left"):
        lot_state.scrap_lot(act=act(stores, why="again"), lot=lot)
    assert stock.ledger_differences() == []


def test_scrapping_all_waits_for_packed_kits(act, stores):
    lot = LotFactory()
    stock.shift(act=act(stores), lot=lot, quantity=1, place="A1", to_place=f"{kits.KIT_PREFIX}K1")
    with pytest.raises(RuleBroken, match="lie in kit K1: unpack first"):
        lot_state.scrap_lot(act=act(stores, why="cracks"), lot=lot)
    assert not Movement.objects.filter(kind="scrapped").exists()
    assert not LotInspection.objects.exists()

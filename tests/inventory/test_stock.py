"""The ledger: pieces come and go, the balance follows, and nothing goes below zero."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from inventory.models import Balance, Lot, Movement, Settlement
from inventory.services import lot_state, stock
from shop.errors import NotAllowed, RuleBroken
from tests.conftest import NOW
from tests.factories import LotFactory, PartFactory, ShopProfileFactory, SupplierFactory

pytestmark = pytest.mark.django_db
TODAY = NOW.date()


def receive(act, **fields):
    fields = {"part": None, "number": "L-1", "quantity": 10, "place": "A1", "cure_date": "3Q24"} | fields
    fields["part"] = fields["part"] or PartFactory()
    fields.setdefault("received_on", dt.date(2026, 3, 2))
    return stock.receive_lot(act=act, supplier=SupplierFactory(), **fields)


def lie_at(lot, place, quantity):
    """More pieces of a lot, at another place."""
    receipt = lot.movements.first()
    Movement.objects.create(
        lot=lot, kind="adjusted", place=place, quantity=quantity, by=receipt.by, at=receipt.at
    )
    Balance.objects.create(lot=lot, place=place, quantity=quantity)


def on_hand(lot, place="A1"):
    return Balance.objects.get(lot=lot, place=place).quantity


def test_receiving_adds_lot_movement_and_balance(act, stores):
    lot = receive(act(stores), document="DN 771", supplier_batch="B7")
    movement = lot.movements.get()
    assert (movement.kind, movement.quantity, movement.place, movement.document) == (
        "received",
        10,
        "A1",
        "DN 771",
    )
    assert (movement.by, movement.at) == (stores, NOW)
    assert on_hand(lot) == 10
    assert lot.history.get().history_user == stores


def test_an_empty_number_draws_the_shops_own(act, stores):
    assert receive(act(stores), number=" ").number == "L26-0001"
    assert receive(act(stores), number="").number == "L26-0002"


def test_a_number_is_used_once(act, stores):
    receive(act(stores))
    with pytest.raises(RuleBroken) as refused:
        receive(act(stores))
    assert "number" in refused.value.fields
    assert Lot.objects.count() == 1


@pytest.mark.parametrize("asked", ["L-1", "l-1"])
def test_a_number_in_other_letters_is_the_same_number(act, stores, asked):
    receive(act(stores))
    with pytest.raises(RuleBroken) as refused:
        receive(act(stores), number=asked)
    assert refused.value.fields["number"].startswith("There is a lot L-1 already.")


def test_the_next_number_typed_by_hand_does_not_stop_the_stores(act, stores):
    receive(act(stores), number="l26-0001")
    receive(act(stores), number="L26-0002")
    assert receive(act(stores), number="").number == "L26-0003"


@pytest.mark.parametrize("pieces", [1_000_001, 4_006_381_333_931])  # the second as a barcode is read
def test_more_than_a_million_pieces_are_a_slip(act, stores, pieces):
    lot = receive(act(stores), quantity=1_000_000)
    with pytest.raises(RuleBroken) as refused:
        receive(act(stores), number="", quantity=pieces)
    assert "something scanned" in refused.value.fields["quantity"]
    with pytest.raises(RuleBroken) as refused:
        stock.count(act=act(stores, "counted"), lot=lot, counted=pieces, place="A1")
    assert "something scanned" in refused.value.fields["counted"]
    assert Lot.objects.get() == lot
    assert on_hand(lot) == 1_000_000


def test_the_use_by_date_follows_the_shops_standard(act, stores):
    """Dates as in test_storage_life: NBR of 3Q24 by ISO 2230 and by AS5316."""
    assert receive(act(stores)).use_by == dt.date(2031, 9, 30)
    ShopProfileFactory(storage_standard="AS5316")
    lot = receive(act(stores), number="L-2")
    assert lot.use_by == dt.date(2039, 9, 30)
    assert lot.age_basis == "15 years after AS5316; the standard of the shop"


def test_what_is_not_limited_or_not_known_says_so(act, stores):
    aem = receive(act(stores), part=PartFactory(polymer="AEM"))
    assert aem.use_by is None
    assert "not in the tables" in aem.age_basis
    clip = receive(act(stores), part=PartFactory(kind="clip", polymer=""), number="L-2", cure_date="")
    assert (clip.use_by, clip.age_basis) == (None, "")


@pytest.mark.parametrize(
    ("fields", "field", "words"),
    [
        ({"cure_date": "Q3 24"}, "cure_date", "3Q24, 3Q2024 or 3/94"),
        ({"cure_date": ""}, "cure_date", "Seals of NBR age"),
        ({"cure_date": "2Q26"}, "cure_date", "begins after"),
        ({"received_on": dt.date(2026, 3, 5)}, "received_on", "still to come"),
        ({"place": "Kit 7"}, "place", "kept for packed kits"),
        ({"quantity": 0}, "quantity_received", ""),
    ],
)
def test_a_wrong_receipt_is_refused_and_writes_nothing(act, stores, fields, field, words):
    with pytest.raises(RuleBroken) as refused:
        receive(act(stores), **fields)
    if words:
        assert words in refused.value.fields[field]
    assert not Lot.objects.exists()
    assert not Movement.objects.exists()


def test_a_lot_of_the_running_quarter_can_be_received(act, stores):
    assert receive(act(stores), cure_date="1Q26").counted_from == dt.date(2026, 3, 31)


def test_only_stores_and_the_lead_receive(act, bench, lead):
    with pytest.raises(NotAllowed):
        receive(act(bench))
    assert receive(act(lead))


def test_taking_lowers_the_balance(act, bench):
    lot = LotFactory()
    movement = stock.take(act=act(bench), lot=lot, quantity=3, document="W26-0001")
    assert (movement.kind, movement.quantity, movement.place) == ("used", -3, "A1")
    assert on_hand(lot) == 17


def test_taking_chooses_a_place_that_holds_enough_and_leaves_kits_alone(act, bench):
    lot = LotFactory(quantity_received=2)
    lie_at(lot, "kit K26-0001", 50)
    lie_at(lot, "B4", 5)
    assert stock.take(act=act(bench), lot=lot, quantity=4, document="W").place == "B4"
    with pytest.raises(RuleBroken, match="Left: 1 at B4, 2 at A1"):
        stock.take(act=act(bench), lot=lot, quantity=3, document="W")
    assert stock.take(act=act(bench), lot=lot, quantity=3, document="W", place="kit K26-0001")


@pytest.mark.parametrize("found", [False, True])
def test_an_expired_lot_is_refused_with_its_date(act, bench, found):
    lot = LotFactory(use_by=TODAY - dt.timedelta(days=1))
    with pytest.raises(RuleBroken, match="past its use-by date of 03 Mar 2026"):
        stock.take(act=act(bench), lot=lot, quantity=1, document="W", found_in_bin=found)
    assert on_hand(lot) == 20


def test_a_lot_may_be_used_on_its_last_day(act, bench):
    lot = LotFactory(use_by=TODAY)
    assert stock.take(act=act(bench), lot=lot, quantity=1, document="W")


def test_a_lot_on_hold_is_refused_with_the_reason(act, bench, stores):
    lot = LotFactory()
    lot_state.hold_lot(act=act(stores), lot=lot, reason="swollen samples")
    with pytest.raises(RuleBroken, match="on hold: swollen samples"):
        stock.take(act=act(bench), lot=lot, quantity=1, document="W")
    lot_state.accept_lot(act=act(stores, why="supplier's report 12"), lot=lot)
    assert stock.take(act=act(bench), lot=lot, quantity=1, document="W")
    states = list(lot.history.values_list("state", "history_change_reason", "history_user").order_by("pk"))
    assert states[-2:] == [
        ("on_hold", "hold lot", stores.pk),
        ("accepted", "supplier's report 12", stores.pk),
    ]


def test_found_in_bin_adds_what_was_found_and_waits_for_stores(act, bench, stores):
    lot = LotFactory(quantity_received=1)
    stock.take(act=act(bench), lot=lot, quantity=1, document="W26-0001")
    with pytest.raises(RuleBroken, match="does not hold 1"):
        stock.take(act=act(bench), lot=lot, quantity=1, document="W26-0002")
    used = stock.take(act=act(bench), lot=lot, quantity=1, document="W26-0002", found_in_bin=True)
    found = Movement.objects.get(kind="found")
    assert (found.quantity, found.place, found.document) == (1, used.place, "W26-0002")
    assert on_hand(lot) == 0
    settled = stock.settle_found(act=act(stores), movement=found, finding="miscounted at receiving")
    assert (settled.by, settled.finding) == (stores, "miscounted at receiving")
    with pytest.raises(RuleBroken, match="settled already"):
        stock.settle_found(act=act(stores), movement=found, finding="again")
    assert Settlement.objects.count() == 1


def test_found_in_bin_is_for_an_empty_ledger_only(act, bench):
    lot = LotFactory()
    with pytest.raises(RuleBroken, match="holds 20 of lot"):
        stock.take(act=act(bench), lot=lot, quantity=1, document="W", found_in_bin=True)
    assert Movement.objects.count() == 1


def test_only_a_found_entry_is_settled(act, stores):
    with pytest.raises(RuleBroken, match="found in bin"):
        stock.settle_found(act=act(stores), movement=LotFactory().movements.get(), finding="x")


def test_pieces_go_back_once(act, bench):
    lot = LotFactory()
    used = stock.take(act=act(bench), lot=lot, quantity=2, document="W")
    back = stock.put_back(act=act(bench), movement=used, document="W")
    assert (back.kind, back.quantity, back.place, back.returns) == ("returned", 2, "A1", used)
    assert on_hand(lot) == 20
    with pytest.raises(RuleBroken, match="put back already"):
        stock.put_back(act=act(bench), movement=used, document="W")
    with pytest.raises(RuleBroken, match="Only pieces that were used"):
        stock.put_back(act=act(bench), movement=back, document="W")
    assert on_hand(lot) == 20


def test_scrapping_and_adjusting_need_a_reason_and_stay_above_zero(act, stores):
    lot = LotFactory()
    with pytest.raises(RuleBroken, match="Say why"):
        stock.scrap(act=act(stores), lot=lot, quantity=1, place="A1")
    with pytest.raises(RuleBroken, match="Say why"):
        stock.adjust(act=act(stores), lot=lot, change=1, place="A1")
    scrapped = stock.scrap(act=act(stores, why="nicked"), lot=lot, quantity=5, place="A1")
    assert (scrapped.kind, scrapped.quantity, scrapped.why) == ("scrapped", -5, "nicked")
    assert stock.adjust(act=act(stores, why="counted"), lot=lot, change=-5, place="A1").kind == "adjusted"
    assert stock.adjust(act=act(stores, why="counted"), lot=lot, change=2, place="B2").quantity == 2
    for wrong in (
        lambda: stock.scrap(act=act(stores, why="x"), lot=lot, quantity=11, place="A1"),
        lambda: stock.adjust(act=act(stores, why="x"), lot=lot, change=-11, place="A1"),
        lambda: stock.adjust(act=act(stores, why="x"), lot=lot, change=0, place="A1"),
    ):
        with pytest.raises(RuleBroken):
            wrong()
    assert (on_hand(lot), on_hand(lot, "B2")) == (10, 2)


def test_a_count_brings_the_ledger_to_what_is_there(act, stores):
    lot = LotFactory(unit_cost=1)
    movement = stock.count(act=act(stores, why="spring count"), lot=lot, counted=17, place="A1")
    assert (movement.kind, movement.quantity, on_hand(lot)) == ("adjusted", -3, 17)
    assert stock.count(act=act(stores, why="again"), lot=lot, counted=19, place="A1").quantity == 2
    with pytest.raises(RuleBroken, match="nothing to put right"):
        stock.count(act=act(stores, why="again"), lot=lot, counted=19, place="A1")
    with pytest.raises(RuleBroken, match="Say why"):
        stock.count(act=act(stores), lot=lot, counted=1, place="A1")
    assert on_hand(lot) == 19


def test_moving_keeps_the_sum(act, stores):
    lot = LotFactory()
    stock.move(act=act(stores), lot=lot, quantity=8, place="A1", to_place="C3")
    assert (on_hand(lot), on_hand(lot, "C3")) == (12, 8)
    with pytest.raises(RuleBroken, match="lie there already"):
        stock.move(act=act(stores), lot=lot, quantity=1, place="C3", to_place="C3")
    with pytest.raises(RuleBroken, match="kept for packed kits"):
        stock.move(act=act(stores), lot=lot, quantity=1, place="C3", to_place="kit 9")


def test_balances_equal_the_sum_of_their_movements(act, bench, stores):
    lot = LotFactory()
    used = stock.take(act=act(bench), lot=lot, quantity=20, document="W")
    stock.take(act=act(bench), lot=lot, quantity=3, document="W", found_in_bin=True)
    stock.put_back(act=act(bench), movement=used, document="W")
    stock.move(act=act(stores), lot=lot, quantity=8, place="A1", to_place="C3")
    stock.scrap(act=act(stores, why="nicked"), lot=lot, quantity=5, place="C3")
    assert stock.ledger_differences() == []
    Balance.objects.filter(lot=lot, place="C3").update(quantity=4)
    assert stock.ledger_differences() == [(lot, "C3", 4, 3)]


def test_the_database_refuses_a_negative_balance_and_a_wrong_sign():
    lot = LotFactory()
    with pytest.raises(IntegrityError), transaction.atomic():
        Balance.objects.filter(lot=lot).update(quantity=-1)
    row = lot.movements.get()
    with pytest.raises(IntegrityError), transaction.atomic():
        Movement.objects.create(lot=lot, kind="used", place="A1", quantity=1, by=row.by, at=row.at)


def test_the_ledger_cannot_be_changed():
    lot = LotFactory()
    for change in (lambda: Movement.objects.update(quantity=99), lambda: lot.movements.get().delete()):
        with pytest.raises(Exception, match="append-only"), transaction.atomic():
            change()

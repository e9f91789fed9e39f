"""Made in house: what goes in, what comes out, its age and cost, and taking it back."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import Lot, Making, MakingInput, Movement, Supplier
from inventory.services import genealogy, making, stock
from inventory.services.lot_state import Check, Reading
from inventory.services.making import Input
from shop.errors import NotAllowed, RuleBroken
from tests.asking import rows
from tests.conftest import NOW
from tests.factories import LotFactory, PartFactory, ShopProfileFactory, SupplierFactory, UserFactory

pytestmark = pytest.mark.django_db


def block(**fields):
    return PartFactory(**{"kind": "component", "polymer": "", "name": "valve block", **fields})


def make(act, *inputs, **told):
    told = {"part": None, "quantity": 1, "place": "D1", **told}
    told["part"] = told["part"] or block()
    wanted = [Input(lot=lot, quantity=pieces) for lot, pieces in inputs]
    return making.make_lot(act=act, inputs=wanted, **told)


def left(lot):
    return sum(row.quantity for row in lot.balances.all())


def test_pieces_go_in_and_a_lot_comes_out_in_one_go(act, stores):
    ShopProfileFactory()
    seals = LotFactory(unit_cost=Decimal("2.10"), use_by=dt.date(2030, 6, 30), age_basis="7 years")
    springs = LotFactory(part=block(name="spring"), use_by=None, unit_cost=Decimal("0.40"))
    lot = make(act(stores), (seals, 4), (springs, 2), quantity=2, hours=Decimal("1.5"), note=" lapped ")
    assert (left(seals), left(springs), left(lot)) == (16, 18, 2)
    used = Movement.objects.filter(kind="used").order_by("pk")
    assert [(row.lot, row.quantity, row.document) for row in used] == [
        (seals, -4, f"lot {lot}"),
        (springs, -2, f"lot {lot}"),
    ]
    assert (lot.supplier.name, lot.supplier.is_shop, lot.made_here) == ("Tern Quay Rebuild Works", True, True)
    assert (lot.use_by, lot.unit_cost) == (dt.date(2030, 6, 30), Decimal("4.60"))  # (4*2.10 + 2*0.40)/2
    assert lot.age_basis == f"made here; the earliest date inside is that of lot {seals} (7 years)"
    row = lot.making
    assert (row.done_by, row.hours, row.note, row.by, row.at) == (
        stores,
        Decimal("1.5"),
        "lapped",
        stores,
        NOW,
    )
    assert stock.ledger_differences() == []


def test_a_second_making_has_the_same_shop_as_supplier(act, stores):
    SupplierFactory(name="Tern Quay Rebuild Works")
    ShopProfileFactory()
    first, second = make(act(stores), (LotFactory(), 1)), make(act(stores), (LotFactory(), 1))
    assert first.supplier == second.supplier
    assert Supplier.objects.filter(is_shop=True).count() == 1


@pytest.mark.parametrize(
    ("costs", "cost"), [(("0.10", "0.25"), "0.1167"), (("1.00", None), None), ((), None)]
)
def test_the_cost_is_that_of_the_inputs_or_unknown(act, stores, costs, cost):
    lots = [(LotFactory(unit_cost=each and Decimal(each)), 1) for each in costs]
    made = make(act(stores), *lots, quantity=3)
    assert made.unit_cost == (cost and Decimal(cost))


def test_what_has_nothing_that_ages_inside_does_not_age(act, stores):
    clip = make(act(stores), (LotFactory(use_by=None, part=block()), 1), part=block(kind="clip"))
    assert (clip.use_by, clip.age_basis) == (None, "")
    assert make(act(stores), part=block(kind="clip")).age_basis == ""


def test_what_was_checked_stays_as_an_inspection(act, bench):
    check = Check(pieces=2, what="thread", readings=[Reading(what="pitch", value=1.0, lower=0.9, upper=1.1)])
    lot = make(act(bench), (LotFactory(), 1), check=check)
    assert (lot.inspections.get().purpose, lot.inspections.get().readings.count()) == ("making", 1)
    wrong = Check(pieces=1, what="thread", readings=[Reading(what="pitch", value=2, upper=1.1)])
    before = rows()
    with pytest.raises(RuleBroken, match="outside its limits"):
        make(act(bench), (LotFactory(number="L-X"), 1), check=wrong)
    assert {k: n for k, n in rows().items() if k in ("Making", "Movement", "LotInspection")} == {
        **{k: n for k, n in before.items() if k in ("Making", "LotInspection")},
        "Movement": before["Movement"] + 1,  # the receipt of L-X by the factory
    }


def same_lot_twice(act):
    lot = LotFactory()
    make(act, (lot, 1), (lot, 2))


def of_itself(act):
    lot = LotFactory()
    make(act, (lot, 1), part=lot.part)


REFUSED = {
    "too many": (lambda act: make(act, (LotFactory(), 21)), "does not hold 21"),
    "on hold": (lambda act: make(act, (LotFactory(state="on_hold", hold_reason="x"), 1)), "is on hold"),
    "expired": (lambda act: make(act, (LotFactory(use_by=dt.date(2026, 3, 3)), 1)), "past its use-by"),
    "none": (lambda act: make(act, (LotFactory(), 0)), "at least one piece"),
    "no pieces made": (lambda act: make(act, (LotFactory(), 1), quantity=0), "at least one piece"),
    "place of kits": (lambda act: make(act, (LotFactory(), 1), place="kit 7"), "kept for packed kits"),
    "one lot twice": (same_lot_twice, "named twice"),
    "of itself": (of_itself, "not made from itself"),
    "number is known": (lambda act: make(act, number=LotFactory().number), "There is a lot"),
    "number in other letters": (
        lambda act: make(act, number=LotFactory(number="L-Abc").number.lower()),
        "There is a lot L-Abc already",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_making_that_cannot_be_is_refused_whole(act, stores, name):
    wrong, words = REFUSED[name]
    with pytest.raises(RuleBroken) as refused:
        wrong(act(stores))
    assert words in " ".join([refused.value.message, *refused.value.fields.values()])
    assert not Making.objects.exists()
    assert not Movement.objects.filter(kind="used").exists()


def test_receiving_may_not_make(act, receiving):
    with pytest.raises(NotAllowed):
        make(act(receiving), (LotFactory(), 1))


def test_a_later_lot_asks_for_a_reason_and_two_lots_of_a_part_do_not(act, stores):
    part = PartFactory()
    # The later one has the lower key: its pieces are taken first.
    later = LotFactory(part=part, use_by=dt.date(2032, 1, 1), number="L-LATER")
    soon = LotFactory(part=part, use_by=dt.date(2030, 1, 1), quantity_received=2)
    with pytest.raises(RuleBroken) as refused:
        make(act(stores), (later, 1))
    assert "say why this one" in refused.value.fields["lot_reason"]
    make(act(stores), (later, 1), lot_reason="bag is open")
    assert MakingInput.objects.get().lot_reason == "bag is open"
    make(act(stores), (later, 1), (soon, 2))
    assert MakingInput.objects.filter(lot_reason="").count() == 2


# --- genealogy ---


def chain(act, depth):
    """A bought lot, and so many made lots, each from the one before."""
    lots = [LotFactory(number="L-0")]
    for number in range(1, depth + 1):
        lots.append(make(act, (lots[-1], 1), number=f"M-{number}"))
    return lots


def test_a_tree_of_depth_eight_is_read_by_one_query(act, stores):
    lots = chain(act(stores), 8)
    with CaptureQueriesContext(connection) as seen:
        inside = genealogy.made_from(lots[-1])
    assert len(seen) == 1
    assert [(twig.depth, twig.number) for twig in inside] == [
        *[(depth, f"M-{8 - depth}") for depth in range(1, 8)],
        (8, "L-0"),
    ]
    with CaptureQueriesContext(connection) as seen:
        outside = genealogy.went_into(lots[0])
    assert len(seen) == 1
    assert [(twig.depth, twig.number) for twig in outside] == [(n, f"M-{n}") for n in range(1, 9)]
    assert genealogy.lots_with([lots[0].pk]) == {lot.pk for lot in lots[1:]}


def test_the_page_costs_the_same_at_any_depth(client, act, stores):
    client.force_login(stores)
    lots = chain(act(stores), 8)
    costs = []
    for lot in (lots[2], lots[4], lots[7]):
        client.get(lot.get_absolute_url())
        with CaptureQueriesContext(connection) as seen:
            page = client.get(lot.get_absolute_url()).content.decode()
        costs.append(len(seen))
        assert "L-0" in page
        assert "M-8" in page
    assert len(set(costs)) == 1


def test_a_lot_that_is_inside_twice_is_drawn_out_once(act, stores):
    seal = LotFactory(number="SEAL")
    valve = make(act(stores), (seal, 1), quantity=4, number="VALVE")
    left_, right = make(act(stores), (valve, 1), number="LEFT"), make(act(stores), (valve, 1), number="RIGHT")
    whole = make(act(stores), (left_, 1), (right, 1))
    twigs = genealogy.made_from(whole)
    assert [(twig.number, twig.depth, twig.again) for twig in twigs] == [
        ("LEFT", 1, False),
        ("VALVE", 2, False),
        ("SEAL", 3, False),
        ("RIGHT", 1, False),
        ("VALVE", 2, True),
    ]
    assert {twig.number for twig in genealogy.went_into(seal)} == {"VALVE", "LEFT", "RIGHT", whole.number}


def test_no_lot_can_come_to_hold_itself_past_the_services(act, stores):
    seal = LotFactory()
    first = make(act(stores), (seal, 1), quantity=5)
    second = make(act(stores), (first, 1), quantity=5)
    told = {"by": UserFactory(), "at": NOW}
    for lot in (first, second):  # itself, and what was made from it
        used = Movement.objects.create(lot=lot, kind="used", place="D1", quantity=-1, **told)
        with pytest.raises(IntegrityError, match="older lots only"), transaction.atomic():
            MakingInput.objects.create(making=first.making, movement=used, **told)
    with pytest.raises(IntegrityError, match="older lots only"), transaction.atomic():
        MakingInput.objects.create(making=second.making, movement=seal.movements.get(kind="received"), **told)
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        Making.objects.filter(pk=first.making.pk).update(lot=LotFactory())


# --- taking back ---


def test_a_making_is_taken_back_as_a_whole(act, stores):
    seals, springs = LotFactory(), LotFactory(use_by=None, part=block())
    lot = make(act(stores), (seals, 4), (springs, 2), quantity=2)
    stock.move(act=act(stores), lot=lot, quantity=1, place="D1", to_place="D2")
    with pytest.raises(RuleBroken, match="Say why"):
        making.take_back_making(act=act(stores), lot=lot)
    making.take_back_making(act=act(stores, why="wrong drawing"), lot=lot)
    assert (left(seals), left(springs), left(lot)) == (20, 20, 0)
    lot.refresh_from_db()
    assert (lot.state, lot.hold_reason) == ("on_hold", "taken back: wrong drawing")
    assert genealogy.made_from(lot) == genealogy.went_into(seals) == []
    assert stock.ledger_differences() == []
    with pytest.raises(RuleBroken, match="taken back already"):
        making.take_back_making(act=act(stores, why="again"), lot=lot)


def test_a_making_in_use_stays(act, stores, bench):
    seals = LotFactory()
    lot = make(act(stores), (seals, 4), quantity=2)
    used = stock.take(act=act(bench), lot=lot, quantity=1, document="W")
    with pytest.raises(RuleBroken, match=r"Pieces left of lot \S+: 1 of 2\. It is in use and stays\."):
        making.take_back_making(act=act(stores, why="x"), lot=lot)
    stock.put_back(act=act(bench), movement=used, document="W")
    stock.shift(act=act(stores), lot=lot, quantity=1, place="D1", to_place="kit K1")
    with pytest.raises(RuleBroken, match="lie in kit K1"):
        making.take_back_making(act=act(stores, why="x"), lot=lot)
    with pytest.raises(RuleBroken, match="was not made here"):
        making.take_back_making(act=act(stores, why="x"), lot=seals)
    assert left(seals) == 16


# --- recipes ---


def test_a_recipe_proposes_first_expired_first_and_says_what_is_short(act, stores):
    made, seal = block(), PartFactory()
    making.save_recipe_line(act=act(stores), made=made, part=seal, quantity=3)
    later = LotFactory(part=seal, use_by=dt.date(2032, 1, 1), quantity_received=4)
    soon = LotFactory(part=seal, use_by=dt.date(2030, 1, 1), quantity_received=5)
    LotFactory(part=seal, state="on_hold", hold_reason="x")
    found, short = making.propose_inputs(part=made, quantity=2, on=NOW.date())
    assert [(row.lot, row.quantity) for row in found] == [(soon, 5), (later, 1)]
    assert short == []
    assert make(act(stores), *[(row.lot, row.quantity) for row in found], part=made, quantity=2)
    _found, short = making.propose_inputs(part=made, quantity=2, on=NOW.date())
    assert [(line.part, pieces) for line, pieces in short] == [(seal, 3)]


def test_a_recipe_is_changed_and_emptied_with_history(act, stores):
    made, seal = block(), PartFactory()
    line = making.save_recipe_line(act=act(stores), made=made, part=seal, quantity=3)
    making.save_recipe_line(act=act(stores), made=made, part=seal, quantity=2, line=line)
    with pytest.raises(RuleBroken, match="has this part already"):
        making.save_recipe_line(act=act(stores), made=made, part=seal, quantity=1)
    with pytest.raises(RuleBroken):
        making.save_recipe_line(act=act(stores), made=made, part=made, quantity=1)
    making.remove_recipe_line(act=act(stores, why="bought from now on"), line=line)
    assert list(line.history.values_list("history_type", "quantity").order_by("pk")) == [
        ("+", 3),
        ("~", 2),
        ("-", 2),
    ]
    assert making.recipe_of(made) == []


def test_the_page_of_a_making_is_filled_by_its_recipe(client, act, stores):
    client.force_login(stores)
    made, lot = block(), LotFactory(use_by=None)
    making.save_recipe_line(act=act(stores), made=made, part=lot.part, quantity=3)
    url = reverse("inventory:lot_make")
    page = client.get(url, {"part": made.pk, "pieces": 2}).content.decode()
    assert f'value="{lot.number}"' in page
    assert "The stores lack" not in page
    assert (
        "The stores lack usable pieces: 4 of"
        in client.get(url, {"part": made.pk, "pieces": 8}).content.decode()
    )
    assert Lot.objects.count() == 1

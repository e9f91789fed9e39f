"""Counting by place: blind, against the ledger of the moment, a second person above a limit."""

import re
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from inventory.models import CountLine, Lot, Movement, PlaceCount
from inventory.services import counting, stock
from shop.errors import RuleBroken
from shop.models import LimitSetting
from tests import asking, writes
from tests.asking import rows
from tests.conftest import NOW
from tests.factories import LotFactory, UserFactory, person
from tests.writes import Write

pytestmark = pytest.mark.django_db


@pytest.fixture
def lot():
    return LotFactory(unit_cost=Decimal("3.00"), number="L-ONE")


@pytest.fixture
def other():
    return LotFactory(unit_cost=Decimal("2.00"), number="L-TWO")


@pytest.fixture
def count(act, stores, lot, other):
    empty = LotFactory(number="L-EMPTY", quantity_received=1)
    stock.scrap(act=act(stores, why="nicked"), lot=empty, quantity=1, place="A1")
    return counting.begin_count(act=act(stores), place=" A1 ")


def enter(act, by, count, **pieces):
    lots = {line.lot.number: line.lot for line in count.lines.select_related("lot")}
    told = {lots[f"L-{name.upper()}"]: n for name, n in pieces.items()}
    return counting.enter_counted(act=act(by), count=count, counted=told)


def book(act, by, count, why="yearly count"):
    return counting.book_count(act=act(by, why=why), count=count)


def held(lot):
    return lot.balances.get(place="A1").quantity


def test_a_count_lists_the_lots_of_its_place_without_their_pieces(count, lot, other):
    assert [(line.lot, line.counted, line.ledger) for line in count.lines.all()] == [
        (lot, None, None),
        (other, None, None),
    ]
    assert count.place == "A1"


def test_differences_are_booked_with_reason_value_and_document(act, stores, lead, count, lot, other):
    enter(act, stores, count, one=18, two=21)
    found = counting.differences_of(count)
    assert [(line.lot, line.difference, counting.value_of(line)) for line in found.lines] == [
        (lot, -2, Decimal("-6.00")),
        (other, 1, Decimal("2.00")),
    ]
    assert found.value == Decimal("8.00")
    done = book(act, lead, count)
    assert (done.state, done.closed_by, done.reason, done.same_person) == (
        "booked",
        lead,
        "yearly count",
        False,
    )
    assert (held(lot), held(other)) == (18, 21)
    moved = Movement.objects.filter(kind="adjusted").order_by("lot")
    assert [(row.quantity, row.document, row.why, row.count_line.lot) for row in moved] == [
        (-2, f"count {count.pk}", "yearly count", lot),
        (1, f"count {count.pk}", "yearly count", other),
    ]
    assert stock.ledger_differences() == []


def test_what_moves_after_the_count_changes_no_difference(act, stores, bench, lead, count, lot):
    enter(act, stores, count, one=19, two=20)
    stock.take(act=act(bench), lot=lot, quantity=5, document="W")
    assert [line.difference for line in counting.differences_of(count).lines] == [-1]
    book(act, lead, count)
    assert held(lot) == 14


def test_a_lot_that_is_not_listed_is_added_with_a_ledger_of_zero(act, stores, lead, count):
    stray = LotFactory(number="L-STRAY", unit_cost=Decimal("1.00"))
    stock.move(act=act(stores), lot=stray, quantity=20, place="A1", to_place="B2")
    counting.enter_counted(act=act(stores), count=count, counted={stray: 2})
    enter(act, stores, count, one=20, two=20)
    book(act, lead, count)
    assert stray.balances.get(place="A1").quantity == 2


def test_a_second_entry_takes_the_place_of_the_first_and_stays_in_history(act, stores, lead, count, lot):
    enter(act, stores, count, one=2)
    enter(act, lead, count, one=20)
    line = count.lines.get(lot=lot)
    assert (line.counted, line.counted_by) == (20, lead)
    assert list(line.history.values_list("counted", flat=True).order_by("history_id")) == [None, 2, 20]


def test_missing_pieces_that_were_taken_since_refuse_the_whole_booking(
    act, stores, bench, lead, count, lot, other
):
    enter(act, stores, count, one=0, two=21)
    stock.take(act=act(bench), lot=lot, quantity=5, document="W")
    before = rows()
    with pytest.raises(RuleBroken, match="does not hold 20"):
        book(act, lead, count)
    assert rows() == before
    assert held(other) == 20


# --- the second person ---


def test_above_the_limit_somebody_books_who_did_not_count(act, stores, lead, count):
    enter(act, stores, count, one=3, two=20)  # 17 pieces of 3.00: 51.00, above 50
    before = rows()
    with pytest.raises(RuleBroken, match=r"worth more than 50\.00.* somebody who did not count"):
        book(act, stores, count)
    assert rows() == before
    assert not book(act, lead, count).same_person


def test_at_the_limit_one_person_is_enough(act, stores, count, lot):
    lot.unit_cost = Decimal("2.50")
    lot.save()
    enter(act, stores, count, one=0, two=20)  # 20 pieces of 2.50: 50.00
    assert not book(act, stores, count).same_person


def test_a_difference_of_unknown_worth_needs_a_second_person(act, stores, lead, count, lot):
    lot.unit_cost = None
    lot.save()
    enter(act, stores, count, one=19, two=20)
    with pytest.raises(RuleBroken, match="unknown worth"):
        book(act, stores, count)
    assert book(act, lead, count)


def test_a_shop_of_one_switches_it_off_and_the_record_says_same_person(act, stores, count):
    LimitSetting.objects.filter(key="count-alone").update(value=1)
    enter(act, stores, count, one=0, two=20)
    done = book(act, stores, count)
    assert done.same_person
    assert done.history.latest("history_id").same_person


def test_a_lot_counted_by_itself_keeps_to_the_same_limit(act, stores, lot):
    told = {"act": act(stores, why="counted"), "lot": lot, "place": "A1"}
    with pytest.raises(RuleBroken) as refused:
        stock.count(counted=3, **told)  # 17 pieces of 3.00
    assert "worth 51.00: count the place" in refused.value.fields["counted"]
    Lot.objects.filter(pk=lot.pk).update(unit_cost=None)
    with pytest.raises(RuleBroken) as refused:
        stock.count(counted=19, **told)  # one piece, and nobody knows of what worth
    assert "of unknown worth: count the place" in refused.value.fields["counted"]
    LimitSetting.objects.filter(key="count-alone").update(value=1)
    assert stock.count(counted=3, **told).quantity == -17


# --- what is refused ---


def test_what_is_not_counted_or_over_is_not_booked(act, stores, lead, count):
    enter(act, stores, count, one=20)
    with pytest.raises(RuleBroken, match="Not counted yet: L-TWO"):
        book(act, lead, count)
    enter(act, stores, count, two=20)
    with pytest.raises(RuleBroken, match="Say why"):
        book(act, lead, count, why="")
    book(act, lead, count)
    assert not Movement.objects.filter(kind="adjusted").exists()
    for late in (
        lambda: book(act, lead, count),
        lambda: enter(act, stores, count, one=1),
        lambda: counting.drop_count(act=act(stores, why="x"), count=count),
    ):
        with pytest.raises(RuleBroken, match="is booked already"):
            late()


def test_a_dropped_count_changes_nothing(act, stores, count, lot):
    enter(act, stores, count, one=1)
    with pytest.raises(RuleBroken, match="Say why"):
        counting.drop_count(act=act(stores), count=count)
    done = counting.drop_count(act=act(stores, why="wrong drawer"), count=count)
    assert (done.state, done.reason, held(lot)) == ("dropped", "wrong drawer", 20)
    assert counting.begin_count(act=act(stores), place="A1")


@pytest.mark.parametrize("place", ["kit K1", "", " ", "--"])
def test_what_names_no_place_of_the_stores_is_not_counted(act, stores, count, place):
    with pytest.raises(RuleBroken):
        counting.begin_count(act=act(stores), place=place)


@pytest.mark.parametrize("place", ["a1", "A 1", "A-1"])
def test_a_place_of_the_ledger_is_counted_by_the_name_it_has_there(act, stores, lot, place):
    with pytest.raises(RuleBroken, match="The ledger calls that place A1"):
        counting.begin_count(act=act(stores), place=place)
    assert not PlaceCount.objects.exists()


def test_what_lies_where_the_ledger_has_nothing_is_counted_and_booked(act, stores, lead, lot):
    count = counting.begin_count(act=act(stores), place="B9")
    assert not count.lines.exists()
    counting.enter_counted(act=act(stores), count=count, counted={lot: 3})
    book(act, lead, count)
    assert (held(lot), lot.balances.get(place="B9").quantity) == (20, 3)
    assert stock.ledger_differences() == []


def test_an_empty_place_is_booked_as_empty(act, stores, count):
    empty = counting.begin_count(act=act(stores), place="B9")
    before = Movement.objects.count()
    assert book(act, stores, empty).state == "booked"
    assert Movement.objects.count() == before


def test_a_place_is_counted_once_at_a_time(act, stores, count):
    with pytest.raises(RuleBroken, match="being counted already"):
        counting.begin_count(act=act(stores), place="A1")


RULES = {
    "one open": (
        lambda c: PlaceCount(place="A1", begun_at=NOW, begun_by=c.begun_by),
        "being counted already",
    ),
    "closed by nobody": (
        lambda c: PlaceCount(place="B", begun_at=NOW, begun_by=c.begun_by, state="booked"),
        "who closed it",
    ),
    "closed without reason": (
        lambda c: PlaceCount(
            place="B",
            begun_at=NOW,
            begun_by=c.begun_by,
            state="dropped",
            closed_at=NOW,
            closed_by=c.begun_by,
        ),
        "who closed it",
    ),
    "lot once": (lambda c: CountLine(count=c, lot=c.lines.first().lot), "has this lot already"),
    "without its ledger": (
        lambda c: CountLine(count=c, lot=LotFactory(), counted=3, counted_by=UserFactory()),
        "the ledger then",
    ),
}


@pytest.mark.parametrize("rule", RULES)
def test_the_database_keeps_the_rule_and_says_it_in_words(count, rule):
    make, words = RULES[rule]
    with pytest.raises(ValidationError, match=words):
        make(count).full_clean()
    with pytest.raises(IntegrityError), transaction.atomic():
        make(count).save()


# --- pages ---


def page(name, *args):
    return reverse(f"inventory:{name}", args=args)


STORES = {"role": "stores", "refused_role": "bench"}
WRITES = {
    "new": lambda c: Write(
        url=page("count_new"),
        data={"place": "B7"},
        bad={"place": ""},
        broken={"place": "A1"},
        history=PlaceCount.history,
        **STORES,
    ),
    "enter": lambda c: Write(
        url=page("count_enter", c.pk),
        data={f"line_{c.lines.first().pk}": "18", "other_lot": "l-stray", "other_pieces": "1"},
        unknown=page("count_enter", 10**6),
        bad={"other_pieces": ""},
        broken={f"line_{c.lines.first().pk}": "", "other_lot": "", "other_pieces": ""},
        history=CountLine.history,
        **STORES,
    ),
    "book": lambda c: Write(
        url=page("count_book", c.counted.pk),
        data={"why": "yearly count"},
        unknown=page("count_book", 10**6),
        bad={"why": ""},
        history=PlaceCount.history,
        why="yearly count",
        **STORES,
    ),
    "drop": lambda c: Write(
        url=page("count_drop", c.pk),
        data={"why": "wrong drawer"},
        unknown=page("count_drop", 10**6),
        bad={"why": ""},
        history=PlaceCount.history,
        why="wrong drawer",
        **STORES,
    ),
}


@pytest.fixture
def ready(act, lead, count):
    """A count under way at A1, one counted at C1, and a lot at B7."""
    stray = LotFactory(number="L-STRAY")
    stock.move(act=act(lead), lot=stray, quantity=4, place="A1", to_place="B7")
    stock.move(act=act(lead), lot=stray, quantity=3, place="A1", to_place="C1")
    count.counted = counting.begin_count(act=act(lead), place="C1")
    counting.enter_counted(act=act(lead), count=count.counted, counted={stray: 2})
    return count


@pytest.mark.parametrize("name", WRITES)
@pytest.mark.parametrize(
    "check",
    [
        writes.check_works,
        writes.check_get,
        writes.check_signed_out,
        writes.check_wrong_role,
        writes.check_twice,
    ],
)
def test_a_page_writes_as_it_should(client, ready, name, check):
    check(client, WRITES[name](ready))


@pytest.mark.parametrize("name", WRITES)
def test_a_page_refuses_what_it_must(client, ready, name):
    write = WRITES[name](ready)
    writes.check_refused(client, write, write.bad)
    if write.broken:
        writes.check_refused(client, write, write.broken)
    if write.unknown:
        writes.check_unknown(client, write)


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({}, "Choose a place, or name one"),
        ({"place": "B7", "other_place": "B9"}, "Either B7 or this one"),
        ({"other_place": "a1"}, "The ledger calls that place A1"),
        ({"other_place": "kit 7"}, "kept for packed kits"),
        ({"other_place": "B" * 41}, "at most 40"),
    ],
)
def test_a_place_is_chosen_or_named(client, stores, ready, told, words):
    client.force_login(stores)
    answer = asking.send(client, page("count_new"), told)
    assert answer.status_code == 422
    assert words in answer.content.decode()


def test_a_place_that_is_not_listed_is_counted_by_its_name(client, stores, lot):
    client.force_login(stores)
    answer = asking.send(client, page("count_new"), {"other_place": " B9 "}, follow=True)
    told = answer.content.decode()
    assert "Count of B9" in told
    assert "The ledger has nothing here" in told
    assert page("count_enter", PlaceCount.objects.get().pk) in told
    entered = client.get(page("count_enter", PlaceCount.objects.get().pk)).content.decode()
    assert "Found beside them" not in entered


def says(page, words):
    """Whether a page has the words by themselves, and not inside the token of a form."""
    return bool(re.search(rf"\b{words}\b", page.content.decode()))


def test_the_count_stays_blind_until_all_is_counted(client, act, stores, count, lot):
    LimitSetting.objects.filter(key="count-alone").update(value=1)
    client.force_login(stores)
    lot.number, lot.unit_cost = "L-ONE", Decimal("7")
    lot.save()
    stock.adjust(act=act(stores, why="x"), lot=lot, change=717, place="A1")
    for name in ("count", "count_enter"):
        assert not says(client.get(page(name, count.pk)), 737)
    enter(act, stores, count, one=720, two=20)
    assert not says(client.get(page("count", count.pk)), 737)
    told = client.get(page("count_book", count.pk))
    assert says(told, 737)
    assert says(told, "same person")
    book(act, stores, count)
    told = client.get(page("count", count.pk))
    assert says(told, 737)
    assert says(told, "same person")


def test_what_moved_while_a_place_was_counted_stands_beside_the_difference(
    client, act, stores, bench, count, lot
):
    client.force_login(stores)
    enter(act, stores, count, one=19, two=20)
    assert "pieces of it were moved" not in client.get(page("count_book", count.pk)).content.decode()
    stock.take(act=act(bench), lot=lot, quantity=3, document="W26-0001")
    (movement,) = counting.moved_since(count)[lot.pk]
    told = client.get(page("count_book", count.pk)).content.decode()
    assert "pieces of it were moved" in told
    assert f"used -3 here, {timezone.localtime(movement.at):%H:%M}, {bench}" in told


def test_found_in_bin_waits_beside_the_differences(client, act, stores, bench):
    lot = LotFactory(quantity_received=1)
    stock.take(act=act(bench), lot=lot, quantity=1, document="W1")
    stock.take(act=act(bench), lot=lot, quantity=1, document="W2", found_in_bin=True)
    stock.adjust(act=act(stores, why="x"), lot=lot, change=1, place="A1")
    count = counting.begin_count(act=act(stores), place="A1")
    client.force_login(stores)
    told = client.get(page("count_book", count.pk)).content.decode()
    assert page("found_settle", Movement.objects.get(kind="found").pk) in told


def test_the_sheet_lists_the_lots_and_no_pieces(client, act, stores, count, lot, tmp_path):
    client.force_login(stores)
    stock.adjust(act=act(stores, why="x"), lot=lot, change=717, place="A1")
    answers = [client.get(page("count_sheet", count.pk)).content for _ in range(2)]
    assert answers[0] == answers[1]
    path = tmp_path / "sheet.pdf"
    path.write_bytes(answers[0])
    text = PdfReader(path).pages[0].extract_text()
    assert "Count of A1" in text
    assert lot.number in text
    assert "737" not in text
    client.force_login(person("bench"))
    assert client.get(page("count_sheet", count.pk)).status_code == 403


def test_the_list_costs_the_same_for_10_and_for_20_counts(client, act, stores):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client.force_login(stores)
    costs = []
    for start in (0, 10):
        for number in range(start, start + 10):
            lot = LotFactory()
            stock.move(act=act(stores), lot=lot, quantity=1, place="A1", to_place=f"P{number}")
            counting.begin_count(act=act(stores), place=f"P{number}")
        client.get(page("counts"))
        with CaptureQueriesContext(connection) as seen:
            assert client.get(page("counts")).status_code == 200
        costs.append(len(seen))
    assert costs[0] == costs[1]

"""Recalls: opened over lots, units listed, letters, calls, progress, closed, withdrawn."""

import datetime as dt
import io
import zipfile

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from inventory.models import Lot
from inventory.services import lot_state, making
from shop.errors import NotAllowed, RuleBroken
from shop.services import merging
from shop.services.files import read_bytes
from shop.services.writing import Act
from tests import factories
from tests.asking import rows
from tests.workorders.journey import Journey
from tests.workorders.packing_bench import Bench
from workorders.models import Recall, RecallCall, RecallDecision, RecallLetter, RecallLot, RecallUnit
from workorders.services import build, packing, recall_papers, recalls, shipping
from workorders.services.recall_progress import progress_of
from workorders.services.recall_state import carried, found_since

pytestmark = pytest.mark.django_db
WORDS = {"reason": "Lips crack within months.", "instructions": "Take it out of use.\nCall us."}


def lot_of(rebuild, code="S1"):
    return rebuild.parts_used.get(position__code=code).lot


def made_once():
    """Two units with one lot at two customers, and one on the bench."""
    journey = Journey().tested().release().ship()
    journey.first = journey.rebuild
    journey.tested().release().ship()
    journey.second = journey.rebuild
    journey.receive().find().close_teardown().go_ahead().fit()
    journey.here = journey.rebuild
    journey.lot = lot_of(journey.first)
    for role in ("stores", "warranty desk", "lead"):
        journey.act(role)
    return journey


@pytest.fixture(scope="module")
def kept(keep):
    return keep(made_once)


@pytest.fixture
def sent(kept):
    return kept()


def opened(journey, *lots, **told):
    return recalls.open_recall(
        act=journey.act("stores"), lots=lots or [journey.lot], **{"advice": "stop", **WORDS, **told}
    )


def progress(journey, recall):
    return progress_of(recall, on=journey.now.date())


def call(journey, recall, customer, outcome, **told):
    return recalls.record_call(
        act=journey.act("warranty desk"), recall=recall, customer=customer, outcome=outcome, **told
    )


def text_of(letter):
    pages = PdfReader(io.BytesIO(read_bytes(letter.file))).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


@pytest.mark.record_row("R24")
def test_opening_holds_the_lot_with_what_was_made_of_it_and_lists_every_unit(sent):
    part = factories.PartFactory(kind="component", polymer="")
    told = {"part": part, "quantity": 1, "place": "D1"}
    made = making.make_lot(act=sent.act("stores"), inputs=[making.Input(lot=sent.lot, quantity=1)], **told)
    recall = opened(sent)
    assert recall.number == "R26-0001"
    assert set(Lot.objects.filter(pk__in=[sent.lot.pk, made.pk]).values_list("state", flat=True)) == {
        "on_hold"
    }
    listed = {row.unit_id: row for row in recall.units.all()}
    assert set(listed) == {row.unit_id for row in (sent.first, sent.second, sent.here)}
    row = listed[sent.first.unit_id]
    assert row.customer == sent.first.warranty.holder
    assert row.where.startswith("shipped to ")
    assert row.places == ["S1 rod seal: 1 × in rebuild 1"]
    assert recall.history.get().history_user == sent.people["stores"]


def test_opening_again_changes_nothing_but_holds_what_was_made_since(sent):
    recall = opened(sent)
    before = rows()
    assert opened(sent, reason="said once more") == recall
    assert rows() == before
    late = factories.LotFactory()
    factories_made = making.make_lot(
        act=sent.act("stores"),
        part=factories.PartFactory(kind="component", polymer=""),
        quantity=1,
        place="D1",
        inputs=[making.Input(lot=late, quantity=1)],
    )
    recalls.add_lots(act=sent.act("stores", "same batch"), recall=recall, lots=[late])
    factories_made.refresh_from_db()
    assert factories_made.state == "on_hold"


def test_several_lots_of_one_batch_are_recalled_at_once(sent):
    other = lot_of(sent.first, "S2")
    recall = opened(sent, sent.lot, other)
    assert {row.lot for row in recall.lots.all()} == {sent.lot, other}
    with pytest.raises(RuleBroken) as error:
        opened(sent, sent.lot, lot_of(sent.first, "S3"))
    assert f"{sent.lot} by {recall}" in error.value.fields["lots"]


@pytest.mark.parametrize(
    ("told", "field"),
    [({"advice": "shout"}, "advice"), ({"reason": " "}, "reason"), ({"instructions": ""}, "instructions")],
)
def test_a_recall_needs_its_words(sent, told, field):
    before = rows()
    with pytest.raises(RuleBroken) as error:
        opened(sent, **told)
    assert field in error.value.fields
    assert rows() == before
    assert Lot.objects.get(pk=sent.lot.pk).state == "accepted"


def test_it_needs_lots_and_the_role(sent):
    with pytest.raises(RuleBroken) as error:
        recalls.open_recall(act=sent.act("lead"), lots=[], advice="stop", **WORDS)
    assert "lots" in error.value.fields
    with pytest.raises(NotAllowed):
        recalls.open_recall(act=sent.act("bench"), lots=[sent.lot], advice="stop", **WORDS)


def test_a_recalled_lot_is_not_accepted_again_before_the_recall_is_withdrawn(sent):
    recall = opened(sent)
    with pytest.raises(RuleBroken, match=f"is recalled by {recall}"):
        lot_state.accept_lot(act=sent.act("stores", "looks fine"), lot=sent.lot)
    recalls.withdraw_recall(act=sent.act("lead", "another batch was meant"), recall=recall)
    assert carried([sent.here.unit_id]) == {}
    lot_state.accept_lot(act=sent.act("stores", "looked at under the lens"), lot=sent.lot)
    with pytest.raises(RuleBroken, match="was withdrawn: another batch"):
        recalls.add_found_units(act=sent.act("stores"), recall=recall)


def test_units_found_later_are_added_and_what_stands_stays(sent):
    unlisted = Journey(revision=sent.revision, people=sent.people, now=sent.now).receive()
    unlisted.find().close_teardown().go_ahead()
    recall = opened(sent)
    # A part that was booked late: past the services, since a held lot cannot be booked by them.
    Lot.objects.filter(pk=sent.lot.pk).update(state="accepted", hold_reason="")
    build.use_part(
        act=unlisted.act("bench"),
        rebuild=unlisted.rebuild,
        place=sent.revision.positions.get(code="S1"),
        lot=sent.lot,
        quantity=1,
    )
    (row,) = recalls.add_found_units(act=sent.act("lead"), recall=recall)
    assert row.unit == unlisted.unit
    assert recalls.add_found_units(act=sent.act("lead"), recall=recall) == []
    assert recall.units.count() == 4


def out_since(sent):
    """Open the recall, then let one more unit leave with the lot, past the hold on it."""
    recall = opened(sent)
    Lot.objects.filter(pk=sent.lot.pk).update(state="accepted", hold_reason="")
    Recall.objects.filter(pk=recall.pk).update(withdrawn_at=sent.now, withdrawn_by=1, withdraw_reason="x")
    late = Journey(revision=sent.revision, people=sent.people, now=sent.now).tested().release().ship()
    Recall.objects.filter(pk=recall.pk).update(withdrawn_at=None, withdrawn_by=None, withdraw_reason="")
    sent.now = late.now
    recall.refresh_from_db()
    return recall, late.rebuild


def test_a_unit_whose_new_part_is_taken_back_counts_without_anybody_adding_it(sent):
    sent.receive(unit=sent.first.unit).find().close_teardown().go_ahead()
    new = build.use_part(
        act=sent.act("bench"),
        rebuild=sent.rebuild,
        place=sent.revision.positions.get(code="S1"),
        lot=factories.LotFactory(part=sent.lot.part),
        quantity=1,
        lot_reason="the other is doubtful",
    )
    recall = opened(sent)
    assert sent.first.unit_id not in recall.units.values_list("unit", flat=True)
    assert found_since() == {}
    build.take_back_part(act=sent.act("bench", "wrong place"), part_used=new)
    told = progress(sent, recall)
    assert (told.found_since, found_since()) == (1, {recall.pk: 1})
    assert [unit.listed.unit for unit in told.here if unit.found_since] == [sent.first.unit]
    assert told.words.endswith("1 of them found since the list was made.")


def test_a_unit_found_since_is_on_the_call_sheet_and_gets_a_letter_by_itself(sent):
    recall, late = out_since(sent)
    told = progress(sent, recall)
    assert (told.left, told.found_since) == (3, 1)
    (line,) = [line for line in told.lines if line.customer == late.warranty.holder]
    assert [(unit.state, unit.found_since) for unit in line.units] == [("to be called", True)]
    pages = PdfReader(io.BytesIO(recall_papers.call_sheet(recall, on=sent.now.date()))).pages
    sheet = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "1 of them found since the list was made" in sheet
    assert "to be called; found since" in sheet
    assert late.warranty.holder.name in sheet
    letters = recall_papers.issue_letters(act=sent.act("warranty desk"), recall=recall)
    assert late.warranty.holder in {letter.customer for letter in letters}
    assert found_since() == {}


def test_no_call_tells_of_a_unit_that_is_not_on_the_list(sent):
    recall, late = out_since(sent)
    holder = late.warranty.holder
    with pytest.raises(RuleBroken, match="1 more unit holds the lot"):
        call(sent, recall, holder, "reached")
    recalls.add_found_units(act=sent.act("warranty desk"), recall=recall)
    call(sent, recall, holder, "reached")
    (line,) = [line for line in progress(sent, recall).lines if line.customer == holder]
    assert line.is_done


def test_closing_puts_what_was_found_since_on_the_list(sent):
    recall, late = out_since(sent)
    with pytest.raises(RuleBroken) as error:
        recalls.close_recall(act=sent.act("lead", "done"), recall=recall)
    assert "3 of its units are not accounted for" in error.value.fields["accept_open"]
    recalls.close_recall(act=sent.act("lead", "done"), recall=recall, accept_open=True)
    assert late.unit_id in recall.units.values_list("unit", flat=True)


def test_one_letter_goes_to_each_customer_who_has_a_unit_now(sent):
    recall = opened(sent)
    letters = recall_papers.issue_letters(act=sent.act("warranty desk"), recall=recall)
    assert [letter.number for letter in letters] == ["R26-0001/1", "R26-0001/2"]
    assert {letter.customer for letter in letters} == {
        sent.first.warranty.holder,
        sent.second.warranty.holder,
    }
    text = text_of(letters[0])
    serial = sent.first.unit.serial
    for words in (
        "Stop using the units named here",
        "Lips crack within months.",
        "Take it out of use.",
        "S1 rod seal",
        f"{serial[:3]} {serial[3:6]} {serial[6:]}",
        "Stored pressure",
        "Oil through the skin",
        "it needs surgery within hours",
        "Local codes",
        "01632 960100",
        letters[0].customer.name,
    ):
        assert words in text
    assert sent.second.unit.serial[:3] + " " + sent.second.unit.serial[3:6] not in text


def test_who_has_a_letter_gets_another_only_when_something_changed(sent):
    recall = opened(sent)
    issue = lambda: recall_papers.issue_letters(act=sent.act("warranty desk"), recall=recall)  # noqa: E731
    assert len(issue()) == 2
    assert issue() == []
    recall = recalls.change_recall(
        act=sent.act("stores", "supplier answered"), recall=recall, advice="look", **WORDS
    )
    again = issue()
    assert [row.replaces.number for row in again] == ["R26-0001/1", "R26-0001/2"]
    assert "Have the units named here looked at" in text_of(again[0])
    assert f"replaces {again[0].replaces}" in text_of(again[0])


def test_a_letter_is_issued_anew_for_a_reason_and_both_stay(sent):
    recall = opened(sent)
    first, _second = recall_papers.issue_letters(act=sent.act("warranty desk"), recall=recall)
    bytes_before = read_bytes(first.file)
    with pytest.raises(RuleBroken):
        recall_papers.reissue_letter(act=sent.act("warranty desk"), letter=first)
    new = recall_papers.reissue_letter(act=sent.act("warranty desk", "street was wrong"), letter=first)
    assert (new.number, new.replaces, new.why) == ("R26-0001/3", first, "street was wrong")
    assert read_bytes(RecallLetter.objects.get(pk=first.pk).file) == bytes_before
    with pytest.raises(RuleBroken, match="replaced already"):
        recall_papers.reissue_letter(act=sent.act("warranty desk", "again"), letter=first)
    names = zipfile.ZipFile(io.BytesIO(recall_papers.letters_zip(recall))).namelist()
    assert sorted(name[:10] for name in names) == ["R26-0001-2", "R26-0001-3"]
    assert recall_papers.letters_zip(recall) == recall_papers.letters_zip(recall)


def test_a_withdrawn_recall_is_told_to_everybody_who_got_a_letter(sent):
    recall = opened(sent)
    recall_papers.issue_letters(act=sent.act("warranty desk"), recall=recall)
    recall = recalls.withdraw_recall(act=sent.act("lead", "another batch was meant"), recall=recall)
    told = recall_papers.issue_letters(act=sent.act("warranty desk"), recall=recall)
    assert len(told) == 2
    assert "This recall is withdrawn" in text_of(told[0])
    assert "another batch was meant" in text_of(told[0])


def test_a_merged_customer_is_followed_in_letters_and_calls(sent):
    recall = opened(sent)
    gone = sent.first.warranty.holder
    call(sent, recall, gone, "reached")
    recall_papers.issue_letters(act=sent.act("warranty desk"), recall=recall)
    stays = factories.CustomerFactory(name="Sallow Bay Ferries")
    merging.merge_customers(act=sent.act("lead", "one office"), gone=gone, stays=stays, values={})
    (line,) = [each for each in progress(sent, recall).lines if each.customer == stays]
    assert line.is_done
    assert line.letter.number == "R26-0001/1"
    assert len(line.calls) == 1
    with pytest.raises(RuleBroken, match="was merged into"):
        call(sent, recall, gone, "reached")


def test_an_exchange_unit_is_asked_for_at_the_customer_who_got_it():
    bench = Bench()
    given = bench.unit(destination="exchange")
    bench.full(given, core_due=bench.clerk().at.date() + dt.timedelta(days=30))
    bench.send()
    recall = opened(bench.way, lot_of(given))
    lines = progress_of(recall, on=bench.way.now.date()).lines
    assert [line.customer for line in lines] == [bench.order.customer]
    assert [unit.now.serial for unit in lines[0].units] == [given.unit.serial]


def test_the_progress_counts_what_became_of_each_unit(sent):
    recall = opened(sent)
    one, two = sent.first.warranty.holder, sent.second.warranty.holder
    told = progress(sent, recall)
    assert (told.done, told.left) == (1, 2)
    assert told.words == "1 of 3 units accounted for: 1 in the shop, stopped, 2 to be called."
    call(sent, recall, one, "no_answer", next_on=sent.now.date())
    call(sent, recall, one, "left_word")
    assert progress(sent, recall).left == 2
    call(sent, recall, one, "reached", note="R. Holm, will send it")
    listed = recall.units.get(unit=sent.second.unit)
    call(sent, recall, two, "on_its_way", units=[listed])
    told = progress(sent, recall)
    assert (told.done, dict(told.counts)["on its way"]) == (2, 1)
    call(sent, recall, two, "scrapped", units=[listed])
    told = progress(sent, recall)
    assert (told.left, dict(told.counts)["scrapped, by the customer’s word"]) == (0, 1)


def test_a_unit_renewed_when_it_came_back_is_accounted_for(sent):
    recall = opened(sent)
    sent.receive(unit=sent.first.unit).find().close_teardown().go_ahead()
    place = sent.revision.positions.get(code="S1")
    build.use_part(
        act=sent.act("bench"),
        rebuild=sent.rebuild,
        place=place,
        lot=factories.LotFactory(part=sent.lot.part),
        quantity=1,
    )
    used = sent.here.parts_used.get(position__code="S1")
    build.take_back_part(act=sent.act("bench", "recalled"), part_used=used)
    counts = dict(progress(sent, recall).counts)
    assert counts == {"renewed": 1, "taken out again": 1, "to be called": 1}
    assert [line.customer for line in progress(sent, recall).lines] == [sent.second.warranty.holder]


def test_a_unit_let_go_or_scrapped_here_is_accounted_for(sent):
    recall = opened(sent)
    recalls.decide(act=sent.act("lead", "tried"), recall=recall, rebuild=sent.here, may_go=True)
    assert dict(progress(sent, recall).counts)["let go by the lead"] == 1
    sent.receive(unit=sent.first.unit).find()
    shipping.exit_rebuild(act=sent.act("lead"), rebuild=sent.rebuild, exit="scrapped", reason="bent")
    assert dict(progress(sent, recall).counts)["scrapped here"] == 1


def test_who_was_reached_before_a_unit_was_listed_is_called_again(sent):
    recall = opened(sent)
    customer = sent.first.warranty.holder
    call(sent, recall, customer, "reached")
    another = Journey(people=sent.people, now=sent.now).tested_for(customer).release().ship()
    sent.now = another.now
    lot = lot_of(another.rebuild)
    recalls.add_lots(act=sent.act("stores", "same batch"), recall=recall, lots=[lot])
    counts = dict(progress(sent, recall).counts)
    assert (counts["reached and told"], counts["to be called"]) == (1, 2)


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({"outcome": "shouted"}, "outcome"),
        ({"outcome": "scrapped"}, "units"),
        ({"outcome": "no_answer", "next_on": dt.date(2026, 1, 1)}, "next_on"),
    ],
)
def test_a_call_that_says_too_little_is_refused(sent, told, field):
    recall = opened(sent)
    with pytest.raises(RuleBroken) as error:
        call(sent, recall, sent.first.warranty.holder, **told)
    assert field in error.value.fields
    assert not RecallCall.objects.exists()


def test_a_unit_of_another_recall_is_refused(sent):
    recall, other = opened(sent), opened(sent, lot_of(sent.first, "S2"))
    foreign = other.units.first()
    with pytest.raises(RuleBroken) as error:
        call(sent, recall, sent.first.warranty.holder, "scrapped", units=[foreign])
    assert "units" in error.value.fields


def test_closing_asks_for_a_reason_and_names_what_is_open(sent):
    recall = opened(sent)
    with pytest.raises(RuleBroken) as error:
        recalls.close_recall(act=sent.act("lead", "done"), recall=recall)
    assert "2 of its units are not accounted for" in error.value.fields["accept_open"]
    with pytest.raises(RuleBroken):
        recalls.close_recall(act=sent.act("lead"), recall=recall, accept_open=True)
    recall = recalls.close_recall(act=sent.act("lead", "two sold abroad"), recall=recall, accept_open=True)
    assert (recall.state, recall.close_reason) == ("closed", "two sold abroad")
    with pytest.raises(RuleBroken, match="closed already"):
        recalls.close_recall(act=sent.act("lead", "again"), recall=recall)
    assert carried([sent.first.unit_id])
    recall = recalls.reopen_recall(act=sent.act("lead", "one came up"), recall=recall)
    assert recall.state == "open"
    assert recall.history.count() == 3


def test_closing_without_anything_open_needs_the_reason_alone(sent):
    recall = opened(sent)
    for rebuild in (sent.first, sent.second):
        call(sent, recall, rebuild.warranty.holder, "reached")
    assert recalls.close_recall(act=sent.act("lead", "all told"), recall=recall).closed_at


def test_ten_and_twenty_units_cost_the_same(sent):
    counts = []
    recall = None
    for _ in range(2):
        Lot.objects.filter(pk=sent.lot.pk).update(state="accepted", hold_reason="")
        for _ in range(5):
            sent.receive().find().close_teardown().go_ahead().fit()
        recall = recall or opened(sent)
        recalls.add_found_units(act=sent.act("lead"), recall=recall)
        recall = Recall.objects.get(pk=recall.pk)
        with CaptureQueriesContext(connection) as seen:
            told = progress_of(recall, on=sent.now.date())
        counts.append(len(seen))
        with CaptureQueriesContext(connection) as seen:
            carried([unit.listed.unit_id for unit in told.units])
        counts.append(len(seen))
    assert counts[:2] == counts[2:]


def test_no_recall_costs_one_query(django_assert_num_queries):
    journey = Journey().receive()
    with django_assert_num_queries(1):
        assert carried([journey.unit.pk]) == {}
    with django_assert_num_queries(0):
        assert carried([]) == {}


@pytest.mark.parametrize(
    ("model", "told"),
    [
        (RecallCall, {"outcome": "scrapped"}),
        (RecallCall, {"outcome": "reached", "unit": True}),
        (RecallDecision, {"may_go": True, "why": ""}),
        (RecallLot, {"lot": True}),
        (RecallUnit, {"unit": True, "where": "here"}),
    ],
)
def test_the_database_keeps_the_rules(sent, model, told):
    recall = opened(sent)
    listed = recall.units.first()
    pairs = {"lot": sent.lot, "unit": listed.unit if model is RecallUnit else listed}
    more = {name: pairs[name] if value is True and name in pairs else value for name, value in told.items()}
    if model is RecallCall:
        more["customer"] = sent.first.warranty.holder
    if model is RecallDecision:
        more["rebuild"] = sent.here
    with pytest.raises(IntegrityError), transaction.atomic():
        model.objects.create(recall=recall, by=sent.people["stores"], at=sent.now, **more)


@pytest.mark.parametrize("field", ["closed", "withdrawn"])
def test_closed_and_withdrawn_are_whole(sent, field):
    recall = opened(sent)
    setattr(recall, f"{field}_at", sent.now)
    with pytest.raises(IntegrityError), transaction.atomic():
        recall.save()


@pytest.mark.parametrize("model", [RecallLot, RecallUnit, RecallLetter, RecallCall, RecallDecision])
def test_what_was_told_cannot_be_changed_past_the_services(sent, model):
    recall = opened(sent)
    recall_papers.issue_letters(act=sent.act("warranty desk"), recall=recall)
    call(sent, recall, sent.first.warranty.holder, "no_answer")
    recalls.decide(act=sent.act("lead", "tried"), recall=recall, rebuild=sent.here, may_go=True)
    with pytest.raises(IntegrityError), transaction.atomic():
        model.objects.all().update(why="otherwise")
    with pytest.raises(IntegrityError), transaction.atomic():
        model.objects.all().delete()


def test_an_open_packing_is_not_sent_and_the_unit_may_be_taken_out():
    bench = Bench()
    unit = bench.full()
    opened(bench.way, lot_of(bench.one))
    with pytest.raises(RuleBroken, match="is stopped"):
        bench.send()
    packing.take_out(act=Act(by=bench.way.people["receiving"], at=bench.way.now), unit=unit)

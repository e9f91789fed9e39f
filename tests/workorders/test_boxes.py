"""Boxes through the services: announced or not, whose, what was found, one customer per box."""

import datetime as dt

import pytest

from shop.errors import NotAllowed, RuleBroken
from tests.asking import picture, rows
from tests.conftest import NOW
from tests.factories import (
    CustomerFactory,
    TypeRevisionFactory,
    UnitFactory,
    WorkOrderFactory,
    person,
)
from workorders.models import Box, BoxLine, Rebuild
from workorders.services import boxes
from workorders.services.boxes import Expected
from workorders.services.receiving import change_work_order

pytestmark = pytest.mark.django_db
INTAKE = {"opened_before": "not_before", "arrival_condition": "oily"}
TWO = (Expected(what="lift cylinder", symptoms="drifts down"), Expected(what="power unit"))


@pytest.fixture
def told(act, receiving):
    """Who, when and why: the clerk, at a fixed time."""
    return lambda why="": act(receiving, why=why)


@pytest.fixture
def announced(told):
    return boxes.announce_box(
        act=told(), how="telephone", expected=TWO, customer=CustomerFactory(), customer_order="PO 7"
    )


@pytest.fixture
def here(told, announced):
    boxes.receive_box(act=told(), box=announced, packing="sound")
    return boxes.put_into_work_order(act=told(), box=announced)


@pytest.fixture
def lone(told):
    """A box that nobody announced, from nobody knows whom."""
    return boxes.receive_box(act=told())


def test_an_announced_box_holds_what_was_told(announced, receiving):
    assert announced.number == "B26-0001"
    assert (announced.announced_at, announced.announced_by) == (NOW, receiving)
    assert [(line.order, line.what, line.expected, line.outcome) for line in announced.lines.all()] == [
        (1, "lift cylinder", True, "open"),
        (2, "power unit", True, "open"),
    ]
    written = announced.history.get()
    assert (written.history_user, written.history_change_reason) == (receiving, "announce box")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"expected": ()}, "at least one unit"),
        ({"expected": TWO * 31}, "60 lines at most"),
        ({"how": "not_announced"}, "how the box was announced"),
        ({"customer": None}, "who sends the box"),
        ({"expected": [Expected(what=" ")]}, "cannot be blank"),
    ],
)
def test_an_announcement_that_says_too_little_writes_nothing(told, change, message):
    given = {"how": "email", "expected": TWO, "customer": CustomerFactory(), **change}
    before = rows()
    with pytest.raises(RuleBroken) as error:
        boxes.announce_box(act=told(), **given)
    assert message in str(error.value) + str(error.value.fields)
    assert rows() == before


@pytest.mark.parametrize("role", ["bench", "stores"])
def test_other_roles_announce_and_receive_nothing(act, role):
    with pytest.raises(NotAllowed, match="announce boxes"):
        boxes.announce_box(act=act(person(role)), how="email", expected=TWO, sender_as_written="x")
    with pytest.raises(NotAllowed, match="receive units"):
        boxes.receive_box(act=act(person(role)))


def test_a_box_is_here_before_anybody_knows_whose_it_is(lone, receiving):
    assert (lone.sender, lone.work_order, lone.packing) == (None, None, "sound")
    assert (lone.received_at, lone.received_by, lone.announced_how) == (NOW, receiving, "not_announced")


def test_an_announced_box_arrives_once(told, announced):
    row = boxes.receive_box(act=told(), box=announced, carrier="Quay Freight", shelf="F1")
    assert (row.pk, row.carrier, row.shelf) == (announced.pk, "Quay Freight", "F1")
    with pytest.raises(RuleBroken, match="is here already"):
        boxes.receive_box(act=told(), box=announced)


def test_damage_needs_words_and_keeps_its_photos(told):
    with pytest.raises(RuleBroken) as error:
        boxes.receive_box(act=told(), packing="damaged")
    assert "carrier will ask" in error.value.fields["damage_note"]
    assert not Box.objects.exists()
    row = boxes.receive_box(
        act=told(), packing="damaged", damage_note="corner torn", photos=[picture("a.png"), picture("b.png")]
    )
    assert row.photos.count() == 2


def test_a_file_that_is_no_photo_leaves_no_box(told):
    wrong = picture("a.txt")
    wrong.file.truncate(10)
    with pytest.raises(RuleBroken) as error:
        boxes.receive_box(act=told(), photos=[wrong])
    assert "a.txt" in error.value.fields["photo"]
    assert not Box.objects.exists()


def test_the_sender_is_named_later_and_changed_with_a_reason_only(told, lone):
    first, second = CustomerFactory(), CustomerFactory()
    assert boxes.name_sender(act=told(), box=lone, customer=first).sender == first
    with pytest.raises(RuleBroken) as error:
        boxes.name_sender(act=told(), box=lone, customer=second)
    assert "why" in error.value.fields
    row = boxes.name_sender(act=told("read the slip wrongly"), box=lone, customer=second)
    assert row.sender == second
    assert row.history.first().history_change_reason == "read the slip wrongly"


def test_a_changed_sender_leaves_an_empty_work_order_behind(told, here):
    row = boxes.name_sender(act=told("wrong firm"), box=here, customer=CustomerFactory())
    assert row.work_order is None


def test_a_box_goes_into_a_work_order_of_its_sender_only(told, announced):
    with pytest.raises(RuleBroken, match="not here yet"):
        boxes.put_into_work_order(act=told(), box=announced)
    boxes.receive_box(act=told(), box=announced)
    foreign = WorkOrderFactory()
    with pytest.raises(RuleBroken, match=f"belongs to {foreign.customer}, box B26-0001 to"):
        boxes.put_into_work_order(act=told(), box=announced, work_order=foreign)
    own = WorkOrderFactory(customer=announced.customer)
    row = boxes.put_into_work_order(act=told(), box=announced, work_order=own)
    assert (row.work_order, row.customer, row.sender) == (own, None, own.customer)


def test_a_new_work_order_takes_over_the_order_number(here):
    assert here.work_order.customer_order == "PO 7"


def test_no_work_order_while_the_sender_is_unknown(told, lone):
    with pytest.raises(RuleBroken, match="whose box"):
        boxes.put_into_work_order(act=told(), box=lone)


def test_a_unit_of_a_line_is_received_and_tied(told, here):
    revision = TypeRevisionFactory()
    line = here.lines.get(order=1)
    rebuild = boxes.receive_unit_of_line(
        act=told(),
        line=line,
        work_order=here.work_order,
        unit_type=revision.unit_type,
        maker_serial="M 1",
        **INTAKE,
    )
    line.refresh_from_db()
    assert (line.rebuild, line.outcome, line.unit_type) == (rebuild, "found", revision.unit_type)
    with pytest.raises(RuleBroken, match="received already"):
        boxes.receive_unit_of_line(
            act=told(), line=line, work_order=here.work_order, unit_type=revision.unit_type, **INTAKE
        )
    assert Rebuild.objects.count() == 1


def test_a_known_unit_that_was_not_identified_is_extra_once_it_is_received(told, here):
    line = boxes.add_line(act=told(), box=here, what="black cylinder", outcome="unidentified")
    unit = UnitFactory()
    boxes.receive_unit_of_line(act=told(), line=line, work_order=here.work_order, unit=unit, **INTAKE)
    line.refresh_from_db()
    assert (line.outcome, line.rebuild.unit) == ("extra", unit)


def test_a_unit_never_lands_in_the_work_order_of_another_customer(told, here):
    before = rows()["Rebuild"]
    revision, foreign = TypeRevisionFactory(), WorkOrderFactory()
    with pytest.raises(RuleBroken, match="two customers are kept apart"):
        boxes.receive_unit_of_line(
            act=told(), line=here.lines.first(), work_order=foreign, unit_type=revision.unit_type, **INTAKE
        )
    assert rows()["Rebuild"] == before


def test_once_a_unit_was_received_sender_and_work_order_stay(told, here):
    revision = TypeRevisionFactory()
    boxes.receive_unit_of_line(
        act=told(),
        line=here.lines.first(),
        work_order=here.work_order,
        unit_type=revision.unit_type,
        **INTAKE,
    )
    with pytest.raises(RuleBroken, match="give it to the right one"):
        boxes.name_sender(act=told("typo"), box=here, customer=CustomerFactory())
    with pytest.raises(RuleBroken, match="stay together"):
        boxes.put_into_work_order(
            act=told(), box=here, work_order=WorkOrderFactory(customer=here.work_order.customer)
        )


def test_a_box_follows_its_work_order_to_the_right_customer(told, here):
    right = CustomerFactory()
    order = here.work_order
    change_work_order(act=told("typo"), work_order=order, customer=right, customer_order="", note="")
    assert Box.objects.get(pk=here.pk).sender == right


def test_a_line_is_judged_and_judged_again(told, here):
    line = here.lines.get(order=2)
    with pytest.raises(RuleBroken) as error:
        boxes.judge_line(act=told(), line=line, outcome="wrong")
    assert "instead" in error.value.fields["note"]
    row = boxes.judge_line(act=told(), line=line, outcome="wrong", what="hidden", note="a valve block")
    assert (row.outcome, row.note, row.what) == ("wrong", "a valve block", "power unit")
    assert boxes.judge_line(act=told(), line=line, outcome="missing").outcome == "missing"
    with pytest.raises(RuleBroken, match="judged missing"):
        boxes.receive_unit_of_line(
            act=told(),
            line=line,
            work_order=here.work_order,
            unit_type=TypeRevisionFactory().unit_type,
            **INTAKE,
        )


@pytest.mark.parametrize(("expected", "outcome"), [(True, "extra"), (False, "missing"), (False, "found")])
def test_an_outcome_must_fit_what_was_announced(told, here, expected, outcome):
    line = here.lines.first() if expected else boxes.add_line(act=told(), box=here, what="hose")
    with pytest.raises(RuleBroken, match="what was not announced is extra"):
        boxes.judge_line(act=told(), line=line, outcome=outcome)
    line.refresh_from_db()
    assert line.outcome == ("open" if expected else "extra")


def test_nothing_is_judged_or_added_before_the_box_is_here(told, announced):
    with pytest.raises(RuleBroken, match="not here yet"):
        boxes.judge_line(act=told(), line=announced.lines.first(), outcome="found")
    with pytest.raises(RuleBroken, match="not here yet"):
        boxes.add_line(act=told(), box=announced, what="hose")


def test_closing_names_every_line_that_is_not_settled(told, here):
    boxes.judge_line(act=told(), line=here.lines.get(order=2), outcome="found")
    boxes.add_line(act=told(), box=here, what="hose")
    with pytest.raises(RuleBroken) as error:
        boxes.close_box(act=told(), box=here)
    assert "Line 1, lift cylinder, is not sorted yet" in str(error.value)
    assert "Line 2, power unit, is here and not received as a unit yet" in str(error.value)
    assert "Line 3, hose, is neither received as a unit nor" in str(error.value)
    boxes.judge_line(act=told(), line=here.lines.get(order=1), outcome="missing")
    boxes.judge_line(act=told(), line=here.lines.get(order=2), outcome="wrong", note="a valve block")
    boxes.judge_line(act=told(), line=here.lines.get(order=3), outcome="extra", note="bin 4")
    with pytest.raises(RuleBroken) as error:
        boxes.close_box(act=told(), box=here)
    assert str(error.value) == "Line 2, power unit, is here and not received as a unit yet."


def test_a_closed_box_with_an_unidentified_unit_stays_listed(told, lone):
    with pytest.raises(RuleBroken, match="Nothing is written down yet"):
        boxes.close_box(act=told(), box=lone)
    boxes.add_line(act=told(), box=lone, what="two hoses", note="on the shelf F2")
    line = boxes.add_line(act=told(), box=lone, what="green block", outcome="unidentified")
    boxes.close_box(act=told(), box=lone)
    assert list(Box.objects.open()) == list(Box.objects.unidentified()) == [lone]
    assert not Box.objects.to_sort()
    with pytest.raises(RuleBroken, match="is closed; reopen"):
        boxes.add_line(act=told(), box=lone, what="hose")
    boxes.judge_line(act=told(), line=line, outcome="extra", note="valve block of no use, scrapped")
    assert not Box.objects.open()


def test_a_box_is_reopened_with_a_reason(told, lone):
    boxes.add_line(act=told(), box=lone, what="hose", note="bin 4")
    boxes.close_box(act=told(), box=lone)
    with pytest.raises(RuleBroken) as error:
        boxes.reopen_box(act=told(), box=lone)
    assert "why" in error.value.fields
    assert boxes.reopen_box(act=told("a second layer under the paper"), box=lone).is_open
    with pytest.raises(RuleBroken, match="is open"):
        boxes.reopen_box(act=told("again"), box=lone)


def test_a_box_that_never_comes_is_closed_with_the_reason(told, announced):
    with pytest.raises(RuleBroken) as error:
        boxes.close_box(act=told(), box=announced)
    assert "why" in error.value.fields
    boxes.close_box(act=told("customer sold the boat"), box=announced)
    with pytest.raises(RuleBroken, match="did not come; reopen"):
        boxes.receive_box(act=told(), box=announced)


def test_lines_stay_in_order_and_keep_their_history(told, here, receiving):
    late = told()
    line = boxes.add_line(act=late, box=here, what="hose")
    assert line.order == 3
    boxes.judge_line(act=told("looked again"), line=line, outcome="unidentified", what="hose, red band")
    last = line.history.first()
    assert (last.what, last.history_user, last.history_change_reason) == (
        "hose, red band",
        receiving,
        "looked again",
    )
    assert BoxLine.objects.get(pk=line.pk).box == here
    assert last.history_date - NOW < dt.timedelta(seconds=1)


def test_what_was_written_down_is_corrected_with_a_reason(told, here, receiving):
    with pytest.raises(RuleBroken) as error:
        boxes.change_box(act=told(), box=here, shelf="F9")
    assert "why" in error.value.fields
    with pytest.raises(RuleBroken) as error:
        boxes.change_box(act=told("looked again"), box=here, packing="wet")
    assert "damage_note" in error.value.fields
    row = boxes.change_box(act=told("looked again"), box=here, packing="wet", damage_note="oil", shelf="F9")
    assert (row.packing, row.damage_note, row.shelf) == ("wet", "oil", "F9")
    last = row.history.first()
    assert (last.history_user, last.history_change_reason) == (receiving, "looked again")


def test_a_box_that_is_not_here_has_no_packing_to_correct(told, announced):
    row = boxes.change_box(act=told("called back"), box=announced, packing="sound", contact="R. Holm")
    assert (row.packing, row.contact) == ("", "R. Holm")

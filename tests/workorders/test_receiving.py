"""Receiving as a service: work orders, new and known units, corrections, signatures."""

import datetime as dt
import itertools

import pytest
from django.db import IntegrityError, transaction

from shop.changes import changes
from shop.errors import NotAllowed, RuleBroken
from shop.models import Application, MountingPlace, TypeRevision
from tests.asking import picture, rows
from tests.conftest import NOW
from tests.factories import (
    CustomerFactory,
    HoseFactory,
    PortFactory,
    PositionFactory,
    RebuildFactory,
    TypeRevisionFactory,
    UnitFactory,
    UnitTypeFactory,
    WorkOrderFactory,
    person,
)
from workorders.calc.serial import draw_serial, grouped, parse_serial
from workorders.models import ArrivalItem, Finding, Rebuild, Signature, Unit
from workorders.services.photos import add_photo
from workorders.services.receiving import (
    MOST_DRAWS,
    add_known_unit,
    add_new_unit,
    change_work_order,
    correct_intake,
    move_to_shelf,
    open_work_order,
)
from workorders.services.record.unit import intake_record, unit_record
from workorders.services.signing import digest
from workorders.services.twins import twins_of

pytestmark = pytest.mark.django_db
LATER = NOW + dt.timedelta(days=2)
SEEN = {"opened_before": "not_before", "arrival_condition": "oily, rod scored"}


@pytest.fixture
def order():
    return WorkOrderFactory()


@pytest.fixture
def revision():
    revision = TypeRevisionFactory()
    HoseFactory(port=PortFactory(revision=revision, code="P1"), code="3")
    return revision


@pytest.fixture
def receive(receiving, act, order, revision):
    """Receive a new unit of the type, with other words where given."""

    def make(**told):
        return add_new_unit(
            **{"act": act(receiving), "work_order": order, "unit_type": revision.unit_type, **SEEN, **told}
        )

    return make


def place(revision, name, twin=None):
    ramp, _made = Application.objects.get_or_create(name="Access ramp AR")
    return MountingPlace.objects.create(
        application=ramp, unit_type=revision.unit_type, name=name, twin_of=twin
    )


# ---------- work orders ----------


def test_a_work_order_is_numbered_by_its_year_and_knows_who_opened_it(receiving, act):
    customer = CustomerFactory()
    first, second = (
        open_work_order(act=act(receiving), customer=customer, customer_order=" PO 7 ", note="by van")
        for _ in range(2)
    )
    assert (first.number, second.number) == ("W26-0001", "W26-0002")
    assert (first.customer_order, first.note, first.opened_by, first.opened_at) == (
        "PO 7",
        "by van",
        receiving,
        NOW,
    )
    assert first.history.get().history_user == receiving


def test_a_head_is_corrected_with_a_reason(receiving, act, order):
    other = CustomerFactory()
    told = {"work_order": order, "customer": other, "customer_order": "PO 8", "note": ""}
    with pytest.raises(RuleBroken, match="Say why"):
        change_work_order(act=act(receiving, LATER), **told)
    changed = change_work_order(act=act(receiving, LATER, "sender read wrong"), **told)
    assert (changed.customer, changed.customer_order) == (other, "PO 8")
    latest = changed.history.order_by("-history_id").first()
    assert (latest.history_user, latest.history_change_reason) == (receiving, "sender read wrong")


# ---------- new units ----------


def test_a_new_unit_gets_a_serial_and_its_first_rebuild(receiving, receive, revision, order):
    rebuild = receive(
        maker_serial="  MX  77 ",
        reported="drifts down",
        destination="exchange",
        hoses=["3", "4", "3"],
        missing=["clip", " "],
        extra=["bracket", "bracket"],
        shelf=" B2 ",
    )
    unit = rebuild.unit
    assert parse_serial(unit.serial) == unit.serial
    assert (unit.unit_type, unit.maker_serial) == (revision.unit_type, "MX 77")
    assert (rebuild.number, rebuild.stage, rebuild.revision, rebuild.work_order) == (
        1,
        "received",
        revision,
        order,
    )
    assert (rebuild.received_by, rebuild.received_at) == (receiving, NOW)
    assert (rebuild.reported, rebuild.destination, rebuild.shelf) == ("drifts down", "exchange", "B2")
    assert [(item.kind, item.label) for item in rebuild.arrival_items.all()] == [
        ("extra", "bracket"),
        ("extra", "bracket"),
        ("hose", "3"),
        ("hose", "4"),
        ("missing", "clip"),
    ]


def test_the_receipt_is_signed_over_the_intake_with_its_photos(receiving, receive):
    rebuild = receive(photos=[picture("a.png"), picture("b.png", colour=(1, 2, 3))])
    signed = rebuild.signatures.get()
    assert (signed.meaning, signed.printed_name, signed.done_at) == ("received", str(receiving), NOW)
    intake = intake_record(rebuild)
    assert len(intake["photos"]) == 2
    assert signed.content_sha256 == digest(intake)
    for other in ({**intake, "reported": "nothing"}, {**intake, "photos": intake["photos"][:1]}):
        assert signed.content_sha256 != digest(other)


def test_every_row_of_a_receipt_says_who_received(receiving, receive):
    rebuild = receive(hoses=["3"])
    for history in (
        rebuild.history.get(),
        rebuild.unit.history.get(),
        ArrivalItem.history.get(),
    ):
        assert (history.history_user, history.history_change_reason) == (receiving, "add new unit")
        assert history.history_date == NOW


def test_a_serial_that_is_taken_is_drawn_again(receive):
    taken = UnitFactory().serial
    free = draw_serial()
    draws = iter([taken, taken, free])
    assert receive(draw=lambda: next(draws)).unit.serial == free


def test_a_draw_that_never_comes_to_an_end_is_given_up(receive):
    taken = UnitFactory().serial
    before, drawn = rows(), itertools.count()
    with pytest.raises(RuleBroken, match=f"No free serial came up in {MOST_DRAWS} draws"):
        receive(draw=lambda: taken if next(drawn) >= 0 else "")
    assert next(drawn) == MOST_DRAWS
    assert rows() == before


def test_a_type_without_an_approved_revision_is_refused_with_a_sentence(receive):
    draft = TypeRevisionFactory(state=TypeRevision.State.DRAFT)
    bare = UnitTypeFactory()
    before = rows()
    with pytest.raises(RuleBroken, match=r"has no approved revision yet.*The lead approves one"):
        receive(unit_type=draft.unit_type)
    with pytest.raises(RuleBroken, match="has no approved revision yet"):
        receive(unit_type=bare)
    assert rows() == before


@pytest.mark.parametrize("stamp", ["MX 77", "mx  77"])
def test_a_makers_serial_seen_before_leads_to_the_known_unit(receive, stamp):
    known = receive(maker_serial="MX 77").unit
    before = rows()
    with pytest.raises(RuleBroken) as refused:
        receive(maker_serial=stamp)
    assert grouped(known.serial) in refused.value.fields["maker_serial"]
    assert rows() == before


def test_the_same_makers_serial_on_another_type_and_none_at_all_are_fine(receive):
    receive(maker_serial="MX 77")
    receive(maker_serial="MX 77", unit_type=TypeRevisionFactory().unit_type)
    receive()
    receive()
    assert Unit.objects.count() == 4


def test_the_database_itself_refuses_a_double_of_type_and_makers_serial(receive):
    unit = receive(maker_serial="MX 77").unit
    with pytest.raises(IntegrityError), transaction.atomic():
        Unit.objects.bulk_create([Unit(serial=draw_serial(), unit_type=unit.unit_type, maker_serial="MX 77")])


def test_a_place_of_another_unit_type_is_refused(receive):
    foreign = place(TypeRevisionFactory(), "left lift")
    before = rows()
    with pytest.raises(RuleBroken) as refused:
        receive(mounting_place=foreign)
    assert "takes another unit type" in refused.value.fields["mounting_place"]
    assert rows() == before


@pytest.mark.parametrize(
    ("told", "wrong"),
    [
        ({"arrival_condition": "  "}, "arrival_condition"),
        ({"opened_before": "perhaps"}, "opened_before"),
        ({"opened_before": ""}, "opened_before"),
        ({"destination": "moon"}, "destination"),
        ({"extra": ["x" * 61]}, "label"),
        ({"photos": [picture("a.gif", kind="GIF")]}, "photo"),
    ],
)
def test_an_incomplete_intake_is_refused_and_leaves_nothing(receive, told, wrong, settings):
    before = rows()
    with pytest.raises(RuleBroken) as refused:
        receive(**told)
    assert wrong in refused.value.fields
    assert rows() == before
    assert [path for path in settings.FILES_DIR.rglob("*") if path.is_file()] == []


def test_a_refused_photo_takes_the_good_ones_with_it_and_is_named(receive, settings):
    with pytest.raises(RuleBroken, match=r"notes\.txt: This file is not a photo"):
        receive(photos=[picture("a.png"), picture("notes.txt", kind="GIF")])
    assert [path for path in settings.FILES_DIR.rglob("*") if path.is_file()] == []


def test_an_unknown_word_of_the_intake_is_a_mistake_of_the_caller(receive):
    with pytest.raises(TypeError, match="colour"):
        receive(colour="red")


@pytest.mark.parametrize("role", ["bench", "warranty desk", "stores"])
def test_only_receiving_and_the_lead_receive(role, act, order, revision):
    unit, user = UnitFactory(), person(role)
    for write in (
        lambda: open_work_order(act=act(user), customer=order.customer),
        lambda: add_new_unit(act=act(user), work_order=order, unit_type=revision.unit_type, **SEEN),
        lambda: add_known_unit(act=act(user), work_order=order, unit=unit, **SEEN),
    ):
        before = rows()
        with pytest.raises(NotAllowed, match="Ask somebody from: receiving or lead"):
            write()
        assert rows() == before


# ---------- known units ----------


@pytest.fixture
def shipped():
    """A unit that left the shop."""
    return RebuildFactory(stage=Rebuild.Stage.SHIPPED).unit


def test_a_known_unit_keeps_its_row_and_serial_through_its_next_rebuild(receiving, act, order, shipped):
    rebuild = add_known_unit(act=act(receiving, LATER), work_order=order, unit=shipped, **SEEN)
    assert (rebuild.unit, rebuild.number) == (shipped, 2)
    assert Unit.objects.count() == 1
    assert [row["number"] for row in unit_record(shipped)["rebuilds"]] == [1, 2]
    assert rebuild.signatures.get().meaning == Signature.Meaning.RECEIVED


def test_a_known_unit_is_built_to_the_revision_approved_now(receiving, act, order, shipped):
    old = shipped.unit_type.current
    old.state = TypeRevision.State.SUPERSEDED
    old.save()
    new = TypeRevisionFactory(unit_type=shipped.unit_type, number=2)
    rebuild = add_known_unit(act=act(receiving), work_order=order, unit=shipped, **SEEN)
    assert (rebuild.revision, shipped.rebuilds.get(number=1).revision) == (new, old)


@pytest.mark.parametrize("stage", [s for s in Rebuild.Stage if s not in Rebuild.CLOSED_STAGES])
def test_a_unit_cannot_arrive_while_it_is_here(receiving, act, order, stage):
    here = RebuildFactory(stage=stage)
    before = rows()
    with pytest.raises(RuleBroken, match=f"in the shop already: {here.work_order}, {stage.label}"):
        add_known_unit(act=act(receiving), work_order=order, unit=here.unit, **SEEN)
    assert rows() == before


@pytest.mark.parametrize("stage", Rebuild.CLOSED_STAGES)
def test_a_unit_that_left_in_any_way_may_come_again(receiving, act, order, stage):
    gone = RebuildFactory(stage=stage, exit_reason="wanted back")
    assert add_known_unit(act=act(receiving), work_order=order, unit=gone.unit, **SEEN).number == 2


def test_the_database_itself_refuses_a_second_open_rebuild(receive, order):
    rebuild = receive()
    double = Rebuild(
        unit=rebuild.unit,
        work_order=order,
        revision=rebuild.revision,
        number=2,
        received_at=NOW,
        received_by=rebuild.received_by,
        **SEEN,
    )
    with pytest.raises(IntegrityError), transaction.atomic():
        Rebuild.objects.bulk_create([double])


# ---------- corrections ----------


def test_a_correction_keeps_what_stood_before_and_is_signed_again(receiving, receive, act):
    rebuild = receive(maker_serial="MX 71", hoses=["3", "4"], missing=["clip"])
    kept = rebuild.arrival_items.get(label="3")
    corrected = correct_intake(
        act=act(receiving, LATER, "read again in daylight"),
        rebuild=rebuild,
        maker_serial="MX 77",
        **{**SEEN, "arrival_condition": "oily, rod bent"},
        hoses=["3"],
        extra=["bracket"],
    )
    assert (corrected.arrival_condition, corrected.unit.maker_serial) == ("oily, rod bent", "MX 77")
    assert [str(item) for item in corrected.arrival_items.all()] == [
        "extra part: bracket",
        "hose attached: 3",
    ]
    assert corrected.arrival_items.get(label="3") == kept  # what was right keeps its row
    change = changes(
        corrected.history.all(),
        corrected.unit.history.all(),
        ArrivalItem.history.filter(rebuild_id=rebuild.pk),
    )[0]
    assert (change.by, change.why, change.at) == (str(receiving), "read again in daylight", LATER)
    assert set(change.lines) == {
        "Condition on arrival: was “oily, rod scored”, now “oily, rod bent”",
        "Maker's serial: was “MX 71”, now “MX 77”",
        "hose attached: 4: removed",
        "missing part: clip: removed",
        "extra part: bracket: entered",
    }
    first, second = corrected.signatures.order_by("pk")
    assert second.why == "read again in daylight"
    assert second.content_sha256 == digest(intake_record(corrected)) != first.content_sha256


def test_a_correction_needs_a_reason(receiving, receive, act):
    rebuild = receive()
    before = rows()
    with pytest.raises(RuleBroken, match="Say why"):
        correct_intake(act=act(receiving), rebuild=rebuild, maker_serial="", **SEEN)
    assert rows() == before


def test_a_correction_cannot_take_another_units_makers_serial(receiving, receive, act):
    receive(maker_serial="MX 77")
    rebuild = receive(maker_serial="MX 78")
    before = rows()
    with pytest.raises(RuleBroken, match="already"):
        correct_intake(act=act(receiving, why="misread"), rebuild=rebuild, maker_serial="mx 77", **SEEN)
    assert rows() == before
    correct_intake(act=act(receiving, why="case"), rebuild=rebuild, maker_serial="mx 78", **SEEN)
    assert Unit.objects.get(pk=rebuild.unit_id).maker_serial == "mx 78"


@pytest.mark.parametrize("stage", Rebuild.CLOSED_STAGES)
def test_an_intake_stays_once_the_unit_is_gone(receiving, act, stage):
    rebuild = RebuildFactory(stage=stage, exit_reason="wanted back")
    before = rows()
    with pytest.raises(RuleBroken, match="closed"):
        correct_intake(act=act(receiving, why="late"), rebuild=rebuild, maker_serial="", **SEEN)
    with pytest.raises(RuleBroken, match="has left the shop"):
        move_to_shelf(act=act(receiving), rebuild=rebuild, shelf="B2")
    assert rows() == before


def test_anybody_who_works_on_it_writes_down_where_a_unit_is(receive, bench, act):
    rebuild = move_to_shelf(act=act(bench, LATER), rebuild=receive(), shelf=" wash ")
    assert rebuild.shelf == "wash"
    assert rebuild.history.latest().history_user == bench


# ---------- photos ----------


def test_a_photo_is_added_by_anybody_and_never_without_its_rebuild(receive, bench, act):
    rebuild = receive()
    photo = add_photo(
        act=act(bench, LATER), rebuild=rebuild, upload=picture(), moment="teardown", caption=" rod "
    )
    assert (photo.by, photo.at, photo.caption, photo.moment) == (bench, LATER, "rod", "teardown")
    assert photo.file.content_type == "image/jpeg"


def test_a_later_photo_is_in_the_record_and_leaves_the_signed_receipt_as_it_was(receive, bench, act):
    rebuild = receive(photos=[picture("a.png")])
    signed = rebuild.signatures.get().content_sha256
    later = add_photo(
        act=act(bench, LATER), rebuild=rebuild, upload=picture(), moment="teardown", caption="rod"
    )
    assert digest(intake_record(rebuild)) == signed
    (shown,) = unit_record(rebuild.unit)["rebuilds"][0]["photos"]
    assert (shown["sha256"], shown["caption"], shown["by"]) == (later.file.sha256, "rod", str(bench))


def test_a_photo_of_a_finding_belongs_to_the_findings_rebuild(receive, bench, act):
    rebuild, other = receive(), receive()
    finding = Finding.objects.create(
        rebuild=other,
        position=PositionFactory(revision=other.revision),
        condition="worn",
        cause="wear",
        action="renewed",
        found_at=NOW,
        found_by=bench,
    )
    with pytest.raises(RuleBroken, match="belongs to another rebuild"):
        add_photo(act=act(bench), rebuild=rebuild, upload=picture(), moment="teardown", finding=finding)
    assert (
        add_photo(act=act(bench), rebuild=other, upload=picture(), moment="teardown", finding=finding).finding
        == finding
    )


# ---------- twins ----------


def test_twins_are_known_from_either_side_in_one_query(revision, django_assert_num_queries):
    left = place(revision, "left lift")
    right = place(revision, "right lift", twin=left)
    alone = place(revision, "steps")
    with django_assert_num_queries(1):
        assert twins_of([left, right, alone]) == {left.pk: right, right.pk: left}
    assert twins_of([left]) == {left.pk: right}
    assert twins_of([alone]) == twins_of([]) == {}


def test_a_unit_that_comes_after_debris_was_found_is_flagged_too():
    from tests.workorders.journey import Journey
    from workorders.services import receiving, teardown

    journey = Journey().receive()
    teardown.record_debris(act=journey.act("bench"), rebuild=journey.rebuild, origin="not determined")
    later = receiving.add_new_unit(
        act=journey.act("receiving"),
        work_order=journey.rebuild.work_order,
        unit_type=journey.revision.unit_type,
        opened_before="not_before",
        arrival_condition="complete",
    )
    assert later.circuit_flagged

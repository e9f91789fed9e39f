"""A unit received as the wrong type, and a photo of a rebuild taken over by its type."""

import pytest
from django.urls import reverse

from shop.errors import NotAllowed, RuleBroken
from shop.models import Application, MountingPlace, ReferencePhoto
from shop.services import catalogue
from tests import writes
from tests.asking import picture, rows, send
from tests.factories import (
    FluidFactory,
    MakerNumberFactory,
    RebuildFactory,
    TypeRevisionFactory,
    UnitFactory,
    UnitTypeFactory,
    WorkOrderFactory,
)
from tests.writes import Write
from workorders.models import Box, BoxLine, Finding, FluidFound, Quote, Rebuild, Signature, Unit
from workorders.services.other_type import correct_unit_type
from workorders.services.photos import add_photo
from workorders.services.receiving import add_new_unit

pytestmark = pytest.mark.django_db
INTAKE = {"opened_before": "not_before", "arrival_condition": "dirty, complete"}


@pytest.fixture
def right():
    """The type that the unit really is."""
    return TypeRevisionFactory(unit_type__code="LC-2", number=3)


@pytest.fixture
def rebuild(act, receiving):
    unit_type = TypeRevisionFactory(unit_type__code="LC-1").unit_type
    return add_new_unit(
        act=act(receiving), work_order=WorkOrderFactory(), unit_type=unit_type, maker_serial="A 1", **INTAKE
    )


def test_unit_and_rebuild_take_the_type_and_its_revision_and_are_signed_again(act, receiving, rebuild, right):
    correct_unit_type(act=act(receiving, why="plate read again"), rebuild=rebuild, unit_type=right.unit_type)
    rebuild.refresh_from_db()
    assert (rebuild.unit.unit_type, rebuild.revision) == (right.unit_type, right)
    assert rebuild.stage == "received"
    signed = rebuild.signatures.filter(meaning="received")
    assert [row.why for row in signed.order_by("pk")][-1] == "plate read again"
    assert signed.count() == 2
    for row in (rebuild.unit, rebuild):
        assert row.history.latest("history_id").history_change_reason == "plate read again"


def test_a_mounting_place_of_the_former_type_is_taken_out(act, receiving, rebuild, right):
    ramp = Application.objects.create(name="Ramp")
    rebuild.mounting_place = MountingPlace.objects.create(
        application=ramp, unit_type=rebuild.unit.unit_type, name="left"
    )
    rebuild.save()
    found = correct_unit_type(act=act(receiving, why="x"), rebuild=rebuild, unit_type=right.unit_type)
    assert found.mounting_place is None


def test_the_line_of_its_box_says_the_new_type(act, receiving, rebuild, right):
    box = Box.objects.create(
        number="B26-0001",
        work_order=rebuild.work_order,
        received_at=rebuild.received_at,
        received_by=receiving,
        packing="sound",
    )
    line = BoxLine.objects.create(
        box=box, order=1, what="x", expected=False, outcome="extra", rebuild=rebuild
    )
    correct_unit_type(act=act(receiving, why="x"), rebuild=rebuild, unit_type=right.unit_type)
    line.refresh_from_db()
    assert (line.unit_type, line.rebuild) == (right.unit_type, rebuild)


RECORDED = {
    "findings": lambda r, who, at: Finding.objects.create(
        rebuild=r,
        position=r.revision.positions.create(code="S1", name="seal", kind="wiper", motion="static"),
        condition="hardened",
        cause="age",
        action="renewed",
        found_at=at,
        found_by=who,
    ),
    "the fluid found": lambda r, who, at: FluidFound.objects.create(
        rebuild=r, fluid=FluidFactory(), water="none"
    ),
    "quotes": lambda r, who, at: Quote.objects.create(rebuild=r, amount=1, scope="x", by=who, at=at),
    "a signature after the receipt": lambda r, who, at: Signature.objects.create(
        rebuild=r, meaning="torn_down", printed_name="x", done_at=at, by=who, at=at
    ),
    "debris": lambda r, who, at: Rebuild.objects.filter(pk=r.pk).update(debris_found=True),
}


@pytest.mark.parametrize("words", RECORDED)
def test_once_something_is_recorded_the_type_stays(act, receiving, rebuild, right, words):
    RECORDED[words](rebuild, receiving, rebuild.received_at)
    with pytest.raises(RuleBroken, match=f"recorded already: {words}"):
        correct_unit_type(act=act(receiving, why="x"), rebuild=rebuild, unit_type=right.unit_type)
    assert Unit.objects.get().unit_type.code == "LC-1"


def test_what_forbids_it_is_said(act, receiving, lead, rebuild, right):
    def correct(why="x", row=rebuild, unit_type=right.unit_type):
        correct_unit_type(act=act(receiving, why=why), rebuild=row, unit_type=unit_type)

    with pytest.raises(RuleBroken, match="Say why"):
        correct(why=" ")
    with pytest.raises(RuleBroken, match="received as LC-1"):
        correct(unit_type=rebuild.unit.unit_type)
    with pytest.raises(RuleBroken, match="no approved revision"):
        correct(unit_type=UnitTypeFactory())
    with pytest.raises(RuleBroken, match="turned out to be LC-2"):
        correct(unit_type=UnitTypeFactory(provisional=True, merged_into=right.unit_type))
    UnitFactory(unit_type=right.unit_type, maker_serial="a 1")
    with pytest.raises(RuleBroken, match="has this maker's serial already"):
        correct()
    earlier = RebuildFactory(stage="shipped")
    again = RebuildFactory(unit=earlier.unit, number=2)
    with pytest.raises(RuleBroken, match="was here before as"):
        correct(row=again)
    with pytest.raises(RuleBroken, match="closed"):
        correct(row=earlier)


def test_only_receiving_and_the_lead_may(act, bench, rebuild, right):
    with pytest.raises(NotAllowed):
        correct_unit_type(act=act(bench, why="x"), rebuild=rebuild, unit_type=right.unit_type)


# ---------- pages ----------


def chosen(pk, type_pk):
    return reverse("workorders:other_type_chosen", args=[pk, type_pk])


@pytest.fixture
def photo(act, receiving, rebuild):
    return add_photo(act=act(receiving), rebuild=rebuild, upload=picture(), moment="receiving")


@pytest.fixture(params=["type", "photo"])
def write(request, rebuild, right, photo):
    if request.param == "type":
        return Write(
            url=chosen(rebuild.pk, right.unit_type_id),
            data={"why": "plate read again"},
            role="receiving",
            refused_role="bench",
            unknown=chosen(rebuild.pk, 10**6),
            bad={"why": ""},
            history=Rebuild.history,
            why="plate read again",
        )
    return Write(
        url=reverse("workorders:photo_reference", args=[photo.pk]),
        data={"shows": "whole_unit", "caption": "port side"},
        role="lead",
        refused_role="receiving",
        unknown=reverse("workorders:photo_reference", args=[10**6]),
        bad={"shows": ""},
        history=ReferencePhoto.history,
    )


def test_it_works_and_names_who_and_why(client, write):
    writes.check_works(client, write)


def test_asking_writes_nothing(client, write):
    writes.check_get(client, write)


def test_signed_out_people_sign_in_first(client, write):
    writes.check_signed_out(client, write)


def test_another_role_is_refused(client, write):
    writes.check_wrong_role(client, write)


def test_a_form_sent_twice_is_written_once(client, write):
    writes.check_twice(client, write)


def test_what_does_not_exist_is_not_found(client, write):
    writes.check_unknown(client, write)


def test_a_wrong_form_is_refused(client, write):
    writes.check_refused(client, write, write.bad)


def test_a_broken_rule_is_told_and_nothing_changes(client, receiving, rebuild, right):
    RECORDED["the fluid found"](rebuild, receiving, rebuild.received_at)
    client.force_login(receiving)
    before = rows()
    answer = send(client, chosen(rebuild.pk, right.unit_type_id), {"why": "x"})
    assert answer.status_code == 422
    assert "recorded already: the fluid found" in answer.content.decode()
    assert rows() == before


def test_the_right_type_is_looked_up_by_its_number(client, receiving, rebuild, right):
    MakerNumberFactory(unit_type=right.unit_type, number="HC-77")
    UnitTypeFactory(code="HC-77-DRAFT")  # has no revision that a unit could be received on
    client.force_login(receiving)
    url = reverse("workorders:other_type", args=[rebuild.pk])
    assert "LC-2" not in client.get(url).content.decode()
    text = client.get(url, {"q": "hc77"}).content.decode()
    assert chosen(rebuild.pk, right.unit_type_id) in text
    assert "HC-77-DRAFT" not in text
    assert "No unit type matches" in client.get(url, {"q": "nothing"}).content.decode()


def test_the_intake_offers_it_and_shows_what_was_changed(client, receiving, rebuild, right):
    client.force_login(receiving)
    intake = reverse("workorders:intake", args=[rebuild.pk])
    assert "It is another unit type" in client.get(intake).content.decode()
    send(client, chosen(rebuild.pk, right.unit_type_id), {"why": "plate read again"})
    text = client.get(intake).content.decode()
    assert "Unit type: was “LC-1" in text
    assert "plate read again" in text


def test_a_photo_taken_over_says_where_it_comes_from(client, lead, photo):
    client.force_login(lead)
    photos = reverse("workorders:photos", args=[photo.rebuild_id])
    url = reverse("workorders:photo_reference", args=[photo.pk])
    assert url in client.get(photos).content.decode()
    send(client, url, {"shows": "ports"})
    row = ReferencePhoto.objects.get()
    assert (row.file, row.unit_type) == (photo.file, photo.rebuild.unit.unit_type)
    assert row.source == f"unit {photo.rebuild.unit.serial}, {photo.rebuild.work_order.number}"
    assert send(client, url, {"shows": "ports"}).status_code == 422


def test_a_rebuild_keeps_the_revision_that_it_was_received_on(act, lead, rebuild):
    built_to = rebuild.revision
    told = act(lead, why="wider groove")
    draft = catalogue.draft_revision(act=told, unit_type=rebuild.unit.unit_type)
    catalogue.save_place(
        act=told,
        revision=draft,
        place="position",
        code="S1",
        name="rod seal",
        kind="rod_seal",
        motion="reciprocating",
    )
    catalogue.approve_revision(act=told, revision=draft)
    rebuild.refresh_from_db()
    built_to.refresh_from_db()
    assert (rebuild.revision, built_to.state) == (built_to, "superseded")

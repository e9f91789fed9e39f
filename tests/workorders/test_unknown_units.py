"""A unit of an unknown type is received: a draft type is opened for it, once, and a twin shares it."""

import re
import uuid

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse

from shop.errors import NotAllowed, RuleBroken
from shop.models import TypeRevision, UnitType
from shop.services import catalogue
from shop.services.draft_types import SeenOutside, bench_draft, open_draft_type
from tests.asking import picture, rows, send
from tests.factories import FluidFactory, PositionFactory, UnitTypeFactory, WorkOrderFactory, person
from workorders.models import BoxLine, Photo, Rebuild, Signature, Unit
from workorders.services import boxes
from workorders.services.receiving import add_known_unit, add_new_unit
from workorders.services.shipping import exit_rebuild
from workorders.services.unknown_units import add_unknown_unit

pytestmark = pytest.mark.django_db
TOLD = {"opened_before": "by_others", "arrival_condition": "wet at the rod"}
SEEN = SeenOutside(family="cylinder", name="black ramp cylinder", maker_numbers="77-4", bore_mm=32, ports=2)
FORM = {
    "family": "cylinder",
    "name": "black ramp cylinder",
    "numbers": "77-4",
    "bore_mm": "32",
    "rod_mm": "",
    "stroke_mm": "",
    "ports": "2",
    "maker_serial": "X 1",
    "opened_before": "by_others",
    "arrival_condition": "wet at the rod",
    "reported": "",
    "other_hoses": "4",
    "missing": "",
    "extra": "",
    "destination": "customer",
    "shelf": "B1",
}


@pytest.fixture
def order():
    return WorkOrderFactory()


@pytest.fixture
def receive(receiving, act, order):
    def make(seen=SEEN, **told):
        return add_unknown_unit(
            **{
                "act": act(receiving),
                "work_order": order,
                "seen": seen,
                "photos": [picture()],
                **TOLD,
                **told,
            }
        )

    return make


def page_of(order):
    return reverse("workorders:add_unknown", args=[order.number])


def test_an_unknown_unit_gets_type_draft_serial_and_rebuild(receive, receiving):
    rebuild = receive(maker_serial=" X  1 ")
    draft = rebuild.revision
    assert (draft.state, draft.number, draft.bore_mm, draft.service_fluid) == ("draft", 1, 32, None)
    assert draft.unit_type.provisional
    assert draft.unit_type.code == "D26-0001"
    assert draft.unit_type.note == "Ports counted at receiving: 2."
    assert rebuild.unit.unit_type == draft.unit_type
    assert (rebuild.stage, rebuild.unit.maker_serial) == ("received", "X 1")
    assert rebuild.signatures.get().meaning == Signature.Meaning.RECEIVED
    assert rebuild.photos.get().moment == Photo.Moment.RECEIVING
    assert draft.unit_type.history.get().history_user == receiving


def test_the_next_unknown_type_has_the_next_code_and_passes_over_one_entered_by_hand(receive):
    receive()
    UnitTypeFactory(code="D26-0002")
    assert receive().revision.unit_type.code == "D26-0003"


def test_without_a_photo_nothing_is_received(receive):
    before = rows()
    with pytest.raises(RuleBroken) as broken:
        receive(photos=[])
    assert "photo" in broken.value.fields
    assert rows() == before


@pytest.mark.parametrize(
    ("seen", "field"),
    [
        (SeenOutside(family="boat", name="x"), "family"),
        (SeenOutside(family="cylinder", name="  "), "name"),
    ],
)
def test_what_is_wrong_is_named_and_nothing_written(receive, seen, field):
    before = rows()
    with pytest.raises(RuleBroken) as broken:
        receive(seen)
    assert field in broken.value.fields
    assert rows() == before


def test_a_rod_goes_into_its_bore(receive):
    before = rows()
    with pytest.raises(RuleBroken, match="thinner than the bore"):
        receive(SeenOutside(family="cylinder", name="x", bore_mm=20, rod_mm=20))
    assert rows() == before


def test_the_bench_does_not_receive(bench, act, order):
    with pytest.raises(NotAllowed):
        add_unknown_unit(act=act(bench), work_order=order, seen=SEEN, photos=[picture()], **TOLD)


def test_a_twin_is_received_on_the_same_draft(receive, receiving, act, order):
    first = receive()
    twin = add_new_unit(act=act(receiving), work_order=order, unit_type=first.unit.unit_type, **TOLD)
    assert twin.revision == first.revision
    assert twin.unit != first.unit


def test_a_unit_that_left_comes_back_on_its_draft(receive, receiving, lead, act, order):
    first = receive()
    exit_rebuild(act=act(lead), rebuild=first, exit="scrapped", reason="bore cracked")
    again = add_known_unit(act=act(receiving), work_order=order, unit=first.unit, **TOLD)
    assert (again.revision, again.number) == (first.revision, 2)


def test_a_draft_that_the_lead_began_is_still_not_received(receiving, act, order):
    unit_type = UnitTypeFactory()
    TypeRevision.objects.create(unit_type=unit_type, service_fluid=FluidFactory())
    assert bench_draft(unit_type) is None
    with pytest.raises(RuleBroken, match="no approved revision"):
        add_new_unit(act=act(receiving), work_order=order, unit_type=unit_type, **TOLD)


def test_a_type_that_turned_out_to_be_another_is_not_received(receive, receiving, act, order):
    first = receive()
    known = UnitTypeFactory()
    UnitType.objects.filter(pk=first.unit.unit_type_id).update(merged_into=known)
    unit_type = UnitType.objects.get(pk=first.unit.unit_type_id)
    assert bench_draft(unit_type) is None
    with pytest.raises(RuleBroken, match="turned out to be"):
        add_new_unit(act=act(receiving), work_order=order, unit_type=unit_type, **TOLD)


def test_approval_asks_for_the_service_fluid_and_ends_the_provisional_state(receive, lead, act):
    draft = receive().revision
    PositionFactory(revision=draft)
    with pytest.raises(RuleBroken, match="service fluid"):
        catalogue.approve_revision(act=act(lead, why="first"), revision=draft)
    catalogue.change_revision(act=act(lead), revision=draft, service_fluid=FluidFactory())
    approved = catalogue.approve_revision(act=act(lead, why="first"), revision=draft)
    assert approved.state == "approved"
    assert not UnitType.objects.get(pk=draft.unit_type_id).provisional


# ---------- the rules in the database ----------


def test_the_database_wants_a_fluid_on_every_revision_but_a_draft(receive):
    draft = receive().revision
    with pytest.raises(IntegrityError, match="shop_typerevision_fluid_known"), transaction.atomic():
        TypeRevision.objects.filter(pk=draft.pk).update(state="approved")


def test_a_revision_without_a_fluid_is_told_so_in_words(receive):
    draft = receive().revision
    draft.state = "superseded"
    with pytest.raises(ValidationError, match="only a draft may leave it open"):
        draft.full_clean()


def test_the_database_lets_only_a_provisional_type_turn_out_to_be_another(receive):
    known, other = UnitTypeFactory(), UnitTypeFactory()
    with pytest.raises(IntegrityError, match="shop_unittype_merged_elsewhere"), transaction.atomic():
        UnitType.objects.filter(pk=known.pk).update(merged_into=other)
    mine = receive().unit.unit_type
    with pytest.raises(IntegrityError, match="shop_unittype_merged_elsewhere"), transaction.atomic():
        UnitType.objects.filter(pk=mine.pk).update(merged_into=mine)
    UnitType.objects.filter(pk=mine.pk).update(merged_into=known)


def test_the_constraint_speaks_through_the_service_too(act, lead):
    known, other = UnitTypeFactory(), UnitTypeFactory()
    with pytest.raises(RuleBroken, match="never itself"):
        catalogue.save_unit_type(act=act(lead, why="x"), unit_type=known, merged_into=other)


# ---------- the page ----------


def test_the_page_receives_it_and_leads_to_the_intake(client, receiving, order):
    client.force_login(receiving)
    answer = send(client, page_of(order), {**FORM, "photo": picture()})
    rebuild = Rebuild.objects.get()
    assert answer["Location"] == reverse("workorders:intake", args=[rebuild.pk])
    assert [str(row) for row in rebuild.revision.unit_type.maker_numbers.all()] == ["77-4"]
    assert [item.label for item in rebuild.arrival_items.all()] == ["4"]
    assert client.get(answer["Location"]).status_code == 200
    assert client.get(rebuild.get_absolute_url()).status_code == 200


def test_sent_twice_it_is_received_once(client, receiving, order):
    client.force_login(receiving)
    token = uuid.uuid4().hex
    first = send(client, page_of(order), {**FORM, "photo": picture()}, token=token)
    second = send(client, page_of(order), {**FORM, "photo": picture()}, token=token)
    assert first["Location"] == second["Location"]
    assert (Unit.objects.count(), UnitType.objects.filter(provisional=True).count()) == (1, 1)


def test_what_was_looked_up_before_stands_in_the_form(client, receiving, order):
    client.force_login(receiving)
    found = {"family": "power_unit", "bore_mm": "25.4", "numbers": "AB-1, AB-2", "ports": "3"}
    page = client.get(page_of(order), found).content.decode()
    assert 'value="25.4"' in page
    assert 'value="AB-1, AB-2"' in page
    assert re.search(r'<input[^>]*value="power_unit"[^>]* checked', page)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"photo": None}, "Take at least one photo"),
        ({"family": ""}, "Nothing is chosen yet"),
        ({"rod_mm": "40"}, "thinner than the bore"),
        ({"bore_mm": "-1"}, "at least 0 mm"),
    ],
)
def test_a_wrong_form_is_shown_again_and_nothing_is_written(client, receiving, order, change, words):
    client.force_login(receiving)
    before = rows()
    data = {
        name: value for name, value in {**FORM, "photo": picture(), **change}.items() if value is not None
    }
    answer = send(client, page_of(order), data)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert rows() == before


def test_others_and_strangers_are_refused(client, order):
    assert send(client, page_of(order), FORM).url.startswith("/sign-in/")
    client.force_login(person("bench"))
    assert send(client, page_of(order), FORM).status_code == 403
    client.force_login(person("receiving"))
    assert client.get(reverse("workorders:add_unknown", args=["W00-9999"])).status_code == 404


def test_it_is_received_from_the_line_of_a_box(client, receiving, order, act):
    client.force_login(receiving)
    box = boxes.announce_box(
        act=act(receiving),
        how="telephone",
        expected=[boxes.Expected(what="black cylinder", symptoms="drips")],
        customer=order.customer,
    )
    boxes.receive_box(act=act(receiving), box=box)
    boxes.put_into_work_order(act=act(receiving), box=box, work_order=order)
    line = BoxLine.objects.get()
    url = f"{page_of(order)}?line={line.pk}"
    assert "drips" in client.get(url).content.decode()
    assert send(client, url, {**FORM, "photo": picture()}).status_code == 302
    line.refresh_from_db()
    assert line.rebuild == Rebuild.objects.get()
    assert line.outcome == "found"


def test_the_list_of_types_offers_the_draft_and_the_way_for_a_unit_that_none_fits(client, receive, order):
    rebuild = receive()
    client.force_login(person("receiving"))
    page = client.get(reverse("workorders:add_unit", args=[order.number])).content.decode()
    assert "draft, being opened" in page
    assert reverse("workorders:add_new", args=[order.number, rebuild.unit.unit_type_id]) in page
    assert page_of(order) in page
    found = client.get(reverse("workorders:add_unit", args=[order.number]), {"q": "nothing like it"})
    assert page_of(order) in found.content.decode()


def test_only_receiving_opens_a_draft_type(act, bench):
    with pytest.raises(NotAllowed):
        open_draft_type(act=act(bench), seen=SEEN)

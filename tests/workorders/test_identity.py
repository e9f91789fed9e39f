"""A permanent mark is photographed before release, and compared when a unit comes back under a claim."""

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from shop.errors import NotAllowed, RuleBroken
from shop.models import TypeRevision
from shop.services.writing import Act
from tests.asking import picture, rows
from tests.conftest import NOW
from tests.factories import TypeRevisionFactory, person
from tests.workorders.journey import Journey
from workorders.models import Claim, Photo
from workorders.services import claims, receiving, releasing
from workorders.services.photos import add_photo

TOKEN = "0123456789abcdef0123456789abcdef"


def marked(journey):
    """Give the revision of a journey a place for the mark, past its approval."""
    revision = journey.rebuild.revision
    revision.mark_place, revision.mark_note = TypeRevision.MarkPlace.LUG, "dot-peened"
    revision._change_reason = "test"
    revision.save()
    return journey


def take_mark(journey):
    return add_photo(
        act=journey.act("bench"),
        rebuild=journey.rebuild,
        upload=picture("mark.png"),
        moment=Photo.Moment.MARK,
        caption="on the lug",
    )


@pytest.mark.django_db
def test_a_release_waits_for_the_photo_of_the_mark():
    journey = marked(Journey().tested())
    (row,) = releasing.missing_for_release(journey.rebuild)
    assert (row.name, row.sentence) == (
        "permanent mark",
        "is not photographed; it goes on: mounting lug or eye",
    )
    with pytest.raises(RuleBroken, match="permanent mark is not photographed"):
        journey.release()
    take_mark(journey)
    assert journey.release().released.number


@pytest.mark.django_db
def test_a_type_without_a_place_asks_for_no_mark():
    assert releasing.missing_for_release(Journey().tested().rebuild) == []


@pytest.mark.django_db
def test_the_missing_row_leads_to_the_photo_form_with_its_moment_chosen(client):
    journey = marked(Journey().tested())
    client.force_login(person("bench"))
    (row,) = releasing.missing_for_release(journey.rebuild)
    page = client.get(row.url)
    assert page.context["form"].initial["moment"] == "mark"
    assert "Never on a rod, and never on a wall that holds pressure" in page.content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize("place", ["rod", "barrel"])
def test_a_mark_on_a_rod_or_a_pressure_wall_is_refused_by_the_database(place):
    revision = TypeRevisionFactory()
    with pytest.raises(IntegrityError), transaction.atomic():
        TypeRevision.objects.filter(pk=revision.pk).update(mark_place=place)


@pytest.fixture
def returned(db):
    """A unit that left with a photographed mark and came back under a claim."""
    journey = marked(Journey().tested())
    take_mark(journey)
    journey.release().ship()
    claim = claims.open_claim(
        act=Act(by=person("warranty desk"), at=NOW),
        warranty=journey.rebuild.warranty,
        claimant=journey.rebuild.work_order.customer,
        reported="drips",
    )
    clerk = Act(by=person("receiving"), at=NOW)
    order = receiving.open_work_order(act=clerk, customer=claim.claimant)
    receiving.add_known_unit(
        act=clerk,
        work_order=order,
        unit=journey.unit,
        opened_before="not_before",
        arrival_condition="wet",
        photos=[picture("back.png")],
    )
    claim.refresh_from_db()
    return claim


def desk(why=""):
    return Act(by=person("warranty desk"), at=NOW, why=why)


def test_the_comparison_keeps_who_when_and_what_was_seen(returned):
    row = claims.compare_unit(
        act=desk("seen"), claim=returned, identity="same", note=" mark reads the serial "
    )
    assert (row.identity, row.identity_note, row.identity_at) == ("same", "mark reads the serial", NOW)
    assert row.history.first().history_change_reason == "seen"
    again = claims.compare_unit(act=desk("x"), claim=row, identity="no_mark", note="ground off")
    assert again.history.count() == returned.history.count()
    assert {state.identity for state in again.history.all()} >= {"", "same", "no_mark"}


@pytest.mark.parametrize(
    ("identity", "note", "field"), [("", "x", "identity"), ("twin", "x", "identity"), ("same", " ", "note")]
)
def test_a_comparison_needs_its_answer_and_what_was_seen(returned, identity, note, field):
    with pytest.raises(RuleBroken) as refused:
        claims.compare_unit(act=desk("x"), claim=returned, identity=identity, note=note)
    assert field in refused.value.fields
    returned.refresh_from_db()
    assert returned.identity == ""


def test_another_unit_is_not_covered_but_may_have_goodwill(returned):
    claims.compare_unit(act=desk("x"), claim=returned, identity="other", note="no lug, other paint")
    with pytest.raises(RuleBroken, match="Another unit came back, which this warranty does not cover"):
        claims.judge_claim(act=desk("x"), claim=returned, judgement="accepted", reason="leaks")
    assert claims.judge_claim(act=desk("x"), claim=returned, judgement="goodwill", reason="long customer")


def test_an_accepted_claim_is_judged_again_before_another_unit_is_recorded(returned):
    claims.judge_claim(act=desk("x"), claim=returned, judgement="accepted", reason="leaks")
    with pytest.raises(RuleBroken, match="Another unit came back"):
        claims.compare_unit(act=desk("x"), claim=returned, identity="other", note="other paint")


def test_the_database_keeps_both_rules(returned):
    for wrong in (
        {"identity": "same", "identity_note": ""},
        {
            "identity": "other",
            "identity_note": "x",
            "identity_at": NOW,
            "identity_by": returned.opened_by,
            "judgement": "accepted",
            "judged_at": NOW,
            "judged_by": returned.opened_by,
            "reason": "x",
        },
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            Claim.objects.filter(pk=returned.pk).update(**wrong)


def test_the_bench_may_not_compare(returned):
    with pytest.raises(NotAllowed):
        claims.compare_unit(act=Act(by=person("bench"), at=NOW), claim=returned, identity="same", note="x")


def test_the_page_shows_mark_and_arrival_side_by_side_and_takes_the_answer_once(client, returned):
    client.force_login(person("warranty desk"))
    page = client.get(returned.get_absolute_url())
    assert [one.moment for one in page.context["sent"]] == ["mark"]
    assert [one.moment for one in page.context["came"]] == ["receiving"]
    address = reverse("workorders:claim_compare", args=[returned.number])
    data = {"identity": "same", "note": "mark reads the serial", "form_token": TOKEN}
    before = rows()
    refused = client.post(address, {**data, "note": ""})
    assert refused.status_code == 422
    assert rows() == before
    assert client.get(address).status_code == 405
    assert client.post(address, data).status_code == 302
    after = rows()
    assert client.post(address, data).status_code == 302
    assert rows() == after
    assert "The same unit: mark and photo agree" in client.get(returned.get_absolute_url()).content.decode()


def test_who_may_not_and_what_is_not_there(client, returned):
    address = reverse("workorders:claim_compare", args=[returned.number])
    data = {"identity": "same", "note": "x", "form_token": TOKEN}
    assert client.post(address, data).status_code == 302  # sent to sign in
    client.force_login(person("bench"))
    assert client.post(address, data).status_code == 403
    client.force_login(person("warranty desk"))
    assert client.post(reverse("workorders:claim_compare", args=["K00-0000"]), data).status_code == 404
    returned.refresh_from_db()
    assert returned.identity == ""

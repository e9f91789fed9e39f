"""A draft that turned out to be a known type: its units move there, place by place, or not at all."""

import pytest
from django.urls import reverse

from shop.errors import NotAllowed, RuleBroken
from shop.models import Application, MountingPlace, UnitType
from shop.services import catalogue
from tests import factories
from tests.asking import picture, rows
from tests.workorders.draft_journey import DraftJourney
from tests.workorders.journey import make_type
from tests.writes import (
    Write,
    check_get,
    check_refused,
    check_signed_out,
    check_twice,
    check_unknown,
    check_works,
    check_wrong_role,
)
from workorders.models import Finding, Measurement, Rebuild, SealFound
from workorders.services import shipping, teardown
from workorders.services.draft_approval import bench_drafts
from workorders.services.draft_merge import PHOTOGRAPHED, merge_draft, pairs_for
from workorders.services.record.unit import unit_record
from workorders.services.teardown import open_places

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def kept(keep):
    return keep(lambda: DraftJourney().torn_down())


@pytest.fixture
def way(kept):
    return kept()


@pytest.fixture
def known():
    revision = make_type()
    revision.dimension_limits.update(stations=2)
    return revision


def proposed(way, known):
    return {pair.key: pair.proposed for pair in pairs_for(way.revision, known)}


def merge(way, known, mapped=None, **told):
    return merge_draft(
        **{
            "act": way.act("lead", "the number under the paint"),
            "revision": way.revision,
            "target": known,
            "mapped": proposed(way, known) if mapped is None else mapped,
            **told,
        }
    )


def codes(pairs):
    return {pair.place.code: pair.proposed and pair.proposed.code for pair in pairs}


def test_places_are_proposed_by_code_kind_and_motion(way, known):
    assert codes(pairs_for(way.revision, known)) == {
        "S1": "S1",
        "S2": "S2",
        "K1": "K1",
        "P1": "P1",
        "D1": "D1",
    }


def test_a_place_of_another_code_is_proposed_by_kind_and_each_once(known):
    way = DraftJourney().receive_unknown()
    way.add("position", kind="port_seal", code="A1")
    way.add("position", kind="port_seal", code="A2")
    way.add("position", kind="shaft_seal", code="A3")
    way.find_all()
    assert codes(pairs_for(way.revision, known)) == {"A1": "S3", "A2": "S4", "A3": None}


def test_places_that_nothing_names_need_no_counterpart(known):
    way = DraftJourney().receive_unknown().add_all()
    assert pairs_for(way.revision, known) == []
    merge(way, known, {})
    assert Rebuild.objects.get().revision == known


def test_units_findings_and_readings_move_and_keep_their_text(way, known):
    way.seal(way.places[0])
    before = rows()
    told = list(Finding.objects.order_by("pk").values("pk", "note", "found_at", "found_by_id", "condition"))
    values = list(Measurement.objects.order_by("pk").values_list("pk", "value", "station"))
    photos = [row.photos.count() for row in Finding.objects.order_by("pk")]
    merge(way, known)
    rebuild = Rebuild.objects.get()
    assert (rebuild.revision, rebuild.unit.unit_type) == (known, known.unit_type)
    assert rebuild.stage == "torn_down"
    assert told == list(
        Finding.objects.order_by("pk").values("pk", "note", "found_at", "found_by_id", "condition")
    )
    assert photos == [row.photos.count() for row in Finding.objects.order_by("pk")]
    assert {row.place.revision_id for row in Finding.objects.all()} == {known.pk}
    assert values == list(Measurement.objects.order_by("pk").values_list("pk", "value", "station"))
    assert {row.limit.revision_id for row in Measurement.objects.all()} == {known.pk}
    assert SealFound.objects.get().position.revision_id == known.pk
    assert Finding.objects.get(note="seen at S1").position.code == "S1"
    moved = rebuild.history.first()
    assert (moved.history_user, moved.history_change_reason) == (
        way.people["lead"],
        "the number under the paint",
    )
    after = rows()
    assert {name: after[name] for name in ("Finding", "Measurement", "Rebuild", "Unit", "UnitType")} == {
        name: before[name] for name in ("Finding", "Measurement", "Rebuild", "Unit", "UnitType")
    }
    assert {place.code for place in open_places(rebuild)} == {"S3", "S4", "H1"}


def test_the_draft_is_kept_marked_and_no_longer_offered(way, known, client):
    draft_type = merge(way, known)
    assert draft_type.merged_into == known.unit_type
    assert not bench_drafts().exists()
    client.force_login(factories.person("receiving"))
    order = Rebuild.objects.get().work_order
    page = client.get(reverse("workorders:add_unit", args=[order.number])).content.decode()
    assert draft_type.code not in page
    client.force_login(way.people["lead"])
    page = client.get(draft_type.get_absolute_url()).content.decode()
    assert "turned out to be" in page
    assert known.unit_type.get_absolute_url() in page
    with pytest.raises(RuleBroken, match="not opened at the bench"):
        merge(way, known, {})
    way.give_limits()
    catalogue.change_revision(
        act=way.act("lead"), revision=way.revision, service_fluid=factories.FluidFactory()
    )
    with pytest.raises(RuleBroken, match="turned out to be"):
        catalogue.approve_revision(act=way.act("lead", "x"), revision=way.revision)


def test_the_record_shows_where_the_unit_was_and_is(way, known):
    merge(way, known)
    record = unit_record(Rebuild.objects.get().unit)
    assert record["unit_type"] == str(known.unit_type)
    changed = [row["changed"] for row in record["changes"] if "revision_id" in row["changed"]]
    assert changed == [{"revision_id": {"from": way.revision.pk, "to": known.pk}}]


def test_the_unit_goes_on_to_its_release(way, known):
    merge(way, known)
    way.rebuild.refresh_from_db()
    way.revision = known
    for place in open_places(way.rebuild):
        teardown.record_finding(
            act=way.act("bench", "moved to a known type"),
            rebuild=way.rebuild,
            place=place,
            **(
                {"condition": "not_here", "cause": "not_determined", "action": "none"}
                if place.code == "H1"
                else {"condition": "hardened", "cause": "age", "action": "renewed"}
            ),
        )
    way.go_ahead().fit().close_build().start_test().run_steps().sign_test().release()
    way.rebuild.refresh_from_db()
    assert way.rebuild.stage == "released"


def test_a_hose_moves_with_its_port_and_keeps_that_it_was_photographed(known):
    way = DraftJourney().receive_unknown(hoses=["H1"]).add_all()
    hose = way.add("hose", port=way.places[3])
    way.find_all()
    teardown.record_port_photos(
        act=way.act("bench"), rebuild=way.rebuild, hose=hose, photos=[picture("port.png")]
    )
    teardown.record_finding(
        act=way.act("bench"),
        rebuild=way.rebuild,
        place=hose,
        condition="sound",
        cause="none",
        action="kept",
    )
    way.close_teardown()
    assert codes(pairs_for(way.revision, known))["H1"] == known.hoses.get().code
    merge(way, known)
    finding = Finding.objects.get(hose__isnull=False)
    assert (finding.hose, finding.no_photo_reason) == (known.hoses.get(), PHOTOGRAPHED)
    assert Rebuild.objects.get().photos.get(moment="port").port == way.places[3]


def test_a_place_without_a_counterpart_is_named_and_nothing_moves(way, known):
    mapped = proposed(way, known) | {("position", way.places[1].pk): None}
    way.act("lead")
    before = rows()
    with pytest.raises(RuleBroken, match=r"S2 piston seal: no place of .* is chosen"):
        merge(way, known, mapped)
    assert rows() == before
    assert Rebuild.objects.get().revision == way.revision


@pytest.mark.parametrize("has_hose", [True, False])
def test_the_page_says_what_comes_first_where_the_known_type_has_no_such_place(client, known, has_hose):
    way = DraftJourney().receive_unknown()
    way.add("hose", port=way.add("port", fitting="clipped"), attachment="removable")
    teardown.record_finding(
        act=way.act("bench"),
        rebuild=way.rebuild,
        place=way.places[-1],
        condition="sound",
        cause="none",
        action="kept",
        no_photo_reason="seen on the rig",
    )
    if not has_hose:
        known = factories.TypeRevisionFactory(state="approved")
    assert known.hoses.exists() is has_hose
    client.force_login(factories.person("lead"))
    page = client.get(reverse("workorders:draft_merge", args=[way.revision.pk, known.pk])).content.decode()
    assert ("the known type has none" in page) is not has_hose
    assert ("until then nothing moves" in page) is not has_hose


def test_two_places_cannot_become_one(way, known):
    first = known.positions.first()
    mapped = proposed(way, known) | {("position", way.places[1].pk): first}
    with pytest.raises(RuleBroken, match="is taken by S1 rod seal already"):
        merge(way, known, mapped)
    assert Rebuild.objects.get().revision == way.revision


def test_a_place_of_a_third_type_is_refused(way, known):
    mapped = proposed(way, known) | {("position", way.places[0].pk): make_type().positions.first()}
    with pytest.raises(RuleBroken, match="is no such place of"):
        merge(way, known, mapped)


def test_readings_stay_on_the_record_where_the_type_has_no_such_dimension(known):
    way = DraftJourney().receive_unknown().add_all().find_all()
    way.gland(way.places[0])
    pairs = {pair.place.name: pair for pair in pairs_for(way.revision, known)}
    depth = pairs["gland depth of S1"]
    assert (depth.proposed, depth.may_stay) == (None, True)
    merge(way, known)
    stays = Measurement.objects.filter(limit__revision=way.revision)
    assert {row.limit.gland_figure for row in stays} == {"depth", "width", "diameter"}
    [told] = unit_record(Rebuild.objects.get().unit)["rebuilds"]
    assert len(told["measurements"]) == Measurement.objects.count()


def test_readings_that_the_counterpart_cannot_hold_are_named(way, known):
    limit = known.dimension_limits.get()
    limit.stations = 1
    limit.save()
    assert proposed(way, known)["dimension", way.places[4].pk] is None
    mapped = proposed(way, known) | {("dimension", way.places[4].pk): limit}
    with pytest.raises(RuleBroken, match=r"read at station 2, and .* has 1"):
        merge(way, known, mapped)
    limit.stations, limit.unit = 2, "µm"
    limit.save()
    mapped = proposed(way, known) | {("dimension", way.places[4].pk): limit}
    with pytest.raises(RuleBroken, match="read in mm"):
        merge(way, known, mapped)


def test_a_makers_serial_that_the_known_type_has_is_named(way, known):
    there = factories.UnitFactory(unit_type=known.unit_type, maker_serial="MX 7")
    type(way.rebuild.unit).objects.filter(pk=way.rebuild.unit_id).update(maker_serial="MX 7")
    with pytest.raises(RuleBroken, match=f"unit {there.serial} has the maker's serial MX 7 already"):
        merge(way, known)
    assert Rebuild.objects.get().revision == way.revision


def test_a_closed_rebuild_keeps_its_revision_and_its_unit_moves(way, known):
    twin = way.twin()
    shipping.exit_rebuild(act=way.act("lead"), rebuild=twin.rebuild, exit="scrapped", reason="cracked")
    merge(way, known)
    twin.rebuild.refresh_from_db()
    assert twin.rebuild.revision == way.revision
    assert twin.rebuild.unit.unit_type == known.unit_type


def test_the_places_where_it_is_mounted_move_along(way, known):
    place = MountingPlace.objects.create(
        application=Application.objects.create(name="Ramp"), unit_type=way.revision.unit_type, name="left"
    )
    merge(way, known)
    place.refresh_from_db()
    assert place.unit_type == known.unit_type


def test_it_needs_a_reason_an_approved_type_and_the_lead(way, known):
    told = {"revision": way.revision, "mapped": {}}
    with pytest.raises(RuleBroken) as broken:
        merge_draft(act=way.act("lead"), target=known, **told)
    assert "why" in broken.value.fields
    other = DraftJourney(people=way.people, now=way.now).receive_unknown()
    with pytest.raises(RuleBroken, match="has an approved revision"):
        merge_draft(act=way.act("lead", "x"), target=other.revision, **told)
    with pytest.raises(RuleBroken, match=r"not opened at the bench|no longer changes"):
        merge_draft(act=way.act("lead", "x"), revision=known, target=known, mapped={})
    with pytest.raises(NotAllowed):
        merge_draft(act=way.act("bench", "x"), target=known, **told)
    assert UnitType.objects.get(pk=way.revision.unit_type_id).merged_into is None


def write(way, known):
    pairs = pairs_for(way.revision, known)
    data = {f"{pair.kind}_{pair.place.pk}": str(pair.proposed.pk) for pair in pairs}
    return Write(
        url=reverse("workorders:draft_merge", args=[way.revision.pk, known.pk]),
        data={**data, "why": "the number under the paint"},
        role="lead",
        refused_role="bench",
        unknown=reverse("workorders:draft_merge", args=[way.revision.pk, 999_999]),
        bad={"why": ""},
        broken={f"position_{way.places[0].pk}": ""},
        history=UnitType.history,
        why="the number under the paint",
    )


@pytest.mark.parametrize(
    "check",
    [check_works, check_get, check_signed_out, check_wrong_role, check_unknown, check_twice],
    ids=lambda check: check.__name__,
)
def test_the_page_that_moves_the_units(client, way, known, check):
    check(client, write(way, known))


@pytest.mark.parametrize("which", ["bad", "broken"])
def test_a_refused_move_changes_nothing(client, way, known, which):
    told = write(way, known)
    check_refused(client, told, getattr(told, which))


def test_known_types_of_the_family_are_found(client, way, known):
    client.force_login(factories.person("lead"))
    address = reverse("workorders:draft_known", args=[way.revision.pk])
    page = client.get(address, {"q": known.unit_type.code}).content.decode()
    assert reverse("workorders:draft_merge", args=[way.revision.pk, known.pk]) in page
    assert "No approved type matches" in client.get(address, {"q": "nothing like it"}).content.decode()
    UnitType.objects.filter(pk=known.unit_type_id).update(family="power_unit")
    assert "No approved type matches" in client.get(address, {"q": known.unit_type.code}).content.decode()

"""Upgraded materials of a kit line: the shop's statement with reasons, beside what sources say."""

import re

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from inventory.models import Kit, KitLine
from inventory.services import kit_lines
from inventory.services.upgrades import Upgrade, material_checks, upgrade_of
from shop.changes import changes
from shop.errors import RuleBroken
from tests.asking import rows, send
from tests.factories import (
    FluidFactory,
    PartFactory,
    PositionFactory,
    TypeRevisionFactory,
    person,
)

pytestmark = pytest.mark.django_db
BETTER = Upgrade(
    reasons=("upgrade_heat", "upgrade_oxidation"), original_polymer="NBR", words="peroxide-cured compound"
)


@pytest.fixture
def kit():
    return Kit.objects.create(revision=TypeRevisionFactory(state="draft"), name="seal set")


@pytest.fixture
def place(kit):
    return PositionFactory(revision=kit.revision, code="S1", name="stem")


def save(act, lead, kit, place, *, polymer="HNBR", kind="lip_seal", **told):
    part = PartFactory(kind=kind, polymer=polymer)
    return kit_lines.save_kit_line(act=act(lead, why="better seal"), kit=kit, place=place, part=part, **told)


def test_a_line_keeps_what_the_shop_states_with_its_history(act, lead, kit, place):
    line = save(act, lead, kit, place, upgrade=BETTER)
    line.refresh_from_db()
    assert upgrade_of(line).original_polymer == "NBR"
    assert line.upgrade_reasons == ["oxidation", "heat"]
    assert line.upgrade_sentence == (
        "HNBR in place of NBR: resists oxidation, heat; peroxide-cured compound (stated by the shop)"
    )
    kit_lines.save_kit_line(
        act=act(lead, why="no proof of it"), kit=kit, line=line, place=place, part=line.part
    )
    line.refresh_from_db()
    assert (line.is_upgrade, line.upgrade_sentence, line.original_polymer) == (False, "", "")
    assert [old.upgrade_heat for old in line.history.all()] == [False, True]
    latest = changes(several=[KitLine.history.filter(id=line.pk)])[0]
    assert "S1 stem, upgrade against heat: was “yes”, now “no”" in latest.lines
    assert "S1 stem, material before: was “NBR”, now empty" in latest.lines
    assert line.history.first().history_change_reason == "no proof of it"


def test_a_material_before_that_nobody_knows_is_said_to_be_unknown(act, lead, kit, place):
    line = save(act, lead, kit, place, upgrade=Upgrade(reasons=("upgrade_wear",)))
    assert "in place of a material that is not known: resists wear (stated" in line.upgrade_sentence


@pytest.mark.parametrize(
    ("upgrade", "field", "words"),
    [
        (Upgrade(reasons=("upgrade_other",)), "upgrade_words", "other reason"),
        (Upgrade(original_polymer="NBR"), "upgrade_reasons", "better against"),
        (Upgrade(words="nicer"), "upgrade_reasons", "better against"),
        (Upgrade(reasons=("upgrade_price",)), "upgrade_reasons", "No such reason"),
        (Upgrade(reasons=("upgrade_heat",), original_polymer="HNBR"), "upgrade_words", "Both are HNBR"),
    ],
)
def test_what_is_half_said_is_refused_and_nothing_changed(act, lead, kit, place, upgrade, field, words):
    part, before = PartFactory(polymer="HNBR", kind="lip_seal"), rows()
    with pytest.raises(RuleBroken) as refused:
        kit_lines.save_kit_line(act=act(lead), kit=kit, place=place, part=part, upgrade=upgrade)
    assert words in refused.value.fields[field]
    assert {**rows(), "Part": 0} == {**before, "Part": 0}


def test_a_part_without_a_material_is_no_upgrade_of_one(act, lead, kit, place):
    with pytest.raises(RuleBroken) as refused:
        save(act, lead, kit, place, polymer="", kind="clip", upgrade=BETTER)
    assert "no sealing material" in refused.value.fields["upgrade_reasons"]


@pytest.mark.parametrize(
    "wrong", [{"original_polymer": "NBR"}, {"upgrade_words": "better"}, {"upgrade_other": True}]
)
def test_the_database_keeps_the_same_rules(kit, place, wrong):
    with pytest.raises(IntegrityError), transaction.atomic():
        KitLine.objects.create(kit=kit, position=place, part=PartFactory(), **wrong)


def test_every_reason_of_the_list_is_a_field_and_counts_in_the_constraint(kit, place):
    names = {field.name for field in KitLine._meta.fields if field.name.startswith("upgrade_")}
    assert names - {"upgrade_words"} == set(KitLine.UPGRADES)
    for name in KitLine.UPGRADES:
        KitLine.objects.create(
            kit=kit, position=place, part=PartFactory(), upgrade_words="said", **{name: True}
        )


def test_the_kit_of_the_next_revision_keeps_the_upgrade(act, lead, kit, place):
    save(act, lead, kit, place, upgrade=BETTER)
    draft = TypeRevisionFactory(unit_type=kit.revision.unit_type, number=2, state="draft")
    PositionFactory(revision=draft, code="S1")
    copy = kit_lines.make_kit(act=act(lead), revision=draft, copy_from=kit)
    assert upgrade_of(copy.lines.get()) == upgrade_of(kit.lines.get())
    assert copy.lines.get().is_upgrade


def test_both_materials_are_looked_up_in_the_service_fluid(act, lead):
    """Water glycol HFC: EPDM good and NBR good in the source read (oringsupplyco.com, hydraulic-system-
    o-ring-selection); phosphate ester HFDR: NBR not suitable, EPDM good (nbr-vs-epdm-o-rings)."""
    ester = TypeRevisionFactory(state="draft", service_fluid=FluidFactory(name="HFDR", family="HFDR"))
    kit = Kit.objects.create(revision=ester, name="ester set")
    line = save(
        act,
        lead,
        kit,
        PositionFactory(revision=ester),
        polymer="EPDM",
        upgrade=Upgrade(reasons=("upgrade_swelling",), original_polymer="NBR"),
    )
    check = material_checks([line], ester)[line.pk]
    assert (check.new.rating, check.new.basis) == ("good", "READ")
    assert (check.original.rating, check.original.basis) == ("not suitable", "READ")
    assert not check.is_lower


def test_a_material_that_is_rated_lower_in_the_fluid_is_told(client, act, lead, kit, place):
    """NBR is read as good in mineral oil, VMQ from memory as limited: an upgrade in heat, not in the oil."""
    line = save(
        act,
        lead,
        kit,
        place,
        polymer="VMQ",
        reason="furnace door",
        upgrade=Upgrade(reasons=("upgrade_heat",), original_polymer="NBR"),
    )
    check = material_checks([line], kit.revision)[line.pk]
    assert (check.new.rating, check.new.basis, check.is_lower) == ("limited", "MEMORY", True)
    client.force_login(lead)
    text = client.get(reverse("inventory:kit", args=[kit.pk])).content.decode()
    assert "rated lower in this fluid than before" in text
    assert "from memory, not verified" in text


def test_without_a_service_fluid_nothing_is_claimed(act, lead):
    draft = TypeRevisionFactory(state="draft", service_fluid=None)
    kit = Kit.objects.create(revision=draft, name="set")
    line = save(act, lead, kit, PositionFactory(revision=draft), upgrade=BETTER)
    check = material_checks([line], draft)[line.pk]
    assert (check.new, check.original, check.is_lower) == (None, None, False)


def plain(answer):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def test_it_stands_on_the_kit_page_the_type_page_and_in_the_files(client, act, lead, kit, place):
    save(act, lead, kit, place, upgrade=BETTER)
    client.force_login(person("bench"))
    page = reverse("inventory:kit", args=[kit.pk])
    for url in (page, f"{kit.revision.unit_type.get_absolute_url()}?revision={kit.revision.number}"):
        text = plain(client.get(url))
        assert "stated by the shop: oxidation, heat; peroxide-cured compound" in text
        assert "read in the named source" in text
    lines = client.get(page, {"format": "csv"}).content.decode()
    assert '"oxidation, heat",peroxide-cured compound' in lines
    kits = client.get(reverse("inventory:kits"), {"format": "csv", "sort": "-upgraded-materials"})
    assert "Upgraded materials" in kits.content.decode()
    assert client.get(page, {"format": "pdf"}).status_code == 404


def test_the_form_takes_shows_and_refuses_it(client, lead, kit, place):
    client.force_login(lead)
    part = PartFactory(kind="lip_seal", polymer="HNBR")
    url = reverse("inventory:kit_line_new", args=[kit.pk])
    told = {
        "place": f"position-{place.pk}",
        "part": part.pk,
        "quantity": 1,
        "preference": 1,
        "required": "on",
        "original_polymer": "NBR",
        "upgrade_reasons": ["upgrade_heat", "upgrade_other"],
    }
    answer = send(client, url, told)
    assert answer.status_code == 422
    assert "Say in words what the other reason is" in answer.content.decode()
    assert send(client, url, {**told, "upgrade_words": "quieter"}).status_code == 302
    line = kit.lines.get()
    text = client.get(reverse("inventory:kit_line_change", args=[kit.pk, line.pk])).content.decode()
    assert 'value="quieter"' in text
    assert re.search(r'value="upgrade_other"[^>]*checked', text)
    assert '<option value="NBR" selected' in text

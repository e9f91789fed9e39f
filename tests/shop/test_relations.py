"""Makers' numbers, variants, interchange and reference photos: their rules, services and pages."""

import importlib
import uuid
from types import SimpleNamespace

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from shop.errors import NotAllowed, RuleBroken
from shop.models import Interchange, MakerNumber, ReferencePhoto, StoredFile, UnitType
from shop.services import interchange, maker_numbers, reference_photos
from shop.services.interchange import replaceable_by, stands_in_for
from tests import writes
from tests.asking import picture, send
from tests.factories import NOW, MakerNumberFactory, TypeRevisionFactory, UnitTypeFactory, UserFactory
from tests.writes import Write

pytestmark = pytest.mark.django_db
LEAD = {"role": "lead", "refused_role": "bench"}


def page(name, *args):
    return reverse(f"shop:{name}", args=args)


def photo_file():
    fields = {"sha256": "0" * 64, "kind": "photo", "name": "x.jpg", "content_type": "image/jpeg"}
    return StoredFile.objects.create(size_bytes=1, by=UserFactory(), at=NOW, **fields)


def relate(stand_in, replaced, **fields):
    return Interchange(stand_in=stand_in, replaced=replaced, **{"basis": "compared on the bench"} | fields)


# ---------- the rules of the database ----------


def same_number():
    first = MakerNumberFactory(number="BD-4410")
    return MakerNumber(unit_type=first.unit_type, number="bd 4410", bare="BD4410")


def number(**fields):
    return MakerNumber(unit_type=UnitTypeFactory(), **{"number": "B-1", "bare": "B1"} | fields)


def by_itself():
    row = MakerNumberFactory()
    row.superseded_by = row
    return row


def same_pair(**fields):
    one, other = UnitTypeFactory(), UnitTypeFactory()
    relate(one, other, **fields).save()
    return one, other


def same_photo():
    row = ReferencePhoto(unit_type=UnitTypeFactory(), file=photo_file(), shows="ports")
    row.save()
    return ReferencePhoto(unit_type=row.unit_type, file=row.file, shows="detail")


def variant_of_itself():
    row = UnitTypeFactory()
    row.variant_of, row.differs = row, "itself"
    return row


def itself():
    row = UnitTypeFactory()
    return relate(row, row)


RULES = {
    "number_once": (same_number, "has this number already"),
    "number_bare_form": (lambda: number(bare="b-1"), "at least one letter or digit"),
    "number_years_in_order": (lambda: number(year_from=2009, year_to=2008), "before its first one"),
    "number_years_plausible": (lambda: number(year_from=98), "four digits"),
    "number_not_by_itself": (by_itself, "not by itself"),
    "variant_of_itself": (variant_of_itself, "not of itself"),
    "variant_untold": (
        lambda: UnitTypeFactory.build(variant_of=UnitTypeFactory()),
        "the type it is a variant of, and what differs",
    ),
    "difference_without_variant": (
        lambda: UnitTypeFactory.build(differs="longer"),
        "the type it is a variant of, and what differs",
    ),
    "type_years_in_order": (
        lambda: UnitTypeFactory.build(built_from=2009, built_to=2008),
        "before its first",
    ),
    "type_years_plausible": (lambda: UnitTypeFactory.build(built_to=98), "four digits"),
    "interchange_with_itself": (itself, "nobody's leave to stand in for itself"),
    "interchange_pair_once": (lambda: relate(*same_pair()), "written down already"),
    "interchange_pair_once_either_way": (lambda: relate(*same_pair(both_ways=True)[::-1]), "already"),
    "interchange_has_basis": (
        lambda: relate(UnitTypeFactory(), UnitTypeFactory(), basis=""),
        "Say who says so",
    ),
    "photo_once": (same_photo, "is a reference photo of this unit type already"),
}


@pytest.mark.parametrize("rule", RULES)
def test_the_rule_is_said_in_words(rule):
    make, words = RULES[rule]
    row = make()
    if rule == "interchange_has_basis":
        words = "blank|Say who"
    with pytest.raises(ValidationError, match=words):
        row.full_clean()


@pytest.mark.parametrize("rule", RULES)
def test_the_database_enforces_the_rule(rule):
    row = RULES[rule][0]()
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


# ---------- services ----------


def test_a_number_is_kept_as_written_and_compared_without_signs(act, lead):
    row = maker_numbers.save_maker_number(
        act=act(lead), unit_type=UnitTypeFactory(), number=" BD 4410 / b ", year_from=2004, year_to=2009
    )
    assert (row.number, row.bare, row.years) == ("BD 4410 / b", "BD4410B", "2004 to 2009")


@pytest.mark.parametrize(
    ("first", "last", "words"), [(2004, None, "from 2004"), (None, 2009, "until 2009"), (2004, 2004, "2004")]
)
def test_years_are_said_in_words(first, last, words):
    assert UnitTypeFactory.build(built_from=first, built_to=last).years == words


def test_a_correction_keeps_the_reason_and_a_number_without_one_is_refused(act, lead):
    row = MakerNumberFactory(number="BD-4410")
    told = {"unit_type": row.unit_type, "row": row, "number": "BD-4411"}
    with pytest.raises(RuleBroken, match="Say why the number is corrected"):
        maker_numbers.save_maker_number(act=act(lead), **told)
    maker_numbers.save_maker_number(act=act(lead, why="misread"), **told)
    row.refresh_from_db()
    assert (row.number, row.bare) == ("BD-4411", "BD4411")
    assert row.history.latest("history_id").history_change_reason == "misread"


def test_numbers_do_not_supersede_each_other_in_a_circle(act, lead):
    first = MakerNumberFactory(number="A-1")
    second = MakerNumberFactory(number="B-2", superseded_by=first)
    third = MakerNumberFactory(number="C-3", superseded_by=second)
    with pytest.raises(RuleBroken, match="C-3 was itself superseded by A-1"):
        maker_numbers.save_maker_number(
            act=act(lead, why="x"), unit_type=first.unit_type, row=first, superseded_by=third
        )


def test_what_superseded_another_number_stays(act, lead):
    later = MakerNumberFactory(number="B-2")
    MakerNumberFactory(number="A-1", unit_type__code="LC-1", superseded_by=later)
    with pytest.raises(RuleBroken, match=r"B-2 is what superseded A-1 \(LC-1\)"):
        maker_numbers.remove_maker_number(act=act(lead, why="wrong"), row=later)
    assert MakerNumber.objects.count() == 2


def test_a_number_taken_off_leaves_its_history_with_the_reason(act, lead):
    row = MakerNumberFactory()
    with pytest.raises(RuleBroken, match="Say why"):
        maker_numbers.remove_maker_number(act=act(lead), row=row)
    maker_numbers.remove_maker_number(act=act(lead, why="was a casting number"), row=row)
    last = MakerNumber.history.latest("history_id")
    assert (last.history_type, last.history_change_reason) == ("-", "was a casting number")


def variant(act, row, of, **fields):
    return maker_numbers.save_variant(
        act=act, unit_type=row, variant_of=of, **{"differs": "longer eye"} | fields
    )


def test_a_variant_names_the_design_and_not_another_variant(act, lead):
    told, design, first, second = act(lead, why="drawing"), *UnitTypeFactory.create_batch(3)
    variant(told, first, design, built_from=2009)
    assert [row.pk for row in design.variants.all()] == [first.pk]
    with pytest.raises(RuleBroken, match="itself a variant of"):
        variant(told, second, first)
    with pytest.raises(RuleBroken, match="give that another type first"):
        variant(told, design, second)
    with pytest.raises(RuleBroken, match="a power unit"):
        variant(told, second, UnitTypeFactory(family="power_unit"))
    with pytest.raises(RuleBroken, match="Say how this is known"):
        variant(act(lead), second, design)


def test_interchange_holds_one_way_or_both_ways(act, lead):
    old, new, other = (UnitTypeFactory(code=code) for code in ("A-OLD", "B-NEW", "C-TWIN"))
    told = {"act": act(lead), "basis": "maker's list"}
    one_way = interchange.save_interchange(stand_in=new, replaced=old, both_ways=False, **told)
    both = interchange.save_interchange(stand_in=other, replaced=old, both_ways=True, **told)
    assert [(each.unit_type.code, each.row) for each in stands_in_for(old)] == [
        ("B-NEW", one_way),
        ("C-TWIN", both),
    ]
    assert stands_in_for(new) == []
    assert [each.unit_type.code for each in stands_in_for(other)] == ["A-OLD"]
    assert [each.unit_type.code for each in replaceable_by(new)] == ["A-OLD"]
    assert [each.unit_type.code for each in replaceable_by(old)] == ["C-TWIN"]
    assert [each.row for each in replaceable_by(other)] == [both]


def test_what_may_stand_in_costs_one_query(act, lead):
    row = UnitTypeFactory()
    costs = []
    for _turn in range(2):
        for each in UnitTypeFactory.create_batch(10):
            relate(each, row).save()
        with CaptureQueriesContext(connection) as queries:
            names = [str(each.unit_type) for each in stands_in_for(row)]
        costs.append((len(names), len(queries)))
    assert costs == [(10, 1), (20, 1)]


def test_two_families_have_no_interchange(act, lead):
    with pytest.raises(RuleBroken, match="A power unit cannot stand in for a cylinder"):
        interchange.save_interchange(
            act=act(lead),
            stand_in=UnitTypeFactory(family="power_unit"),
            replaced=UnitTypeFactory(),
            both_ways=False,
            basis="x",
        )


def test_only_photos_become_reference_photos(act, lead):
    paper = photo_file()
    paper.kind = "paper"
    paper.save()
    with pytest.raises(RuleBroken, match="Choose a photo"):
        reference_photos.add_reference_photo(
            act=act(lead), unit_type=UnitTypeFactory(), shows="ports", file=paper
        )


@pytest.mark.parametrize(
    "write",
    [
        lambda told: maker_numbers.save_maker_number(unit_type=UnitTypeFactory(), number="A", **told),
        lambda told: maker_numbers.save_variant(unit_type=UnitTypeFactory(), **told),
        lambda told: interchange.remove_interchange(row=relate(*same_pair()), **told),
        lambda told: reference_photos.remove_reference_photo(row=same_photo(), **told),
    ],
)
def test_only_the_lead_writes(act, receiving, write):
    with pytest.raises(NotAllowed):
        write({"act": act(receiving, why="x")})


# ---------- pages ----------


@pytest.fixture
def world():
    """A type with everything on its page, and another to relate it to."""
    row, other = TypeRevisionFactory(unit_type__code="LC-1").unit_type, UnitTypeFactory(code="LC-2")
    later = MakerNumberFactory(unit_type=other, number="NEW-2")
    known = relate(row, other)
    known.save()
    photo = ReferencePhoto.objects.create(unit_type=row, file=photo_file(), shows="ports")
    return SimpleNamespace(
        row=row,
        other=other,
        later=later,
        number=MakerNumberFactory(unit_type=row, number="OLD-1"),
        known=known,
        photo=photo,
    )


NUMBER = {"number": "BD 4410", "year_from": "2004"}
PAIR = {"direction": "for", "basis": "compared on the bench"}
WRITES = {
    "number_new": lambda w: Write(
        url=page("number_new", w.row.pk),
        data=NUMBER,
        unknown=page("number_new", 10**6),
        bad={"superseded_by": "nowhere"},
        broken={"number": "old.1"},
        history=MakerNumber.history,
        **LEAD,
    ),
    "number_change": lambda w: Write(
        url=page("number_change", w.row.pk, w.number.pk),
        data={**NUMBER, "superseded_by": "new 2", "why": "the maker's list"},
        unknown=page("number_change", w.other.pk, w.number.pk),
        bad={"why": ""},
        broken={"year_to": "2003"},
        history=MakerNumber.history,
        why="the maker's list",
        **LEAD,
    ),
    "number_remove": lambda w: Write(
        url=page("number_remove", w.row.pk, w.number.pk),
        data={"why": "a casting number"},
        unknown=page("number_remove", w.other.pk, w.number.pk),
        bad={"why": ""},
        history=MakerNumber.history,
        why="a casting number",
        **LEAD,
    ),
    "variant_change": lambda w: Write(
        url=page("variant_change", w.row.pk),
        data={"variant_of": w.other.pk, "differs": "longer eye", "built_to": "2008", "why": "drawing 7"},
        unknown=page("variant_change", 10**6),
        bad={"built_from": "98"},
        broken={"differs": ""},
        history=UnitType.history,
        why="drawing 7",
        **LEAD,
    ),
    "interchange_new": lambda w: Write(
        url=page("interchange_new", w.row.pk),
        data={**PAIR, "other": UnitTypeFactory(code="LC-3").pk},
        unknown=page("interchange_new", 10**6),
        bad={"direction": ""},
        broken={"other": w.other.pk},
        history=Interchange.history,
        **LEAD,
    ),
    "interchange_change": lambda w: Write(
        url=page("interchange_change", w.other.pk, w.known.pk),
        data={**PAIR, "other": w.row.pk, "direction": "both", "condition": "new hoses", "why": "tried"},
        unknown=page("interchange_change", UnitTypeFactory().pk, w.known.pk),
        bad={"why": ""},
        history=Interchange.history,
        why="tried",
        **LEAD,
    ),
    "interchange_remove": lambda w: Write(
        url=page("interchange_remove", w.row.pk, w.known.pk),
        data={"why": "ports differ"},
        unknown=page("interchange_remove", w.row.pk, 10**6),
        bad={"why": ""},
        history=Interchange.history,
        why="ports differ",
        **LEAD,
    ),
    "reference_photo_new": lambda w: Write(
        url=page("reference_photo_new", w.row.pk),
        data={"shows": "whole_unit", "photo": [picture()]},
        unknown=page("reference_photo_new", 10**6),
        bad={"photo": []},
        broken={"photo": [picture(kind="GIF", name="x.gif")]},
        history=ReferencePhoto.history,
        **LEAD,
    ),
    "reference_photo_change": lambda w: Write(
        url=page("reference_photo_change", w.row.pk, w.photo.pk),
        data={"shows": "number_plate", "caption": "stamp under the paint", "why": "clearer"},
        unknown=page("reference_photo_change", w.other.pk, w.photo.pk),
        bad={"shows": "sky"},
        history=ReferencePhoto.history,
        why="clearer",
        **LEAD,
    ),
    "reference_photo_remove": lambda w: Write(
        url=page("reference_photo_remove", w.row.pk, w.photo.pk),
        data={"why": "another type"},
        unknown=page("reference_photo_remove", w.other.pk, w.photo.pk),
        bad={"why": ""},
        history=ReferencePhoto.history,
        why="another type",
        **LEAD,
    ),
}


@pytest.fixture(params=WRITES)
def write(request, world):
    return WRITES[request.param](world)


def test_it_works_and_names_who_and_why(client, write):
    writes.check_works(client, write)


def test_asking_writes_nothing(client, write):
    writes.check_get(client, write)


def test_signed_out_people_sign_in_first(client, write):
    writes.check_signed_out(client, write)


def test_another_role_is_refused(client, write):
    writes.check_wrong_role(client, write)


@pytest.mark.parametrize("name", [name for name in WRITES if name != "reference_photo_new"])
def test_a_form_sent_twice_is_written_once(client, world, name):
    writes.check_twice(client, WRITES[name](world))


def test_photos_sent_twice_are_kept_once(client, lead, world):
    client.force_login(lead)
    url, token = page("reference_photo_new", world.row.pk), uuid.uuid4().hex
    for _turn in range(2):
        data = {"shows": "ports", "photo": [picture("a.png"), picture("b.png", colour=(1, 2, 3))]}
        assert send(client, url, data, token=token).status_code == 302
    assert world.row.reference_photos.count() == 3


def test_what_does_not_exist_is_not_found(client, write):
    writes.check_unknown(client, write)


def test_a_wrong_form_is_refused(client, write):
    writes.check_refused(client, write, write.bad)


@pytest.mark.parametrize("name", ["number_new", "number_change", "variant_change", "interchange_new"])
def test_a_broken_rule_is_refused(client, world, name):
    write = WRITES[name](world)
    writes.check_refused(client, write, write.broken)


def test_what_is_no_photo_is_refused(client, world):
    write = WRITES["reference_photo_new"](world)
    writes.check_refused(client, write, write.broken)


def test_the_page_of_a_type_shows_its_relations_both_ways(client, bench, act, lead, world):
    maker_numbers.save_maker_number(
        act=act(lead, why="list"), unit_type=world.row, row=world.number, superseded_by=world.later
    )
    variant(act(lead, why="list"), world.row, world.other, built_to=2008)
    client.force_login(bench)
    text = client.get(world.row.get_absolute_url()).content.decode()
    other = client.get(world.other.get_absolute_url()).content.decode()
    for words in ("A variant of", "longer eye", "this one may stand in for it", "NEW-2 of", "until 2008"):
        assert words in text, words
    for words in ("longer eye", "it may stand in for this one", "OLD-1 of", "Built until 2008"):
        assert words in other, words
    assert "/numbers/" not in text  # nothing to change for the bench


def test_an_interchange_is_shown_from_either_type(client, lead, world):
    client.force_login(lead)
    url = page("interchange_change", world.other.pk, world.known.pk)
    text = client.get(url).content.decode()
    assert 'value="by" ' in text
    data = {"other": world.row.pk, "direction": "by", "basis": "maker's list of 2012", "why": "found it"}
    assert send(client, url, data).status_code == 302
    world.known.refresh_from_db()
    assert (world.known.stand_in, world.known.basis) == (world.row, "maker's list of 2012")


def test_a_draft_that_turned_out_to_be_another_type_is_not_offered(client, lead, world):
    gone = UnitTypeFactory(code="D26-0001", provisional=True, merged_into=world.other)
    client.force_login(lead)
    asked = {page("variant_change", world.row.pk), page("interchange_new", world.row.pk)}
    for url in asked:
        told = client.get(url).content.decode()
        assert "LC-2" in told
        assert "D26-0001" not in told
        data = {"variant_of": gone.pk, "other": gone.pk, "differs": "longer", "why": "list", **PAIR}
        assert send(client, url, data).status_code == 422
    # What was written down before stays as it is until it is changed.
    UnitType.objects.filter(pk=world.row.pk).update(variant_of=gone, differs="longer eye")
    Interchange.objects.filter(pk=world.known.pk).update(replaced=gone)
    for url in (
        page("variant_change", world.row.pk),
        page("interchange_change", world.row.pk, world.known.pk),
    ):
        assert f'value="{gone.pk}" selected' in client.get(url).content.decode()


def test_a_number_that_several_types_have_is_asked_for_with_its_code(client, lead, world):
    MakerNumberFactory(unit_type__code="LC-9", number="NEW-2")
    client.force_login(lead)
    url = page("number_new", world.row.pk)
    answer = send(client, url, {"number": "B-1", "superseded_by": "NEW-2"})
    assert answer.status_code == 422
    assert "Several types have this number: LC-2, LC-9" in answer.content.decode()
    assert send(client, url, {"number": "B-1", "superseded_by": "NEW-2 of LC-9"}).status_code == 302
    assert world.row.maker_numbers.get(number="B-1").superseded_by.unit_type.code == "LC-9"


def test_the_page_of_a_type_costs_the_same_for_10_and_for_20_numbers(client, bench, world):
    client.force_login(bench)
    costs = []
    for _turn in range(2):
        for at in range(10):
            later = MakerNumberFactory(unit_type=world.other)
            MakerNumberFactory(unit_type=world.row, superseded_by=later)
            relate(world.row, UnitTypeFactory()).save()
            UnitTypeFactory(variant_of=world.row, differs=f"eye {at}")
            ReferencePhoto.objects.create(unit_type=world.row, file=photo_file(), shows="detail")
        with CaptureQueriesContext(connection) as queries:
            assert client.get(world.row.get_absolute_url()).status_code == 200
        costs.append(len(queries))
    assert costs[0] == costs[1]


# ---------- the text that became rows ----------


@pytest.fixture
def migration():
    return importlib.import_module("shop.migrations.0014_maker_numbers_and_relations")


def test_each_number_of_the_old_text_becomes_a_row_with_history(migration):
    row = UnitTypeFactory()
    for text in ("BD-4410", "bd 4410", "7" * 80):
        migration.add_number(apps, row, text)
    assert [(each.number, each.bare) for each in row.maker_numbers.all()] == [
        ("BD-4410", "BD4410"),
        ("7" * 60, "7" * 60),
    ]
    assert MakerNumber.history.filter(history_change_reason=migration.REASON).count() == 2


def test_what_the_old_text_said_stays_in_the_history_of_the_type(migration):
    row = UnitTypeFactory()
    past = row.history.get()
    past.numbers_text = "BD-4410, " + "7" * 190
    migration.keep_text(type(past), past)
    said = [each.history_change_reason for each in row.history.order_by("history_id")[1:]]
    assert "".join(said).replace(" ", "").endswith(past.numbers_text.replace(" ", ""))
    assert all(len(each) <= 200 for each in said)

"""The rules that the database keeps for the stores: said in words, and enforced below the program."""

import datetime as dt

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from inventory.models import (
    Balance,
    Kit,
    KitLine,
    Lot,
    LotCertificate,
    LotInspection,
    LotReading,
    Making,
    Movement,
    PackedKit,
    PackedKitLine,
    Part,
    RecipeLine,
    Supplier,
)
from shop.models import StoredFile
from tests.conftest import NOW
from tests.factories import (
    LotFactory,
    PartFactory,
    PortFactory,
    PositionFactory,
    TypeRevisionFactory,
    UserFactory,
)

pytestmark = pytest.mark.django_db
TODAY = NOW.date()


def a_line(**fields):
    revision = TypeRevisionFactory()
    kit = Kit.objects.create(revision=revision, name="seal set")
    fields.setdefault("position", PositionFactory(revision=revision))
    return KitLine(kit=kit, part=PartFactory(), **fields)


def two_places():
    line = a_line()
    line.port = PortFactory(revision=line.kit.revision)
    return line


def a_packed_line():
    line = a_line()
    line.save()
    packed = PackedKit.objects.create(code="K", kit=line.kit, packed_at=NOW, packed_by=UserFactory())
    return PackedKitLine(packed_kit=packed, kit_line=line, lot=LotFactory(part=line.part), quantity=0)


def a_movement(**fields):
    fields = {"lot": LotFactory(), "kind": "used", "place": "A1", "quantity": -1} | fields
    return Movement(by=UserFactory(), at=NOW, **fields)


def a_lot(**fields):
    like = LotFactory()
    fields = {"number": "L-X", "quantity_received": 1} | fields
    return Lot(part=like.part, supplier=like.supplier, received_on=like.received_on, **fields)


def a_second_balance():
    lot = LotFactory()
    return Balance(lot=lot, place="A1", quantity=3)


def returned_twice():
    used = a_movement()
    used.save()
    a_movement(lot=used.lot, kind="returned", quantity=1, returns=used).save()
    return a_movement(lot=used.lot, kind="returned", quantity=1, returns=used)


def an_inspection(**fields):
    given = {"lot": LotFactory(), "purpose": "extension", "pieces": 5, "what": "hardness", "passed": True}
    given |= {"extended_until": TODAY, "limit_until": TODAY, "by": UserFactory(), "at": NOW}
    return LotInspection(**(given | fields))


def extended_twice():
    first = an_inspection()
    first.save()
    return an_inspection(lot=first.lot)


def a_reading(**fields):
    inspection = an_inspection()
    inspection.save()
    given = {"inspection": inspection, "what": "height", "value": 4, "by": UserFactory(), "at": NOW}
    return LotReading(**(given | fields))


def same_certificate():
    lot = LotFactory()
    file = StoredFile.objects.create(
        sha256="0" * 64, kind="paper", name="x", content_type="x", size_bytes=1, by=UserFactory(), at=NOW
    )
    LotCertificate.objects.create(lot=lot, file=file)
    return LotCertificate(lot=lot, file=file)


def a_making(**fields):
    return Making(
        **({"lot": LotFactory(), "done_by": UserFactory(), "by": UserFactory(), "at": NOW} | fields)
    )


def recipe_line(**fields):
    return RecipeLine(**({"made": PartFactory(), "part": PartFactory(), "quantity": 1} | fields))


def same_recipe_line():
    line = recipe_line()
    line.save()
    return recipe_line(made=line.made, part=line.part)


def second_shop():
    Supplier.objects.create(name="the shop", is_shop=True)
    return Supplier(name="another", is_shop=True)


RULES = {
    "lot_quarantine_has_reason": (lambda: a_lot(state="quarantined"), "needs the reason"),
    "lot_number_any_case": (
        lambda: a_lot(number=LotFactory(number="L-a").number.upper()),
        "in other letters",
    ),
    "inspection_date_missing": (lambda: an_inspection(extended_until=None), "names that date"),
    "inspection_date_of_a_failed_one": (lambda: an_inspection(passed=False), "names that date"),
    "inspection_date_on_arrival": (lambda: an_inspection(purpose="arrival"), "names that date"),
    "inspection_beyond_limit": (
        lambda: an_inspection(extended_until=TODAY + dt.timedelta(days=1)),
        "does not go beyond",
    ),
    "inspection_without_pieces": (lambda: an_inspection(pieces=0), "Say what was inspected"),
    "inspection_without_words": (lambda: an_inspection(what=""), "Say what was inspected"),
    "inspection_extended_once": (extended_twice, "that goes once"),
    "reading_limits": (lambda: a_reading(lower=5, upper=4), "above the upper"),
    "certificate_once": (same_certificate, "belongs to the lot already"),
    "making_hours": (lambda: a_making(hours=-1), "count from zero"),
    "recipe_part_once": (same_recipe_line, "has this part already"),
    "recipe_quantity": (lambda: recipe_line(quantity=0), "at least one piece"),
    "supplier_one_shop": (second_shop, "the shop itself already"),
    "part_seal_has_polymer": (
        lambda: Part(number="P", name="x", kind="lip_seal", polymer=""),
        "needs its polymer",
    ),
    "lot_hold_has_reason": (lambda: a_lot(state="on_hold"), "needs the reason"),
    "lot_quantity_positive": (lambda: a_lot(quantity_received=0), "at least one piece"),
    "balance_not_negative": (
        lambda: Balance(lot=LotFactory(), place="B", quantity=-1),
        "does not hold that many",
    ),
    "balance_place_once": (a_second_balance, "has a balance at that place already"),
    "movement_not_zero": (lambda: a_movement(kind="moved", quantity=0), "at least one piece"),
    "movement_sign_out": (lambda: a_movement(quantity=1), "go out count down"),
    "movement_sign_in": (lambda: a_movement(kind="received"), "come in count up"),
    "movement_returned_once": (returned_twice, "already exists"),
    "kitline_no_place": (lambda: a_line(position=None), "one position, component, port or hose"),
    "kitline_two_places": (two_places, "one position, component, port or hose"),
    "kitline_quantity_positive": (lambda: a_line(quantity=0), "at least one piece"),
    "packedkitline_positive": (a_packed_line, "at least one piece"),
}


@pytest.mark.parametrize("rule", RULES)
def test_the_rule_is_said_in_words(rule):
    make, words = RULES[rule]
    with pytest.raises(ValidationError, match=words):
        make().full_clean()


@pytest.mark.parametrize("rule", RULES)
def test_the_database_enforces_the_rule(rule):
    make, _words = RULES[rule]
    row = make()
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


def test_a_part_is_not_made_from_itself():
    part = PartFactory()
    with pytest.raises(ValidationError, match="not made from itself"):
        recipe_line(made=part, part=part).full_clean()
    with pytest.raises(IntegrityError), transaction.atomic():
        recipe_line(made=part, part=part).save()

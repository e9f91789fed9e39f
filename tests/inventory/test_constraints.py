"""The rules that the database keeps for the stores: said in words, and enforced below the program."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from inventory.models import Balance, Kit, KitLine, Lot, Movement, PackedKit, PackedKitLine, Part
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
    a_movement(kind="returned", quantity=1, returns=used).save()
    return a_movement(kind="returned", quantity=1, returns=used)


RULES = {
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
    "kitline_no_place": (lambda: a_line(position=None), "one position, component or port"),
    "kitline_two_places": (two_places, "one position, component or port"),
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

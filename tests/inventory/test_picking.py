"""First expired, first out: the earliest lot is proposed, and another one asks for a reason."""

import datetime as dt

import pytest

from inventory.models import Kit, KitLine
from inventory.services import kits, stock
from inventory.services.picking import checked_pick, pick_of
from shop.errors import RuleBroken
from tests.conftest import NOW
from tests.factories import LotFactory, PartFactory, PositionFactory, TypeRevisionFactory

pytestmark = pytest.mark.django_db
TODAY = NOW.date()
SOON, LATER = dt.date(2028, 3, 31), dt.date(2030, 6, 30)


@pytest.fixture
def part():
    return PartFactory()


@pytest.fixture
def later(part):
    return LotFactory(part=part, use_by=LATER, number="L-LATER")


def first(lot, quantity=1):
    return pick_of(lot=lot, quantity=quantity, on=TODAY).first


def test_a_lot_that_expires_earlier_goes_first(part, later):
    LotFactory(part=part, use_by=SOON + dt.timedelta(days=1))
    soon = LotFactory(part=part, use_by=SOON)
    assert first(later) == soon
    assert first(soon) is None


def test_a_lot_without_a_date_waits_for_those_with_one(part):
    ageless, dated = LotFactory(part=part, use_by=None), LotFactory(part=part, use_by=SOON)
    assert first(ageless) == dated
    assert first(dated) is None


@pytest.mark.parametrize(
    "fields",
    [
        {"use_by": LATER},
        {"use_by": None},
        {"use_by": TODAY - dt.timedelta(days=1)},
        {"use_by": SOON, "state": "on_hold", "hold_reason": "swollen"},
        {"use_by": SOON, "quantity_received": 2},
    ],
)
def test_what_cannot_be_taken_or_expires_no_earlier_is_not_passed_over(part, later, fields):
    LotFactory(part=part, **fields)
    LotFactory(use_by=SOON)  # another part
    assert first(later, quantity=3) is None


def test_pieces_promised_to_a_kit_are_not_passed_over(act, stores, part, later):
    soon = LotFactory(part=part, use_by=SOON)
    stock.shift(act=act(stores), lot=soon, quantity=20, place="A1", to_place="kit K1")
    assert first(later) is None


def test_passing_over_asks_for_a_reason_that_names_both(part, later):
    LotFactory(part=part, use_by=SOON, number="L-SOON")
    with pytest.raises(RuleBroken) as refused:
        checked_pick(lot=later, quantity=1, on=TODAY, reason="  ")
    assert refused.value.fields["lot_reason"] == (
        "Lot L-SOON expires on 31 Mar 2028 and lot L-LATER on 30 Jun 2030. "
        "Take lot L-SOON, or say why this one."
    )
    assert checked_pick(lot=later, quantity=1, on=TODAY, reason="bag is torn").warning


def test_a_packed_kit_keeps_why_another_lot_went_in(act, stores, part, later):
    kit = Kit.objects.create(revision=TypeRevisionFactory(), name="seal set")
    line = KitLine.objects.create(kit=kit, position=PositionFactory(revision=kit.revision), part=part)
    LotFactory(part=part, use_by=SOON)
    with pytest.raises(RuleBroken):
        kits.pack_kit(act=act(stores), kit=kit, lots={line: later})
    assert not kit.packed.exists()
    packed = kits.pack_kit(act=act(stores), kit=kit, lots={line: later}, lot_reason=" bag is torn ")
    row = packed.lines.get()
    assert (row.lot_reason, "expires on 31 Mar 2028" in row.lot_warning) == ("bag is torn", True)

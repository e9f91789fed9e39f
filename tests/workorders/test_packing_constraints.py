"""What the database itself refuses of packings, their parcels, units and lines, and of exchanges."""

import datetime as dt

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from shop.models import TypeRevision
from tests.conftest import NOW
from tests.factories import (
    FluidFactory,
    RebuildFactory,
    ShopProfileFactory,
    TypeRevisionFactory,
    UserFactory,
    WorkOrderFactory,
)
from tests.workorders.journey import Journey
from workorders.models import Exchange, Packing, PackingLine, PackingParcel, PackingUnit, Parcel

pytestmark = pytest.mark.django_db
DUE = dt.date(2026, 12, 1)


def refused(row, message):
    """The row is refused with words by its checks, and by the database without them."""
    with pytest.raises(ValidationError, match=message):
        row.validate_constraints()
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


def a_packing(**fields):
    given = {"begun_at": NOW, "begun_by": UserFactory()}
    given["work_order"] = fields.pop("work_order", None) or WorkOrderFactory()
    return Packing(**given, **fields)


def a_parcel(**fields):
    if "packing" not in fields:
        fields["packing"] = a_packing()
        fields["packing"].save()
    return PackingParcel(**{"number": 1, **fields})


def a_unit(**fields):
    if "parcel" not in fields:
        fields["parcel"] = a_parcel()
        fields["parcel"].save()
    rebuild = fields.pop("rebuild", None) or RebuildFactory()
    return PackingUnit(rebuild=rebuild, put_in_at=NOW, put_in_by=UserFactory(), **fields)


def a_line(**fields):
    if "packing_unit" not in fields:
        fields["packing_unit"] = a_unit()
        fields["packing_unit"].save()
    return PackingLine(**{"order": 1, "kind": "hose", "text": "hose attached: H1", **fields})


def done(**fields):
    return {"done_at": NOW, "done_by": UserFactory(), **fields}


def test_a_work_order_has_one_open_packing():
    first = a_packing()
    first.save()
    refused(a_packing(work_order=first.work_order), "open already")
    first.cancelled_at, first.cancelled_by, first.cancel_reason = NOW, UserFactory(), "wrong order"
    first.save()
    a_packing(work_order=first.work_order).save()


@pytest.mark.parametrize(
    "fields",
    [
        lambda: {"cancelled_at": NOW},
        lambda: {"cancelled_by": UserFactory()},
        lambda: {"cancelled_at": NOW, "cancelled_by": UserFactory()},
    ],
)
def test_a_packing_given_up_says_why(fields):
    refused(a_packing(**fields()), "why the packing is given up")


def test_what_was_sent_off_is_not_given_up():
    ShopProfileFactory()
    shipment = Journey().tested().release().ship().shipment
    told = {"cancelled_at": NOW, "cancelled_by": UserFactory(), "cancel_reason": "late"}
    refused(a_packing(shipment=shipment, **told), "cannot be given up")


def test_parcels_have_their_numbers_and_their_closer():
    one = a_parcel()
    one.save()
    refused(a_parcel(packing=one.packing), "parcel of that number")
    refused(a_parcel(closed_at=NOW), "who closed the parcel")


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"weight_kg": 0}, "more than 0 kg"),
        ({"length_cm": 20}, "length, width and height"),
        ({"length_cm": 20, "width_cm": 20}, "length, width and height"),
        ({"length_cm": 20, "width_cm": 20, "height_cm": 0}, "length, width and height"),
    ],
)
def test_a_weight_and_a_size_are_whole(fields, message):
    refused(a_parcel(**fields), message)
    ShopProfileFactory()
    shipment = Journey().tested().release().ship().shipment
    refused(Parcel(shipment=shipment, number=2, **fields), message)


def test_a_unit_lies_in_one_parcel_and_a_core_is_given_for_once():
    core = RebuildFactory()
    one = a_unit(replaces=core)
    one.save()
    refused(a_unit(rebuild=one.rebuild), "lies in a parcel already")
    refused(a_unit(replaces=core), "goes out for this core already")
    refused(a_unit(taken_out_at=NOW), "who took the unit out")
    refused(a_unit(replaces=RebuildFactory(), core_due=DUE), "not both")
    one.taken_out_at, one.taken_out_by = NOW, UserFactory()
    one.save()
    a_unit(rebuild=one.rebuild, replaces=core).save()


LINES = [
    (lambda: {"state": "packed"}, "who did it, and when"),
    (lambda: done(), "who did it, and when"),
    (lambda: done(state="kept"), "why it is kept back"),
    (lambda: done(state="packed", reason="no"), "why it is kept back"),
    (lambda: {"volume_ml": 5}, "Only a fluid"),
    (lambda: {"fluid": FluidFactory()}, "Only a fluid"),
    (lambda: {"kind": "inside", "volume_ml": -1}, "0 mL or more"),
    (lambda: done(kind="spare", state="packed", fluid=FluidFactory()), "how many millilitres"),
    (lambda: done(kind="spare", state="packed", volume_ml=100), "Say which fluid"),
    (lambda: done(kind="spare", state="packed", volume_ml=0, fluid=FluidFactory()), "how many millilitres"),
]


@pytest.mark.parametrize(("fields", "message"), LINES)
def test_the_database_refuses_a_line_that_cannot_be(fields, message):
    first = a_line()
    first.save()
    refused(a_line(**fields()), message)
    refused(a_line(packing_unit=first.packing_unit), "line of that number")


EXCHANGES = [
    (lambda: {}, "Name the core, or the day"),
    (lambda: {"core": RebuildFactory()}, "who took it in"),
    (lambda: {"due": DUE, "came_at": NOW}, "who took it in"),
    (lambda: {"due": DUE, "waived_at": NOW, "waived_by": UserFactory()}, "why no core comes"),
    (
        lambda: {
            "core": RebuildFactory(),
            "came_at": NOW,
            "came_by": UserFactory(),
            "waived_at": NOW,
            "waived_by": UserFactory(),
            "waive_reason": "paid",
        },
        "nothing to waive",
    ),
]


def test_the_database_refuses_an_exchange_that_cannot_be():
    ShopProfileFactory()
    packed = Journey().tested().release().ship().rebuild.packed
    for fields, message in EXCHANGES:
        refused(Exchange(packed=packed, **fields()), message)
    Exchange(packed=packed, due=DUE).save()


def test_spare_fluid_of_a_type_is_more_than_nothing():
    row = TypeRevisionFactory()
    row.spare_fluid_ml = 0
    with pytest.raises(ValidationError, match="more than 0 mL"):
        row.validate_constraints()
    with pytest.raises(IntegrityError), transaction.atomic():
        TypeRevision.objects.filter(pk=row.pk).update(spare_fluid_ml=0)

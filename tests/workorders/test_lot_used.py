"""The panel on a lot's page: in which units the lot sits."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Lot
from tests import factories
from tests.workorders.journey import Journey
from workorders.services import build
from workorders.services.operation_values import Recorded

pytestmark = pytest.mark.django_db


def test_a_lot_names_its_units_and_leaves_out_what_was_taken_back(client, stores):
    journey = Journey().tested().release().ship()
    lot = Lot.objects.get(parts_used__rebuild=journey.rebuild, parts_used__position__code="S1")
    other = Journey(revision=journey.revision).receive().find().close_teardown().go_ahead().fit()
    wrong = other.rebuild.parts_used.get(position__code="S1")
    build.take_back_part(act=other.act("bench", "wrong lot"), part_used=wrong)
    client.force_login(stores)
    page = client.get(lot.get_absolute_url()).content.decode()
    assert journey.unit.serial in page
    assert str(journey.rebuild.warranty.holder) in page
    assert other.unit.get_absolute_url() not in page
    assert "1 unit holds it, of 1 that it went into" in page


def test_ten_and_twenty_units_cost_the_same(client, stores):
    journey = Journey().receive().find().close_teardown().go_ahead()
    line = journey.revision.kit.lines.get(position__code="S1")
    lot = line.part.lots.get()
    client.force_login(stores)
    counts = []
    for _ in range(2):
        for _ in range(5):
            build.use_part(
                act=journey.act("bench"), rebuild=journey.rebuild, place=line.position, lot=lot, quantity=1
            )
        client.get(lot.get_absolute_url())
        with CaptureQueriesContext(connection) as seen:
            assert client.get(lot.get_absolute_url()).status_code == 200
        counts.append(len(seen))
    assert counts[0] == counts[1]


def fasten(journey, lot):
    return build.record_operation(
        act=journey.act("bench"),
        rebuild=journey.rebuild,
        kind="fastened",
        place=None,
        tool="by hand",
        recorded=Recorded(values={"locker": "low"}, locker_lot=lot),
    )


def test_a_lot_of_thread_locker_names_its_units_at_the_same_cost(client, stores):
    journey = Journey().receive().find().close_teardown().go_ahead()
    lot = factories.LotFactory()
    client.force_login(stores)
    assert "No piece of this lot" in client.get(lot.get_absolute_url()).content.decode()
    counts = []
    for _ in range(2):
        for _ in range(5):
            fasten(journey, lot)
        with CaptureQueriesContext(connection) as seen:
            page = client.get(lot.get_absolute_url()).content.decode()
        counts.append(len(seen))
    assert counts[0] == counts[1]
    assert "1 unit holds it" in page
    assert "thread locker" in page
    assert journey.unit.serial in page

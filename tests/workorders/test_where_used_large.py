"""A lot that went into ten thousand units: found, and asked for by a banner, in a blink."""

import time

import pytest
from django.utils import timezone

from inventory.models import Movement
from tests.workorders.journey import Journey
from workorders.calc.serial import draw_serial
from workorders.models import PackedUnit, Parcel, PartUsed, Rebuild, Unit, Warranty
from workorders.services.recall_progress import progress_of
from workorders.services.recall_state import carried
from workorders.services.recalls import open_recall
from workorders.services.where_used import where_used

pytestmark = pytest.mark.django_db
UNITS = 10_000
# Far above what was measured (docs/stores.md), for machines that are busy.
MOST_S = 10.0


@pytest.fixture
def many():
    """One shipped unit and copies of its rows, past the services: nobody builds ten thousand in a test."""
    journey = Journey().tested().release().ship()
    one, part = journey.rebuild, journey.rebuild.parts_used.get(position__code="S1")
    parcel = Parcel.objects.get(units__rebuild=one)

    def copies(model, row, **changes):
        fields = {
            field.attname: getattr(row, field.attname)
            for field in model._meta.concrete_fields
            if not field.primary_key
        }
        rows = [
            model(**{**fields, **{name: value[at] for name, value in changes.items()}}) for at in range(UNITS)
        ]
        return model.objects.bulk_create(rows, batch_size=500)

    units = copies(Unit, one.unit, serial=_serials())
    rebuilds = copies(Rebuild, one, unit_id=[unit.pk for unit in units])
    keys = [rebuild.pk for rebuild in rebuilds]
    # Pieces that came in: those that go out are summed up by a trigger, ten thousand times over.
    moved = copies(Movement, part.movement, kind=["found"] * UNITS, quantity=[1] * UNITS)
    copies(PartUsed, part, rebuild_id=keys, movement_id=[movement.pk for movement in moved])
    copies(PackedUnit, PackedUnit.objects.get(rebuild=one), rebuild_id=keys)
    copies(Warranty, one.warranty, rebuild_id=keys)
    assert parcel.units.count() == UNITS + 1
    return journey, part.lot


def _serials():
    found = set()
    while len(found) < UNITS:
        found.add(draw_serial())
    return sorted(found)


def timed(what, run):
    started = time.perf_counter()
    answer = run()
    seconds = time.perf_counter() - started
    print(f"{what}: {seconds:.2f} s")
    assert seconds < MOST_S, what
    return answer


def test_ten_thousand_units_are_found_listed_and_asked_for(many):
    journey, lot = many
    found = timed("where used", lambda: where_used([lot], on=timezone.localdate()))
    assert found.inside == UNITS + 1
    recall = timed(
        "recall opened",
        lambda: open_recall(
            act=journey.act("stores"), lots=[lot], advice="stop", reason="brittle", instructions="Call us."
        ),
    )
    assert recall.units.count() == UNITS + 1
    progress = timed("progress", lambda: progress_of(recall, on=timezone.localdate()))
    assert progress.left == UNITS + 1
    page = [unit.listed.unit_id for unit in progress.units[:50]]
    assert len(timed("banners of a page of fifty", lambda: carried(page))) == 50
    assert len(timed("the banner of one unit", lambda: carried(page[:1]))) == 1

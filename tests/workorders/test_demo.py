"""The demo shop: computed, whole, and the same each time; loaded once for the module, at a smaller size."""

import datetime as dt
from collections import Counter

import pytest
from django.db import transaction
from django.db.models import Sum
from django.test import Client, override_settings
from django.urls import reverse

from inventory.models import Balance, KitLine, Lot, Movement, PlaceCount
from shop.models import User
from workorders.demo.load import load_demo
from workorders.models import (
    Box,
    Claim,
    Exchange,
    OutsideWork,
    Packing,
    PackingLine,
    PartUsed,
    Reading,
    Rebuild,
    Release,
    Trace,
    WorkOrder,
)
from workorders.services.found_out import flags
from workorders.services.order_parts import with_parts
from workorders.services.releasing import signature_holds
from workorders.services.shortages import shortages
from workorders.services.stages import derived_stage
from workorders.services.testing import recomputed_verdict

NOW = dt.datetime(2026, 11, 20, 15, 0, tzinfo=dt.UTC)
SIZE = 70


def load(folder):
    with override_settings(FILES_DIR=folder):
        return load_demo(now=NOW, size=SIZE)


@pytest.fixture(scope="module")
def demo(django_db_setup, django_db_blocker, tmp_path_factory):
    folder = tmp_path_factory.mktemp("files")
    with django_db_blocker.unblock(), transaction.atomic():
        load(folder)
        yield folder
        transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def _files(demo, settings):
    settings.FILES_DIR = demo


pytestmark = pytest.mark.django_db


def test_every_stored_verdict_follows_again_from_the_raw_readings():
    readings = list(Reading.objects.select_related("limit", "instrument", "result__step"))
    assert len(readings) > 200
    wrong = [reading.pk for reading in readings if recomputed_verdict(reading) != reading.verdict]
    assert wrong == []


def test_a_verdict_changed_by_hand_is_seen():
    reading = Reading.objects.filter(verdict="passes", limit__judged="value").first()
    reading.verdict = "fails"
    assert recomputed_verdict(reading) != reading.verdict


def test_the_stock_is_the_sum_of_the_ledger():
    sums = Counter()
    for lot, place, pieces in Movement.objects.values_list("lot_id", "place").annotate(n=Sum("quantity")):
        sums[lot, place] += pieces
    balances = {(b.lot_id, b.place): b.quantity for b in Balance.objects.all()}
    assert {key: n for key, n in sums.items() if n} == {key: n for key, n in balances.items() if n}


def test_every_stage_has_units_and_follows_from_the_facts():
    rebuilds = list(Rebuild.objects.all())
    assert [row.pk for row in rebuilds if derived_stage(row) != row.stage] == []
    assert {row.stage for row in rebuilds} == set(Rebuild.Stage.values)


def test_every_release_is_what_was_signed():
    releases = list(Release.objects.select_related("signature"))
    assert len(releases) > 30
    assert all(signature_holds(release) for release in releases)


def test_the_logged_traces_are_the_real_ones():
    names = set(Trace.objects.values_list("file__name", flat=True))
    assert names
    assert names <= {"hold_tight.csv", "hold_slow_leak.csv", "hold_fast_leak.csv"}
    assert all("logged trace" in trace.reading.result.note for trace in Trace.objects.all())


def test_there_are_claims_open_and_judged_and_a_lot_on_hold():
    assert Claim.objects.filter(judgement="").exists()
    assert Claim.objects.exclude(judgement="").exists()
    assert Lot.objects.filter(use_by__lt=NOW.date(), balances__quantity__gt=0).exists()


def test_a_part_is_short_before_the_work_starts_and_materials_are_upgraded():
    rows, _units = shortages(on=NOW.date())
    assert any(row.short and not row.shelf for row in rows)
    stated = Counter(reason for line in KitLine.objects.all() for reason in line.upgrade_reasons)
    assert {"hydrolysis", "oxidation", "heat", "swelling", "wear"} <= set(stated)
    assert PartUsed.objects.exclude(upgrade="").exists()
    assert KitLine.objects.filter(preference=2).exists()


def test_there_is_a_box_on_its_way_a_damaged_one_and_one_from_nobody_knows_whom():
    assert [row.sender is not None for row in Box.objects.announced()] == [True]
    assert Box.objects.filter(packing="damaged", work_order__isnull=False, photos__isnull=False).exists()
    nobody = Box.objects.unidentified().get()
    assert nobody.sender is None
    assert nobody.received_at < NOW


def test_rods_went_to_the_plater_and_came_back_and_one_is_late():
    works = OutsideWork.objects
    done = works.filter(accepted=True, certificate__isnull=False)
    assert done.exists()
    assert not done.filter(bake=OutsideWork.Bake.NOT_ASKED).exists()
    assert works.overdue(on=NOW.date()).first().supplier.phone
    assert works.out().filter(due__gt=NOW.date()).exists()


def test_a_bench_is_half_packed_a_set_is_partly_shipped_and_a_core_is_owed():
    packing = Packing.objects.open().get()
    states = PackingLine.objects.filter(packing_unit__parcel__packing=packing).values_list("state", flat=True)
    assert set(states) == {"open", "packed"}
    assert any(order.units_left and order.units_to_come for order in with_parts(WorkOrder.objects.all()))
    owed = Exchange.objects.owed().get()
    assert owed.due > NOW.date()


LISTS = ["boxes", "cores_owed", "home", "outside_works", "work_orders", "claims", "shipments", "instruments"]
STORES = ["parts", "lots", "kits", "packed_kits", "found_in_bin"]
SHOP = ["customers", "unit_types", "people", "settings"]


@pytest.mark.parametrize(
    "name",
    [f"workorders:{n}" for n in LISTS] + [f"inventory:{n}" for n in STORES] + [f"shop:{n}" for n in SHOP],
)
def test_no_list_is_empty_by_accident(name):
    client = Client()
    client.force_login(User.objects.get(username="petra"))
    page = client.get(reverse(name))
    assert page.status_code == 200
    assert 'class="empty"' not in page.content.decode()


def test_a_wrench_was_found_out_of_tolerance_and_the_lead_is_at_it(demo):
    found = [flag for flag in flags() if flag.matters]
    assert {flag.calibration.instrument.code for flag in found} == {"TQ-W1"}
    assert {flag.is_open for flag in found} == {True, False}
    assert any(flag.is_open and flag.rebuild.released for flag in found)


def test_a_drawer_was_counted_with_a_difference_and_another_is_being_counted():
    booked = PlaceCount.objects.get(state="booked")
    (line,) = [line for line in booked.lines.all() if line.difference]
    assert (line.difference, line.movement.quantity) == (-1, -1)
    assert line.counted_by != booked.closed_by
    being_counted = PlaceCount.objects.get(state="open")
    entered = being_counted.lines.filter(counted__isnull=False)
    assert 0 < entered.count() <= being_counted.lines.count()

"""Many hands at once: the last piece goes into one unit only, and a double tap makes one record."""

import uuid
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from inventory.models import KitLine, Movement, PackedKit
from inventory.services.kits import pack_kit
from inventory.services.stock import adjust, ledger_differences
from shop.errors import RuleBroken
from shop.services.writing import Act
from tests.factories import person
from tests.workorders.journey import Journey
from workorders.models import PartUsed
from workorders.services import build

pytestmark = pytest.mark.django_db(transaction=True)


def ready(**shared):
    return Journey(**shared).receive().find().close_teardown().go_ahead()


def twin(way):
    """Another unit of the same type, as far along."""
    second = Journey.__new__(Journey)
    second.__dict__.update(way.__dict__)
    return second.receive().find().close_teardown().go_ahead()


def leave(way, lot, pieces):
    """Take all but so many pieces off the ledger."""
    held = lot.balances.get()
    adjust(act=way.act("stores", "counted"), lot=lot, change=pieces - held.quantity, place=held.place)


def at_once(jobs):
    """Run every job in a thread of its own, all starting together; return what each answered."""
    start = Barrier(len(jobs))

    def run(job):
        start.wait(timeout=60)
        try:
            return job()
        except RuleBroken as refused:
            return refused
        finally:
            connection.close()

    with ThreadPoolExecutor(len(jobs)) as clients:
        return list(clients.map(run, jobs))


def test_two_benches_want_the_last_piece_and_one_is_refused():
    way = ready()
    other = twin(way)
    line = KitLine.objects.filter(position__code="S1").get()
    lot = line.part.lots.get()
    leave(way, lot, 1)

    def job(rebuild):
        act = Act(by=person("bench"), at=way.now)
        return lambda: build.use_part(act=act, rebuild=rebuild, place=line.position, lot=lot, quantity=1)

    answers = at_once([job(way.rebuild), job(other.rebuild)])
    refused = [answer for answer in answers if isinstance(answer, RuleBroken)]
    assert len(refused) == 1
    assert "does not hold 1 of lot" in refused[0].fields["quantity"]
    assert PartUsed.objects.count() == 1
    assert Movement.objects.filter(lot=lot, kind="used").count() == 1
    assert lot.balances.get().quantity == 0
    assert ledger_differences() == []


def test_two_benches_scan_the_same_packed_kit_and_one_is_refused():
    way = ready()
    other = twin(way)
    lots = {line: line.part.lots.get() for line in way.revision.kit.lines.all()}
    kit = pack_kit(act=way.act("stores"), kit=way.revision.kit, lots=lots)

    def job(rebuild):
        act = Act(by=person("bench"), at=way.now)
        return lambda: build.use_packed_kit(act=act, rebuild=rebuild, packed_kit=kit)

    answers = at_once([job(way.rebuild), job(other.rebuild)])
    refused = [answer for answer in answers if isinstance(answer, RuleBroken)]
    assert [str(answer) for answer in refused] == [f"Kit {kit} is used; scan another one."]
    assert len({row.rebuild_id for row in PartUsed.objects.all()}) == 1
    assert PackedKit.objects.get().state == PackedKit.State.USED
    assert ledger_differences() == []


def test_one_form_sent_by_eight_taps_at_once_takes_one_piece():
    way = ready()
    line = KitLine.objects.filter(position__code="S1").get()
    bench, lot = person("bench"), line.part.lots.get()
    url = reverse("workorders:use_part", args=[way.rebuild.pk, "position", line.position_id])
    form = {"form_token": uuid.uuid4().hex, "lot": lot.number, "quantity": "1", "use": "fitted"}

    def tap():
        client = Client()
        client.force_login(bench)
        answer = client.post(url, form)
        return answer.status_code, answer.url

    answers = at_once([tap] * 8)
    assert set(answers) == {(302, reverse("workorders:build", args=[way.rebuild.pk]))}
    assert PartUsed.objects.count() == 1
    assert lot.balances.get().quantity == 19
    assert ledger_differences() == []

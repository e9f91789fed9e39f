"""Two clerks at one bench at once: one shipment, one place for a unit, one packing."""

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from shop.errors import RuleBroken
from shop.services.writing import Act
from tests.factories import person
from tests.workorders.packing_bench import Bench
from tests.workorders.test_build_rush import at_once
from workorders.models import PackedUnit, Packing, PackingUnit, Shipment, Warranty
from workorders.services import packing

pytestmark = pytest.mark.django_db(transaction=True)


def clerks(bench, count=2):
    return [Act(by=person("receiving"), at=bench.way.now) for _ in range(count)]


def test_two_clerks_send_the_same_packing_off_and_it_leaves_once():
    bench = Bench()
    bench.full()

    def job(act):
        return lambda: packing.send_off(
            act=act,
            packing=Packing.objects.get(pk=bench.packing.pk),
            recipient=bench.order.customer,
            address="1 Quay",
            carrier="Coast Post",
        )

    answers = at_once([job(act) for act in clerks(bench, 4)])
    assert len(set(answers)) == 1
    assert isinstance(answers[0], Shipment)
    counts = [model.objects.count() for model in (Shipment, PackedUnit, Warranty)]
    assert counts == [1, 1, 1]


def test_two_clerks_press_send_on_their_own_pages_and_both_see_the_one_shipment():
    bench = Bench()
    bench.full()
    url = reverse("workorders:packing_send", args=[bench.packing.pk])
    form = {"recipient": bench.order.customer_id, "address": "1 Quay", "carrier": ""}

    def job(user):
        client = Client()
        client.force_login(user)

        def press():
            answer = client.post(url, {**form, "form_token": uuid.uuid4().hex})
            return answer.status_code, answer.url

        return press

    answers = at_once([job(person("receiving")) for _ in range(2)])
    assert set(answers) == {(302, Shipment.objects.get().get_absolute_url())}


def test_two_clerks_begin_to_pack_and_go_on_with_one_packing():
    bench = Bench()
    packing.cancel_packing(act=bench.clerk("anew"), packing=bench.packing)

    def job(act):
        return lambda: packing.begin_packing(act=act, work_order=bench.order)

    answers = at_once([job(act) for act in clerks(bench)])
    assert len(set(answers)) == 1
    assert Packing.objects.open().count() == 1


def test_two_clerks_put_the_same_unit_into_two_parcels_and_one_is_refused():
    bench = Bench()
    second = packing.add_parcel(act=bench.clerk(), packing=bench.packing)

    def job(act, parcel):
        return lambda: packing.put_in(act=act, parcel=parcel, rebuild=bench.one)

    acts = clerks(bench)
    answers = at_once([job(acts[0], bench.parcel), job(acts[1], second)])
    assert sum(isinstance(answer, RuleBroken) for answer in answers) == 1
    assert PackingUnit.objects.lying().count() == 1

"""Many hands at one bin: the last pieces go exactly once."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from inventory.models import Balance, Movement
from inventory.services import stock
from shop.errors import RuleBroken
from shop.services.writing import Act
from tests.conftest import NOW
from tests.factories import LotFactory, person
from tests.overtaking import meanwhile


@pytest.mark.django_db(transaction=True)
def test_32_clients_taking_the_last_20_pieces_get_exactly_20():
    lot, bench, start = LotFactory(quantity_received=20), person("bench"), Barrier(32)

    def one_client(number):
        start.wait(timeout=60)
        try:
            stock.take(act=Act(by=bench, at=NOW), lot=lot, quantity=1, document=f"W{number}")
        except RuleBroken as refused:
            return str(refused)
        finally:
            connection.close()
        return "taken"

    with ThreadPoolExecutor(32) as clients:
        answers = list(clients.map(one_client, range(32)))
    assert answers.count("taken") == 20
    assert all("does not hold 1 of lot" in answer for answer in answers if answer != "taken")
    assert Balance.objects.get(lot=lot).quantity == 0
    assert Movement.objects.filter(kind="used").count() == 20
    assert stock.ledger_differences() == []


@pytest.mark.django_db(transaction=True)
def test_a_bench_takes_pieces_while_stores_scrap_some_of_the_same_lot_and_neither_fails():
    lot = LotFactory(quantity_received=20)
    stores, bench = (Act(by=person(role), at=NOW, why="cut") for role in ("stores", "bench"))
    place = lot.balances.get().place

    meanwhile(
        lambda: stock.scrap(act=stores, lot=lot, quantity=5, place=place),
        lambda: stock.take(act=bench, lot=lot, quantity=2, document="W26-0001"),
    )
    assert Balance.objects.get(lot=lot).quantity == 13
    assert stock.ledger_differences() == []

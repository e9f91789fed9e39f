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

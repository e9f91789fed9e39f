"""The ledger itself cannot go below zero, whoever writes; and a command compares it with the balances."""

import json
from concurrent.futures import ThreadPoolExecutor
from io import StringIO
from threading import Barrier

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction
from django.db.models import Sum
from django.db.models.signals import post_migrate, pre_migrate

from inventory.models import Balance, Movement
from inventory.services import stock
from inventory.stock_triggers import RULES
from tests.conftest import NOW
from tests.factories import LotFactory, UserFactory
from tests.guards.test_database import triggers

pytestmark = pytest.mark.django_db


def write(lot, quantity, kind="used", place="A1", **told):
    """Insert a movement past the services."""
    with transaction.atomic():
        return Movement.objects.create(
            lot=lot, kind=kind, place=place, quantity=quantity, by=UserFactory(), at=NOW, **told
        )


@pytest.mark.parametrize("kind", ["used", "scrapped", "adjusted", "moved"])
def test_a_row_past_the_services_cannot_take_the_ledger_below_zero(kind):
    lot = LotFactory(quantity_received=3)
    with pytest.raises(IntegrityError, match="does not hold that many pieces"):
        write(lot, -4, kind)
    with pytest.raises(IntegrityError, match="does not hold that many pieces"):
        write(lot, -1, kind, place="B2")
    write(lot, -3, kind)
    with pytest.raises(IntegrityError, match="does not hold that many pieces"):
        write(lot, -1, kind)


def test_a_return_brings_back_one_whole_use_of_the_same_lot():
    lot, other = LotFactory(), LotFactory()
    used = write(lot, -2)
    for wrong in ({"lot": lot, "quantity": 3}, {"lot": other, "quantity": 2}):
        with pytest.raises(IntegrityError, match="the pieces of one use"):
            write(kind="returned", returns=used, **wrong)
    with pytest.raises(IntegrityError, match="the pieces of one use"):
        write(lot, 20, "returned", returns=lot.movements.get(kind="received"))
    assert write(lot, 2, "returned", returns=used)


def test_the_triggers_are_back_after_every_migrate():
    config, names = apps.get_app_config("inventory"), {rule.name for rule in RULES}
    assert names <= triggers()
    pre_migrate.send(apps, app_config=config, using="default")
    assert not names & triggers()
    post_migrate.send(apps, app_config=config, using="default")
    assert names <= triggers()


def run(**options):
    out = StringIO()
    call_command("ledger", stdout=out, **options)
    return out.getvalue()


def test_the_command_says_that_all_is_well(act, bench):
    stock.take(act=act(bench), lot=LotFactory(), quantity=2, document="W")
    assert run() == "Every balance is the sum of its movements (2 movements).\n"
    assert json.loads(run(json=True)) == {"movements": 2, "differences": []}


def test_the_command_names_what_differs_and_fails():
    lot, lost = LotFactory(number="L-A"), LotFactory(number="L-B", quantity_received=5)
    Balance.objects.filter(lot=lot).update(quantity=4)
    Balance.objects.filter(lot=lost).delete()
    out = StringIO()
    with pytest.raises(CommandError) as failed:
        call_command("ledger", stdout=out)
    assert failed.value.returncode == 1
    assert out.getvalue() == "lot L-A at A1: balance 4, ledger 20\nlot L-B at A1: balance 0, ledger 5\n"
    out = StringIO()
    with pytest.raises(CommandError):
        call_command("ledger", "--json", stdout=out)
    assert json.loads(out.getvalue())["differences"][0] == {
        "lot": "L-A",
        "place": "A1",
        "balance": 4,
        "ledger": 20,
    }


@pytest.mark.django_db(transaction=True)
def test_32_rows_past_the_services_leave_a_ledger_of_zero():
    lot, user, start = LotFactory(quantity_received=20), UserFactory(), Barrier(32)

    def one_client(_number):
        start.wait(timeout=60)
        try:
            with transaction.atomic():
                Movement.objects.create(lot=lot, kind="used", place="A1", quantity=-1, by=user, at=NOW)
        except IntegrityError:
            return "refused"
        finally:
            connection.close()
        return "taken"

    with ThreadPoolExecutor(32) as clients:
        answers = list(clients.map(one_client, range(32)))
    assert answers.count("taken") == 20
    assert Movement.objects.aggregate(total=Sum("quantity"))["total"] == 0

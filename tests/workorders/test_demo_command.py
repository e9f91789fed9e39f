"""The demo command: loads once, keeps what was entered, refuses what it must not touch."""

import datetime as dt
import json
import socket
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from shop.models import Customer
from tests import factories
from workorders.demo import catalogue
from workorders.management.commands import demo
from workorders.models import Reading, Unit


@pytest.fixture
def small(monkeypatch):
    monkeypatch.setattr(demo, "load_demo", lambda **given: catalogue_only(**given))


def catalogue_only(**given):
    from workorders.demo.load import load_demo

    return load_demo(**given, size=8)


@pytest.mark.django_db
def test_it_loads_once_and_keeps_what_was_entered(small, client):
    out = StringIO()
    call_command("demo", "--no-serve", stdout=out)
    assert "rebuilds loaded" in out.getvalue()
    for username, _name, role in catalogue.sign_ins():
        assert username in out.getvalue()
        assert role in out.getvalue()
        data = {"username": username, "password": catalogue.PASSWORD}
        assert client.post("/sign-in/", data).status_code == 302
        client.logout()
    entered = factories.CustomerFactory(name="Entered by hand")
    again = StringIO()
    call_command("demo", "--no-serve", stdout=again)
    assert "loaded already" in again.getvalue()
    assert Customer.objects.filter(pk=entered.pk).exists()
    read_by_the_history_command(Unit.objects.first())


def read_by_the_history_command(unit):
    out = StringIO()
    call_command("history", unit.serial, "--json", stdout=out)
    record = json.loads(out.getvalue())
    assert record["serial"] == unit.serial
    assert len(record["rebuilds"]) == unit.rebuilds.count()


@pytest.mark.django_db
def test_it_never_mixes_with_the_records_of_another_shop(small):
    factories.CustomerFactory()
    with pytest.raises(CommandError, match="other records"):
        call_command("demo", "--no-serve", stdout=StringIO())


def test_a_port_in_use_is_told_in_a_sentence():
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        port = holder.getsockname()[1]
        with pytest.raises(CommandError, match=f"Port {port}.*--port"):
            demo.refuse_port_in_use("127.0.0.1", port)


@pytest.mark.django_db
def test_the_sign_ins_are_shown_only_while_the_demo_is_served(client, settings):
    assert catalogue.PASSWORD not in client.get("/sign-in/").content.decode()
    settings.DEMO_SIGN_INS = [("ines", "receiving", catalogue.PASSWORD)]
    assert catalogue.PASSWORD in client.get("/sign-in/").content.decode()


def loaded_and_rolled_back():
    from django.db import transaction

    from workorders.demo.load import load_demo

    with transaction.atomic():
        load_demo(now=dt.datetime(2026, 11, 20, 15, 0, tzinfo=dt.UTC), size=8)
        units = list(Unit.objects.order_by("pk").values_list("serial", "unit_type__code"))
        readings = list(Reading.objects.order_by("pk").values_list("value", "verdict"))
        transaction.set_rollback(True)
    return units, readings


@pytest.mark.django_db
@pytest.mark.one_database
def test_the_same_clock_gives_the_same_shop():
    assert loaded_and_rolled_back() == loaded_and_rolled_back()

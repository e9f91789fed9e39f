"""Lists of the stores: the ledger and the counts narrowed, sorted and as files; heads that really sort."""

import ast
import datetime as dt
import importlib
import io
from pathlib import Path

import pandas as pd
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.services import counting, stock
from shop.services.writing import Act
from shop.views.tables import Table
from tests.conftest import NOW
from tests.factories import LotFactory, PartFactory, person

ROOT = Path(__file__).parents[2]
APPS = ("shop", "inventory", "workorders")


@pytest.fixture
def reader(client, db):
    client.force_login(person("bench"))
    return client


def read(client, name, **asked):
    answer = client.get(reverse(name), {**asked, "format": "csv"})
    assert answer.status_code == 200
    return pd.read_csv(io.BytesIO(answer.content), dtype=str, keep_default_na=False)


# --- the ledger ---


@pytest.fixture
def lots(db):
    """Two lots, with a use, a return, a scrapping and a move."""
    lead, later = person("lead", printed_name="Robin Lead"), NOW + dt.timedelta(days=2)
    wiper = LotFactory(number="L-A", part=PartFactory(number="WP-1", name="wiper"), quantity_received=20)
    ring = LotFactory(number="L-B", part=PartFactory(number="OR-1", name="O-ring"), quantity_received=5)
    used = stock.take(act=Act(by=lead, at=NOW), lot=wiper, quantity=3, document="W26-0001")
    stock.put_back(act=Act(by=lead, at=later), movement=used, document="W26-0001")
    stock.scrap(act=Act(by=lead, at=later, why="cut"), lot=ring, quantity=1, place="A1")
    stock.move(act=Act(by=lead, at=later), lot=ring, quantity=2, place="A1", to_place="C9")
    return wiper, ring


@pytest.mark.parametrize(
    ("asked", "pieces"),
    [
        ({}, ["2", "-2", "-1", "3", "-3", "5", "20"]),
        ({"lot": "L-A"}, ["3", "-3", "20"]),
        ({"kind": "scrapped"}, ["-1"]),
        ({"q": "wiper w26-0001"}, ["3", "-3"]),
        ({"q": "robin cut"}, ["-1"]),
        ({"q": "C9"}, ["2"]),
        ({"start": "2026-03-06", "end": "2026-03-06", "lot": "L-A"}, ["3"]),
        ({"end": "2026-03-04", "kind": "used"}, ["-3"]),
        ({"lot": "L-B", "sort": "pieces"}, ["-2", "-1", "2", "5"]),
        ({"lot": "L-B", "sort": "-pieces"}, ["5", "2", "-1", "-2"]),
        ({"lot": "L-0"}, []),
    ],
)
def test_the_ledger_is_narrowed_and_sorted(reader, lots, asked, pieces):
    assert read(reader, "inventory:ledger", **asked)["Pieces"].tolist() == pieces


def test_the_ledger_of_a_lot_comes_to_its_stock(reader, lots):
    for lot, left in zip(lots, (20, 4), strict=True):
        page = reader.get(reverse("inventory:ledger"), {"lot": lot.number}).content.decode()
        assert f"together +{left} pieces" in page
        assert sum(row.quantity for row in lot.balances.all()) == left
        assert f"ledger/?lot={lot.number}" in reader.get(lot.get_absolute_url()).content.decode()


def test_a_wrong_day_is_told_and_narrows_nothing(reader, lots):
    page = reader.get(reverse("inventory:ledger"), {"start": "spring"}).content.decode()
    assert "Enter a valid date" in page
    assert "7 movements" in page


def test_few_movements_and_many_cost_the_same_queries(reader, lots):
    counts = []
    for _round in range(2):
        with CaptureQueriesContext(connection) as asked:
            reader.get(reverse("inventory:ledger"))
        counts.append(len(asked))
        for _more in range(12):
            LotFactory()
    assert counts[0] == counts[1]


@pytest.mark.parametrize("name", ["inventory:ledger", "inventory:counts", "shop:people"])
def test_lists_are_for_people_with_a_role_and_take_no_post(client, db, name):
    address = reverse(name)
    assert client.get(address).url.startswith("/sign-in/")
    nobody = person("bench")
    client.force_login(nobody)
    assert client.get(address).status_code == 200
    assert client.post(address).status_code == 405
    nobody.groups.clear()
    client.force_login(nobody)
    assert client.get(address).status_code == 403


# --- counts and people ---


def test_counts_are_narrowed_and_really_sorted(reader, stores, lead):
    for at, place in enumerate(("B2", "A1", "C3")):
        lot = LotFactory(unit_cost=1)
        if place != "A1":
            stock.move(act=Act(by=lead, at=NOW), lot=lot, quantity=20, place="A1", to_place=place)
        act = Act(by=stores, at=NOW + dt.timedelta(hours=at))
        counted = counting.begin_count(act=act, place=place)
    counting.drop_count(act=Act(by=stores, at=NOW, why="wrong shelf"), count=counted)

    def places(**asked):
        return read(reader, "inventory:counts", **asked)["Place"].tolist()

    assert places() == ["C3", "A1", "B2"]
    assert places(sort="place") == ["A1", "B2", "C3"]
    assert places(sort="-place") == ["C3", "B2", "A1"]
    assert places(q="b2") == ["B2"]
    assert places(q="shelf") == ["C3"]
    assert places(state=counted.State.DROPPED) == ["C3"]
    assert "No count fits" in reader.get(reverse("inventory:counts"), {"q": "Z"}).content.decode()


def test_people_are_narrowed_and_sorted(client, db):
    people = [person("bench", printed_name=f"{name} Arden", username=name.lower()) for name in ("Bo", "Al")]
    people.append(person("stores", printed_name="Cy Dell", username="cy", is_active=False))
    client.force_login(people[0])

    def names(**asked):
        return read(client, "shop:people", **asked)["Name"].tolist()

    assert names() == ["Al Arden", "Bo Arden", "Cy Dell"]
    assert names(q="arden bo") == ["Bo Arden"]
    assert names(role="stores") == ["Cy Dell"]
    assert names(role="no such role") == names()
    assert names(state="may", sort="-name") == ["Bo Arden", "Al Arden"]
    assert names(state="out") == ["Cy Dell"]
    assert "Nobody fits" in client.get(reverse("shop:people"), {"q": "zz"}).content.decode()


# --- a head that can be clicked sorts ---


def unsorted_lists(sources):
    """Return the tables with columns to sort by whose view never puts its rows in order."""
    wrong = []
    for module, text in sources.items():
        calls = [node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Call)]
        ordered = {
            ast.unparse(call.args[1]) for call in calls if ast.unparse(call.func) == "in_order" and call.args
        }
        for call in calls:
            if ast.unparse(call.func) != "answer_list":
                continue
            named = next(ast.unparse(word.value) for word in call.keywords if word.arg == "table")
            table = _table(module, named)
            if table and any(column.sort is not None for column in table.columns) and named not in ordered:
                wrong.append(f"{module}: {named}")
    return wrong


def _table(module, named):
    """Return the table that a view names; None for one that is chosen as the page is asked for."""
    holder = importlib.import_module(module)
    for name in named.split("."):
        holder = getattr(holder, name, None)
    return holder if isinstance(holder, Table) else None


def views():
    found = [path for app in APPS for path in sorted((ROOT / app / "views").glob("*.py"))]
    return {".".join(path.relative_to(ROOT).with_suffix("").parts): path.read_text() for path in found}


def test_every_list_with_heads_to_sort_by_is_sorted():
    assert unsorted_lists(views()) == []


def test_a_list_that_is_not_sorted_is_seen():
    sources = views()
    text = sources["inventory.views.counting"]
    planted = text.replace("rows = in_order(request, columns.COUNTS, ", "rows = (")
    assert planted != text
    assert unsorted_lists({"inventory.views.counting": planted}) == [
        "inventory.views.counting: columns.COUNTS"
    ]

"""Lists of the shop sorted by every head and narrowed by words, checked against what their files hold."""

import io

import pandas as pd
import pytest
from django.db import connection, transaction
from django.test import Client, override_settings
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from shop.models import Customer, FluidFamily, UnitType
from shop.views import columns as of_shop
from tests.factories import CustomerFactory, FluidFactory, RebuildFactory
from tests.world import World
from workorders.models import Box, Claim, OutsideWork, Rebuild
from workorders.views import columns

# The list, what it shows all of, its columns, and those of them that its field looks through.
LISTS = [
    ("workorders:home", {}, columns.IN_THE_SHOP, ["Unit", "Unit type's name", "Customer", "Where"]),
    ("workorders:work_orders", {"show": "all"}, columns.WORK_ORDERS, ["Number", "Customer", "Their order"]),
    ("workorders:boxes", {"show": "all"}, columns.BOXES, ["Box", "Sender", "Their order", "Where"]),
    ("workorders:box_links", {}, columns.LINKS, ["For whom", "Customer", "Box"]),
    ("workorders:claims", {"state": "all"}, columns.CLAIMS, ["Claim", "Unit", "Claimant", "Reported"]),
    ("workorders:shipments", {}, columns.SHIPMENTS, ["Shipment", "To", "Carrier", "Tracking", "Units"]),
    ("workorders:cores_owed", {"show": "all"}, columns.EXCHANGES, ["Customer", "Unit given", "Shipment"]),
    ("workorders:outside_works", {"show": "all"}, columns.OUTSIDE_WORK, ["Unit", "Supplier"]),
    ("workorders:instruments", {}, columns.INSTRUMENTS, ["Code", "What it is", "Serial"]),
    ("workorders:drafts", {}, columns.DRAFTS, ["Draft", "Working name", "Numbers on the body"]),
    ("shop:customers", {}, of_shop.CUSTOMERS, ["Name", "Town"]),
    ("shop:duplicates", {}, of_shop.LIKELY_DUPLICATES, ["First, name", "Second, name"]),
    (
        "shop:duplicates",
        {"show": "different"},
        of_shop.DIFFERENT_CUSTOMERS,
        ["First, name", "Second, name"],
    ),
    ("shop:unit_types", {}, of_shop.UNIT_TYPES, ["Unit type", "Name", "Maker"]),
    ("shop:applications", {}, of_shop.APPLICATIONS, ["Name", "Note"]),
    ("shop:fluids", {}, of_shop.FLUIDS, ["Name", "Note"]),
    ("shop:imports", {}, of_shop.IMPORTS, ["List", "File", "By"]),
]
NAMES = [row[0] for row in LISTS]
DECLARED = {
    "Stage": Rebuild.Stage,
    "Packing": Box.Packing,
    "Judgement": Claim.Judgement,
    "Work": OutsideWork.Kind,
    "Kind": Customer.Kind,
}
FAMILIES = {"shop:fluids": FluidFamily}
ORDERS = [
    (name, every, table, column.title, column.key)
    for name, every, table, _searched in LISTS
    for column in table.columns
    if column.sort is not None
]


@pytest.fixture(scope="module")
def reader(django_db_setup, django_db_blocker, tmp_path_factory):
    """Somebody of the lead's role who reads the lists of a whole world of rows."""
    fast = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    with (
        django_db_blocker.unblock(),
        override_settings(FILES_DIR=tmp_path_factory.mktemp("files"), PASSWORD_HASHERS=fast),
        transaction.atomic(),
    ):
        world = World()
        CustomerFactory(name="al Ostrey", town="")
        FluidFactory(name="HM 100", viscosity_grade="VG 100")
        FluidFactory(name="HM 46", viscosity_grade="VG 46")
        client = Client()
        client.force_login(world.people["lead"])
        yield client
        transaction.set_rollback(True)


def read(reader, name, **asked):
    answer = reader.get(reverse(name), {**asked, "format": "csv"})
    assert answer.status_code == 200
    return pd.read_csv(io.BytesIO(answer.content), dtype=str, keep_default_na=False)


def comparable(name, title, text):
    """What a cell is sorted by: the place of a choice, a number, or a text in small letters."""
    if title == "Family":
        return FAMILIES.get(name, UnitType.Family).labels.index(text)
    if title in DECLARED:
        return DECLARED[title].labels.index(text)
    if title == "Viscosity grade":
        return len(text), text
    if title == "Range to":
        return float(text)
    return float(text) if text.isdecimal() else text.casefold()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("name", "every", "table", "title", "key"), ORDERS, ids=lambda value: str(value)[:30]
)
def test_every_head_sorts_its_list_both_ways_with_the_empty_cells_last(
    reader, name, every, table, title, key
):
    usual = read(reader, name, **every)[title]
    assert len(usual) > 0
    full = [text for text in usual if text or title in ("Judgement",)]
    for falling in (False, True):
        told = read(reader, name, **every, sort=f"-{key}" if falling else key)[title].tolist()
        shown, rest = told[: len(full)], told[len(full) :]
        assert sorted(told) == sorted(usual)
        assert [comparable(name, title, text) for text in shown] == sorted(
            (comparable(name, title, text) for text in full), reverse=falling
        )
        assert set(rest) <= {""}


@pytest.mark.django_db
@pytest.mark.parametrize(("name", "every", "table", "searched"), LISTS, ids=NAMES)
def test_a_list_is_narrowed_to_the_rows_that_hold_every_word(reader, name, every, table, searched):
    rows = read(reader, name, **every)
    text = rows[searched].agg(" ".join, axis=1).str.casefold()
    last = rows.iloc[-1]
    words = [last[title].split()[0] for title in searched if last[title]][:2]
    wanted = [all(word.casefold() in cells for word in words) for cells in text]
    assert any(wanted)
    asked = {**every, "q": " ".join(words).upper()}
    found = read(reader, name, **asked)
    assert found.to_numpy().tolist() == rows[wanted].to_numpy().tolist()
    page = reader.get(reverse(name), asked).content.decode()
    assert f'value="{asked["q"]}"' in page
    assert "format=csv" in page
    assert read(reader, name, **{**asked, "q": f"{asked['q']} zzqx"}).empty


@pytest.mark.django_db
@pytest.mark.parametrize(("name", "every", "table", "searched"), LISTS, ids=NAMES)
def test_where_nothing_is_found_the_page_says_how_to_widen_it(reader, name, every, table, searched):
    page = reader.get(reverse(name), {**every, "q": "zzqx"}).content.decode()
    empty = page.split('<div class="empty">')[1].split("</div>")[0]
    assert "ry fewer" in empty or "ry part" in empty
    assert "Show " in page  # every row again


@pytest.mark.django_db
@pytest.mark.parametrize(("name", "every", "table", "searched"), LISTS, ids=NAMES)
def test_text_and_order_go_along_from_page_to_file_and_cost_no_queries(reader, name, every, table, searched):
    key = next(column.key for column in table.columns if column.sort is not None)
    counts = []
    for more in ({}, {"q": "a", "sort": f"-{key}"}):
        with CaptureQueriesContext(connection) as queries:
            page = reader.get(reverse(name), {**every, **more}).content.decode()
        counts.append(len(queries))
    assert counts[1] <= counts[0]
    if "No " not in page:
        assert f"q=a&amp;sort=-{key}&amp;format=csv" in page


@pytest.mark.django_db
def test_pages_of_rows_of_one_value_hold_every_row_once(reader):
    RebuildFactory.create_batch(60, shelf="long rack")
    asked = {"q": "long rack", "sort": "-where"}
    pages = [
        reader.get(reverse("workorders:home"), {**asked, "page": page}).context["page"] for page in (1, 2)
    ]
    assert len({row.pk for page in pages for row in page}) == 60


@pytest.mark.django_db
def test_the_address_of_a_link_is_in_no_file(reader):
    page = reader.get(reverse("workorders:box_links")).content.decode()
    assert "/announce/" in page
    assert "announce" not in reader.get(reverse("workorders:box_links"), {"format": "csv"}).content.decode()


@pytest.mark.django_db
def test_a_page_of_pasted_text_is_no_fault(reader):
    for name in [*NAMES, "inventory:lots", "inventory:parts", "shop:people", "workorders:find"]:
        assert reader.get(reverse(name), {"q": "word " * 1500}).status_code == 200


@pytest.mark.django_db
def test_a_serial_is_found_however_it_is_written(reader):
    for name, title in (("workorders:home", "Unit"), ("workorders:work_orders", "")):
        serial = read(reader, "workorders:home")["Unit"].iloc[0]
        threes = " ".join(serial[at : at + 3] for at in range(0, len(serial), 3))
        for text in (serial.lower(), threes, f"https://example.com/u/{serial}"):
            found = read(reader, name, q=text)
            assert len(found) == 1
            assert not title or found[title].tolist() == [serial]

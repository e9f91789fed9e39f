"""Every list page as a file: roles, filters, all rows, and queries that do not grow with them."""

import datetime as dt
import io

import openpyxl
import pandas as pd
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.factories import CustomerFactory, LotFactory, PartFactory, RebuildFactory, person

pytestmark = pytest.mark.django_db

LISTS = [
    "shop:applications",
    "shop:customers",
    "shop:fluids",
    "shop:people",
    "shop:unit_types",
    "inventory:found_in_bin",
    "inventory:kits",
    "inventory:lots",
    "inventory:packed_kits",
    "inventory:parts",
    "inventory:suppliers",
    "workorders:boxes",
    "workorders:claims",
    "workorders:home",
    "workorders:instruments",
    "workorders:shipments",
    "workorders:work_orders",
]


@pytest.fixture
def reader(client, bench):
    client.force_login(bench)
    return client


def table(answer):
    assert answer.status_code == 200
    return pd.read_excel(io.BytesIO(answer.content), dtype=str, keep_default_na=False)


@pytest.mark.parametrize("form", ["csv", "xlsx"])
@pytest.mark.parametrize("name", LISTS)
def test_every_list_is_given_as_a_file(reader, name, form):
    answer = reader.get(reverse(name), {"format": form})
    assert answer.status_code == 200
    assert answer["Content-Disposition"].startswith("attachment;")
    assert answer["Content-Disposition"].endswith(f'.{form}"')
    read = pd.read_csv if form == "csv" else pd.read_excel
    assert len(read(io.BytesIO(answer.content)).columns) >= 3


@pytest.mark.parametrize("name", LISTS)
def test_a_file_is_for_those_who_may_see_the_list(client, name):
    answer = client.get(reverse(name), {"format": "csv"})
    assert answer.status_code == 302
    assert answer.url.startswith("/sign-in/")
    nobody = person("bench")
    nobody.groups.clear()
    client.force_login(nobody)
    assert client.get(reverse(name), {"format": "csv"}).status_code == 403


def test_an_unknown_format_is_not_found_and_a_post_refused(reader):
    assert reader.get(reverse("inventory:parts"), {"format": "exe"}).status_code == 404
    assert reader.post(reverse("inventory:parts") + "?format=csv").status_code == 405


def test_the_page_offers_both_files_with_its_filter(reader):
    CustomerFactory(name="Marram Boats")
    page = reader.get(reverse("shop:customers"), {"q": "Marram", "page": "1"}).content.decode()
    assert 'href="?q=Marram&amp;format=csv"' in page
    assert 'href="?q=Marram&amp;format=xlsx"' in page


def test_a_file_holds_all_rows_of_the_filter_and_no_others(reader):
    for number in range(60):
        PartFactory(number=f"AA-{number:03d}")
    PartFactory(number="BB-1")
    rows = table(reader.get(reverse("inventory:parts"), {"q": "AA-", "page": "2", "format": "xlsx"}))
    assert rows["Part number"].tolist() == [f"AA-{number:03d}" for number in range(60)]


def test_the_values_of_a_lot_are_those_of_its_page(reader):
    LotFactory(number="L-7", part=PartFactory(number="P-1", name="wiper"), quantity_received=20)
    sheet = openpyxl.load_workbook(
        io.BytesIO(reader.get(reverse("inventory:lots"), {"format": "xlsx"}).content)
    ).active
    titles, values = ([cell.value for cell in row] for row in sheet.iter_rows())
    row = dict(zip(titles, values, strict=True))
    assert (row["Lot number"], row["Part number"], row["Part name"]) == ("L-7", "P-1", "wiper")
    assert row["Use by"] == dt.datetime(2031, 9, 30)
    assert (row["Pieces left"], row["Where"]) == (20, "A1 (20)")


def test_a_telephone_number_with_a_plus_is_harmless(reader):
    CustomerFactory(name="Marram", phone="+44 1632 960001")
    assert "'+44 1632 960001" in reader.get(reverse("shop:customers"), {"format": "csv"}).content.decode()


@pytest.mark.parametrize(
    ("name", "make"),
    [
        ("shop:customers", CustomerFactory),
        ("inventory:parts", PartFactory),
        ("inventory:lots", LotFactory),
        ("workorders:home", RebuildFactory),
        ("workorders:work_orders", RebuildFactory),
    ],
)
def test_ten_rows_and_thirty_cost_the_same_queries(reader, name, make):
    counts = []
    for more in (10, 20):
        make.create_batch(more)
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert reader.get(reverse(name), {"format": "xlsx"}).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1]

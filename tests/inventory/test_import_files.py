"""Lists from files: what is read, whatever wrote it, and what is refused by row or as a whole."""

import datetime as dt
import io
import zipfile

import openpyxl
import pandas as pd
import pytest
from django.urls import reverse

from inventory.models import Lot, Part
from shop.errors import RuleBroken
from shop.importers import importers
from shop.models import Customer
from shop.tables.faults import TableError
from tests.asking import rows
from tests.factories import (
    PartFactory,
    SupplierFactory,
)
from tests.inventory.lists import LOTS, PARTS, told, workbook

pytestmark = pytest.mark.django_db


def test_a_check_writes_nothing(check):
    before = rows()
    found = check("parts", PARTS)
    assert (found.rows, found.new, found.there, found.faults) == (2, 2, 0, [])
    assert rows() == {**before, "StoredFile": before["StoredFile"] + 1}


def test_every_error_of_every_row_is_told_with_its_column(check):
    PartFactory(number="P-3", name="wiper", kind="wiper", polymer="AU", hardness_shore_a=None)
    found = check(
        "parts",
        "Part number,Name,Kind,Material,Hardness\n".replace("Hardness", '"Hardness, Shore A"')
        + "P-1,,lip sael,NBR,hard\n"
        + "P-2,seal,lip seal,,\n"
        + "P-3,scraper,wiper,AU,\n"
        + "P-4,clip,clip or plate,,\n"
        + "P-4,plate,clip or plate,,\n",
    )
    assert found.new == 1
    kinds = ", ".join(Part.Kind.labels)
    assert told(found) == [
        (2, "Name", "This is still empty."),
        (2, "Kind", f"“lip sael” is none of: {kinds}."),
        (2, "Hardness, Shore A", "“hard”: Enter a whole number."),
        (3, "", "A seal needs its polymer."),
        (4, "Name", "P-3 wiper is there already with “wiper”; the file says “scraper”."),
        (6, "Name", "P-4 clip is there already with “clip”; the file says “plate”."),
    ]


def test_a_date_that_needs_a_guess_is_refused(check):
    PartFactory(number="P-1")
    SupplierFactory(name="Northhaven Seals")
    found = check("lots", LOTS.replace("03.04.2025", "03/04/2025"))
    assert told(found) == [
        (
            2,
            "Received on",
            "“03/04/2025” is not a date that is read without guessing: write 2025-04-03 or 03.04.2025.",
        )
    ]


def test_a_lot_names_what_is_not_there(check):
    found = check("lots", LOTS.replace("L-2;", ";"))
    assert told(found) == [
        (2, "Part number", "“P-1” is no part number of the shop: enter it first."),
        (2, "Supplier", "“Northhaven Seals” is no supplier of the shop: enter it first."),
        (3, "Part number", "“P-1” is no part number of the shop: enter it first."),
        (3, "Supplier", "“Northhaven Seals” is no supplier of the shop: enter it first."),
        (
            3,
            "Lot number",
            "A lot of the old papers needs its number: by it the same lot is known again.",
        ),
    ]


def test_the_error_of_a_formula_and_cells_beyond_the_headings_are_refused(check):
    found = check("customers", "Name,Town\nMarram,#REF!\nDune,Quay,more\n")
    assert told(found) == [
        (2, "Town", "“#REF!” is the error of a formula."),
        (3, "", "More cells than headings: more."),
    ]


def test_example_rows_of_a_template_are_left_out(client, lead, check):
    client.force_login(lead)
    for importer in importers():
        for form in ("csv", "xlsx"):
            data = client.get(reverse("shop:import_template", args=[importer.kind, form])).content
            with pytest.raises(TableError, match="no rows below its headings"):
                check(importer.kind, data, f"template.{form}")


ROW = ["Müller Söhne & Café", "Grünstraße 5"]
CUSTOMERS = f"Name,Street\n{ROW[0]},{ROW[1]}\n"


@pytest.mark.parametrize(
    "data",
    [
        CUSTOMERS.encode("utf-8"),
        CUSTOMERS.encode("utf-8-sig"),
        CUSTOMERS.encode("utf-16"),
        CUSTOMERS.encode("cp1252"),
        CUSTOMERS.replace(",", ";").encode("cp1252"),
        CUSTOMERS.replace(",", "\t").encode(),
        CUSTOMERS.replace("\n", "\r\n").encode(),
        CUSTOMERS.replace("Name", " NAME ").encode(),
        ("\n\n" + CUSTOMERS).encode(),
        workbook([["Name", "Street"], ROW]),
    ],
    ids=["utf8", "bom", "utf16", "cp1252", "semicolon", "tab", "crlf", "heading", "blank", "xlsx"],
)
def test_a_list_is_read_whatever_wrote_it(enter, data):
    enter("customers", data)
    assert Customer.objects.values_list("name", "street").get() == tuple(ROW)


def test_numbers_and_dates_of_a_workbook_that_pandas_wrote(enter):
    PartFactory(number="1001")
    SupplierFactory(name="Northhaven Seals")
    table = pd.DataFrame(
        {
            "Lot number": [815.0],
            "Part number": [1001],
            "Supplier": ["Northhaven Seals"],
            "Pieces": [20.0],
            "Place": ["A1"],
            "Received on": [pd.Timestamp("2025-04-03")],
            "Cure date": ["3Q24"],
            "Cost of a piece": [2.5],
        }
    )
    file = io.BytesIO()
    table.to_excel(file, index=False)
    enter("lots", file.getvalue(), "lots.xlsx")
    lot = Lot.objects.get()
    assert (lot.number, lot.part.number, lot.pieces_left) == ("815", "1001", 20)
    assert (lot.received_on, float(lot.unit_cost)) == (dt.date(2025, 4, 3), 2.5)


def test_decimal_commas_are_read_and_thousands_are_not_guessed(check):
    PartFactory(number="P-1")
    SupplierFactory(name="Northhaven Seals")
    assert not check("lots", LOTS).faults
    assert check("lots", LOTS.replace("2,50", "1.002,50")).faults[0].column == "Cost of a piece"
    assert check("lots", LOTS.replace(";20;", ";1,000;")).faults[0].column == "Pieces"


def packed(**parts):
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in parts.items():
            package.writestr(name.replace("__", "/").replace("_dot_", "."), data)
    return file.getvalue()


GOOD_BOOK = workbook([["Name"], ["Marram"]])


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "empty"),
        (b" \n \n", "empty"),
        (b"Name,Town\n", "no rows below"),
        (b"Nome,Town\nMarram,Quay\n", "No such column: Nome"),
        (b"Town\nQuay\n", "these are missing: Name"),
        (b"Name,,Town\nMarram,,Quay\n", "Column 2 has no heading"),
        (b"Name,name\nMarram,Dune\n", "stands there 2 times"),
        (b'Name,Town\n"Marram,Quay\n', "not closed"),
        (b"Name" + b"x" * 200_000, "not closed|No such column"),
        (b"Name\nMar\0ram\n", "not text"),
        (bytes(range(256)), "not text"),
        (b"Name\n" + b"Marram\n" * 10_001, "more than 10000 rows"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "old or a locked workbook"),
        (b"PK\x03\x04 damaged", "damaged"),
        (GOOD_BOOK[: len(GOOD_BOOK) // 2], "damaged"),
        (packed(a_dot_txt="no workbook"), "damaged"),
        (packed(xl__vbaProject_dot_bin="macro"), "holds macros"),
        (packed(xl__sheet_dot_xml=b"0" * (101 * 2**20)), "unpacks to more than 100 MB"),
    ],
)
def test_a_file_that_is_no_list_is_refused_with_the_reason(check, data, reason):
    before = rows()
    with pytest.raises(TableError, match=reason):
        check("customers", data)
    assert rows() == {**before, "StoredFile": before["StoredFile"] + 1}


def test_entities_that_grow_are_refused(check):
    """The billion laughs: an entity of entities, as in CVE-2003-1564."""
    source = zipfile.ZipFile(io.BytesIO(GOOD_BOOK))
    lines = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12))
    bomb = f'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a0 "ha">{lines}]>'
    parts = {name: source.read(name) for name in source.namelist()}
    sheet = "xl/worksheets/sheet1.xml"
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    cell = '<row><c t="inlineStr"><is><t>&a11;</t></is></c></row>'
    parts[sheet] = f'{bomb}<worksheet xmlns="{space}"><sheetData>{cell}</sheetData></worksheet>'
    with pytest.raises(TableError, match="damaged"):
        check("customers", packed(**parts))


def test_a_lone_cell_far_down_is_not_read_for_long(check):
    book = openpyxl.Workbook()
    book.active["A1"] = "Name"
    book.active["A1048576"] = "Marram"
    file = io.BytesIO()
    book.save(file)
    with pytest.raises(TableError, match="empty ones too"):
        check("customers", file.getvalue())


def test_a_file_that_is_too_large_is_not_stored(stored):
    with pytest.raises(RuleBroken, match="larger than 10 MB"):
        stored(b"Name\n" + b"x" * (10 * 2**20))

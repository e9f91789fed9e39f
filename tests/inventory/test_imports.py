"""Lists from files: what is read, what is refused by row, entered whole or not at all, undone."""

import datetime as dt
import io
import zipfile

import openpyxl
import pandas as pd
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inventory.models import Balance, Lot, Movement, Part, Supplier
from inventory.services import parts as part_services
from inventory.services import stock
from shop.errors import NotAllowed, RuleBroken
from shop.importers import importer_of, importers
from shop.models import Customer, Import, ImportedRow, UnitType
from shop.services import catalogue, imports
from shop.tables.faults import TableError
from tests.asking import rows
from tests.factories import (
    CustomerFactory,
    FluidFactory,
    LotFactory,
    PartFactory,
    SupplierFactory,
    WorkOrderFactory,
)

pytestmark = pytest.mark.django_db

PARTS = (
    'Part number,Name,Kind,Material,"Hardness, Shore A",Size,Note\n'
    "P-1,rod seal,lip seal,NBR,90,12 x 20 x 5,\n"
    "P-2,clip,clip or plate,,,,old stock\n"
)
LOTS = (
    "Lot number;Part number;Supplier;Pieces;Place;Received on;Cure date;Cost of a piece\n"
    "L-1;P-1;Northhaven Seals;20;A1;03.04.2025;3Q24;2,50\n"
    "L-2;P-1;Northhaven Seals;5;A2;2025-04-04;4Q24;\n"
)
TYPES = (
    'Row is,Unit type,Place,Name,Family,Service fluid,"Bore, mm",Kind,Motion\n'
    "type,C-1,,Lift cylinder,cylinder,HM 32,25,,\n"
    "position,C-1,S1,rod seal,,,,rod seal,reciprocating\n"
    "position,C-1,S2,wiper,,,,wiper,reciprocating\n"
    "component,C-1,K1,rod,,,,rod,\n"
)


@pytest.fixture
def stored(act, lead):
    """Store the bytes of a list, as the page does."""

    def store(data, name="list.csv"):
        data = data.encode() if isinstance(data, str) else data
        return imports.store_file(act=act(lead), upload=SimpleUploadedFile(name, data))

    return store


@pytest.fixture
def check(act, lead, stored):
    def run(kind, data, name="list.csv"):
        return imports.check_file(act=act(lead), importer=importer_of(kind), file=stored(data, name))

    return run


@pytest.fixture
def enter(act, lead, stored):
    def run(kind, data, name="list.csv"):
        return imports.enter_file(act=act(lead), importer=importer_of(kind), file=stored(data, name))

    return run


@pytest.fixture
def undo(act, lead):
    return lambda entered, why="wrong file": imports.undo_import(act=act(lead, why=why), entered=entered)


def told(found):
    return [(fault.row, fault.column, fault.reason) for fault in found.faults]


def workbook(table_rows):
    book = openpyxl.Workbook()
    for row in table_rows:
        book.active.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


# --- what a check finds ---


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


# --- how files are read ---

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


# --- entering ---


def test_entering_makes_rows_whose_history_names_file_and_row(enter, lead):
    entered = enter("parts", PARTS, "old parts.csv")
    part = Part.objects.get(number="P-2")
    assert (part.kind, part.note) == ("clip", "old stock")
    history = part.history.get()
    assert history.history_user == lead
    assert history.history_change_reason == "imported from old parts.csv, row 3"
    assert (entered.rows_entered, entered.rows_there, entered.kind) == (2, 0, "parts")
    assert [(row.row_number, row.name) for row in entered.rows.all()] == [
        (2, "P-1 rod seal"),
        (3, "P-2 clip"),
    ]


def test_one_wrong_row_keeps_every_row_out(enter):
    with pytest.raises(RuleBroken, match="1 of 3 rows cannot be entered, so none was"):
        enter("parts", PARTS + "P-3,,wiper,AU,,,\n")
    assert not Part.objects.exists()
    assert not Import.objects.exists()


def test_what_changed_since_the_check_is_found_when_entering(stored, act, lead):
    file, importer = stored(PARTS), importer_of("parts")
    assert not imports.check_file(act=act(lead), importer=importer, file=file).faults
    PartFactory(number="P-1", name="something else")
    with pytest.raises(RuleBroken, match="1 of 2 rows"):
        imports.enter_file(act=act(lead), importer=importer, file=file)
    assert Part.objects.count() == 1


def test_the_same_file_again_has_nothing_to_enter(enter, check):
    enter("parts", PARTS)
    found = check("parts", PARTS)
    assert (found.new, found.there, found.faults) == (0, 2, [])
    with pytest.raises(RuleBroken, match="there already"):
        enter("parts", PARTS)


def test_lots_come_onto_the_ledger(enter):
    enter("parts", PARTS)
    enter("suppliers", "Name\nNorthhaven Seals\n")
    enter("lots", LOTS)
    lot = Lot.objects.get(number="L-1")
    # ISO 2230: NBR is of group A, 7 years from the end of the cure quarter.
    assert lot.use_by == dt.date(2031, 9, 30)
    assert (lot.pieces_left, str(lot.unit_cost)) == (20, "2.50")
    movement = lot.movements.get()
    assert (movement.place, movement.quantity, movement.why) == ("A1", 20, "imported from list.csv, row 2")
    assert stock.ledger_differences() == []


def test_a_lot_that_differs_is_told_by_column(enter, check):
    enter("parts", PARTS)
    enter("suppliers", "Name\nNorthhaven Seals\n")
    enter("lots", LOTS)
    assert check("lots", LOTS).there == 2
    found = check("lots", LOTS.replace(";20;A1;", ";21;B9;").replace("4Q24", "1Q24"))
    assert [(row, column) for row, column, _why in told(found)] == [
        (2, "Pieces"),
        (2, "Place"),
        (3, "Cure date"),
    ]


def test_customers_of_one_name_are_told_apart_by_postcode(enter, check):
    CustomerFactory(name="Marram", postcode="NH1", town="Northhaven")
    found = check(
        "customers", "Name,Postcode,Town\nMarram,NH1,Northhaven\nMarram,NH2,Quay\nMarram,NH1,Quay\n"
    )
    assert (found.there, found.new) == (1, 1)
    assert told(found)[-1] == (
        4,
        "Town",
        "Marram is there already with “Northhaven”; the file says “Quay”.",
    )


def test_a_type_comes_with_its_draft_and_its_places(enter, check):
    FluidFactory()
    entered = enter("unit-types", TYPES)
    revision = UnitType.objects.get(code="C-1").revisions.get()
    assert (revision.state, revision.bore_mm, str(revision.service_fluid)) == ("draft", 25.0, "HM 32")
    assert [str(row) for row in revision.positions.all()] == ["S1 rod seal", "S2 wiper"]
    assert [row.kind for row in revision.components.all()] == ["rod"]
    assert (entered.rows_entered, entered.rows.count()) == (4, 5)
    again = check("unit-types", TYPES)
    assert (again.there, told(again)) == (4, [])


def test_wrong_rows_of_a_type_are_told(check):
    FluidFactory()
    found = check(
        "unit-types",
        TYPES.replace("HM 32,25", "HM 99,wide").replace("rod,,,,rod,", "rod,,,12,rod,")
        + "valve,C-1,X,x,,,,,\nposition,C-9,S1,seal,,,,rod,static\n",
    )
    assert [(row, column) for row, column, _why in told(found)] == [
        (2, "Service fluid"),
        (2, "Bore, mm"),
        (3, "Unit type"),
        (4, "Unit type"),
        (5, "Bore, mm"),
        (6, "Row is"),
        (7, "Unit type"),
    ]
    assert "“HM 99” is not in the list of fluids" in told(found)[0][2]


def test_the_export_of_parts_is_there_already_in_every_row(client, lead, check):
    client.force_login(lead)
    PartFactory.create_batch(5)
    PartFactory(
        number="=P-9", name="-12 clip", kind="clip", polymer="", hardness_shore_a=None, note="@home\n2nd"
    )
    PartFactory(number="'tis", name='ö ring; "x"', kind="o_ring", size_designation="+1")
    for form in ("csv", "xlsx"):
        data = client.get(reverse("inventory:parts"), {"format": form}).content
        found = check("parts", data, f"parts.{form}")
        assert (found.rows, found.there, told(found)) == (7, 7, [])


def test_only_the_lead_enters_lists(stored, act, bench):
    importer = importer_of("parts")
    file = stored(PARTS)
    with pytest.raises(NotAllowed):
        imports.check_file(act=act(bench), importer=importer, file=file)
    with pytest.raises(NotAllowed):
        imports.enter_file(act=act(bench), importer=importer, file=file)


# --- undo ---


def test_an_undone_import_leaves_only_history(enter, undo, lead):
    FluidFactory()
    for kind, data, model in (
        ("parts", PARTS, Part),
        ("unit-types", TYPES, UnitType),
        ("suppliers", "Name\nNorthhaven Seals\n", Supplier),
        ("customers", CUSTOMERS, Customer),
    ):
        entered = undo(enter(kind, data))
        assert not model.objects.exists()
        gone = model.history.filter(history_type="-").first()
        assert (gone.history_user, gone.history_change_reason) == (
            lead,
            f"undo of import {entered.pk}: wrong file",
        )
        assert entered.undone_why == "wrong file"
        assert enter(kind, data).rows_entered == entered.rows_entered


def test_an_undone_lot_keeps_its_ledger_and_frees_its_number(enter, undo):
    enter("parts", PARTS)
    enter("suppliers", "Name\nNorthhaven Seals\n")
    undo(enter("lots", LOTS))
    lot = Lot.objects.get(number__startswith="L-1.undone-")
    assert [row.quantity for row in lot.movements.all()] == [20, -20]
    assert (lot.pieces_left, lot.state) == (0, "on_hold")
    assert stock.ledger_differences() == []
    assert enter("lots", LOTS.replace(";20;", ";25;")).rows_entered == 2
    assert Lot.objects.get(number="L-1").pieces_left == 25


def test_an_import_in_use_is_not_undone_and_says_what_uses_it(enter, undo):
    entered = enter("parts", PARTS)
    LotFactory(number="L-77", part=Part.objects.get(number="P-1"))
    with pytest.raises(RuleBroken, match="row 2: P-1 rod seal is used by lot L-77"):
        undo(entered)
    assert Part.objects.count() == 2
    assert Import.objects.get().undone_at is None


def test_a_row_that_was_changed_since_is_not_undone(enter, undo, act, lead):
    entered = enter("parts", PARTS)
    part_services.save_part(act=act(lead, why="better"), part=Part.objects.get(number="P-2"), note="new")
    with pytest.raises(RuleBroken, match="row 3: P-2 clip was changed since"):
        undo(entered)


def test_a_lot_of_which_pieces_moved_is_not_undone(enter, undo, act, lead):
    enter("parts", PARTS)
    enter("suppliers", "Name\nNorthhaven Seals\n")
    entered = enter("lots", LOTS)
    lot = Lot.objects.get(number="L-2")
    stock.move(act=act(lead), lot=lot, quantity=1, place="A2", to_place="B1")
    before = (Movement.objects.count(), Balance.objects.count())
    with pytest.raises(RuleBroken, match="row 3: Lot L-2 is in use: its ledger has 3 entries"):
        undo(entered)
    assert (Movement.objects.count(), Balance.objects.count()) == before
    assert Lot.objects.filter(number="L-1").exists()


def test_a_type_that_was_approved_or_a_customer_with_an_order_is_in_use(enter, undo, act, lead):
    FluidFactory()
    types = enter("unit-types", TYPES)
    revision = UnitType.objects.get(code="C-1").revisions.get()
    catalogue.approve_revision(act=act(lead, why="first"), revision=revision)
    with pytest.raises(RuleBroken, match="was changed since"):
        undo(types)
    assert revision.positions.count() == 2
    customers = enter("customers", CUSTOMERS)
    WorkOrderFactory(customer=Customer.objects.get(), number="W25-9999")
    with pytest.raises(RuleBroken, match="used by work order W25-9999"):
        undo(customers)


def test_an_import_is_undone_once_and_with_a_reason(enter, undo):
    entered = enter("parts", PARTS)
    with pytest.raises(RuleBroken, match="Say why"):
        undo(entered, why=" ")
    undo(entered)
    with pytest.raises(RuleBroken, match="undone already"):
        undo(entered)
    assert ImportedRow.objects.count() == 2

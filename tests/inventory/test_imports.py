"""Lists from files: entered whole or not at all, known again, undone."""

import datetime as dt

import pytest
from django.urls import reverse

from inventory.models import Balance, Lot, Movement, Part, Supplier
from inventory.services import parts as part_services
from inventory.services import stock
from shop.errors import NotAllowed, RuleBroken
from shop.importers import importer_of
from shop.models import Customer, Import, ImportedRow, UnitType
from shop.services import catalogue, imports
from tests.factories import (
    CustomerFactory,
    FluidFactory,
    LotFactory,
    PartFactory,
    WorkOrderFactory,
)
from tests.inventory.lists import LOTS, PARTS, TYPES, told
from tests.overtaking import meanwhile

pytestmark = pytest.mark.django_db
CUSTOMERS = "Name,Street\nMarram,3 Quay Street\n"


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


@pytest.mark.django_db(transaction=True)
def test_two_leads_enter_the_same_file_at_once_and_it_is_entered_once(stored, act, lead):
    files, importer = [stored(CUSTOMERS), stored(CUSTOMERS)], importer_of("customers")

    def job(file):
        return lambda: imports.enter_file(act=act(lead), importer=importer, file=file)

    _entered, refused = meanwhile(job(files[0]), job(files[1]))
    assert "there already" in str(refused)
    assert Customer.objects.count() == Import.objects.count() == 1


def test_lots_come_onto_the_ledger(enter):
    enter("parts", PARTS)
    enter("suppliers", "Name\nNorthhaven Seals\n")
    enter("lots", LOTS)
    lot = Lot.objects.get(number="L-1")
    # ISO 2230: NBR is of group A, 7 years from the end of the cure quarter.
    assert lot.use_by == dt.date(2031, 9, 30)
    assert (lot.pieces_left, str(lot.unit_cost)) == (20, "2.5000")
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


def test_an_empty_cell_says_nothing_of_a_customer_who_is_there(check, enter):
    enter("customers", ACCOUNTS)
    said = "Marram,,,,,,,"
    assert check("customers", f"{ACCOUNTS.splitlines()[0]}\n{said}\n").there == 1


ACCOUNTS = (
    "Name,Kind,Days to pay,Requires their order number,Who holds the warranty,Bills go to,"
    "Address lines of the bill,Ship-to addresses\n"
    "Marram,trade account,30,yes,the owner of the machine,Marram Accounts,PO 7,"
    '"yard: Marram Yard, Gate 2, Quay; pier: Marram, Pier 1"\n'
)


def test_an_account_comes_with_its_terms_and_addresses(enter, check, undo):
    entered = enter("customers", ACCOUNTS)
    row = Customer.objects.get()
    assert (row.payment_days, row.needs_order_number, row.warranty_holder) == (30, True, "owner")
    assert row.bill_to == "Marram Accounts\nPO 7"
    yard, pier = row.ship_tos.in_use()
    assert (yard.lines, yard.is_default) == ("Marram Yard\nGate 2\nQuay", True)
    assert (pier.lines, pier.is_default) == ("Marram\nPier 1", False)
    assert check("customers", ACCOUNTS).there == 1
    found = check("customers", ACCOUNTS.replace("Pier 1", "Pier 2"))
    assert told(found) == [(2, "Ship-to addresses", "Marram is there already with other ship-to addresses.")]
    undo(entered)
    assert not Customer.objects.exists()


def test_an_account_that_breaks_a_rule_is_told(check):
    found = check("customers", "Name,Days to pay,Ship-to addresses\nAnn,30,\nBea,,yard Gate 2\n")
    (row, _column, why), (other, column, _why) = told(found)
    assert (row, other, column) == (2, 3, "Ship-to addresses")
    assert "Only a trade account has terms" in why


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
    assert (
        "“HM 99” is not in the list of fluids: enter it there first, or write one of it (HM 32)"
        in (told(found)[0][2])
    )


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

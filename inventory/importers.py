"""Suppliers, parts and lots from files."""

from typing import Any

from django.db import models
from django.utils import timezone

from inventory.forms.stores import PartForm, ReceiveLotForm, SupplierForm
from inventory.models import Lot, Movement, Part, Supplier
from inventory.services.parts import save_part, save_supplier
from inventory.services.stock import receive_lot
from inventory.services.undo_lot import take_back_lot
from shop import importers
from shop.errors import RuleBroken
from shop.importers import Entered, Field, Importer, Values
from shop.models import Polymer
from shop.services.imports import take_back
from shop.services.writing import Act


def enter_supplier(act: Act, values: Values) -> Entered:
    """Enter one supplier, unless the same is there already."""
    wanted = values.cleaned(SupplierForm(values.form_data()))
    known = values.known(Supplier.objects.all(), "name")
    for row in known.get(wanted["name"]):
        values.same(row, wanted)
        return []
    return [known.add(save_supplier(act=act, **wanted))]


def enter_part(act: Act, values: Values) -> Entered:
    """Enter one part, unless the same is there already."""
    wanted = values.cleaned(PartForm(values.form_data()))
    known = values.known(Part.objects.all(), "number")
    for row in known.get(wanted["number"]):
        values.same(row, wanted)
        return []
    return [known.add(save_part(act=act, **wanted))]


def enter_lot(act: Act, values: Values) -> Entered:
    """Receive one lot, unless the same is there already."""
    wanted = _wanted_lot(values)
    known = values.known(Lot.objects.select_related("part", "supplier"), "number")
    for lot in known.get(wanted["number"]):
        came = Movement.objects.filter(lot=lot).order_by("pk").first()
        _refuse_differences(values, lot, came, wanted)
        return []
    return [known.add(receive_lot(act=act, **wanted))]


def _wanted_lot(values: Values) -> dict[str, Any]:
    """Return what the form makes of the row; part and supplier are looked up by what people write."""
    part = values.known(Part.objects.all(), "number").get(values["part"])
    supplier = values.known(Supplier.objects.all(), "name").get(values["supplier"])
    data = values.form_data() | {
        "part": part[0].pk if part else None,
        "supplier": supplier[0].pk if supplier else None,
    }
    try:
        wanted = values.cleaned(ReceiveLotForm(data, today=timezone.localdate(), currency=""))
    except RuleBroken as error:
        told = {name: _unknown(values, name) or text for name, text in error.fields.items()}
        raise RuleBroken(error.message, told | _number_needed(values)) from error
    if needed := _number_needed(values):
        raise RuleBroken(fields=needed)
    return wanted


def _unknown(values: Values, name: str) -> str:
    words = {"part": "part number", "supplier": "supplier"}.get(name)
    return f"“{values[name]}” is no {words} of the shop: enter it first." if words and values[name] else ""


def _number_needed(values: Values) -> dict[str, str]:
    if values["number"]:
        return {}
    return {"number": "A lot of the old papers needs its number: by it the same lot is known again."}


def _refuse_differences(values: Values, lot: Lot, came: Movement | None, told: dict[str, Any]) -> None:
    names = ("part", "supplier", "cure_date", "supplier_batch", "received_on", "unit_cost")
    refused: dict[str, str] = {}
    for row, of_row in (
        (lot, {name: told[name] for name in names}),
        (came, {name: told[name] for name in ("quantity", "place", "document")}),
    ):
        try:
            if row is not None:
                values.same(row, of_row)
        except RuleBroken as error:
            refused |= error.fields
    if refused:
        raise RuleBroken(fields=refused)


def take_back_imported_lot(act: Act, row: models.Model) -> None:
    """Undo one imported lot."""
    assert isinstance(row, Lot)
    take_back_lot(act=act, lot=row)


SUPPLIERS = Importer(
    kind="suppliers",
    title="Suppliers",
    lede="One row for each supplier. Lots name them, so they come first.",
    fields=(
        Field(name="name", title="Name", required=True),
        Field(name="phone", title="Telephone"),
        Field(name="email", title="E-mail"),
        Field(name="note", title="Note"),
    ),
    enter=enter_supplier,
    take_back=take_back,
    examples=({"name": "Northhaven Seals", "phone": "01632 960010", "email": "desk@example.org"},),
    passed=("Lots",),
    order=20,
)
PARTS = Importer(
    kind="parts",
    title="Parts",
    lede="One row for each part number.",
    fields=(
        Field(name="number", title="Part number", required=True),
        Field(name="name", title="Name", required=True),
        Field(name="kind", title="Kind", required=True, choices=Part.Kind.choices),
        Field(
            name="polymer",
            title="Material",
            choices=[(code, code) for code in Polymer.values],
            help="Seals need it.",
        ),
        Field(name="hardness_shore_a", title="Hardness, Shore A"),
        Field(name="size_designation", title="Size", help="As printed by the supplier."),
        Field(name="note", title="Note"),
    ),
    enter=enter_part,
    take_back=take_back,
    examples=(
        {
            "number": "PN-1001",
            "name": "rod seal",
            "kind": "lip seal",
            "polymer": "NBR",
            "hardness_shore_a": "90",
            "size_designation": "12 x 20 x 5",
        },
    ),
    passed=("Usable today",),
    order=30,
)
LOTS = Importer(
    kind="lots",
    title="Lots",
    lede="One row for each lot, with the pieces that lie there today. Parts and suppliers come first.",
    fields=(
        Field(name="number", title="Lot number", required=True),
        Field(name="part", title="Part number", required=True),
        Field(name="supplier", title="Supplier", required=True),
        Field(name="quantity", title="Pieces", required=True),
        Field(name="place", title="Place", required=True, help="Where in the stores."),
        Field(name="received_on", title="Received on", required=True, day=True, help="Such as 2025-04-03."),
        Field(name="cure_date", title="Cure date", help="As printed, such as 3Q24. Seals that age need it."),
        Field(name="supplier_batch", title="Supplier's batch"),
        Field(name="document", title="Delivery note"),
        Field(name="unit_cost", title="Cost of a piece", decimal=True),
    ),
    enter=enter_lot,
    take_back=take_back_imported_lot,
    examples=(
        {
            "number": "L-0815",
            "part": "PN-1001",
            "supplier": "Northhaven Seals",
            "quantity": "20",
            "place": "A1",
            "received_on": "2025-04-03",
            "cure_date": "3Q24",
            "unit_cost": "2.50",
        },
    ),
    order=40,
)


def register() -> None:
    """Offer this app's importers; called once when the program starts."""
    for importer in (SUPPLIERS, PARTS, LOTS):
        importers.register(importer)

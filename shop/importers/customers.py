"""Customers from a file; a name with a postcode is one customer."""

from typing import Any

from shop.errors import RuleBroken
from shop.forms.customers import CustomerForm
from shop.importers.importer import Entered, Field, Importer, Values
from shop.models import Customer
from shop.services.customers import save_customer, save_ship_to
from shop.services.imports import take_back
from shop.services.writing import Act

FIELDS = (
    Field(name="name", title="Name", required=True),
    Field(
        name="kind",
        title="Kind",
        choices=Customer.Kind.choices,
        default=Customer.Kind.OWNER.value,
        help="Owner where it is empty.",
    ),
    Field(name="phone", title="Telephone"),
    Field(name="email", title="E-mail"),
    Field(name="street", title="Street", help="With the number."),
    Field(name="postcode", title="Postcode", help="Tells customers of one name apart."),
    Field(name="town", title="Town"),
    Field(name="country", title="Country"),
    Field(name="shipping_note", title="Note for shipping"),
    Field(name="bill_name", title="Bills go to"),
    Field(name="bill_address", title="Address lines of the bill"),
    Field(name="payment_days", title="Days to pay", help="A whole number."),
    Field(name="payment_terms", title="Terms of payment"),
    Field(
        name="needs_order_number",
        title="Requires their order number",
        choices=(("True", "yes"), ("False", "no")),
        default="False",
        help="No where it is empty.",
    ),
    Field(
        name="warranty_holder",
        title="Who holds the warranty",
        choices=Customer.Holder.choices,
        default=Customer.Holder.CUSTOMER.value,
        help="The customer where it is empty.",
    ),
    Field(
        name="ship_tos",
        title="Ship-to addresses",
        help="Such as “yard: Marram Boats, Gate 2, Northhaven; pier: …”, the default first.",
    ),
    Field(name="note", title="Note"),
)


def enter(act: Act, values: Values) -> Entered:
    """Enter one customer, unless one of that name and postcode is the same already."""
    wanted = values.cleaned(CustomerForm(values.form_data()))
    ship_tos = _ship_tos(values["ship_tos"])
    known = values.known(Customer.objects.all(), "name", "postcode")
    refused: RuleBroken | None = None
    for row in known.get(wanted["name"], wanted["postcode"]):
        try:
            values.same(row, wanted)
            _same_addresses(row, values, ship_tos)
        except RuleBroken as error:
            refused = refused or error
        else:
            return []
    if refused:
        raise refused
    row = known.add(save_customer(act=act, **wanted))
    return [
        row,
        *[
            save_ship_to(act=act, customer=row, is_default=place == 0, **address)
            for place, address in enumerate(ship_tos)
        ],
    ]


def _ship_tos(text: str) -> list[dict[str, Any]]:
    """Read addresses as the list of customers writes them; RuleBroken for one that is not whole."""
    found = []
    for each in filter(None, (part.strip() for part in text.split(";"))):
        label, _, rest = each.partition(":")
        name, _, lines = rest.partition(",")
        address = "\n".join(line.strip() for line in lines.split(",") if line.strip())
        if not (label.strip() and name.strip() and address):
            told = (
                f"“{each}” is not read: write what it is called, a colon, a name, and the lines, by commas."
            )
            raise RuleBroken(fields={"ship_tos": told})
        found.append({"label": label.strip(), "name": name.strip(), "address": address})
    return found


def _same_addresses(customer: Customer, values: Values, wanted: list[dict[str, Any]]) -> None:
    """Raise RuleBroken where the file names addresses, and others than those that are there."""
    if not values["ship_tos"].strip():
        return
    there = {(row.label, row.lines) for row in customer.ship_tos.in_use()}
    if there != {(each["label"], f"{each['name']}\n{each['address']}") for each in wanted}:
        told = f"{customer} is there already with other ship-to addresses."
        raise RuleBroken(fields={"ship_tos": told})


CUSTOMERS = Importer(
    kind="customers",
    title="Customers",
    lede="One row for each customer. Two rows of the same name need different postcodes.",
    fields=FIELDS,
    enter=enter,
    take_back=take_back,
    examples=(
        {
            "name": "Marram Boats",
            "kind": "trade account",
            "phone": "01632 960001",
            "email": "yard@example.org",
            "street": "3 Quay Street",
            "postcode": "NH1 4QS",
            "town": "Northhaven",
        },
    ),
    order=10,
)

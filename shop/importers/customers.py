"""Customers from a file; a name with a postcode is one customer."""

from shop.errors import RuleBroken
from shop.forms.customers import CustomerForm
from shop.importers.importer import Entered, Field, Importer, Values
from shop.models import Customer
from shop.services.customers import save_customer
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
    Field(name="note", title="Note"),
)


def enter(act: Act, values: Values) -> Entered:
    """Enter one customer, unless one of that name and postcode is the same already."""
    wanted = values.cleaned(CustomerForm(values.form_data()))
    known = values.known(Customer.objects.all(), "name", "postcode")
    refused: RuleBroken | None = None
    for row in known.get(wanted["name"], wanted["postcode"]):
        try:
            values.same(row, wanted)
        except RuleBroken as error:
            refused = refused or error
        else:
            return []
    if refused:
        raise refused
    return [known.add(save_customer(act=act, **wanted))]


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

"""Customers: entered once, found again, changed with a reason; their ship-to addresses."""

from typing import Any

from django.db.models import Q, QuerySet
from django.db.models.functions import Coalesce

from shop.errors import RuleBroken
from shop.models import Customer, CustomerKey, ShipTo
from shop.models.customer import CustomerQuerySet
from shop.services.customer_keys import digits_of, keep_keys, keys_of
from shop.services.writing import Act, keep, locked, service

CONTACT = ("name", "kind", "email", "phone", "street", "postcode", "town", "country", "note")
ACCOUNT = (
    "bill_name",
    "bill_address",
    "payment_days",
    "payment_terms",
    "needs_order_number",
    "warranty_holder",
    "shipping_note",
)
FIELDS = (*CONTACT, *ACCOUNT)
SHIP_TO_FIELDS = ("label", "name", "address", "note", "is_default", "retired")


@service("customers")
def save_customer(*, act: Act, customer: Customer | None = None, **fields: Any) -> Customer:
    """Enter a customer, or change one for the reason in ``act.why``.

    ``fields`` are those of `FIELDS`; what is left out stays as it is. Raises RuleBroken for a
    wrong field, for a change without a reason and for a customer that was merged, TypeError for a
    field that customers lack.
    """
    unknown = set(fields) - set(FIELDS)
    if unknown:
        raise TypeError(f"customers have no {', '.join(sorted(unknown))}")
    if customer and not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the customer is changed; the reason stays in the history."})
    row = standing(customer) if customer else Customer()
    for name, value in fields.items():
        setattr(row, name, value.strip() if isinstance(value, str) else value)
    row.phone_digits = digits_of(row.phone)
    keep(row)
    keep_keys(row)
    return row


def standing(customer: Customer) -> Customer:
    """Read a customer again and hold it; RuleBroken, naming the one that stays, where it was merged."""
    row = locked(customer)
    if row.merged_into:
        raise RuleBroken(f"{row} was merged into {row.merged_into}; use that one.")
    return row


@service("customers")
def save_ship_to(
    *, act: Act, customer: Customer | None = None, ship_to: ShipTo | None = None, **fields: Any
) -> ShipTo:
    """Enter a ship-to address of a customer, or change one for the reason in ``act.why``.

    ``fields`` are those of `SHIP_TO_FIELDS`. A new default takes the place of the earlier one, and
    an address that is no longer used is no default. Raises RuleBroken for a wrong field, and for a
    change without a reason.
    """
    if ship_to and not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the address is changed; the reason stays in the history."})
    owner = customer or (ship_to.customer if ship_to else None)
    assert owner is not None
    held = standing(owner)
    row = locked(ship_to) if ship_to else ShipTo(customer=held)
    for name in SHIP_TO_FIELDS:
        if name in fields:
            value = fields[name]
            setattr(row, name, value.strip() if isinstance(value, str) else value)
    row.is_default = row.is_default and not row.retired
    if row.is_default:
        for other in held.ship_tos.filter(is_default=True).exclude(pk=row.pk):
            other.is_default = False
            keep(other)
    return keep(row)


def ship_to_lines(customer: Customer) -> str:
    """Return where parcels for a customer go unless told otherwise, as the lines of a label."""
    default = customer.ship_tos.filter(is_default=True).first()
    return default.lines if default else customer.own_address


def find_customers(text: str) -> CustomerQuerySet:
    """Return customers whose name, town, e-mail or telephone number holds the text, or all its words.

    What was merged is found by its own name and numbers still, as the one that stays.
    """
    whole = Customer.objects.matching(text)
    words = text.split()
    if len(words) < 2 or whole.exists():
        return _that_stay(whole)
    found = Customer.objects.all()
    for word in words:
        found = found.matching(word)
    return _that_stay(found)


def _that_stay(rows: "QuerySet[Customer]") -> CustomerQuerySet:
    return Customer.objects.filter(
        pk__in=rows.order_by().annotate(stays=Coalesce("merged_into_id", "pk")).values("stays")
    )


def family(customer: Customer) -> list[int]:
    """Return the keys of a customer and of those merged into it: all its records name one of them."""
    return [customer.pk, *customer.merged_from.values_list("pk", flat=True)]


def likely_duplicates(
    *, name: str, phone: str = "", email: str = "", street: str = "", postcode: str = ""
) -> CustomerQuerySet:
    """Return customers with the same name, e-mail, telephone digits or address.

    Where a merged row has them, that is the one that stays.
    """
    same = Q(pk__in=[])
    for kind, value in keys_of(name=name, phone=phone, email=email, street=street, postcode=postcode).items():
        same |= Q(kind=kind, value=value)
    alike = CustomerKey.objects.filter(same).order_by()
    stays = alike.annotate(stays=Coalesce("customer__merged_into_id", "customer_id"))
    return Customer.objects.filter(pk__in=stays.values("stays"))

"""Customers: entered once, found again, changed with a reason."""

from typing import Any

from django.db.models import Q

from shop.errors import RuleBroken
from shop.models import Customer
from shop.models.customer import CustomerQuerySet
from shop.services.writing import Act, keep, locked, service

FIELDS = ("name", "kind", "email", "phone", "street", "postcode", "town", "country", "note")
# A number with a country code and one with a leading zero agree in their last nine digits
# (common practice, no source); it only decides what is shown to the clerk.
TELLING_DIGITS = 9
FEWEST_DIGITS = 5


def digits_of(phone: str) -> str:
    """Return the digits of a telephone number."""
    return "".join(sign for sign in phone if sign.isascii() and sign.isdigit())


@service("customers")
def save_customer(*, act: Act, customer: Customer | None = None, **fields: Any) -> Customer:
    """Enter a customer, or change one for the reason in ``act.why``.

    ``fields`` are those of `FIELDS`; what is left out stays as it is. Raises RuleBroken for a
    wrong field and for a change without a reason, TypeError for a field that customers lack.
    """
    unknown = set(fields) - set(FIELDS)
    if unknown:
        raise TypeError(f"customers have no {', '.join(sorted(unknown))}")
    if customer and not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the customer is changed; the reason stays in the history."})
    row = locked(customer) if customer else Customer()
    for name, value in fields.items():
        setattr(row, name, value.strip() if isinstance(value, str) else value)
    row.phone_digits = digits_of(row.phone)
    return keep(row)


def find_customers(text: str) -> CustomerQuerySet:
    """Return customers whose name, town, e-mail or telephone number holds the text, or all its words."""
    whole = Customer.objects.matching(text)
    words = text.split()
    if len(words) < 2 or whole.exists():
        return whole
    found = Customer.objects.all()
    for word in words:
        found = found.matching(word)
    return found


def likely_duplicates(*, name: str, phone: str = "", email: str = "") -> CustomerQuerySet:
    """Return customers with the same name, e-mail or telephone digits."""
    same = Q(name__iexact=name.strip())
    digits = digits_of(phone)
    if len(digits) >= TELLING_DIGITS:
        same |= Q(phone_digits__endswith=digits[-TELLING_DIGITS:])
    elif len(digits) >= FEWEST_DIGITS:
        same |= Q(phone_digits=digits)
    if email.strip():
        same |= Q(email__iexact=email.strip())
    return Customer.objects.filter(same)

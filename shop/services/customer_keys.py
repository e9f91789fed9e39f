"""What customers are told by: the same name, telephone, e-mail or address is the same text."""

import unicodedata

from shop.models import Customer, CustomerKey

# A number with a country code and one with a leading zero agree in their last nine digits
# (common practice, no source); it only decides what is shown to people.
TELLING_DIGITS = 9
FEWEST_DIGITS = 5
MOST_SIGNS = 300


def digits_of(phone: str) -> str:
    """Return the digits of a telephone number."""
    return "".join(sign for sign in phone if sign.isascii() and sign.isdigit())


def keys_of(
    *, name: str, phone: str = "", email: str = "", street: str = "", postcode: str = ""
) -> dict[str, str]:
    """Return what a customer is told by, by kind; what tells nothing is left out.

    Capitals, accents, blanks and signs do not count in a name or an address; an address needs
    street and postcode, a telephone number five digits.
    """
    digits = digits_of(phone)
    address = f"{_plain(street)} {_plain(postcode)}" if _plain(street) and _plain(postcode) else ""
    found = {
        CustomerKey.Kind.NAME: _plain(name) or name.strip().casefold(),
        CustomerKey.Kind.PHONE: digits[-TELLING_DIGITS:] if len(digits) >= FEWEST_DIGITS else "",
        CustomerKey.Kind.EMAIL: email.strip().casefold(),
        CustomerKey.Kind.ADDRESS: address,
    }
    return {kind.value: value[:MOST_SIGNS] for kind, value in found.items() if value}


def _plain(text: str) -> str:
    """Return the letters and digits of a text in small letters without accents and blanks."""
    parted = unicodedata.normalize("NFKD", text.casefold())
    return "".join(sign for sign in parted if sign.isalnum())


def keys_for(customer: Customer) -> dict[str, str]:
    """Return what a stored customer is told by."""
    return keys_of(
        name=customer.name,
        phone=customer.phone,
        email=customer.email,
        street=customer.street,
        postcode=customer.postcode,
    )


def keep_keys(customer: Customer) -> None:
    """Write the keys of a customer as it stands; one that was merged keeps them, to be known again."""
    wanted = keys_for(customer)
    held = {row.kind: row for row in customer.keys.all()}
    for kind, row in held.items():
        if kind not in wanted:
            row.delete()
    for kind, value in wanted.items():
        row = held.get(kind) or CustomerKey(customer=customer, kind=kind)
        if row.value != value:
            row.value = value
            row.save()

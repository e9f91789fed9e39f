"""Forms about customers."""

from collections.abc import Sequence
from typing import ClassVar

from django import forms

from shop.forms import ShopForm
from shop.models import Customer
from shop.services.customer_keys import digits_of


class CustomerForm(ShopForm):
    """Everything about a customer."""

    name = forms.CharField(max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    kind = forms.ChoiceField(choices=Customer.Kind, initial=Customer.Kind.OWNER, widget=forms.RadioSelect)
    phone = forms.CharField(
        label="Telephone", max_length=40, required=False, widget=forms.TextInput(attrs={"type": "tel"})
    )
    email = forms.EmailField(label="E-mail", required=False)
    street = forms.CharField(label="Street and number", max_length=160, required=False)
    postcode = forms.CharField(max_length=20, required=False)
    town = forms.CharField(max_length=80, required=False)
    country = forms.CharField(max_length=60, required=False)
    note = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 2}))
    shipping_note = forms.CharField(
        label="Note for shipping",
        max_length=300,
        required=False,
        help_text="Shown to whoever packs: opening hours, call first, a tail-lift is needed.",
    )
    bill_name = forms.CharField(label="Bills go to", max_length=120, required=False)
    bill_address = forms.CharField(
        label="Address lines of the bill",
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    payment_days = forms.IntegerField(
        label="Days to pay",
        min_value=0,
        max_value=365,
        required=False,
        widget=forms.NumberInput(attrs={"data-unit": "days", "inputmode": "numeric"}),
    )
    payment_terms = forms.CharField(
        label="Terms of payment", max_length=200, required=False, help_text="In words, as agreed."
    )
    needs_order_number = forms.BooleanField(
        label="Requires an order number of theirs on every work order", required=False
    )
    warranty_holder = forms.ChoiceField(
        label="Who holds the warranty, unless a work order says otherwise",
        choices=Customer.Holder,
        initial=Customer.Holder.CUSTOMER,
        required=False,
        widget=forms.RadioSelect,
    )

    groups: ClassVar[Sequence[tuple[str, Sequence[str]]]] = (
        ("Who", ("name", "kind")),
        ("How to reach them", ("phone", "email")),
        ("Where parcels go", ("street", "postcode", "town", "country", "shipping_note")),
        ("Bills, where they go elsewhere", ("bill_name", "bill_address")),
        (
            "Only for a trade account",
            ("payment_days", "payment_terms", "needs_order_number", "warranty_holder"),
        ),
        ("Anything else", ("note",)),
    )

    def clean_warranty_holder(self) -> str:
        """Take the customer where nothing is said: a file may lack the column."""
        return self.cleaned_data["warranty_holder"] or Customer.Holder.CUSTOMER.value

    def clean_phone(self) -> str:
        """Refuse what nobody could dial."""
        phone: str = self.cleaned_data["phone"]
        if phone and len(digits_of(phone)) < 3:
            raise forms.ValidationError("This is not a telephone number: it has too few digits.")
        return phone


class NewCustomerForm(CustomerForm):
    """A customer to enter; ``seen`` keeps the likely duplicates that were shown already."""

    seen = forms.CharField(required=False, widget=forms.HiddenInput)


class ChangeCustomerForm(CustomerForm):
    """A customer to change, with the reason."""

    why = forms.CharField(label="Reason for the change", max_length=200)

    groups = (*CustomerForm.groups, ("Why", ("why",)))


class ShipToForm(ShopForm):
    """An address that parcels go to."""

    label = forms.CharField(
        label="What it is called here", max_length=60, help_text="Such as “yard” or “north pier”."
    )
    name = forms.CharField(label="Name on the parcel", max_length=120)
    address = forms.CharField(label="Address lines", max_length=400, widget=forms.Textarea(attrs={"rows": 4}))
    note = forms.CharField(label="Note for this place", max_length=200, required=False)
    is_default = forms.BooleanField(label="Parcels go here unless told otherwise", required=False)


class ChangeShipToForm(ShipToForm):
    """A ship-to address to change or to retire, with the reason."""

    retired = forms.BooleanField(label="No longer used: kept, and not offered any more", required=False)
    why = forms.CharField(label="Reason for the change", max_length=200)

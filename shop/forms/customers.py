"""Forms about customers."""

from collections.abc import Sequence
from typing import ClassVar

from django import forms

from shop.forms import ShopForm
from shop.models import Customer
from shop.services.customers import digits_of


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

    groups: ClassVar[Sequence[tuple[str, Sequence[str]]]] = (
        ("Who", ("name", "kind")),
        ("How to reach them", ("phone", "email")),
        ("Where parcels go", ("street", "postcode", "town", "country")),
        ("Anything else", ("note",)),
    )

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

"""Forms about people."""

from django import forms

from shop.forms import ShopForm
from shop.roles import ROLES

ROLE_CHOICES = [(role, role.capitalize()) for role in ROLES]


class PersonForm(ShopForm):
    """Name, authority and roles of one person."""

    printed_name = forms.CharField(
        label="Name as printed beside signatures",
        max_length=80,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    authority_no = forms.CharField(
        label="Authority or certificate number",
        max_length=40,
        required=False,
        help_text="Printed beside the signature, where the person has one.",
    )
    roles = forms.MultipleChoiceField(
        label="Roles", choices=ROLE_CHOICES, widget=forms.CheckboxSelectMultiple
    )
    inch_units = forms.BooleanField(
        label="Measures in inch units",
        required=False,
        help_text="Bench sums and measuring pages then open in inches; the record stays in metric.",
    )


class NewPersonForm(PersonForm):
    """A new person, with the name to sign in by and a first password."""

    username = forms.CharField(
        label="Name to sign in with", max_length=150, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    password = forms.CharField(
        label="First password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="Eight characters or more, not only digits, not a common one.",
    )
    field_order = ["username", "password", "printed_name", "authority_no", "roles", "inch_units"]


class ChangePersonForm(PersonForm):
    """A change of a person, with the reason."""

    is_active = forms.BooleanField(label="May sign in", required=False)
    why = forms.CharField(label="Why", max_length=200)


class NewPasswordForm(ShopForm):
    """A new password for somebody."""

    password = forms.CharField(
        label="New password", strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "new-password"})
    )

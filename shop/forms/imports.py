"""Forms about lists entered from files."""

from django import forms

from shop.forms import ShopForm


class ListForm(ShopForm):
    """A file with a list."""

    file = forms.FileField(
        label="CSV or XLSX file",
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx"}),
        help_text="Nothing is entered yet: the file is stored as it is, and checked.",
    )


class EnterForm(ShopForm):
    """One button: what the check found is entered."""

"""Forms whose fields come from a model; the service checks and writes the row."""

from typing import Any

from django import forms
from django.db import models

from shop.forms import ShopForm

UNITS = ("mm", "bar", "s", "mL", "cm³/rev", "V", "h")


def row_field(field: models.Field, **kwargs: Any) -> forms.Field | None:
    """Make a form field; a verbose name such as ``bore, mm`` becomes a label with its unit beside."""
    formfield = field.formfield(**kwargs)
    if formfield is None:
        return None
    words, _comma, unit = str(field.verbose_name).rpartition(", ")
    if unit in UNITS and words:
        formfield.label = words[0].upper() + words[1:]
        formfield.widget.attrs["data-unit"] = unit
    if isinstance(field, models.TextField):
        formfield.widget.attrs["rows"] = 3
    if isinstance(field, models.FloatField):
        formfield.widget.attrs["inputmode"] = "decimal"
    return formfield


class RowForm(ShopForm, forms.ModelForm):
    """A form over a model's fields that never touches the row: the rules are the service's."""

    def _post_clean(self) -> None:
        """Leave the row alone."""


class WhyForm(ShopForm):
    """Asks for the reason of one act."""

    why = forms.CharField(label="Reason", max_length=200)

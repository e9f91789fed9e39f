"""Forms whose fields come from a model; the service checks and writes the row."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.db import models

from shop.forms import ShopForm

Groups = Sequence[tuple[str, Sequence[str]]]  # legend -> names of its fields
UNITS = ("mm", "bar", "s", "mL", "cm³/rev", "V", "h", "N", "N·m")


class PlainFloatField(forms.FloatField):
    """A number shown as a person writes it: 160, not 160.0."""

    def prepare_value(self, value: Any) -> Any:
        """Return a stored number without needless digits; what was typed stays as it is."""
        return format(value, ".10g") if isinstance(value, float) else value


def row_field(field: "models.Field[Any, Any]", **kwargs: Any) -> forms.Field | None:
    """Make a form field; a verbose name such as ``bore, mm`` becomes a label with its unit beside."""
    if isinstance(field, models.FloatField):
        kwargs["form_class"] = PlainFloatField
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


class RowForm(ShopForm, forms.ModelForm):  # type: ignore[type-arg]
    """A form over a model's fields that never touches the row: the rules are the service's."""

    def _post_clean(self) -> None:
        """Leave the row alone."""


class WhyForm(ShopForm):
    """Asks for the reason of one act."""

    why = forms.CharField(label="Reason", max_length=200)

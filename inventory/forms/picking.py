"""What every form asks that takes pieces of a lot."""

from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator

from inventory.documents.lot_label import read_lot_scan
from inventory.models import Lot
from inventory.services.stock import MOST_PIECES, TOO_MANY


def pieces_field(label: str, *, least: int = 1, **more: Any) -> forms.IntegerField:
    """Return a field for pieces, from ``least`` to as many as one lot can have."""
    field = forms.IntegerField(label=label, min_value=least, max_value=MOST_PIECES, **more)
    for validator in field.validators:
        if isinstance(validator, MaxValueValidator):
            validator.message = TOO_MANY
        elif isinstance(validator, MinValueValidator):
            validator.message = f"Must be at least {least}."
    return field


def lot_reason_field() -> forms.CharField:
    """Return the field that answers why a lot is taken that does not expire first."""
    return forms.CharField(
        label="Why this lot and not the one that expires first",
        required=False,
        max_length=300,
        help_text="Asked where a lot that expires earlier lies in the stores. It stays on the record.",
    )


class LotField(forms.CharField):
    """A lot number as scanned or typed, in any case; cleans to the lot."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.TextInput(
            attrs={"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"}
        )
        super().__init__(max_length=200, widget=widget, **kwargs)

    def clean(self, value: Any) -> Any:
        """Return the lot, or None where the field is optional and empty."""
        text = super().clean(value).strip()
        if not text:
            return None
        lot = self.find(text)
        if lot is None:
            raise forms.ValidationError(f"No lot has the number {text}. Scan the label again.")
        return lot

    def find(self, text: str) -> Lot | None:
        """Return the lot of a scanned label or a typed number."""
        number = read_lot_scan(text) or text
        return Lot.objects.select_related("part").filter(number__iexact=number).first()

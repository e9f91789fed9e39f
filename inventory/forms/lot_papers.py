"""Forms about what is known of a lot beside its package: checks, certificates, a later date."""

from collections.abc import Iterator
from datetime import date
from typing import Any

from django import forms

from inventory.forms.stores import DateInput
from inventory.models import LotReading
from inventory.services.lot_state import Check, Reading
from shop.forms import FieldGroup, FilesField, ShopForm

READING_ROWS = (1, 2, 3)


class CheckForm(ShopForm):
    """Base of the forms that ask what was looked at; every reading is wanted only where one was taken."""

    certificate_seen = forms.BooleanField(label="Certificate seen, and it is for this lot", required=False)
    pieces = forms.IntegerField(label="Pieces looked at", min_value=0, required=False)
    what = forms.CharField(
        label="What was looked at",
        max_length=300,
        required=False,
        help_text="Such as: surface, hardness, cross-section of five pieces.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for row in READING_ROWS:
            self.fields[f"what_{row}"] = forms.CharField(label="Dimension", max_length=80, required=False)
            self.fields[f"value_{row}"] = forms.FloatField(label="Reading", required=False)
            self.fields[f"unit_{row}"] = forms.ChoiceField(
                label="Unit", choices=LotReading.Unit.choices, initial=LotReading.Unit.MM, required=False
            )
            self.fields[f"lower_{row}"] = forms.FloatField(label="At least", required=False)
            self.fields[f"upper_{row}"] = forms.FloatField(label="At most", required=False)

    @property
    def field_groups(self) -> list[FieldGroup]:
        """Draw each reading under a legend of its own, below the other fields."""
        rows = [
            FieldGroup(
                f"Reading {row}, if one was taken",
                [self[f"{n}_{row}"] for n in ("what", "value", "unit", "lower", "upper")],
            )
            for row in READING_ROWS
        ]
        named = {field.name for group in rows for field in group.fields}
        loose = [field for field in self.visible_fields() if field.name not in named]
        return [FieldGroup("", loose), *rows]

    def clean(self) -> dict[str, Any]:
        """Ask for both the name and the number of a reading."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        for row in READING_ROWS:
            named, read = bool(data.get(f"what_{row}")), data.get(f"value_{row}") is not None
            if named and not read:
                self.add_error(f"value_{row}", "What did it read?")
            elif read and not named:
                self.add_error(f"what_{row}", "What was read?")
        return data

    @property
    def check(self) -> Check:
        """What was checked; call on a valid form."""
        data = self.cleaned_data
        return Check(
            certificate_seen=data.get("certificate_seen", False),
            pieces=data["pieces"] or 0,
            what=data["what"],
            readings=tuple(self._readings()),
        )

    def _readings(self) -> Iterator[Reading]:
        data = self.cleaned_data
        for row in READING_ROWS:
            if data[f"what_{row}"]:
                yield Reading(
                    what=data[f"what_{row}"],
                    value=data[f"value_{row}"],
                    unit=data[f"unit_{row}"] or LotReading.Unit.MM,
                    lower=data[f"lower_{row}"],
                    upper=data[f"upper_{row}"],
                )


class ArrivalCheckForm(CheckForm):
    """What stores checked before a lot leaves quarantine."""

    reason = forms.CharField(label="What was found", max_length=200)

    field_order = ("reason", "certificate_seen", "pieces", "what")


class CertificatesForm(ShopForm):
    """Certificates that belong to a lot."""

    certificates = FilesField(label="Files", help_text="PDFs, or photos of the paper.")
    title = forms.CharField(
        label="What it is",
        max_length=120,
        required=False,
        help_text="Such as: certificate 4471 of the maker.",
    )


class ExtendForm(ShopForm):
    """An inspection for a later use-by date."""

    what = forms.CharField(
        label="What was inspected",
        max_length=300,
        help_text="Such as: hardness, surface under the lens, stretched by a fifth: no cracks.",
    )
    pieces = forms.IntegerField(label="Pieces inspected", min_value=1)
    passed = forms.TypedChoiceField(
        label="Result",
        choices=[("yes", "passed"), ("no", "failed: the lot goes on hold")],
        coerce=lambda value: value == "yes",
        widget=forms.RadioSelect,
    )
    until = forms.DateField(label="May be used until", widget=DateInput, required=False)

    def __init__(self, *args: Any, limit: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["until"].initial = limit
        self.fields["until"].help_text = f"Where it passed. The standard goes to {limit:%d %b %Y} at most."

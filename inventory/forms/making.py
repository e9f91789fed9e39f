"""Forms of what is made here: a lot from pieces of others, and recipes."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms

from inventory.forms.lot_papers import CheckForm
from inventory.forms.picking import LotField, lot_reason_field, pieces_field
from inventory.forms.stores import LOT_NUMBER
from inventory.models import Part, RecipeLine
from inventory.services.making import Input
from shop.forms import FieldGroup, number_field
from shop.forms.rows import RowForm, row_field
from shop.models import User

INPUT_ROWS = 6


class MakeLotForm(CheckForm):
    """What is made, from which lots, by whom, and what was checked."""

    part = forms.ModelChoiceField(Part.objects.all(), empty_label="Choose a part")
    quantity = pieces_field("Pieces made")
    place = forms.CharField(label="Place in the stores", max_length=40)
    number = forms.CharField(
        label="Lot number",
        max_length=40,
        required=False,
        validators=[LOT_NUMBER],
        help_text="Leave empty to draw the shop's next number.",
    )
    done_by = forms.ModelChoiceField(
        User.objects.filter(is_active=True).order_by("printed_name"), label="Made by", required=False
    )
    hours = number_field("Work", unit="h", places=2, required=False, min_value=0, max_digits=6)
    note = forms.CharField(
        label="What was done", max_length=300, required=False, help_text="Such as: cut, drilled, deburred."
    )
    lot_reason = lot_reason_field()

    def __init__(self, *args: Any, proposed: Sequence[Input] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["certificate_seen"]
        self.rows = range(1, max(INPUT_ROWS, len(proposed) + 2) + 1)
        for row in self.rows:
            told = proposed[row - 1] if row <= len(proposed) else None
            self.fields[f"lot_{row}"] = LotField(
                label="Lot", required=False, initial=told.lot.number if told else ""
            )
            self.fields[f"pieces_{row}"] = pieces_field(
                "Pieces", required=False, initial=told.quantity if told else None
            )
            if told:
                self.fields[f"lot_{row}"].help_text = str(told.lot.part)

    @property
    def field_groups(self) -> list[FieldGroup]:
        """Draw what is made first, then what goes in, then work and checks."""
        inputs = [
            FieldGroup(
                f"Goes in, lot {row}" if row > 1 else "Goes into all of them, lot 1",
                [self[f"lot_{row}"], self[f"pieces_{row}"]],
            )
            for row in self.rows
        ]
        made = [self[name] for name in ("part", "quantity", "place", "number")]
        work = [self[name] for name in ("done_by", "hours", "note", "pieces", "what")]
        readings = super().field_groups[1:]
        return [
            FieldGroup("What is made", made),
            *inputs,
            FieldGroup("Another lot than the first to expire", [self["lot_reason"]]),
            FieldGroup("Work and checks, as far as wanted", work),
            *readings,
        ]

    def clean(self) -> dict[str, Any]:
        """Ask for both the lot and the pieces of what goes in."""
        data = super().clean()
        for row in self.rows:
            lot, pieces = data.get(f"lot_{row}"), data.get(f"pieces_{row}")
            if lot and not pieces and f"pieces_{row}" not in self.errors:
                self.add_error(f"pieces_{row}", "How many pieces of this lot?")
            elif pieces and not lot and f"lot_{row}" not in self.errors:
                self.add_error(f"lot_{row}", "Of which lot?")
        return data

    @property
    def inputs(self) -> list[Input]:
        """The lots named, with their pieces; call on a valid form."""
        data = self.cleaned_data
        return [
            Input(lot=data[f"lot_{row}"], quantity=data[f"pieces_{row}"])
            for row in self.rows
            if data[f"lot_{row}"]
        ]

    @property
    def told(self) -> dict[str, Any]:
        """What the service takes beside the inputs; call on a valid form."""
        data = self.cleaned_data
        names = ("part", "quantity", "place", "number", "done_by", "note", "lot_reason")
        hours: Decimal | None = data["hours"]
        return {name: data[name] for name in names} | {"hours": hours, "check": self.check}


class RecipeLineForm(RowForm):
    """A part that goes into one piece of another."""

    class Meta:
        model = RecipeLine
        fields = ("part", "quantity")
        formfield_callback = row_field
        labels = {"quantity": "Pieces for one"}

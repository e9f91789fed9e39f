"""The form of a rework operation: what was done, where, with which tool and parts."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django import forms

from shop.forms import ShopForm, number_field
from workorders.forms.part_used import LotField, fit_reason_field
from workorders.models import Operation
from workorders.services.build import Pieces
from workorders.services.places import Place, kind_of

WHOLE_UNIT = "unit"
PART_ROWS = (1, 2)


def place_value(place: Place | None) -> str:
    """Return the value by which a form names a place."""
    return WHOLE_UNIT if place is None else f"{kind_of(place)}-{place.pk}"


class OperationForm(ShopForm):
    """A rework operation, with up to two lots of parts."""

    bench = True
    groups: ClassVar[Sequence[tuple[str, Sequence[str]]]] = (
        ("Parts it used", ["lot_1", "quantity_1", "lot_2", "quantity_2", "fit_reason"]),
    )

    kind = forms.ChoiceField(label="What was done", choices=Operation.Kind.choices, widget=forms.RadioSelect)
    place = forms.ChoiceField(label="Where", widget=forms.RadioSelect)
    tool = forms.CharField(
        label="Tool or machine", max_length=120, help_text="Such as lathe 2 with collet, hone 320 grit."
    )
    note = forms.CharField(
        label="Note", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )
    lot_1 = LotField(label="Lot number", required=False)
    quantity_1 = number_field("Pieces", unit="pieces", places=0, min_value=1, max_digits=4, required=False)
    lot_2 = LotField(label="Second lot number", required=False)
    quantity_2 = number_field("Pieces", unit="pieces", places=0, min_value=1, max_digits=4, required=False)
    fit_reason = fit_reason_field()

    def __init__(self, *args: Any, places: Sequence[Place], signed: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.places = {place_value(place): place for place in places}
        field = self.fields["place"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(value, str(place)) for value, place in self.places.items()]
        field.choices += [(WHOLE_UNIT, "the whole unit")]
        if signed:
            self.fields["why"] = forms.CharField(
                label="Why the build is opened again",
                max_length=200,
                help_text="The build is signed. It is to be signed again after this.",
                error_messages={"required": "This is still empty."},
            )

    def clean(self) -> dict[str, Any]:
        """Ask for the pieces of each lot named."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        for row in PART_ROWS:
            if data.get(f"lot_{row}") and not data.get(f"quantity_{row}") and not self.errors:
                self.add_error(f"quantity_{row}", "How many pieces of this lot?")
        return data

    @property
    def chosen_place(self) -> Place | None:
        """The place chosen; None for the whole unit."""
        return self.places.get(self.cleaned_data["place"])

    @property
    def parts(self) -> list[Pieces]:
        """The lots named, with their pieces."""
        data = self.cleaned_data
        return [
            Pieces(data[f"lot_{row}"], int(data[f"quantity_{row}"]), fit_reason=data.get("fit_reason", ""))
            for row in PART_ROWS
            if data.get(f"lot_{row}")
        ]


class CorrectOperationForm(OperationForm):
    """The same for an operation that stands; its parts are taken back one by one."""

    groups = ()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for row in PART_ROWS:
            del self.fields[f"lot_{row}"], self.fields[f"quantity_{row}"]
        del self.fields["fit_reason"]
        self.fields["why"] = forms.CharField(
            label="Why it is corrected",
            max_length=200,
            help_text="What stood here stays in the history, beside this reason.",
            error_messages={"required": "This is still empty."},
        )

"""Forms of counting by place; none of them shows what the ledger expects."""

from collections.abc import Sequence
from typing import Any

from django import forms

from inventory.forms.picking import LotField, pieces_field
from inventory.models import Balance, CountLine, Lot
from inventory.services.stock import KIT_PREFIX
from inventory.services.walking import PLACE_LENGTH
from shop.forms import FieldGroup, ShopForm


class BeginCountForm(ShopForm):
    """The place that is counted: one where the ledger has pieces, or any other by its name."""

    place = forms.ChoiceField(label="Place where the ledger has pieces", required=False)
    other_place = forms.CharField(
        label="Or a place that is not listed",
        max_length=PLACE_LENGTH,
        required=False,
        help_text="Where the ledger has nothing and something lies.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        held = Balance.objects.filter(quantity__gt=0).exclude(place__startswith=KIT_PREFIX)
        places = held.order_by("place").values_list("place", flat=True).distinct()
        self.fields["place"].choices = [("", "Choose a place"), *((p, p) for p in places)]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Ask for one place; ``place`` is then the one that is counted."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        chosen, other = data.get("place"), data.get("other_place")
        if chosen and other:
            self.add_error("other_place", f"Either {chosen} or this one.")
        if not chosen and not other and not self.errors:
            self.add_error("place", "Choose a place, or name one that is not listed.")
        return {**data, "place": chosen or other}


class CountedForm(ShopForm):
    """What was counted of each lot; lines that are left empty stay as they are."""

    other_lot = LotField(label="A lot that is not listed", required=False)
    other_pieces = pieces_field("Pieces of it", least=0, required=False)

    def __init__(self, *args: Any, lines: Sequence[CountLine], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lines = lines
        for line in lines:
            self.fields[f"line_{line.pk}"] = pieces_field(
                f"Lot {line.lot.number}",
                help_text=str(line.lot.part),
                least=0,
                required=False,
                initial=line.counted,
                widget=forms.NumberInput(attrs={"data-unit": "pieces", "inputmode": "numeric"}),
            )

    @property
    def field_groups(self) -> list[FieldGroup]:
        """Draw the listed lots first."""
        listed = [self[f"line_{line.pk}"] for line in self.lines]
        other = FieldGroup(
            "Found beside them" if listed else "Found", [self["other_lot"], self["other_pieces"]]
        )
        return [FieldGroup("Pieces counted", listed), other] if listed else [other]

    def clean(self) -> dict[str, Any]:
        """Ask for both lot and pieces of what is not listed."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if data.get("other_lot") and data.get("other_pieces") is None and not self.errors:
            self.add_error("other_pieces", "How many pieces of this lot?")
        if data.get("other_pieces") is not None and not data.get("other_lot") and not self.errors:
            self.add_error("other_lot", "Of which lot?")
        return data

    @property
    def counted(self) -> dict[Lot, int]:
        """Lots with their pieces, those that were entered anew; call on a valid form."""
        data = self.cleaned_data
        told = {
            line.lot: data[f"line_{line.pk}"]
            for line in self.lines
            if data[f"line_{line.pk}"] is not None and data[f"line_{line.pk}"] != line.counted
        }
        return told | ({data["other_lot"]: data["other_pieces"]} if data["other_lot"] else {})

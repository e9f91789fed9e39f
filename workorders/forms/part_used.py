"""The form of a part used at one place, and the one field that takes a scan."""

from typing import Any

from django import forms

from inventory.forms import picking
from inventory.forms.picking import lot_reason_field
from inventory.models import Lot
from shop.forms import ShopForm, number_field
from workorders.models import PartUsed
from workorders.services.lookup import lots_of


class LotField(picking.LotField):
    """A lot number as scanned or typed; also from a scanner set to another keyboard."""

    def find(self, text: str) -> Lot | None:
        """Return the lot of a scanned label or a typed number."""
        return find_lot(text)


def find_lot(text: str) -> Lot | None:
    """Return the lot of a scanned label or a typed number, in any case."""
    return lots_of(text).select_related("part").first()


def fit_reason_field() -> forms.CharField:
    """Return the field that answers why a part goes in that does not fit."""
    return forms.CharField(
        label="Why it goes in although it does not fit",
        required=False,
        max_length=300,
        help_text="Asked where motion, size, gland or fluid do not fit. The reason stays on the record.",
    )


class UsePartForm(ShopForm):
    """Pieces of one lot for one place."""

    lot = LotField(label="Lot number")
    quantity = number_field("Pieces", unit="pieces", places=0, min_value=1, max_digits=4)
    use = forms.ChoiceField(
        label="What became of them",
        choices=PartUsed.Use.choices,
        initial=PartUsed.Use.FITTED,
        widget=forms.RadioSelect,
    )
    found_in_bin = forms.BooleanField(
        label="Found in bin",
        required=False,
        help_text="The piece is in the hand, and the ledger says that none is left. Stores settle it.",
    )
    lot_reason = lot_reason_field()
    fit_reason = fit_reason_field()
    why = forms.CharField(
        label="Why the build is opened again",
        max_length=200,
        help_text="The build is signed. It is to be signed again after this.",
    )

    def __init__(self, *args: Any, signed: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["lot"].widget.attrs["data-scan"] = True
        if not signed:
            del self.fields["why"]


class ScanForm(ShopForm):
    """One field for a lot number or the code of a packed kit."""

    code = forms.CharField(
        label="Scan a lot or a packed kit",
        max_length=200,
        widget=forms.TextInput(
            attrs={
                "data-scan": True,
                "autocapitalize": "characters",
                "autocomplete": "off",
                "spellcheck": "false",
                "enterkeyhint": "done",
            }
        ),
    )

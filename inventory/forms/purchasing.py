"""Forms of purchasing: what suppliers sell, price lists, orders and their lines."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any, ClassVar

from django import forms
from django.core.validators import MaxValueValidator

from inventory.forms.picking import pieces_field
from inventory.forms.stores import DateInput
from inventory.models import OrderLine, Part, PriceBreak, PurchaseOrder, Supplier, SupplierPart
from inventory.services.stock import MOST_PIECES, TOO_MANY
from shop.forms import ShopForm, number_field
from shop.forms.rows import Groups, RowForm, row_field


class SupplierPartForm(RowForm):
    """What a supplier sells of a part."""

    class Meta:
        model = SupplierPart
        fields = ("supplier", "number", "lead_days", "pack_size", "minimum", "preferred", "note")
        formfield_callback = row_field
        labels = {
            "number": "Supplier's number",
            "lead_days": "Lead time, days",
            "pack_size": "Pieces in a pack",
            "minimum": "Fewest pieces sold",
            "preferred": "This part is ordered here",
        }
        help_texts = {
            "lead_days": "From sending the order to the delivery; used until enough orders of the shop's own "
            "tell better.",
            "preferred": "The first supplier of a part always is. The mark moves when another one gets it.",
        }

    groups: ClassVar[Groups] = (
        ("Who sells it", ("supplier", "number", "preferred")),
        ("How it is sold", ("lead_days", "pack_size", "minimum", "note")),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("pack_size", "minimum"):
            self.fields[name].validators.append(MaxValueValidator(MOST_PIECES, TOO_MANY))


class SupplierPartChangeForm(SupplierPartForm):
    """The same to change, with the reason; the supplier stays."""

    why = forms.CharField(label="Reason for the change", max_length=200)
    groups: ClassVar[Groups] = (*SupplierPartForm.groups, ("Why", ("why",)))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["supplier"]


class PricesForm(ShopForm):
    """A price list: one price break in a line."""

    valid_from = forms.DateField(label="Valid from", widget=DateInput)
    prices = forms.CharField(
        label="Price breaks",
        widget=forms.Textarea(attrs={"rows": 5, "inputmode": "text", "spellcheck": "false"}),
        help_text="One in a line: from how many pieces on, then the price of a piece, such as 50 2.10.",
    )
    why = forms.CharField(
        label="Reason, where a list of that day is replaced", max_length=200, required=False
    )

    def __init__(self, *args: Any, currency: str, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["prices"].label = f"Price breaks, {currency} for a piece"
        self.fields["valid_from"].initial = today

    def clean_prices(self) -> list[tuple[int, Decimal]]:
        """Return quantity and price of each line."""
        lines = [line.split() for line in self.cleaned_data["prices"].splitlines() if line.strip()]
        return [_price_break(number, words) for number, words in enumerate(lines, 1)]


def _price_break(number: int, words: list[str]) -> tuple[int, Decimal]:
    """Read one line of a price list; ValidationError names the line and what is wrong in it."""
    try:
        quantity, price = words
        found = int(quantity), Decimal(price)
    except (ValueError, InvalidOperation):
        shown = " ".join(words)[:60]
        message = (
            f"Line {number} is “{shown}”: enter a whole number and a price with a point, such as 50 2.10."
        )
        raise forms.ValidationError(message) from None
    fits = found[1].is_finite() and 0 < found[1] < 10**8 and found[1] == round(found[1], 4)
    if not (0 < found[0] <= MOST_PIECES and fits):
        message = f"Line {number}: pieces and price are above nothing; a price has four decimals at most."
        raise forms.ValidationError(message)
    return found


def prices_text(breaks: Iterable[PriceBreak]) -> str:
    """Write a price list as the form reads it."""
    return "\n".join(f"{row.quantity} {row.price.normalize():f}" for row in breaks)


class NewOrderForm(ShopForm):
    """To whom an order goes."""

    supplier = forms.ModelChoiceField(Supplier.objects.all(), empty_label="Choose a supplier")
    note = forms.CharField(label="Note to the supplier", max_length=300, required=False)


class OrderNoteForm(RowForm):
    """What is said to the supplier beside the lines."""

    class Meta:
        model = PurchaseOrder
        fields = ("note",)
        formfield_callback = row_field


class OrderLineForm(ShopForm):
    """A part on an order."""

    part = forms.ModelChoiceField(Part.objects.all(), empty_label="Choose a part")
    quantity = pieces_field("Pieces")
    unit_price = number_field(
        "Price of a piece",
        unit="",
        places=4,
        required=False,
        min_value=0,
        max_digits=12,
        help_text="Empty: the price of the supplier's list at that quantity.",
    )

    def __init__(self, *args: Any, currency: str, line: OrderLine | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit_price"].widget.attrs["data-unit"] = currency
        if line:
            del self.fields["part"]

"""The form of a quote: a price told to the customer."""

from decimal import Decimal
from typing import Any

from django import forms

from shop.forms import ShopForm, number_field


class QuoteForm(ShopForm):
    """The price, what it covers and who was told."""

    scope = forms.CharField(label="What it covers", max_length=300, widget=forms.Textarea(attrs={"rows": 2}))
    told_to = forms.CharField(label="Told to", max_length=120, required=False)

    def __init__(self, *args: Any, currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["amount"] = number_field(
            "Price",
            unit=currency,
            places=2,
            min_value=Decimal("0.01"),
            max_digits=10,
            error_messages={"required": "This is still empty."},
        )
        self.order_fields(["amount", "scope", "told_to"])

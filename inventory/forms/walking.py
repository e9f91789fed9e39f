"""The form of the walking order."""

from django import forms

from shop.forms import ShopForm


class WalkingOrderForm(ShopForm):
    """Places in walking order, one a line."""

    lines = forms.CharField(
        label="Places, one a line, in walking order",
        required=False,
        max_length=8000,
        widget=forms.Textarea(attrs={"rows": 12}),
        help_text="A whole name (B10) or how names begin (B): B stands for B1, B2 and B10. The longer line "
        "counts. What no line names comes last, A2 before A10.",
    )
    why = forms.CharField(label="Reason", max_length=200, required=False)

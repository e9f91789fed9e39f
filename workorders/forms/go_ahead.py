"""The form of a go-ahead: who, when, how, scope and price ceiling."""

from typing import Any

from django import forms

from shop.forms import ShopForm, number_field
from workorders.models import GoAhead

How = GoAhead.How


class GoAheadForm(ShopForm):
    """What somebody allowed; the lead's own word is offered only where it may be given."""

    how = forms.ChoiceField(label="How it was given", widget=forms.RadioSelect)
    given_by = forms.CharField(label="Given by", max_length=120)
    given_at = forms.DateTimeField(
        label="Given on",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )
    scope = forms.CharField(
        label="What is allowed",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Such as: all seals renewed, rod polished, tested.",
    )

    def __init__(self, *args: Any, currency: str, leads_word: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        how = self.fields["how"]
        assert isinstance(how, forms.ChoiceField)
        how.choices = [choice for choice in How.choices if leads_word or choice[0] != How.LEAD]
        self.fields["price_ceiling"] = number_field(
            "Price ceiling",
            unit=currency,
            places=2,
            required=False,
            min_value=0,
            max_digits=10,
            help_text="The most that may be charged without asking again. A customer's go-ahead needs one.",
        )

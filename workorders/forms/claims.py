"""Forms of the warranty desk."""

from typing import Any

from django import forms

from shop.forms import ShopForm
from shop.models import Customer
from workorders.models import Claim, Warranty


class ClaimForm(ShopForm):
    """What a customer reports; the claimant is the warranty's holder unless another is named."""

    reported = forms.CharField(
        label="What the customer reports",
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="In the customer's words: what happens, since when, under which load.",
    )
    claimant = forms.ModelChoiceField(
        Customer.objects.none(),
        label="Who claims",
        help_text="The warranty belongs to its holder; the workshop, or the owner, may call for them.",
    )

    def __init__(self, *args: Any, warranty: Warranty, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        order = warranty.rebuild.work_order
        sent = warranty.shipment.work_order
        known = [
            warranty.holder_id,
            order.customer_id,
            order.end_owner_id,
            sent.customer_id,
            sent.end_owner_id,
        ]
        field = self.fields["claimant"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = Customer.objects.filter(pk__in=[pk for pk in known if pk])
        field.initial = warranty.holder_id


class AddToClaimForm(ShopForm):
    """More of what the customer told."""

    more = forms.CharField(label="What the customer adds", widget=forms.Textarea(attrs={"rows": 3}))


class CompareForm(ShopForm):
    """Whether the unit that came back is the one that was sent."""

    identity = forms.ChoiceField(
        label="The unit that came back",
        choices=[choice for choice in Claim.Identity.choices if choice[0]],
        widget=forms.RadioSelect,
    )
    note = forms.CharField(
        label="What was compared and seen",
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Mark, maker's serial, ports, scars, paint.",
    )


class JudgeForm(ShopForm):
    """The judgement of a claim."""

    judgement = forms.ChoiceField(
        label="Judgement",
        choices=[choice for choice in Claim.Judgement.choices if choice[0]],
        widget=forms.RadioSelect,
    )
    reason = forms.CharField(label="Reason", widget=forms.Textarea(attrs={"rows": 3}))

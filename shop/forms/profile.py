"""Forms of the shop's own settings."""

from decimal import Decimal
from typing import Any, ClassVar

from django import forms

from shop.forms import ShopForm, number_field
from shop.forms.rows import Groups, PlainFloatField, RowForm, row_field
from shop.models import LimitSetting, ShopProfile


class ProfileForm(RowForm):
    """What papers print about the shop, and its terms."""

    class Meta:
        model = ShopProfile
        fields = (
            "name",
            "street",
            "postcode",
            "town",
            "country",
            "phone",
            "email",
            "currency",
            "warranty_months",
            "warranty_terms",
            "storage_standard",
            "paper_size",
        )
        formfield_callback = row_field
        labels = {
            "warranty_months": "Warranty, months",
            "storage_standard": "Storage life of seals after",
            "paper_size": "Office paper",
        }
        help_texts = {
            "currency": "Three letters, such as EUR.",
            "warranty_terms": "Printed on certificates. Warranties that run keep the terms they began with.",
            "storage_standard": "Counts for lots received from now on; lots in the stores keep their date.",
        }

    groups: ClassVar[Groups] = (
        ("Name and address", ("name", "street", "postcode", "town", "country", "phone", "email")),
        ("Warranty", ("warranty_months", "warranty_terms")),
        ("How the shop works", ("currency", "storage_standard", "paper_size")),
    )


class ProfileChangeForm(ProfileForm):
    """The settings to change, with the reason."""

    why = forms.CharField(label="Reason for the change", max_length=200)
    groups: ClassVar[Groups] = (*ProfileForm.groups, ("Why", ("why",)))


class LimitSettingForm(ShopForm):
    """A limit of the shop with its source."""

    value = PlainFloatField(label="Value")
    source = forms.ChoiceField(
        label="Known how", choices=LimitSetting.Source.choices, widget=forms.RadioSelect
    )
    basis = forms.CharField(max_length=300, widget=forms.Textarea(attrs={"rows": 2}))
    why = forms.CharField(label="Reason for the change", max_length=200)


class LabourRateForm(ShopForm):
    """What an hour of work costs, and from when."""

    valid_from = forms.DateField(
        label="Holds from", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    why = forms.CharField(
        label="Reason",
        max_length=200,
        required=False,
        help_text="Needed where that day has a rate already.",
    )

    def __init__(self, *args: Any, currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["per_hour"] = number_field(
            "Cost of an hour", unit=currency, places=2, min_value=Decimal("0.01"), max_digits=8
        )
        self.order_fields(["per_hour", "valid_from", "why"])

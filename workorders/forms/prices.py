"""Forms of the money of a rebuild: the invoice, minutes of work, what others charged, which margins."""

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from shop.forms import ShopForm, number_field
from shop.models import UnitType, User
from workorders.forms.outside_work import date_field
from workorders.models import WorkTime
from workorders.services.margins import Period

YEAR = timedelta(days=365)


class PriceForm(ShopForm):
    """What was invoiced; a correction asks why."""

    invoice = forms.CharField(label="Number of the invoice", max_length=40, required=False)
    why = forms.CharField(label="Reason for the correction", max_length=200)

    def __init__(self, *args: Any, currency: str, correction: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["amount"] = number_field(
            "Invoiced",
            unit=currency,
            places=2,
            min_value=0,
            max_digits=10,
            help_text="For this one unit, without tax. 0 where nothing is charged.",
        )
        if not correction:
            del self.fields["why"]
        self.order_fields(["amount", "invoice", "why"])


class WorkTimeForm(ShopForm):
    """Who worked how long on what; a correction asks why, and takes 0 minutes for "not at all"."""

    kind = forms.ChoiceField(label="Work", choices=WorkTime.Kind.choices, widget=forms.RadioSelect)
    minutes = forms.IntegerField(label="Minutes", widget=forms.NumberInput(attrs={"data-unit": "min"}))
    done_by = forms.ModelChoiceField(
        User.objects.filter(is_active=True), label="Who worked", empty_label="Choose a person"
    )
    worked_on = date_field("Worked on")
    why = forms.CharField(label="Reason for the correction", max_length=200)

    def __init__(self, *args: Any, correction: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not correction:
            del self.fields["why"]
            return
        self.fields["minutes"].help_text = "0 takes the entry back."


class OutsidePriceForm(ShopForm):
    """What the supplier charged."""

    why = forms.CharField(
        label="Reason", max_length=200, required=False, help_text="Needed where a price stands already."
    )

    def __init__(self, *args: Any, currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["price"] = number_field(
            "What it cost",
            unit=currency,
            places=2,
            min_value=Decimal(0),
            max_digits=10,
            required=False,
            help_text="Without tax. Empty while it is not known.",
        )
        self.order_fields(["price", "why"])


class MarginsForm(ShopForm):
    """Which rebuilds the margins are of."""

    start = date_field("Released from", required=False)
    end = date_field("Until", required=False)
    type = forms.ModelChoiceField(
        UnitType.objects.all(), label="Unit type", required=False, empty_label="all"
    )

    @classmethod
    def asked(cls, data: Mapping[str, Any]) -> "MarginsForm":
        """Read the form from an address; one that names none of its fields asks for the last year."""
        named = set(data) & set(cls.base_fields)
        form = cls(data if named else {"start": f"{timezone.localdate() - YEAR}"})
        form.is_valid()
        return form

    @property
    def period(self) -> Period:
        """The period asked for; a field that is empty or wrong narrows nothing."""
        asked = self.cleaned_data
        return Period(start=asked.get("start"), end=asked.get("end"), unit_type=asked.get("type"))

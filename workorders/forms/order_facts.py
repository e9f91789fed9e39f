"""Forms of what was promised with a work order: the rush, the owner of the machine, the warranty."""

from typing import Any

from django import forms

from inventory.forms.stores import DateInput
from shop.forms import ShopForm
from shop.models import Customer
from workorders.models import WorkOrder


class RushForm(ShopForm):
    """A rush: by when, agreed by whom, and why."""

    wanted_by = forms.DateField(label="Wanted by", widget=DateInput)
    agreed_by = forms.CharField(
        label="Who agreed to it", max_length=120, help_text="Of the shop; and who asked, where that helps."
    )
    why = forms.CharField(
        label="Why it is a rush", max_length=200, help_text="Such as: the ferry sails on Monday."
    )


class HolderForm(ShopForm):
    """Who holds the warranty; the reason where that changes."""

    holder = forms.ChoiceField(
        label="Who holds the warranty", choices=Customer.Holder, widget=forms.RadioSelect
    )
    no_owner = forms.BooleanField(label="The owner named here was wrong: name nobody", required=False)
    why = forms.CharField(
        label="Reason",
        max_length=200,
        required=False,
        help_text="Needed where something was said before, and changes.",
    )

    def __init__(self, *args: Any, work_order: WorkOrder, naming: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["holder"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [
            (code, f"{work_order.customer}, the customer" if code == Customer.Holder.CUSTOMER else words)
            for code, words in Customer.Holder.choices
        ]
        if naming or work_order.end_owner_id is None:
            del self.fields["no_owner"]

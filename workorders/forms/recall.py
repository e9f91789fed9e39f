"""Forms of a recall: lots with the words of the letter, a call, the lead's word, closing."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.db.models import QuerySet

from inventory.forms.stores import DateInput
from inventory.models import Lot
from shop.forms import ShopForm
from shop.forms.rows import WhyForm
from workorders.models import Recall, RecallCall, RecallUnit


class LotChoices(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]
    """Lots to tick, each with its part and batch."""

    widget = forms.CheckboxSelectMultiple

    def label_from_instance(self, obj: Any) -> str:
        """Name the lot, its part, its batch and its state."""
        batch = f", batch {obj.supplier_batch}" if obj.supplier_batch else ""
        return f"{obj} {obj.part}, {obj.supplier}{batch} ({obj.get_state_display()})"


def _lots_of(form: ShopForm, candidates: QuerySet[Lot]) -> None:
    field = form.fields["lots"]
    assert isinstance(field, forms.ModelMultipleChoiceField)
    field.queryset = candidates


class WordsForm(ShopForm):
    """What is wrong, and what the letter asks for."""

    advice = forms.ChoiceField(
        label="What the customer should do", choices=Recall.Advice.choices, widget=forms.RadioSelect
    )
    reason = forms.CharField(
        label="What is wrong with the lot",
        widget=forms.Textarea(attrs={"rows": 3}),
        max_length=1000,
        help_text="It stands on the banner and in the letter.",
    )
    instructions = forms.CharField(
        label="What the letter asks for",
        widget=forms.Textarea(attrs={"rows": 5}),
        max_length=2000,
        help_text="In the shop's own words: what to do with the machine now, whom to call, who pays the way.",
    )


class RecallForm(WordsForm):
    """The lots that are recalled, with the words."""

    lots = LotChoices(Lot.objects.none(), label="Lots")
    field_order = ("lots", "advice", "reason", "instructions")

    def __init__(self, *args: Any, candidates: QuerySet[Lot], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _lots_of(self, candidates)


class ChangeForm(WordsForm):
    """The words anew, with the reason."""

    why = forms.CharField(label="Reason for the change", max_length=200)


class MoreLotsForm(WhyForm):
    """More lots of the same recall."""

    lots = LotChoices(Lot.objects.none(), label="Lots")
    field_order = ("lots", "why")

    def __init__(self, *args: Any, candidates: QuerySet[Lot], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _lots_of(self, candidates)


class UnitChoices(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]
    """Units of one customer to tick."""

    widget = forms.CheckboxSelectMultiple

    def label_from_instance(self, obj: Any) -> str:
        """Name the unit and where the lot sits in it."""
        return f"{obj.unit.serial} {obj.unit.unit_type.name}: {'; '.join(obj.places)}"


class CallForm(ShopForm):
    """How a call ended."""

    outcome = forms.ChoiceField(
        label="How it ended", choices=RecallCall.Outcome.choices, widget=forms.RadioSelect
    )
    units = UnitChoices(
        RecallUnit.objects.none(),
        label="Which unit, where one is scrapped or on its way",
        required=False,
    )
    note = forms.CharField(label="Who was spoken to, what was said", max_length=300, required=False)
    next_on = forms.DateField(label="Call again on", required=False, widget=DateInput)

    def __init__(self, *args: Any, units: Iterable[int], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["units"]
        assert isinstance(field, forms.ModelMultipleChoiceField)
        field.queryset = RecallUnit.objects.filter(pk__in=units).select_related("unit__unit_type")


class DecideForm(WhyForm):
    """The lead's word on a unit in the shop."""

    may_go = forms.ChoiceField(
        label="The unit",
        choices=(("yes", "may go as it is"), ("no", "may not go until the part is renewed")),
        widget=forms.RadioSelect,
    )
    field_order = ("may_go", "why")


class CloseForm(WhyForm):
    """The reason for closing, and the word on what is still open."""

    accept_open = forms.BooleanField(label="Close it although units are not accounted for", required=False)
    field_order = ("why", "accept_open")

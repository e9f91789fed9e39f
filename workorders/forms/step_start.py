"""The form of a step's start: what is confirmed, how the rod port stands, and the relief path."""

from collections.abc import Mapping
from typing import Any

from django import forms

from shop.forms import ShopForm, number_field
from shop.models import TestStep, TypeRevision
from shop.step_kinds import LIQUID
from workorders.models import StepConfirmation
from workorders.services.step_start import asks_rod_port, condition_field

RodPort = StepConfirmation.RodPort


class StartStepForm(ShopForm):
    """What a step's kind wants confirmed; questions that do not arise for the unit are left out."""

    bench = True

    def __init__(self, *args: Any, step: TestStep, revision: TypeRevision, **kwargs: Any) -> None:
        self.step, self.revision = step, revision
        kind = step.facts
        fields: dict[str, forms.Field] = {}
        for each in kind.conditions:
            fields[condition_field(each.key)] = forms.BooleanField(label=each.sentence)
        if kind.presses:
            fields["medium"] = _tiles("What goes into the unit", TestStep.Medium.choices, initial=LIQUID)
        asked = asks_rod_port(revision, step)
        if asked:
            fields["rod_port"] = _tiles("The rod port", RodPort.choices)
        if asked or kind.relief_required:
            fields |= _relief(required=kind.relief_required)
        self.base_fields = fields  # type: ignore[misc]
        super().__init__(*args, **kwargs)

    @property
    def told(self) -> dict[str, Any]:
        """The cleaned data as the service takes them."""
        data: Mapping[str, Any] = self.cleaned_data
        keys = [each.key for each in self.step.facts.conditions if data.get(condition_field(each.key))]
        relief = data.get("relief_bar")
        return {
            "conditions": keys,
            "medium": data.get("medium", LIQUID),
            "rod_port": data.get("rod_port", ""),
            "relief_bar": None if relief is None else float(relief),
            "relief_by": data.get("relief_by", ""),
        }


def first_values(earlier: StepConfirmation | None) -> dict[str, Any]:
    """Return the relief named at the step before, to start from.

    How the rod port stands is looked at and said before each step, as every tick is.
    """
    if earlier is None:
        return {}
    return {name: getattr(earlier, name) for name in ("relief_bar", "relief_by")}


def _tiles(label: str, choices: list[tuple[str, str]], **kwargs: Any) -> forms.ChoiceField:
    named = [(value, str(words)) for value, words in choices if value]
    return forms.ChoiceField(label=label, choices=named, widget=forms.RadioSelect, **kwargs)


def _relief(*, required: bool) -> dict[str, forms.Field]:
    words = "" if required else "Only where the rod port is not open."
    return {
        "relief_bar": number_field(
            "Relief opens at", unit="bar", required=required, min_value=0, help_text=words
        ),
        "relief_by": forms.CharField(
            label="What relieves it",
            max_length=120,
            required=required,
            help_text="The valve and its number on the rig.",
        ),
    }

"""The forms of one step of a test plan: what its kind states, and its limits with those still to fill."""

from collections.abc import Sequence
from typing import Any, cast

from django import forms

from shop.forms.catalogue import LimitForm
from shop.forms.rows import RowForm, row_field
from shop.models import StepLimit, TestStep
from shop.step_kinds import KINDS, STATED, Ask, StepKind
from shop.step_kinds.kind import missing_fields

# What stands in the field of a limit that the lead has to fill, by the usual bound of the reading.
Row = dict[str, Any]
NEEDED = "This kind needs it; there is no general default."


class StepForm(RowForm):
    """What is done in a step: the fields that its kind states, and no others."""

    class Meta:
        model = TestStep
        fields = ("kind", "order", "side", "title", *STATED, "blank_required", "instruction")
        formfield_callback = row_field
        labels = {"order": "Place in the order"}
        widgets = {"kind": forms.HiddenInput}
        help_texts = {"relief_bar": "What guards the fixture, set no higher than this."}

    def __init__(self, *args: Any, kind: StepKind, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kind = kind
        self.fields["order"].min_value = 1  # type: ignore[attr-defined]
        for name in set(STATED) - set(kind.fields):
            del self.fields[name]
        for name in kind.fields:
            if missing_fields(kind, [other for other in STATED if other != name]):
                self.fields[name].required = True
                self.fields[name].error_messages["required"] = NEEDED
        if not any(StepLimit.Judged.DECAY in ask.judged for ask in kind.readings):
            del self.fields["blank_required"]
        sides = [(side, str(TestStep.Side(side).label)) for side in kind.sides]
        field = self.fields["side"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = sides
        if len(sides) == 1:
            field.widget = forms.HiddenInput()

    def clean(self) -> Row:
        """Leave nothing of another kind behind: what this kind does not state is emptied."""
        data: Row = super().clean() or self.cleaned_data
        empty = {name: "" if name == "fixture" else None for name in STATED}
        data.setdefault("blank_required", False)
        return {**{name: value for name, value in empty.items() if name not in self.kind.fields}, **data}


class BaseLimitFormSet(forms.BaseFormSet):  # type: ignore[type-arg]
    """The limits of a step, then one row for each reading that its kind knows and the step lacks.

    A proposed row that nobody filled in is left out; limits that exist can be taken out.
    """

    def __init__(
        self, *args: Any, asked: Sequence[Ask] = (), known: Sequence[Ask] = (), **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.asked, self.known = list(asked), list(known)
        self.extra = len(self.asked) + 1

    def get_form_kwargs(self, index: int | None) -> Row:
        """Start a row beyond those that exist from the reading that its kind asks for."""
        kwargs: Row = super().get_form_kwargs(index)
        if ask := self._asked_at(index):
            kwargs["initial"] = _first_values(ask)
        return kwargs

    def _asked_at(self, index: int | None) -> Ask | None:
        at = -1 if index is None else index - self.initial_form_count()
        return self.asked[at] if 0 <= at < len(self.asked) else None

    def add_fields(self, form: forms.Form, index: int | None) -> None:
        """Name the box that takes a limit out, and what a row is for."""
        super().add_fields(form, index)
        if "DELETE" in form.fields:
            form.fields["DELETE"].label = "Take this limit out"
        form.asked = self._asked_at(index)  # type: ignore[attr-defined]
        if (ask := self._asked_at(index) or self._met_by(form)) and isinstance(form, LimitForm):
            form.narrow(ask)

    def _met_by(self, form: forms.Form) -> Ask | None:
        """Return the reading of the kind that a limit in the plan is; the name counts first."""
        judged, quantity = form.initial.get("judged", ""), form.initial.get("quantity", "")
        met = [ask for ask in self.known if ask.is_met_by(judged=judged, quantity=quantity)]
        named = [ask for ask in met if ask.name == form.initial.get("reading")]
        return next(iter([*named, *met]), None)


def _first_values(ask: Ask) -> Row:
    judged = next(way for way in ask.judged if way in StepLimit.Judged.values)
    values = {"reading": ask.name, "judged": judged, "quantity": ask.quantity, "unit": ask.unit}
    return {**values, "figure": ask.figure if judged == "stroke" else "", "source": "shop"}


LimitFormSet = cast(
    type[BaseLimitFormSet],
    forms.formset_factory(
        LimitForm,
        formset=BaseLimitFormSet,
        extra=1,
        can_delete=True,
        can_delete_extra=False,
        max_num=12,
        validate_max=True,
    ),
)


def kind_asked(code: str) -> StepKind | None:
    """Return the kind of a code that a browser sent; None for another word."""
    return next((kind for kind in KINDS.values() if kind.code == code), None)

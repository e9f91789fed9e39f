"""Forms of outside work: send out, another day, back, inspect, cancel."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django import forms

from inventory.models import Supplier
from shop.forms import ShopForm, number_field
from shop.models import Component
from workorders.forms.operation import WHOLE_UNIT
from workorders.models import OutsideWork
from workorders.services.outside_work import Papers

Bake = OutsideWork.Bake
HOW_BAKED = "For a bake: by whom, and what their paper says. Without one: who says that, or which drawing."


def date_field(label: str, **kwargs: Any) -> forms.DateField:
    """Build a field for a day, drawn by the browser's own control."""
    return forms.DateField(
        label=label, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"), **kwargs
    )


def _note() -> forms.CharField:
    return forms.CharField(
        label="Note", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )


def _why(label: str, help_text: str = "") -> forms.CharField:
    return forms.CharField(label=label, max_length=200, help_text=help_text)


class SendOutForm(ShopForm):
    """What goes out, to whom, what they are asked for, and until when."""

    component = forms.ChoiceField(label="What goes out", widget=forms.RadioSelect)
    kind = forms.ChoiceField(label="Work", choices=OutsideWork.Kind.choices, widget=forms.RadioSelect)
    supplier = forms.ModelChoiceField(
        Supplier.objects.filter(is_shop=False),
        empty_label="Choose a supplier",
        help_text="One who is missing here is entered by stores or the lead, under Suppliers.",
    )
    asked = forms.CharField(
        label="What is asked",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="As the supplier should read it; it is printed on the slip, with the dimensions.",
    )
    due = date_field("Due back on")
    note = _note()

    def __init__(
        self, *args: Any, components: Sequence[Component], signed: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.components = {str(row.pk): row for row in components}
        field = self.fields["component"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [*((pk, str(row)) for pk, row in self.components.items())]
        field.choices += [(WHOLE_UNIT, "the whole unit")]
        if signed:
            self.fields["why"] = _why(
                "Why the build is opened again", "The build is signed. It is to be signed again after this."
            )

    @property
    def chosen(self) -> Component | None:
        """The component chosen; None for the whole unit."""
        return self.components.get(self.cleaned_data["component"])


class DueForm(ShopForm):
    """Another day, and why."""

    due = date_field("Due back on")
    why = _why("Why the day changes")


class CancelForm(ShopForm):
    """Why a sending is cancelled."""

    why = _why("Why it is cancelled", "Such as: never left the shop, or came back undone.")


class PapersForm(ShopForm):
    """The answer about the bake, and the supplier's certificate."""

    bake = forms.ChoiceField(label="Bake after plating", widget=forms.RadioSelect)
    bake_h = number_field("Baked for", unit="h", places=1, min_value=0, max_digits=4, required=False)
    bake_temperature_c = number_field(
        "Baked at", unit="°C", places=0, min_value=0, max_digits=4, required=False
    )
    bake_basis = forms.CharField(
        label="By whom, or on what basis", max_length=300, required=False, help_text=HOW_BAKED
    )
    certificate = forms.FileField(
        label="Supplier's certificate",
        required=False,
        help_text="A PDF, or a photo of the paper.",
        widget=forms.ClearableFileInput(attrs={"accept": "application/pdf,image/jpeg,image/png,image/webp"}),
    )

    def __init__(self, *args: Any, work: OutsideWork, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        left_out = [Bake.NOT_PLATING] if work.kind == OutsideWork.Kind.RECHROMING else []
        field = self.fields["bake"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [choice for choice in Bake.choices if choice[0] not in left_out]
        if not work.is_plating:
            for name in ("bake", "bake_h", "bake_temperature_c", "bake_basis"):
                del self.fields[name]

    @property
    def papers(self) -> Papers:
        """What the form says came with the part."""
        data = self.cleaned_data
        return Papers(
            bake=data.get("bake", Bake.NOT_ASKED),
            bake_h=_number(data.get("bake_h")),
            bake_temperature_c=_number(data.get("bake_temperature_c")),
            bake_basis=data.get("bake_basis", ""),
            certificate=data.get("certificate"),
        )


def _number(value: Any) -> float | None:
    return None if value is None else float(value)


class ReturnForm(PapersForm):
    """A part is back, with what came with it."""

    note = _note()


class InspectForm(PapersForm):
    """Accepted or rejected."""

    groups: ClassVar[Sequence[tuple[str, Sequence[str]]]] = ()
    verdict = forms.ChoiceField(
        label="The work is",
        choices=[("accepted", "accepted"), ("rejected", "rejected")],
        widget=forms.RadioSelect,
    )
    reject_reason = forms.CharField(label="Why it is rejected", max_length=300, required=False)
    field_order = ("verdict", "reject_reason")

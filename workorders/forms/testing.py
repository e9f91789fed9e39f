"""Forms of the test bench: start, rig fluid, signing, setting aside."""

from collections.abc import Sequence
from typing import Any

from django import forms

from shop.forms import ShopForm
from shop.forms.signing import PasswordForm
from shop.models import Fluid
from workorders.services.rig_fluid import FluidCheck


class StartForm(ShopForm):
    """The fluid that is in the rig now; ``checks`` say how each fluid stands to the unit."""

    bench = True
    rig_fluid = forms.ModelChoiceField(
        Fluid.objects.all(), label="Fluid in the rig now", widget=forms.RadioSelect, empty_label=None
    )

    def __init__(self, *args: Any, checks: Sequence[FluidCheck], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["rig_fluid"]
        assert isinstance(field, forms.ModelChoiceField)
        field.choices = [
            (check.fluid.pk, f"{check.fluid}" + ("" if check.may_run else f": {check.word}"))
            for check in checks
        ]


class FluidDecisionForm(ShopForm):
    """The lead's decision to run a fluid that no source clears."""

    reason = forms.CharField(
        label="Why it may run",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="What speaks for it: the maker's word, the short time, the grade of the seal.",
    )
    flushing = forms.CharField(
        label="Flushing afterwards",
        max_length=300,
        help_text="How the rig fluid is flushed out of the unit, and with what.",
    )


class SignTestForm(PasswordForm):
    """The fluid left inside, and the password again."""

    bench = True
    fluid_left = forms.ModelChoiceField(
        Fluid.objects.all(),
        label="Fluid left inside for shipping",
        widget=forms.RadioSelect,
        empty_label=None,
    )
    done_at = forms.DateTimeField(
        label="Test completed",
        required=False,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        help_text="Only where that was earlier than now.",
    )
    field_order = ["fluid_left", "done_at", "password"]


class SupersedeForm(ShopForm):
    """Why a test is set aside."""

    reason = forms.CharField(label="Reason", max_length=300, widget=forms.Textarea(attrs={"rows": 3}))


def signing_data(data: dict[str, Any]) -> dict[str, Any]:
    """Return what the service takes: everything but the password, which the form has checked."""
    return {name: value for name, value in data.items() if name != "password"}

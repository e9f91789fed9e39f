"""The form with which a stage of the work is signed, and the one that takes something back."""

from typing import Any

from django import forms

from shop.forms import ShopForm


class SignWorkForm(ShopForm):
    """When the work was completed, where that was before now; and, for the lead, a reason."""

    bench = True

    done_at = forms.DateTimeField(
        label="Completed earlier, on",
        required=False,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        help_text="Leave it empty when the work was completed just now. A late entry is shown as such.",
    )
    why = forms.CharField(
        label="Why required parts are left out",
        required=False,
        max_length=200,
        help_text="Only the lead may accept that. It stands with the signature.",
    )

    def __init__(self, *args: Any, with_reason: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not with_reason:
            del self.fields["why"]


class TakeBackForm(ShopForm):
    """Why something is taken back; asked for where the work is signed already."""

    why = forms.CharField(label="Why", max_length=200)

    def __init__(self, *args: Any, needs_reason: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["why"].required = needs_reason

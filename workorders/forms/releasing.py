"""Forms of release, reissue and side exit."""

from typing import Any

from django import forms

from shop.forms import ShopForm
from shop.forms.signing import PasswordForm
from workorders.models import Rebuild, Release


class ReleaseForm(PasswordForm):
    """Status word, remarks and the password again."""

    status = forms.ChoiceField(label="Status on the certificate", widget=forms.RadioSelect)
    remarks = forms.CharField(
        label="Remarks and deviations",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Printed on the certificate. One line each; leave empty if there are none.",
    )
    field_order = ["status", "remarks", "why", "password"]

    def __init__(self, *args: Any, statuses: list[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["status"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(word, Release.Status(word).label.capitalize()) for word in statuses]
        field.initial = statuses[0]


class ReissueForm(ReleaseForm):
    """A release issued anew, with the reason."""

    why = forms.CharField(
        label="Why it is issued anew",
        max_length=300,
        help_text="Printed on the new certificate beside the number of the one it replaces.",
    )


class ExitForm(ShopForm):
    """A side exit with its reason."""

    exit = forms.ChoiceField(
        label="How it leaves the rebuild",
        widget=forms.RadioSelect,
        choices=[(stage.value, str(stage.label).capitalize()) for stage in Rebuild.SIDE_EXITS],
    )
    reason = forms.CharField(label="Reason", max_length=300, widget=forms.Textarea(attrs={"rows": 3}))

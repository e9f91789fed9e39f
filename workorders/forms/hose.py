"""Forms of the hoses: the finding of one, and the photo of its port before it comes off."""

from typing import Any

from django import forms

from shop.forms import ShopForm, number_field
from shop.models import Hose
from workorders.forms.finding import FindingForm
from workorders.forms.receiving import PhotoForm
from workorders.models import Finding, HoseCheck

Condition, Action = Finding.Condition, Finding.Action

HOSE_CONDITIONS = (
    Condition.SOUND,
    Condition.CHAFED_COVER,
    Condition.CHAFED_THROUGH,
    Condition.KINKED,
    Condition.HARDENED,
    Condition.SWOLLEN,
    Condition.BLISTERED,
    Condition.CRACKED,
    Condition.CUT,
    Condition.LEAKING_CRIMP,
    Condition.END_CORRODED,
    Condition.BLOCKED,
    Condition.MISSING,
    Condition.NOT_EXAMINED,
    Condition.NOT_HERE,
)
HOSE_ACTIONS = (Action.KEPT, Action.RENEWED, Action.REWORKED, Action.REJECTED, Action.NONE)


class HoseFindingForm(FindingForm):
    """What one hose showed; one that did not come with the unit starts as not here."""

    conditions, actions = HOSE_CONDITIONS, HOSE_ACTIONS
    field_order = (
        *("condition", "action", "cause", "length_mm", "kept_reason", "note", "no_photo_reason"),
        *("camera", "photo", "why"),
    )

    length_mm = number_field("Length as found", unit="mm", places=1, required=False, min_value=1)
    kept_reason = forms.CharField(
        label="Why the lead keeps it",
        required=False,
        max_length=200,
        help_text="Only where it is chafed to the reinforcement, swollen, blistered, cracked or leaking.",
    )
    no_photo_reason = forms.CharField(
        label="Why its port has no photo",
        required=False,
        max_length=200,
        help_text="Such as: it came off in transport. A photo is better.",
    )

    def __init__(
        self, *args: Any, place: Hose, came: bool, photo_wanted: bool, is_lead: bool, **kwargs: Any
    ) -> None:
        self.came = came
        super().__init__(*args, place=place, **kwargs)
        if not is_lead:
            del self.fields["kept_reason"]
        if not photo_wanted:
            del self.fields["no_photo_reason"]

    def first_answer(self, place: Any, finding: Finding | None) -> dict[str, Any]:
        """Return what stands, or where the hose did not come along that it is not here."""
        if finding:
            names = ("length_mm", "kept_reason", "no_photo_reason")
            return super().first_answer(place, finding) | {name: getattr(finding, name) for name in names}
        return {} if self.came else {"condition": Condition.NOT_HERE, "action": Action.NONE}

    def clean(self) -> dict[str, Any]:
        """Hold together what belongs together where the hose is not here."""
        data = super().clean()
        away, nothing = data.get("condition") == Condition.NOT_HERE, data.get("action") == Action.NONE
        if away and data.get("action") and not nothing:
            self.add_error("action", "It is not here: choose “nothing, not here”.")
        if nothing and data.get("condition") and not away:
            self.add_error("action", "This is for a hose that is not here.")
        return data


class HoseCheckForm(ShopForm):
    """The number read from a hose at its port."""

    bench = True
    number = forms.CharField(
        label="Number read from the hose",
        max_length=12,
        widget=forms.TextInput(
            attrs={"autocapitalize": "characters", "autocomplete": "off", "data-scan": ""}
        ),
        help_text="From its tag, not from memory.",
    )
    way = forms.ChoiceField(
        label="How it goes out",
        choices=HoseCheck.Way.choices,
        initial=HoseCheck.Way.ON_PORT,
        widget=forms.RadioSelect,
    )

    def __init__(self, *args: Any, hose: Hose, signed: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if hose.attachment == Hose.Attachment.FIXED:
            del self.fields["way"]
        if signed:
            self.fields["why"] = forms.CharField(
                label="Why the build is opened again",
                max_length=200,
                help_text="The build is signed. It is to be signed again after this.",
            )


class PortPhotoForm(PhotoForm):
    """Photos of a port before its hose comes off."""

    bench = True
    why = forms.CharField(label="Why it is added late", max_length=200)

    def __init__(self, *args: Any, signed: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not signed:
            del self.fields["why"]

    def clean(self) -> dict[str, Any]:
        """Refuse a form without photos."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors and not self.uploads:
            raise forms.ValidationError({"photo": "Choose at least one photo."})
        return data

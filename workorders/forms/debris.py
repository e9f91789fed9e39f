"""The form of debris found: the question where it came from."""

from typing import Any

from django import forms

from shop.forms import ShopForm
from workorders.models import Rebuild

NOT_DETERMINED = "not determined"
ELSEWHERE = "from elsewhere in the circuit"


class DebrisForm(ShopForm):
    """Where the debris came from: a seal of this unit, elsewhere, or not determined."""

    bench = True

    where = forms.ChoiceField(label="Where did the debris come from?", widget=forms.RadioSelect)
    what = forms.CharField(
        label="What it looks like",
        required=False,
        max_length=120,
        help_text="Such as black rubber crumbs, brass chips, white fibres.",
    )

    def __init__(self, *args: Any, rebuild: Rebuild, signed: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        places = [*rebuild.revision.positions.all(), *rebuild.revision.components.all()]
        named = [f"{place.code} {place.name}" for place in places]
        where = self.fields["where"]
        assert isinstance(where, forms.ChoiceField)
        where.choices = [(word, word) for word in (NOT_DETERMINED, ELSEWHERE, *named)]
        if signed:
            self.fields["why"] = forms.CharField(
                label="Why it is recorded now",
                max_length=200,
                help_text="The teardown is signed.",
                error_messages={"required": "This is still empty."},
            )

    @property
    def origin(self) -> str:
        """Where and what, in one sentence."""
        what = self.cleaned_data["what"].strip()
        where: str = self.cleaned_data["where"]
        return f"{where}: {what}" if what else where

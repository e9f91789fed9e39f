"""The lead's forms for a draft type from the bench: approve it, or say which known type it is."""

from collections.abc import Sequence
from typing import Any

from django import forms

from shop.forms import ShopForm
from shop.models import Fluid, SealPosition, TypeRevision
from workorders.services.draft_merge import Mapped, Pair

STAYS = "stays on the record as read"
NONE_THERE = "the known type has none"
FIRST = "Draft the next revision of the known type with it and approve that; until then nothing moves."


class ApproveDraftForm(ShopForm):
    """What a draft type is called, and the fluid that it works in."""

    groups = (
        ("What it is", ("code", "name", "maker", "maker_numbers")),
        ("What it works in", ("service_fluid",)),
        ("Why", ("why",)),
    )

    code = forms.CharField(
        label="Catalogue code", max_length=30, help_text="Its own, in place of the provisional one."
    )
    name = forms.CharField(label="Name", max_length=120)
    maker = forms.CharField(label="Maker", max_length=80, required=False)
    maker_numbers = forms.CharField(
        label="Maker's numbers",
        max_length=400,
        required=False,
        help_text="As they stand on the units, separated by commas.",
    )
    service_fluid = forms.ModelChoiceField(Fluid.objects.all(), empty_label="Choose a fluid")
    why = forms.CharField(
        label="What makes it revision 1",
        max_length=200,
        help_text="Such as: opened and measured on two units, compared with the drawing.",
    )

    def __init__(self, *args: Any, revision: TypeRevision, **kwargs: Any) -> None:
        unit_type = revision.unit_type
        first = {"name": unit_type.name, "maker": unit_type.maker}
        first["maker_numbers"] = ", ".join(str(row) for row in unit_type.maker_numbers.all())
        kwargs.setdefault("initial", {**first, "service_fluid": revision.service_fluid_id})
        super().__init__(*args, **kwargs)


class MergeForm(ShopForm):
    """Which place of the known type each place of the draft is."""

    why = forms.CharField(
        label="How it was recognised",
        max_length=200,
        help_text="Such as: the number under the paint, read after washing.",
    )

    def __init__(self, *args: Any, pairs: Sequence[Pair], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.pairs = pairs
        for pair in pairs:
            none = STAYS if pair.may_stay else "Choose a place" if pair.choices else NONE_THERE
            choices = [("", none), *((str(row.pk), str(row)) for row in pair.choices)]
            self.fields[field_name(pair)] = forms.ChoiceField(
                label=f"{pair.place}",
                choices=choices,
                required=not pair.may_stay,
                initial=str(pair.proposed.pk) if pair.proposed else "",
                help_text=_words(pair),
            )
        self.order_fields([*(field_name(pair) for pair in pairs), "why"])

    @property
    def mapped(self) -> Mapped:
        """The places chosen, by the place of the draft."""
        found = {}
        for pair in self.pairs:
            chosen = self.cleaned_data[field_name(pair)]
            found[pair.key] = next((row for row in pair.choices if str(row.pk) == chosen), None)
        return found


def field_name(pair: Pair) -> str:
    """Return the name of the field of one place."""
    return f"{pair.kind}_{pair.place.pk}"


def _words(pair: Pair) -> str:
    """Say what the place of the draft is, so that the choice can be judged."""
    words = [pair.kind]
    if isinstance(pair.place, SealPosition):
        words.append(pair.place.kind_and_motion)
    else:
        for name in ("get_kind_display", "get_fitting_display", "get_quantity_display"):
            told = getattr(pair.place, name, None)
            if told:
                words.append(str(told()))
    size = getattr(pair.place, "size_designation", "")
    told = ", ".join([*words, *([size] if size else [])])
    return told if pair.choices or pair.may_stay else f"{told}. {FIRST}"

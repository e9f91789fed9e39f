"""The form of the fluid found: tiles for what eyes and nose tell, without names that nobody knows."""

from typing import Any

from django import forms

from shop.forms import ShopForm
from shop.models import Fluid
from workorders.models import FluidFound

COLOURS = ("clear", "straw", "amber", "red", "green", "brown", "black", "milky", "not examined")
SMELLS = ("none", "burnt", "sour", "solvent", "not examined")


def _words(words: tuple[str, ...], stands: str) -> list[tuple[str, str]]:
    """Return words as choices, with one that stands in the record already."""
    return [(word, word) for word in dict.fromkeys([*words, stands]) if word]


class FluidFoundForm(ShopForm):
    """Kind, colour, smell and water of the fluid that came out of a unit."""

    bench = True

    colour = forms.ChoiceField(label="Colour", widget=forms.RadioSelect)
    smell = forms.ChoiceField(label="Smell", widget=forms.RadioSelect)
    water = forms.ChoiceField(label="Water", choices=FluidFound.Water.choices, widget=forms.RadioSelect)
    fluid = forms.ModelChoiceField(
        Fluid.objects.all(),
        label="Which fluid it is",
        required=False,
        empty_label="not identified",
        help_text="Only where it is known, from the customer or a label.",
    )
    kind_note = forms.CharField(label="Kind, as far as can be told", required=False, max_length=120)

    def __init__(self, *args: Any, found: FluidFound | None, signed: bool, **kwargs: Any) -> None:
        names = ("colour", "smell", "water", "fluid", "kind_note")
        if found:
            kwargs.setdefault("initial", {name: getattr(found, name) for name in names})
        super().__init__(*args, **kwargs)
        for name, words in (("colour", COLOURS), ("smell", SMELLS)):
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            field.choices = _words(words, getattr(found, name, ""))
        if signed:
            self.fields["why"] = forms.CharField(
                label="Why it is corrected",
                max_length=200,
                help_text="The teardown is signed. What stood here stays in the history.",
                error_messages={"required": "This is still empty."},
            )

"""Forms that merge two customers, take a merge back, or record that they are two."""

from collections.abc import Sequence
from typing import Any

from django import forms

from shop.forms import ShopForm
from shop.models import Customer
from shop.services.customers import FIELDS

FIRST, SECOND, BOTH = "first", "second", "both"


def shown(customer: Customer, name: str) -> str:
    """Return a value of a customer in words."""
    value = getattr(customer, name)
    if isinstance(value, bool):
        return "yes" if value else "no"
    words = dict(Customer._meta.get_field(name).flatchoices).get(value, value)  # type: ignore[union-attr]
    return str(words) if words not in (None, "") else "empty"


def words_of(name: str) -> str:
    """Return what a field of a customer is called."""
    words = str(Customer._meta.get_field(name).verbose_name)  # type: ignore[union-attr]
    return words[:1].upper() + words[1:]


class MergeForm(ShopForm):
    """Which of two customers stays, which value of each field that differs is right, and why."""

    stays = forms.ChoiceField(label="The one that stays", widget=forms.RadioSelect)
    why = forms.CharField(
        label="How you know that the two are one",
        max_length=200,
        help_text="Such as: same telephone, she says she moved house.",
    )

    def __init__(self, *args: Any, first: Customer, second: Customer, stays: Customer, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.pair = (first, second)
        self.differing = [name for name in FIELDS if getattr(first, name) != getattr(second, name)]
        field = self._choices("stays")
        field.choices = [(str(row.pk), self._called(row)) for row in self.pair]
        field.initial = str(stays.pk)
        other = second if stays == first else first
        for name in self.differing:
            taken = stays if getattr(stays, name) not in (None, "") else other
            self.fields[f"take_{name}"] = forms.ChoiceField(
                label=words_of(name),
                widget=forms.RadioSelect,
                choices=self._values(name),
                initial=FIRST if taken == first else SECOND,
                error_messages={"required": "Nothing is chosen yet."},
            )
        self.order_fields(["stays", *[f"take_{name}" for name in self.differing], "why"])

    def _choices(self, name: str) -> forms.ChoiceField:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        return field

    @staticmethod
    def _called(row: Customer) -> str:
        where = ", ".join(row.address_lines)
        return f"{row.name}, {where}" if where else row.name

    def _values(self, name: str) -> list[tuple[str, str]]:
        first, second = self.pair
        choices = [(FIRST, shown(first, name)), (SECOND, shown(second, name))]
        if name == "note" and first.note and second.note:
            choices.append((BOTH, "both, one below the other"))
        return choices

    @property
    def groups(self) -> Sequence[tuple[str, Sequence[str]]]:  # type: ignore[override]
        """The one that stays, then the values, then the reason."""
        return [
            ("Which row stays", ["stays"]),
            ("Which value is right", [f"take_{name}" for name in self.differing]),
            ("Why", ["why"]),
        ]

    def chosen(self, data: dict[str, Any]) -> tuple[Customer, Customer, dict[str, Any]]:
        """Return the one that goes, the one that stays, and its values."""
        first, second = self.pair
        stays, gone = (first, second) if data["stays"] == str(first.pk) else (second, first)
        values = {}
        for name in self.differing:
            taken = data[f"take_{name}"]
            values[name] = getattr(second if taken == SECOND else first, name)
            if taken == BOTH:
                values[name] = f"{first.note}\n{second.note}"
        return gone, stays, values


class WhyForm(ShopForm):
    """A reason, and nothing else."""

    why = forms.CharField(label="Reason", max_length=200)

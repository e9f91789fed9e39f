"""Fields of a form from what a way of judging asks for."""

from collections.abc import Callable, Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from shop.forms import number_field
from workorders.models import Instrument
from workorders.services.ways.base import COUNT, INSTRUMENT, NUMBER, NUMBERS, PAIRS, SEEN, TEXT, Ask

States = Mapping[int, str]
MOST_NUMBERS = 60


class InstrumentField(forms.ModelChoiceField):  # type: ignore[type-arg]
    """A choice of the instruments of one quantity, with the state of their calibration."""

    def __init__(self, *, quantity: str, unit: str, states: States, label: str = "Instrument") -> None:
        rows = Instrument.objects.filter(retired=False, quantity=quantity, unit=unit)
        super().__init__(rows, label=label, empty_label="Choose the instrument")
        self.states = states

    def label_from_instance(self, obj: Instrument) -> str:
        """Name an instrument with what stands against it."""
        state = self.states.get(obj.pk, "")
        return f"{obj}, to {obj.range_high:g} {obj.unit}" + (f" ({state})" if state else "")


class NumbersField(forms.CharField):
    """Numbers in a row with spaces between, such as ``2.31 2.29``; cleans to a tuple of floats."""

    def to_python(self, value: Any) -> Any:
        """Read the numbers; a decimal comma is taken as a point."""
        text = super().to_python(value)
        return _numbers(text.replace(";", " ")) if text else ()

    def prepare_value(self, value: Any) -> Any:
        """Write numbers as they are typed."""
        return value if isinstance(value, str) or value is None else " ".join(f"{one:.10g}" for one in value)


class PairsField(NumbersField):
    """Pairs of numbers, such as ``0 200; 0.5 178``; cleans to a tuple of pairs."""

    def to_python(self, value: Any) -> Any:
        """Read the pairs, one a line or with semicolons between."""
        text = forms.CharField.to_python(self, value)
        pairs = [
            _numbers(pair)
            for pair in (text or "").replace("\n", ";").replace("\r", "").split(";")
            if pair.strip()
        ]
        if any(len(pair) != 2 for pair in pairs):
            raise ValidationError("Give pairs with semicolons between, such as 0 200; 0.5 178; 1.0 157.")
        return tuple(pairs)

    def prepare_value(self, value: Any) -> Any:
        """Write pairs as they are typed."""
        if isinstance(value, str) or value is None:
            return value
        return "; ".join(f"{first:.10g} {second:.10g}" for first, second in value)


def _numbers(text: str) -> tuple[float, ...]:
    words = text.split()
    if len(words) > MOST_NUMBERS:
        raise ValidationError(f"Give at most {MOST_NUMBERS} numbers.")
    try:
        found = tuple(float(word.replace(",", ".")) for word in words)
    except ValueError as error:
        raise ValidationError("Give numbers only, with spaces between.") from error
    if any(abs(number) > 1e9 or number != number for number in found):  # NaN differs from itself
        raise ValidationError("A number is too large, or none.")
    return found


def field_of(ask: Ask, states: States) -> forms.Field:
    """Return the field that asks for one part of a reading."""
    field = _MAKERS[ask.kind](ask, states)
    field.help_text = field.help_text or ask.help
    return field


def _number(ask: Ask, states: States) -> forms.Field:
    bounds: dict[str, Any] = {} if ask.least is None else {"min_value": ask.least}
    if ask.unit:
        return number_field(ask.label, unit=ask.unit, required=ask.required, **bounds)
    widget = forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"})
    return forms.DecimalField(label=ask.label, widget=widget, required=ask.required, **bounds)


def _numbers_field(ask: Ask, states: States) -> forms.Field:
    kind = PairsField if ask.kind == PAIRS else NumbersField
    label = f"{ask.label}, {ask.unit}" if ask.unit else ask.label
    return kind(label=label, required=ask.required, max_length=600)


def _count(ask: Ask, states: States) -> forms.Field:
    widget = forms.NumberInput(attrs={"inputmode": "numeric"})
    return forms.IntegerField(
        label=ask.label, min_value=0, max_value=1_000_000, required=ask.required, widget=widget
    )


def _text(ask: Ask, states: States) -> forms.Field:
    return forms.CharField(label=ask.label, required=ask.required, max_length=120)


def _seen(ask: Ask, states: States) -> forms.Field:
    return forms.TypedChoiceField(
        label=ask.label,
        choices=[("yes", "as required"), ("no", "not as required")],
        coerce=lambda value: value == "yes",
        widget=forms.RadioSelect,
    )


def _instrument(ask: Ask, states: States) -> forms.Field:
    return InstrumentField(quantity=ask.quantity, unit=ask.unit, states=states, label=ask.label)


_MAKERS: Mapping[str, Callable[[Ask, States], forms.Field]] = {
    NUMBER: _number,
    NUMBERS: _numbers_field,
    PAIRS: _numbers_field,
    COUNT: _count,
    TEXT: _text,
    SEEN: _seen,
    INSTRUMENT: _instrument,
}

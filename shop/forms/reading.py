"""Numbers that are typed in a metric unit or in its inch-pound counterpart, and clean to metric."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.validators import DecimalValidator

from shop.calc.units import INCH_POUND, metric, shown, unit_name
from shop.forms import ShopForm, number_field

# A converted number is kept to this many decimals of its metric unit: a millionth of a mm is below
# every instrument, and 0.7 in must be the 17.78 mm of a limit and not 17.779999999999998.
PLACES = 6
METRIC, INCH = "metric", "inch-pound"


class ReadingField(forms.DecimalField):
    """A number in its metric unit; once `use_inch` was called, typed in the counterpart.

    It cleans to the metric unit either way, and limits are those of the metric unit. What stands
    already and was not touched comes back unchanged, however it was rounded for showing.
    """

    metric_unit = ""
    inch = False
    typed = ""  # as it was typed, where it was converted
    stands: Any = None

    def use_inch(self, stands: Any) -> None:
        """Take the number in inch-pound; ``stands`` is the metric value shown at first, if any."""
        self.inch, self.stands = True, stands
        self.widget.attrs |= {"data-unit": unit_name(unit=self.metric_unit, inch=True), "step": "any"}
        self.validators = [one for one in self.validators if not isinstance(one, DecimalValidator)]

    def prepare_value(self, value: Any) -> Any:
        """Show a metric number as it is typed; text is what somebody typed, and stays."""
        if isinstance(value, str) or value is None:
            return value
        if self.inch:
            return f"{shown(value=float(value), unit=self.metric_unit, inch=True):.7g}"
        return format(float(value), ".10g")

    def to_python(self, value: Any) -> Any:
        """Return the number in its metric unit."""
        self.typed = ""
        number = super().to_python(value)
        if number is None or not self.inch or not number.is_finite():
            return number
        if self.stands is not None and str(value).strip() == self.prepare_value(self.stands):
            return Decimal(str(self.stands))
        DecimalValidator(12, PLACES)(number)
        self.typed = f"{value} {unit_name(unit=self.metric_unit, inch=True)}".strip()
        kept = metric(value=float(number), unit=self.metric_unit, inch=True)
        return Decimal(str(round(kept, PLACES)))


def reading_field(label: str, *, unit: str, **kwargs: Any) -> ReadingField:
    """Build a field as `number_field` does, that can be typed in inch-pound where ``unit`` has that."""
    field = number_field(label, unit=unit, field_class=ReadingField, **kwargs)
    assert isinstance(field, ReadingField)
    field.metric_unit = unit
    return field


def span_in_inch(*, low: float | None, high: float | None, unit: str) -> str:
    """Return limits in the inch-pound counterpart of ``unit``, to five digits, to aim at with an instrument.

    Verdicts are told in the metric unit; empty where there is no limit or no counterpart.
    """
    if unit not in INCH_POUND or (low is None and high is None):
        return ""
    told = [
        "" if value is None else f"{shown(value=value, unit=unit, inch=True):.5g}" for value in (low, high)
    ]
    words = " to ".join(told) if all(told) else f"at least {told[0]}" if told[0] else f"at most {told[1]}"
    return f"{words} {unit_name(unit=unit, inch=True)}"


class ReadingsForm(ShopForm):
    """A form with numbers that may be typed in inch-pound.

    It carries its units when it is sent: what another page of the person chose since is not for it.
    """

    typed_in = METRIC

    def take_units(self, *, inch: bool) -> None:
        """Choose the units of the form, once all its fields are there."""
        if not inch:
            return
        self.typed_in = INCH
        for name, field in self.fields.items():
            if isinstance(field, ReadingField) and field.metric_unit in INCH_POUND:
                field.use_inch(self.initial.get(name))

    @property
    def is_measured(self) -> bool:
        """Whether any number of the form has another unit to be typed in."""
        fields = [field for field in self.fields.values() if isinstance(field, ReadingField)]
        return any(field.metric_unit in INCH_POUND for field in fields)

    @property
    def converted(self) -> str:
        """What was typed in inch-pound, for the history; empty where nothing was."""
        fields = [field for field in self.fields.values() if isinstance(field, ReadingField) and field.typed]
        return f"typed as {', '.join(field.typed for field in fields)}" if fields else ""

    def reason(self, data: Mapping[str, Any]) -> str:
        """Return the reason of a correction, and with it what was typed in inch-pound."""
        why = str(data.get("why", "")).strip()
        return f"{why} ({self.converted})" if why and self.converted else why or self.converted

"""Forms of the register of instruments."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django import forms

from shop.forms import ShopForm
from shop.forms.rows import PlainFloatField
from workorders.models import Instrument
from workorders.services.instruments import UNITS_OF

UNITS = sorted({unit for units in UNITS_OF.values() for unit in units})


def _number(label: str, *, help_text: str = "", least: float | None = None) -> forms.FloatField:
    widget = forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"})
    return PlainFloatField(label=label, widget=widget, help_text=help_text, min_value=least)


def _date(label: str) -> forms.DateField:
    return forms.DateField(label=label, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))


class InstrumentForm(ShopForm):
    """A gauge, transducer or meter of the shop."""

    code = forms.CharField(label="Code", max_length=20, help_text="As on the sticker of the instrument.")
    name = forms.CharField(label="What it is", max_length=120)
    serial = forms.CharField(label="Maker's serial", max_length=60, required=False)
    quantity = forms.ChoiceField(label="Measures", choices=[("", "Choose"), *Instrument.Quantity.choices])
    unit = forms.ChoiceField(label="Unit", choices=[("", "Choose"), *((unit, unit) for unit in UNITS)])
    range_low = _number("Range from", help_text="In the unit of the instrument.")
    range_high = _number("Range to", help_text="In the unit of the instrument.")
    accuracy = _number(
        "Accuracy, ±",
        help_text="In the unit of the instrument, over its whole range. "
        "Class 0.6 of a gauge to 250 bar is ± 1.5 bar.",
    )
    resolution = _number("Smallest step shown", help_text="0 where it is finer than matters.", least=0)

    groups: ClassVar[Sequence[tuple[str, Sequence[str]]]] = (
        ("The instrument", ("code", "name", "serial")),
        ("What it measures", ("quantity", "unit", "range_low", "range_high", "accuracy", "resolution")),
    )


class InstrumentChangeForm(InstrumentForm):
    """A change to an instrument in the register, with its reason."""

    retired = forms.BooleanField(label="Retired: no longer offered for readings", required=False)
    why = forms.CharField(label="Why it is changed", max_length=200)

    groups: ClassVar[Sequence[tuple[str, Sequence[str]]]] = (
        *InstrumentForm.groups,
        ("The change", ("retired", "why")),
    )

    @classmethod
    def initial_of(cls, instrument: Instrument) -> dict[str, Any]:
        """Return the present values of an instrument."""
        return {name: getattr(instrument, name) for name in cls.base_fields if name != "why"}


class CalibrationForm(ShopForm):
    """One calibration of an instrument."""

    calibrated_on = _date("Calibrated on")
    due_on = _date("Due again on")
    certificate_no = forms.CharField(label="Certificate number", max_length=60)
    done_by = forms.CharField(label="Calibrated by", max_length=120)
    in_tolerance = forms.TypedChoiceField(
        label="How it was found",
        choices=[("yes", "within its accuracy"), ("no", "out of tolerance")],
        coerce=lambda value: value == "yes",
        widget=forms.RadioSelect,
    )


class CalibrationCorrectionForm(CalibrationForm):
    """A wrongly entered calibration put right, with the reason."""

    why = forms.CharField(label="What was entered wrongly", max_length=200)

"""Forms of the register of instruments."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django import forms

from shop.forms import ShopForm
from shop.forms.rows import PlainFloatField, WhyForm
from workorders.models import Calibration, CalibrationReview, Instrument
from workorders.services.instruments import UNITS_OF

Decision = CalibrationReview.Decision
FOUND = (
    ("good", "in tolerance"),
    ("adjusted", "out of tolerance as found; adjusted, in tolerance as left"),
    ("out", "out of tolerance, and left so"),
)
UNITS = sorted({unit for units in UNITS_OF.values() for unit in units})


def _number(
    label: str, *, help_text: str = "", least: float | None = None, required: bool = True
) -> forms.FloatField:
    widget = forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"})
    return PlainFloatField(
        label=label, widget=widget, help_text=help_text, min_value=least, required=required
    )


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
        help_text="As its maker or its calibration states it: a value, a class, or % of the reading.",
    )
    accuracy_of = forms.ChoiceField(
        label="Accuracy is stated as",
        choices=Instrument.AccuracyOf.choices,
        initial=Instrument.AccuracyOf.UNIT,
        required=False,
        help_text="Class 0.6 of a gauge to 250 bar is ±1.5 bar over its whole range.",
    )
    accuracy_digits = forms.IntegerField(
        label="And smallest steps added to it",
        min_value=0,
        max_value=1000,
        initial=0,
        required=False,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
        help_text="For ±(0.5 % of the reading + 2 digits), enter 2.",
    )
    resolution = _number("Smallest step shown", help_text="0 where it is finer than matters.", least=0)

    groups: ClassVar[Sequence[tuple[str, Sequence[str]]]] = (
        ("The instrument", ("code", "name", "serial")),
        ("What it measures", ("quantity", "unit", "range_low", "range_high", "resolution")),
        ("How accurate it is", ("accuracy", "accuracy_of", "accuracy_digits")),
    )

    def clean_accuracy_of(self) -> str:
        """Take an accuracy without a word as one in the unit of the instrument."""
        return str(self.cleaned_data.get("accuracy_of") or Instrument.AccuracyOf.UNIT)

    def clean_accuracy_digits(self) -> int:
        """Take an empty field as none added."""
        return self.cleaned_data.get("accuracy_digits") or 0


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
    found = forms.ChoiceField(label="How it was found", choices=FOUND, widget=forms.RadioSelect)
    error_found = _number(
        "Error as found",
        required=False,
        help_text="Where it was out of tolerance: reading minus true value, in its unit, with its sign; "
        "the largest of the certificate.",
    )
    error_at = _number("At the reading", required=False, help_text="In the unit of the instrument.")
    certificate = forms.FileField(
        label="Certificate",
        required=False,
        help_text="A PDF, or a photo of the paper.",
        widget=forms.FileInput(attrs={"accept": "application/pdf,image/jpeg,image/png,image/webp"}),
    )

    def clean(self) -> dict[str, Any]:
        """Say as-found and as-left as the record keeps them."""
        data = super().clean() or self.cleaned_data
        found = data.pop("found", "")
        return {**data, "in_tolerance": found == "good", "adjusted": found == "adjusted"}

    @classmethod
    def initial_of(cls, row: Calibration) -> dict[str, Any]:
        """Return the present values of a calibration."""
        names = ("calibrated_on", "due_on", "certificate_no", "done_by", "error_found", "error_at")
        return {**{name: getattr(row, name) for name in names}, "found": row.found_code}


class CalibrationCorrectionForm(CalibrationForm):
    """A wrongly entered calibration put right, with the reason."""

    why = forms.CharField(label="What was entered wrongly", max_length=200)


class CalibrationReviewForm(WhyForm):
    """The lead's word on a rebuild that an instrument found out of tolerance had touched."""

    decision = forms.ChoiceField(
        label="Decision",
        choices=(
            (Decision.STANDS, "the readings stay valid: the error found is small against the margin"),
            (Decision.AGAIN, "it is to be tested again"),
            (Decision.TELL, "the customer is to be told"),
        ),
        widget=forms.RadioSelect,
    )
    field_order = ("decision", "why")

"""What was seen of a unit whose type nobody knows yet."""

import re
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.core.validators import MinValueValidator

from shop.calc.identify import Measured, Observed
from shop.calc.maker_number import split_numbers
from shop.calc.units import shown
from shop.forms.reading import ReadingField, ReadingsForm, reading_field
from shop.models import UnitType

DIAMETERS, LENGTHS = ("bore_mm", "rod_mm"), ("stroke_mm", "closed_length_mm")
SIZES = DIAMETERS + LENGTHS
# Names that the page for a unit of an unknown type takes over.
PASSED_ON = ("family", "bore_mm", "rod_mm", "stroke_mm", "numbers", "ports")
MOST_TEXTS = 12
LEAST = Decimal("0.001")


def size_field(label: str, unit: str, *, help_text: str = "", most: int = 50000) -> ReadingField:
    """Return a field for a figure above 0, with its unit beside it."""
    field = reading_field(
        label, unit=unit, required=False, min_value=LEAST, max_value=most, help_text=help_text
    )
    for validator in field.validators:
        if isinstance(validator, MinValueValidator):
            validator.message = f"Must be above 0 {unit}."
    return field


class IdentifyForm(ReadingsForm):
    """The outside of a unit: everything may stay empty, each fact narrows the choice."""

    refused = "Nothing was looked up"

    family = forms.ChoiceField(
        label="Family",
        required=False,
        choices=[*UnitType.Family.choices, ("", "not sure")],
        widget=forms.RadioSelect,
    )
    numbers = forms.CharField(
        label="Numbers on the body",
        max_length=200,
        required=False,
        help_text="Plate and stamps, as you read them, with commas between them. One doubtful character is "
        "found all the same.",
    )
    maker_serial = forms.CharField(
        label="Maker's serial",
        max_length=60,
        required=False,
        help_text="Of this one piece; it goes on to the receipt and identifies no type.",
    )
    year = forms.IntegerField(label="Year on the plate", required=False, min_value=1900, max_value=2200)
    bore_mm = size_field("Bore", "mm", help_text="From outside only where the wall is known.")
    rod_mm = size_field("Rod", "mm")
    stroke_mm = size_field("Stroke", "mm")
    closed_length_mm = size_field("Closed length", "mm", help_text="Rod drawn in, over the mounting eyes.")
    ports = forms.IntegerField(label="Number of ports", required=False, min_value=1, max_value=40)
    threads = forms.CharField(
        label="Port threads", max_length=120, required=False, help_text="Such as: G 1/4, G 1/4."
    )
    hoses = forms.CharField(
        label="Hose numbers", max_length=120, required=False, help_text="Such as: H1, H2."
    )
    displacement_cm3 = size_field("Displacement", "cm³/rev")
    supply_v = size_field("Motor supply", "V")
    bore_pm = size_field("± on the bore", "mm", most=1000)
    rod_pm = size_field("± on the rod", "mm", most=1000)
    stroke_pm = size_field("± on the stroke", "mm", most=1000)
    closed_length_pm = size_field("± on the closed length", "mm", most=1000)

    groups: ClassVar = (
        ("What it says on the body", ("family", "numbers", "maker_serial", "year")),
        ("Measured, with the unit closed and without pressure", SIZES),
        ("Ports and hoses", ("ports", "threads", "hoses")),
        ("Power unit", ("displacement_cm3", "supply_v")),
        (
            "How exactly it was measured, where not as usual",
            ("bore_pm", "rod_pm", "stroke_pm", "closed_length_pm"),
        ),
    )

    def __init__(
        self, *args: Any, diameter_mm: float, length_mm: float, inch: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.take_units(inch=inch)
        self.usual = dict.fromkeys(DIAMETERS, diameter_mm) | dict.fromkeys(LENGTHS, length_mm)
        for name in SIZES:
            field = self.fields[_pm(name)]
            usual = shown(value=self.usual[name], unit="mm", inch=inch)
            field.widget.attrs["placeholder"] = f"{usual:.3g}"

    def clean(self) -> dict[str, Any]:
        """Refuse a rod that does not go into its bore; figures are floats from here on."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        data |= {name: float(value) for name, value in data.items() if isinstance(value, Decimal)}
        bore, rod = data.get("bore_mm"), data.get("rod_mm")
        if bore and rod and rod >= bore:
            self.add_error("rod_mm", "The rod is thinner than the bore: one of the two is misread.")
        return data

    @property
    def observed(self) -> Observed:
        """The cleaned data as identification takes it."""
        data = self.cleaned_data
        told = {name: self._measured(name) for name in SIZES}
        return Observed(
            family=data["family"],
            numbers=tuple(split_numbers(data["numbers"])[:MOST_TEXTS]),
            year=data["year"],
            ports=data["ports"],
            threads=_texts(data["threads"]),
            hoses=_texts(data["hoses"]),
            displacement_cm3=data["displacement_cm3"],
            supply_v=data["supply_v"],
            **told,
        )

    def _measured(self, name: str) -> Measured | None:
        value = self.cleaned_data[name]
        if value is None:
            return None
        return Measured(value=value, uncertainty=self.cleaned_data[_pm(name)] or self.usual[name])

    @property
    def told(self) -> list[tuple[str, str]]:
        """What was entered, as label and words, for the paper."""
        families = dict(UnitType.Family.choices)
        found = []
        for name, field in self.fields.items():
            value = self.cleaned_data[name]
            if value not in (None, ""):
                words = families.get(value, value) if name == "family" else value
                if isinstance(field, ReadingField):
                    words = f"{value:.10g} {field.metric_unit}"
                    words += f" (typed as {field.typed})" if field.typed else ""
                found.append((str(field.label), str(words)))
        return found

    @property
    def passed_on(self) -> dict[str, str]:
        """What the page for a unit of an unknown type takes over, as its query."""
        data = self.cleaned_data
        texts = {name: data[name] for name in PASSED_ON if data[name] not in (None, "")}
        return {
            name: f"{value:.10g}" if isinstance(value, float) else str(value) for name, value in texts.items()
        }

    def typed_in_other_units(self) -> dict[str, str]:
        """Return the figures that were read as they are typed in the other units, by field."""
        found = {}
        for name, field in self.fields.items():
            value = getattr(self, "cleaned_data", {}).get(name)
            if isinstance(field, ReadingField) and value is not None:
                there = shown(value=float(value), unit=field.metric_unit, inch=not field.inch)
                found[name] = f"{there:.7g}"
        return found


def _pm(name: str) -> str:
    return name.replace("_mm", "_pm")


def _texts(text: str) -> tuple[str, ...]:
    parts = (" ".join(part.split()) for part in re.split(r"[,;\n]+", text))
    return tuple(part for part in parts if part)[:MOST_TEXTS]

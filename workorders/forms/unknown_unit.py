"""The form that receives a unit of an unknown type."""

from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms

from shop.forms.reading import ReadingsForm, reading_field
from shop.models import UnitType
from shop.services.draft_types import SeenOutside
from workorders.forms.receiving import Groups, IntakeForm

DIMENSIONS = ("bore_mm", "rod_mm", "stroke_mm")
MOST_MM = 10_000


def _length(label: str, help_text: str) -> forms.DecimalField:
    return reading_field(
        label, unit="mm", places=3, required=False, min_value=0, max_value=MOST_MM, help_text=help_text
    )


class UnknownUnitForm(ReadingsForm, IntakeForm):
    """What the outside of an unknown unit tells, with the intake of every unit."""

    family = forms.ChoiceField(label="What it is", choices=UnitType.Family, widget=forms.RadioSelect)
    name = forms.CharField(
        label="Working name",
        max_length=120,
        help_text="What it looks like and what it moves, such as “ramp cylinder with two eyes, black”. "
        "The lead gives it its proper name later.",
    )
    numbers = forms.CharField(
        label="Numbers on the body",
        max_length=200,
        required=False,
        help_text="Every number cast, stamped or printed on it, separated by commas.",
    )
    bore_mm = _length("Bore", "Leave empty what cannot be measured before it is opened.")
    rod_mm = _length("Rod", "On the bright part, with a micrometer or a caliper.")
    stroke_mm = _length("Stroke", "From end to end, moved by hand without pressure.")
    ports = forms.IntegerField(label="Ports counted", required=False, min_value=1, max_value=40)

    groups: ClassVar[Groups] = (
        ("What it looks like", ("family", "name", "numbers", "ports")),
        ("Dimensions, as far as they are known", DIMENSIONS),
        ("The unit", ("maker_serial",)),
        *IntakeForm.groups[1:],
    )

    def __init__(self, *args: Any, inch: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.take_units(inch=inch)
        self.fields[
            "photo"
        ].help_text = (
            "At least one: nothing else tells yet what this unit is. All sides, the ports, every number."
        )

    def clean(self) -> dict[str, Any]:
        """Ask for a photo, and for a rod that goes into its bore."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if "photo" not in self.errors and "camera" not in self.errors and not self.uploads:
            self.add_error("photo", "Take at least one photo: nothing else tells yet what this unit is.")
        bore, rod = data.get("bore_mm"), data.get("rod_mm")
        if bore is not None and rod is not None and rod >= bore:
            self.add_error("rod_mm", "The rod must be thinner than the bore.")
        return data

    @property
    def seen(self) -> SeenOutside:
        """The cleaned data as the service that opens a draft type takes it."""
        data = self.cleaned_data
        sizes = {name: None if data[name] is None else float(data[name]) for name in DIMENSIONS}
        return SeenOutside(
            family=data["family"],
            name=data["name"],
            maker_numbers=data["numbers"],
            ports=data["ports"],
            **sizes,
        )


def seen_before(query: Mapping[str, str]) -> dict[str, Any]:
    """Return what a page that looked for the type found out already, as the form's first values."""
    names = ("family", "name", "numbers", "ports", *DIMENSIONS)
    seen = {name: text for name in names if (text := query.get(name, "").replace("\0", "").strip()[:200])}
    return seen | {name: _millimetres(seen[name]) for name in DIMENSIONS if name in seen}


def _millimetres(text: str) -> float | str:
    """Return the number of an address, which is in mm whatever the form is typed in."""
    try:
        return float(text)
    except ValueError:
        return text

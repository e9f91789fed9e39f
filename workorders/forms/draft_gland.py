"""Forms for the gland of a place of a draft type, the seal that came out of it, and its size."""

from collections.abc import Mapping
from typing import Any

from django import forms

from shop.forms import ShopForm, number_field
from shop.forms.reading import ReadingsForm, reading_field
from shop.models import DimensionLimit, SealPosition
from workorders.models import Instrument, Measurement, SealFound
from workorders.services.draft_glands import STATIONS

Figure = DimensionLimit.GlandFigure
FIGURES = (Figure.DEPTH, Figure.WIDTH, Figure.DIAMETER, Figure.CLEARANCE)
HELP = {
    Figure.DEPTH: "From the bottom of the groove to the surface opposite, in line.",
    Figure.DIAMETER: "The bottom of the groove; of a groove in a face its inner wall.",
    Figure.CLEARANCE: "Between the metal beside the groove and the surface opposite; none for a face.",
}


def instrument_field() -> forms.ModelChoiceField:  # type: ignore[type-arg]
    """Build the choice of an instrument for lengths."""
    return forms.ModelChoiceField(
        Instrument.objects.filter(quantity=Instrument.Quantity.LENGTH, retired=False),
        label="Instrument",
        empty_label="Choose the instrument",
        error_messages={"required": "Choose the instrument that it was measured with."},
    )


class WhyLaterForm(ReadingsForm):
    """Asks for the reason once the teardown is signed."""

    bench = True

    why = forms.CharField(
        label="Why it is corrected",
        max_length=200,
        help_text="The teardown is signed. What stood here stays in the history, beside this reason.",
    )

    def __init__(self, *args: Any, signed: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not signed:
            del self.fields["why"]


class GlandForm(WhyLaterForm):
    """Readings of a gland, figure by figure and station by station; what is left empty stays open."""

    arrangement = forms.ChoiceField(
        label="Where the groove is",
        choices=SealPosition.Arrangement,
        widget=forms.RadioSelect,
        required=False,
    )

    def __init__(
        self,
        *args: Any,
        position: SealPosition,
        stands: Mapping[str, list[Measurement]],
        inch: bool = False,
        **kwargs: Any,
    ) -> None:
        first: dict[str, Any] = {"arrangement": position.arrangement}
        for figure, rows in stands.items():
            for row in rows:
                first[reading_name(figure, row.station)] = row.value
                first["instrument"] = row.instrument_id
        kwargs.setdefault("initial", first)
        super().__init__(*args, **kwargs)
        if position.arrangement:
            del self.fields["arrangement"]
        why = self.fields.pop("why", None)
        self.fields["instrument"] = instrument_field()
        groups = []
        for figure in FIGURES:
            names = []
            for station in range(1, STATIONS + 1):
                field = reading_field(
                    f"Reading {station}", unit="mm", required=False, max_digits=9, min_value=0
                )
                names.append(reading_name(figure, station))
                self.fields[names[-1]] = field
            self.fields[names[0]].help_text = HELP.get(figure, "")
            groups.append((str(figure.label).capitalize(), names))
        if why:
            self.fields["why"] = why
            groups.append(("Why", ["why"]))
        self.groups = groups  # type: ignore[misc]
        self.take_units(inch=inch)

    def clean(self) -> dict[str, Any]:
        """Ask for at least one reading."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors and not any(self.readings.values()):
            self.add_error(None, "No reading is entered.")
        return data

    @property
    def readings(self) -> dict[str, dict[int, float]]:
        """The readings entered, by figure and station."""
        found: dict[str, dict[int, float]] = {figure: {} for figure in FIGURES}
        for figure in FIGURES:
            for station in range(1, STATIONS + 1):
                value = self.cleaned_data.get(reading_name(figure, station))
                if value is not None:
                    found[figure][station] = float(value)
        return found


def reading_name(figure: str, station: int) -> str:
    """Return the name of the field of one reading."""
    return f"{figure}_{station}"


class SealFoundForm(ReadingsForm):
    """The seal that came out: measured, with how far it may have changed."""

    bench = True
    groups = (
        ("What came out", ("profile", "instrument", "inside_mm")),
        ("An O-ring", ("section_mm", "set_most_pct", "swell_most_pct")),
        ("Another profile", ("outside_mm", "height_mm")),
        ("Note", ("note",)),
    )

    profile = forms.ChoiceField(
        label="Profile", choices=SealFound.Profile, widget=forms.RadioSelect, initial=SealFound.Profile.O_RING
    )
    instrument = instrument_field()
    inside_mm = reading_field(
        "Inside diameter", unit="mm", places=3, min_value=0, help_text="Laid out flat and not stretched."
    )
    section_mm = reading_field(
        "Section",
        unit="mm",
        places=3,
        min_value=0,
        required=False,
        help_text="Where it is flattened, the thin way.",
    )
    set_most_pct = number_field(
        "It may have taken a set of up to",
        unit="%",
        places=1,
        min_value=0,
        max_value=90,
        required=False,
        help_text="The part of the squeeze that does not come back; leave it empty for none.",
    )
    swell_most_pct = number_field(
        "It may have swollen by up to",
        unit="%",
        places=1,
        min_value=0,
        max_value=200,
        required=False,
        help_text="In volume; leave it empty for none.",
    )
    outside_mm = reading_field("Outside diameter", unit="mm", places=3, min_value=0, required=False)
    height_mm = reading_field("Height", unit="mm", places=3, min_value=0, required=False)
    note = forms.CharField(label="Note", max_length=200, required=False)

    NUMBERS = ("inside_mm", "section_mm", "set_most_pct", "swell_most_pct", "outside_mm", "height_mm")

    def __init__(self, *args: Any, seal: SealFound | None, inch: bool = False, **kwargs: Any) -> None:
        if seal:
            first: dict[str, Any] = {"profile": seal.profile, "instrument": seal.instrument_id}
            numbers = {name: getattr(seal, name) for name in self.NUMBERS}
            first |= {name: value for name, value in numbers.items() if value}
            kwargs.setdefault("initial", {**first, "note": seal.note})
        super().__init__(*args, **kwargs)
        self.take_units(inch=inch)

    @property
    def sizes(self) -> dict[str, Any]:
        """The cleaned data as `record_seal` takes it: only what belongs to the profile."""
        data = self.cleaned_data
        ring = data["profile"] == SealFound.Profile.O_RING
        own = ("section_mm",) if ring else ("outside_mm", "height_mm")
        found: dict[str, Any] = {
            name: None if data[name] is None else float(data[name]) for name in ("inside_mm", *own)
        }
        for name in ("set_most_pct", "swell_most_pct"):
            found[name] = float(data[name] or 0) if ring else 0.0
        return {**found, "note": data["note"].strip()}


class SizeForm(ShopForm):
    """The size of a position, chosen from the matches or typed."""

    bench = True

    designation = forms.CharField(
        label="Size",
        max_length=60,
        help_text="An O-ring as AS568-214 or as 10 x 2 (inside diameter by section, mm); "
        "a profile as 12 x 20 x 5.7.",
    )
    why = forms.CharField(label="Why it is another size", max_length=200, required=False)

    def __init__(self, *args: Any, stands: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not stands:
            del self.fields["why"]

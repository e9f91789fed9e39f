"""The form of one dimension: a reading for each station, and the instrument they were taken with."""

from typing import Any

from django import forms

from shop.forms.reading import ReadingsForm, reading_field
from shop.models import DimensionLimit
from workorders.models import Instrument
from workorders.services.dimensions import Dimension
from workorders.services.teardown import quantities_for


class MeasurementForm(ReadingsForm):
    """Readings of one dimension at its stations; stations left empty stay as they are."""

    instrument = forms.ModelChoiceField(
        Instrument.objects.none(),
        label="Instrument",
        empty_label="Choose the instrument",
        error_messages={"required": "Choose the instrument that the readings were taken with."},
    )

    def __init__(
        self,
        *args: Any,
        dimension: Dimension,
        moment: str,
        needs_reason: bool,
        inch: bool = False,
        **kwargs: Any,
    ) -> None:
        stands = {
            station.number: reading
            for station in dimension.stations
            if (reading := getattr(station, moment)) is not None
        }
        initial: dict[str, Any] = {reading_name(number): reading.value for number, reading in stands.items()}
        last = next((r.instrument_id for r in reversed(stands.values()) if r.instrument_id), None)
        kwargs.setdefault("initial", {**initial, "instrument": last})
        super().__init__(*args, **kwargs)
        instrument = self.fields["instrument"]
        assert isinstance(instrument, forms.ModelChoiceField)
        instrument.queryset = instruments_for(dimension.limit)
        for station in dimension.stations:
            label = "Reading" if len(dimension.stations) == 1 else f"Station {station.number}"
            self.fields[reading_name(station.number)] = reading_field(
                label, unit=dimension.limit.unit, required=False, max_digits=12
            )
        if needs_reason:
            self.fields["why"] = forms.CharField(
                label="Why it is corrected",
                max_length=200,
                help_text="That work is signed already. The first reading stays in the history.",
                error_messages={"required": "This is still empty."},
            )
        self.take_units(inch=inch)

    def clean(self) -> dict[str, Any]:
        """Ask for at least one reading."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors and not self.readings:
            self.add_error(None, "No reading is entered.")
        return data

    @property
    def readings(self) -> dict[int, float]:
        """The readings entered, by station."""
        found = {}
        for name, value in self.cleaned_data.items():
            if name.startswith("reading_") and value is not None:
                found[int(name.removeprefix("reading_"))] = float(value)
        return found


def reading_name(station: int) -> str:
    """Return the name of the field of one station."""
    return f"reading_{station}"


def instruments_for(limit: DimensionLimit) -> Any:
    """Return the instruments in use that can take a dimension."""
    return Instrument.objects.filter(quantity__in=quantities_for(limit), retired=False)

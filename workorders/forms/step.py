"""The form of one test step, built from the limits of the plan: data, not a form of its own."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from django import forms

from shop.forms import ShopForm, number_field
from shop.models import StepLimit
from workorders.calc.trace import PRESSURE_UNITS, TIME_UNITS, TraceMapping
from workorders.models import Instrument, StepResult
from workorders.services.logger_files import Choices, Proposal
from workorders.services.readings import expected_of, field_name
from workorders.services.step_results import (
    CountEntry,
    Entry,
    HandHoldEntry,
    TraceEntry,
    ValueEntry,
    WitnessEntry,
)

Way = StepLimit.Judged
Fields = dict[str, forms.Field]
PHOTO_TYPES = "image/jpeg,image/png,image/webp"
# Offered where a file's own columns are not known yet.
COLUMNS = tuple((number, f"column {number + 1}") for number in range(20))


class InstrumentField(forms.ModelChoiceField):  # type: ignore[type-arg]
    """A choice of the instruments of one quantity, with the state of their calibration."""

    def __init__(self, *, quantity: str, unit: str, states: Mapping[int, str]) -> None:
        rows = Instrument.objects.filter(retired=False, quantity=quantity, unit=unit)
        super().__init__(rows, label="Instrument", empty_label="Choose the instrument")
        self.states = states

    def label_from_instance(self, obj: Instrument) -> str:
        """Name an instrument with what stands against it."""
        state = self.states.get(obj.pk, "")
        return f"{obj}, to {obj.range_high:g} {obj.unit}" + (f" ({state})" if state else "")


class StepForm(ShopForm):
    """Every reading of one step at once, with note and photo.

    ``proposals`` are the logger files handed in for its holds: such a hold asks nothing by hand.
    ``states`` says what stands against an instrument today. ``again`` asks why the step is
    recorded once more.
    """

    bench = True

    def __init__(
        self,
        *args: Any,
        limits: Sequence[StepLimit],
        proposals: Mapping[int, Proposal],
        states: Mapping[int, str],
        again: bool,
        **kwargs: Any,
    ) -> None:
        self.limits, self.proposals = limits, proposals
        self.legends: list[tuple[str, list[str]]] = []
        # Named before the base class looks at its fields, so that their messages are the shop's.
        self.base_fields = {}  # type: ignore[misc]
        for limit in limits:
            made = {} if limit.pk in proposals else FIELDS[limit.judged](limit, states)
            self._add(_legend(limit), {field_name(limit, part): field for part, field in made.items()})
        self._add("With the step" if self.legends else "The step", _common_fields(again))
        super().__init__(*args, **kwargs)

    def _add(self, legend: str, fields: Fields) -> None:
        if fields:
            self.base_fields.update(fields)
            self.legends.append((legend, list(fields)))

    @property
    def groups(self) -> list[tuple[str, list[str]]]:  # type: ignore[override]
        """One fieldset for each reading, then what belongs to the step."""
        return self.legends

    def entries(self, data: Mapping[str, Any]) -> dict[StepLimit, Entry]:
        """Turn the cleaned data into one entry for each limit."""
        return {limit: self._entry(limit, data) for limit in self.limits}

    def _entry(self, limit: StepLimit, data: Mapping[str, Any]) -> Entry:
        proposal = self.proposals.get(limit.pk)
        if proposal:
            fit = proposal.evaluated.fit
            return TraceEntry(
                logger_file=proposal.logger_file,
                mapping=proposal.trace.mapping,
                window_start_s=fit.start_s,
                window_end_s=fit.end_s,
            )
        return ENTRIES[limit.judged](lambda part: data.get(field_name(limit, part)))


def initial_of(result: StepResult | None) -> dict[str, Any]:
    """Return what was entered for a step by hand, so that a correction starts from it."""
    initial: dict[str, Any] = {"note": result.note} if result else {}
    for reading in result.readings.all() if result else ():
        seen = {**reading.observed, "instrument": reading.instrument_id}
        seen |= {part: format(raw, ".10g") for part, raw in seen.items() if isinstance(raw, float)}
        if "as_required" in seen:
            seen["as_required"] = "yes" if seen["as_required"] else "no"
        initial |= {field_name(reading.limit, part): value for part, value in seen.items()}
    return initial


def _common_fields(again: bool) -> Fields:
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea(attrs={"rows": 2}))
    photo = forms.FileField(
        label="Photo", required=False, widget=forms.FileInput(attrs={"accept": PHOTO_TYPES})
    )
    why = {"why": forms.CharField(label="Why it is recorded again", max_length=200)} if again else {}
    return {"note": note, "photo": photo, **why}


def _legend(limit: StepLimit) -> str:
    name = limit.reading[:1].upper() + limit.reading[1:]
    by_hand = ", read by hand" if limit.judged == Way.DECAY else ""
    return f"{name}{by_hand}: {limit.limit_text}"


def _number(label: str, unit: str, **kwargs: Any) -> forms.Field:
    if unit:
        return number_field(label, unit=unit, **kwargs)
    widget = forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"})
    return forms.DecimalField(label=label, widget=widget, **kwargs)


def _instrument(limit: StepLimit, states: Mapping[int, str]) -> Fields:
    quantity, unit = expected_of(limit)
    return {"instrument": InstrumentField(quantity=quantity, unit=unit, states=states)} if quantity else {}


def _value_fields(limit: StepLimit, states: Mapping[int, str]) -> Fields:
    return {"value": _number("Reading", limit.unit), **_instrument(limit, states)}


def _hold_fields(limit: StepLimit, states: Mapping[int, str]) -> Fields:
    return {
        "start_bar": number_field("Pressure at the start", unit="bar"),
        "end_bar": number_field("Pressure at the end", unit="bar"),
        "duration_s": number_field("Time between", unit="s", min_value=1),
        **_instrument(limit, states),
    }


def _count(label: str, required: bool = True) -> forms.IntegerField:
    widget = forms.NumberInput(attrs={"inputmode": "numeric"})
    return forms.IntegerField(label=label, min_value=0, max_value=1_000_000, required=required, widget=widget)


def _count_fields(limit: StepLimit, states: Mapping[int, str]) -> Fields:
    return {"count": _count(f"Counted, {limit.unit}" if limit.unit else "Counted")}


def _witness_fields(limit: StepLimit, states: Mapping[int, str]) -> Fields:
    seen = forms.TypedChoiceField(
        label="Seen",
        choices=[("yes", "as required"), ("no", "not as required")],
        coerce=lambda value: value == "yes",
        widget=forms.RadioSelect,
    )
    count = _count("Counted", required=False)
    count.help_text = "A witnessed observation needs a count, a photo or a note."
    return {"as_required": seen, "count": count}


FIELDS: Mapping[str, Callable[[StepLimit, Mapping[int, str]], Fields]] = {
    Way.VALUE: _value_fields,
    Way.DECAY: _hold_fields,
    Way.COUNT: _count_fields,
    Way.WITNESS: _witness_fields,
}
Part = Callable[[str], Any]
ENTRIES: Mapping[str, Callable[[Part], Entry]] = {
    Way.VALUE: lambda part: ValueEntry(value=float(part("value")), instrument=part("instrument")),
    Way.DECAY: lambda part: HandHoldEntry(
        start_bar=float(part("start_bar")),
        end_bar=float(part("end_bar")),
        duration_s=float(part("duration_s")),
        instrument=part("instrument"),
    ),
    Way.COUNT: lambda part: CountEntry(count=part("count")),
    Way.WITNESS: lambda part: WitnessEntry(as_required=part("as_required"), count=part("count")),
}


class _MappingForm(ShopForm):
    """Which column is the time and which the pressure; what is left open is proposed."""

    time = forms.TypedChoiceField(label="Time is in", coerce=int, required=False, empty_value=None)
    time_unit = forms.ChoiceField(label="Unit of the time", required=False)
    pressure = forms.TypedChoiceField(label="Pressure is in", coerce=int, required=False, empty_value=None)
    pressure_unit = forms.ChoiceField(label="Unit of the pressure", required=False)

    def __init__(self, *args: Any, columns: Sequence[tuple[int, str]] = COLUMNS, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._offer("time_unit", [(unit, unit) for unit in TIME_UNITS])
        self._offer("pressure_unit", [(unit, unit) for unit in PRESSURE_UNITS])
        self.offer(columns)

    def offer(self, columns: Sequence[tuple[int, str]]) -> None:
        """Offer the columns of a file for time and pressure."""
        self._offer("time", columns)
        self._offer("pressure", columns)

    def _offer(self, name: str, choices: Sequence[tuple[Any, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", "as the file says"), *choices]

    @property
    def mapping(self) -> TraceMapping | None:
        """The mapping chosen; None where nothing is."""
        data = self.cleaned_data
        chosen = TraceMapping(
            time_column=data.get("time"),
            time_unit=data.get("time_unit") or None,
            pressure_column=data.get("pressure"),
            pressure_unit=data.get("pressure_unit") or None,
        )
        return None if chosen == TraceMapping() else chosen


class UploadForm(_MappingForm):
    """A logger file with the instrument that wrote it."""

    file = forms.FileField(
        label="Logger file", widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.dat,text/*"})
    )
    field_order = ["file", "instrument"]

    def __init__(self, *args: Any, limit: StepLimit, states: Mapping[int, str], **kwargs: Any) -> None:
        self.base_fields = {**type(self).base_fields, **_instrument(limit, states)}  # type: ignore[misc]
        # Ids of its own: the same reading is asked for by hand on the same page.
        super().__init__(*args, prefix=f"r{limit.pk}", auto_id="of_file_%s", **kwargs)


class ChoicesForm(_MappingForm):
    """Window and columns of a logger file that is shown for confirmation."""

    file = forms.IntegerField(widget=forms.HiddenInput)
    start = number_field("Window from", unit="s", required=False)
    end = number_field("Window to", unit="s", required=False)
    field_order = ["file", "start", "end"]

    def __init__(self, *args: Any, limit: StepLimit, **kwargs: Any) -> None:
        super().__init__(*args, prefix=f"r{limit.pk}", **kwargs)

    @property
    def choices(self) -> Choices:
        """Window and mapping as chosen; None is proposed."""
        start, end = (self.cleaned_data.get(name) for name in ("start", "end"))
        return Choices(
            mapping=self.mapping,
            start_s=None if start is None else float(start),
            end_s=None if end is None else float(end),
        )

"""The form of one test step, built from the limits of the plan: data, not a form of its own."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.utils.timezone import localtime

from shop.errors import RuleBroken
from shop.forms import ShopForm, number_field
from shop.models import StepLimit
from workorders.calc.trace import PRESSURE_UNITS, TIME_UNITS, TraceMapping
from workorders.forms.asked import field_of
from workorders.forms.thermal import EMPTY_COLUMN, LEGEND, THERMAL, thermal_entry, thermal_fields
from workorders.models import LoggerFile, StepResult
from workorders.services.logger_files import Choices, Proposal
from workorders.services.readings import field_name
from workorders.services.step_results import BlankEntry, Entry, ThermalEntry, TraceEntry
from workorders.services.ways import way_of
from workorders.services.ways.base import INSTRUMENT
from workorders.services.ways.hold import BLANK_ASKS, blank_entry

Fields = dict[str, forms.Field]
PHOTO_TYPES = "image/jpeg,image/png,image/webp"
MAPPED = ("time", "time_unit", "pressure", "pressure_unit", "channel")
RECORD_FORM = "record"
# Offered where a file's own columns are not known yet.
COLUMNS = tuple((number, f"column {number + 1}") for number in range(20))


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
            asks = () if limit.pk in proposals else way_of(limit).asks(limit)
            self._add(_legend(limit), {field_name(limit, ask.part): field_of(ask, states) for ask in asks})
            if asks and way_of(limit).takes_blank:
                check = {field_name(limit, name): field for name, field in _blank_fields().items()}
                self._add(f"{_name(limit)}: {_blank_legend(limit)}", check)
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
        def part(name: str) -> Any:
            return data.get(field_name(limit, name))

        try:
            proposal = self.proposals.get(limit.pk)
            return _from_file(proposal) if proposal else way_of(limit).entry(limit, part)
        except RuleBroken as error:
            named = {field_name(limit, name): text for name, text in error.fields.items()}
            raise RuleBroken(error.message, named) from error


def _from_file(proposal: Proposal) -> TraceEntry:
    fit = proposal.evaluated.fit
    return TraceEntry(
        logger_file=proposal.logger_file,
        mapping=proposal.trace.mapping,
        window_start_s=fit.start_s,
        window_end_s=fit.end_s,
        blank=proposal.blank,
        thermal=proposal.thermal,
    )


def initial_of(result: StepResult | None) -> dict[str, Any]:
    """Return what was entered for a step by hand, so that a correction starts from it."""
    initial: dict[str, Any] = {"note": result.note} if result else {}
    for reading in result.readings.all() if result else ():
        observed = reading.observed
        seen = {name: value for name, value in observed.items() if name not in ("blank", "sha256", "thermal")}
        seen |= {f"blank_{part}": value for part, value in (observed.get("blank") or {}).items()}
        counts = observed.get("counts_per_ml") or ()
        seen |= dict(zip(("count_4um", "count_6um", "count_14um"), counts, strict=False))
        for ask in way_of(reading.limit).asks(reading.limit):
            if ask.kind == INSTRUMENT:
                first = ask.part == INSTRUMENT
                seen[ask.part] = reading.instrument_id if first else reading.second_instrument_id
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


def _name(limit: StepLimit) -> str:
    return limit.reading[:1].upper() + limit.reading[1:]


def _legend(limit: StepLimit) -> str:
    by_hand = ", read by hand" if way_of(limit).from_file else ""
    return f"{_name(limit)}{by_hand}: {limit.limit_text}"


def _blank_legend(limit: StepLimit) -> str:
    when = "as this step asks" if limit.step.blank_required else "if it was checked"
    return f"the rig blanked before it, {when}"


def _blank_fields() -> Fields:
    return {ask.part: field_of(ask, {}) for ask in BLANK_ASKS}


class _MappingForm(ShopForm):
    """Which column is the time, the pressure and what else is needed; what is left open is proposed."""

    time = forms.TypedChoiceField(label="Time is in", coerce=int, required=False, empty_value=None)
    time_unit = forms.ChoiceField(label="Unit of the time", required=False)
    pressure = forms.TypedChoiceField(label="Pressure is in", coerce=int, required=False, empty_value=None)
    pressure_unit = forms.ChoiceField(label="Unit of the pressure", required=False)
    channel = forms.TypedChoiceField(coerce=int, required=False, empty_value=None)

    def __init__(
        self,
        *args: Any,
        limit: StepLimit,
        columns: Sequence[tuple[int, str]] = COLUMNS,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, prefix=f"r{limit.pk}", **kwargs)
        way = way_of(limit)
        quantity, _unit = way.channel(limit)
        self.fields["channel"].label = f"{quantity.capitalize()} is in"
        if quantity == "pressure":
            del self.fields["channel"]
        elif not way.needs_pressure:
            del self.fields["pressure"], self.fields["pressure_unit"]
        self._offer("time_unit", [(unit, unit) for unit in TIME_UNITS])
        self._offer("pressure_unit", [(unit, unit) for unit in PRESSURE_UNITS])
        self.offer(columns)

    @property
    def column_fields(self) -> list[forms.BoundField]:
        """The fields that say which column is which."""
        return [self[name] for name in MAPPED if name in self.fields]

    def offer(self, columns: Sequence[tuple[int, str]]) -> None:
        """Offer the columns of a file for time, pressure and channel."""
        for name in ("time", "pressure", "channel"):
            self._offer(name, columns)

    def _offer(self, name: str, choices: Sequence[tuple[Any, str]]) -> None:
        field = self.fields.get(name)
        if field is None:
            return
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
            channel_column=data.get("channel"),
        )
        return None if chosen == TraceMapping() else chosen


class UploadForm(_MappingForm):
    """A logger file with the instrument that wrote it."""

    file = forms.FileField(
        label="Logger file", widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.dat,text/*"})
    )
    field_order = ["file", "instrument"]

    def __init__(self, *args: Any, limit: StepLimit, states: Mapping[int, str], **kwargs: Any) -> None:
        asked = {
            ask.part: field_of(ask, states) for ask in way_of(limit).asks(limit) if ask.kind == INSTRUMENT
        }
        self.base_fields = {**type(self).base_fields, **asked}  # type: ignore[misc]
        # Ids of its own: the same reading is asked for by hand on the same page.
        super().__init__(*args, limit=limit, auto_id="of_file_%s", **kwargs)


class ChoicesForm(_MappingForm):
    """Window and columns of a logger file that is shown for confirmation, the blanked rig, the oil.

    Its fields go with the form that records the step, so that nothing typed is lost where no script runs;
    the script of the chart takes them out of it, since it asks for the verdict after each change.
    """

    file = forms.IntegerField(widget=forms.HiddenInput)
    start = number_field("Window from", unit="s", required=False)
    end = number_field("Window to", unit="s", required=False)
    field_order = ["file", "start", "end"]

    def __init__(
        self,
        *args: Any,
        limit: StepLimit,
        blanks: Sequence[LoggerFile] = (),
        temperatures: Sequence[tuple[int, str]] = COLUMNS,
        **kwargs: Any,
    ) -> None:
        self.blank_files = {row.pk: row for row in blanks}
        # What changes the verdict as it would be is asked here and not below.
        if way_of(limit).takes_blank:
            check = ["blank_file", *(ask.part for ask in BLANK_ASKS)]
            file = {"blank_file": self._blank_file(blanks)}
            thermal = thermal_fields(temperatures) if temperatures else {}
            groups = [(_blank_legend(limit).capitalize(), check), (LEGEND, list(thermal))]
            self.groups = [group for group in groups if group[1]]  # type: ignore[misc]
            self.base_fields = {**type(self).base_fields, **thermal, **file, **_blank_fields()}  # type: ignore[misc]
        super().__init__(*args, limit=limit, **kwargs)
        for field in self.fields.values():
            field.widget.attrs["form"] = RECORD_FORM

    def _blank_file(self, blanks: Sequence[LoggerFile]) -> forms.Field:
        field = forms.TypedChoiceField(
            label="Blanked rig, from a file handed in before",
            choices=[
                ("", "none: pressures and time below"),
                *((row.pk, f"{row.file}, {localtime(row.at):%d %b %Y, %H:%M}") for row in blanks),
            ],
            coerce=int,
            required=False,
            empty_value=None,
        )
        field.help_text = "Hand in the file of the blanked rig first, then that of the hold."
        return field

    def clean(self) -> dict[str, Any]:
        """Refuse a check of the blanked rig, and a temperature, with figures missing."""
        cleaned = super().clean() or self.cleaned_data
        self.blank: BlankEntry | None = None
        self.thermal: ThermalEntry | None = None
        try:
            file = self.blank_files.get(cleaned.get("blank_file") or 0)
            self.blank = blank_entry({**cleaned, "blank_file": file}.get)
            self.thermal = thermal_entry(cleaned)
        except RuleBroken as error:
            for name, text in error.fields.items():
                self.add_error(name, text)
        return cleaned

    def offer_temperatures(self, columns: Sequence[tuple[int, str]]) -> None:
        """Offer the temperatures of a file; where it has none, nothing is asked about the oil."""
        for name in THERMAL if not columns else ():
            self.fields.pop(name, None)
        field = self.fields.get("oil_column")
        if isinstance(field, forms.ChoiceField):
            field.choices = [EMPTY_COLUMN, *columns]

    def typed_values(self) -> dict[str, str]:
        """Return the check of the blanked rig and the temperature as they were typed, by field."""
        asked = ["blank_file", *(ask.part for ask in BLANK_ASKS), *THERMAL]
        typed = {name: self.data.get(self.add_prefix(name), "") for name in asked}
        return {name: str(value) for name, value in typed.items() if value}

    @property
    def choices(self) -> Choices:
        """Window and mapping as chosen; None is proposed."""
        start, end = (self.cleaned_data.get(name) for name in ("start", "end"))
        return Choices(
            mapping=self.mapping,
            start_s=None if start is None else float(start),
            end_s=None if end is None else float(end),
            blank=self.blank,
            thermal=self.thermal,
        )

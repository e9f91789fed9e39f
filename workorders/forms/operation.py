"""The form of rework: what was done, where, with which tool, and what that kind of rework records."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django import forms

from inventory.forms.picking import lot_reason_field
from shop.forms import number_field
from shop.forms.reading import ReadingsForm, reading_field, span_in_inch
from shop.models import FasteningFigure, TypeRevision
from workorders.forms.part_used import LotField, fit_reason_field
from workorders.models import Instrument, Operation, OperationValue
from workorders.services.build import Pieces
from workorders.services.operation_values import GRADES, GRADES_SOURCE, Recorded, Spec, specs_of
from workorders.services.places import Place, kind_of

WHOLE_UNIT = "unit"
PART_ROWS = (1, 2)
Kind = Operation.Kind
RECORDED = [what.value for what in OperationValue.What]
LOCKER_CAUTION = (
    "Clean and dry the threads first. How long it cures is common practice, no source: "
    "the maker’s data sheet decides."
)


def place_value(place: Place | None) -> str:
    """Return the value by which a form names a place."""
    return WHOLE_UNIT if place is None else f"{kind_of(place)}-{place.pk}"


def value_field(spec: Spec) -> forms.Field:
    """Return the field of one value: a grade, a choice, a number with its unit, or words."""
    label = spec.what.label[0].upper() + spec.what.label[1:]
    if spec.is_number:
        return reading_field(label, unit=OperationValue.UNITS[spec.what], required=spec.required, min_value=0)
    choices = OperationValue.WORDS.get(spec.what)
    if choices is None:
        return forms.CharField(label=label, required=spec.required, max_length=120)
    told = GRADES.get(spec.scale, {})
    words = [(value, f"{name}: {told[value]}" if value in told else name) for value, name in choices.choices]
    return forms.ChoiceField(
        label=label,
        required=spec.required,
        choices=[("", "Choose" if spec.required else "not graded" if told else "none"), *words],
        help_text=GRADES_SOURCE if spec.what.endswith("_before") else "",
    )


def _figure_in_words(row: FasteningFigure, inch: bool) -> str:
    """Return a fastening figure as it is chosen, with what a wrench in lbf·ft is set to."""
    also = span_in_inch(low=row.low_nm, high=row.high_nm, unit="N·m") if inch else ""
    return f"{row.title}: {row.torque_text or row.locker_text}{also and f', {also}'}"


class OperationForm(ReadingsForm):
    """Rework of one kind, with up to two lots of parts; without a kind it asks for that first."""

    bench = True
    groups: ClassVar[Sequence[tuple[str, Sequence[str]]]] = (
        ("What it records", [*RECORDED, "locker_lot", "instrument", "fastened_at", "reason"]),
        ("Parts it used", ["lot_1", "quantity_1", "lot_2", "quantity_2", "lot_reason", "fit_reason"]),
    )

    kind = forms.ChoiceField(label="What was done", choices=Operation.Kind.choices, widget=forms.RadioSelect)
    place = forms.ChoiceField(label="Where", widget=forms.RadioSelect)
    tool = forms.CharField(
        label="Tool or machine", max_length=120, help_text="Such as lathe 2 with collet, hone 320 grit."
    )
    note = forms.CharField(
        label="Note", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )
    lot_1 = LotField(label="Lot number", required=False)
    quantity_1 = number_field("Pieces", unit="pieces", places=0, min_value=1, max_digits=4, required=False)
    lot_2 = LotField(label="Second lot number", required=False)
    quantity_2 = number_field("Pieces", unit="pieces", places=0, min_value=1, max_digits=4, required=False)
    lot_reason = lot_reason_field()
    fit_reason = fit_reason_field()

    def __init__(
        self,
        *args: Any,
        places: Sequence[Place],
        revision: TypeRevision,
        kind: str = "",
        signed: bool = False,
        inch: bool = False,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.places = {place_value(place): place for place in places}
        self.specs = specs_of(kind, revision)
        self._offer_places()
        if kind in Kind.values:
            self.fields["kind"].widget = forms.HiddenInput()
            self.initial.setdefault("kind", kind)
        for spec in self.specs:
            self.fields[spec.what.value] = value_field(spec)
        if any(spec.quantity for spec in self.specs):
            self._offer_instruments()
        self.figures: dict[str, FasteningFigure] = {}
        if kind == Kind.FASTENED:
            self._offer_fastening(revision, inch)
        if signed:
            self.fields["why"] = forms.CharField(
                label="Why the build is opened again",
                max_length=200,
                help_text="The build is signed. It is to be signed again after this.",
                error_messages={"required": "This is still empty."},
            )
        self.take_units(inch=inch)

    def _offer_places(self) -> None:
        field = self.fields["place"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(value, str(place)) for value, place in self.places.items()]
        field.choices += [(WHOLE_UNIT, "the whole unit")]

    def _offer_instruments(self) -> None:
        wanted = {spec.quantity for spec in self.specs if spec.quantity}
        self.fields["instrument"] = forms.ModelChoiceField(
            Instrument.objects.filter(quantity__in=wanted, retired=False),
            label="Measured with",
            required=False,
            empty_label="Choose an instrument",
        )

    def _offer_fastening(self, revision: TypeRevision, inch: bool) -> None:
        """Ask for the figure first: it names the place, the torque and the thread locker."""
        rows = revision.fastening_figures.select_related("position", "component", "port")
        self.figures = {str(row.pk): row for row in rows}
        choices = [(key, _figure_in_words(row, inch)) for key, row in self.figures.items()]
        if choices:
            self._offer_figures(choices)
        self.fields["locker_lot"] = LotField(
            label="Lot of the thread locker",
            required=False,
            help_text=f"If the stores keep it in lots; else write the batch. {LOCKER_CAUTION}",
        )
        self.fields["fastened_at"] = forms.DateTimeField(
            label="Fastened at, if not just now",
            required=False,
            widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
            input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S"],
        )
        self.fields["reason"] = forms.CharField(
            label="Why it stands outside the figure",
            required=False,
            max_length=300,
            help_text="Asked only where it is outside. The reason is printed on the certificate.",
        )
        self.order_fields(["kind", "figure", "place", "tool", "note"])

    def _offer_figures(self, choices: list[tuple[str, str]]) -> None:
        self.fields["figure"] = forms.ChoiceField(
            label="Which figure of the type",
            required=False,
            choices=[*choices, ("", "none: something else is fastened")],
            widget=forms.RadioSelect,
        )
        self.fields["place"] = forms.ChoiceField(
            label="Where, if it is none of those figures",
            required=False,
            choices=[
                ("", "where the figure says"),
                *((value, str(place)) for value, place in self.places.items()),
                (WHOLE_UNIT, "the whole unit"),
            ],
        )

    def clean(self) -> dict[str, Any]:
        """Ask for the pieces of each lot named, and for a place where no figure names it."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        for row in PART_ROWS:
            if data.get(f"lot_{row}") and not data.get(f"quantity_{row}") and not self.errors:
                self.add_error(f"quantity_{row}", "How many pieces of this lot?")
        if not self.errors and not data.get("place") and not data.get("figure"):
            self.add_error("place", "Nothing is chosen yet.")
        return data

    @property
    def chosen_figure(self) -> FasteningFigure | None:
        """The figure that was chosen; None for other rework and where none is."""
        return self.figures.get(self.cleaned_data.get("figure", ""))

    @property
    def chosen_place(self) -> Place | None:
        """The place of the figure, or the place chosen; None for the whole unit."""
        figure = self.chosen_figure
        return figure.place if figure else self.places.get(self.cleaned_data["place"])

    @property
    def recorded(self) -> Recorded:
        """What this kind of rework records."""
        data = self.cleaned_data
        given = {spec.what.value: data.get(spec.what.value) for spec in self.specs}
        values: dict[str, float | str] = {
            name: value.strip() if isinstance(value, str) else float(value)
            for name, value in given.items()
            if value not in (None, "")
        }
        return Recorded(
            values=values,
            instrument=data.get("instrument"),
            figure=self.chosen_figure,
            locker_lot=data.get("locker_lot"),
            reason=data.get("reason", ""),
            fastened_at=data.get("fastened_at"),
        )

    @property
    def parts(self) -> list[Pieces]:
        """The lots named, with their pieces."""
        data = self.cleaned_data
        return [
            Pieces(
                data[f"lot_{row}"],
                int(data[f"quantity_{row}"]),
                fit_reason=data.get("fit_reason", ""),
                lot_reason=data.get("lot_reason", ""),
            )
            for row in PART_ROWS
            if data.get(f"lot_{row}")
        ]


class CorrectOperationForm(OperationForm):
    """The same for an operation that stands; its parts are taken back one by one."""

    def __init__(self, *args: Any, operation: Operation, kind: str, **kwargs: Any) -> None:
        super().__init__(*args, kind=kind, initial=initial_of(operation, kind), **kwargs)
        for row in PART_ROWS:
            del self.fields[f"lot_{row}"], self.fields[f"quantity_{row}"]
        del self.fields["fit_reason"], self.fields["lot_reason"]
        if kind == Kind.MASKED and operation.unmasked_at:
            self.fields["unmasked"] = forms.BooleanField(
                label="The masking is off", required=False, initial=True
            )
        self.fields["why"] = forms.CharField(
            label="Why it is corrected",
            max_length=200,
            help_text="What stood here stays in the history, beside this reason.",
            error_messages={"required": "This is still empty."},
        )


def initial_of(row: Operation, kind: str) -> dict[str, Any]:
    """Return what stands in an operation, as its form shows it."""
    shown: dict[str, Any] = {
        "kind": kind,
        "place": place_value(row.place),
        "tool": row.tool,
        "note": row.note,
    }
    for value in row.values.all():
        shown[value.what] = value.words if value.number is None else value.number
    shown |= {
        "instrument": row.instrument_id,
        "figure": str(row.figure_id or ""),
        "locker_lot": row.locker_lot.number if row.locker_lot else "",
        "fastened_at": row.fastened_at,
        "reason": row.reason,
    }
    return shown

"""What each kind of rework records: grades, values, instrument, figure, thread locker; checked and kept."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from math import isfinite

from django.urls import reverse
from django.utils import timezone

from inventory.models import Lot
from inventory.services.stock import refuse_unusable
from shop.errors import RuleBroken
from shop.models import DimensionLimit, FasteningFigure, TypeRevision
from shop.services.writing import Act, keep
from workorders.models import Instrument, Operation, OperationValue, Rebuild
from workorders.models.finding import Grade
from workorders.services.instruments import calibration_state, shop_day
from workorders.services.missing import Missing
from workorders.services.places import row_key

Kind, What, Quantity = Operation.Kind, OperationValue.What, Instrument.Quantity
Values = Mapping[str, float | str]

# The shop's own words for its grades; common practice, no source.
GRADES: Mapping[str, Mapping[str, str]] = {
    "corrosion": {
        Grade.NONE: "bright, or discoloured only",
        Grade.LIGHT: "a film or single spots that wipe or polish off",
        Grade.MODERATE: "spreads over the surface, leaves it rough, no loss felt with the nail",
        Grade.HEAVY: "scales or loss of metal",
    },
    "pitting": {
        Grade.NONE: "none felt with the nail",
        Grade.LIGHT: "single pits, off every sealing surface",
        Grade.MODERATE: "many pits, or one that a seal runs over",
        Grade.HEAVY: "pits that run together, or depth that cannot be worked out",
    },
    "paint": {
        Grade.NONE: "whole",
        Grade.LIGHT: "scratches or chips, sound beside them",
        Grade.MODERATE: "blisters or flakes in places",
        Grade.HEAVY: "bare or loose over most of the surface",
    },
}
GRADES_SOURCE = "Grades are the shop's own: common practice, no source."


@dataclass(frozen=True)
class Spec:
    """One value that a kind of rework records; ``quantity`` is what its instrument measures."""

    what: OperationValue.What
    required: bool = False
    quantity: str = ""
    # A dimension of the type that reads the same: then the value is recorded there.
    dimension: str = ""

    @property
    def is_number(self) -> bool:
        """Whether it is a number with a unit."""
        return self.what in OperationValue.UNITS

    @property
    def scale(self) -> str:
        """The scale of a grade: corrosion, pitting or paint; empty for other values."""
        return self.what.partition("_")[0] if OperationValue.WORDS.get(self.what) is Grade else ""


def _before_after(scale: str, *, required: bool = False) -> tuple[Spec, Spec]:
    return Spec(What(f"{scale}_before"), required), Spec(What(f"{scale}_after"), required)


SURFACE, BORE = DimensionLimit.Quantity.SURFACE, DimensionLimit.Quantity.BORE
PIT_DEPTH = Spec(What.PIT_DEPTH, quantity=Quantity.LENGTH)
SPECS: Mapping[str, tuple[Spec, ...]] = {
    Kind.CLEANED: _before_after("corrosion"),
    Kind.BLASTED: (Spec(What.MEDIUM), *_before_after("corrosion"), *_before_after("paint")),
    Kind.CORROSION_REMOVED: (
        *_before_after("corrosion", required=True),
        *_before_after("pitting"),
        PIT_DEPTH,
    ),
    Kind.MASKED: (Spec(What.MASKED, required=True),),
    Kind.PAINTED: (*_before_after("paint"), Spec(What.PAINT), Spec(What.FILM, quantity=Quantity.LENGTH)),
    Kind.HONED: (
        Spec(What.STONE),
        Spec(What.BORE_BEFORE, quantity=Quantity.LENGTH, dimension=BORE),
        Spec(What.BORE_AFTER, quantity=Quantity.LENGTH, dimension=BORE),
        Spec(What.CROSSHATCH),
    ),
    Kind.POLISHED: (
        Spec(What.GRIT),
        *_before_after("pitting"),
        Spec(What.ROUGHNESS, quantity=Quantity.ROUGHNESS, dimension=SURFACE),
    ),
    Kind.THREAD_REPAIRED: (Spec(What.THREAD, required=True), Spec(What.THREAD_METHOD, required=True)),
    Kind.FASTENED: (
        Spec(What.TORQUE, quantity=Quantity.TORQUE),
        Spec(What.LOCKER),
        Spec(What.LOCKER_BATCH),
    ),
}


def specs_of(kind: str, revision: TypeRevision) -> list[Spec]:
    """Return what a kind of rework records on a type; what the type measures as a dimension is left out."""
    specs = SPECS.get(kind, ())
    if not any(spec.dimension for spec in specs):
        return list(specs)
    measured = {row.quantity for row in revision.dimension_limits.all()}
    return [spec for spec in specs if spec.dimension not in measured]


@dataclass(frozen=True, kw_only=True)
class Recorded:
    """What was recorded with an operation, beside its tool and note."""

    values: Values = field(default_factory=dict)
    instrument: Instrument | None = None
    figure: FasteningFigure | None = None
    locker_lot: Lot | None = None
    reason: str = ""
    fastened_at: datetime | None = None


def set_recorded(act: Act, row: Operation, told: Recorded) -> None:
    """Check what was recorded and set it on an operation that is not kept yet.

    Raises RuleBroken for a value that the kind does not have or lacks, an instrument that does not
    measure it or is out of calibration, a figure of another place, a torque or thread locker
    outside the figure without a reason, and a lot that may not be used.
    """
    _check_values(row, told.values)
    _check_instrument(act, row, told)
    row.instrument = told.instrument
    row.figure, row.within, row.figure_text, row.reason = None, None, "", ""
    row.locker_lot, row.fastened_at = None, None
    if row.kind == Kind.FASTENED:
        _set_fastening(act, row, told)


def keep_values(row: Operation, values: Values) -> None:
    """Keep the values of an operation, each with its history; those that are gone are taken out."""
    stands = {value.what: value for value in row.values.all()}
    for what, value in values.items():
        kept = stands.pop(what, None) or OperationValue(operation=row, what=what)
        words = value if isinstance(value, str) else ""
        number = None if isinstance(value, str) else float(value)
        if kept.pk and (kept.number, kept.words) == (number, words):
            continue
        kept.number, kept.words = number, words
        keep(kept)
    for gone in stands.values():
        gone.delete()


def _check_values(row: Operation, values: Values) -> None:
    specs = {spec.what.value: spec for spec in specs_of(row.kind, row.rebuild.revision)}
    wrong = {name: f"{row.get_kind_display()} has no such value." for name in values if name not in specs}
    for name, spec in specs.items():
        value = values.get(name)
        if value is None and spec.required:
            wrong[name] = "This is still empty."
        elif isinstance(value, str):
            choices = OperationValue.WORDS.get(spec.what)
            if spec.is_number or not value.strip() or (choices and value not in choices.values):
                wrong[name] = "This is not one of its values."
        elif value is not None and not (spec.is_number and isfinite(value) and value >= 0):
            wrong[name] = "Enter a number, 0 or more."
    if wrong:
        raise RuleBroken(fields=wrong)


def _check_instrument(act: Act, row: Operation, told: Recorded) -> None:
    measured = [spec for spec in SPECS.get(row.kind, ()) if spec.quantity and spec.what in told.values]
    instrument = told.instrument
    if not measured:
        if instrument:
            raise RuleBroken(fields={"instrument": "Nothing here was measured with it: leave it empty."})
        return
    if instrument is None:
        raise RuleBroken(fields={"instrument": f"Say what the {measured[0].what.label} was measured with."})
    if instrument.quantity != measured[0].quantity:
        message = f"{instrument} does not measure the {measured[0].what.label}."
        raise RuleBroken(fields={"instrument": message})
    state = calibration_state(instrument, shop_day(act))
    if not state.is_valid:
        message = f"{instrument} is {state.word}. {state.sentence} Take another one."
        raise RuleBroken(fields={"instrument": message})
    for spec in measured:
        _check_range(instrument, spec, float(told.values[spec.what]))


def _check_range(instrument: Instrument, spec: Spec, value: float) -> None:
    unit = OperationValue.UNITS[spec.what]
    if instrument.unit == unit and not instrument.range_low <= value <= instrument.range_high:
        reach = f"{instrument.range_low:g} to {instrument.range_high:g} {unit}"
        message = f"{value:g} {unit} is outside the range of {instrument}, {reach}."
        raise RuleBroken(fields={spec.what.value: message})


def _set_fastening(act: Act, row: Operation, told: Recorded) -> None:
    """Set figure, verdict, thread locker and time of a fastening."""
    torque, locker = told.values.get(What.TORQUE), told.values.get(What.LOCKER)
    if torque is None and locker is None:
        raise RuleBroken(fields={What.TORQUE.value: "Enter the torque reached, or the thread locker."})
    _check_locker(act, told)
    when = told.fastened_at or act.at
    if when > act.at:
        raise RuleBroken(fields={"fastened_at": "It cannot be fastened in the future."})
    if when < row.rebuild.received_at:
        raise RuleBroken(fields={"fastened_at": "The unit was not here yet at that time."})
    row.fastened_at, row.locker_lot = when, told.locker_lot
    if told.figure:
        _judge(row, told.figure, told)


def _check_locker(act: Act, told: Recorded) -> None:
    batch = str(told.values.get(What.LOCKER_BATCH, ""))
    if told.values.get(What.LOCKER) is None:
        if batch or told.locker_lot:
            raise RuleBroken(fields={What.LOCKER.value: "Say which strength the thread locker has."})
        return
    if not batch and told.locker_lot is None:
        message = "Scan the lot of the thread locker, or write the batch from its bottle."
        raise RuleBroken(fields={"locker_lot": message})
    if told.locker_lot:
        try:
            refuse_unusable(told.locker_lot, shop_day(act))
        except RuleBroken as error:
            raise RuleBroken(fields={"locker_lot": error.message}) from error


def _judge(row: Operation, figure: FasteningFigure, told: Recorded) -> None:
    """Compare a fastening with its figure; outside it stands with a reason only."""
    if figure.revision_id != row.rebuild.revision_id:
        raise RuleBroken(fields={"figure": f"{figure} is not a figure of {row.rebuild.revision}."})
    if row_key(figure) != row_key(row):
        raise RuleBroken(fields={"figure": f"{figure} is fastened at {figure.place_name}."})
    torque, locker = told.values.get(What.TORQUE), told.values.get(What.LOCKER)
    if figure.torque_text and torque is None:
        raise RuleBroken(fields={What.TORQUE.value: f"The figure is {figure.torque_text}: enter the torque."})
    if figure.locker and locker is None:
        raise RuleBroken(fields={What.LOCKER.value: f"The figure asks for {figure.locker_text}."})
    against = []
    if figure.torque_text and not figure.within(float(torque or 0)):
        against.append(f"{torque:g} N·m is outside {figure.torque_text}")
    if figure.locker and locker != figure.locker:
        against.append(f"the figure asks for {figure.locker_text}")
    row.figure, row.figure_text, row.within = figure, figure.text[:300], not against
    row.reason = told.reason.strip() if against else ""
    if against and not row.reason:
        message = f"{'; '.join(against)}. Fasten it again, or say why it stands as it is."
        raise RuleBroken(fields={"reason": message[0].upper() + message[1:]})


def missing_rework(rebuild: Rebuild, operations: Iterable[Operation]) -> list[Missing]:
    """Return by name masking that is still on, and required fastenings that are not recorded."""
    rows = list(operations)
    url = reverse("workorders:build", args=[rebuild.pk]) + "#operations"
    found = [
        Missing(str(row.place or "whole unit"), f"masking is still on ({_masked(row)})", url)
        for row in rows
        if row.is_masking_on
    ]
    recorded = {row.figure_id for row in rows}
    required = rebuild.revision.fastening_figures.filter(required=True)
    for figure in required.select_related("position", "component", "port"):
        if figure.pk not in recorded:
            page = reverse("workorders:operation", args=[rebuild.pk])
            url = f"{page}?kind={Kind.FASTENED}&figure={figure.pk}"
            sentence = f"to be fastened ({figure.text}), but nothing is recorded"
            found.append(Missing(figure.title, sentence, url))
    return found


def _masked(row: Operation) -> str:
    return next((value.words for value in row.values.all() if value.what == What.MASKED), "not said what")


def missing_cure(rebuild: Rebuild, *, at: datetime) -> list[Missing]:
    """Return the thread lockers that have not cured at a time; the latest fastening of a figure counts.

    Common practice, no source; the maker's data sheet decides, and the figure carries its hours.
    """
    rows = rebuild.operations.filter(figure__cure_h__isnull=False).select_related(
        "figure__position", "figure__component", "figure__port"
    )
    latest = {row.figure_id: row for row in rows.order_by("fastened_at", "pk")}
    found = []
    for row in latest.values():
        assert row.figure is not None
        assert row.fastened_at is not None
        ready = row.fastened_at + timedelta(hours=row.figure.cure_h or 0)
        if at < ready:
            found.append(Missing(f"thread locker, {row.figure.title}", _curing(row.figure, ready)))
    return found


def _curing(figure: FasteningFigure, ready: datetime) -> str:
    until = timezone.localtime(ready)
    return (
        f"The thread locker of {figure.title} cures {figure.cure_h:g} h, until {until:%d %b %Y, %H:%M}; "
        "no pressure before that"
    )

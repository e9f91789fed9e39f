"""Which column of a logger file is the time and which the pressure: chosen, remembered or proposed."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields, replace
from typing import Any, NoReturn, Self

import numpy as np

from workorders.calc.trace_columns import TraceColumn
from workorders.calc.trace_error import TraceError, listed, sentence
from workorders.calc.trace_proposal import (
    counts_by_one,
    propose_pressure,
    propose_time_column,
    propose_time_unit,
)
from workorders.calc.trace_units import BAR, SECONDS, STAMP, UNKNOWN

TIME_UNITS = tuple(unit for unit in SECONDS if unit != STAMP)
PRESSURE_UNITS = tuple(BAR)


@dataclass(frozen=True, kw_only=True)
class TraceMapping:
    """How the columns of a logger file are read; what is None is proposed from the file.

    Columns count from 0. ``channel_column`` is what a reading needs beside time and pressure, such as
    the position of a stroke or a flow; never proposed here, nor proposed as the pressure once chosen.
    ``shape`` names the columns of the file it was made for; with an empty shape it applies to any file.
    """

    time_column: int | None = None
    time_unit: str | None = None
    pressure_column: int | None = None
    pressure_unit: str | None = None
    channel_column: int | None = None
    shape: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for column in (self.time_column, self.pressure_column, self.channel_column):
            if column is not None and not (isinstance(column, int) and column >= 0):
                raise TraceError(f"A column is a number from 0; got {column!r}.")
        _require_unit("time", self.time_unit, SECONDS)
        _require_unit("pressure", self.pressure_unit, BAR)

    def as_dict(self) -> dict[str, Any]:
        """Return the mapping as plain JSON data, to be remembered for an instrument."""
        plain = asdict(self) | {"shape": list(self.shape)}
        if self.channel_column is None:
            del plain["channel_column"]  # as it was kept before there were such readings
        return plain

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Self:
        """Make a mapping of what `as_dict` gave; raise TraceError where it is something else."""
        known = {field.name for field in fields(cls)}
        if not isinstance(data, Mapping) or set(data) - known:
            raise TraceError(
                "The remembered reading of this instrument's files is not in the form that is used here."
            )
        return cls(**{**data, "shape": tuple(data.get("shape", ()))})

    def fits(self, columns: Sequence[TraceColumn]) -> bool:
        """Whether a file has the columns that this mapping was made for."""
        return not self.shape or self.shape in (_shape(columns), tuple(column.name for column in columns))


def _shape(columns: Sequence[TraceColumn]) -> tuple[str, ...]:
    """Return the names of the columns; one with gaps comes and goes, and is not counted."""
    return tuple(column.name for column in columns if not column.has_gaps)


def complete_mapping(
    *, columns: Sequence[TraceColumn], mapping: TraceMapping
) -> tuple[TraceMapping, list[str]]:
    """Fill what a mapping leaves open with proposals.

    Parameters
    ----------
    columns : sequence of TraceColumn
        The columns of the file.
    mapping : TraceMapping
        What is chosen or remembered; all None for a file never seen.

    Returns
    -------
    tuple
        The mapping with time column and unit, and with pressure column and unit unless no column
        could be a pressure; and the reasons as sentences.

    Raises
    ------
    TraceError
        A chosen column does not exist, or nothing in the file can be a time.
    """
    reasons: list[str] = []
    if not mapping.fits(columns):
        raise TraceError(
            f"The file has the columns {listed([column.name for column in columns])}; "
            f"the chosen reading is for {listed(mapping.shape)}."
        )
    time = _chosen(columns, mapping.time_column) or _time_column(columns, mapping.pressure_column, reasons)
    time_unit = mapping.time_unit or _time_unit(time, reasons)
    if (time.unit == STAMP) != (time_unit == STAMP):
        raise TraceError(
            f"Time stamps have no unit to choose, and other columns need one: {time.label}, {time_unit}."
        )
    channel = _chosen(columns, mapping.channel_column)
    pressure = _chosen(columns, mapping.pressure_column) or _pressure_column(
        [column for column in columns if column not in (time, channel)], reasons
    )
    if channel is time:
        raise TraceError(f"The same column, {time.label}, is chosen as time and as a reading.")
    if pressure is time:
        raise TraceError(f"The same column, {time.label}, is chosen as time and as pressure.")
    pressure_unit = mapping.pressure_unit or (_pressure_unit(pressure, reasons) if pressure else None)
    return replace(
        mapping,
        time_column=time.index,
        time_unit=time_unit,
        pressure_column=pressure.index if pressure else None,
        pressure_unit=pressure_unit,
        shape=_shape(columns),
    ), reasons


def _require_unit(what: str, unit: str | None, known: Mapping[str, float]) -> None:
    if unit is not None and unit not in known:
        raise TraceError(
            f"“{unit}” is no {what} unit known here; choose {', '.join(k for k in known if k != STAMP)}."
        )


def _chosen(columns: Sequence[TraceColumn], index: int | None) -> TraceColumn | None:
    if index is None:
        return None
    for column in columns:
        if column.index == index:
            if column.has_gaps:
                raise TraceError(
                    sentence(f"{column.label} has rows without a reading; choose another column.")
                )
            return column
    raise TraceError(f"The file has no column {index + 1} with numbers.")


def _time_column(columns: Sequence[TraceColumn], taken: int | None, reasons: list[str]) -> TraceColumn:
    named = [column for column in columns if column.quantity == "time" and column.index != taken]
    if named:
        moving = [column for column in named if np.ptp(column.values) > 0] or named
        # An elapsed time in a named unit is finer than a clock's stamp; both beat one without a unit.
        return min(moving, key=lambda column: (column.unit is None, column.unit == STAMP, column.index))
    open_columns = [column for column in columns if column.quantity == UNKNOWN and column.index != taken]
    place = propose_time_column([column.values for column in open_columns])
    if place is None:
        _refuse_without_time(columns)
    column = open_columns[place]
    reasons.append(f"No column is named as the time; {column.label} rises steadily and is taken.")
    if counts_by_one(column.values):
        reasons.append(
            sentence(f"{column.label} rises by one at each row: it may be a running number and no time.")
        )
    return column


def _refuse_without_time(columns: Sequence[TraceColumn]) -> NoReturn:
    counts = [column.label for column in columns if column.quantity == "count"]
    if counts:
        raise TraceError(
            f"The file has a running number ({counts[0]}) and no time; choose a time column and its unit."
        )
    raise TraceError("No column rises steadily from row to row, so none can be the time.")


def _time_unit(column: TraceColumn, reasons: list[str]) -> str:
    if column.quantity == "time" and column.unit in SECONDS:
        return column.unit
    steps = np.diff(column.values)
    rising = steps[steps > 0]
    if not rising.size:
        how = "runs backwards" if steps.min() < 0 else "does not move forward"
        raise TraceError(f"The time in {column.label} {how}.")
    unit = propose_time_unit(median_step=float(np.median(rising)))
    step_s = float(np.median(rising)) * SECONDS[unit]
    unknown = (
        f"“{column.strange_unit}” of {column.label} is no time unit known here" if column.strange_unit else ""
    )
    reasons.append(
        f"{unknown or f'The file names no time unit for {column.label}'}; it is read as {unit}, "
        f"which makes the median step {step_s:.3g} s, the nearest to 0.1 s."
    )
    return unit


def _pressure_column(others: Sequence[TraceColumn], reasons: list[str]) -> TraceColumn | None:
    candidates = [column for column in others if column.quantity == "pressure"]
    named = bool(candidates)
    if not named:
        candidates = [c for c in others if c.quantity == UNKNOWN and not counts_by_one(c.values)]
    proposal = propose_pressure(
        columns=[column.values * BAR.get(column.unit or "", 1.0) for column in candidates],
        labels=[column.label for column in candidates],
    )
    if proposal.column is None:
        return None
    chosen = candidates[proposal.column]
    if not named:
        reasons.append(f"No column is named as the pressure; {chosen.label} is proposed.")
    reasons.extend(proposal.reasons)
    return chosen


def _pressure_unit(column: TraceColumn, reasons: list[str]) -> str:
    if column.unit in BAR:
        return column.unit
    if column.strange_unit or column.unit:
        raise TraceError(
            f"“{column.strange_unit or column.unit}” of {column.label} is no pressure unit known here; "
            f"choose the column and one of {', '.join(PRESSURE_UNITS)}."
        )
    reasons.append(f"The file names no pressure unit for {column.label}; it is read as bar.")
    return "bar"

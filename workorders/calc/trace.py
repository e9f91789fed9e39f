"""Reader for the files that pressure loggers leave behind: bytes in, channels and proposals out."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from workorders.calc.trace_columns import TraceColumn, read_columns, read_plain_columns
from workorders.calc.trace_error import TraceError, sentence
from workorders.calc.trace_mapping import PRESSURE_UNITS, TIME_UNITS, TraceMapping, complete_mapping
from workorders.calc.trace_plain import read_plain
from workorders.calc.trace_proposal import LOWEST_GAUGE_BAR
from workorders.calc.trace_table import read_table
from workorders.calc.trace_text import DEFAULT_MAX_BYTES, read_text
from workorders.calc.trace_units import BAR, SECONDS

__all__ = [
    "DEFAULT_MAX_BYTES",
    "PRESSURE_UNITS",
    "TIME_UNITS",
    "Source",
    "Trace",
    "TraceColumn",
    "TraceError",
    "TraceMapping",
    "read_source",
    "read_trace",
    "trace_of",
]

Floats = npt.NDArray[np.float64]
SHORTEST = 1e-9  # of a whole file, in the unit of its time
LARGEST = 1e20  # above every clock in ns and every pressure in Pa; sums of squares still hold it


@dataclass(frozen=True, kw_only=True, eq=False)
class Trace:
    """A logger file as read.

    ``columns`` are the channels in their own units; ``time_s`` counts from the first sample;
    ``mapping`` says which column is what and can be remembered; ``warnings`` are sentences that
    a person should see before the numbers are trusted.
    """

    columns: tuple[TraceColumn, ...]
    mapping: TraceMapping
    time_s: Floats
    warnings: tuple[str, ...]
    source: "Source"

    @property
    def rows(self) -> int:
        """Number of samples."""
        return int(self.time_s.size)

    @property
    def duration_s(self) -> float:
        """Time from the first sample to the last [s]."""
        return float(self.time_s[-1])

    @property
    def pressure(self) -> TraceColumn | None:
        """The column that is read as the pressure, None where no column could be."""
        return self.column(self.mapping.pressure_column) if self.mapping.pressure_column is not None else None

    @property
    def pressure_bar(self) -> Floats:
        """The pressure of each sample [bar]; raises TraceError where no column is a pressure."""
        if self.pressure is None or self.mapping.pressure_unit is None:
            raise TraceError("The file has no column that could be the pressure; choose one.")
        factor = BAR[self.mapping.pressure_unit]
        return self.pressure.values if factor == 1 else self.pressure.values * factor

    def column(self, index: int) -> TraceColumn:
        """Return the channel in that column of the file, counted from 0."""
        for column in self.columns:
            if column.index == index:
                return column
        raise TraceError(f"The file has no column {index + 1} with numbers.")

    def with_mapping(self, mapping: TraceMapping) -> "Trace":
        """Return the same samples read in another way, without parsing the file again."""
        return _build(self.source, mapping)


@dataclass(frozen=True, kw_only=True, eq=False)
class Source:
    """What the file holds whatever it is taken for: columns, line of each row, warnings."""

    columns: tuple[TraceColumn, ...]
    lines: Sequence[int]
    warnings: tuple[str, ...]


def read_trace(
    *, data: bytes, mapping: TraceMapping | None = None, max_bytes: int = DEFAULT_MAX_BYTES
) -> Trace:
    """Read a logger file as the logger left it.

    Parameters
    ----------
    data : bytes
        The file: tab, semicolon, bar, comma or white space between columns, decimal point or
        comma, thousands marks in any column, headings with or without units or none, a preamble.
    mapping : TraceMapping, optional
        What is known of the columns; what it leaves open is proposed and said in the warnings.
    max_bytes : int
        The largest file taken [bytes].

    Returns
    -------
    Trace
        All channels, time [s] and pressure [bar].

    Raises
    ------
    TraceError
        The file is empty, no text, too large, has one column or fewer than 5 rows, a cell that is
        no number, or a time that runs backwards; or its time or a unit cannot be told.

    Notes
    -----
    Where the file names neither: the time is the column that rises most evenly, its unit the one
    whose median step is nearest 0.1 s (`propose_time_unit`); the pressure is chosen by
    `propose_pressure`, of proportional columns the larger. Equal times in a row are taken, since
    many loggers stamp coarser than they sample; they are said.

    Examples
    --------
    >>> rows = "".join(f"{k / 10:.1f};{7 - k / 1000:.3f}\\n" for k in range(600))
    >>> trace = read_trace(data=("time [s];pressure [bar]\\n" + rows).encode())
    >>> trace.rows, trace.duration_s, trace.mapping.pressure_unit, trace.warnings
    (600, 59.9, 'bar', ())
    """
    return trace_of(source=read_source(data=data, max_bytes=max_bytes), mapping=mapping)


def read_source(*, data: bytes, max_bytes: int = DEFAULT_MAX_BYTES) -> Source:
    """Read the columns of a logger file; `trace_of` makes a trace of them, in one way or another.

    Parameters
    ----------
    data : bytes
        The file as `read_trace` takes it.
    max_bytes : int
        The largest file taken [bytes].

    Returns
    -------
    Source
        Each column in the unit its heading names, the line of each row, and warnings.

    Raises
    ------
    TraceError
        As `read_trace`, save for what the mapping decides.
    """
    text = read_text(data=data, max_bytes=max_bytes)
    plain = read_plain(text)
    found = read_plain_columns(plain) if plain else None
    if plain and found:
        lines: Sequence[int] = plain.lines
        columns, warnings = found[0], [*plain.warnings, *found[1]]
    else:
        table = read_table(text.split("\n"))
        columns, warnings = read_columns(table)
        lines, warnings = table.lines, [*table.warnings, *warnings]
    if len(columns) < 2:
        raise TraceError("The file has one column of numbers; a trace needs a time and a reading.")
    for column in columns:
        _refuse_too_large(column, lines)
    return Source(columns=tuple(columns), lines=lines, warnings=tuple(warnings))


def trace_of(*, source: Source, mapping: TraceMapping | None = None) -> Trace:
    """Take the columns of a file for what a mapping says.

    Parameters
    ----------
    source : Source
        From `read_source`.
    mapping : TraceMapping, optional
        As in `read_trace`.

    Returns
    -------
    Trace
        All channels, time [s] and pressure [bar].

    Raises
    ------
    TraceError
        As `read_trace`, for what the mapping decides.
    """
    return _build(source, mapping or TraceMapping())


def _refuse_too_large(column: TraceColumn, lines: Sequence[int]) -> None:
    """Refuse a number that is no reading, the square of which no sum holds."""
    at = int(np.nanargmax(np.abs(column.values)))
    found = float(column.values[at])
    if abs(found) > LARGEST:
        raise TraceError(f"Line {lines[at]}: {found:g} in {column.label} is too large for a reading.")


def _build(source: Source, mapping: TraceMapping) -> Trace:
    full, reasons = complete_mapping(columns=source.columns, mapping=mapping)
    columns = tuple(_as_mapped(column, full) for column in source.columns)
    time = next(column for column in columns if column.index == full.time_column)
    reasons += _check_time(time, source.lines)
    bare = [column.label for column in columns if column.is_bare_temperature]
    reasons += [sentence(f"The file names no unit for {label}; it is taken as °C.") for label in bare]
    trace = Trace(
        columns=columns,
        mapping=full,
        time_s=(time.values - time.values[0]) * SECONDS[full.time_unit or "s"],
        warnings=(*source.warnings, *reasons),
        source=source,
    )
    if trace.pressure is not None and trace.pressure_bar.min() < LOWEST_GAUGE_BAR:
        lowest = trace.pressure_bar.min()
        below = f"The pressure goes down to {lowest:.3g} bar, below a full vacuum; check column and unit."
        return replace(trace, warnings=(*trace.warnings, below))
    return trace


def _as_mapped(column: TraceColumn, mapping: TraceMapping) -> TraceColumn:
    if column.index == mapping.time_column:
        return replace(column, quantity="time", unit=mapping.time_unit)
    if column.index == mapping.pressure_column:
        return replace(column, quantity="pressure", unit=mapping.pressure_unit)
    return column


def _check_time(time: TraceColumn, lines: Sequence[int]) -> list[str]:
    """Refuse a time that falls or stands still; return a sentence on equal times in a row."""
    steps = np.diff(time.values)
    falls = np.flatnonzero(steps < 0)
    if falls.size:
        at = int(falls[0]) + 1
        before, after = time.values[at - 1], time.values[at]
        raise TraceError(
            f"Line {lines[at]}: time runs backwards in {time.label}, from {before:.12g} to {after:.12g}."
        )
    repeats = int(np.sum(steps == 0))
    if not time.values[-1] - time.values[0] > SHORTEST:
        raise TraceError(f"The time in {time.label} does not move forward.")
    return [f"{repeats} of {steps.size + 1} rows carry the same time as the row before."] if repeats else []

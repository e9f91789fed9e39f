"""The columns of a logger file as numbers, before anything is said about which is which."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from workorders.calc.trace_error import TraceError, listed, sentence
from workorders.calc.trace_numbers import (
    Evidence,
    Marks,
    choose_marks,
    is_date,
    is_gap,
    is_number_like,
    is_stamp,
    sample,
    to_numbers,
    to_seconds,
    weigh,
)
from workorders.calc.trace_plain import PlainTable, plain_values
from workorders.calc.trace_table import Table
from workorders.calc.trace_units import STAMP, Heading

Floats = npt.NDArray[np.float64]
Headings = Sequence[Heading]
MAY_HAVE_GAPS = "temperature"  # slow, and logged more seldom than the pressure beside it
_MARK_NAMES = {".": "dot", ",": "comma"}


@dataclass(frozen=True, kw_only=True, eq=False)
class TraceColumn:
    """One channel of a logger file.

    ``index`` counts the columns of the file from 0; ``header`` is None where there is none;
    ``quantity`` is time, pressure, position, force, temperature, flow, voltage, current, count or
    unknown; ``values`` are in ``unit``, which is None where it is not known; time stamps are
    seconds from the first. A temperature may have gaps, which are no number (NaN); nothing else has any.
    """

    index: int
    header: str | None
    quantity: str
    unit: str | None
    values: Floats
    strange_unit: str | None = None

    @property
    def name(self) -> str:
        """The heading, or ``column 3`` counted from 1 as people do."""
        return self.header or f"column {self.index + 1}"

    @property
    def has_gaps(self) -> bool:
        """Whether some rows have no reading."""
        return self.quantity == MAY_HAVE_GAPS and bool(np.isnan(self.values).any())

    @property
    def is_bare_temperature(self) -> bool:
        """Whether its heading names a temperature and no unit."""
        return self.quantity == MAY_HAVE_GAPS and self.unit is None and not self.strange_unit

    @property
    def readings(self) -> Floats:
        """The values without the gaps, one at least."""
        return self.values[~np.isnan(self.values)] if self.has_gaps else self.values

    @property
    def label(self) -> str:
        """The name for a sentence: ``column 3`` or ``column 3 (Pressure)``."""
        return f"column {self.index + 1}" + (f" ({self.header})" if self.header else "")


def read_columns(table: Table) -> tuple[list[TraceColumn], list[str]]:
    """Convert the cells of a table, column by column.

    Returns
    -------
    tuple
        The columns that hold numbers or time stamps, and warnings as sentences.

    Raises
    ------
    TraceError
        A cell between numbers is none; the message names its line.
    """
    kinds = {k: _kind(sample(table.cells[k])) for k in table.cells.columns}
    for k in kinds:
        if _gaps_fit(table.headings, k) and kinds[k] != "number":
            kinds[k] = _kind([cell for cell in table.cells[k].str.strip() if cell])
    warnings = _text_warnings(table.headings, kinds)
    evidence = {k: weigh(sample(table.cells[k])) for k, kind in kinds.items() if kind == "number"}
    marks: dict[int, Marks] = {}
    columns = []
    for k, kind in kinds.items():
        if kind == "number":
            values, marks[k] = _numbers(table, k, evidence)
        elif kind == "stamp":
            values = to_seconds(table.cells[k])
        else:
            continue
        gaps = _gaps(table, k, values)
        _refuse_gaps(table, k, np.where(gaps, 0.0, values), "time" if kind == "stamp" else "number")
        if gaps.any():
            warnings.append(_gap_warning(table, k, gaps))
        if gaps.all():
            continue
        columns.append(_column(table.headings, k, values, stamped=kind == "stamp"))
    return columns, warnings + _mark_warnings(table.headings, evidence, marks)


def read_plain_columns(table: PlainTable) -> tuple[list[TraceColumn], list[str]] | None:
    """Convert the columns of a plain table as `read_columns` does; None where a cell is no number."""
    kinds = {k: _kind(cells) for k, cells in table.samples.items()}
    evidence = {k: weigh(table.samples[k]) for k, kind in kinds.items() if kind == "number"}
    marks = {
        k: choose_marks(column=found, others_decimal=_others(evidence, k)) for k, found in evidence.items()
    }
    stamps = [k for k, kind in kinds.items() if kind == "stamp"]
    values = plain_values(table, numbers=marks, stamps=stamps)
    if values is None:
        return None
    columns = [_column(table.headings, k, values[k], stamped=k in stamps) for k in sorted(values)]
    warnings = _text_warnings(table.headings, kinds)
    return columns, warnings + _mark_warnings(table.headings, evidence, marks)


def _text_warnings(headings: Headings, kinds: dict[int, str]) -> list[str]:
    return [
        sentence(f"{_label(headings, k)} holds text and is not read.")
        for k, kind in kinds.items()
        if kind == "text"
    ]


def _others(evidence: dict[int, Evidence], k: int) -> frozenset[str]:
    """Return the decimal signs that the columns beside one prove."""
    return frozenset[str]().union(*(found.decimal for other, found in evidence.items() if other != k))


def _kind(cells: list[str]) -> str:
    filled = [cell for cell in cells if cell]
    if not filled:
        return "empty"
    for kind, test in (("stamp", is_stamp), ("date", is_date), ("number", is_number_like)):
        if 2 * sum(map(test, filled)) > len(cells):
            return kind
    return "text"


def _numbers(table: Table, k: int, evidence: dict[int, Evidence]) -> tuple[Floats, Marks]:
    cells = table.cells[k]
    others = _others(evidence, k)
    marks = choose_marks(column=evidence[k], others_decimal=others)
    values = to_numbers(cells=cells, marks=marks)
    failed = np.isnan(values)
    if failed.any():
        # The sample may have missed the few cells that show the marks.
        again = weigh([*sample(cells), *(cell.strip() for cell in cells[failed][:1000])])
        marks = choose_marks(column=again, others_decimal=others)
        values = to_numbers(cells=cells, marks=marks)
    return values, marks


def _gaps_fit(headings: Headings, k: int) -> bool:
    """Whether a column may have rows without a reading: its heading names a temperature."""
    return bool(headings) and headings[k].quantity == MAY_HAVE_GAPS


def _gaps(table: Table, k: int, values: Floats) -> npt.NDArray[np.bool_]:
    """Say in which rows there is no reading, where that is allowed: an empty cell, or a mark for it."""
    gaps = np.isnan(values)
    if not (gaps.any() and _gaps_fit(table.headings, k)):
        return np.zeros(values.size, dtype=np.bool_)
    gaps[gaps] = [not cell or is_gap(cell) for cell in table.cells[k][gaps].str.strip()]
    return gaps


def _gap_warning(table: Table, k: int, gaps: npt.NDArray[np.bool_]) -> str:
    label, missing = _label(table.headings, k), int(gaps.sum())
    if gaps.all():
        return sentence(f"{label} holds no reading and is left out.")
    return sentence(f"{label} has no reading in {missing} of {gaps.size} rows.")


def _refuse_gaps(table: Table, k: int, values: Floats, what_it_is: str) -> None:
    bad = np.flatnonzero(np.isnan(values))
    if not bad.size:
        return
    cell, line = table.cells[k].iloc[bad[0]].strip(), table.lines[bad[0]]
    what = (
        f"“{cell[:30]}” in {_label(table.headings, k)} is no {what_it_is}"
        if cell
        else f"{_label(table.headings, k)} is empty"
    )
    more = f" ({bad.size} such lines)" if bad.size > 1 else ""
    raise TraceError(f"Line {line}: {what}{more}.")


def _column(headings: Headings, k: int, values: Floats, *, stamped: bool) -> TraceColumn:
    heading = headings[k] if headings else Heading(name="")
    return TraceColumn(
        index=k,
        header=heading.name or None,
        quantity="time" if stamped else heading.quantity,
        unit=STAMP if stamped else heading.unit,
        strange_unit=None if stamped else heading.strange_unit,
        values=values,
    )


def _label(headings: Headings, k: int) -> str:
    name = headings[k].name if headings else ""
    return f"column {k + 1}" + (f" ({name})" if name else "")


def _mark_warnings(headings: Headings, evidence: dict[int, Evidence], marks: dict[int, Marks]) -> list[str]:
    """Say where a mark was read as thousands, and where the same mark was read as a decimal beside it."""
    warnings = []
    grouping = {found.thousands for found in marks.values() if found.thousands}
    for mark in sorted(grouping):
        name = _MARK_NAMES[mark]
        grouped = [_label(headings, k) for k, found in marks.items() if found.thousands == mark]
        warnings.append(f"The {name} in {listed(grouped)} is read as a thousands mark.")
        beside = [k for k, found in marks.items() if found.decimal == mark and found.unsure]
        if beside:
            labels = listed([_label(headings, k) for k in beside])
            warnings.append(
                f"The {name} in {labels} is read as the decimal sign, as in {marks[beside[0]].unsure}."
            )
    return warnings

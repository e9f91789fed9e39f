"""The column of a logger file that a reading needs beside time and pressure: a position, or a flow."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from workorders.calc.trace import Trace, TraceColumn, TraceError
from workorders.calc.trace_error import sentence
from workorders.calc.trace_units import conversion

Floats = npt.NDArray[np.float64]


def with_channel(trace: Trace, quantity: str, unit: str) -> tuple[Trace, Floats, float]:
    """Return a trace that names the column of a quantity, its values in a unit, and the factor of them.

    The column is the one chosen, else the only one that its heading names so. One without a unit is
    taken to be in the unit asked for. Raises TraceError with a sentence.
    """
    column = _column(trace, quantity)
    factor = _factor(column, unit)
    mapping = replace(trace.mapping, channel_column=column.index)
    return replace(trace, mapping=mapping), np.asarray(column.values * factor, dtype=np.float64), factor


def _column(trace: Trace, quantity: str) -> TraceColumn:
    chosen = trace.mapping.channel_column
    if chosen is not None:
        return trace.column(chosen)
    named = [column for column in trace.columns if column.quantity == quantity]
    if len(named) != 1:
        found = "no column" if not named else f"{len(named)} columns"
        raise TraceError(f"The file names {found} as the {quantity}; choose which one it is.")
    return named[0]


def _factor(column: TraceColumn, unit: str) -> float:
    if column.unit is None and not column.strange_unit:
        return 1.0
    factor = conversion(unit=column.unit, to=unit) if column.unit else None
    if factor is None:
        raise TraceError(
            f"{sentence(column.label)} is in {column.strange_unit or column.unit}, which does not become "
            f"{unit}; choose another column."
        )
    return factor

"""The temperature in the file of a hold: taken off by the constants of a named oil, or what it may hide."""

from math import inf
from typing import Any

import numpy as np
import numpy.typing as npt

from workorders.calc.hold import EVALUATION, HoldFit
from workorders.calc.temperature import OILS
from workorders.calc.thermal_hold import ThermalHold, hidden_by_warming, hold_at_one_temperature
from workorders.calc.trace import Trace, TraceColumn
from workorders.calc.trace_report import KELVIN
from workorders.services.entries import NOT_THE_OIL, ThermalEntry
from workorders.services.ways.base import Evaluated, Observed, evaluation_of

OIL_CHOICES = (
    ("", "not said"),
    (NOT_THE_OIL, "the temperature is not that of the oil shut in"),
    *((oil, f"take it off, by {oil}") for oil in OILS),
)
CAUTION = (
    "The temperature must be that of the oil shut in: a sensor on the tank or the wall lags behind it. A "
    "hold is better repeated once the temperature has settled."
)


def temperatures(trace: Trace, *, evaluation: int = EVALUATION) -> list[TraceColumn]:
    """Return the columns of a file that are temperatures; before the fifth evaluation the plain ones.

    One without a unit is taken to be in °C, the widest step there is: what it may hide is not made smaller.
    """
    if evaluation < 5:
        return [column for column in trace.columns if column.unit in KELVIN and not column.has_gaps]
    return [column for column in trace.columns if column.unit in KELVIN or column.is_bare_temperature]


def _in_kelvin(column: TraceColumn) -> npt.NDArray[np.float64]:
    return column.values * KELVIN[column.unit or "°C"]


def observed_thermal(entry: ThermalEntry) -> dict[str, Any]:
    """Return what was said of the temperature as it is kept with the reading, as plain data."""
    if entry.oil == NOT_THE_OIL:
        return {"oil": NOT_THE_OIL}
    return {name: value for name, value in vars(entry).items() if value is not None}


def thermal_hold(observed: Observed, evaluated: Evaluated) -> ThermalHold | None:
    """Return the hold at one temperature; None where nothing is taken off.

    Raises ValueError with a sentence where the file has no such temperature.
    """
    told = observed.get("thermal")
    if not told or told["oil"] == NOT_THE_OIL:
        return None
    column = _column(temperatures(evaluated.trace, evaluation=evaluation_of(observed)), told.get("column"))
    return hold_at_one_temperature(
        time_s=evaluated.trace.time_s,
        pressure_bar=evaluated.trace.pressure_bar,
        temperature_c=_in_kelvin(column),
        hold=evaluated.hold,
        oil=told["oil"],
        error_k=told["error_k"],
        volume_ml=told.get("volume_ml"),
        compliance_ml_per_bar=_measured(observed),
    )


def thermal_words(thermal: ThermalHold | None, hold: HoldFit) -> str:
    """Say how a decay was brought to one temperature; empty where it was not."""
    if thermal is None:
        return ""
    return (
        f"{hold.decay_bar_per_min:.4g} bar/min as read; the oil went {thermal.change_k:+.2g} K "
        f"±{thermal.error_k:.2g} K, {thermal.bar_per_k:.3g} bar for each K by the constants of "
        f"{thermal.oil}; at one temperature "
    )


def hidden(observed: Observed, evaluated: Evaluated) -> tuple[float, str]:
    """Return what a temperature that nobody spoke of may add to the pressure [bar/min], and in words.

    Above 0 it may hide a leak, below 0 look like one. Of several temperatures the one that warmed most
    counts; where all cooled, the one that cooled most. What one with long gaps may hide has no end.
    """
    evaluation = evaluation_of(observed)
    if evaluation < 4 or "thermal" in observed:
        return 0.0, ""
    found, gappy = [], []
    for column in temperatures(evaluated.trace, evaluation=evaluation):
        try:
            found.append(_hidden_by(column, evaluated))
        except ValueError:
            gappy.append(column.label)
    if gappy and evaluation >= 5:
        return inf, (
            f"{gappy[0]} has no reading for more than a tenth of the window, so that nobody can tell whether "
            "the oil warmed: hold again with it, or say that it is not the temperature of the oil shut in"
        )
    if not found:
        return 0.0, ""
    warmed = [one for one in found if one[1] > 0]
    change, adds, label = max(warmed or found, key=lambda one: abs(one[1]))
    went = "warmed" if change > 0 else "cooled"
    does = "hide" if change > 0 else "look like"
    return adds, (
        f"{label} {went} by {abs(change):.2g} K, which may {does} up to {abs(adds):.2g} bar/min: say which "
        "oil it is, or hold again once it has settled"
    )


def _hidden_by(column: TraceColumn, evaluated: Evaluated) -> tuple[float, float, str]:
    change, adds = hidden_by_warming(
        time_s=evaluated.trace.time_s,
        temperature_c=_in_kelvin(column),
        hold=evaluated.hold,
    )
    return change, adds, column.label


def _column(known: list[TraceColumn], index: int | None) -> TraceColumn:
    if index is None and len(known) == 1:
        return known[0]
    found = next((column for column in known if column.index == index), None)
    if found is None:
        raise ValueError("choose which column is the temperature of the oil shut in")
    return found


def _measured(observed: Observed) -> float | None:
    """Return the compliance of rig and unit where the check of the blanked rig has it as a figure."""
    value = (observed.get("blank") or {}).get("together_ml_per_bar")
    return None if value is None else float(value)

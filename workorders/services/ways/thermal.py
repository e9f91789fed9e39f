"""The temperature in the file of a hold: taken off by the constants of a named oil, or what it may hide."""

from collections.abc import Iterator
from contextlib import suppress
from typing import Any

from workorders.calc.hold import HoldFit
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


def temperatures(trace: Trace) -> list[TraceColumn]:
    """Return the columns of a file that are temperatures."""
    return [column for column in trace.columns if column.unit in KELVIN]


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
    column = _column(evaluated.trace, told.get("column"))
    return hold_at_one_temperature(
        time_s=evaluated.trace.time_s,
        pressure_bar=evaluated.trace.pressure_bar,
        temperature_c=column.values * KELVIN[column.unit or ""],
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
    counts; where all cooled, the one that cooled most.
    """
    if evaluation_of(observed) < 4 or "thermal" in observed:
        return 0.0, ""
    found = list(_each_hidden(evaluated))
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


def _each_hidden(evaluated: Evaluated) -> Iterator[tuple[float, float, str]]:
    for column in temperatures(evaluated.trace):
        with suppress(ValueError):  # a column with gaps in the window says nothing
            values = column.values * KELVIN[column.unit or ""]
            change, adds = hidden_by_warming(
                time_s=evaluated.trace.time_s, temperature_c=values, hold=evaluated.hold
            )
            yield change, adds, column.label


def _column(trace: Trace, index: int | None) -> TraceColumn:
    known = temperatures(trace)
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

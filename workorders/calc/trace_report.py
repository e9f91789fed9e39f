"""What a logger file says as a hold or as strokes, in figures, without a test around it."""

from math import pi
from typing import Any

import numpy as np

from workorders.calc.hold import HoldFit, evaluate_hold
from workorders.calc.hold_window import HoldWindow, propose_window
from workorders.calc.stroke import StrokeError, evaluate_strokes
from workorders.calc.temperature import OILS, at_one_temperature, bend_by_temperature
from workorders.calc.trace import Trace, TraceColumn, TraceError

KELVIN = {"°C": 1.0, "K": 1.0, "°F": 5 / 9}  # so many K is one of a unit, for differences alone
NEWTON = {"N": 1.0, "daN": 10.0, "kN": 1000.0, "lbf": 4.4482216}  # NIST Special Publication 811
MM = {"mm": 1.0, "µm": 1e-3, "cm": 10.0, "m": 1000.0, "in": 25.4}


def temperature_bend(*, trace: Trace, fit: HoldFit) -> str:
    """Name the temperature where a channel of a file explains why its hold bends.

    Parameters
    ----------
    trace : Trace
        The file as read; every column with a unit of temperature is tried.
    fit : HoldFit
        Its hold.

    Returns
    -------
    str
        Words for the bend with the column; empty where no channel explains it.
    """
    for column in trace.columns:
        if column.unit not in KELVIN or column.has_gaps:
            continue
        words = bend_by_temperature(
            time_s=trace.time_s,
            pressure_bar=trace.pressure_bar,
            temperature_c=column.values * KELVIN[column.unit],
            hold=fit,
        )
        if words:
            return f"{words}, {column.label}"
    return ""


def chosen_window(
    *, trace: Trace, start_s: float | None, end_s: float | None, least_s: float = 0.0
) -> HoldWindow:
    """Take the window that was chosen, or propose one where none was.

    Parameters
    ----------
    trace : Trace
        The file as read.
    start_s, end_s : float or None
        The ends chosen; one left open is that of the file [s].
    least_s : float
        As `workorders.calc.hold_window.propose_window` [s].

    Returns
    -------
    HoldWindow
        The reason is empty where a person chose.

    Raises
    ------
    TraceError
        No column is a pressure.
    """
    if start_s is None and end_s is None:
        return propose_window(time_s=trace.time_s, pressure_bar=trace.pressure_bar, least_s=least_s)
    start = 0.0 if start_s is None else start_s
    return HoldWindow(start_s=start, end_s=trace.duration_s if end_s is None else end_s, reason="")


def hold_report(
    *,
    trace: Trace,
    start_s: float | None = None,
    end_s: float | None = None,
    temperature_column: int | None = None,
    oil: str | None = None,
) -> dict[str, Any]:
    """Evaluate a window of a logger file as a pressure hold.

    Parameters
    ----------
    trace : Trace
        The file as read.
    start_s, end_s : float, optional
        The window; where both are None it is proposed, one of them alone goes to the end of the file [s].
    temperature_column : int, optional
        Place of the oil's temperature, counted from 0 [°C, or its own unit where it names one].
    oil : str, optional
        Key of ``OILS``: the constants by which the pressure is brought to one temperature.

    Returns
    -------
    dict
        Window [s] with its reason, decay and standard errors [bar/min], shape; with both of the
        last two inputs also the corrected decay and the constants it rests on.

    Raises
    ------
    TraceError
        No pressure, no such column, or only one of temperature and oil.
    HoldError
        The window cannot be evaluated.
    """
    if (temperature_column is None) != (oil is None):
        raise TraceError(
            "A correction needs both the temperature's column and the oil; give neither or both."
        )
    window = chosen_window(trace=trace, start_s=start_s, end_s=end_s)
    span = {"start_s": window.start_s, "end_s": window.end_s}
    fit = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar, **span)
    told = {**span, "window": window.reason, **_figures(fit)}
    bend = temperature_bend(trace=trace, fit=fit)
    if bend:
        told["shape"] = bend
    if temperature_column is not None and oil is not None:
        constants = OILS[oil]
        per_k = 10 * constants.modulus_mpa * constants.expansion_per_k
        column = trace.column(temperature_column)
        level = at_one_temperature(
            pressure_bar=trace.pressure_bar,
            temperature_c=column.values * KELVIN.get(column.unit or "°C", 1.0),
            bar_per_k=per_k,
        )
        corrected = evaluate_hold(time_s=trace.time_s, pressure_bar=level, **span)
        told["at_one_temperature"] = {"oil": oil, "bar_per_k": per_k, **_figures(corrected)}
    return told


def _figures(fit: HoldFit) -> dict[str, Any]:
    return {
        "decay_bar_per_min": fit.decay_bar_per_min,
        "independent_error_bar_per_min": fit.standard_error_bar_per_min,
        "standard_error_bar_per_min": fit.correlated_error_bar_per_min,
        "samples": fit.n,
        "effective_samples": fit.effective_n,
        "shape": "straight" if fit.straight else fit.bend,
    }


def stroke_report(
    *,
    trace: Trace,
    position_column: int,
    force_column: int | None = None,
    bore_mm: float | None = None,
) -> list[dict[str, Any]]:
    """Evaluate a logger file as strokes of an unloaded unit, or of a piston behind a load cell.

    Parameters
    ----------
    trace : Trace
        The file as read.
    position_column : int
        Place of the position, counted from 0 [mm, or its own unit where it names one].
    force_column : int, optional
        Place of the force on the rod [N, or its own unit]; with the bore, friction is force over
        area less pressure. Without it the pressure itself moves the piston.
    bore_mm : float, optional
        Bore, above 0; needed with the force [mm].

    Returns
    -------
    list of dict
        Direction, travel [mm], break-away and running pressure [bar], stick-slip index [-].

    Raises
    ------
    TraceError
        No such column, a force without a bore, or no stroke.
    """
    position = _scaled(trace.column(position_column), MM)
    drive = trace.pressure_bar
    if force_column is not None:
        if not (bore_mm and bore_mm > 0):
            raise TraceError("A force needs the bore, above 0 mm, to become a pressure.")
        drive = 10 * _scaled(trace.column(force_column), NEWTON) / (pi / 4 * bore_mm**2) - drive
    try:
        strokes = evaluate_strokes(position_mm=position, drive_bar=drive, signed=force_column is not None)
    except StrokeError as error:
        raise TraceError(str(error)) from error
    return [
        {
            "direction": one.direction,
            "travel_mm": one.travel_mm,
            "break_away_bar": one.break_away_bar,
            "running_bar": one.running_bar,
            "stick_slip": one.stick_slip,
        }
        for one in strokes
    ]


def _scaled(column: TraceColumn, factors: dict[str, float]) -> np.ndarray[Any, np.dtype[np.float64]]:
    return np.asarray(column.values * factors.get(column.unit or "", 1.0), dtype=np.float64)

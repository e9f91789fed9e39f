"""Steady readings and the volumetric efficiency of a power unit."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from shop.models import StepLimit
from workorders.calc import verdict as judging
from workorders.calc.deciding import deciding_reading
from workorders.calc.hold_window import HoldWindow
from workorders.calc.power_unit import steady_mean, volumetric_efficiency
from workorders.calc.steady import SteadyFit, evaluate_steady, propose_steady, steady_uncertainty
from workorders.calc.trace import Trace
from workorders.calc.uncertainty import Gauge
from workorders.models import Instrument
from workorders.services.entries import EfficiencyEntry, Entry, SteadyEntry, TraceEntry
from workorders.services.ways.base import (
    INSTRUMENT,
    NUMBERS,
    Ask,
    Evaluated,
    Judged,
    Observed,
    Part,
    Way,
    gauge_of,
    instrument_ask,
    weightiest,
)
from workorders.services.ways.channels import with_channel

Floats = npt.NDArray[np.float64]
Quantity = Instrument.Quantity
SPEED_INSTRUMENT = "speed_instrument"


class Steady(Way):
    """The mean of readings taken one after the other, which must not swing."""

    takes = (SteadyEntry, TraceEntry)
    from_file = True
    needs_pressure = False

    def asks(self, limit: StepLimit) -> tuple[Ask, ...]:
        """Ask for the readings and the instrument."""
        several = "One, or several taken one after the other, with spaces between."
        return (
            Ask(part="readings", label="Readings", kind=NUMBERS, unit=limit.unit, help=several),
            instrument_ask(limit.quantity, limit.unit),
        )

    def entry(self, limit: StepLimit, part: Part) -> Entry:
        """Return the readings."""
        return SteadyEntry(readings=part("readings"), instrument=part("instrument"))

    def channel(self, limit: StepLimit) -> tuple[str, str]:
        """A file needs the column of the quantity that the limit is about."""
        return (limit.quantity, limit.unit)

    def window(
        self, limit: StepLimit, trace: Trace, start_s: float | None, end_s: float | None
    ) -> HoldWindow:
        """Propose the longest part that stays at its usual level."""
        if start_s is None and end_s is None:
            return propose_steady(time_s=trace.time_s, value=_values(limit, trace)[1])
        return super().window(limit, trace, start_s, end_s)

    def evaluate(
        self, limit: StepLimit, trace: Trace, *, start_s: float, end_s: float, evaluation: int
    ) -> Evaluated:
        """Average the window."""
        trace, values, factor = _values(limit, trace)
        fit = evaluate_steady(
            time_s=trace.time_s, value=values / factor, start_s=start_s, end_s=end_s, factor=factor
        )
        return Evaluated(trace=trace, fit=fit)

    def judge(self, limit: StepLimit, observed: Observed, evaluated: Evaluated | None) -> Judged:
        """Judge the mean; readings that swing are not decided."""
        if evaluated and isinstance(evaluated.fit, SteadyFit):
            return _logged(limit, evaluated.fit, gauge_of(observed["instrument"]))
        readings = [float(value) for value in observed["readings"]]
        gauge = gauge_of(observed["instrument"])
        found = steady_mean(readings=readings, gauge=gauge)
        verdict = judging.judge(
            value=found.mean,
            unit=limit.unit,
            uncertainty=found.uncertainty.expanded,
            lower=limit.lower,
            upper=limit.upper,
        )
        advice = ""
        if verdict.word == judging.NOT_DECIDED:
            repeats = dict(found.uncertainty.parts).get("repeats", 0.0)
            deciding = deciding_reading(
                value=found.mean,
                gauge=gauge,
                lower=limit.lower,
                upper=limit.upper,
                repeats=repeats,
                unit=limit.unit,
            )
            advice = f"; {deciding.sentence}"
        swing = found.swing_pct or 0.0
        many = found.swing_pct is not None
        return Judged(
            verdict=verdict,
            read={INSTRUMENT: readings},
            parts=found.uncertainty.parts,
            words=f"mean of {found.count} readings that swing by {swing:.1f} %: " if many else "",
            advice=advice,
            short="" if found.steady else f"the readings still swing by {swing:.1f} %, more than 5 %",
        )


def _values(limit: StepLimit, trace: Trace) -> tuple[Trace, Floats, float]:
    """Return the readings of a file in the unit of the limit; a pressure is read as that of a hold."""
    if limit.quantity == Quantity.PRESSURE and limit.unit == "bar":
        plain = replace(trace.mapping, channel_column=None)  # one that was remembered is not meant
        return replace(trace, mapping=plain), trace.pressure_bar, 1.0
    return with_channel(trace, limit.quantity, limit.unit)


def _logged(limit: StepLimit, fit: SteadyFit, gauge: Gauge) -> Judged:
    """Judge the mean of a window with the standard error of it and what it drifts."""
    spread = steady_uncertainty(fit=fit, gauge=gauge)
    verdict = judging.judge(
        value=fit.mean,
        unit=limit.unit,
        uncertainty=spread.expanded,
        lower=limit.lower,
        upper=limit.upper,
    )
    advice = weightiest(spread.parts) if verdict.word == judging.NOT_DECIDED else ""
    return Judged(
        verdict=verdict,
        read={INSTRUMENT: [fit.lowest, fit.highest]},
        parts=spread.parts,
        words=f"mean of {fit.n} samples, worth {fit.effective_n:.0f} independent ones, from "
        f"{fit.start_s:.1f} to {fit.end_s:.1f} s, that drift by {fit.drift:.2g} {limit.unit}: ",
        advice=advice,
        short=fit.unsteady,
    )


class Efficiency(Way):
    """Volumetric efficiency: the flow as a share of displacement times speed."""

    takes = (EfficiencyEntry,)

    def asks(self, limit: StepLimit) -> tuple[Ask, ...]:
        """Ask for flow and speed, each with its instrument."""
        return (
            Ask(part="flow_l_min", label="Flow", unit="L/min", least=0),
            instrument_ask(Quantity.FLOW, "L/min", label="Flow meter"),
            Ask(part="speed_rpm", label="Speed under load", unit="1/min", least=1),
            instrument_ask(Quantity.SPEED, "1/min", part=SPEED_INSTRUMENT, label="Speed measured with"),
        )

    def entry(self, limit: StepLimit, part: Part) -> Entry:
        """Return flow and speed."""
        return EfficiencyEntry(
            flow_l_min=float(part("flow_l_min")),
            speed_rpm=float(part("speed_rpm")),
            instrument=part("instrument"),
            speed_instrument=part(SPEED_INSTRUMENT),
        )

    def judge(self, limit: StepLimit, observed: Observed, evaluated: Evaluated | None) -> Judged:
        """Judge the efficiency with the uncertainty of flow, speed and displacement."""
        if limit.displacement_cm3 is None:
            raise ValueError("the plan must give the displacement for each revolution")
        flow, speed = float(observed["flow_l_min"]), float(observed["speed_rpm"])
        found = volumetric_efficiency(
            flow_l_min=flow,
            speed_rpm=speed,
            displacement_cm3=limit.displacement_cm3,
            displacement_error_pct=limit.displacement_error_pct or 0.0,
            flow_gauge=gauge_of(observed["instrument"]),
            speed_gauge=gauge_of(observed[SPEED_INSTRUMENT]),
        )
        verdict = judging.judge(
            value=found.efficiency_pct,
            unit="%",
            uncertainty=found.uncertainty.expanded,
            lower=limit.lower,
            upper=limit.upper,
        )
        above = found.efficiency_pct - found.uncertainty.expanded > 100
        return Judged(
            verdict=verdict,
            read={INSTRUMENT: [flow], SPEED_INSTRUMENT: [speed]},
            parts=found.uncertainty.parts,
            words=f"{flow:g} L/min of {found.theoretical_l_min:.4g} L/min at {speed:g} 1/min: ",
            advice=weightiest(found.uncertainty.parts) if verdict.word == judging.NOT_DECIDED else "",
            short="more than 100 % cannot be: check displacement, speed and meter" if above else "",
        )

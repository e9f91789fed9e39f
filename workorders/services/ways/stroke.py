"""Friction of a stroke, by hand or from a logger file: break-away, running pressure, stick-slip index."""

from shop.models import StepLimit, TestStep
from workorders.calc import verdict as judging
from workorders.calc.deciding import deciding_reading
from workorders.calc.stroke import EXTEND, RETRACT, swing_by_hand
from workorders.calc.stroke_trace import StrokesFit, figure_of, strokes_in
from workorders.calc.trace import Trace
from workorders.calc.uncertainty import Gauge
from workorders.models import Instrument
from workorders.services.entries import Entry, SwingEntry, TraceEntry, ValueEntry
from workorders.services.ways.base import (
    INSTRUMENT,
    Ask,
    Evaluated,
    Judged,
    Observed,
    Part,
    gauge_of,
    instrument_ask,
    weightiest,
)
from workorders.services.ways.channels import with_channel
from workorders.services.ways.plain import Value

PRESSURE = Instrument.Quantity.PRESSURE


class Stroke(Value):
    """A figure of a stroke: a pressure, or how far the running pressure swings as a share of it."""

    takes = (ValueEntry, SwingEntry, TraceEntry)
    from_file = True

    def asks(self, limit: StepLimit) -> tuple[Ask, ...]:
        """Ask for the pressure; for a stick-slip index for the three that it follows from."""
        gauge = instrument_ask(PRESSURE, "bar")
        if limit.figure != StepLimit.Figure.STICK_SLIP:
            label = str(limit.get_figure_display()).capitalize()
            return (Ask(part="value", label=label, unit="bar"), gauge)
        return (
            Ask(part="highest_bar", label="Highest while it runs", unit="bar"),
            Ask(part="lowest_bar", label="Lowest while it runs", unit="bar"),
            Ask(part="running_bar", label="Running pressure", unit="bar", help="In the middle of its swing."),
            gauge,
        )

    def entry(self, limit: StepLimit, part: Part) -> Entry:
        """Return the pressure, or the three of a swing."""
        if limit.figure != StepLimit.Figure.STICK_SLIP:
            return super().entry(limit, part)
        return SwingEntry(
            highest_bar=float(part("highest_bar")),
            lowest_bar=float(part("lowest_bar")),
            running_bar=float(part("running_bar")),
            instrument=part("instrument"),
        )

    def channel(self, limit: StepLimit) -> tuple[str, str]:
        """A file needs the position beside the pressure."""
        return ("position", "mm")

    def evaluate(
        self, limit: StepLimit, trace: Trace, *, start_s: float, end_s: float, evaluation: int
    ) -> Evaluated:
        """Evaluate every whole stroke in the window."""
        trace, position_mm = with_channel(trace, *self.channel(limit))[:2]
        fit = strokes_in(
            time_s=trace.time_s,
            position_mm=position_mm,
            pressure_bar=trace.pressure_bar,
            start_s=start_s,
            end_s=end_s,
        )
        return Evaluated(trace=trace, fit=fit)

    def judge(self, limit: StepLimit, observed: Observed, evaluated: Evaluated | None) -> Judged:
        """Judge the figure with the accuracy of the gauge."""
        if evaluated and isinstance(evaluated.fit, StrokesFit):
            return _logged(limit, evaluated.fit, gauge_of(observed["instrument"]))
        if limit.figure != StepLimit.Figure.STICK_SLIP:
            return super().judge(limit, observed, evaluated)
        if "highest_bar" not in observed:
            raise ValueError("give the highest, the lowest and the running pressure")
        high, low, running = (float(observed[name]) for name in ("highest_bar", "lowest_bar", "running_bar"))
        index, spread = swing_by_hand(
            highest_bar=high, lowest_bar=low, running_bar=running, gauge=gauge_of(observed["instrument"])
        )
        verdict = judging.judge(
            value=index, unit="", uncertainty=spread.expanded, lower=limit.lower, upper=limit.upper
        )
        return Judged(
            verdict=verdict,
            read={INSTRUMENT: [high, low, running]},
            parts=spread.parts,
            words=f"from {low:g} to {high:g} bar about {running:g} bar: ",
            advice=weightiest(spread.parts) if verdict.word == judging.NOT_DECIDED else "",
        )


def _logged(limit: StepLimit, fit: StrokesFit, gauge: Gauge) -> Judged:
    """Judge the strokes of a file; those of one way alone where the step has pressure on one side."""
    way = {TestStep.Side.BORE: EXTEND, TestStep.Side.ROD: RETRACT}.get(TestStep.Side(limit.step.side))
    strokes = tuple(one for one in fit.strokes if way in (None, one.direction))
    value, spread = figure_of(strokes=strokes, figure=limit.figure, gauge=gauge)
    verdict = judging.judge(
        value=value, unit=limit.unit, uncertainty=spread.expanded, lower=limit.lower, upper=limit.upper
    )
    longest = max(one.travel_mm for one in strokes)
    ways = " and ".join(sorted({f"{one.direction}ing" for one in strokes}))
    count = "1 stroke" if len(strokes) == 1 else f"{len(strokes)} strokes"
    advice = ""
    if verdict.word == judging.NOT_DECIDED and limit.figure != StepLimit.Figure.STICK_SLIP:
        repeats = dict(spread.parts).get("repeats", 0.0)
        found = deciding_reading(
            value=value,
            gauge=gauge,
            lower=limit.lower,
            upper=limit.upper,
            repeats=repeats,
            unit=limit.unit,
        )
        advice = f"; {found.sentence}"
    return Judged(
        verdict=verdict,
        read={INSTRUMENT: [fit.lowest, fit.highest]},
        parts=spread.parts,
        words=f"{count} of {longest:.3g} mm {ways}, from {fit.start_s:.1f} to {fit.end_s:.1f} s: ",
        advice=advice,
    )

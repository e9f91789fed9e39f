"""Friction of a stroke read by hand: break-away and running pressure, and the stick-slip index."""

from shop.models import StepLimit
from workorders.calc import verdict as judging
from workorders.calc.stroke import swing_by_hand
from workorders.models import Instrument
from workorders.services.entries import Entry, SwingEntry, ValueEntry
from workorders.services.ways.base import (
    INSTRUMENT,
    Ask,
    Evaluated,
    Judged,
    Observed,
    Part,
    gauge_of,
    instrument_ask,
)
from workorders.services.ways.plain import Value

PRESSURE = Instrument.Quantity.PRESSURE


class Stroke(Value):
    """A figure of a stroke: a pressure, or how far the running pressure swings as a share of it."""

    takes = (ValueEntry, SwingEntry)

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

    def judge(self, limit: StepLimit, observed: Observed, evaluated: Evaluated | None) -> Judged:
        """Judge the figure with the accuracy of the gauge."""
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
        )

"""What every way of judging a reading has: what it asks for, how it is entered, how it is judged."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from shop.models import StepLimit
from workorders.calc.hold import HoldFit
from workorders.calc.hold_window import HoldWindow
from workorders.calc.steady import SteadyFit
from workorders.calc.stroke_trace import StrokesFit
from workorders.calc.trace import Trace, TraceError
from workorders.calc.uncertainty import Gauge
from workorders.calc.verdict import Verdict
from workorders.models import Instrument
from workorders.services.entries import Entry

Observed = Mapping[str, Any]
# Gives what a person typed for one part of a reading, cleaned.
Part = Callable[[str], Any]
NUMBER, NUMBERS, PAIRS, COUNT, TEXT, SEEN, INSTRUMENT = (
    "number",
    "numbers",
    "pairs",
    "count",
    "text",
    "seen",
    "instrument",
)


@dataclass(frozen=True, kw_only=True)
class Ask:
    """One thing that a page asks for a reading.

    ``kind`` is one of NUMBER, NUMBERS (in a row), PAIRS (of numbers), COUNT, TEXT, SEEN (as required
    or not) and INSTRUMENT, which is chosen among those of ``quantity`` and ``unit``.
    """

    part: str
    label: str
    kind: str = NUMBER
    unit: str = ""
    quantity: str = ""
    required: bool = True
    least: float | None = None
    help: str = ""


@dataclass(frozen=True, kw_only=True)
class Evaluated:
    """A logger file as read, and what the window that was chosen gives.

    ``fit`` is the straight line of a hold (a bend that a temperature in the same file explains is named
    so in it), the strokes, or the mean of a steady reading. ``blank`` is the check of the blanked rig before
    a hold, where that was logged too.
    """

    trace: Trace
    fit: HoldFit | StrokesFit | SteadyFit
    blank: "Evaluated | None" = None

    @property
    def hold(self) -> HoldFit:
        """The line of a hold; raises ValueError where the file is no hold."""
        if not isinstance(self.fit, HoldFit):
            raise ValueError("the file was not evaluated as a hold")
        return self.fit


@dataclass(frozen=True, kw_only=True)
class Judged:
    """What a way makes of an observation.

    ``read`` are the readings that each instrument must hold, by its part of the entry. ``parts`` are
    the standard uncertainties by name, in the unit of the verdict. ``words`` come before the sentence
    of the verdict and ``advice`` after it; ``short`` says where a reading that passes falls short of
    what the step asks, and is then not decided.
    """

    verdict: Verdict
    read: Mapping[str, Sequence[float]] = field(default_factory=dict)
    parts: tuple[tuple[str, float], ...] = ()
    words: str = ""
    advice: str = ""
    short: str = ""


class Way:
    """One way of judging; a subclass for each, one instance of it in ``WAYS``."""

    takes: tuple[type[Any], ...] = ()
    from_file = False  # whether a reading may come from a logger file
    needs_pressure = True  # whether a file for it must have one
    takes_blank = False  # whether the check of the blanked rig belongs to it

    def asks(self, limit: StepLimit) -> tuple[Ask, ...]:
        """Return what a page asks for a reading by hand."""
        raise NotImplementedError

    def entry(self, limit: StepLimit, part: Part) -> Entry:
        """Return the entry of what was typed; raises RuleBroken where it cannot be one."""
        raise NotImplementedError

    def instruments(self, limit: StepLimit) -> Mapping[str, tuple[str, str]]:
        """Return quantity and unit of each instrument that the reading needs, by part of the entry."""
        return {ask.part: (ask.quantity, ask.unit) for ask in self.asks(limit) if ask.kind == INSTRUMENT}

    def judge(self, limit: StepLimit, observed: Observed, evaluated: Evaluated | None) -> Judged:
        """Judge what was observed; raises ValueError with a sentence where it cannot be judged."""
        raise NotImplementedError

    def channel(self, limit: StepLimit) -> tuple[str, str]:
        """Return quantity and unit of the column that a file needs beside its time; a pressure by default."""
        return ("pressure", "bar")

    def window(
        self, limit: StepLimit, trace: Trace, start_s: float | None, end_s: float | None
    ) -> HoldWindow:
        """Take the window that was chosen of a file, or propose one where none was."""
        start = 0.0 if start_s is None else start_s
        return HoldWindow(
            start_s=start,
            end_s=trace.duration_s if end_s is None else end_s,
            reason="the whole file" if start_s is None and end_s is None else "",
        )

    def evaluate(
        self, limit: StepLimit, trace: Trace, *, start_s: float, end_s: float, evaluation: int
    ) -> Evaluated:
        """Evaluate a window of a file; raises ValueError with a sentence where it gives no reading."""
        raise TraceError("This reading does not come from a logger file.")

    def shown(self, limit: StepLimit, value: float | None, observed: Observed) -> str:
        """Return the judged value as papers print it, without its unit."""
        return "N/A" if value is None else f"{value:.4g}"


def evaluation_of(observed: Observed) -> int:
    """Return by which evaluation a reading was judged; one without a number by the first."""
    return int(observed.get("evaluation", 1))


def gauge_of(facts: Observed) -> Gauge:
    """Return what the sums need of an instrument, from its facts as they are kept with a reading."""
    full_scale = max(abs(facts["range_low"]), abs(facts["range_high"]))
    accuracy, step = float(facts["accuracy"]), float(facts["resolution"])
    digits = float(facts.get("accuracy_digits", 0)) * step
    stated = facts.get("accuracy_of", "unit")
    if stated == "reading":
        return Gauge(accuracy=digits, share=accuracy / 100, full_scale=full_scale, resolution=step)
    half_width = accuracy / 100 * full_scale if stated == "span" else accuracy
    return Gauge(accuracy=half_width + digits, full_scale=full_scale, resolution=step)


def accuracy_words(facts: Observed) -> str:
    """Say the accuracy of an instrument as it was kept with a reading, as the register says it."""
    names = ("accuracy", "unit", "accuracy_of", "accuracy_digits")
    return Instrument(**{name: facts[name] for name in names if name in facts}).accuracy_text


def weightiest(parts: tuple[tuple[str, float], ...]) -> str:
    """Say which part of an uncertainty weighs most, where no one gauge alone would decide."""
    name, _share = max(parts, key=lambda part: part[1])
    return f"; the {name} weighs most: measure that closer, if the value stays"


def instrument_ask(quantity: str, unit: str, *, part: str = INSTRUMENT, label: str = "Instrument") -> Ask:
    """Return the question for an instrument of one quantity."""
    return Ask(part=part, label=label, kind=INSTRUMENT, quantity=quantity, unit=unit)

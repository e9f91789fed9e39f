"""Ways of judging one number, one count or one observation."""

import math
from typing import Any

from shop.models import StepLimit
from workorders.calc import verdict as judging
from workorders.calc.deciding import deciding_reading
from workorders.calc.uncertainty import reading_uncertainty
from workorders.services.entries import CountEntry, Entry, ValueEntry, WitnessEntry
from workorders.services.ways.base import (
    COUNT,
    INSTRUMENT,
    SEEN,
    Ask,
    Evaluated,
    Judged,
    Observed,
    Part,
    Way,
    evaluation_of,
    gauge_of,
    instrument_ask,
)


class Value(Way):
    """A number that an instrument shows, against its limit."""

    takes: tuple[type[Any], ...] = (ValueEntry,)

    def asks(self, limit: StepLimit) -> tuple[Ask, ...]:
        """Ask for the number and, where the limit has a quantity, for the instrument."""
        number = Ask(part="value", label="Reading", unit=limit.unit)
        return (number, instrument_ask(limit.quantity, limit.unit)) if limit.quantity else (number,)

    def entry(self, limit: StepLimit, part: Part) -> Entry:
        """Return number and instrument."""
        return ValueEntry(value=float(part("value")), instrument=part("instrument"))

    def judge(self, limit: StepLimit, observed: Observed, evaluated: Evaluated | None) -> Judged:
        """Judge the number with accuracy and smallest step of its instrument."""
        value, facts = float(observed["value"]), observed.get("instrument")
        if not facts:
            verdict = judging.judge(
                value=value, unit=limit.unit, uncertainty=0.0, lower=limit.lower, upper=limit.upper
            )
            return Judged(verdict=verdict)
        gauge = gauge_of(facts)
        spread = reading_uncertainty(gauge=gauge, at=value)
        verdict = judging.judge(
            value=value, unit=limit.unit, uncertainty=spread.expanded, lower=limit.lower, upper=limit.upper
        )
        advice = ""
        if verdict.word == judging.NOT_DECIDED and evaluation_of(observed) >= 2:
            found = deciding_reading(
                value=value, gauge=gauge, lower=limit.lower, upper=limit.upper, unit=limit.unit
            )
            advice = f"; {found.sentence}"
        return Judged(verdict=verdict, read={INSTRUMENT: [value]}, parts=spread.parts, advice=advice)


class Recorded(Value):
    """A number that an instrument shows, kept beside; it has no limit and decides nothing."""

    def judge(self, limit: StepLimit, observed: Observed, evaluated: Evaluated | None) -> Judged:
        """Keep the number with its uncertainty."""
        value, facts = float(observed["value"]), observed.get("instrument")
        parts = reading_uncertainty(gauge=gauge_of(facts), at=value) if facts else None
        verdict = judging.record_reading(
            value=value, unit=limit.unit, uncertainty=parts.expanded if parts else 0.0
        )
        return Judged(verdict=verdict, read={INSTRUMENT: [value]}, parts=parts.parts if parts else ())


class Count(Way):
    """A number counted, against its limit."""

    takes = (CountEntry,)

    def asks(self, limit: StepLimit) -> tuple[Ask, ...]:
        """Ask for the count."""
        label = f"Counted, {limit.unit}" if limit.unit else "Counted"
        return (Ask(part="count", label=label, kind=COUNT),)

    def entry(self, limit: StepLimit, part: Part) -> Entry:
        """Return the count."""
        return CountEntry(count=part("count"))

    def judge(self, limit: StepLimit, observed: Observed, evaluated: Evaluated | None) -> Judged:
        """Judge the count against the limit rounded to what a count can meet."""
        lower = None if limit.lower is None else math.ceil(limit.lower)
        upper = None if limit.upper is None else math.floor(limit.upper)
        verdict = judging.judge_count(count=observed["count"], lower=lower, upper=upper)
        return Judged(verdict=verdict)


class Witness(Way):
    """An observation: as required, or not."""

    takes = (WitnessEntry,)

    def asks(self, limit: StepLimit) -> tuple[Ask, ...]:
        """Ask what was seen, and how many where that was counted."""
        needs = "A witnessed observation needs a count, a photo or a note."
        return (
            Ask(part="as_required", label="Seen", kind=SEEN),
            Ask(part="count", label="Counted", kind=COUNT, required=False, help=needs),
        )

    def entry(self, limit: StepLimit, part: Part) -> Entry:
        """Return what was seen."""
        return WitnessEntry(as_required=part("as_required"), count=part("count"))

    def judge(self, limit: StepLimit, observed: Observed, evaluated: Evaluated | None) -> Judged:
        """Judge by what was seen alone."""
        verdict = judging.judge_witness(as_required=observed["as_required"], what=limit.reading)
        counted = observed.get("count")
        return Judged(verdict=verdict, words="" if counted is None else f"{counted} counted; ")

    def shown(self, limit: StepLimit, value: float | None, observed: Observed) -> str:
        """Return the observation in words."""
        return "as required" if value else "not as required"

"""The decay of a hold, from a logger file or read by hand, with the check of the blanked rig."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from shop.calc.parameters import InputError
from shop.errors import RuleBroken
from shop.models import StepLimit
from workorders.calc import verdict as judging
from workorders.calc.blank import Blank, Compliance, blank_check, logged_blank
from workorders.calc.deciding import deciding_hold
from workorders.calc.hold import HoldFit, evaluate_hold
from workorders.calc.hold_window import HoldWindow
from workorders.calc.rig import rig_compliance
from workorders.calc.thermal_hold import ThermalHold
from workorders.calc.trace import Trace
from workorders.calc.trace_report import chosen_window, temperature_bend
from workorders.calc.uncertainty import Gauge, HandHold, Uncertainty, hand_hold, slope_uncertainty
from workorders.models import Instrument
from workorders.services.entries import BlankEntry, Entry, HandHoldEntry, TraceEntry
from workorders.services.ways.base import (
    INSTRUMENT,
    PAIRS,
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
from workorders.services.ways.thermal import hidden, thermal_hold, thermal_words

DECAY_UNIT = "bar/min"
BLANK_ASKS: tuple[Ask, ...] = (
    Ask(part="blank_start_bar", label="Blanked rig, pressure at the start", unit="bar", required=False),
    Ask(part="blank_end_bar", label="Blanked rig, pressure at the end", unit="bar", required=False),
    Ask(part="blank_duration_s", label="Time between", unit="s", least=1, required=False),
    Ask(
        part="blank_rig_ml_per_bar",
        label="Compliance of the blanked rig",
        unit="mL/bar",
        least=0,
        required=False,
    ),
    Ask(
        part="blank_rig_expanded_ml_per_bar",
        label="Its uncertainty, ± (k = 2)",
        unit="mL/bar",
        least=0,
        required=False,
        help="10 % of it where you leave this empty.",
    ),
    Ask(
        part="blank_together_ml_per_bar",
        label="Compliance of rig and unit",
        unit="mL/bar",
        least=0,
        required=False,
    ),
    Ask(
        part="blank_together_expanded_ml_per_bar",
        label="Its uncertainty, ± (k = 2)",
        unit="mL/bar",
        least=0,
        required=False,
        help="10 % of it where you leave this empty.",
    ),
    Ask(
        part="blank_rig_withdrawn",
        label="Or let out of the blanked rig: mL and bar then",
        kind=PAIRS,
        required=False,
        help="Three pairs or more, such as 0 200; 0.5 178; 1.0 157. Its compliance follows from them.",
    ),
    Ask(
        part="blank_together_withdrawn",
        label="Or let out of rig and unit: mL and bar then",
        kind=PAIRS,
        required=False,
        help="As above, with the unit on.",
    ),
    Ask(
        part="blank_meter_error_ml",
        label="Largest error of what was let out, ±",
        unit="mL",
        least=0,
        required=False,
    ),
)


class Hold(Way):
    """A hold, judged by the decay of its pressure."""

    takes = (HandHoldEntry, TraceEntry)
    from_file = takes_blank = True

    def asks(self, limit: StepLimit) -> tuple[Ask, ...]:
        """Ask for the pressure at both ends, the time between and the gauge."""
        return (
            Ask(part="start_bar", label="Pressure at the start", unit="bar"),
            Ask(part="end_bar", label="Pressure at the end", unit="bar"),
            Ask(part="duration_s", label="Time between", unit="s", least=1),
            instrument_ask(Instrument.Quantity.PRESSURE, "bar"),
        )

    def entry(self, limit: StepLimit, part: Part) -> Entry:
        """Return the hold read by hand, with the check of the blanked rig."""
        return HandHoldEntry(
            start_bar=float(part("start_bar")),
            end_bar=float(part("end_bar")),
            duration_s=float(part("duration_s")),
            instrument=part("instrument"),
            blank=blank_entry(part),
        )

    def window(
        self, limit: StepLimit, trace: Trace, start_s: float | None, end_s: float | None
    ) -> HoldWindow:
        """Propose what comes after the supply is shut and the pressure has settled."""
        return chosen_window(trace=trace, start_s=start_s, end_s=end_s, least_s=limit.step.hold_s or 0.0)

    def evaluate(
        self, limit: StepLimit, trace: Trace, *, start_s: float, end_s: float, evaluation: int
    ) -> Evaluated:
        """Fit the line through the window, and name a bend that a temperature explains."""
        fit = evaluate_hold(
            time_s=trace.time_s, pressure_bar=trace.pressure_bar, start_s=start_s, end_s=end_s
        )
        named = "" if evaluation < 2 else temperature_bend(trace=trace, fit=fit)
        return Evaluated(trace=trace, fit=replace(fit, bend=named) if named else fit)

    def judge(self, limit: StepLimit, observed: Observed, evaluated: Evaluated | None) -> Judged:
        """Judge the decay, that of the blanked rig taken off, over the hold that the step asks for."""
        facts = observed.get("instrument")
        if not facts:
            raise ValueError("choose the instrument")
        if limit.upper is None or limit.unit != DECAY_UNIT:
            raise ValueError(
                f"the plan must give a decay at most, in {DECAY_UNIT}; the lead corrects the plan"
            )
        gauge = gauge_of(facts)
        if evaluated:
            return _logged(limit, limit.upper, observed, evaluated, gauge)
        return _by_hand(limit, limit.upper, observed, gauge)


def _logged(limit: StepLimit, upper: float, observed: Observed, evaluated: Evaluated, gauge: Gauge) -> Judged:
    measured, second, few = evaluated.hold, evaluation_of(observed) >= 2, evaluation_of(observed) >= 5
    thermal = thermal_hold(observed, evaluated)
    fit = thermal.hold if thermal else measured
    logged = evaluated.blank.hold if evaluated.blank else None
    blank = _blank(observed, gauge, measured.first_bar, logged)
    verdict = judging.judge_hold(
        hold=measured,
        gauge=gauge,
        limit_bar_per_min=upper,
        correlated=second,
        few=few,
        blank=blank,
        thermal=thermal,
    )
    time, pressure = evaluated.trace.time_s, evaluated.trace.pressure_bar
    inside = pressure[(time >= fit.start_s) & (time <= fit.end_s)]
    worth = f", worth {fit.effective_n:.0f} independent ones," if second else ""
    own = slope_uncertainty(hold=fit, gauge=gauge, correlated=second and fit.straight, few=few)
    short = _short_of_plan(limit, gauge, start_bar=measured.first_bar, duration_s=measured.duration_s)
    adds, may_hide = hidden(observed, evaluated)
    near = verdict.value + adds + verdict.uncertainty > upper if adds > 0 else False
    advice = _thermal_advice(verdict, adds, may_hide, upper)
    if fit.straight and not advice:
        advice = _advice(limit, verdict, observed, thermal or fit, gauge, upper, blank)
    return Judged(
        verdict=verdict,
        read={INSTRUMENT: [float(inside.min()), float(inside.max()), *_blank_read(observed, logged)]},
        parts=(*_parts(own, blank if fit.straight else None), *(thermal.parts if thermal else ())),
        words=f"{fit.n} samples{worth} from {fit.start_s:.1f} to {fit.end_s:.1f} s: "
        f"{thermal_words(thermal, measured)}",
        advice=advice,
        short=" and ".join(one for one in (short, may_hide if near else "") if one),
    )


def _thermal_advice(verdict: judging.Verdict, adds: float, words: str, upper: float) -> str:
    """Say that a hold that fails may fail for oil that cooled; empty where that alone cannot be."""
    looks_so = verdict.word == judging.FAILS and adds < 0
    return f"; {words}" if looks_so and verdict.value + adds - verdict.uncertainty <= upper else ""


def _by_hand(limit: StepLimit, upper: float, observed: Observed, gauge: Gauge) -> Judged:
    start, end, duration = (float(observed[name]) for name in ("start_bar", "end_bar", "duration_s"))
    hold = hand_hold(start_bar=start, end_bar=end, duration_s=duration, gauge=gauge)
    blank = _blank(observed, gauge, start)
    verdict = judging.judge_hand_hold(hold=hold, limit_bar_per_min=upper, blank=blank)
    return Judged(
        verdict=verdict,
        read={INSTRUMENT: [start, end, *_blank_read(observed)]},
        parts=_parts(hold.uncertainty, blank),
        words=f"from {start:g} to {end:g} bar in {duration:g} s: ",
        advice=_advice(limit, verdict, observed, hold, gauge, upper, blank),
        short=_short_of_plan(limit, gauge, start_bar=start, duration_s=duration),
    )


def _parts(own: Uncertainty, blank: Blank | None) -> tuple[tuple[str, float], ...]:
    return (*own.parts, *(blank.parts if blank else ()))


def _advice(
    limit: StepLimit,
    verdict: judging.Verdict,
    observed: Observed,
    hold: HoldFit | HandHold | ThermalHold,
    gauge: Gauge,
    upper: float,
    blank: Blank | None,
) -> str:
    """Say what would decide it; before the third evaluation nothing was said beside a blanked rig.

    No hold shorter than the plan's is advised: it would not pass.
    """
    evaluation = evaluation_of(observed)
    if verdict.word != judging.NOT_DECIDED or evaluation < 2 or (blank and evaluation < 3):
        return ""
    if isinstance(hold, ThermalHold):
        return "; a hold whose temperature has settled first would decide it, if it is long enough"
    found = deciding_hold(
        hold=hold,
        gauge=gauge,
        limit_bar_per_min=upper,
        blank=blank,
        few=evaluation >= 5,
        least_s=limit.step.hold_s or 0.0,
    )
    return f"; {found.sentence}"


def _short_of_plan(limit: StepLimit, gauge: Gauge, *, start_bar: float, duration_s: float) -> str:
    """Say where a hold was shorter, or began lower, than its step asks; empty where it did not.

    A decay measured at another pressure, or too short, says nothing about the plan's hold. The
    start may lie below the plan by the accuracy of the instrument.
    """
    step, short = limit.step, []
    if step.hold_s is not None and duration_s < step.hold_s:
        short.append(f"held {duration_s:.1f} s of the {step.hold_s:g} s that the plan asks for")
    if step.pressure_bar is not None and start_bar + gauge.half_width(start_bar) < step.pressure_bar:
        short.append(f"begun at {start_bar:.4g} bar, below the {step.pressure_bar:g} bar of the plan")
    return " and ".join(short)


def _blank(
    observed: Observed, gauge: Gauge, hold_start_bar: float, logged: HoldFit | None = None
) -> Blank | None:
    """Return the check of the blanked rig before a hold; None where none was recorded."""
    found = observed.get("blank")
    if not found:
        return None
    rig, together = (_compliance(found, name, gauge) for name in ("rig", "together"))
    if logged:
        return logged_blank(
            hold=logged,
            rig=rig,
            together=together,
            gauge=gauge,
            hold_start_bar=hold_start_bar,
            few=evaluation_of(observed) >= 5,
        )
    return blank_check(
        start_bar=found["start_bar"],
        end_bar=found["end_bar"],
        duration_s=found["duration_s"],
        rig_ml_per_bar=rig.ml_per_bar,
        together_ml_per_bar=together.ml_per_bar,
        rig_expanded_ml_per_bar=rig.expanded_ml_per_bar,
        together_expanded_ml_per_bar=together.expanded_ml_per_bar,
        gauge=gauge,
        hold_start_bar=hold_start_bar,
    )


def _compliance(found: Observed, name: str, gauge: Gauge) -> Compliance:
    """Return a compliance as it was given, or as a metered withdrawal gives it."""
    pairs = found.get(f"{name}_withdrawn")
    if not pairs:
        return Compliance(
            ml_per_bar=found[f"{name}_ml_per_bar"],
            expanded_ml_per_bar=found.get(f"{name}_expanded_ml_per_bar"),
        )
    try:
        result = rig_compliance(
            withdrawn_ml=tuple(pair[0] for pair in pairs),
            pressure_bar=tuple(pair[1] for pair in pairs),
            meter_error_ml=found.get("meter_error_ml") or 0.0,
            gauge_error_bar=gauge.half_width(pairs[0][1]),
        )
    except InputError as error:
        raise ValueError(f"what was let out gives no compliance: {error}") from error
    return Compliance(ml_per_bar=result.compliance_ml_per_bar, expanded_ml_per_bar=result.expanded_ml_per_bar)


def _blank_read(observed: Observed, logged: HoldFit | None = None) -> list[float]:
    """Return the pressures of the blanked rig, which the instrument must hold as well."""
    found = observed.get("blank") or {}
    let_out = [pair[1] for name in ("rig", "together") for pair in found.get(f"{name}_withdrawn", ())]
    ends = [logged.first_bar, logged.last_bar] if logged else []
    return ends + [found[name] for name in ("start_bar", "end_bar") if name in found] + let_out


def blank_entry(part: Part) -> BlankEntry | None:
    """Return the check of the blanked rig as typed; None where nothing of it was.

    Raises RuleBroken beside the figure that is missing.
    """
    given: dict[str, Any] = {ask.part.removeprefix("blank_"): part(ask.part) for ask in BLANK_ASKS}
    file, read = part("blank_file"), ("start_bar", "end_bar", "duration_s")
    if not file and all(value in (None, "", ()) for value in given.values()):
        return None
    if file and any(given[name] is not None for name in read):
        raise RuleBroken(fields={"blank_file": "Choose a file, or give pressures and time; not both."})
    missing = [] if file else [name for name in read if given[name] is None]
    for name in ("rig", "together"):
        if given[f"{name}_ml_per_bar"] is None and not given[f"{name}_withdrawn"]:
            missing.append(f"{name}_ml_per_bar")
    if missing:
        message = "Give pressures, time and both compliances of the blanked rig, or none of them."
        raise RuleBroken(fields={f"blank_{missing[0]}": message})
    typed = {name: _plain(value) for name, value in given.items() if value not in (None, "")}
    return BlankEntry(**typed, logger_file=file or None)


def _plain(value: Any) -> Any:
    return value if isinstance(value, tuple) else float(value)


def observed_blank(blank: BlankEntry, logged: Evaluated | None = None) -> dict[str, Any]:
    """Return the check of the blanked rig as it is kept: what was given, and which file, as plain data."""

    def plain(value: Any) -> Any:
        return [list(pair) for pair in value] if isinstance(value, Sequence) else value

    given = {name: value for name, value in vars(blank).items() if name != "logger_file"}
    kept = {name: plain(value) for name, value in given.items() if value not in (None, ())}
    if blank.logger_file and logged:
        kept |= {
            "sha256": blank.logger_file.file.sha256,
            "mapping": logged.trace.mapping.as_dict(),
            "window_start_s": logged.hold.start_s,
            "window_end_s": logged.hold.end_s,
        }
    return kept

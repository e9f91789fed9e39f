"""Verdicts: a value, its limit and its uncertainty give passes, fails or not decided."""

import math
from dataclasses import dataclass, replace

from workorders.calc.blank import Blank
from workorders.calc.hold import S_PER_MIN, HoldFit, is_emptying
from workorders.calc.thermal_hold import ThermalHold
from workorders.calc.uncertainty import Gauge, HandHold, slope_uncertainty

PASSES = "passes"
FAILS = "fails"
NOT_DECIDED = "not decided"
RECORDED = "recorded"

# The one wording of it: pages, sheets, certificates and the sums all print this.
DECISION_RULE = (
    "a reading passes when the value with all of its expanded uncertainty (k = 2, combined after JCGM 100) "
    "lies within the limit, fails when all of it lies outside, and is not decided in between"
)
COUNT_RULE = "a counted observation has no uncertainty: passes when the count lies within the limit"
RECORDED_RULE = "a reading without a limit is kept beside the others and decides nothing"
WITNESS_RULE = "a witnessed observation: passes when it is as required"
MOST_PLACES = 15  # what a number of this kind carries; below that an uncertainty is rounded up
_INSIDE = "the limit lies inside the uncertainty"


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """One of three words, or ``recorded``, with its arithmetic; value and uncertainty are in ``unit``."""

    word: str
    sentence: str
    value: float
    lower: float | None
    upper: float | None
    uncertainty: float
    unit: str
    rule: str


def judge(
    *, value: float, unit: str, uncertainty: float, lower: float | None = None, upper: float | None = None
) -> Verdict:
    """Judge a value against a limit at most, at least, or between two.

    Parameters
    ----------
    value : float
        The result [`unit`].
    unit : str
        Its unit, for the sentence; "" for none.
    uncertainty : float
        Expanded uncertainty, k = 2, 0 or more [`unit`].
    lower, upper : float, optional
        At least and at most [`unit`]; one of them is needed.

    Returns
    -------
    Verdict
        Passes only if the value with its whole uncertainty is within every limit, fails only if
        it is beyond one with its whole uncertainty, else not decided.

    Raises
    ------
    ValueError
        No limit, limits that cross, an uncertainty below 0, or a value that is no number.

    References
    ----------
    JCGM 106:2012, clause 8.3, guarded acceptance and guarded rejection (number from memory).

    Examples
    --------
    >>> judge(value=0.014, unit="bar/min", uncertainty=0.004, upper=0.05).sentence
    '0.0140 bar/min, at most 0.05 bar/min, uncertainty ±0.0040 bar/min: passes'
    """
    _check(value, uncertainty, lower, upper)
    low, high = value - uncertainty, value + uncertainty
    within = (lower is None or _not_above(lower, low)) and (upper is None or _not_above(high, upper))
    beyond = (lower is not None and not _not_above(lower, high)) or (
        upper is not None and not _not_above(low, upper)
    )
    word = PASSES if within else FAILS if beyond else NOT_DECIDED
    end = f"{word}: {_INSIDE}" if word == NOT_DECIDED else word
    sentence = f"{_number(value, unit, uncertainty)}, {_limits(lower, upper, unit)}"
    if uncertainty:
        sentence += f", uncertainty ±{expanded_words(uncertainty=uncertainty, unit=unit)}"
    return Verdict(
        word=word,
        sentence=f"{sentence}: {end}",
        value=value,
        lower=lower,
        upper=upper,
        uncertainty=uncertainty,
        unit=unit,
        rule=DECISION_RULE,
    )


def judge_hold(
    *,
    hold: HoldFit,
    gauge: Gauge,
    limit_bar_per_min: float,
    correlated: bool = True,
    few: bool = True,
    blank: Blank | None = None,
    thermal: ThermalHold | None = None,
) -> Verdict:
    """Judge the decay of a logged hold against its limit.

    Parameters
    ----------
    hold : HoldFit
        From `workorders.calc.hold.evaluate_hold`.
    gauge : Gauge
        The transducer [bar].
    limit_bar_per_min : float
        The most the pressure may fall [bar/min].
    correlated, few : bool
        As `workorders.calc.uncertainty.slope_uncertainty` [-].
    blank : Blank, optional
        Check of the blanked rig, the share of which is taken off a straight hold [bar/min].
    thermal : ThermalHold, optional
        The same hold at one temperature, which is judged in its place [bar/min].

    Returns
    -------
    Verdict
        As `judge`. A trace that is not straight never passes: its slope is no number to trust.
        It fails when it empties and the fall from its first to its last reading is beyond the
        limit by itself; else it is not decided.

    Raises
    ------
    ValueError
        As `judge`.
    """
    # What is alike in the residuals of a bent trace is the bend itself, which the words say.
    if thermal:
        hold = thermal.hold
    alike = correlated and hold.straight
    uncertainty = slope_uncertainty(hold=hold, gauge=gauge, correlated=alike, few=few).expanded
    if thermal:
        uncertainty = math.hypot(uncertainty, thermal.expanded_bar_per_min)
    if hold.straight:
        return _judge_decay(hold.decay_bar_per_min, uncertainty, limit_bar_per_min, blank)
    average = (hold.first_bar - hold.last_bar) / hold.duration_s * S_PER_MIN
    measured = judge(value=average, unit="bar/min", uncertainty=uncertainty, upper=limit_bar_per_min)
    word = FAILS if is_emptying(hold) and measured.word == FAILS else NOT_DECIDED
    sentence = (
        f"not a straight line ({hold.bend}); from {hold.first_bar:.3f} to {hold.last_bar:.3f} bar in "
        f"{hold.duration_s:.1f} s, on average {_number(average, 'bar/min', uncertainty)}, "
        f"{_limits(None, limit_bar_per_min, 'bar/min')}: {word}"
    )
    return Verdict(
        word=word,
        sentence=sentence,
        value=hold.decay_bar_per_min,
        lower=None,
        upper=limit_bar_per_min,
        uncertainty=uncertainty,
        unit="bar/min",
        rule=DECISION_RULE,
    )


def judge_hand_hold(*, hold: HandHold, limit_bar_per_min: float, blank: Blank | None = None) -> Verdict:
    """Judge a hold read by hand at its start and at its end.

    Parameters
    ----------
    hold : HandHold
        From `workorders.calc.uncertainty.hand_hold`.
    limit_bar_per_min : float
        The most the pressure may fall [bar/min].
    blank : Blank, optional
        As `judge_hold` [bar/min].

    Returns
    -------
    Verdict
        As `judge`.

    Raises
    ------
    ValueError
        As `judge`.
    """
    return _judge_decay(hold.decay_bar_per_min, hold.uncertainty.expanded, limit_bar_per_min, blank)


def record_reading(*, value: float, unit: str, uncertainty: float) -> Verdict:
    """Keep a reading that has no limit.

    Parameters
    ----------
    value : float
        As read [`unit`].
    unit : str
        Its unit.
    uncertainty : float
        Expanded uncertainty, k = 2, 0 or more [`unit`].

    Returns
    -------
    Verdict
        Always ``recorded``.

    Raises
    ------
    ValueError
        A value that is no number, or an uncertainty below 0.

    Examples
    --------
    >>> record_reading(value=12.4, unit="V", uncertainty=0.12).sentence
    '12.40 V, uncertainty ±0.12 V: recorded'
    """
    _check(value, uncertainty, None, math.inf)
    spread = f", uncertainty ±{expanded_words(uncertainty=uncertainty, unit=unit)}" if uncertainty else ""
    return Verdict(
        word=RECORDED,
        sentence=f"{_number(value, unit, uncertainty)}{spread}: {RECORDED}",
        value=value,
        lower=None,
        upper=None,
        uncertainty=uncertainty,
        unit=unit,
        rule=RECORDED_RULE,
    )


def judge_count(*, count: int, what: str = "", lower: int | None = None, upper: int | None = None) -> Verdict:
    """Judge a counted observation, such as drips (at most) or strokes (at least).

    Parameters
    ----------
    count : int
        What was counted, 0 or more.
    what : str, optional
        Of what, as the sentence says it: ``drips``; empty where it stands behind what was counted.
    lower, upper : int, optional
        At least and at most; one of them is needed.

    Returns
    -------
    Verdict
        Passes or fails; a count has no uncertainty.

    Raises
    ------
    ValueError
        A count below 0, no limit, or limits that cross.

    Examples
    --------
    >>> judge_count(count=2, what="drips", upper=0).sentence
    '2 drips, at most 0: fails'
    """
    if count < 0:
        raise ValueError(f"count must be 0 or more; got {count}")
    verdict = judge(value=count, unit=what, uncertainty=0.0, lower=lower, upper=upper)
    sentence = verdict.sentence.replace(_limits(lower, upper, what), _limits(lower, upper, ""))
    return Verdict(**{**vars(verdict), "rule": COUNT_RULE, "sentence": sentence})


def judge_witness(*, as_required: bool, what: str) -> Verdict:
    """Judge a witnessed observation.

    Parameters
    ----------
    as_required : bool
        Whether it was seen as required.
    what : str
        What was looked at, as the sentence says it: ``dry outside``.

    Returns
    -------
    Verdict
        Passes or fails; an observation has no uncertainty.
    """
    word = PASSES if as_required else FAILS
    return Verdict(
        word=word,
        sentence=f"{what}: {'seen as required' if as_required else 'not as required'}: {word}",
        value=float(as_required),
        lower=1.0,
        upper=None,
        uncertainty=0.0,
        unit="",
        rule=WITNESS_RULE,
    )


def _judge_decay(decay: float, expanded: float, limit: float, blank: Blank | None) -> Verdict:
    """Judge a decay, that of the rig alone taken off where it was checked."""
    if blank is None:
        return judge(value=decay, unit="bar/min", uncertainty=expanded, upper=limit)
    verdict = judge(
        value=decay - blank.decay_bar_per_min,
        unit="bar/min",
        uncertainty=math.hypot(expanded, blank.expanded_bar_per_min),
        upper=limit,
    )
    words = (
        f"{_number(decay, 'bar/min', expanded)} less {blank.share:.2f} of the blanked rig's "
        f"{_number(blank.hold.decay_bar_per_min, 'bar/min', blank.uncertainty.expanded)}, "
    )
    leak, spread = blank.leak_ml_min(decay=verdict.value, expanded=verdict.uncertainty)
    give_or_take = expanded_words(uncertainty=spread, unit="mL/min")
    words += f"the unit leaks {_number(leak, 'mL/min', spread)} ±{give_or_take}: "
    return replace(verdict, sentence=words + verdict.sentence)


def _check(value: float, uncertainty: float, lower: float | None, upper: float | None) -> None:
    if not math.isfinite(value):
        raise ValueError(f"value must be a number; got {value}")
    if not (math.isfinite(uncertainty) and uncertainty >= 0):
        raise ValueError(f"uncertainty must be 0 or more; got {uncertainty}")
    if lower is None and upper is None:
        raise ValueError("a limit is needed: lower, upper or both")
    if lower is not None and upper is not None and lower > upper:
        raise ValueError(f"lower must not be above upper; got {lower} and {upper}")


def _not_above(small: float, large: float) -> bool:
    """Whether one number is not above another; 0.1 + 0.2 is not above 0.3 for want of a last digit."""
    return small <= large or math.isclose(small, large, rel_tol=1e-12, abs_tol=1e-15)


def _limits(lower: float | None, upper: float | None, unit: str) -> str:
    parts = []
    if lower is not None:
        parts.append(f"at least {_exact(lower, unit)}")
    if upper is not None:
        parts.append(f"at most {_exact(upper, unit)}")
    return " and ".join(parts)


def _exact(value: float, unit: str) -> str:
    return f"{value:.12g} {unit}".rstrip()


def _number(value: float, unit: str, uncertainty: float) -> str:
    """Write a value to the second digit of its uncertainty (JCGM 100, 7.2.6, from memory)."""
    if not uncertainty:
        return _exact(value, unit)
    return f"{value:.{_places(uncertainty)}f} {unit}".rstrip()


def expanded_words(*, uncertainty: float, unit: str) -> str:
    """Write an expanded uncertainty to two digits, never smaller than it is.

    Parameters
    ----------
    uncertainty : float
        Expanded uncertainty, above 0 [unit of the reading]
    unit : str
        Unit of the reading; empty for none [-]

    Returns
    -------
    str
        Number and unit, rounded up [-]

    Raises
    ------
    ValueError
        The uncertainty is not above 0.

    Examples
    --------
    >>> expanded_words(uncertainty=0.7549, unit="bar")
    '0.76 bar'
    """
    if not uncertainty > 0:
        raise ValueError(f"An uncertainty is above 0, not {uncertainty:g}.")
    places = _places(uncertainty)
    return f"{math.ceil(uncertainty * 10**places - 1e-9) / 10**places:.{places}f} {unit}".rstrip()


def _places(uncertainty: float) -> int:
    return min(MOST_PLACES, max(0, 1 - math.floor(math.log10(uncertainty))))

"""Bench sums of verdicts: a reading and a hold with every part of their uncertainty."""

from dataclasses import dataclass
from typing import Annotated

from shop.calc.parameters import InputError, Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result
from workorders.calc.deciding import deciding_hold, deciding_reading
from workorders.calc.hold import S_PER_MIN, HoldFit
from workorders.calc.uncertainty import Gauge, Uncertainty, reading_uncertainty, slope_uncertainty
from workorders.calc.verdict import DECISION_RULE, NOT_DECIDED, judge

Reading = Annotated[float, Number(title="Reading", at_least=-1e9, at_most=1e9)]
AccuracyClass = Annotated[
    float,
    Number(
        title="Accuracy class of the gauge",
        of="%",
        at_least=0.001,
        at_most=20,
        help="the largest error as a share of the end of the scale: 1.0 on a 160 bar gauge is ±1.6 bar",
    ),
]
FullScale = Annotated[float, Number(title="End of the scale", at_least=0.001, at_most=1e9)]
FullScaleBar = Annotated[float, Number(title="End of the scale", of="bar", at_least=0.001, at_most=1e5)]
Resolution = Annotated[
    float, Number(title="Smallest step shown", at_least=0, at_most=1e6, help="0 where it is not known")
]
ResolutionBar = Annotated[
    float,
    Number(title="Smallest step shown", of="bar", at_least=0, at_most=1000, help="0 where it is not known"),
]
Repeats = Annotated[
    float,
    Number(
        title="Standard deviation of the mean of repeated readings",
        at_least=0,
        at_most=1e6,
        help="their standard deviation, divided by the root of their number; 0 for a single reading",
    ),
]
Lower = Annotated[float | None, Number(title="At least", at_least=-1e9, at_most=1e9)]
Upper = Annotated[float | None, Number(title="At most", at_least=-1e9, at_most=1e9)]
Decay = Annotated[
    float,
    Number(title="Decay", of="bar/min", at_least=-1e4, at_most=1e4, help="below 0 where the pressure rises"),
]
DecayLimit = Annotated[float, Number(title="Decay at most", of="bar/min", at_least=0, at_most=1e4)]
Length = Annotated[float, Number(title="Length of the hold", of="s", at_least=1, at_most=86400)]
StandardError = Annotated[
    float,
    Number(
        title="Standard error of the decay",
        of="bar/min",
        at_least=0,
        at_most=1e4,
        help="the one raised for samples that are alike; hold_decay and read_trace give it",
    ),
]

_GUM = "JCGM 100:2008 (GUM), clauses 4.3.7, 5.1.2, 6.2.1 and F.2.2.1 (numbers from memory)"
_RULE = f"decision rule: {DECISION_RULE}; after JCGM 106:2012, clause 8.3 (number from memory)"
_CLASS = "accuracy class as a share of the end of the scale: common practice, no source"
_CALIBRATED = "All of it holds for an instrument in calibration, used within its range, and at rest."


@dataclass(frozen=True, kw_only=True)
class ReadingVerdict(Result):
    """A reading, its uncertainty and what follows."""

    accuracy: Annotated[
        float,
        Figure(title="Largest error of the gauge, ±", formula="accuracy_class_pct / 100 * full_scale"),
    ]
    accuracy_part: Annotated[
        float, Figure(title="Standard uncertainty, accuracy", formula="accuracy / sqrt(3)")
    ]
    resolution_part: Annotated[
        float, Figure(title="Standard uncertainty, smallest step", formula="resolution / sqrt(12)")
    ]
    expanded_uncertainty: Annotated[
        float,
        Figure(
            title="Expanded uncertainty, k = 2",
            formula="2 * sqrt(accuracy_part**2 + resolution_part**2 + repeats**2)",
        ),
    ]
    verdict: Annotated[str, Figure(title="Verdict", how="passes or fails with its whole uncertainty")]
    would_decide: Annotated[
        str,
        Figure(title="What would decide it", how="the accuracy at which the uncertainty ends at the limit"),
    ]


@calculation(
    family="bench",
    title="Verdict on a reading",
    example={
        "reading": 162.0,
        "accuracy_class_pct": 1.0,
        "full_scale": 250.0,
        "resolution": 1.0,
        "lower": 160.0,
    },
    example_source="Derived here: ±2.5 bar and steps of 1 bar come to ±2.9 bar, so 162 bar does not show "
    "160 bar.",
)
def reading_verdict(
    *,
    reading: Reading,
    accuracy_class_pct: AccuracyClass,
    full_scale: FullScale,
    resolution: Resolution = 0.0,
    repeats: Repeats = 0.0,
    lower: Lower = None,
    upper: Upper = None,
) -> ReadingVerdict:
    """Judge a reading against its limits with the uncertainty of gauge, display and repeats.

    Parameters
    ----------
    reading : float
        As read, or the mean of repeated readings, in the unit of the gauge [-].
    accuracy_class_pct : float
        Largest error as a share of the end of the scale, 0.001 to 20 [%].
    full_scale : float
        End of the scale, 0.001 or more, same unit [-].
    resolution : float
        Smallest step shown, 0 or more, same unit [-].
    repeats : float
        Standard deviation of the mean of repeated readings, 0 or more, same unit [-].
    lower, upper : float, optional
        Limits; one of them is needed, same unit [-].

    Returns
    -------
    ReadingVerdict
        Parts and expanded uncertainty [unit of the reading], verdict, what would decide it.

    Raises
    ------
    InputError
        Outside the ranges, without a limit, or with limits that cross.

    Notes
    -----
    The error may be anywhere within its class, and the true value anywhere within half a step
    (rectangular); the parts are combined as the root of the sum of their squares, times 2.

    Validity: an instrument in calibration, used within its range.
    Left out: temperature of the gauge, its place above or below the unit, reading at an angle.

    References
    ----------
    JCGM 100:2008 (GUM), clauses 4.3.7, 5.1.2, 6.2.1 and F.2.2.1; JCGM 106:2012, clause 8.3
    (numbers from memory).

    Examples
    --------
    >>> found = reading_verdict(
    ...     reading=162, accuracy_class_pct=1, full_scale=250, resolution=1, lower=160
    ... )
    >>> round(found.expanded_uncertainty, 2), found.verdict
    (2.94, 'not decided')
    >>> found.would_decide
    'a gauge of ±1.6 would decide it, if the value stays'
    """
    _check_limits(lower, upper)
    gauge = Gauge(
        accuracy=accuracy_class_pct / 100 * full_scale, full_scale=full_scale, resolution=resolution
    )
    parts = dict(reading_uncertainty(gauge=gauge).parts)
    whole = Uncertainty(parts=(*parts.items(), ("repeats", repeats)))
    word = judge(value=reading, unit="", uncertainty=whole.expanded, lower=lower, upper=upper).word
    deciding = deciding_reading(value=reading, gauge=gauge, lower=lower, upper=upper, repeats=repeats)
    return ReadingVerdict(
        accuracy=gauge.accuracy,
        accuracy_part=parts["accuracy"],
        resolution_part=parts["resolution"],
        expanded_uncertainty=whole.expanded,
        verdict=word,
        would_decide=deciding.sentence if word == NOT_DECIDED else "it is decided",
        warnings=(_CALIBRATED,),
        sources=(_GUM, _RULE, _CLASS),
    )


@dataclass(frozen=True, kw_only=True)
class HoldVerdict(Result):
    """A decay, its uncertainty and what follows."""

    drift_bar_per_min: Annotated[
        float,
        Figure(
            title="Standard uncertainty, drift of the gauge",
            of="bar/min",
            formula="accuracy_class_pct / 100 * full_scale_bar / sqrt(3) * 60 / duration_s",
        ),
    ]
    gain_bar_per_min: Annotated[
        float,
        Figure(
            title="Standard uncertainty, gain of the gauge",
            of="bar/min",
            formula="accuracy_class_pct / 100 / sqrt(3) * abs(decay_bar_per_min)",
        ),
    ]
    step_bar_per_min: Annotated[
        float,
        Figure(
            title="Standard uncertainty, smallest step",
            of="bar/min",
            formula="sqrt(2) * resolution_bar / sqrt(12) * 60 / duration_s",
        ),
    ]
    expanded_bar_per_min: Annotated[
        float,
        Figure(
            title="Expanded uncertainty, k = 2",
            of="bar/min",
            formula="2 * sqrt(drift_bar_per_min**2 + gain_bar_per_min**2 + step_bar_per_min**2"
            " + standard_error_bar_per_min**2)",
        ),
    ]
    verdict: Annotated[str, Figure(title="Verdict", how="passes or fails with its whole uncertainty")]
    decided_after_s: Annotated[
        float | None,
        Figure(
            title="Length of hold that would decide it",
            of="s",
            how="where the expanded uncertainty has shrunk to the distance from the limit",
        ),
    ]
    decided_by_bar: Annotated[
        float | None,
        Figure(
            title="Largest error of a gauge that would decide it, ±",
            of="bar",
            how="where the expanded uncertainty has shrunk to the distance from the limit",
        ),
    ]


@calculation(
    family="bench",
    title="Verdict on a hold",
    example={
        "decay_bar_per_min": 0.0433,
        "duration_s": 141.4,
        "limit_bar_per_min": 0.05,
        "accuracy_class_pct": 0.25,
        "full_scale_bar": 16.0,
        "standard_error_bar_per_min": 0.0014,
    },
    example_source="The slow leak of fixtures/traces (logged on a real bench) with a gauge of class 0.25; "
    "derived here: not decided, a hold of seven minutes would decide it.",
)
def hold_verdict(
    *,
    decay_bar_per_min: Decay,
    duration_s: Length,
    limit_bar_per_min: DecayLimit,
    accuracy_class_pct: AccuracyClass,
    full_scale_bar: FullScaleBar,
    resolution_bar: ResolutionBar = 0.0,
    standard_error_bar_per_min: StandardError = 0.0,
) -> HoldVerdict:
    """Judge the decay of a hold, and say how long a hold or how good a gauge would decide it.

    Parameters
    ----------
    decay_bar_per_min : float
        Decay, below 0 where the pressure rises [bar/min].
    duration_s : float
        Length of the hold, 1 to 86400 [s].
    limit_bar_per_min : float
        The most it may fall [bar/min].
    accuracy_class_pct : float
        Largest error as a share of the end of the scale, 0.001 to 20 [%].
    full_scale_bar : float
        End of the scale, 0.001 or more [bar].
    resolution_bar : float
        Smallest step shown, 0 or more [bar].
    standard_error_bar_per_min : float
        Standard error of the decay found by regression, 0 for two readings by hand [bar/min].

    Returns
    -------
    HoldVerdict
        Parts and expanded uncertainty [bar/min], verdict, length [s] and largest error [bar] that
        would decide it; None where it is decided, or where none within a day would.

    Raises
    ------
    InputError
        Outside the ranges.

    Notes
    -----
    What is the same in both readings cancels. For the rest the error may drift by no more than the
    class over the hold, and its gain acts on the decay alone. A longer hold spreads the drift
    over more time; the standard error falls with the power 1.5 of the length, and is taken as that of
    many independent samples (at the bench that of a few is raised by Student's t). It is worth asking
    before a test: put in the decay that is hoped for.

    Validity: a straight hold at one temperature; a trace that bends has no decay to judge.
    Left out: warming and cooling, air, the leak of the rig itself (see hold_leak_rate).

    References
    ----------
    JCGM 100:2008 (GUM), clauses 4.3.7, 5.1.2, 6.2.1 and F.2.2.1; JCGM 106:2012, clause 8.3
    (numbers from memory).

    Examples
    --------
    >>> found = hold_verdict(
    ...     decay_bar_per_min=0.0433,
    ...     duration_s=141.4,
    ...     limit_bar_per_min=0.05,
    ...     accuracy_class_pct=0.25,
    ...     full_scale_bar=16,
    ...     standard_error_bar_per_min=0.0014,
    ... )
    >>> round(found.expanded_bar_per_min, 4), found.verdict, round(found.decided_after_s)
    (0.0198, 'not decided', 415)
    """
    gauge = Gauge(
        accuracy=accuracy_class_pct / 100 * full_scale_bar,
        full_scale=full_scale_bar,
        resolution=resolution_bar,
    )
    hold = _fit(decay_bar_per_min, duration_s, standard_error_bar_per_min)
    whole = slope_uncertainty(hold=hold, gauge=gauge, few=False)
    parts = dict(whole.parts)
    word = judge(
        value=decay_bar_per_min, unit="bar/min", uncertainty=whole.expanded, upper=limit_bar_per_min
    ).word
    deciding = deciding_hold(hold=hold, gauge=gauge, limit_bar_per_min=limit_bar_per_min, few=False)
    open_ = word == NOT_DECIDED
    return HoldVerdict(
        drift_bar_per_min=parts["drift"],
        gain_bar_per_min=parts["gain"],
        step_bar_per_min=parts["resolution"],
        expanded_bar_per_min=whole.expanded,
        verdict=word,
        decided_after_s=deciding.hold_s if open_ else None,
        decided_by_bar=deciding.accuracy if open_ else None,
        warnings=(_CALIBRATED,),
        sources=(_GUM, _RULE, _CLASS),
    )


def _fit(decay: float, duration_s: float, error: float) -> HoldFit:
    """Return a straight hold of which only decay, length and standard error are known."""
    fall = decay * duration_s / S_PER_MIN
    return HoldFit(
        start_s=0.0,
        end_s=duration_s,
        n=2,
        decay_bar_per_min=decay,
        standard_error_bar_per_min=error,
        intercept_bar=0.0,
        r=0.0,
        first_bar=0.0,
        last_bar=-fall,
        departure_bar=0.0,
        straight=True,
        bend="",
    )


def _check_limits(lower: float | None, upper: float | None) -> None:
    if lower is None and upper is None:
        raise InputError("upper", "upper is needed, or lower; got neither")
    if lower is not None and upper is not None and lower > upper:
        raise InputError("lower", f"lower must be at most upper ({upper:g}); got {lower:g}")

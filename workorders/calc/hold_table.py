"""Bench sum of a hold noted by hand or taken from a short table: decay, its errors, straightness."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from shop.calc.parameters import InputError, Number, Numbers
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result
from workorders.calc.hold import MIN_SAMPLES, HoldError, evaluate_hold

Times = Annotated[
    tuple[float, ...],
    Numbers(
        title="Time of each reading",
        fewest=MIN_SAMPLES,
        help="never falling; the file of a logger goes to the command read_trace",
        each=Number(title="Time", of="s", at_least=0, at_most=1e7),
    ),
]
Pressures = Annotated[
    tuple[float, ...],
    Numbers(
        title="Pressure then",
        fewest=MIN_SAMPLES,
        help="one for each time",
        each=Number(title="Pressure", of="bar", at_least=-2, at_most=2000),
    ),
]

_LINE = "least squares; straightness and the names of bends: this project's own rules"
_ZHANG = (
    "samples that are alike: JCGM 100:2008, clause 5.2.2 (number from memory); "
    "Zhang, Metrologia 43 (2006) S276"
)
_BENT = "Not a straight line, so the decay is no number to trust: {bend}."
_WHY = (
    "A steady or straight trace alone is no proof that nothing leaks: warming hides a leak, and the rig "
    "has its own (hold_leak_rate, temperature_corrected_decay)."
)


@dataclass(frozen=True, kw_only=True)
class HoldDecay(Result):
    """A straight line through a hold."""

    decay_bar_per_min: Annotated[
        float, Figure(title="Decay", of="bar/min", how="slope of the line, above 0 where the pressure falls")
    ]
    independent_error_bar_per_min: Annotated[
        float,
        Figure(title="Standard error, samples independent", of="bar/min", how="of the slope, least squares"),
    ]
    effective_samples: Annotated[
        float,
        Figure(
            title="Independent samples worth as much", how="readings / factor of the autocorrelation found"
        ),
    ]
    standard_error_bar_per_min: Annotated[
        float,
        Figure(
            title="Standard error, raised for samples that are alike",
            of="bar/min",
            how="with that many samples in place of the readings",
        ),
    ]
    fall_bar: Annotated[float, Figure(title="Fall of the line over the window", of="bar", how="decay × time")]
    departure_bar: Annotated[
        float,
        Figure(title="Most that a curve leaves the line", of="bar", how="best quadratic against best line"),
    ]
    shape: Annotated[
        str,
        Figure(
            title="It is",
            how="straight, unless the curve leaves the line by a fifth of the fall, clear of the noise",
        ),
    ]


@calculation(
    family="bench",
    title="Decay of a hold",
    example={
        "time_s": (0.0, 30.0, 60.0, 90.0, 120.0, 150.0),
        "pressure_bar": (7.52, 7.5, 7.477, 7.457, 7.433, 7.414),
    },
    example_source="Derived here: 0.107 bar in 150 s, 0.0429 bar/min by least squares.",
)
def hold_decay(*, time_s: Times, pressure_bar: Pressures) -> HoldDecay:
    """Decay of a hold by regression, its standard error, and whether a line fits at all.

    Parameters
    ----------
    time_s : list of float
        Time of each reading, 5 or more, never falling [s].
    pressure_bar : list of float
        Pressure of each reading, as many [bar].

    Returns
    -------
    HoldDecay
        Decay and its standard errors [bar/min], samples worth as much [-], fall of the line and
        departure of a curve from it [bar], shape in words.

    Raises
    ------
    InputError
        Outside the ranges, lists of two lengths, a time that falls, or one time only.

    Notes
    -----
    A bent hold is named: emptying (more than half is lost), settling (faster at the start), quickening
    (faster at the end), turning (falls and rises). With a temperature beside it, read_trace also
    names the temperature where that explains the bend.

    Validity: a window after the supply is shut and the temperature has settled.
    Left out: the gauge's own error (hold_verdict has it), temperature, the leak of the rig.

    References
    ----------
    Least squares; the standard error of the logged traces of fixtures/traces agrees with SciPy. N. F.
    Zhang, Metrologia 43 (2006) S276. The rules for straightness are this project's own.

    Examples
    --------
    >>> found = hold_decay(
    ...     time_s=(0, 30, 60, 90, 120, 150), pressure_bar=(7.52, 7.5, 7.477, 7.457, 7.433, 7.414)
    ... )
    >>> round(found.decay_bar_per_min, 4), found.shape
    (0.0429, 'straight')
    """
    try:
        hold = evaluate_hold(time_s=np.array(time_s), pressure_bar=np.array(pressure_bar))
    except HoldError as error:
        raise InputError(
            "time_s", f"time_s must be a time for each pressure; got no such list: {error}"
        ) from error
    return HoldDecay(
        decay_bar_per_min=hold.decay_bar_per_min,
        independent_error_bar_per_min=hold.standard_error_bar_per_min,
        effective_samples=hold.effective_n,
        standard_error_bar_per_min=hold.correlated_error_bar_per_min,
        fall_bar=hold.fall_bar,
        departure_bar=hold.departure_bar,
        shape="straight" if hold.straight else hold.bend,
        warnings=(*(() if hold.straight else (_BENT.format(bend=hold.bend),)), _WHY),
        sources=(_LINE, _ZHANG),
    )

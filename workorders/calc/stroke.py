"""Friction of a stroke: break-away and running pressure, and how jerkily the piston moves."""

from dataclasses import dataclass
from itertools import pairwise
from math import sqrt
from typing import Annotated, Literal

import numpy as np
import numpy.typing as npt

from shop.calc.parameters import Flag, InputError, Number, Numbers
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result
from workorders.calc.uncertainty import Gauge, Uncertainty, reading_uncertainty

Floats = npt.NDArray[np.float64]
EXTEND: Literal["extend"] = "extend"
RETRACT: Literal["retract"] = "retract"
# Shares of the travel of one stroke: common practice, no source.
REVERSAL, WHOLE = 0.10, 0.50
LEAVING, STARTED = 0.01, 0.10
RUNNING = (0.20, 0.80)
LET_OFF = 0.50  # of the running pressure
FEWEST_RUNNING = 5


class StrokeError(ValueError):
    """No stroke can be told from the trace; the message is a sentence for people."""


@dataclass(frozen=True, kw_only=True)
class Stroke:
    """One stroke; ``break_away_bar`` and ``running_bar`` are pressures along the way it moves.

    ``stick_slip`` is how far the running pressure swings (5th to 95th of a hundred, about its own
    straight trend over the way), as a share of the running pressure; None where that is not above 0.
    """

    direction: str
    first: int
    last: int
    travel_mm: float
    break_away_bar: float
    running_bar: float
    stick_slip: float | None


def evaluate_strokes(*, position_mm: Floats, drive_bar: Floats, signed: bool = False) -> tuple[Stroke, ...]:
    """Break-away and running pressure of every whole stroke in a trace.

    Parameters
    ----------
    position_mm : array
        Position of the piston at each sample, rising as it extends [mm].
    drive_bar : array
        Pressure that moves the piston, less the back pressure, of an unloaded unit [bar].
    signed : bool
        Whether the pressure counts from the bore side, so that it is below 0 where friction is
        overcome on the way in; else it counts along the way of each stroke.

    Returns
    -------
    tuple of Stroke
        In the order of the trace; strokes shorter than half the longest are left out.

    Raises
    ------
    StrokeError
        Arrays that do not match, a value that is no number, or no stroke.

    Notes
    -----
    A stroke ends where the piston turns back by a tenth of the whole travel. Running is the median
    between a fifth and four fifths of the way. Break-away is the highest pressure until a tenth of
    the way is made, from where the pressure rises for this stroke: after the last sample at rest
    (within a hundredth of the travel) that was below half the running pressure. So the pressure of a
    piston that bottomed before does not enter, if it is let off before the way back.

    Examples
    --------
    >>> import numpy as np
    >>> way = np.concatenate([np.zeros(10), np.linspace(0, 100, 101), np.linspace(100, 0, 101)])
    >>> pressure = np.where(way < 0.5, 6.0, 4.0)
    >>> [(one.direction, one.break_away_bar, one.running_bar) for one in evaluate_strokes(
    ...     position_mm=way, drive_bar=pressure)]
    [('extend', 6.0, 4.0), ('retract', 4.0, 4.0)]
    """
    position, drive = np.asarray(position_mm, dtype=np.float64), np.asarray(drive_bar, dtype=np.float64)
    if position.shape != drive.shape or position.ndim != 1:
        raise StrokeError(f"Position and pressure must be as many; got {position.size} and {drive.size}.")
    if not (np.isfinite(position).all() and np.isfinite(drive).all()):
        raise StrokeError("Position and pressure must be numbers throughout.")
    turns = _turns(position)
    spans = list(pairwise(turns))
    longest = max((abs(position[b] - position[a]) for a, b in spans), default=0.0)
    found = [
        _stroke(position, drive, a, b, signed)
        for a, b in spans
        if abs(position[b] - position[a]) >= WHOLE * longest > 0
    ]
    strokes = tuple(one for one in found if one)
    if not strokes:
        raise StrokeError("No stroke with enough samples on its way is found in the position.")
    return strokes


def _turns(position: Floats) -> list[int]:
    """Return the places where the piston turns, with the first and the last extreme."""
    least = REVERSAL * float(np.ptp(position))
    turns: list[int] = []
    low = high = 0
    way = 0
    for place, value in enumerate(position.tolist()):
        if way >= 0 and value > position[high]:
            high = place
        if way <= 0 and value < position[low]:
            low = place
        if way >= 0 and value < position[high] - least:
            turns.append(high)
            way, low = -1, place
        elif way <= 0 and value > position[low] + least:
            turns.append(low)
            way, high = 1, place
    if way:
        turns.append(high if way > 0 else low)
    return turns


def _stroke(position: Floats, drive: Floats, first: int, last: int, signed: bool) -> Stroke | None:
    """Evaluate one stroke; None where too few samples lie on its way."""
    out = bool(position[last] > position[first])
    travel = abs(float(position[last] - position[first]))
    way = np.abs(position[first : last + 1] - position[first]) / travel
    along = drive[first : last + 1] * (-1.0 if signed and not out else 1.0)
    running = (way >= RUNNING[0]) & (way <= RUNNING[1])
    if running.sum() < FEWEST_RUNNING:
        return None
    median = float(np.median(along[running]))
    leaving = int(np.flatnonzero(way <= LEAVING)[-1])
    started = leaving + int(np.argmax(way[leaving:] >= STARTED))
    let_off = np.flatnonzero(along[: leaving + 1] < LET_OFF * median)
    rising = int(let_off[-1]) if let_off.size else 0
    return Stroke(
        direction=EXTEND if out else RETRACT,
        first=first,
        last=last,
        travel_mm=travel,
        break_away_bar=float(along[rising : started + 1].max()),
        running_bar=median,
        stick_slip=_swing(way[running], along[running]) / median if median > 0 else None,
    )


def _swing(way: Floats, along: Floats) -> float:
    """Return how far the pressure swings about its straight trend over the way."""
    trend = np.polyval(np.polyfit(way, along, 1), way) if np.ptp(way) > 0 else along.mean()
    low, high = np.percentile(along - trend, [5, 95])
    return float(high - low)


def swing_by_hand(
    *, highest_bar: float, lowest_bar: float, running_bar: float, gauge: Gauge
) -> tuple[float, Uncertainty]:
    """Stick-slip index from three pressures read by hand.

    Parameters
    ----------
    highest_bar, lowest_bar : float
        Between which the running pressure swings [bar].
    running_bar : float
        The running pressure, above 0 and between the two [bar].
    gauge : Gauge
        The gauge of all three [bar].

    Returns
    -------
    tuple of float and Uncertainty
        The index and its uncertainty [-].

    Raises
    ------
    ValueError
        Pressures that are not in that order, or no running pressure.

    Notes
    -----
    Read within seconds, what the gauge is off by cancels in the swing and stays in the running pressure,
    of which the swing is a share; the smallest step counts for each of the two ends.

    References
    ----------
    JCGM 100:2008 (GUM), clauses 4.3.7, 5.1.2 and F.2.2.1 (numbers from memory).

    Examples
    --------
    >>> index, spread = swing_by_hand(
    ...     highest_bar=4.4, lowest_bar=3.6, running_bar=4, gauge=Gauge(accuracy=0.04, full_scale=16)
    ... )
    >>> round(index, 3), round(spread.expanded, 4)
    (0.2, 0.0023)
    """
    if not (running_bar > 0 and lowest_bar <= running_bar <= highest_bar):
        raise ValueError(
            "the running pressure must be above 0 and lie between the lowest and the highest; got "
            f"{lowest_bar:g}, {running_bar:g} and {highest_bar:g} bar"
        )
    index = (highest_bar - lowest_bar) / running_bar
    running = index * reading_uncertainty(gauge=gauge, at=running_bar).standard / running_bar
    steps = sqrt(2) * gauge.resolution / sqrt(12) / running_bar
    return index, Uncertainty(parts=(("running pressure", running), ("smallest step", steps)))


Positions = Annotated[
    tuple[float, ...],
    Numbers(
        title="Position of the piston",
        fewest=10,
        help="rising as it extends; the file of a logger goes to the command read_trace",
        each=Number(title="Position", of="mm", at_least=-100000, at_most=100000),
    ),
]
Drive = Annotated[
    tuple[float, ...],
    Numbers(
        title="Pressure then",
        fewest=10,
        help="less the back pressure, the unit unloaded",
        each=Number(title="Pressure", of="bar", at_least=-2000, at_most=2000),
    ),
]
Signed = Annotated[bool, Flag(title="It counts from the bore side both ways")]

_OWN = (
    "break-away, running pressure and stick-slip index: this project's own rules, common practice, no source"
)
_UNLOADED = (
    "The figures are friction only where the unit moves no load, lies level and its other side is open. "
    "Keep hands off the rod; local codes and licensed practice come first."
)


@dataclass(frozen=True, kw_only=True)
class StrokeFriction(Result):
    """Friction of the strokes of a trace, both ways."""

    strokes: Annotated[int, Figure(title="Whole strokes", how="ends where the piston turns back")]
    extend_break_away_bar: Annotated[
        float | None,
        Figure(title="Break-away extending", of="bar", how="highest of the strokes, as each starts"),
    ]
    extend_running_bar: Annotated[
        float | None,
        Figure(
            title="Running extending",
            of="bar",
            how="median of the middle three fifths, median of the strokes",
        ),
    ]
    extend_stick_slip: Annotated[
        float | None,
        Figure(
            title="Stick-slip index extending",
            how="swing of the running pressure as a share of it, worst stroke",
        ),
    ]
    retract_break_away_bar: Annotated[
        float | None, Figure(title="Break-away retracting", of="bar", how="as extending")
    ]
    retract_running_bar: Annotated[
        float | None, Figure(title="Running retracting", of="bar", how="as extending")
    ]
    retract_stick_slip: Annotated[
        float | None, Figure(title="Stick-slip index retracting", how="as extending")
    ]


@calculation(
    family="bench",
    title="Friction of a stroke",
    example={
        "position_mm": (0.0, 0.0, 0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0),
        "drive_bar": (0.0, 3.0, 6.2, 4.1, 4.0, 3.9, 4.1, 4.0, 3.9, 4.1, 4.0, 4.0, 9.0),
    },
    example_source="Derived here: 6.2 bar as it leaves, 4.0 bar on its way; the 9 bar at the end are "
    "left out.",
)
def stroke_friction(*, position_mm: Positions, drive_bar: Drive, signed: Signed = False) -> StrokeFriction:
    """Break-away and running friction pressure of an unloaded unit, and its stick-slip index.

    Parameters
    ----------
    position_mm : list of float
        Position at each sample, 10 or more, rising as the piston extends [mm].
    drive_bar : list of float
        Pressure that moves it less the back pressure, as many [bar].
    signed : bool
        Whether the pressure counts from the bore side both ways, as a load cell gives it [-].

    Returns
    -------
    StrokeFriction
        Strokes [-]; break-away and running pressure [bar] and stick-slip index [-] for each way; None
        where the trace has no stroke that way, or its running pressure is not above 0.

    Raises
    ------
    InputError
        Outside the ranges, lists of two lengths, or no stroke.

    Notes
    -----
    Break-away is the highest pressure as the piston leaves, until a tenth of the way is made; running
    is the median between a fifth and four fifths; the index is how far the running pressure
    swings about its straight trend (5th to 95th of a hundred samples), as a share of it. 0 is
    smooth; a saw-tooth that falls to nothing each time has about 1.8. Noise of the sensor is in it.

    Validity: a level, unloaded unit, sampled several times on its way.
    Left out: gravity, acceleration, flow losses of the ports, which count as friction here.

    References
    ----------
    The rules are this project's own, common practice, no source.

    Examples
    --------
    >>> found = stroke_friction(
    ...     position_mm=(0, 0, 0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100),
    ...     drive_bar=(0, 3, 6.2, 4.1, 4, 3.9, 4.1, 4, 3.9, 4.1, 4, 4, 9),
    ... )
    >>> found.extend_break_away_bar, found.extend_running_bar, found.retract_running_bar
    (6.2, 4.0, None)
    """
    try:
        strokes = evaluate_strokes(
            position_mm=np.array(position_mm), drive_bar=np.array(drive_bar), signed=signed
        )
    except StrokeError as error:
        raise InputError(
            "position_mm", f"position_mm must be a way with a stroke in it; got none: {error}"
        ) from error
    extend = [one for one in strokes if one.direction == EXTEND]
    retract = [one for one in strokes if one.direction == RETRACT]
    return StrokeFriction(
        strokes=len(strokes),
        extend_break_away_bar=max((one.break_away_bar for one in extend), default=None),
        extend_running_bar=_middle(extend),
        extend_stick_slip=_worst(extend),
        retract_break_away_bar=max((one.break_away_bar for one in retract), default=None),
        retract_running_bar=_middle(retract),
        retract_stick_slip=_worst(retract),
        warnings=(_UNLOADED,),
        sources=(_OWN,),
    )


def _middle(strokes: list[Stroke]) -> float | None:
    return float(np.median([one.running_bar for one in strokes])) if strokes else None


def _worst(strokes: list[Stroke]) -> float | None:
    return max((one.stick_slip for one in strokes if one.stick_slip is not None), default=None)

"""Proposals for a logger file that does not say which column is the time and which the pressure."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from workorders.calc.trace_error import listed, sentence
from workorders.calc.trace_units import SECONDS

Floats = npt.NDArray[np.float64]

USUAL_STEP_S = 0.1
# No gauge pressure lies below a full vacuum, -1.013 bar; the rest allows for the sensor's zero.
LOWEST_GAUGE_BAR = -1.1
_MOST_SAMPLES = 20_000
_ROUND_STEPS = (1.0, 2.0, 2.5, 5.0)


@dataclass(frozen=True, kw_only=True)
class PressureProposal:
    """The proposed pressure column and the sentences that say why; ``column`` is a list place."""

    column: int | None
    reasons: tuple[str, ...] = ()


def propose_time_unit(*, median_step: float) -> str:
    """Return the unit of a time column that does not name one.

    Parameters
    ----------
    median_step : float
        Median of the rising steps of the column, in its unknown unit; above 0.

    Returns
    -------
    str
        Of s, ms and µs the one whose step is nearest 0.1 s on a logarithmic scale; of all five
        with min and h, where the step is a round one (1, 2, 2.5 or 5 of a decade) in minutes or
        hours counted in seconds and is not round as it stands.

    Notes
    -----
    Without the last condition a time in seconds with a step of 0.01 s would be read as minutes,
    since 0.6 s is nearer to 0.1 s than 0.01 s is.

    Examples
    --------
    >>> [propose_time_unit(median_step=step) for step in (100_000, 10, 0.01, 0.1 / 60, 1)]
    ['µs', 'ms', 's', 'min', 's']
    """
    if not median_step > 0:
        raise ValueError(f"median_step must be above 0; got {median_step}")
    units = ["s", "ms", "µs"]
    if not _is_round(median_step):
        units += [unit for unit in ("min", "h") if _is_round(median_step * SECONDS[unit])]
    return min(units, key=lambda unit: abs(np.log10(median_step) + np.log10(SECONDS[unit] / USUAL_STEP_S)))


def propose_time_column(columns: Sequence[Floats]) -> int | None:
    """Return the place of the column that rises most like a clock, or None where none does.

    A column that counts up by one is taken only where no other rises; of the rest an even one is
    taken before an uneven one, and the first in the file before a later one. A column with a few
    falls, or one that falls evenly all the way, is still taken where nothing is more like a clock,
    so that time running backwards is reported and not passed over.
    """
    ranked = sorted(filter(None, (_clock_rank(place, values) for place, values in enumerate(columns))))
    falling = [place for place, values in enumerate(columns) if _is_even(-np.diff(values))]
    if falling and (not ranked or ranked[0][2]):
        return falling[0]
    return ranked[0][-1] if ranked else None


def _clock_rank(place: int, values: Floats) -> tuple[bool, bool, bool, int] | None:
    """Order a rising column: running number, repeating, uneven, place; None where it does not rise."""
    steps = np.diff(values)
    rising = steps[steps > 0]
    if not rising.size or np.sum(steps < 0) > max(1, 0.05 * steps.size):
        return None
    repeats = bool(rising.size < 0.5 * steps.size)
    if repeats and np.corrcoef(values, np.arange(values.size))[0, 1] < 0.999:
        return None
    return counts_by_one(values), repeats, not _is_even(rising), place


def _is_even(steps: Floats) -> bool:
    """Whether all steps rise and the middle half of them differs by less than half the median."""
    if not np.all(steps > 0):
        return False
    low, middle, high = np.percentile(steps, [25, 50, 75])
    return bool(high - low < 0.5 * middle)


def counts_by_one(values: Floats) -> bool:
    """Whether a column rises by exactly one at each row, as a running number does."""
    return bool(np.all(np.diff(values) == 1.0))


def propose_pressure(*, columns: Sequence[Floats], labels: Sequence[str]) -> PressureProposal:
    """Return which of several columns without a telling heading is proposed as the pressure.

    Parameters
    ----------
    columns : sequence of arrays
        The candidates [their own units], in the order of the file, time and running number left out.
    labels : sequence of str
        What each is called in the sentences.

    Returns
    -------
    PressureProposal
        The place among the candidates, None where there are none.

    Notes
    -----
    1. Of proportional columns (a sensor's volts and the bar made of them) the larger stands for both.
    2. A column that goes below -1.1 is no gauge pressure in bar; nor is one that follows such a
       column along a straight line, as a position sensor's volts follow the position.
    3. Of what is left, a column that changes goes before a constant one, the first before a later one.
    If a rule would leave nothing, it is passed over. All of it is a guess, and is said.
    """
    if not columns:
        return PressureProposal(column=None)
    thinned = [_thinned(values) for values in columns]
    reasons: list[str] = []
    places = _without_sensor_twins(thinned, labels, reasons)
    places = _without_other_channels(thinned, places, labels, reasons)
    changing = [place for place in places if np.ptp(thinned[place]) > 0] or places
    if len(places) > 1:
        names = listed([labels[place] for place in places])
        first = labels[changing[0]]
        reasons.append(
            sentence(f"{names} could each be the pressure; {first} is taken as the first that changes.")
        )
    return PressureProposal(column=changing[0], reasons=tuple(reasons))


def _is_round(step: float) -> bool:
    """Whether a step is, within 2 %, one that loggers are set to: 1, 2, 2.5 or 5 of a decade."""
    mantissa = step / 10.0 ** np.floor(np.log10(step))
    return any(abs(mantissa / usual - 1) < 0.02 for usual in (*_ROUND_STEPS, 10.0))


def _thinned(values: Floats) -> Floats:
    return values[:: max(1, -(-len(values) // _MOST_SAMPLES))]


def _without_sensor_twins(columns: Sequence[Floats], labels: Sequence[str], reasons: list[str]) -> list[int]:
    """Leave out each column that a later or earlier larger one is proportional to."""
    kept = []
    size = [float(np.mean(np.abs(values))) for values in columns]
    digit = [_last_digit(values) for values in columns]
    for place, values in enumerate(columns):
        larger = [
            other
            for other, others in enumerate(columns)
            if size[other] > size[place] and _is_proportional(values, others, digit[place], digit[other])
        ]
        if larger:
            names = f"{labels[place]} and {labels[larger[-1]]}"
            reasons.append(sentence(f"{names} are proportional; the larger is taken as the reading."))
        else:
            kept.append(place)
    return kept


def _without_other_channels(
    columns: Sequence[Floats], places: list[int], labels: Sequence[str], reasons: list[str]
) -> list[int]:
    """Leave out what goes below a full vacuum, and what follows such a column in a straight line."""
    impossible = [place for place in places if np.min(columns[place]) < LOWEST_GAUGE_BAR]
    followers = [
        place
        for place in places
        if place not in impossible and any(_is_linear(columns[place], columns[other]) for other in impossible)
    ]
    left = [place for place in places if place not in impossible and place not in followers]
    if not left or not impossible:
        return places
    names = listed([labels[place] for place in impossible])
    reasons.append(
        sentence(f"{names} goes below −1 bar, as no gauge pressure does, and is not taken for the pressure.")
    )
    if followers:
        names = listed([labels[place] for place in followers])
        reasons.append(
            sentence(f"{names} follows it along a straight line and is taken for its sensor signal.")
        )
    return left


def _is_proportional(small: Floats, large: Floats, small_digit: float, large_digit: float) -> bool:
    """Whether one column is a multiple of the other, within the last digits of both."""
    square = float(small @ small)
    if not square:
        return False
    factor = float(small @ large) / square
    allowed = max(large_digit + factor * small_digit, 1e-3 * float(np.max(np.abs(large))))
    if factor <= 0 or np.max(np.abs(large - factor * small)) > allowed:
        return False
    # Two nearly constant channels are proportional by accident; their changes must agree as well,
    # save where neither changes by more than its last digits.
    quiet = [np.ptp(small) <= 5 * small_digit, np.ptp(large) <= 5 * large_digit]
    return all(quiet) or bool(np.ptp(small) and np.ptp(large) and np.corrcoef(small, large)[0, 1] > 0.9)


def _is_linear(one: Floats, other: Floats) -> bool:
    if np.ptp(one) == 0 or np.ptp(other) == 0:
        return False
    return bool(np.corrcoef(one, other)[0, 1] > 0.9999)


def _last_digit(values: Floats) -> float:
    """Return the smallest step between two values of a column, its resolution."""
    steps = np.diff(np.unique(values))
    return float(steps.min()) if steps.size else 0.0

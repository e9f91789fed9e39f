"""Thinning of a trace for drawing, without losing a peak."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def thin(*, time_s: Floats, value: Floats, buckets: int) -> tuple[Floats, Floats]:
    """Keep the lowest and the highest sample of each of so many equal spans of time.

    Parameters
    ----------
    time_s : array
        Time of each sample, never falling [s].
    value : array
        The reading of each sample [its own unit].
    buckets : int
        Number of spans, 1 or more; the drawing's width in dots is enough.

    Returns
    -------
    tuple of arrays
        At most ``2 * buckets + 2`` of the samples in their order, with the first and the last
        one; all samples where there are no more than that.

    Raises
    ------
    ValueError
        ``buckets`` below 1, or arrays of different lengths.

    Notes
    -----
    For drawing only: sums are made from all samples.

    References
    ----------
    Jugel et al., "M4: a visualization-oriented time series data aggregation", PVLDB 7(10), 2014,
    on first, last, least and greatest per pixel column (from memory).

    Examples
    --------
    >>> import numpy as np
    >>> reading = np.array([0, 0, 0, 9.0, 0, 0, 0, 0, 0, 0])
    >>> time, value = thin(time_s=np.arange(10.0), value=reading, buckets=2)
    >>> 9.0 in value, len(time) <= 6
    (True, True)
    """
    if buckets < 1:
        raise ValueError(f"buckets must be 1 or more; got {buckets}")
    time, values = np.asarray(time_s, dtype=np.float64), np.asarray(value, dtype=np.float64)
    if time.shape != values.shape:
        raise ValueError(f"time_s and value must be of one length; got {time.shape} and {values.shape}")
    if time.size <= 2 * buckets + 2:
        return time, values
    order = _kept(time, [values], buckets)
    return time[order], values[order]


def thin_span(
    *, time_s: Floats, columns: Sequence[Floats], start_s: float, end_s: float, buckets: int
) -> tuple[Floats, list[Floats], int]:
    """Thin some columns over a part of the time, so that every one keeps its peaks.

    Parameters
    ----------
    time_s : array
        Time of each sample, never falling [s].
    columns : sequence of arrays
        One or more columns of the same length [their own units].
    start_s, end_s : float
        The part looked at; the next sample beyond either end comes along [s].
    buckets : int
        Number of spans, 1 or more.

    Returns
    -------
    tuple
        Time and columns, all of one length: the lowest and the highest sample of each column and
        span, or every sample where there are few; and how many samples there are in the part.

    Raises
    ------
    ValueError
        ``buckets`` below 1, no column, or a part that ends before it begins.

    Examples
    --------
    >>> import numpy as np
    >>> reading = np.arange(1000.0)
    >>> time, (value,), count = thin_span(
    ...     time_s=reading, columns=[reading], start_s=10, end_s=20, buckets=50
    ... )
    >>> count, float(value[0]), float(value[-1])
    (11, 9.0, 21.0)
    """
    if buckets < 1 or not columns or not start_s <= end_s:
        raise ValueError(
            f"needs columns, buckets of 1 or more and a part that begins before it ends; got "
            f"{len(columns)} columns, {buckets} buckets, {start_s} to {end_s} s"
        )
    first = int(np.searchsorted(time_s, start_s, side="left"))
    last = int(np.searchsorted(time_s, end_s, side="right"))
    part = slice(max(first - 1, 0), last + 1)
    time, values = time_s[part], [column[part] for column in columns]
    if time.size > 2 * buckets + 2:
        order = _kept(time, values, buckets)
        time, values = time[order], [column[order] for column in values]
    return time, values, max(last - first, 0)


def _kept(time: Floats, columns: Sequence[Floats], buckets: int) -> npt.NDArray[np.int64]:
    """Return the places of the least and the greatest of each span and column, with both ends."""
    edges = np.linspace(time[0], time[-1], buckets + 1)[1:-1]
    bounds = [0, *np.searchsorted(time, edges, side="left"), time.size]
    kept = {0, time.size - 1}
    for start, end in pairwise(bounds):
        if end > start:
            for values in columns:
                part = values[start:end]
                there = np.flatnonzero(~np.isnan(part)) if np.isnan(part.min()) else None
                if there is None:
                    kept |= {start + int(np.argmin(part)), start + int(np.argmax(part))}
                elif there.size:
                    part = part[there]
                    kept |= {start + int(there[np.argmin(part)]), start + int(there[np.argmax(part)])}
    return np.array(sorted(kept))

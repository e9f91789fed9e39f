"""Thinning of a trace for drawing, without losing a peak."""

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
    edges = np.linspace(time[0], time[-1], buckets + 1)[1:-1]
    bounds = [0, *np.searchsorted(time, edges, side="left"), time.size]
    kept = {0, time.size - 1}
    for start, end in pairwise(bounds):
        if end > start:
            kept |= {start + int(np.argmin(values[start:end])), start + int(np.argmax(values[start:end]))}
    order = np.array(sorted(kept))
    return time[order], values[order]

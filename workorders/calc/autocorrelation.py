"""Neighbouring samples that are alike: what they do to a standard error."""

from collections.abc import Callable
from dataclasses import dataclass
from math import sqrt
from typing import Annotated

import numpy as np
import numpy.typing as npt
from scipy import fft

from shop.calc.parameters import Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

Floats = npt.NDArray[np.float64]
FEWEST_EFFECTIVE = 3.0
FIRST_LAGS = 4096

Samples = Annotated[int, Number(title="Samples", at_least=3, at_most=10_000_000, whole=True)]
LagOne = Annotated[
    float,
    Number(
        title="Correlation of a sample with the next",
        at_least=0,
        at_most=0.999,
        help="0 where every sample is news, near 1 where the logger is faster than the pressure",
    ),
]


def slope_factor(*, time_s: Floats, residual: Floats) -> float:
    """By how much autocorrelation raises the variance of a fitted slope.

    Parameters
    ----------
    time_s : array
        Time of each sample [s].
    residual : array
        What the line leaves of each sample, same length [any unit].

    Returns
    -------
    float
        1 or more; 1 where neighbours are independent or nothing is left [-].

    Notes
    -----
    The slope is a sum of samples weighted by their distance from the middle time, and its variance
    that of correlated quantities: ``1 + 2 * sum(rho_k * w_k)``, with ``rho_k`` the autocorrelation of
    the residuals at lag k and ``w_k`` that of the weights. The sum ends where two neighbouring
    lags first add up to nothing or less, and at a quarter of the samples: later lags are noise.
    Samples are taken as evenly spaced. Of windows shorter than some fifty times the memory of the
    signal the factor is still too small.

    References
    ----------
    JCGM 100:2008 (GUM), clause 5.2.2, correlated inputs (number from memory). N. F. Zhang,
    Metrologia 43 (2006) S276, the same sum for a mean, with the quarter (as a metrology program has
    it; the paper was not read). The end of the sum:
    the initial positive sequence of C. J. Geyer, Statistical Science 7 (1992) 473 (from memory).
    """
    late = time_s - time_s.mean()

    def weights(lags: int) -> Floats:
        found = _lagged(late, lags)
        return np.asarray(found / found[0])

    return _raised(residual, weights)


def mean_factor(*, residual: Floats) -> float:
    """By how much autocorrelation raises the variance of a mean.

    Parameters
    ----------
    residual : array
        What is left of each sample, evenly spaced [any unit].

    Returns
    -------
    float
        1 or more; 1 where neighbours are independent or nothing is left [-].

    Notes
    -----
    As `slope_factor`, with all samples of one weight: that of lag k is ``1 - k / n``.

    References
    ----------
    N. F. Zhang, Metrologia 43 (2006) S276; the rest as `slope_factor`.
    """
    return _raised(residual, lambda lags: 1.0 - np.arange(lags) / residual.size)


def _raised(residual: Floats, weights: Callable[[int], Floats]) -> float:
    """Sum up the correlations of all lags that are more than noise, by their weights."""
    rho = _telling(residual - residual.mean())
    if rho.size < 2:
        return 1.0
    weight = weights(rho.size)
    return max(1.0, float(1 + 2 * np.sum(rho[1:] * weight[1:])))


def _telling(residual: Floats) -> Floats:
    """Return the correlations of all lags that are more than noise; none where nothing is left."""
    most = max(2, residual.size // 4)
    # A long record seldom remembers long: few lags first, and a quarter of it only where they do not end.
    for lags in (FIRST_LAGS, most) if most > FIRST_LAGS else (most,):
        spread = _lagged(residual, lags)
        if not spread[0] > 0:
            return spread[:0]
        rho: Floats = spread / spread[0]
        even = lags // 2 * 2
        noise = np.flatnonzero(rho[0:even:2] + rho[1:even:2] <= 0)
        if noise.size:
            return rho[: 2 * int(noise[0])]
    return rho


def correlated_error(*, error: float, n: int, factor: float) -> float:
    """Standard error of a slope, raised for autocorrelation.

    Parameters
    ----------
    error : float
        Standard error that takes samples as independent [unit of the slope].
    n : int
        Samples [-].
    factor : float
        From `slope_factor` [-].

    Returns
    -------
    float
        With ``n / factor`` in place of n in the scatter too, but not fewer than 3 [unit of the slope].
    """
    if factor == 1:
        return error
    effective = max(FEWEST_EFFECTIVE, n / factor)
    return error * sqrt(factor * (n - 2) / n * effective / (effective - 2))


def _lagged(values: Floats, lags: int) -> Floats:
    """Return the sums of products of a series with itself, shifted by 0, 1, 2, ... samples."""
    # Longer by the lags, so that the end does not meet the start; a length of small factors is fast.
    piece = min(values.size, max(3 * lags, FIRST_LAGS))
    length = fft.next_fast_len(piece + lags, real=True)
    total = np.zeros(length // 2 + 1, dtype=np.complex128)
    for start in range(0, values.size, piece):
        # Each piece against itself and what follows it; the sums of all pieces go back at once.
        ahead = fft.rfft(values[start : start + piece + lags], length)
        total += fft.rfft(values[start : start + piece], length).conj() * ahead
    return np.asarray(fft.irfft(total, length)[:lags], dtype=np.float64)


@dataclass(frozen=True, kw_only=True)
class EffectiveSamples(Result):
    """What correlated samples are worth."""

    variance_factor: Annotated[
        float,
        Figure(
            title="Variance of the mean against that of independent samples",
            how="1 + 2/n × the sum of (n − k) ρᵏ over all lags k from 1 to n − 1",
        ),
    ]
    effective_samples: Annotated[
        float, Figure(title="Independent samples worth as much", formula="samples / variance_factor")
    ]
    error_factor: Annotated[
        float, Figure(title="Standard error to multiply by", formula="sqrt(variance_factor)")
    ]


@calculation(
    family="bench",
    title="What correlated samples are worth",
    example={"samples": 1500, "lag_one": 0.9},
    example_source="Formula of Zhang, Metrologia 43 (2006) S276; derived here with a correlation that dies "
    "away by powers of 0.9: 79.4 independent samples.",
)
def effective_samples(*, samples: Samples, lag_one: LagOne) -> EffectiveSamples:
    """How many independent samples a run of samples is worth of which each is like the one before.

    Parameters
    ----------
    samples : int
        Samples logged, 3 to 10 000 000 [-].
    lag_one : float
        Correlation of a sample with the next, 0 to 0.999 [-].

    Returns
    -------
    EffectiveSamples
        Factor on the variance, samples worth as much, factor on the standard error [-].

    Raises
    ------
    InputError
        Outside the ranges.

    Notes
    -----
    ``1 + 2/n * sum((n - k) * rho**k)``, summed up over all lags k. For many samples it comes near
    ``(1 + rho) / (1 - rho)``. A hold is evaluated with the correlations found at every lag, not with
    this one alone: noise of the sensor hides a slow wander from the first lag.

    Validity: a correlation that dies away by powers, evenly spaced samples.
    Left out: the error of the correlation itself, which short runs estimate too low.

    References
    ----------
    N. F. Zhang, Calculation of the uncertainty of the mean of autocorrelated measurements,
    Metrologia 43 (2006) S276, as a metrology program has it. The limit: C. S. Bretherton et al.,
    Journal of Climate 12 (1999) 1990, as a library of forecast scores prints it. Neither paper was read.

    Examples
    --------
    >>> round(effective_samples(samples=1500, lag_one=0.9).effective_samples, 1)
    79.4
    """
    rest = 2 * lag_one * (1 - lag_one**samples) / (samples * (1 - lag_one) ** 2)
    factor = (1 + lag_one) / (1 - lag_one) - rest
    return EffectiveSamples(
        variance_factor=factor,
        effective_samples=samples / factor,
        error_factor=sqrt(factor),
        warnings=("A logger set faster shows more samples, not more knowledge.",),
        sources=("Zhang, Metrologia 43 (2006) S276", "Bretherton et al., J. Climate 12 (1999) 1990"),
    )

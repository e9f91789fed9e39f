"""Demand that comes now and then: Croston's method, its bias, and the correction."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated

from shop.calc.parameters import Choice, Number, Numbers
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

Demands = Annotated[
    tuple[float, ...],
    Numbers(
        title="Use in each period, the oldest first",
        each=Number(title="Use", of="pieces", at_least=0, at_most=1e9),
    ),
]
Alpha = Annotated[
    float,
    Number(title="Smoothing constant", above=0, at_most=1, setting="stores-smoothing"),
]
AdiLimit = Annotated[
    float,
    Number(
        title="Intermittent from this mean interval on",
        of="periods",
        at_least=1,
        at_most=1000,
        setting="stores-interval-limit",
    ),
]
Cv2Limit = Annotated[
    float,
    Number(
        title="Uneven from this square of the variation on",
        at_least=0,
        at_most=1000,
        setting="stores-variation-limit",
    ),
]
FIRST, MEAN = "first", "mean"
Begin = Annotated[
    str,
    Choice(
        title="Size and interval begin with",
        options=(FIRST, MEAN),
        help="the first ones, or the means of all: better where the list begins on any day",
    ),
]
_SOURCES = (
    "J. D. Croston, Forecasting and stock control for intermittent demands, Operational Research "
    "Quarterly 23 (1972) 289-303",
    "A. A. Syntetos, J. E. Boylan, The accuracy of intermittent demand estimates, International Journal of "
    "Forecasting 21 (2005) 303-314",
)


@dataclass(frozen=True, kw_only=True)
class Occasion:
    """One period with use: its size, the periods since the one before, and both smoothed."""

    period: int
    size: float
    interval: int
    smoothed_size: float
    smoothed_interval: float


@dataclass(frozen=True, kw_only=True)
class IntermittentDemand(Result):
    """Size and interval of the use, smoothed, and the rate that follows, plain and corrected."""

    periods: Annotated[int, Figure(title="Periods", how="how many numbers were given")]
    times: Annotated[int, Figure(title="Periods with use", how="how many of them are above 0")]
    mean: Annotated[
        float,
        Figure(title="Plain mean", of="pieces/period", how="the sum of the use over the number of periods"),
    ]
    mean_interval: Annotated[
        float | None,
        Figure(title="Mean interval", of="periods", formula="periods / times"),
    ]
    variation_squared: Annotated[
        float | None,
        Figure(
            title="Square of the variation of the sizes",
            how="(standard deviation of the sizes above 0 / their mean)², n - 1 in the variance; 0 for one",
        ),
    ]
    pattern: Annotated[
        str,
        Figure(
            title="Pattern",
            how="smooth, intermittent, erratic or lumpy, by the limits of mean interval and variation",
        ),
    ]
    size: Annotated[
        float | None,
        Figure(
            title="Size, smoothed",
            of="pieces",
            how="size + alpha × (latest size − size), from each to the next",
        ),
    ]
    interval: Annotated[
        float | None,
        Figure(
            title="Interval, smoothed",
            of="periods",
            how="interval + alpha × (latest interval − interval), from each to the next",
        ),
    ]
    rate_croston: Annotated[
        float | None,
        Figure(title="Rate after Croston", of="pieces/period", formula="size / interval"),
    ]
    rate: Annotated[
        float | None,
        Figure(
            title="Rate, corrected after Syntetos and Boylan",
            of="pieces/period",
            formula="(1 - alpha / 2) * rate_croston",
        ),
    ]
    occasions: Annotated[
        tuple[Occasion, ...], Figure(title="Sizes and intervals", how="each period with use")
    ]


@calculation(
    family="stores",
    title="Demand that comes now and then",
    example={"demands": [0, 0, 5, 0, 3, 0, 0, 0, 6, 2, 0, 4], "alpha": 0.1},
    example_source="Derived here, and the same as the open library statsforecast 2.1.1 gives (CrostonClassic "
    "and CrostonSBA): 1.673399 and 1.589729.",
)
def intermittent_demand(
    *,
    demands: Demands,
    alpha: Alpha = 0.1,
    interval_limit: AdiLimit = 1.32,
    variation_limit: Cv2Limit = 0.49,
    begin: Begin = FIRST,
) -> IntermittentDemand:
    """Rate of a part that is asked for now and then.

    Parameters
    ----------
    demands : list of float
        Use in each period, the oldest first, each from 0 [pieces].
    alpha : float, optional
        Smoothing constant of both size and interval, above 0 and at most 1 [-].
    interval_limit : float, optional
        Mean interval from which on the use counts as intermittent, from 1 [periods].
    variation_limit : float, optional
        Square of the variation of the sizes from which on it counts as uneven, from 0 [-].
    begin : str, optional
        ``first``: size and interval begin with the first ones; ``mean``: with the mean size and the
        mean interval of the list, and every size and interval is smoothed into them [-].

    Returns
    -------
    IntermittentDemand
        ``rate_croston`` and ``rate`` (corrected) [pieces/period], ``size`` [pieces], ``interval``
        [periods], ``mean_interval`` [periods], ``variation_squared`` [-], ``pattern`` [-], and
        ``occasions`` with every size and interval. Without any use, rates are not known.

    Raises
    ------
    InputError
        An empty list, a use below 0, or a constant outside its range.

    Notes
    -----
    Croston (1972) smooths two series that change only in a period with use: the size z and the
    interval p since the use before. His rate is z / p. The first size and the first interval,
    counted from the start of the list, begin the two series; or their means over the list, which
    keeps a chance day at its start from weighing for long.

    The rate is too high on average: size and interval are estimated without bias, but the mean of
    1 / p is more than 1 over the mean of p. Where use comes in a period with the chance 1 / p, the
    variance of the smoothed interval is alpha / (2 - alpha) × p (p - 1), and the second term of
    Taylor's series raises the mean rate by the factor 1 + alpha / (2 - alpha) × (p - 1) / p, which
    for long intervals is 2 / (2 - alpha). Syntetos and Boylan (2005) therefore multiply by
    1 - alpha / 2. The derivation stands step by step in docs/demand.md.

    Validity: sizes and intervals independent; use that neither grows nor ends. A part that is
    asked for no more keeps its last rate.
    Left out: trend, season, the end of a part's life.

    References
    ----------
    J. D. Croston, Operational Research Quarterly 23 (1972) 289-303. A. A. Syntetos, J. E. Boylan,
    International Journal of Forecasting 21 (2005) 303-314. Figures compared with statsforecast
    2.1.1, an open library. The limits of the four patterns are those of A. A. Syntetos, J. E.
    Boylan, J. D. Croston, Journal of the Operational Research Society 56 (2005) 495-503, from
    memory, not verified.

    Examples
    --------
    >>> found = intermittent_demand(demands=[0, 0, 4, 0, 0, 4], alpha=0.1)
    >>> round(found.rate_croston, 6), round(found.rate, 6), found.pattern
    (1.333333, 1.266667, 'intermittent')
    """
    sizes = [size for size in demands if size]
    interval, variation = _interval(demands, sizes), _variation_squared(sizes)
    occasions = tuple(
        Occasion(period=period, size=size, interval=since, smoothed_size=z, smoothed_interval=p)
        for period, size, since, z, p in _steps(demands, alpha, _means(demands, sizes, begin))
    )
    last = occasions[-1] if occasions else None
    croston = last.smoothed_size / last.smoothed_interval if last else None
    return IntermittentDemand(
        periods=len(demands),
        times=len(sizes),
        mean=math.fsum(demands) / len(demands),
        mean_interval=interval,
        variation_squared=variation,
        pattern=_pattern(interval, variation, interval_limit, variation_limit),
        size=last.smoothed_size if last else None,
        interval=last.smoothed_interval if last else None,
        rate_croston=croston,
        rate=None if croston is None else (1 - alpha / 2) * croston,
        occasions=occasions,
        warnings=_warnings(occasions, len(demands)),
        sources=_SOURCES,
    )


@dataclass(frozen=True, kw_only=True)
class DemandRate:
    """What ``IntermittentDemand`` says of a list, without every step of it; the same units."""

    mean: float
    mean_interval: float | None
    variation_squared: float | None
    pattern: str
    rate: float | None


def demand_rate(
    *, demands: Sequence[float], alpha: float, interval_limit: float, variation_limit: float
) -> DemandRate:
    """Rate of a part, for many parts at once: ``intermittent_demand`` that begins with the means.

    Parameters
    ----------
    demands : list of float
        Use in each period, the oldest first, each from 0 [pieces]; not checked.
    alpha, interval_limit, variation_limit : float
        As in ``intermittent_demand`` [-], [periods], [-]; not checked.

    Returns
    -------
    DemandRate
        ``mean`` and ``rate`` [pieces/period], ``mean_interval`` [periods], ``pattern`` [-].

    Raises
    ------
    ZeroDivisionError
        An empty list.

    References
    ----------
    Those of ``intermittent_demand``; a test holds the two against each other.

    Examples
    --------
    >>> told = {"alpha": 0.1, "interval_limit": 1.32, "variation_limit": 0.49}
    >>> demand_rate(demands=[0, 0, 4, 0, 0, 4], **told).pattern
    'intermittent'
    """
    sizes = [size for size in demands if size]
    interval, variation = _interval(demands, sizes), _variation_squared(sizes)
    rate = None
    for _period, _size, _since, size, between in _steps(demands, alpha, _means(demands, sizes, MEAN)):
        rate = (1 - alpha / 2) * (size / between)
    return DemandRate(
        mean=math.fsum(demands) / len(demands),
        mean_interval=interval,
        variation_squared=variation,
        pattern=_pattern(interval, variation, interval_limit, variation_limit),
        rate=rate,
    )


def _interval(demands: Sequence[float], sizes: Sequence[float]) -> float | None:
    return len(demands) / len(sizes) if sizes else None


def _means(demands: Sequence[float], sizes: Sequence[float], begin: str) -> tuple[float, float] | None:
    if not sizes or begin != MEAN:
        return None
    return math.fsum(sizes) / len(sizes), len(demands) / len(sizes)


def _steps(
    demands: Sequence[float], alpha: float, means: tuple[float, float] | None
) -> Iterator[tuple[int, float, int, float, float]]:
    """Smooth size and interval from use to use, from their means or, without, from the first ones.

    Yields period, size, periods since the use before, and both smoothed. Written out and not in
    functions: it runs for every week of every part.
    """
    smoothed, between = means or (0.0, 0.0)
    before, begun = 0, means is not None
    for period, size in enumerate(demands, 1):
        if size == 0:
            continue
        since = period - before
        if begun:
            smoothed += alpha * (size - smoothed)
            between += alpha * (since - between)
        else:
            smoothed, between, begun = size, float(since), True
        yield period, size, since, smoothed, between
        before = period


def _variation_squared(sizes: Sequence[float]) -> float | None:
    if not sizes:
        return None
    if len(sizes) < 2:
        return 0.0
    mean = math.fsum(sizes) / len(sizes)
    return math.fsum((size / mean - 1) ** 2 for size in sizes) / (len(sizes) - 1)


def _pattern(interval: float | None, variation: float | None, at: float, uneven_at: float) -> str:
    if interval is None or variation is None:
        return "no use"
    if interval < at:
        return "erratic" if variation >= uneven_at else "smooth"
    return "lumpy" if variation >= uneven_at else "intermittent"


def _warnings(occasions: Sequence[Occasion], periods: int) -> tuple[str, ...]:
    if not occasions:
        return ("Nothing was used: there is no rate.",)
    told = []
    if len(occasions) < 3:
        told.append(f"The rate rests on {len(occasions)} of {periods} periods: take it for a guess.")
    quiet = periods - occasions[-1].period
    if quiet > 3 * occasions[-1].smoothed_interval:
        told.append(f"Nothing was used in the last {quiet} periods: the part may be at its end.")
    return tuple(told)

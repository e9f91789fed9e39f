"""When to order again: the reorder point of a steady part, and the stock of a slow one."""

import math
from dataclasses import dataclass
from typing import Annotated

from scipy.special import ndtri, pdtr, pdtrc, pdtrik

from shop.calc.parameters import Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

_SERVICE = "share of the times between ordering and delivery in which nothing runs short: 0.95 for 95 %"
MeanDaily = Annotated[float, Number(title="Use in a day, mean", of="pieces/day", at_least=0, at_most=1e9)]
SdDaily = Annotated[
    float, Number(title="Use in a day, standard deviation", of="pieces/day", at_least=0, at_most=1e9)
]
LeadDays = Annotated[
    float, Number(title="Days from ordering to delivery", of="days", at_least=0, at_most=3650)
]
SdLeadDays = Annotated[
    float,
    Number(title="Days from ordering to delivery, standard deviation", of="days", at_least=0, at_most=3650),
]
Service = Annotated[float, Number(title="Service wanted", at_least=0.5, below=1, help=_SERVICE)]
MeanLeadDemand = Annotated[
    float, Number(title="Use until the delivery, mean", of="pieces", at_least=0, at_most=1e6)
]
_DISTRIBUTION = "SciPy (scipy.special: ndtri, pdtr), compared with published tables in the tests"


@dataclass(frozen=True, kw_only=True)
class ReorderPoint(Result):
    """Pieces at which to order, and how many of them are there for bad luck alone."""

    z: Annotated[
        float,
        Figure(
            title="z",
            how="the point of the standard normal distribution below which it falls with the service wanted",
        ),
    ]
    lead_demand: Annotated[
        float, Figure(title="Use until the delivery, mean", of="pieces", formula="mean_daily * lead_days")
    ]
    sd_lead: Annotated[
        float,
        Figure(
            title="Use until the delivery, standard deviation",
            of="pieces",
            formula="sqrt(lead_days * sd_daily**2 + mean_daily**2 * sd_lead_days**2)",
        ),
    ]
    safety_stock: Annotated[float, Figure(title="Safety stock", of="pieces", formula="z * sd_lead")]
    reorder_point: Annotated[
        float, Figure(title="Reorder point", of="pieces", formula="lead_demand + safety_stock")
    ]


@calculation(
    family="stores",
    title="Reorder point",
    example={"mean_daily": 30.0, "sd_daily": 5.0, "lead_days": 10.0, "service": 0.95},
    example_source="flylib.com 3.287.1.225 prints safety stock 26.1 and reorder point 326.1 with z rounded "
    "to 1.65; the exact z is 1.644854.",
)
def reorder_point(
    *,
    mean_daily: MeanDaily,
    sd_daily: SdDaily,
    lead_days: LeadDays,
    service: Service,
    sd_lead_days: SdLeadDays = 0.0,
) -> ReorderPoint:
    """Stock at which to order a part that is used steadily.

    Parameters
    ----------
    mean_daily : float
        Mean use in a day, from 0 [pieces/day].
    sd_daily : float
        Standard deviation of the use in a day, from 0 [pieces/day].
    lead_days : float
        Days from ordering to delivery, 0 to 3650 [days].
    service : float
        Share of the times between ordering and delivery in which nothing runs short, from 0.5 and
        below 1; 0.95 for 95 % [-].
    sd_lead_days : float, optional
        Standard deviation of the days to delivery; 0 for a supplier who is always as late [days].

    Returns
    -------
    ReorderPoint
        ``reorder_point``, ``safety_stock``, ``lead_demand`` and ``sd_lead`` [pieces], ``z`` [-].

    Raises
    ------
    InputError
        A value outside its range, such as a service of 95 for 0.95.

    Notes
    -----
    Use until the delivery is taken as normal: its mean is that of a day times the days, its
    variance the sum of the days' variances and of what an uncertain delivery adds. z is computed
    and never read from a table: one published page states z = 1.65 and then goes on with 1.28,
    which is the z of 90 %.

    Validity: days independent of each other; enough use until the delivery, about ten pieces
    (common practice, no source), so that a normal distribution is no bad likeness.
    Left out: minimum order, pack size, expiry, use that grows or ends; for slow parts see
    `poisson_stock`, for parts asked for now and then see `intermittent_demand`.

    References
    ----------
    flylib.com 3.287.1.225 (30 a day, standard deviation 5, 10 days, 95 %: safety stock 26.1,
    reorder point 326.1 with z = 1.65); mycoursehelp.com 36573 (5 a day, standard deviation 2,
    3 days, 95 %: the data; 5.70 and 20.70 computed from them).

    Examples
    --------
    >>> found = reorder_point(mean_daily=30, sd_daily=5, lead_days=10, service=0.95)
    >>> round(found.safety_stock, 2), round(found.reorder_point, 2)
    (26.01, 326.01)
    """
    z = float(ndtri(service))
    lead_demand = mean_daily * lead_days
    sd_lead = math.sqrt(lead_days * sd_daily**2 + mean_daily**2 * sd_lead_days**2)
    warnings = []
    if lead_demand < 10 and sd_lead:
        warnings.append(
            "Less than ten pieces are used until the delivery: a normal distribution is a poor likeness "
            "(common practice, no source). Compare poisson_stock."
        )
    return ReorderPoint(
        z=z,
        lead_demand=lead_demand,
        sd_lead=sd_lead,
        safety_stock=z * sd_lead,
        reorder_point=lead_demand + z * sd_lead,
        warnings=tuple(warnings),
        sources=("flylib.com 3.287.1.225", _DISTRIBUTION),
    )


@dataclass(frozen=True, kw_only=True)
class PoissonStock(Result):
    """The stock that covers the use until the delivery, and what it leaves uncovered."""

    stock: Annotated[
        int,
        Figure(
            title="Stock",
            of="pieces",
            how="the smallest number that the use until the delivery does not exceed with the service wanted",
        ),
    ]
    reached_service: Annotated[
        float, Figure(title="Service reached", how="the Poisson distribution function at the stock")
    ]
    service_below: Annotated[
        float, Figure(title="Service with one piece less", how="the same at one piece less; 0 below none")
    ]
    expected_short: Annotated[
        float,
        Figure(
            title="Pieces short until the delivery, mean",
            of="pieces",
            how="the sum over every use above the stock of what is missing, times its probability",
        ),
    ]


@calculation(
    family="stores",
    title="Stock of a slow part",
    example={"mean_lead_demand": 1.25, "service": 0.95},
    example_source="A table of the Poisson distribution with mean 1.25 (scribd.com 928380662) prints "
    "0.868468 at 2 and 0.961731 at 3: so 3 pieces for 95 %.",
)
def poisson_stock(*, mean_lead_demand: MeanLeadDemand, service: Service) -> PoissonStock:
    """Stock that covers the use of a slow part until the delivery.

    Parameters
    ----------
    mean_lead_demand : float
        Mean use from ordering to delivery, 0 to 1000000 [pieces].
    service : float
        Share of the times between ordering and delivery in which nothing runs short, from 0.5 and
        below 1; 0.95 for 95 % [-].

    Returns
    -------
    PoissonStock
        ``stock`` and ``expected_short`` [pieces], ``reached_service`` and ``service_below`` [-].

    Raises
    ------
    InputError
        A value outside its range.

    Notes
    -----
    The use until the delivery is taken as Poisson: pieces are asked for one at a time and
    independently of each other. The stock S is the smallest with F(S) >= service. The mean
    shortage is L(S) = sum over x > S of (x - S) p(x) = m (1 - F(S - 1)) - S (1 - F(S)).

    Validity: pieces used one at a time. Where one rebuild takes several of a part, use jumps and
    the Poisson distribution is too narrow.
    Left out: minimum order, pack size, expiry.

    References
    ----------
    Distribution function and mean shortage for a mean of 1.25 at 0 to 4, printed in
    scribd.com 928380662 and recomputed; SciPy for every other mean.

    Examples
    --------
    >>> [poisson_stock(mean_lead_demand=1.25, service=one).stock for one in (0.90, 0.95, 0.99)]
    [3, 3, 4]
    """
    stock = _smallest(mean_lead_demand, service)
    above = pdtrc(stock, mean_lead_demand) if mean_lead_demand else 0.0
    from_stock_on = (pdtrc(stock - 1, mean_lead_demand) if stock else 1.0) if mean_lead_demand else 0.0
    return PoissonStock(
        stock=stock,
        reached_service=_reached(stock, mean_lead_demand),
        service_below=_reached(stock - 1, mean_lead_demand),
        expected_short=max(0.0, float(mean_lead_demand * from_stock_on - stock * above)),
        sources=("scribd.com 928380662, table for a mean of 1.25", _DISTRIBUTION),
    )


def _reached(stock: int, mean: float) -> float:
    if stock < 0:
        return 0.0
    return float(pdtr(stock, mean)) if mean else 1.0


def _smallest(mean: float, service: float) -> int:
    """Return the smallest stock that reaches the service; the inverse function only says where to look."""
    if mean == 0:
        return 0
    guess = float(pdtrik(service, mean))
    stock = max(0, math.ceil(guess) - 2) if math.isfinite(guess) else 0
    while _reached(stock, mean) < service:
        stock += 1
    while _reached(stock - 1, mean) >= service:
        stock -= 1
    return stock

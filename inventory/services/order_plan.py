"""What to order: cover and reorder point of every part, and the quantity that follows."""

import math
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property

from inventory.calc.demand import DemandRate, demand_rate
from inventory.calc.expiry import unused_at_expiry
from inventory.calc.order_quantity import order_quantity
from inventory.calc.reorder import poisson_stock, reorder_point
from inventory.models import Part, PriceBreak, SupplierPart
from inventory.models.supplier_part import price_of
from inventory.services.known_demand import known_demand
from inventory.services.order_facts import LeadTime, Stock, order_facts
from inventory.services.stores_settings import StoresSettings, stores_settings
from inventory.services.usage import Usage, weekly_usage

DAYS_OF_A_YEAR = 365
FEW_PIECES = 10  # below it a normal distribution is a poor likeness (common practice, no source)
NORMAL, POISSON, CORRECTED, NONE = "normal", "Poisson", "corrected rate", "no use"


@dataclass(frozen=True, kw_only=True)
class Points:
    """The reorder point of a part by each way, and the one that is used."""

    normal: int
    poisson: int
    corrected: int
    used: str
    why: str
    mean_daily: float  # by the way that is used

    @property
    def reorder_point(self) -> int:
        """The one that is used [pieces]."""
        return {NORMAL: self.normal, POISSON: self.poisson, CORRECTED: self.corrected, NONE: 0}[self.used]


@dataclass(frozen=True, kw_only=True)
class OrderPlan:
    """One part: what was used, what is there and comes, when to order, and how much."""

    part: Part
    sold: SupplierPart | None
    prices: list[PriceBreak]
    usage: Usage | None
    demand: DemandRate | None
    stock: Stock
    expiring: int
    lead: LeadTime
    points: Points
    settings: StoresSettings
    open_work: int = 0  # pieces that work in the shop is known to want and no packed kit holds

    @property
    def cover(self) -> int:
        """Pieces on the shelf that will be used in time, and those on order or on a draft."""
        return self.stock.shelf - self.expiring + self.stock.ordered + self.stock.drafted

    @property
    def missing(self) -> int:
        """Pieces that open work wants and that are neither usable today nor to come."""
        return max(0, self.open_work - self.stock.shelf - self.stock.ordered - self.stock.drafted)

    @property
    def is_short(self) -> bool:
        """Whether to order: open work wants more than there is, or what is used is down to its point."""
        used_up = self.usage is not None and self.cover <= self.points.reorder_point
        return used_up or self.missing > 0

    @property
    def weekly(self) -> float:
        """Pieces used in a week at the rate that is used."""
        return self.points.mean_daily * 7

    @property
    def yearly(self) -> float:
        """Pieces used in a year at the rate that is used."""
        return self.points.mean_daily * DAYS_OF_A_YEAR

    @cached_property
    def quantity(self) -> int:
        """Pieces to order; 0 where nothing is short."""
        if not self.is_short:
            return 0
        pack, minimum = (self.sold.pack_size, self.sold.minimum) if self.sold else (1, 1)
        needed = max(minimum, self.points.reorder_point - self.cover + 1, self.missing)
        if not self.prices:
            upto = max(needed, self.points.reorder_point - self.cover + self._lead_use())
            return -(-upto // pack) * pack
        least = max(needed, self.prices[0].quantity)
        packs = -(-least // pack) * pack
        found = order_quantity(
            yearly_demand=max(self.yearly, 1e-6),
            break_quantities=tuple(row.quantity for row in self.prices),
            break_prices=tuple(float(row.price) for row in self.prices),
            order_cost=self.settings.order_cost,
            holding_rate=self.settings.carrying_rate,
            pack_size=pack,
            least=packs,
            most=max(packs, int(self.yearly / 12 * self.settings.most_months)),
        )
        return found.quantity

    def _lead_use(self) -> int:
        return max(1, math.ceil(self.points.mean_daily * self.lead.days))

    @property
    def unit_price(self) -> Decimal | None:
        """Price of a piece at that quantity; None where none is entered."""
        return price_of(self.prices, self.quantity) if self.quantity else None

    @property
    def value(self) -> Decimal | None:
        """What the order of this part costs; None without a price."""
        return None if self.unit_price is None else self.quantity * self.unit_price

    @property
    def lasts_days(self) -> int | None:
        """Days that the cover lasts at the rate that is used; None where nothing is used."""
        return int(self.cover / self.points.mean_daily) if self.points.mean_daily else None

    @property
    def lasts(self) -> str:
        """How long the cover lasts, in days or, from two years on, in years; empty where nothing is used."""
        days = self.lasts_days
        if days is None:
            return ""
        if days >= 2 * DAYS_OF_A_YEAR:
            return f"{round(days / DAYS_OF_A_YEAR)} years"
        return f"{days} day{'' if days == 1 else 's'}"


def order_plans(*, on: date, parts: Collection[int] | None = None) -> list[OrderPlan]:
    """Return the plan of every part, or of those with these keys, by number.

    The number of queries does not grow with parts, movements or orders. Raises RuleBroken for a
    setting that no sum can work with.
    """
    settings = stores_settings()
    rows = Part.objects.order_by("number")
    if parts is not None:
        rows = rows.filter(pk__in=parts)
    usage = weekly_usage(on=on, weeks=settings.usage_weeks, parts=parts)
    facts = order_facts(on=on, settings=settings, parts=parts)
    wanted = known_demand(on)
    plans = []
    for part in rows:
        sold = facts.sold.get(part.pk)
        lead = facts.lead_of(part.pk, sold)
        used = usage.get(part.pk)
        demand = _demand(used, settings) if used else None
        points = reorder_points(usage=used, demand=demand, lead=lead, settings=settings)
        stock = facts.stock_of(part.pk)
        plans.append(
            OrderPlan(
                part=part,
                sold=sold,
                prices=facts.prices.get(sold.pk, []) if sold else [],
                usage=used,
                demand=demand,
                stock=stock,
                expiring=_expiring(stock, points.mean_daily, on),
                lead=lead,
                points=points,
                settings=settings,
                open_work=wanted[part.pk],
            )
        )
    return plans


def _demand(usage: Usage, settings: StoresSettings) -> DemandRate:
    return demand_rate(
        demands=usage.weekly,
        alpha=settings.smoothing,
        interval_limit=settings.interval_limit,
        variation_limit=settings.variation_limit,
    )


def reorder_points(
    *,
    usage: Usage | None,
    demand: DemandRate | None,
    lead: LeadTime,
    settings: StoresSettings,
) -> Points:
    """Return the reorder point by each way, and which one is used and why."""
    if usage is None or demand is None or demand.rate is None:
        return Points(normal=0, poisson=0, corrected=0, used=NONE, why="nothing was used", mean_daily=0.0)
    mean_daily = demand.mean / 7
    sd_daily = _sd(usage.weekly) / 7**0.5
    steady, corrected = (
        reorder_point(
            mean_daily=mean,
            sd_daily=sd_daily,
            lead_days=lead.days,
            service=settings.service,
            sd_lead_days=lead.sd_days,
        )
        for mean in (mean_daily, demand.rate / 7)
    )
    slow = poisson_stock(mean_lead_demand=mean_daily * lead.days, service=settings.service)
    used, why = _way(demand, steady.lead_demand)
    return Points(
        normal=_pieces(steady.reorder_point),
        poisson=slow.stock,
        corrected=_pieces(corrected.reorder_point),
        used=used,
        why=why,
        mean_daily=demand.rate / 7 if used == CORRECTED else mean_daily,
    )


def _way(demand: DemandRate, lead_demand: float) -> tuple[str, str]:
    if demand.pattern != "smooth":
        return CORRECTED, (
            f"{demand.pattern}: a week with use every {demand.mean_interval:.1f} weeks, square of the "
            f"variation {demand.variation_squared:.2f}"
        )
    if lead_demand < FEW_PIECES:
        return POISSON, f"smooth, and only {lead_demand:.1f} pieces until the delivery"
    return NORMAL, f"smooth, and {lead_demand:.0f} pieces until the delivery"


def _sd(weekly: tuple[int, ...]) -> float:
    """Return the standard deviation with n - 1; 0 for one week. For so few numbers faster than NumPy."""
    mean = sum(weekly) / len(weekly)
    return math.sqrt(math.fsum((one - mean) ** 2 for one in weekly) / max(1, len(weekly) - 1))


def _pieces(point: float) -> int:
    """Round up to whole pieces; what a float missed by a hair is still whole."""
    return math.ceil(point - 1e-9)


def _expiring(stock: Stock, mean_daily: float, on: date) -> int:
    dated = [(use_by, pieces) for use_by, pieces in stock.lots if use_by is not None]
    if not dated:
        return 0
    return unused_at_expiry(
        pieces=tuple(pieces for _use_by, pieces in dated),
        days_left=tuple((use_by - on).days for use_by, _left in dated),
        mean_daily=mean_daily,
    ).unused

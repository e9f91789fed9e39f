"""The shop's own figures for ordering, as the lead has set them."""

from dataclasses import dataclass
from typing import Any

from shop.errors import RuleBroken
from shop.models import LimitSetting

# key -> (least, most): outside it no sum can answer.
RANGES = {
    "usage-weeks": (8, 520),
    "service": (0.5, 0.9999),
    "lead-days": (0, 365),
    "lead-orders": (2, 1000),
    "smoothing": (0.01, 1),
    "interval-limit": (1, 1000),
    "variation-limit": (0, 1000),
    "order-cost": (0.01, 1e6),
    "carrying-rate": (0.01, 10),
    "most-months": (1, 240),
    "expiring-days": (1, 3650),
    "dead-months": (1, 240),
}


@dataclass(frozen=True, kw_only=True)
class StoresSettings:
    """Figures that ordering rests on; see the settings whose keys begin with ``stores-``."""

    usage_weeks: int
    service: float
    lead_days: int
    lead_orders: int
    smoothing: float
    interval_limit: float
    variation_limit: float
    order_cost: float
    carrying_rate: float
    most_months: int
    expiring_days: int
    dead_months: int


def stores_settings() -> StoresSettings:
    """Read the settings. Raises RuleBroken that names one that no sum can work with."""
    rows = {row.key: row for row in LimitSetting.objects.filter(key__startswith="stores-")}
    values: dict[str, Any] = {}
    for name, (least, most) in RANGES.items():
        row = rows[f"stores-{name}"]
        if not least <= row.value <= most:
            raise RuleBroken(
                f"“{row.title}” stands at {row.value:g}. Set it to {least:g} to {most:g} on the page Shop."
            )
        field = name.replace("-", "_")
        whole = StoresSettings.__annotations__[field] is int
        values[field] = round(row.value) if whole else row.value
    return StoresSettings(**values)

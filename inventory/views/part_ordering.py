"""Of a part's page: who sells it, when to order it, and how it was used."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from inventory.models import Part
from inventory.models.supplier_part import prices_on
from inventory.services.order_plan import order_plans
from inventory.services.usage import Usage

WIDTH, HEIGHT, LEFT, BOTTOM, TOP, LABEL = 720, 200, 44, 30, 10, 80


@dataclass(frozen=True)
class Bar:
    """One week of the chart: where it stands, and what it says."""

    left: float
    top: float
    width: float
    height: float
    begins: date
    pieces: int


@dataclass(frozen=True)
class Tick:
    """A line across the chart with its number."""

    top: float
    pieces: int


@dataclass(frozen=True)
class UsageChart:
    """The use of a part by week, laid out on a field of ``WIDTH`` by ``HEIGHT``."""

    bars: list[Bar]
    ticks: list[Tick]
    used: int

    width = WIDTH
    height = HEIGHT
    left = LEFT
    base = HEIGHT - BOTTOM

    @property
    def words(self) -> str:
        """What the chart shows, for those who do not see it."""
        most = max(self.bars, key=lambda bar: bar.pieces)
        return (
            f"{self.used} pieces used in {len(self.bars)} weeks; most, {most.pieces}, in the week from "
            f"{most.begins:%d %b %Y}."
        )

    @property
    def labelled(self) -> list[Bar]:
        """The bars whose dates are written below, as many as have room."""
        some = self.bars[:: max(1, len(self.bars) // 6)]
        return [bar for bar in some if bar.left < WIDTH - LABEL]


def usage_chart(usage: Usage, on: date) -> UsageChart:
    """Lay out the use of a part; the last week ended the day before ``on``."""
    weeks = len(usage.weekly)
    step, highest = _steps(max(usage.weekly))
    tall = HEIGHT - BOTTOM - TOP
    slot = (WIDTH - LEFT) / weeks
    bars = [
        Bar(
            left=round(LEFT + slot * number + slot * 0.1, 2),
            top=round(TOP + tall * (1 - pieces / highest), 2),
            width=round(slot * 0.8, 2),
            height=round(tall * pieces / highest, 2),
            begins=on - timedelta(days=7 * (weeks - number)),
            pieces=pieces,
        )
        for number, pieces in enumerate(usage.weekly)
    ]
    ticks = [
        Tick(top=round(TOP + tall * (1 - pieces / highest), 2), pieces=pieces)
        for pieces in range(0, highest + 1, step)
    ]
    return UsageChart(bars=bars, ticks=ticks, used=usage.used)


def _steps(most: int) -> tuple[int, int]:
    """Return a round step, of which at most five reach the highest bar, and where the last one lies."""
    size = 1
    while True:
        for step in (size, 2 * size, 5 * size):
            if step * 5 >= most:
                return step, step * max(1, -(-most // step))
        size *= 10


def part_ordering(part: Part, on: date) -> dict[str, Any]:
    """Return what the part's page shows of suppliers, prices, order plan and use."""
    sellers = part.supplier_parts.select_related("supplier").prefetch_related("price_breaks")
    (plan,) = order_plans(on=on, parts=[part.pk])
    open_lines = part.order_lines.with_received().filter(order__state__in=["drafted", "sent", "partly"])
    return {
        "sellers": [(row, prices_on(list(row.price_breaks.all()), on)) for row in sellers],
        "plan": plan,
        "chart": usage_chart(plan.usage, on) if plan.usage else None,
        "open_lines": open_lines.select_related("order__supplier").order_by("-order"),
    }

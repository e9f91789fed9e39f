"""What ordering needs to know of every part: stock, orders, suppliers, prices, deliveries."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import numpy as np
from django.db.models import F, Min, Q
from django.utils import timezone

from inventory.models import Balance, Lot, OrderLine, PriceBreak, PurchaseOrder, SupplierPart
from inventory.models.supplier_part import prices_on
from inventory.services.stock import KIT_PREFIX
from inventory.services.stores_settings import StoresSettings

Keys = Collection[int] | None


@dataclass(kw_only=True)
class Stock:
    """Usable pieces of a part, where they are promised, and those that are to come."""

    lots: list[tuple[date | None, int]] = field(default_factory=list)  # on the shelf, with their use-by date
    promised: int = 0
    ordered: int = 0
    drafted: int = 0

    @property
    def shelf(self) -> int:
        """Usable pieces on the shelf; those in packed kits are promised and not among them."""
        return sum(pieces for _use_by, pieces in self.lots)


@dataclass(frozen=True, kw_only=True)
class LeadTime:
    """Days from sending an order to its first delivery, their spread, and how that is known."""

    days: float
    sd_days: float = 0.0
    basis: str = ""


@dataclass(frozen=True, kw_only=True)
class OrderFacts:
    """Everything that is known, by the key of the part."""

    stock: dict[int, Stock]
    sold: dict[int, SupplierPart]
    prices: dict[int, list[PriceBreak]]  # by the key of the supplier's part
    deliveries: dict[tuple[int, int], list[int]]  # part, supplier -> days of each delivery
    settings: StoresSettings

    def stock_of(self, part: int) -> Stock:
        """Return what is there and to come of a part."""
        return self.stock.get(part) or Stock()

    def lead_of(self, part: int, sold: SupplierPart | None) -> LeadTime:
        """Return the lead time: of the shop's own orders where there are enough, else as entered."""
        if sold is None:
            return LeadTime(days=self.settings.lead_days, basis="a guess of the shop: no supplier is entered")
        days = self.deliveries.get((part, sold.supplier_id), [])
        if len(days) >= self.settings.lead_orders:
            return LeadTime(
                days=float(np.mean(days)),
                sd_days=float(np.std(days, ddof=1)),
                basis=f"{len(days)} deliveries of this supplier",
            )
        return LeadTime(days=sold.lead_days, basis="as entered for this supplier")


def order_facts(*, on: date, settings: StoresSettings, parts: Keys = None) -> OrderFacts:
    """Read the facts of every part, or of those with these keys; five queries."""
    sold = {
        row.part_id: row
        for row in _of(SupplierPart.objects.filter(preferred=True), "part", parts).select_related("supplier")
    }
    return OrderFacts(
        stock=stock_by_part(on=on, parts=parts),
        sold=sold,
        prices=_prices(on, parts),
        deliveries=_deliveries(parts),
        settings=settings,
    )


def _of(rows: Any, name: str, parts: Keys) -> Any:
    return rows if parts is None else rows.filter(**{f"{name}__in": parts})


def stock_by_part(*, on: date, parts: Keys = None) -> dict[int, Stock]:
    """Return what is usable on a day and what is to come, by the key of the part; two queries."""
    found: dict[int, Stock] = defaultdict(Stock)
    fresh = Q(lot__use_by__isnull=True) | Q(lot__use_by__gte=on)
    states = [Lot.State.ACCEPTED, Lot.State.QUARANTINED]
    usable = Balance.objects.filter(fresh, lot__state__in=states, quantity__gt=0)
    held = _of(usable, "lot__part", parts).order_by()
    names = ("lot__part", "lot__state", "lot__use_by", "place", "quantity")
    for part, state, use_by, place, pieces in held.values_list(*names):
        if state == Lot.State.QUARANTINED:
            found[part].ordered += pieces  # here, but still to come as far as the bench is concerned
        elif place.startswith(KIT_PREFIX):
            found[part].promised += pieces
        else:
            found[part].lots.append((use_by, pieces))
    lines = OrderLine.objects.with_received().filter(order__in=PurchaseOrder.objects.open())
    coming = _of(lines, "part", parts).order_by()
    for part, state, quantity, received in coming.values_list("part", "order__state", "quantity", "received"):
        if state == PurchaseOrder.State.DRAFTED:
            found[part].drafted += quantity
        else:
            found[part].ordered += max(0, quantity - received)
    return found


def _prices(on: date, parts: Keys) -> dict[int, list[PriceBreak]]:
    rows = PriceBreak.objects.filter(supplier_part__preferred=True, valid_from__lte=on).order_by()
    by_sold: dict[int, list[PriceBreak]] = defaultdict(list)
    for row in _of(rows, "supplier_part__part", parts):
        by_sold[row.supplier_part_id].append(row)
    return {key: prices_on(found, on) for key, found in by_sold.items()}


def _deliveries(parts: Keys) -> dict[tuple[int, int], list[int]]:
    """Return the days from sending an order to the first lot of each of its lines."""
    lots = _of(Lot.objects.filter(order_line__order__sent_at__isnull=False), "part", parts)
    lines = (
        lots.order_by()
        .values("order_line", "part", "supplier", sent=F("order_line__order__sent_at"))
        .annotate(first=Min("received_on"))
    )
    found: dict[tuple[int, int], list[int]] = defaultdict(list)
    for line in lines:
        days = (line["first"] - timezone.localtime(line["sent"]).date()).days
        found[line["part"], line["supplier"]].append(max(0, days))
    return found

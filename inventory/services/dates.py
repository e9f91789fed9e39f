"""What time does to the stores: lots that expire soon, and parts that nobody uses any more."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from dateutil.relativedelta import relativedelta
from django.db.models import F, Max, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce
from django.utils import timezone

from inventory.calc.expiry import unused_at_expiry
from inventory.models import Balance, Lot, Movement, Part
from inventory.services.order_plan import order_plans
from inventory.services.stock import KIT_PREFIX


@dataclass(frozen=True, kw_only=True)
class ExpiringLot:
    """A lot that expires soon, with what of it will probably be used before."""

    lot: Lot
    days_left: int
    shelf: int
    packed: int
    unused: int

    @property
    def value(self) -> Decimal | None:
        """What the pieces that expire unused have cost; None where no cost was entered."""
        return None if self.lot.unit_cost is None else self.unused * self.lot.unit_cost


def expiring_lots(*, on: date, days: int) -> list[ExpiringLot]:
    """Return the usable lots with pieces left that expire within so many days, the first to expire first.

    Which of their pieces will be used before follows from the use of the part and from the lots
    that expire before. The number of queries does not grow.
    """
    soon = Lot.objects.usable(on=on).filter(use_by__lte=on + timedelta(days=days))
    parts = set(soon.with_stock().order_by().values_list("part", flat=True))
    rates = {plan.part.pk: plan.points.mean_daily for plan in order_plans(on=on, parts=parts)}
    found: list[ExpiringLot] = []
    for part, lots in _dated_lots(parts, on).items():
        found += _with_use(lots, rates[part], on)
    return sorted(
        (row for row in found if row.days_left <= days and row.shelf + row.packed),
        key=lambda row: (row.days_left, row.lot.number),
    )


def _dated_lots(parts: set[int], on: date) -> dict[int, list[tuple[Lot, int, int]]]:
    """Return every usable lot of the parts that can expire, with its pieces on the shelf and in kits."""
    rows = Lot.objects.usable(on=on).filter(part__in=parts, use_by__isnull=False)
    found: dict[int, list[tuple[Lot, int, int]]] = defaultdict(list)
    for lot in rows.select_related("part", "supplier").prefetch_related("balances"):
        packed = sum(row.quantity for row in lot.balances.all() if row.place.startswith(KIT_PREFIX))
        found[lot.part_id].append((lot, lot.pieces_left - packed, packed))
    return found


def _with_use(lots: list[tuple[Lot, int, int]], mean_daily: float, on: date) -> list[ExpiringLot]:
    """Tell for each lot of one part what of it is used in time."""
    told = sorted((_left(lot, on), shelf, packed, lot.pk, lot) for lot, shelf, packed in lots)
    used = unused_at_expiry(
        pieces=tuple(shelf for _days, shelf, *_rest in told),
        days_left=tuple(days for days, *_rest in told),
        mean_daily=mean_daily,
    )
    return [
        ExpiringLot(lot=lot, days_left=days, shelf=shelf, packed=packed, unused=row.unused)
        for (days, shelf, packed, _pk, lot), row in zip(told, used.lots, strict=True)
    ]


def _left(lot: Lot, on: date) -> int:
    assert lot.use_by
    return (lot.use_by - on).days


def dead_stock(*, on: date, months: int) -> "QuerySet[Part]":
    """Return the parts of which pieces lie there and none was used for so many months.

    A part that came in since is not dead yet. With ``held`` pieces, their ``value``, ``last_used``
    and ``last_received``; what was put back was not used.
    """
    since = on - relativedelta(months=months)
    begin = timezone.make_aware(datetime.combine(since, time.min))
    # ``startswith`` leaves the index of kinds alone: SQLite would read every use in it for each lot.
    used = {"kind__startswith": Movement.Kind.USED, "returned_by": None}
    rows = Part.objects.annotate(
        held=Coalesce(_of_part(Balance, "lot__part", Sum("quantity")), 0),
        value=_of_part(Balance, "lot__part", Sum(F("quantity") * F("lot__unit_cost"))),
        last_used=_of_part(Movement, "lot__part", Max("at"), **used),
        last_received=_of_part(Lot, "part", Max("received_on")),
    )
    unused = Q(last_used__isnull=True) | Q(last_used__lt=begin)
    found = rows.filter(unused, held__gt=0, last_received__lt=since)
    return found.order_by(F("value").desc(nulls_last=True), "number")


def _of_part(model: Any, name: str, figure: Any, **narrowed: Any) -> Subquery:
    rows = model.objects.filter(**{name: OuterRef("pk")}, **narrowed).order_by()
    return Subquery(rows.values(name).annotate(figure=figure).values("figure"))

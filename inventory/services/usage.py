"""What the shop uses: pieces of each part by week, summed by the database from the ledger."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import DateTimeField, F, Func, IntegerField, Min, Sum, Value
from django.db.models.functions import Coalesce
from django.utils import timezone

from inventory.models import Lot, Movement

WEEK = timedelta(days=7)
FEWEST_WEEKS = 8  # of a part that is new: fewer would make a habit of its first use


class Periods(Func):
    """Whole periods of so many days between a later and an earlier time, told by the database itself.

    Django's own truncation runs as Python for every row on SQLite.
    """

    output_field = IntegerField()

    def __init__(self, later: Any, earlier: datetime, *, days: int) -> None:
        super().__init__(later, Value(earlier, output_field=DateTimeField()), days=days)

    def as_sqlite(self, compiler: Any, connection: Any, **context: Any) -> Any:
        """Count by Julian days."""
        template = "CAST((julianday(%(expressions)s)) / %(days)s AS INTEGER)"
        return self.as_sql(compiler, connection, template=template, arg_joiner=") - julianday(", **context)

    def as_postgresql(self, compiler: Any, connection: Any, **context: Any) -> Any:
        """Count by the seconds between."""
        template = "FLOOR(EXTRACT(EPOCH FROM (%(expressions)s)) / (86400.0 * %(days)s))::integer"
        return self.as_sql(compiler, connection, template=template, arg_joiner=" - ", **context)


@dataclass(frozen=True, kw_only=True)
class Usage:
    """Pieces of one part used in each week, the oldest first; the last week ended yesterday."""

    weekly: tuple[int, ...]

    @property
    def used(self) -> int:
        """Pieces used in all the weeks."""
        return sum(self.weekly)


def weekly_usage(*, on: date, weeks: int, parts: Collection[int] | None = None) -> dict[int, Usage]:
    """Return the use of each part that was used, by its key, over so many weeks before a day.

    Used less put back, on the day of the use. A part whose first lot came later than the window
    began is looked at from that day on, but for no fewer than eight weeks. Two queries.
    """
    end = timezone.make_aware(datetime.combine(on, time.min))
    start = end - weeks * WEEK
    found: dict[int, dict[int, int]] = defaultdict(dict)
    for part, week, pieces in _by_week(start, end, parts):
        found[part][week] = pieces
    first = _first_lots(found if parts is None else parts, all_parts=parts is None)
    return {
        part: Usage(weekly=_filled(by_week, weeks, _weeks_known(first[part], on)))
        for part, by_week in found.items()
    }


def _by_week(start: datetime, end: datetime, parts: Collection[int] | None) -> Any:
    rows = Movement.objects.filter(kind=Movement.Kind.USED, at__gte=start, at__lt=end)
    if parts is not None:
        rows = rows.filter(lot__part__in=parts)
    kept = -F("quantity") - Coalesce(F("returned_by__quantity"), 0)
    weekly = rows.order_by().annotate(week=Periods(F("at"), start, days=7))
    return weekly.values_list("lot__part", "week").annotate(pieces=Sum(kept)).filter(pieces__gt=0)


def _first_lots(parts: Collection[int], *, all_parts: bool) -> dict[int, date]:
    lots = Lot.objects.order_by()
    if not all_parts:
        lots = lots.filter(part__in=parts)
    return dict(lots.values_list("part").annotate(first=Min("received_on")))


def _weeks_known(first: date, on: date) -> int:
    return max(FEWEST_WEEKS, -(-(on - first).days // 7))


def _filled(by_week: dict[int, int], weeks: int, known: int) -> tuple[int, ...]:
    """Return the pieces of every week, 0 where there were none; an old use is never cut off."""
    begin = min(max(0, weeks - known), *by_week)
    return tuple(by_week.get(week, 0) for week in range(begin, weeks))

"""What rebuilds cost and earned: sums made by the database, margins by unit type.

Sums are kept with the decimals of what was entered. Each of parts, outside work and labour of a
rebuild is then rounded to the cent, half up, and everything after is reckoned with these cents, so
that the figures of a page add up. What is not known is counted, never taken for zero.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property
from statistics import mean, median, quantiles
from typing import Any

from django.db.models import (
    Case,
    CharField,
    Count,
    DecimalField,
    Exists,
    ExpressionWrapper,
    F,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.functions import Coalesce
from django.utils import timezone

from shop.models import LabourRate
from workorders.models import (
    Claim,
    GoAhead,
    InvoicedPrice,
    OutsideWork,
    PartUsed,
    Quote,
    Rebuild,
    Release,
    WorkTime,
)

CENT = Decimal("0.01")
MINUTES_IN_HOUR = 60
MONEY: Any = DecimalField(max_digits=16, decimal_places=4)
NOTHING = Value(Decimal(0), output_field=MONEY)
SOURCES = {
    "invoiced": "invoiced",
    "warranty": "warranty, nothing is charged",
    "quote": "quoted and agreed",
    "ceiling": "ceiling of the go-ahead, at most",
    "": "not recorded",
}


def cents(value: Decimal) -> Decimal:
    """Round money to the cent, half up."""
    return value.quantize(CENT, ROUND_HALF_UP)


@dataclass(frozen=True, kw_only=True)
class Account:
    """What one rebuild cost and earned, in the shop's currency."""

    rebuild: Any
    price: Decimal | None
    source: str  # a key of SOURCES
    warranty: bool
    parts: Decimal  # of the pieces whose cost is known
    pieces_unknown: int
    outside: Decimal
    outside_unknown: int
    minutes: int
    minutes_unrated: int  # on days for which no rate is entered
    labour: Decimal | None  # None without minutes, and where a rate is missing

    @property
    def source_words(self) -> str:
        """Where the price is from."""
        return SOURCES[self.source]

    @property
    def known(self) -> bool:
        """Whether every cost before labour is known."""
        return not self.pieces_unknown and not self.outside_unknown

    @property
    def cost(self) -> Decimal:
        """Parts and outside work, as far as known."""
        return self.parts + self.outside

    @property
    def before_labour(self) -> Decimal | None:
        """Price less parts and outside work; at most that, where a cost is not known."""
        return None if self.price is None else self.price - self.cost

    @property
    def margin(self) -> Decimal | None:
        """What is left after labour; None where no labour is reckoned."""
        before = self.before_labour
        return None if before is None or self.labour is None else before - self.labour

    @property
    def unknown_words(self) -> str:
        """What is not known of the cost, in words; empty where all is."""
        told = []
        if self.pieces_unknown:
            told.append(f"{self.pieces_unknown} piece{'' if self.pieces_unknown == 1 else 's'}")
        if self.outside_unknown:
            works = "outside work" if self.outside_unknown == 1 else "outside works"
            told.append(f"{self.outside_unknown} {works}")
        return f"not known for {' and '.join(told)}" if told else ""


def with_costs(rows: "QuerySet[Rebuild]") -> "QuerySet[Any]":
    """Add to rebuilds what they cost and earned; ``account_of`` reads it. One query for all rows."""
    used = PartUsed.objects.filter(taken_back__isnull=True)
    outside = OutsideWork.objects.filter(cancelled_at__isnull=True)
    worked = WorkTime.objects.filter(replaced_by__isnull=True)
    rate = LabourRate.objects.holding(on=OuterRef("worked_on")).values("per_hour")[:1]
    # Hours of money: divided by 60 only at the end, so that the sum is exact.
    rated = worked.annotate(rate=Subquery(rate))
    by_minute = ExpressionWrapper(F("minutes") * F("rate"), output_field=MONEY)
    costed: QuerySet[Any] = _with_price(rows).annotate(
        parts_sum=_sum(used, F("quantity") * F("lot__unit_cost"), MONEY),
        pieces_unknown=_sum(used.filter(lot__unit_cost__isnull=True), F("quantity")),
        outside_sum=_sum(outside, F("price"), MONEY),
        outside_unknown=_count(outside.filter(price__isnull=True)),
        minutes=_sum(worked, F("minutes")),
        minutes_unrated=_sum(rated.filter(rate__isnull=True), F("minutes")),
        labour_sixtieths=_sum(rated, by_minute, MONEY),
        margin_sort=F("price") - F("parts_sum") - F("outside_sum"),
        cost_sort=F("parts_sum") + F("outside_sum"),
    )
    return costed


def _with_price(rows: "QuerySet[Rebuild]") -> "QuerySet[Any]":
    """Add the price and where it is from: the invoice; nothing under warranty; what was agreed."""
    invoiced = InvoicedPrice.objects.filter(rebuild=OuterRef("pk"), replaced_by__isnull=True)
    quoted = Quote.objects.filter(rebuild=OuterRef("pk")).order_by("-pk")
    ceiling = GoAhead.objects.filter(rebuild=OuterRef("pk"), price_ceiling__isnull=False).order_by("-pk")
    claim = Claim.objects.filter(rebuild=OuterRef("pk")).exclude(judgement=Claim.Judgement.DECLINED)
    told = rows.annotate(
        invoiced=Subquery(invoiced.values("amount")[:1]),
        quoted=Subquery(quoted.values("amount")[:1]),
        ceiling=Subquery(ceiling.values("price_ceiling")[:1]),
        warranty_claim=Exists(claim),
    )
    cases: list[tuple[str, Q, Any]] = [
        ("invoiced", Q(invoiced__isnull=False), F("invoiced")),
        ("warranty", Q(warranty_claim=True), NOTHING),
        ("quote", Q(ceiling__isnull=False, quoted__lte=F("ceiling")), F("quoted")),
        ("ceiling", Q(ceiling__isnull=False), F("ceiling")),
    ]
    return told.annotate(
        price=Case(*(When(when, then=then) for _name, when, then in cases), output_field=MONEY),
        price_from=Case(
            *(When(when, then=Value(name)) for name, when, _then in cases),
            default=Value(""),
            output_field=CharField(),
        ),
    )


def _sum(rows: "QuerySet[Any]", what: Any, field: Any = None) -> Coalesce:
    """Return the sum over the rows of one rebuild; nothing where there are none."""
    field = field or IntegerField()
    of_one = rows.filter(rebuild=OuterRef("pk")).order_by().values("rebuild")
    total = of_one.annotate(total=Sum(what, output_field=field)).values("total")
    nothing = NOTHING if field is MONEY else Value(0)
    return Coalesce(Subquery(total, output_field=field), nothing, output_field=field)


def _count(rows: "QuerySet[Any]") -> Coalesce:
    of_one = rows.filter(rebuild=OuterRef("pk")).order_by().values("rebuild")
    total = of_one.annotate(total=Count("pk")).values("total")
    return Coalesce(Subquery(total, output_field=IntegerField()), Value(0))


def account_of(row: Any) -> Account:
    """Return the account of a rebuild read by ``with_costs``, rounded to cents."""
    rated = row.minutes and not row.minutes_unrated
    return Account(
        rebuild=row,
        price=None if row.price is None else cents(row.price),
        source=row.price_from,
        warranty=row.warranty_claim,
        parts=cents(row.parts_sum),
        pieces_unknown=row.pieces_unknown,
        outside=cents(row.outside_sum),
        outside_unknown=row.outside_unknown,
        minutes=row.minutes,
        minutes_unrated=row.minutes_unrated,
        labour=cents(row.labour_sixtieths / MINUTES_IN_HOUR) if rated else None,
    )


def account(rebuild: Rebuild) -> Account:
    """Return what one rebuild cost and earned."""
    return account_of(with_costs(Rebuild.objects.filter(pk=rebuild.pk)).get())


def cost_by_lot(rebuild: Rebuild) -> Any:
    """Return the pieces that a rebuild used, lot by lot, with what they cost together."""
    used = rebuild.parts_used.filter(taken_back__isnull=True).order_by("lot__part__number", "lot__number")
    named = used.values("lot__number", "lot__part__number", "lot__part__name", "lot__unit_cost")
    cost = Sum(F("quantity") * F("lot__unit_cost"), output_field=MONEY)
    return named.annotate(pieces=Sum("quantity"), cost=cost)


@dataclass(frozen=True, kw_only=True)
class Period:
    """Which rebuilds: first released from one day to another, both counted; of one type where named."""

    start: date | None = None
    end: date | None = None
    unit_type: Any = None


def released_rebuilds(period: Period) -> "QuerySet[Any]":
    """Return the rebuilds of a period with their costs, and when each was released."""
    first = Release.objects.filter(rebuild=OuterRef("pk"), replaces__isnull=True)
    rows = Rebuild.objects.annotate(released_at=Subquery(first.values("at")[:1]))
    rows = rows.filter(released_at__isnull=False)
    if period.start:
        rows = rows.filter(released_at__gte=_midnight(period.start))
    if period.end:
        rows = rows.filter(released_at__lt=_midnight(period.end + timedelta(days=1)))
    if period.unit_type:
        rows = rows.filter(unit__unit_type=period.unit_type)
    return with_costs(rows)


def _midnight(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))


@dataclass(frozen=True, kw_only=True)
class Figures:
    """Median, mean and middle half of amounts, to the cent; None without amounts."""

    amounts: tuple[Decimal, ...]

    @cached_property
    def median(self) -> Decimal | None:
        """The middle amount, or the mean of the two in the middle."""
        return cents(median(self.amounts)) if self.amounts else None

    @cached_property
    def mean(self) -> Decimal | None:
        """The arithmetic mean."""
        return cents(mean(self.amounts)) if self.amounts else None

    @cached_property
    def middle_half(self) -> tuple[Decimal, Decimal] | None:
        """The lower and upper quartile, interpolated between the amounts; None for fewer than two."""
        if len(self.amounts) < 2:
            return None
        low, _middle, high = quantiles(self.amounts, n=4, method="inclusive")
        return cents(low), cents(high)


@dataclass(frozen=True, kw_only=True)
class TypeMargin:
    """What the rebuilds of one unit type cost and earned.

    The figures are those of the rebuilds whose price and cost are known; the others are counted.
    """

    unit_type: Any
    accounts: tuple[Account, ...]

    @property
    def count(self) -> int:
        """All rebuilds."""
        return len(self.accounts)

    @cached_property
    def reckoned(self) -> list[Account]:
        """Those of which price and cost are known."""
        return [one for one in self.accounts if one.known and one.price is not None]

    @property
    def unpriced(self) -> int:
        """Rebuilds without a price."""
        return sum(one.price is None for one in self.accounts)

    @property
    def unknown_percent(self) -> Decimal:
        """Share of the rebuilds of which some cost is not known, in percent."""
        unknown = sum(not one.known for one in self.accounts)
        return (Decimal(100 * unknown) / self.count).quantize(Decimal(1), ROUND_HALF_UP)

    @cached_property
    def price(self) -> Figures:
        """Of the prices."""
        return Figures(amounts=tuple(one.price for one in self.reckoned if one.price is not None))

    @cached_property
    def cost(self) -> Figures:
        """Of parts and outside work."""
        return Figures(amounts=tuple(one.cost for one in self.reckoned))

    @cached_property
    def before_labour(self) -> Figures:
        """Of the margins before labour."""
        found = (one.before_labour for one in self.reckoned)
        return Figures(amounts=tuple(one for one in found if one is not None))

    @cached_property
    def margin(self) -> Figures:
        """Of the margins after labour, of the rebuilds for which hours and their rate are recorded."""
        return Figures(amounts=tuple(one.margin for one in self.reckoned if one.margin is not None))


def by_type(rows: "Iterable[Any]") -> list[TypeMargin]:
    """Return the margins of rebuilds by unit type, in the order of their codes."""
    found: dict[Any, list[Account]] = {}
    for row in rows:
        found.setdefault(row.unit.unit_type, []).append(account_of(row))
    ordered = sorted(found.items(), key=lambda pair: pair[0].code)
    return [TypeMargin(unit_type=kind, accounts=tuple(rows)) for kind, rows in ordered]

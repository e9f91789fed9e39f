"""The columns of margins, by unit type and one by one, as files."""

from typing import Any

from django.db.models import F

from shop.views.tables import Column, Table
from workorders.services.margins import Account, TypeMargin


def _half(kind: TypeMargin, side: int) -> Any:
    half = kind.before_labour.middle_half
    return half[side] if half else None


# Any text sorts a list that is no queryset.
HERE = "here"
MARGINS = Table(
    "margins",
    (
        Column("Unit type", "unit_type.code", sort=HERE),
        Column("Name", "unit_type.name", sort=HERE),
        Column("Rebuilds", "count", sort=HERE),
        Column("Reckoned", lambda kind: len(kind.reckoned), sort=HERE),
        Column("No price", "unpriced", sort=HERE),
        Column("Cost unknown, %", "unknown_percent", sort=HERE),
        Column("Price, median", "price.median", sort=HERE),
        Column("Price, mean", "price.mean", sort=HERE),
        Column("Cost, median", "cost.median", sort=HERE),
        Column("Cost, mean", "cost.mean", sort=HERE),
        Column("Margin before labour, median", "before_labour.median", sort=HERE),
        Column("Margin before labour, mean", "before_labour.mean", sort=HERE),
        Column("Middle half from", lambda kind: _half(kind, 0), sort=HERE),
        Column("Middle half to", lambda kind: _half(kind, 1), sort=HERE),
        Column("With labour", lambda kind: len(kind.margin.amounts), sort=HERE),
        Column("Margin after labour, median", "margin.median", sort=HERE),
        Column("Margin after labour, mean", "margin.mean", sort=HERE),
    ),
)


def _released(one: Account) -> Any:
    return one.rebuild.released_at


REBUILD_MARGINS = Table(
    "margins-of-rebuilds",
    (
        Column("Unit", "rebuild.unit.serial", sort="unit__serial"),
        Column("Unit type", "rebuild.unit.unit_type.code", sort="unit__unit_type__code"),
        Column("Unit type's name", "rebuild.unit.unit_type.name"),
        Column("Work order", "rebuild.work_order.number", sort="work_order__number"),
        Column("Released", _released, sort="released_at"),
        Column("Price", "price", sort="price"),
        Column("Price is", "source_words"),
        Column("Parts", "parts", sort="parts_sum"),
        Column("Pieces of unknown cost", "pieces_unknown", sort="pieces_unknown"),
        Column("Outside work", "outside", sort="outside_sum"),
        Column("Outside works of unknown cost", "outside_unknown"),
        Column("Margin before labour", "before_labour", sort="margin_sort"),
        Column("Minutes", "minutes", sort="minutes"),
        Column("Labour", "labour"),
        Column("Margin after labour", "margin"),
        Column("Cost", "cost", sort=F("cost_sort")),
    ),
)

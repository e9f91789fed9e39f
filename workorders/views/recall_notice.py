"""The banner of recalls, on every page about a unit, a rebuild, a claim or a work order."""

from collections.abc import Mapping
from typing import Any

from django.db.models import Q
from django.http import HttpRequest

from shop.models import ShopProfile
from shop.roles import may
from workorders.models import (
    Claim,
    OutsideWork,
    PackingUnit,
    PressureTest,
    Rebuild,
    Release,
    Unit,
    Warranty,
    WorkOrder,
)
from workorders.services.recall_state import Carried, carried

# How the unit of a thing is named, for the things that a page may be about.
UNIT_OF: tuple[tuple[str, type, str], ...] = (
    ("unit", Unit, "pk"),
    ("rebuild", Rebuild, "unit_id"),
    ("test", PressureTest, "rebuild.unit_id"),
    ("release", Release, "rebuild.unit_id"),
    ("work", OutsideWork, "rebuild.unit_id"),
    ("claim", Claim, "warranty.rebuild.unit_id"),
    ("warranty", Warranty, "rebuild.unit_id"),
)
MOST_NAMED = 40  # units of a work order


def recall_notice(request: HttpRequest, context: Mapping[str, Any]) -> tuple[str, dict[str, Any]] | None:
    """Say which recalls the unit of a page carries; one query where it carries none."""
    unit = unit_of(context)
    if unit is None:
        return _order_notice(request, context)
    rows = carried([unit]).get(unit, [])
    if not may(request.user, "see"):
        told = [row for row in rows if not row.let_go]
        return ("workorders/_recall_public.html", {"rows": told, "profile": _profile()}) if told else None
    return ("workorders/_recall_notice.html", _shown(request, rows)) if rows else None


def unit_of(context: Mapping[str, Any]) -> int | None:
    """Return the key of the unit that a page is about; None where it is about something else."""
    for name, kind, path in UNIT_OF:
        row = context.get(name)
        if isinstance(row, kind):
            for step in path.split("."):
                row = getattr(row, step)
            return row  # type: ignore[return-value]
    return None


def _order_notice(request: HttpRequest, context: Mapping[str, Any]) -> tuple[str, dict[str, Any]] | None:
    """Name the affected units of a work order that are here, and of what lies in its parcels."""
    order = context.get("order")
    if not isinstance(order, WorkOrder):
        return None
    lying = PackingUnit.objects.lying().filter(parcel__packing__work_order=order)
    here = Q(work_order=order, packed__isnull=True) | Q(pk__in=lying.values("rebuild"), packed__isnull=True)
    units = Rebuild.objects.filter(here).order_by("pk").values_list("unit_id", flat=True)[:MOST_NAMED]
    rows = [row for told in carried(list(units)).values() for row in told if row.stops]
    return ("workorders/_recall_notice.html", _shown(request, rows, named=True)) if rows else None


def _shown(request: HttpRequest, rows: list[Carried], *, named: bool = False) -> dict[str, Any]:
    return {"rows": rows, "named": named, "may_decide": may(request.user, "recall_decide")}


def _profile() -> ShopProfile | None:
    return ShopProfile.objects.first()

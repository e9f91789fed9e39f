"""Trace both ways: the units that a lot went into, and the lots of one unit."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from inventory.models import Lot
from shop.views.answers import needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from workorders.models import Unit
from workorders.services.where_used import WHERE, UnitWith, lots_in_unit, where_used
from workorders.views import columns, trails

SHOWS = (("inside", "sits in the unit"), ("out", "renewed since"), ("all", "all"))
WARRANTIES = (("in", "in warranty"), ("not", "out of warranty, or none"))


@require_GET
@needs("see")
def lot_units(request: HttpRequest, number: str) -> HttpResponse:
    """Every unit that a lot went into: narrowed, sorted, as a file, or printed."""
    lot = get_object_or_404(Lot.objects.select_related("part", "supplier"), number=number)
    found = where_used([lot], on=timezone.localdate())
    asked = {name: request.GET.get(name, "") for name in ("show", "where", "warranty")}
    text = searched(request)
    rows = in_order(request, columns.WHERE_USED, _narrowed(found.units, text=text, **asked))
    context = {
        "lot": lot,
        "found": found,
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "text": text,
        **asked,
        "shows": SHOWS,
        "wheres": WHERE,
        "warranties": WARRANTIES,
        "narrowed": bool(text or any(asked.values())),
        "trail": [("Lots", reverse("inventory:lots")), (lot.number, lot.get_absolute_url())],
    }
    return answer_list(request, "workorders/where_used.html", context, table=columns.WHERE_USED, rows=rows)


def _narrowed(units: list[UnitWith], *, show: str, where: str, warranty: str, text: str) -> list[UnitWith]:
    """Return the units that fit every filter; a value that there is not narrows nothing."""
    rows = units
    if show in ("inside", "out"):
        rows = [unit for unit in rows if bool(unit.inside) == (show == "inside")]
    if where in dict(WHERE):
        rows = [unit for unit in rows if unit.where == where]
    if warranty in ("in", "not"):
        rows = [unit for unit in rows if unit.in_warranty == (warranty == "in")]
    for word in text.casefold().split():
        rows = [unit for unit in rows if word in _searchable(unit)]
    return rows


def _searchable(unit: UnitWith) -> str:
    at = unit.at
    return f"{at.serial} {at.type_code} {at.type_name} {at.customer} {at.work_order} {at.shipment}".casefold()


@require_GET
@needs("see")
def unit_lots(request: HttpRequest, serial: str) -> HttpResponse:
    """Every lot of a unit, place by place, down to the lots inside made ones."""
    unit = get_object_or_404(Unit.objects.select_related("unit_type"), serial=serial)
    rows = lots_in_unit(unit)
    latest = unit.rebuilds.select_related("work_order").first()
    context = {
        "unit": unit,
        "inside": [row for row in rows if row.place.is_inside],
        "out": [row for row in rows if not row.place.is_inside],
        "trail": trails.to_unit(unit, latest),
    }
    return answer_list(request, "workorders/unit_lots.html", context, table=columns.UNIT_LOTS, rows=rows)

"""Shortages before the work starts: part by part, and unit by unit."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_GET

from shop.views.answers import needs, searched
from shop.views.sorting import in_order
from shop.views.tables import Table, answer_list
from workorders.models import WorkOrder
from workorders.services.open_work import UnitParts
from workorders.services.shortages import PartShortage, shortages
from workorders.views import columns

PARTS_SHOWN = (("", "short or stood in for"), ("order", "to be ordered"), ("all", "all that is needed"))
UNITS_SHOWN = (("", "that cannot start"), ("ready", "that are all there"), ("all", "all"))


@require_GET
@needs("see")
def by_part(request: HttpRequest) -> HttpResponse:
    """List the parts that open work needs, or one work order, with what is short."""
    parts, _units, order = _asked(request)
    show, text = request.GET.get("show", ""), searched(request)
    rows = [row for row in parts if _is_shown(row, show) and _matches(text, _words(row))]
    told = {"choices": PARTS_SHOWN, "short_parts": sum(bool(row.short) for row in parts)}
    return _answer(request, order, rows, columns.SHORTAGES, "workorders/shortages.html", told)


@require_GET
@needs("see")
def by_unit(request: HttpRequest) -> HttpResponse:
    """List the units that wait for parts, in the order in which they are served."""
    _parts, units, order = _asked(request)
    show, text = request.GET.get("show", ""), searched(request)
    rows = [unit for unit in units if _unit_is_shown(unit, show) and _matches(text, _unit_words(unit))]
    told = {"choices": UNITS_SHOWN, "ready": sum(map(_can_start, units)), "units": len(units)}
    table = columns.SHORTAGES_BY_UNIT
    return _answer(request, order, rows, table, "workorders/shortages_by_unit.html", told)


def _asked(request: HttpRequest) -> tuple[list[PartShortage], list[UnitParts], WorkOrder | None]:
    number = request.GET.get("order", "")
    order = get_object_or_404(WorkOrder, number=number) if number else None
    keys = set(order.rebuilds.values_list("pk", flat=True)) if order else None
    return (*shortages(on=timezone.localdate(), of=keys), order)


def _answer(
    request: HttpRequest,
    order: WorkOrder | None,
    rows: list[Any],
    table: Table,
    template: str,
    told: dict[str, Any],
) -> HttpResponse:
    text, show = searched(request), request.GET.get("show", "")
    rows = in_order(request, table, rows)
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "text": text,
        "show": show,
        "order": order,
        "narrowed": bool(text or show),
        **told,
    }
    return answer_list(request, template, context, table=table, rows=rows)


def _is_shown(row: PartShortage, show: str) -> bool:
    if show == "order":
        return row.to_order > 0
    return show == "all" or bool(row.short or row.stood_in)


def _unit_is_shown(unit: UnitParts, show: str) -> bool:
    if show == "ready":
        return _can_start(unit)
    return show == "all" or not (_can_start(unit) or unit.is_rejected)


def _can_start(unit: UnitParts) -> bool:
    return unit.state[1] in ("good", "warn")


def _matches(text: str, words: str) -> bool:
    return all(word in words.casefold() for word in text.casefold().split())


def _words(row: PartShortage) -> str:
    serials = " ".join(each.rebuild.unit.serial for each in (*row.wanted, *row.replaced))
    return f"{row.part.number} {row.part.name} {serials}"


def _unit_words(unit: UnitParts) -> str:
    row = unit.rebuild
    parts = " ".join(f"{each.line.part.number} {each.line.part.name}" for each in unit.wanted)
    return f"{row.unit.serial} {row.unit.unit_type} {row.work_order} {row.work_order.customer} {parts}"

"""The warning to flush the circuit, printed from the record of the unit that debris was found in."""

from datetime import date

from shop.errors import RuleBroken
from shop.models import ShopProfile
from workorders.documents import certificate_data as paper
from workorders.documents.flush_warning import FlaggedUnit, FlushWarning, flush_warning_pdf
from workorders.models import Rebuild
from workorders.services.papers import customer_data, local, shop_data, unit_data


def flush_paper(rebuild: Rebuild, *, on: date) -> bytes:
    """Print the warning of a unit with debris, or of the work order's unit that flagged this one.

    Raises RuleBroken where no debris is recorded in the work order.
    """
    source = rebuild if rebuild.debris_found else _dirty_unit(rebuild)
    profile = ShopProfile.objects.get(pk=1)
    where, _, what = source.debris_origin.partition(": ")
    data = FlushWarning(
        number=f"{source.work_order.number}/{source.pk}",
        shop=shop_data(profile),
        customer=customer_data(source.work_order.customer),
        work_order=source.work_order.number,
        issued_on=on,
        unit=unit_data(source),
        debris=what or "not described",
        origin=where,
        found=_found(source),
        service_fluid=str(source.revision.service_fluid or "not known yet; ask the shop"),
        flagged=tuple(_flagged(source)),
    )
    return flush_warning_pdf(data, page_size=profile.paper_size)


def _dirty_unit(rebuild: Rebuild) -> Rebuild:
    dirty = Rebuild.objects.filter(work_order=rebuild.work_order_id, debris_found=True).first()
    if dirty is None:
        raise RuleBroken("No debris is recorded in this work order; there is nothing to warn of.")
    return dirty


def _found(rebuild: Rebuild) -> paper.Act:
    """Return who recorded the debris that stands, and when, from the history of the rebuild."""
    history = rebuild.history.filter(debris_found=True, debris_origin=rebuild.debris_origin)
    first = history.select_related("history_user").earliest("history_date")
    at = local(first.history_date)
    return paper.Act(
        meaning="debris found", name=str(first.history_user or "not known"), done_at=at, entered_at=at
    )


def _flagged(source: Rebuild) -> list[FlaggedUnit]:
    others = Rebuild.objects.filter(work_order=source.work_order_id, circuit_flagged=True).exclude(
        pk=source.pk
    )
    return [
        FlaggedUnit(
            serial=row.unit.serial,
            type_name=row.revision.unit_type.name,
            place=row.mounting_place.name if row.mounting_place else "",
            state=str(row.get_stage_display()),
        )
        for row in others.select_related("unit", "revision__unit_type", "mounting_place").order_by("pk")
    ]

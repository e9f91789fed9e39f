"""The slip of outside work, from rows to plain data."""

from datetime import date

from shop.models import DimensionLimit, ShopProfile
from workorders.documents.outside_slip import OutsideSlip, SizeRow, outside_slip_pdf
from workorders.models import OutsideWork
from workorders.services.dimensions import Dimension
from workorders.services.outside_work import carried_dimensions
from workorders.services.papers import judged_by, limit_text, local, shop_data, unit_data


def outside_slip(work: OutsideWork) -> bytes:
    """Print the slip of one sending, on the shop's paper."""
    profile = ShopProfile.objects.get(pk=1)
    data = OutsideSlip(
        number=slip_number(work),
        shop=shop_data(profile),
        supplier=work.supplier.name,
        supplier_contact=", ".join(filter(None, (work.supplier.phone, work.supplier.email))),
        kind=str(work.get_kind_display()),
        part=work.place_name,
        unit=unit_data(work.rebuild),
        work_order=work.rebuild.work_order.number,
        asked=work.asked,
        sent_on=_day(work),
        due_on=work.due,
        sizes=tuple(_sizes(carried_dimensions(work))),
        asks_bake=work.is_plating,
        note=work.note,
    )
    return outside_slip_pdf(data, page_size=profile.paper_size)


def slip_number(work: OutsideWork) -> str:
    """Return what the slip is called: the work order, and the number of the sending."""
    return f"{work.rebuild.work_order.number}/OW{work.pk}"


def _day(work: OutsideWork) -> date:
    return local(work.sent_at).date()


def limits_outside(limit: DimensionLimit) -> str:
    """Print the limits of a dimension for somebody who does not know what goes into it."""
    if not limit.is_judged_by_sum:
        return judged_by(limit)
    text = limit_text(limit.lower, limit.upper)
    return f"{text} {limit.unit}, and judged here once it is back" if text else "judged here once it is back"


def _sizes(dimensions: list[Dimension]) -> list[SizeRow]:
    return [
        SizeRow(
            what=f"{dimension.limit.code} {dimension.limit.name}, station {station.number}",
            limits=limits_outside(dimension.limit),
            before=f"{station.as_found.value:g} {dimension.limit.unit}" if station.as_found else "",
        )
        for dimension in dimensions
        for station in dimension.stations
    ]

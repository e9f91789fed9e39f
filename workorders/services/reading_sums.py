"""What the sums say of a reading at the moment it is recorded: a gland with its part, or a run-out."""

from collections.abc import Callable

from inventory.models import KitLine, Part
from shop.models import DimensionLimit, SealPosition
from shop.services.gland_fit import Judged, judge_gland_reading, judge_run_out, shop_limits

Judge = Callable[[float], Judged]
NO_SUM = Judged(within=None, sentence="")


def judge_of(limit: DimensionLimit) -> Judge:
    """Return what judges readings of a dimension; the shop's limits and the kit are read once."""
    if not limit.is_judged_by_sum:
        return lambda _value: NO_SUM
    limits = shop_limits()
    if limit.length_mm is not None:
        length_mm = limit.length_mm
        return lambda value: judge_run_out(length_mm=length_mm, value_mm=value, limits=limits)
    position = limit.position
    assert position is not None  # a figure of a gland has its position: the database holds it
    designation = kit_size(position)
    return lambda value: judge_gland_reading(limit=limit, value=value, designation=designation, limits=limits)


def kit_size(position: SealPosition) -> str:
    """Return the size of the O-ring that the kit prefers at a position, else the position's own."""
    lines = KitLine.objects.filter(position=position, part__kind=Part.Kind.O_RING)
    sizes = lines.order_by("preference", "pk").values_list("part__size_designation", flat=True)
    return next((size for size in sizes if size), "") or position.size_designation

"""Where the units of a work order are: left, on the packing bench, ready, or still in work."""

from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Count, Prefetch, Q, QuerySet

from workorders.calc.serial import grouped
from workorders.models import PackingUnit, Rebuild, WorkOrder

Stage = Rebuild.Stage
STAY = (Stage.SCRAPPED, Stage.EXCHANGE_CORE)


def _stays(path: str = "") -> Q:
    """Return the condition of a unit that does not leave for its customer."""
    exchange = Rebuild.Destination.EXCHANGE
    return Q(**{f"{path}stage__in": STAY}) | Q(**{f"{path}destination": exchange})


@dataclass
class OrderParts:
    """The units of one work order, each in one list; those that stay for good are in ``stays``."""

    left: list[Rebuild] = field(default_factory=list)
    packing: list[Rebuild] = field(default_factory=list)
    ready: list[Rebuild] = field(default_factory=list)
    in_work: list[Rebuild] = field(default_factory=list)
    stays: list[Rebuild] = field(default_factory=list)

    @property
    def to_come(self) -> list[Rebuild]:
        """What has still to leave."""
        return [*self.packing, *self.ready, *self.in_work]

    @property
    def is_part(self) -> bool:
        """Whether some units have left and others have still to."""
        return bool(self.left and self.to_come)


def parts_of(work_order: WorkOrder) -> OrderParts:
    """Sort the units of a work order by where they are; a fixed number of queries."""
    lying = Prefetch("packing_units", PackingUnit.objects.lying().select_related("parcel"), to_attr="lies_in")
    rows = work_order.rebuilds.select_related(
        "revision__unit_type",
        "unit__unit_type",
        "packed__parcel__shipment",
        "exchange__packed__rebuild__unit",
    )
    parts = OrderParts()
    for row in rows.prefetch_related(lying).order_by("pk"):
        getattr(parts, _where(row)).append(row)
    return parts


def _where(row: Any) -> str:
    if hasattr(row, "packed"):
        return "left"
    if row.stage in STAY or (row.destination == row.Destination.EXCHANGE and not row.lies_in):
        return "stays"
    if row.lies_in:
        return "packing"
    return "ready" if row.stage in (Stage.RELEASED, Stage.RETURNED_AS_FOUND) else "in_work"


def part_of(work_order: WorkOrder, *, leaving: Collection[int]) -> str:
    """Say which part of a work order a shipment is, and what stays; empty where it is the whole."""
    earlier = work_order.shipments.count()
    rows = Rebuild.objects.filter(work_order=work_order, packed__isnull=True).exclude(_stays())
    still = list(rows.exclude(pk__in=leaving).select_related("unit__unit_type").order_by("pk"))
    if not still and not earlier:
        return ""
    if not still:
        return (
            f"Part shipment {earlier + 1}, the last: nothing of work order {work_order} is with us any more."
        )
    names = "; ".join(
        f"{grouped(row.unit.serial)} {row.unit.unit_type.name} ({row.get_stage_display()})" for row in still
    )
    return f"Part shipment {earlier + 1}; still with us: {names}."


def with_parts(rows: QuerySet[WorkOrder]) -> QuerySet[WorkOrder]:
    """Annotate work orders with ``units_left`` and ``units_to_come``."""
    left = Q(rebuilds__packed__isnull=False)
    to_come = Q(rebuilds__isnull=False, rebuilds__packed__isnull=True) & ~_stays("rebuilds__")
    return rows.annotate(
        units_left=Count("rebuilds", filter=left), units_to_come=Count("rebuilds", filter=to_come)
    )

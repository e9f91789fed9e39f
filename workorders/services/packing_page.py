"""What the packing bench shows: its parcels with what lies in them, and the rest of the work order."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Prefetch

from workorders.calc.serial import grouped
from workorders.models import Packing, PackingLine, PackingParcel, PackingUnit, Rebuild, WorkOrder
from workorders.services.exchanges import is_kept, on_the_shelf, types_for
from workorders.services.order_parts import OrderParts, parts_of
from workorders.services.stages import Stage

MOST_FROM_SHELF = 12
MOST_HAPPENED = 100


@dataclass
class UnitShown:
    """One unit in a parcel, with its lines; ``waits`` says what keeps it from leaving."""

    row: PackingUnit
    lines: Sequence[Any]
    waits: str = ""

    @property
    def open_lines(self) -> int:
        """How many things are neither packed nor kept back."""
        return sum(line.is_open for line in self.lines)

    @property
    def is_settled(self) -> bool:
        """Whether it can leave as it lies there."""
        return not self.open_lines and not self.waits


@dataclass
class ParcelShown:
    """One parcel with the units that lie in it."""

    row: PackingParcel
    units: list[UnitShown]

    @property
    def is_settled(self) -> bool:
        """Whether everything in it can leave."""
        return all(unit.is_settled for unit in self.units)

    @property
    def state(self) -> str:
        """How it stands, in words."""
        if not self.units:
            return "empty"
        units = f"{len(self.units)} unit{'' if len(self.units) == 1 else 's'}"
        if not self.row.is_open:
            return f"{units}, closed"
        left = sum(unit.open_lines for unit in self.units)
        return f"{units}, {left} to check" if left else f"{units}, all checked"


@dataclass
class Bench:
    """The packing of a work order, or None where nobody has begun; and where its units are."""

    order: WorkOrder
    packing: Packing | None
    parts: OrderParts
    parcels: list[ParcelShown]
    in_hand: ParcelShown | None = None
    unit: int = 0
    shelf: Sequence[Rebuild] = ()

    @property
    def at_hand(self) -> list[Rebuild]:
        """The units of the parcel in hand, and those that are ready."""
        lying = self.in_hand.units if self.in_hand else ()
        return [*(unit.row.rebuild for unit in lying), *self.parts.ready]

    @property
    def others(self) -> list[ParcelShown]:
        """The open parcels besides the one in hand, into which its units may be moved."""
        return [shown for shown in self.parcels if shown.row.is_open and shown is not self.in_hand]

    @property
    def missing(self) -> list[str]:
        """What keeps the packing from being sent off, one sentence each."""
        units = [unit for parcel in self.parcels for unit in parcel.units]
        if not units:
            return ["Nothing is packed yet."]
        found = []
        for unit in units:
            name = f"Unit {unit.row.rebuild.unit.serial} in {unit.row.parcel}"
            if unit.open_lines:
                names = "; ".join(line.text for line in unit.lines if line.is_open)
                found.append(f"{name}: neither packed nor kept back: {names}.")
            if unit.waits:
                found.append(f"{name}: {unit.waits}")
        return found


def bench_of(order: WorkOrder, *, parcel: int = 0, unit: int = 0, shelf: bool = False) -> Bench:
    """Read the bench of a work order, ``parcel`` by its number in hand; the queries do not grow."""
    packing = order.packings.open().first()
    parcels = [_shown(row) for row in _parcels(packing)] if packing else []
    parts = parts_of(order)
    bench = Bench(order=order, packing=packing, parts=parts, parcels=parcels, unit=unit)
    bench.in_hand = _in_hand(parcels, parcel, unit)
    if shelf and packing:
        bench.shelf = list(on_the_shelf(_types(parts)).exclude(work_order=order)[:MOST_FROM_SHELF])
    return bench


def _parcels(packing: Packing) -> Any:
    units = (
        PackingUnit.objects.lying()
        .select_related(
            "put_in_by",
            "parcel",
            "rebuild__unit__unit_type",
            "rebuild__revision__unit_type",
            "rebuild__work_order",
            "rebuild__mounting_place__application",
            "replaces__unit",
        )
        .prefetch_related("lines__done_by", "lines__fluid", "lines__lot")
    )
    return packing.parcels.prefetch_related(Prefetch("units", units, to_attr="lying")).order_by("number")


def _shown(parcel: Any) -> ParcelShown:
    return ParcelShown(
        parcel, [UnitShown(unit, list(unit.lines.all()), _waits(unit)) for unit in parcel.lying]
    )


def _waits(unit: PackingUnit) -> str:
    """Say what else keeps a unit from leaving: it is not released any more, or its core is not kept."""
    if unit.rebuild.stage not in (Stage.RELEASED, Stage.RETURNED_AS_FOUND):
        return f"it is {unit.rebuild.get_stage_display()} now, and may not leave."
    if unit.replaces and not is_kept(unit.replaces):
        return (
            f"core {unit.replaces.unit.serial} is not kept yet; the lead takes it out of its rebuild as "
            "exchange core first."
        )
    return ""


def _in_hand(parcels: list[ParcelShown], number: int, unit: int) -> ParcelShown | None:
    """Return the parcel asked for, else that of the unit in hand, else the last one that is open."""
    for parcel in parcels:
        if parcel.row.number == number:
            return parcel
    for parcel in parcels:
        if unit in [shown.row.pk for shown in parcel.units]:
            return parcel
    still = [parcel for parcel in parcels if parcel.row.is_open] or parcels
    return still[-1] if still else None


def _types(parts: OrderParts) -> set[int] | None:
    """Return the types that may stand in for a unit of the order; None where it has none yet."""
    rows = [*parts.stays, *parts.in_work, *parts.ready, *parts.packing]
    return types_for(row.unit.unit_type for row in rows) or None


@dataclass(frozen=True)
class Happening:
    """One thing that was done on a bench."""

    at: datetime
    by: str
    words: str


def happened(packing: Packing) -> list[Happening]:
    """Return what was done on a bench, undone things too, latest first; the latest of a long packing."""
    lines = PackingLine.history.filter(packing_unit__parcel__packing=packing).exclude(history_type="+")
    lines = lines.select_related("history_user", "packing_unit__rebuild__unit")
    units = PackingUnit.history.filter(parcel__packing=packing)
    units = units.select_related("history_user", "parcel", "rebuild__unit")
    found = [
        *(_happening(row, _line_words(row)) for row in lines.order_by("-history_id")[:MOST_HAPPENED]),
        *(_happening(row, _unit_words(row)) for row in units.order_by("-history_id")[:MOST_HAPPENED]),
    ]
    return sorted(found, key=lambda one: one.at, reverse=True)[:MOST_HAPPENED]


def _happening(row: Any, words: str) -> Happening:
    return Happening(row.history_date, str(row.history_user or "the program"), words)


def _line_words(row: Any) -> str:
    words = {"open": "undone", "packed": "packed", "kept": f"kept back ({row.reason})"}[row.state]
    amount = f", {row.volume_ml:g} mL" if row.volume_ml is not None else ""
    return f"{grouped(row.packing_unit.rebuild.unit.serial)}: {row.text}{amount}: {words}"


def _unit_words(row: Any) -> str:
    words = f"put into {row.parcel}" if row.history_type == "+" else f"moved into {row.parcel}"
    if row.taken_out_at:
        words = f"taken out of {row.parcel}"
    return f"{grouped(row.rebuild.unit.serial)}: {words}"

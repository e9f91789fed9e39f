"""A scan at the packing bench: which unit, hose, cap or paper it is, and whether it belongs here."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q

from shop.errors import RuleBroken
from shop.services.writing import Act, service
from workorders.calc.serial import SerialError, grouped, read_scan
from workorders.models import (
    ArrivalItem,
    BoxLine,
    PackingLine,
    PackingParcel,
    PackingUnit,
    Rebuild,
    Unit,
)
from workorders.services import packing as bench
from workorders.services.box_papers import read_box_number
from workorders.services.twins import twins_of

_PARCEL = re.compile(r"^\s*parcel\s*(\d{1,3})\s*$", re.IGNORECASE)
_BOX_LINE = re.compile(r"/(\d{1,3})\s*$")


@dataclass(frozen=True, kw_only=True)
class Taken:
    """What a scan did: a sentence, the parcel and the unit in hand after it.

    ``ask_core`` is set for a unit from the shelf: nothing is written, the page asks for its core.
    """

    sentence: str
    parcel: PackingParcel
    unit: PackingUnit | None = None
    warning: str = ""
    ask_core: Rebuild | None = None


@service("ship")
def take_scan(*, act: Act, parcel: PackingParcel, code: str, unit: PackingUnit | None = None) -> Taken:
    """Take one scan at the packing bench, into the parcel in hand.

    ``unit`` is the one in hand, whose caps are meant and whose hose where two units have that
    number. Raises RuleBroken, in a sentence, for what is not on the list of this packing.
    """
    text = code.strip()
    bench.hold_open(parcel.packing)
    if found := _PARCEL.match(text):
        return _choose(parcel, int(found[1]))
    rebuild = _unit_scanned(text, parcel)
    if rebuild:
        return _take_unit(act, parcel, rebuild)
    lines = _lines_called(text, parcel)
    if lines:
        return _take_line(act, parcel, _meant(lines, text, unit))
    raise _unknown(text)


def _choose(parcel: PackingParcel, number: int) -> Taken:
    chosen = parcel.packing.parcels.filter(number=number).first()
    if chosen is None:
        raise RuleBroken(f"There is no parcel {number} on this bench.")
    return Taken(sentence=f"Parcel {number} is in hand.", parcel=chosen)


def _unit_scanned(text: str, parcel: PackingParcel) -> Rebuild | None:
    """Return the latest rebuild of the unit that a scan or a typed serial names, or None."""
    try:
        serial = read_scan(text)
    except SerialError as error:
        raise RuleBroken(str(error)) from error
    if serial:
        unit = Unit.objects.filter(serial=serial).first()
        if unit is None:
            raise RuleBroken(f"No unit carries the serial {grouped(serial)}.")
    elif (number := read_box_number(text)) and (row := _box_scanned(number, text, parcel)):
        return row
    else:
        mine = Unit.objects.filter(maker_serial__iexact=text, rebuilds__work_order=parcel.packing.work_order)
        unit = mine.first() if text else None
    if unit is None:
        return None
    rows = unit.rebuilds.select_related("unit", "work_order__customer", "revision", "mounting_place")
    row = rows.order_by("-number").first()
    if row is None:
        raise RuleBroken(f"Unit {grouped(unit.serial)} was never received.")
    return row


def _box_scanned(number: str, text: str, parcel: PackingParcel) -> Rebuild | None:
    """Return the unit received from the line of a tray tag, or the only one of its box still here."""
    lines = BoxLine.objects.filter(box__number=number, rebuild__isnull=False)
    lines = lines.select_related("rebuild__unit", "rebuild__work_order__customer", "rebuild__revision")
    place = _BOX_LINE.search(text)
    if place:
        lines = lines.filter(order=int(place[1]))
    lying = PackingUnit.objects.lying().values("rebuild")
    found = list(lines.exclude(rebuild__in=lying))
    if len(found) > 1:
        raise RuleBroken(f"{len(found)} units came in box {number}: scan the unit itself.")
    if not found:
        raise RuleBroken(f"No unit of box {number} waits for a parcel.")
    rebuild = found[0].rebuild
    assert rebuild is not None
    return rebuild


def _take_unit(act: Act, parcel: PackingParcel, rebuild: Rebuild) -> Taken:
    lying = rebuild.packing_units.lying().filter(parcel=parcel).first()
    if lying:
        return Taken(sentence=f"Unit {grouped(rebuild.unit.serial)} is in hand.", parcel=parcel, unit=lying)
    order = parcel.packing.work_order
    try:
        bench.refuse_unit(rebuild, order, parcel.packing)
    except RuleBroken as refused:
        raise RuleBroken(f"{refused} {_twin_of_ours(rebuild, order.pk)}".strip()) from refused
    if rebuild.work_order_id != order.pk:
        sentence = f"Unit {grouped(rebuild.unit.serial)} comes from the shelf."
        return Taken(sentence=sentence, parcel=parcel, ask_core=rebuild)
    unit = bench.put_in(act=act, parcel=parcel, rebuild=rebuild)
    return Taken(
        sentence=f"Unit {grouped(rebuild.unit.serial)} lies in parcel {parcel.number}.",
        parcel=parcel,
        unit=unit,
        warning=_twin_here(rebuild),
    )


def _twin_of_ours(rebuild: Rebuild, order: int) -> str:
    """Say which unit of this work order a wrong one is easily taken for."""
    place = rebuild.mounting_place
    twin = twins_of([place]).get(place.pk) if place else None
    ours = Rebuild.objects.filter(work_order=order, packed__isnull=True).select_related("unit")
    if twin and (row := ours.filter(mounting_place=twin).first()):
        return f"Its twin {grouped(row.unit.serial)} ({twin}) belongs here: compare the tags."
    return ""


def _twin_here(rebuild: Rebuild) -> str:
    place = rebuild.mounting_place
    twin = twins_of([place]).get(place.pk) if place else None
    if twin is None:
        return ""
    row = rebuild.work_order.rebuilds.filter(mounting_place=twin).select_related("unit").first()
    if row is None:
        return ""
    return (
        f"Its twin {grouped(row.unit.serial)} ({twin}) is of the same work order: "
        "compare hoses and caps with the tag of each."
    )


def _lines_called(text: str, parcel: PackingParcel) -> list[PackingLine]:
    """Return the lines of this packing that a scanned text names, of units that lie in it."""
    rows = PackingLine.objects.filter(
        Q(code__iexact=text) | Q(text__iexact=text),
        packing_unit__parcel__packing=parcel.packing,
        packing_unit__taken_out_at__isnull=True,
    ).exclude(code="", text="")
    return list(
        rows.select_related("packing_unit__parcel__packing", "packing_unit__rebuild__unit").order_by("pk")
    )


def _meant(lines: Sequence[PackingLine], text: str, unit: PackingUnit | None) -> PackingLine:
    """Choose the line of the unit in hand, or the only one still open; refuse to guess."""
    mine = [line for line in lines if unit and line.packing_unit_id == unit.pk]
    still = [line for line in mine or lines if line.is_open]
    owners = {line.packing_unit_id for line in still}
    if not still:
        first = (mine or lines)[0]
        raise RuleBroken(f"“{first.text}” is {first.get_state_display()} already.")
    if len(owners) > 1:
        names = ", ".join(grouped(line.packing_unit.rebuild.unit.serial) for line in still)
        raise RuleBroken(f"{text} belongs to more than one unit here ({names}): scan the unit first.")
    return still[0]


def _take_line(act: Act, parcel: PackingParcel, line: PackingLine) -> Taken:
    owner = line.packing_unit
    if owner.parcel_id != parcel.pk:
        raise RuleBroken(
            f"“{line.text}” belongs to unit {grouped(owner.rebuild.unit.serial)}, which lies in "
            f"{owner.parcel}: choose that parcel."
        )
    bench.pack_line(act=act, line=line)
    name = grouped(owner.rebuild.unit.serial)
    return Taken(sentence=f"Packed with {name}: {line.text}.", parcel=parcel, unit=owner)


def _unknown(text: str) -> RuleBroken:
    """Say whose it is where another unit in the shop came with it."""
    other = (
        ArrivalItem.objects.filter(label__iexact=text, rebuild__packed__isnull=True)
        .exclude(kind=ArrivalItem.Kind.MISSING)
        .select_related("rebuild__unit", "rebuild__work_order")
        .order_by("-pk")
        .first()
    )
    if other and text:
        return RuleBroken(
            fields={
                "code": f"{other} is not on the list of a unit in this packing. It came with unit "
                f"{grouped(other.rebuild.unit.serial)} of {other.rebuild.work_order}."
            }
        )
    return RuleBroken(
        fields={"code": f"“{text}” is no unit, hose, cap or accessory of this packing. Scan it again."}
    )

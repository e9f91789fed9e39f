"""A unit that was received as the wrong type: put right before anything is recorded of it."""

from collections.abc import Iterator
from typing import Any

from shop.errors import RuleBroken
from shop.models import UnitType
from shop.services.writing import Act, keep, locked, service
from workorders.calc.serial import grouped
from workorders.models import FluidFound, Rebuild, Signature
from workorders.services.receiving import (
    need_reason,
    refuse_known_maker_serial,
    revision_to_receive,
    sign_receipt,
)
from workorders.services.standing import open_rebuild


@service("receive")
def correct_unit_type(*, act: Act, rebuild: Rebuild, unit_type: UnitType) -> Rebuild:
    """Say that a unit is of another type than it was received as, for the reason in ``act.why``.

    The unit and its rebuild take the type and its approved revision, and the receipt is signed
    again. A mounting place of the former type is taken out. Raises RuleBroken without a reason, for
    the type that it has, once anything was recorded of it, where it was here before as the former
    type, where a unit of the new type has its maker's serial, and for a unit released or gone.
    """
    need_reason(act)
    row = open_rebuild(rebuild)
    unit = locked(row.unit)
    if unit.unit_type_id == unit_type.pk:
        raise RuleBroken(f"Unit {grouped(unit.serial)} is received as {unit_type} already.")
    if found := list(_recorded(row)):
        raise RuleBroken(
            f"Of this rebuild there are recorded already: {', '.join(found)}. They name places of "
            f"{unit.unit_type}, so the type stays. The lead takes the unit out of this rebuild, and it "
            "is received anew."
        )
    if unit.rebuilds.exclude(pk=row.pk).exists():
        raise RuleBroken(
            f"Unit {grouped(unit.serial)} was here before as {unit.unit_type}, and its earlier rebuilds "
            "stay as they were. Compare the label with the unit: a twin may carry the wrong tag."
        )
    revision = revision_to_receive(unit_type)
    refuse_known_maker_serial(unit_type, unit.maker_serial, apart_from=unit)
    unit.unit_type, row.revision = unit_type, revision
    keep(unit)
    row.unit = unit
    if row.mounting_place and row.mounting_place.unit_type_id != unit_type.pk:
        row.mounting_place = None
    keep(row)
    _correct_line(row, unit_type)
    sign_receipt(act, row)
    return row


def _recorded(rebuild: Rebuild) -> Iterator[str]:
    """Name what was recorded after the receipt."""
    rows: dict[str, Any] = {
        "findings": rebuild.findings,
        "seals found": rebuild.seals_found,
        "measurements": rebuild.measurements,
        "operations": rebuild.operations,
        "parts used": rebuild.parts_used,
        "outside work": rebuild.outside_works,
        "quotes": rebuild.quotes,
        "a go-ahead": rebuild.go_aheads,
        "hoses": rebuild.hose_checks,
        "pressure tests": rebuild.pressure_tests,
        "a release": rebuild.releases,
        "the fluid found": FluidFound.objects.filter(rebuild=rebuild),
        "a signature after the receipt": rebuild.signatures.exclude(meaning=Signature.Meaning.RECEIVED),
    }
    yield from (words for words, found in rows.items() if found.exists())
    if rebuild.debris_found:
        yield "debris"


def _correct_line(rebuild: Rebuild, unit_type: UnitType) -> None:
    """Keep the line of the box, which names what was received, with the unit."""
    line = getattr(rebuild, "box_line", None)
    if line:
        row = locked(line)
        row.unit_type = unit_type
        keep(row)

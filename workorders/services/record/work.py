"""The record of the work on a unit: findings, measurements, operations, parts, tests, signatures."""

from collections.abc import Iterable
from typing import Any

from inventory.models import Lot
from inventory.services.genealogy import Twig, lots_inside
from workorders.models import FluidFound, Rebuild, SealFound
from workorders.services.facts import facts_of
from workorders.services.record.plain import Plain, fields
from workorders.services.record.testing import test_record
from workorders.services.work import Work, work_of

WITH_SEAL = ("position", "instrument", "measured_by")


def work_record(rebuild: Rebuild, work: Work | None = None) -> Plain:
    """Return the work on a unit: findings, measurements, operations, parts, tests, signatures.

    ``work`` saves reading it where the caller has done so.
    """
    facts = facts_of(rebuild)
    work = work or work_of(rebuild, facts)
    fluid = FluidFound.objects.filter(rebuild=rebuild).select_related("fluid").first()
    return {
        "findings": [finding_record(row) for row in work.findings],
        "fluid_found": (fields(fluid, "fluid", "kind_note", "colour", "smell", "water") if fluid else None),
        "seals_found": [
            seal_record(row)
            for row in (rebuild.seals_found.select_related(*WITH_SEAL) if facts.has_seal_found else ())
        ],
        "debris": fields(rebuild, "debris_found", "debris_origin", "circuit_flagged"),
        "measurements": [
            {
                "dimension": row.limit.code,
                **fields(row.limit, "name", "unit", "lower", "upper", "basis"),
                **fields(row, "station", "moment", "value", "within", "sum_within", "sum_sentence"),
                **fields(row, "measured_at", "measured_by"),
                "instrument": row.instrument.code if row.instrument else None,
            }
            for row in work.measurements
        ],
        "go_aheads": [
            fields(row, "given_by", "given_at", "how", "scope", "price_ceiling", "by", "at")
            for row in (rebuild.go_aheads.select_related("by") if facts.has_go_ahead else ())
        ],
        "operations": [operation_record(row) for row in work.operations],
        "outside_works": [outside_record(row) for row in work.outside],
        "hose_checks": [
            {
                "position": row.hose.code,
                "port": row.hose.port.code,
                **fields(row, "number_read", "way", "by", "at", "why"),
            }
            for row in work.hose_checks
        ],
        "parts_used": part_records(work.parts),
        "fluid_decisions": [
            fields(row, "rig_fluid", "concerns", "why", "flushing", "by", "at")
            for row in (
                rebuild.fluid_decisions.select_related("rig_fluid", "by") if facts.has_fluid_decision else ()
            )
        ],
        "pressure_tests": [
            test_record(test) for test in (rebuild.pressure_tests.all() if facts.has_test else ())
        ],
        "signatures": [
            fields(row, "meaning", "printed_name", "authority_no", "done_at", "at", "content_sha256")
            for row in rebuild.signatures.all()
        ],
    }


def seal_record(row: SealFound) -> Plain:
    """Return the measured seal that came out of one position, with what it may have been through."""
    return {
        "position": row.position.code,
        **fields(row, "profile", "inside_mm", "section_mm", "outside_mm", "height_mm"),
        **fields(row, "set_most_pct", "swell_most_pct", "note", "measured_at", "measured_by"),
        "instrument": row.instrument.code if row.instrument else None,
    }


def finding_record(row: Any) -> Plain:
    """Return one finding, named by the code of its position, component, port or hose."""
    return {
        "position": row.place.code,
        "name": row.place.name,
        **fields(row, "condition", "cause", "action", "note", "found_at", "found_by"),
        **(fields(row, "length_mm", "kept_reason", "no_photo_reason") if row.hose_id else {}),
        # Only where there is one, as below: a signature covers the record of its day.
        **({"evidence": evidence_record(row)} if row.evidence else {}),
        **(fields(row, "corrosion", "pitting") if row.grades else {}),
    }


def evidence_record(row: Any) -> Plain:
    """Return what shows a leak past a piston: damage seen, or the failed bypass step by its test."""
    result = row.evidence_result
    told = {"test": result.pressure_test.number, "step": str(result.step)} if result else {}
    return {"shown_by": row.evidence, **told}


def operation_record(row: Any) -> Plain:
    """Return one rework operation with all that it records; numbers carry their unit beside them."""
    return {
        "kind": row.kind,
        "position": row.place.code if row.place else None,
        **fields(row, "tool", "note", "done_at", "done_by"),
        "values": [
            {"what": value.what, **fields(value, "number", "unit", "words")} for value in row.values.all()
        ],
        "instrument": row.instrument.code if row.instrument else None,
        "figure": row.figure_text or None,
        **fields(row, "within", "reason", "locker_lot", "fastened_at", "unmasked_at", "unmasked_by"),
    }


def outside_record(row: Any) -> Plain:
    """Return one outside work: to whom, when out and back, how it was judged, and the bake."""
    return {
        "position": row.component.code if row.component else None,
        **fields(row, "kind", "supplier", "asked", "sent_at", "sent_by", "due", "returned_at", "returned_by"),
        **fields(row, "inspected_at", "inspected_by", "accepted", "reject_reason"),
        **fields(row, "bake", "bake_h", "bake_temperature_c", "bake_basis", "note"),
        **fields(row, "cancelled_at", "cancelled_by", "cancel_reason"),
        "certificate_sha256": row.certificate.sha256 if row.certificate else None,
    }


def part_records(rows: Iterable[Any]) -> list[Plain]:
    """Return the parts used with their lots; lots made here with the lots inside, however deep."""
    rows = list(rows)
    inside = lots_inside({row.lot_id for row in rows if row.lot.made_here})
    return [part_record(row, inside.get(row.lot_id, [])) for row in rows]


def part_record(row: Any, inside: Iterable[Twig]) -> Plain:
    """Return one part used with its lot."""
    lot: Lot = row.lot
    return {
        "position": row.place.code if row.place else None,
        "part": lot.part.number,
        "name": lot.part.name,
        "polymer": lot.part.polymer,
        "lot": lot.number,
        "quantity": row.quantity,
        **fields(row, "use", "found_in_bin", "fit_reason", "fit_warning"),
        **fields(row, "lot_reason", "lot_warning", "at", "by"),
        # Only where there is one: papers of older records are printed again with the digest they had.
        **(fields(row, "upgrade") if row.upgrade else {}),
        "made_here": lot.made_here,
        "lots_inside": [
            {
                "lot": twig.number,
                "part": twig.part,
                "polymer": twig.polymer,
                "quantity": twig.pieces,
                "depth": twig.depth,
            }
            for twig in inside
        ],
    }

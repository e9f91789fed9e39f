"""The whole record of a unit as plain data: for the history command, signatures and papers."""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import models
from django.utils import timezone

from inventory.models import Lot
from inventory.services.genealogy import Twig, lots_inside
from workorders.models import (
    Claim,
    Exchange,
    FluidFound,
    Photo,
    Rebuild,
    Release,
    SealFound,
    StepConfirmation,
    Unit,
    WorkOrder,
)
from workorders.models.finding import PLACE_FIELDS
from workorders.services.facts import facts_of
from workorders.services.step_start import start_of, starts_of
from workorders.services.work import Work, work_of

Plain = dict[str, Any]
WITH_SEAL = ("position", "instrument", "measured_by")


def plain(value: Any) -> Any:
    """Turn a field value into JSON: dates as ISO text (times in UTC), decimals as text."""
    if isinstance(value, datetime):
        return value.astimezone(timezone.get_fixed_timezone(0)).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, models.Model):
        return str(value)
    return value


def fields(row: models.Model, *names: str) -> Plain:
    """Return the named fields of a row as plain data."""
    return {name: plain(getattr(row, name)) for name in names}


def unit_record(unit: Unit) -> Plain:
    """Return everything known about a unit, across all its rebuilds.

    The shape is described in docs/record.md.
    """
    rebuilds = unit.rebuilds.order_by("number").select_related(
        "work_order__customer", "work_order__end_owner", "revision__unit_type", "box_line__box"
    )
    return {
        "serial": unit.serial,
        "unit_type": str(unit.unit_type),
        "maker_serial": unit.maker_serial,
        "rebuilds": [rebuild_record(rebuild) for rebuild in rebuilds],
        "changes": changes(unit),
    }


def rebuild_record(rebuild: Rebuild) -> Plain:
    """Return one rebuild as plain data, from the box to the claims."""
    release = rebuild.releases.order_by("-pk").first()
    warranty = getattr(rebuild, "warranty", None)
    line = getattr(rebuild, "box_line", None)
    return {
        "work_order": rebuild.work_order.number,
        "box": line.box.number if line else None,
        "customer": rebuild.work_order.customer.name,
        **order_record(rebuild.work_order),
        "number": rebuild.number,
        "revision": rebuild.revision.number,
        "revision_of": rebuild.revision.unit_type.code,
        "revision_state": rebuild.revision.state,
        "stage": rebuild.stage,
        "received": intake_record(rebuild),
        **work_record(rebuild),
        "photos": [photo_record(photo) for photo in _photos(rebuild, received=False)],
        "lessons": [lesson_record(row) for row in rebuild.lessons.select_related(*LESSON_RELATED)],
        "release": release_record(release) if release else None,
        "releases": [r.number for r in rebuild.releases.all()],
        "packing": packing_record(rebuild),
        "shipment": shipment_record(rebuild),
        "exchanged_for": _exchanged_for(rebuild),
        "warranty": (
            {
                "recipient": plain(warranty.shipment.recipient),
                **fields(warranty, "holder", "starts_on", "ends_on", "months", "policy", "terms"),
            }
            if warranty
            else None
        ),
        "recall_decisions": [
            fields(row, "recall", "may_go", "why", "by", "at")
            for row in rebuild.recall_decisions.select_related("recall", "by")
        ],
        "claims": [claim_record(claim) for claim in warranty.claims.order_by("pk")] if warranty else [],
    }


def order_record(order: WorkOrder) -> Plain:
    """Return the facts of a work order beside its number and customer."""
    return {
        **fields(order, "customer_order", "bill_to", "ship_to", "end_owner", "warranty_holder"),
        "rush": (
            fields(order, "rush_wanted_by", "rush_agreed_by", "rush_why") if order.rush_wanted_by else None
        ),
    }


def intake_record(rebuild: Rebuild) -> Plain:
    """Return what was received and in which state."""
    return {
        **fields(
            rebuild,
            "received_at",
            "received_by",
            "opened_before",
            "arrival_condition",
            "reported",
            "destination",
            "mounting_place",
        ),
        "items": [fields(item, "kind", "label", "note") for item in rebuild.arrival_items.all()],
        "photos": [photo.file.sha256 for photo in _photos(rebuild, received=True)],
    }


def _photos(rebuild: Rebuild, *, received: bool) -> Iterable[Photo]:
    """Return the photos taken before anything was loosened, which the receipt signs, or the later ones."""
    at_receipt = {"moment": Photo.Moment.RECEIVING}
    rows = rebuild.photos.filter(**at_receipt) if received else rebuild.photos.exclude(**at_receipt)
    return rows.select_related(
        "file", "finding__position", "finding__component", "finding__port", "finding__hose", "port", "by"
    )


def photo_record(photo: Photo) -> Plain:
    """Return one photo of the work by its digest, with the place of its finding, or its port."""
    place = photo.finding.place if photo.finding else photo.port
    return {
        "position": place.code if place else None,
        **fields(photo, "moment", "caption", "at", "by"),
        "sha256": photo.file.sha256,
    }


LESSON_RELATED = (*PLACE_FIELDS, "by", "photo", "review__revision")


def lesson_record(row: Any) -> Plain:
    """Return one lesson that this rebuild taught, with what became of it."""
    return {
        "position": row.place.code if row.place else None,
        **fields(row, "step", "text", "at", "by", "state"),
        "photo": row.photo.sha256 if row.photo else None,
    }


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


def test_record(test: Any) -> Plain:
    """Return one pressure test with its steps and readings."""
    results = test.results.select_related("step", "done_by", "photo").prefetch_related(
        "readings__limit", "readings__instrument", "readings__trace__file"
    )
    starts = starts_of(test)
    return {
        "plan": str(test.plan),
        **fields(test, "number", "state", "rig_fluid", "fluid_left", "started_at", "started_by", "verdict"),
        "superseded_reason": test.superseded_reason,
        "steps": [
            {
                "kind": result.step.kind,
                "title": result.step.title,
                "side": result.step.side,
                **fields(result, "verdict", "arithmetic", "done_at", "done_by", "note"),
                "photo": result.photo.sha256 if result.photo else None,
                **start_record(start_of(result, starts)),
                "readings": [reading_record(reading) for reading in result.readings.all()],
            }
            for result in results
        ],
    }


def start_record(start: StepConfirmation | None) -> Plain:
    """Return what was confirmed before a step; nothing for steps of before this was asked."""
    if start is None:
        return {}
    names = ("medium", "rod_port", "raised_bar", "relief_bar", "relief_by", "by", "at")
    confirmed = [each["sentence"] for each in start.conditions]
    return {"started": {"confirmed": confirmed, **fields(start, *names)}}


test_record.__test__ = False  # type: ignore[attr-defined]  # not a pytest function


SINCE_NEW_WAYS = ("figure", "code_at_most", "displacement_cm3", "displacement_error_pct")


def reading_record(reading: Any) -> Plain:
    """Return one reading with its limit, instrument and trace."""
    trace = getattr(reading, "trace", None)
    return {
        "reading": reading.limit.reading,
        **fields(reading, "value", "unit", "uncertainty", "verdict", "arithmetic", "observed"),
        **fields(reading.limit, "lower", "upper", "source", "basis"),
        # Only where they are set, so that the digest of an older reading still holds.
        **{name: value for name, value in fields(reading.limit, *SINCE_NEW_WAYS).items() if value},
        "instrument": reading.instrument.code if reading.instrument else None,
        "trace": (
            {
                "sha256": trace.file.sha256,
                "file": trace.file.name,
                **fields(
                    trace,
                    "rows",
                    "window_start_s",
                    "window_end_s",
                    "decay_bar_per_min",
                    "standard_error_bar_per_min",
                    "straight",
                    "warnings",
                ),
            }
            if trace
            else None
        ),
    }


def release_record(release: Release) -> Plain:
    """Return a release with its papers' digests."""
    return {
        **fields(release, "number", "status", "remarks", "at", "by", "why"),
        "replaces": release.replaces.number if release.replaces else None,
        "certificate_sha256": release.certificate.sha256,
        "fitter_page_sha256": release.fitter_page.sha256,
    }


def shipment_record(rebuild: Rebuild) -> Plain | None:
    """Return how a unit left, or None while it has not."""
    packed = getattr(rebuild, "packed", None)
    if packed is None:
        return None
    parcel = packed.parcel
    exchange = getattr(packed, "exchange", None)
    return {
        "number": parcel.shipment.number,
        "sent_at": plain(parcel.shipment.at),
        "recipient": parcel.shipment.recipient.name,
        "carrier": parcel.taken_by,
        "parcel": parcel.number,
        **fields(parcel, "tracking", "weight_kg", "length_cm", "width_cm", "height_cm"),
        **fields(packed, "checked", "caps_on", "as_found"),
        "given_for": exchange_record(exchange) if exchange else None,
    }


def exchange_record(exchange: Exchange) -> Plain:
    """Return for which core a unit from the shelf left, and whether it came."""
    return {
        "core": exchange.core.unit.serial if exchange.core else None,
        **fields(exchange, "due", "came_at", "came_by", "waived_at", "waived_by", "waive_reason"),
    }


def packing_record(rebuild: Rebuild) -> list[Plain]:
    """Return each time that a unit was put into a parcel, with what was checked, by whom and when."""
    units = rebuild.packing_units.select_related("parcel__packing__work_order", "put_in_by", "taken_out_by")
    return [
        {
            "work_order": unit.parcel.packing.work_order.number,
            "parcel": unit.parcel.number,
            **fields(unit, "put_in_at", "put_in_by", "taken_out_at", "taken_out_by", "core_due"),
            "lines": [
                fields(line, "kind", "text", "state", "reason", "done_at", "done_by")
                | fields(line, "fluid", "volume_ml", "lot")
                for line in unit.lines.all()
            ],
        }
        for unit in units.prefetch_related("lines__done_by", "lines__fluid", "lines__lot")
    ]


def _exchanged_for(core: Rebuild) -> str | None:
    """Return the serial of the unit that was given for a core."""
    exchange: Exchange | None = getattr(core, "exchange", None)
    return exchange.packed.rebuild.unit.serial if exchange else None


def claim_record(claim: Claim) -> Plain:
    """Return a claim with its judgement."""
    return {
        **fields(claim, "number", "reported", "opened_at", "judgement", "judged_at", "reason"),
        **fields(claim, "identity", "identity_note", "identity_at"),
        "claimant": claim.claimant.name,
        "rebuild": claim.rebuild.work_order.number if claim.rebuild else None,
    }


def tracked_rows(unit: Unit) -> Iterable[models.Manager[Any]]:
    """Return the histories of the unit and of every tracked row below its rebuilds."""
    from workorders import models as rows

    yield Unit.history.filter(id=unit.pk)
    paths = {
        rows.Rebuild: "unit_id",
        rows.ArrivalItem: "rebuild__unit_id",
        rows.FluidFound: "rebuild__unit_id",
        rows.Finding: "rebuild__unit_id",
        rows.Measurement: "rebuild__unit_id",
        rows.SealFound: "rebuild__unit_id",
        rows.Operation: "rebuild__unit_id",
        rows.OperationValue: "operation__rebuild__unit_id",
        rows.OutsideWork: "rebuild__unit_id",
        rows.PressureTest: "rebuild__unit_id",
        rows.StepResult: "pressure_test__rebuild__unit_id",
        rows.Reading: "result__pressure_test__rebuild__unit_id",
        rows.Trace: "reading__result__pressure_test__rebuild__unit_id",
        rows.PackingUnit: "rebuild__unit_id",
        rows.PackingLine: "packing_unit__rebuild__unit_id",
        rows.Exchange: "packed__rebuild__unit_id",
        rows.Warranty: "rebuild__unit_id",
        rows.Claim: "warranty__rebuild__unit_id",
    }
    for model, path in paths.items():
        yield model.history.filter(**{path: unit.pk})


def changes(unit: Unit) -> list[Plain]:
    """Return every recorded change of the unit's rows: what, who, when, why, from and to."""
    found: list[Plain] = []
    for history in tracked_rows(unit):
        earlier: dict[Any, Any] = {}
        for row in history.select_related("history_user").order_by("id", "history_date", "history_id"):
            found.append(change_record(row, earlier.get(row.id)))
            earlier[row.id] = row
    return sorted(found, key=lambda change: (change["at"], change["row"]))


# What outside work cost is for the lead and stores; a record goes to whoever asks for it.
NOT_TOLD = frozenset({"price"})


def change_record(row: Any, before: Any) -> Plain:
    """Return one history row as plain data, with the fields that differ from the one before."""
    kinds = {"+": "entered", "~": "changed", "-": "removed"}
    changed = {}
    if before is not None and row.history_type == "~":
        for name in (f.attname for f in row.tracked_fields if f.attname not in NOT_TOLD):
            old, new = getattr(before, name), getattr(row, name)
            if old != new:
                changed[name] = {"from": plain(old), "to": plain(new)}
    return {
        "row": f"{row.instance_type._meta.verbose_name} {row.id}",
        "what": kinds[row.history_type],
        "by": str(row.history_user) if row.history_user else None,
        "at": plain(row.history_date),
        "why": row.history_change_reason,
        "changed": changed,
    }

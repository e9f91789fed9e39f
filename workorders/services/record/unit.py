"""The record of a unit across its rebuilds, from the box to the claims."""

from collections.abc import Iterable
from typing import Any

from workorders.models import Claim, Photo, Rebuild, Release, Unit, WorkOrder
from workorders.models.finding import PLACE_FIELDS
from workorders.services.record.changes import changes
from workorders.services.record.dispatch import exchanged_for, packing_record, shipment_record
from workorders.services.record.plain import Plain, fields, plain
from workorders.services.record.work import work_record


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
        "exchanged_for": exchanged_for(rebuild),
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


def release_record(release: Release) -> Plain:
    """Return a release with its papers' digests."""
    return {
        **fields(release, "number", "status", "remarks", "at", "by", "why"),
        "replaces": release.replaces.number if release.replaces else None,
        "certificate_sha256": release.certificate.sha256,
        "fitter_page_sha256": release.fitter_page.sha256,
    }


def claim_record(claim: Claim) -> Plain:
    """Return a claim with its judgement."""
    return {
        **fields(claim, "number", "reported", "opened_at", "judgement", "judged_at", "reason"),
        **fields(claim, "identity", "identity_note", "identity_at"),
        "claimant": claim.claimant.name,
        "rebuild": claim.rebuild.work_order.number if claim.rebuild else None,
    }

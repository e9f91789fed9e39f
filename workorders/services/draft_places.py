"""Places added to a draft type at teardown, as they are found in the unit on the bench."""

from collections.abc import Mapping
from typing import Any

from shop.errors import RuleBroken
from shop.models import Component, DimensionLimit, Hose, SealPosition, TypeRevision, UnitType
from shop.services import draft_types
from shop.services.catalogue import PLACES, Place
from shop.services.draft_types import next_code
from shop.services.writing import Act, service
from workorders.models import Finding, Measurement, Rebuild, Signature
from workorders.services.missing import Missing
from workorders.services.places import at
from workorders.services.standing import hold_open

# Common practice, no source: how the seal of a kind of place moves, most of the time.
USUAL_MOTION: Mapping[str, str] = {
    SealPosition.Kind.ROD_SEAL: SealPosition.Motion.RECIPROCATING,
    SealPosition.Kind.WIPER: SealPosition.Motion.RECIPROCATING,
    SealPosition.Kind.PISTON_SEAL: SealPosition.Motion.RECIPROCATING,
    SealPosition.Kind.SHAFT_SEAL: SealPosition.Motion.ROTARY,
}
LEFT_TO_THE_LEAD = "measured at teardown; limits left to the lead"


def is_on_bench_draft(rebuild: Rebuild) -> bool:
    """Whether a rebuild is open and its revision a draft that the bench adds to."""
    revision = rebuild.revision
    unit_type: UnitType = revision.unit_type
    return (
        rebuild.is_open
        and revision.state == TypeRevision.State.DRAFT
        and unit_type.provisional
        and unit_type.merged_into_id is None
    )


@service("draft_type")
def save_found_place(
    *, act: Act, rebuild: Rebuild, place: str, row: Place | None = None, **fields: Any
) -> Place:
    """Add a place to the draft that a rebuild is on, or change one.

    ``place`` is position, component, port, hose or dimension. What is left empty is proposed: the next
    free code, a name after the kind, the usual motion, the end of the order. Raises RuleBroken
    before the inspection on arrival is signed, for a rebuild on any other revision, and for a
    place that a signed teardown names.
    """
    held = hold_draft(rebuild)
    if row and (names := _signed_at(row)):
        raise RuleBroken(f"{row} is named in a signed teardown ({names}): the lead changes it.")
    proposed = fields if row else _proposed(held.revision, place, fields)
    return draft_types.save_found_place(act=act, revision=held.revision, place=place, row=row, **proposed)


@service("draft_type")
def remove_found_place(*, act: Act, rebuild: Rebuild, row: Place) -> TypeRevision:
    """Take out a place that was entered by mistake; refused while anything points to it."""
    held = hold_draft(rebuild)
    if row.revision_id != held.revision_id:
        raise RuleBroken(f"{row} is not a place of {held.revision}.")
    return draft_types.remove_found_place(act=act, row=row)


def hold_draft(rebuild: Rebuild) -> Rebuild:
    """Hold an open rebuild on a draft that the bench adds to; call inside a service."""
    row, facts = hold_open(rebuild)
    if not facts.signed_received:
        raise RuleBroken(
            "The preliminary inspection on arrival is not signed yet. "
            "Receiving signs it before anything is taken apart."
        )
    draft_types.open_bench_draft(row.revision)
    return row


def _proposed(revision: TypeRevision, kind: str, fields: dict[str, Any]) -> dict[str, Any]:
    """Fill what the bench left empty."""
    given = {name: value for name, value in fields.items() if value not in ("", None)}
    rows = PLACES[kind]._default_manager.filter(revision=revision)
    found: dict[str, Any] = {"code": next_code(revision, kind), "order": rows.count() + 1}
    chosen = str(given.get("kind", ""))
    if kind == "position":
        found["name"] = dict(SealPosition.Kind.choices).get(chosen, "")
        found["motion"] = USUAL_MOTION.get(chosen, SealPosition.Motion.STATIC)
    elif kind == "component":
        found["name"] = dict(Component.Kind.choices).get(chosen, "")
    elif kind == "port":
        found["name"] = "port"
    elif kind == "hose":
        found |= {"name": "hose", "attachment": Hose.Attachment.NOT_KNOWN}
    else:
        found |= {"basis": LEFT_TO_THE_LEAD, "limits_open": True, "required": False}
        found["name"] = dict(DimensionLimit.Quantity.choices).get(str(given.get("quantity", "")), "")
    return found | given


def _signed_at(row: Place) -> str:
    """Return the serials of units whose signed teardown names a place."""
    if isinstance(row, DimensionLimit):
        rows: Any = Measurement.objects.filter(limit=row)
    else:
        rows = Finding.objects.filter(**at(row))
    signed = rows.filter(rebuild__signatures__meaning=Signature.Meaning.TORN_DOWN)
    return ", ".join(sorted(set(signed.values_list("rebuild__unit__serial", flat=True))))


def missing_places(rebuild: Rebuild) -> list[Missing]:
    """Return what a teardown on a draft lacks altogether: a place to judge."""
    revision = rebuild.revision
    if revision.state != TypeRevision.State.DRAFT:
        return []
    if revision.positions.exists() or revision.components.exists():
        return []
    return [Missing("Places", "none is entered on the draft type yet")]

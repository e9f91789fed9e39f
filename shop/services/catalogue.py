"""The catalogue: unit types, their revisions, and the places in them. Only drafts change."""

from typing import Any, TypeVar

from django.db import models
from django.db.models import ProtectedError

from shop.errors import RuleBroken
from shop.models import (
    Component,
    DimensionLimit,
    Fluid,
    Port,
    SealPosition,
    TestPlan,
    TypeRevision,
    UnitType,
)
from shop.services.test_plans import copy_plan
from shop.services.writing import Act, keep, locked, service

M = TypeVar("M", bound=models.Model)
State = TypeRevision.State
Place = SealPosition | Component | Port | DimensionLimit
# Kind of place, as in addresses -> its model; each hangs on a revision under the plural name.
PLACES: dict[str, type[Place]] = {
    "position": SealPosition,
    "component": Component,
    "port": Port,
    "dimension": DimensionLimit,
}


@service("catalogue")
def save_unit_type(*, act: Act, unit_type: UnitType | None = None, **fields: Any) -> UnitType:
    """Enter a unit type, or change its name, maker or note for the reason in ``act.why``.

    Raises RuleBroken for a wrong field, a change without a reason, and a change of family once a
    revision was approved.
    """
    row = locked(unit_type) if unit_type else UnitType()
    if unit_type:
        _check_why(act, "Say why the unit type is changed; the reason stays in the history.")
        family = fields.get("family", row.family)
        if family != row.family and row.revisions.exclude(state=State.DRAFT).exists():
            raise RuleBroken(fields={"family": "A revision was approved for this family: it stays."})
    return keep(_set(row, fields))


@service("catalogue")
def draft_revision(*, act: Act, unit_type: UnitType, **fields: Any) -> TypeRevision:
    """Start a draft: a copy of the approved revision with its places and test plan, or the first one.

    ``fields`` are laid over the copy; the first revision needs ``service_fluid``. Raises
    RuleBroken while another draft is open.
    """
    unit_type = locked(unit_type)
    revisions = unit_type.revisions.order_by("-number")
    if open_draft := revisions.filter(state=State.DRAFT).first():
        raise RuleBroken(f"{open_draft} is a draft already: change or approve that one.")
    number = (latest.number if (latest := revisions.first()) else 0) + 1
    approved = revisions.filter(state=State.APPROVED).first()
    draft = _copy(approved) if approved else TypeRevision(unit_type=unit_type)
    draft.number, draft.state = number, State.DRAFT
    keep(_set(draft, fields))
    if approved:
        _copy_places(approved, draft)
        if plan := approved.test_plans.filter(state=TestPlan.State.APPROVED).first():
            copy_plan(plan, revision=draft, version=1)
    return draft


def _copy_places(approved: TypeRevision, draft: TypeRevision) -> None:
    """Copy every place; a dimension that reads a gland points to the copy of its position."""
    copied: dict[int, SealPosition] = {}
    for model in PLACES.values():
        for row in model._default_manager.filter(revision=approved):
            copy = _copy(row, revision=draft)
            if isinstance(copy, DimensionLimit) and copy.position_id:
                copy.position = copied[copy.position_id]
            keep(copy)
            if isinstance(copy, SealPosition):
                copied[row.pk] = copy


@service("catalogue")
def change_revision(*, act: Act, revision: TypeRevision, **fields: Any) -> TypeRevision:
    """Change the figures of a draft."""
    return keep(_set(draft_of(revision), fields))


@service("catalogue")
def save_place(
    *, act: Act, revision: TypeRevision, place: str, row: Place | None = None, **fields: Any
) -> Place:
    """Add or change what ``place`` names (position, component, port or dimension) in a draft.

    Raises RuleBroken for a place of another revision, a dimension that reads a gland of another
    revision, and as the constraints of the place say.
    """
    draft = draft_of(revision)
    if row and row.revision_id != draft.pk:
        raise RuleBroken("This place belongs to another revision.")
    position = fields.get("position")
    if position and position.revision_id != draft.pk:
        raise RuleBroken(fields={"position": f"{position} belongs to another revision."})
    return keep(_set(locked(row) if row else PLACES[place](revision=draft), fields))


@service("catalogue")
def remove_place(*, act: Act, row: Place) -> TypeRevision:
    """Take a place out of a draft; refused while its kit or a dimension names it."""
    draft = draft_of(row.revision)
    try:
        locked(row).delete()
    except ProtectedError as error:
        message = f"{row} is still named by the kit or a dimension of this revision: take it out there first."
        raise RuleBroken(message) from error
    return draft


@service("catalogue")
def approve_revision(*, act: Act, revision: TypeRevision) -> TypeRevision:
    """Make a draft the revision that new rebuilds are built to; the earlier one is superseded.

    ``act.why`` says what changed. Raises RuleBroken for a draft without a place to look at.
    """
    _check_why(act, "Say what this revision changes; the reason stays in the history.")
    draft = draft_of(revision)
    if not (draft.positions.exists() or draft.components.exists()):
        raise RuleBroken("Enter at least one seal position or component: teardown looks at nothing else.")
    locked(draft.unit_type)
    for earlier in draft.unit_type.revisions.filter(state=State.APPROVED):
        earlier.state = State.SUPERSEDED
        keep(earlier)
    draft.state = State.APPROVED
    return keep(draft)


@service("catalogue")
def save_fluid(*, act: Act, fluid: Fluid | None = None, **fields: Any) -> Fluid:
    """Enter a fluid, or change one for the reason in ``act.why``."""
    if fluid:
        _check_why(act, "Say why the fluid is changed; the reason stays in the history.")
    return keep(_set(locked(fluid) if fluid else Fluid(), fields))


def draft_of(revision: TypeRevision) -> TypeRevision:
    """Return the revision, held for this write; RuleBroken unless it is a draft."""
    row = locked(revision)
    if row.state != State.DRAFT:
        raise RuleBroken(f"{row} is {row.get_state_display()} and no longer changes. Start a draft.")
    return row


def _check_why(act: Act, message: str) -> None:
    if not act.why.strip():
        raise RuleBroken(fields={"why": message})


def _set(row: M, fields: dict[str, Any]) -> M:
    for name, value in fields.items():
        row._meta.get_field(name)  # a field that the model lacks is a mistake of the caller
        setattr(row, name, value)
    return row


def _copy(row: M, **changes: Any) -> M:
    """Return an unsaved copy of a row with some values changed."""
    values = {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}
    del values[row._meta.pk.attname]
    copy = type(row)(**values)
    for name, value in changes.items():
        setattr(copy, name, value)
    return copy

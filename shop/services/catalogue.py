"""The catalogue: unit types, their revisions, and the places in them. Only drafts change."""

from typing import Any, TypeVar

from django.db import models
from django.db.models import ProtectedError

from shop.errors import RuleBroken
from shop.models import (
    Component,
    DimensionLimit,
    FasteningFigure,
    Fluid,
    Hose,
    Port,
    SealPosition,
    TechniqueNote,
    TestPlan,
    ToolNeed,
    TypeRevision,
    UnitType,
)
from shop.services.maker_numbers import enter_numbers
from shop.services.test_plans import copy_plan
from shop.services.writing import Act, keep, locked, service

M = TypeVar("M", bound=models.Model)
State = TypeRevision.State
Place = SealPosition | Component | Port | Hose | DimensionLimit
Technique = TechniqueNote | FasteningFigure | ToolNeed
# Kind of place, as in addresses -> its model; each hangs on a revision under the plural name.
PLACES: dict[str, type[Place]] = {
    "position": SealPosition,
    "component": Component,
    "port": Port,
    "hose": Hose,
    "dimension": DimensionLimit,
}
TECHNIQUE: dict[str, type[Technique]] = {
    "note": TechniqueNote,
    "fastening": FasteningFigure,
    "tool": ToolNeed,
}
# In this order, since the later ones point to the earlier.
ROWS: dict[str, type[Place] | type[Technique]] = {**PLACES, **TECHNIQUE}
POINTERS = ("position", "component", "port")


@service("catalogue")
def save_unit_type(
    *, act: Act, unit_type: UnitType | None = None, maker_numbers: str = "", **fields: Any
) -> UnitType:
    """Enter a unit type, or change its name, maker or note for the reason in ``act.why``.

    ``maker_numbers`` are numbers to add, with commas, semicolons or line ends between them. Raises
    RuleBroken for a wrong field, a change without a reason, and a change of family once a revision
    was approved.
    """
    row = locked(unit_type) if unit_type else UnitType()
    if unit_type:
        _check_why(act, "Say why the unit type is changed; the reason stays in the history.")
        family = fields.get("family", row.family)
        if family != row.family and row.revisions.exclude(state=State.DRAFT).exists():
            raise RuleBroken(fields={"family": "A revision was approved for this family: it stays."})
    keep(_set(row, fields))
    enter_numbers(unit_type=row, text=maker_numbers)
    return row


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
    """Copy every place with its technique; what points to a place points to the copy of it."""
    copied: dict[tuple[str, int], Any] = {}
    for kind, model in ROWS.items():
        for row in model._default_manager.filter(revision=approved):
            copy = _copy(row, revision=draft)
            for pointer in POINTERS:
                if pk := getattr(row, f"{pointer}_id", None):
                    setattr(copy, pointer, copied[pointer, pk])
            copied[kind, row.pk] = keep(copy)


@service("catalogue")
def change_revision(*, act: Act, revision: TypeRevision, **fields: Any) -> TypeRevision:
    """Change the figures of a draft."""
    return keep(_set(draft_of(revision), fields))


@service("catalogue")
def save_place(
    *,
    act: Act,
    revision: TypeRevision,
    place: str,
    row: Place | Technique | None = None,
    **fields: Any,
) -> Any:
    """Add or change what ``place`` names in a draft: a key of ``ROWS``.

    Raises RuleBroken for a row of another revision, one that points to a place of another
    revision, and as the constraints of the row say.
    """
    return keep_place(draft_of(revision), place, row, fields)


@service("catalogue")
def remove_place(*, act: Act, row: Place | Technique) -> TypeRevision:
    """Take a row of ``ROWS`` out of a draft; a place is refused while another row names it."""
    draft = draft_of(row.revision)
    drop_place(row)
    return draft


def keep_place(draft: TypeRevision, place: str, row: Place | Technique | None, fields: dict[str, Any]) -> Any:
    """Check and save a place of a draft that the caller holds; raises as `save_place` does."""
    if row and row.revision_id != draft.pk:
        raise RuleBroken("This place belongs to another revision.")
    for pointer in POINTERS:
        to = fields.get(pointer)
        if to and to.revision_id != draft.pk:
            raise RuleBroken(fields={pointer: f"{to} belongs to another revision."})
    return keep(_set(locked(row) if row else ROWS[place](revision=draft), fields))


def drop_place(row: Place | Technique) -> None:
    """Delete a place of a draft; RuleBroken, naming what points to it, where something does."""
    try:
        locked(row).delete()
    except ProtectedError as error:
        kinds = {str(each._meta.verbose_name) for each in error.protected_objects}
        raise RuleBroken(
            f"{row} is still named by what was entered ({', '.join(sorted(kinds))}): take that out first."
        ) from error


@service("catalogue")
def approve_revision(*, act: Act, revision: TypeRevision) -> TypeRevision:
    """Make a draft the revision that new rebuilds are built to; the earlier one is superseded.

    ``act.why`` says what changed. Raises RuleBroken for a draft without a place to look at, and
    for a hose that is rated below the unit without a reason.
    """
    _check_why(act, "Say what this revision changes; the reason stays in the history.")
    draft = draft_of(revision)
    if not (draft.positions.exists() or draft.components.exists()):
        raise RuleBroken("Enter at least one seal position or component: teardown looks at nothing else.")
    if draft.service_fluid_id is None:
        raise RuleBroken("Name the service fluid first: which seals may be fitted depends on it.")
    _refuse_underrated(draft)
    _refuse_open_limits(draft)
    unit_type = locked(draft.unit_type)
    if unit_type.merged_into:
        raise RuleBroken(f"{unit_type} turned out to be {unit_type.merged_into}: nothing is approved here.")
    if unit_type.provisional:
        unit_type.provisional = False
        keep(unit_type)
    for earlier in draft.unit_type.revisions.filter(state=State.APPROVED):
        earlier.state = State.SUPERSEDED
        keep(earlier)
    draft.state = State.APPROVED
    return keep(draft)


def _refuse_underrated(draft: TypeRevision) -> None:
    """Refuse hoses rated below the unit; a return line may be, and then says so."""
    weak = [row for row in draft.hoses.select_related("revision") if row.is_underrated]
    named = "; ".join(
        f"{row}: {row.rated_pressure_bar:g} bar" for row in weak if not row.rating_reason.strip()
    )
    if named:
        raise RuleBroken(
            f"Rated below the {draft.rated_pressure_bar:g} bar of the unit: {named}. Name a hose that holds "
            "it, or say at the hose why a lower rating is right."
        )


def _refuse_open_limits(draft: TypeRevision) -> None:
    left = [str(row) for row in draft.dimension_limits.filter(limits_open=True) if row.is_judged_by_nothing]
    if left:
        raise RuleBroken(f"Limits were left to the lead: {', '.join(left)}. Enter them or take them out.")


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

"""The places of a unit: its seal positions, components, ports and hoses, and what they have in common."""

from collections.abc import Sequence

from django.db import models

from shop.errors import RuleBroken
from shop.models import Component, Hose, Port, SealPosition, TypeRevision
from shop.models.technique import TechniqueRow
from workorders.models.finding import AtPlace

Place = SealPosition | Component | Port | Hose
Key = tuple[str, int]

KINDS: dict[str, type[models.Model]] = {
    "position": SealPosition,
    "component": Component,
    "port": Port,
    "hose": Hose,
}


def kind_of(place: Place) -> str:
    """Return ``position``, ``component``, ``port`` or ``hose``, as the field that points to it."""
    return next(kind for kind, model in KINDS.items() if isinstance(place, model))


def key_of(place: Place) -> Key:
    """Return what identifies a place across the four tables."""
    return kind_of(place), place.pk


def row_key(row: AtPlace | TechniqueRow) -> Key | None:
    """Return the key of the place that a row is about, without a query; None for the whole unit."""
    for kind in KINDS:
        pk = getattr(row, f"{kind}_id", None)  # technique is about three kinds of place only
        if pk is not None:
            return kind, pk
    return None


def at(place: Place | None) -> dict[str, Place]:
    """Return the keyword that points a row to a place."""
    return {} if place is None else {kind_of(place): place}


def places(revision: TypeRevision) -> list[Place]:
    """Return every place of a revision: seal positions first, then components, ports, hoses."""
    groups: Sequence[Sequence[Place]] = (
        list(revision.positions.all()),
        list(revision.components.all()),
        list(revision.ports.all()),
        list(revision.hoses.all()),
    )
    return [place for group in groups for place in group]


def require_place_of(revision: TypeRevision, place: Place) -> None:
    """Raise RuleBroken unless the place belongs to the revision that the rebuild is built to."""
    if place.revision_id != revision.pk:
        raise RuleBroken(f"{place} is not a place of {revision}.")

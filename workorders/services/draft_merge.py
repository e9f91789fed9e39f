"""A draft type that turned out to be a known one: its rebuilds move there, place by place."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import models

from shop.errors import RuleBroken
from shop.models import (
    Component,
    DimensionLimit,
    Hose,
    MountingPlace,
    Port,
    SealPosition,
    TypeRevision,
    UnitType,
)
from shop.services.draft_types import open_bench_draft
from shop.services.writing import Act, keep, locked, service
from workorders.models import BoxLine, Finding, Measurement, Rebuild, SealFound, Unit
from workorders.services.places import KINDS, kind_of, places

Named = SealPosition | Component | Port | Hose | DimensionLimit
Mapped = Mapping[tuple[str, int], Named | None]
DIMENSION = "dimension"
PHOTOGRAPHED = "photographed as a port of the draft type, before the unit was recognised"


@dataclass(frozen=True, kw_only=True)
class Pair:
    """A place of the draft that something was recorded at, and the place of the known type proposed."""

    kind: str
    place: Named
    proposed: Named | None
    choices: Sequence[Named]

    @property
    def key(self) -> tuple[str, int]:
        """What identifies the place across the tables."""
        return self.kind, self.place.pk

    @property
    def may_stay(self) -> bool:
        """Whether readings may stay on the record as the draft's own: a dimension that the type lacks."""
        return self.kind == DIMENSION


def pairs_for(draft: TypeRevision, target: TypeRevision) -> list[Pair]:
    """Return every place of the draft that rows of open rebuilds name, with the likeliest counterpart.

    Proposed in this order: same code, kind and motion; same kind and motion; same kind. Each place
    of the known type is proposed once.
    """
    used, highest = _used(draft), _highest_stations(draft)
    found: list[Pair] = []
    for kind, rows, choices in _kinds(draft, target):
        taken: set[int] = set()
        for row in rows:
            if (kind, row.pk) not in used:
                continue
            free = [each for each in choices if each.pk not in taken and not _unreadable(row, each, highest)]
            proposed = _likeliest(row, free, found)
            if proposed:
                taken.add(proposed.pk)
            found.append(Pair(kind=kind, place=row, proposed=proposed, choices=choices))
    return found


def _kinds(
    draft: TypeRevision, target: TypeRevision
) -> Iterable[tuple[str, Sequence[Named], Sequence[Named]]]:
    here, there = places(draft), places(target)
    for kind in KINDS:
        yield (
            kind,
            [row for row in here if kind_of(row) == kind],
            [row for row in there if kind_of(row) == kind],
        )
    yield (
        DIMENSION,
        list(draft.dimension_limits.select_related("position")),
        list(target.dimension_limits.select_related("position")),
    )


def _used(draft: TypeRevision) -> set[tuple[str, int]]:
    """Return the places that findings, seals and readings of open rebuilds on a draft name."""
    rebuilds = Rebuild.objects.open().filter(revision=draft)
    found: set[tuple[str, int]] = set()
    for kind in KINDS:
        keys = Finding.objects.filter(rebuild__in=rebuilds, **{f"{kind}__isnull": False}).order_by()
        found |= {(kind, pk) for pk in keys.values_list(f"{kind}_id", flat=True)}
    seals = SealFound.objects.filter(rebuild__in=rebuilds).order_by()
    found |= {("position", pk) for pk in seals.values_list("position_id", flat=True)}
    readings = Measurement.objects.filter(rebuild__in=rebuilds).order_by()
    return found | {(DIMENSION, pk) for pk in readings.values_list("limit_id", flat=True)}


def _likeliest(row: Named, free: Sequence[Named], found: Sequence[Pair]) -> Named | None:
    """Return the free place that resembles a place most; None where nothing is of its kind."""
    for alike in (_same_in_all, _same_in_kind_and_motion, _same_in_kind):
        for each in free:
            if alike(row, each, found):
                return each
    return None


def _traits(row: Named, found: Sequence[Pair]) -> tuple[Any, ...]:
    """Return what a place is, beside its code: kind and motion, hose, or what it measures where."""
    if isinstance(row, SealPosition):
        return row.kind, row.motion
    if isinstance(row, Component):
        return (row.kind, "")
    if isinstance(row, Port):
        return "port", row.fitting
    if isinstance(row, Hose):
        return "hose", _counterpart(("port", row.port_id), found)
    return (row.quantity, row.unit, row.gland_figure), _counterpart(("position", row.position_id), found)


def _counterpart(key: tuple[str, int | None], found: Sequence[Pair]) -> int | None:
    """Return the key of the place proposed for a place of the draft; the key itself for any other."""
    for pair in found:
        if pair.key == key:
            return pair.proposed.pk if pair.proposed else None
    return key[1]


def _same_in_all(row: Named, other: Named, found: Sequence[Pair]) -> bool:
    return row.code == other.code and _traits(row, found) == _traits(other, found)


def _same_in_kind_and_motion(row: Named, other: Named, found: Sequence[Pair]) -> bool:
    return _traits(row, found) == _traits(other, found)


def _same_in_kind(row: Named, other: Named, found: Sequence[Pair]) -> bool:
    """Alike in kind alone; a dimension of another place is never alike."""
    return not isinstance(row, DimensionLimit) and _traits(row, found)[0] == _traits(other, found)[0]


@service("catalogue")
def merge_draft(*, act: Act, revision: TypeRevision, target: TypeRevision, mapped: Mapped) -> UnitType:
    """Move the open rebuilds on a draft to the approved revision of a known type, in one transaction.

    ``mapped`` gives for each place that is named (kind and key) its counterpart; None lets the
    readings of a dimension stay on the record as the draft's own. Findings, seals and readings
    keep their text. Every unit of the draft becomes a unit of the known type; the draft type is
    kept, marked as merged, and no longer offered. Raises RuleBroken without a reason, and names
    everything that cannot be mapped.
    """
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say how it was recognised; the reason stays in the history."})
    draft = open_bench_draft(revision)
    known = locked(target)
    if known.state != TypeRevision.State.APPROVED or known.unit_type_id == draft.unit_type_id:
        raise RuleBroken("Choose a unit type that has an approved revision.")
    pairs = pairs_for(draft, known)
    _refuse_unmapped(draft, known, pairs, mapped)
    for rebuild in Rebuild.objects.open().filter(revision=draft).select_related("unit"):
        row = locked(rebuild)
        row.revision = known
        keep(row)
        _move_rows(row, mapped)
    _move_units(draft.unit_type, known.unit_type)
    merged = locked(draft.unit_type)
    merged.merged_into = known.unit_type
    return keep(merged)


def _refuse_unmapped(draft: TypeRevision, known: TypeRevision, pairs: Sequence[Pair], mapped: Mapped) -> None:
    """Raise RuleBroken that names every place without a counterpart of its own."""
    faults, highest = [], _highest_stations(draft)
    taken: dict[tuple[str, int], Named] = {}
    for pair in pairs:
        other = mapped.get(pair.key)
        if other is None:
            if not pair.may_stay:
                faults.append(f"{pair.place}: no place of {known} is chosen")
            continue
        if other.revision_id != known.pk or type(other) is not type(pair.place):
            faults.append(f"{pair.place}: {other} is no such place of {known}")
        elif (pair.kind, other.pk) in taken:
            faults.append(f"{pair.place}: {other} is taken by {taken[pair.kind, other.pk]} already")
        else:
            faults += _unreadable(pair.place, other, highest)
        taken.setdefault((pair.kind, other.pk), pair.place)
    faults += _doubles(draft.unit_type, known.unit_type)
    if faults:
        raise RuleBroken("Not moved. " + "; ".join(faults) + ".")


def _highest_stations(draft: TypeRevision) -> dict[int, int]:
    """Return the highest station read of each dimension of a draft."""
    rows = Measurement.objects.filter(limit__revision=draft).order_by().values("limit")
    return dict(rows.annotate(most=models.Max("station")).values_list("limit", "most"))


def _unreadable(place: Named, other: Named, highest: Mapping[int, int]) -> list[str]:
    """Name a dimension whose readings its counterpart cannot hold."""
    if not isinstance(place, DimensionLimit) or not isinstance(other, DimensionLimit):
        return []
    if place.unit != other.unit:
        return [f"{place}: read in {place.unit}, and {other} in {other.unit}"]
    most = highest.get(place.pk, 0)
    if most > other.stations:
        return [f"{place}: read at station {most}, and {other} has {other.stations}"]
    return []


def _doubles(draft: UnitType, known: UnitType) -> list[str]:
    """Name units whose maker's serial a unit of the known type has: it may be the same unit."""
    there = {row.maker_serial: row.serial for row in known.units.exclude(maker_serial="").order_by()}
    return [
        f"unit {row.serial}: unit {there[row.maker_serial]} has the maker's serial {row.maker_serial} already"
        for row in draft.units.exclude(maker_serial="")
        if row.maker_serial in there
    ]


def _move_rows(rebuild: Rebuild, mapped: Mapped) -> None:
    """Point findings, seals and readings of one rebuild to the mapped places."""
    for finding in rebuild.findings.order_by("pk"):
        kind = next(kind for kind in KINDS if getattr(finding, f"{kind}_id") is not None)
        if finding.hose and not finding.no_photo_reason and _was_photographed(rebuild, finding.hose):
            finding.no_photo_reason = PHOTOGRAPHED
        setattr(finding, kind, mapped[kind, getattr(finding, f"{kind}_id")])
        keep(finding)
    for seal in rebuild.seals_found.order_by("pk"):
        place = mapped["position", seal.position_id]
        assert isinstance(place, SealPosition)
        seal.position = place
        keep(seal)
    for reading in rebuild.measurements.order_by("pk"):
        limit = mapped.get((DIMENSION, reading.limit_id))
        if isinstance(limit, DimensionLimit):
            reading.limit = limit
            keep(reading)


def _was_photographed(rebuild: Rebuild, hose: Hose) -> bool:
    """Whether the port of a hose was photographed; such a photo goes on naming the port of the draft."""
    return rebuild.photos.filter(port=hose.port_id).exists()


def _move_units(draft: UnitType, known: UnitType) -> None:
    """Make every unit, box line and mounting place of the draft type one of the known type."""
    for model in (Unit, BoxLine, MountingPlace):
        for row in model._default_manager.filter(unit_type=draft).order_by("pk"):
            held = locked(row)
            held.unit_type = known
            keep(held)

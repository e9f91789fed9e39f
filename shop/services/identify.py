"""The catalogue as identification reads it, and what it proposes for a unit in hand."""

from collections.abc import Iterable
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch

from shop.calc.identify import Candidate, Entry, Observed, identify
from shop.calc.measured import DIAMETER_UNCERTAINTY_MM, LENGTH_UNCERTAINTY_MM
from shop.calc.superseded import KnownNumber, NumberRow, known_numbers
from shop.models import LimitSetting, MakerNumber, Port, ReferencePhoto, TypeRevision, UnitType

MOST_SHOWN = 12
State = TypeRevision.State
FIGURES = ("bore_mm", "rod_mm", "stroke_mm", "closed_length_mm", "displacement_cm3", "supply_v")


def uncertainties() -> tuple[float, float]:
    """Return the shop's errors of a diameter and of a length, mm, where none is told."""
    kept = dict(LimitSetting.objects.filter(key__startswith="identify-").values_list("key", "value"))
    return (
        kept.get("identify-diameter", DIAMETER_UNCERTAINTY_MM),
        kept.get("identify-length", LENGTH_UNCERTAINTY_MM),
    )


def catalogue_entries() -> list[Entry]:
    """Return every unit type in use with what its approved revision knows, else its latest draft.

    Four queries, however many types there are. A type that turned out to be another one leads to
    that one by its numbers.
    """
    revisions = _revisions()
    ports = _ports(revisions)
    types = list(UnitType.objects.select_related("merged_into"))
    numbers = _numbers(types)
    words = dict(UnitType.Family.choices)
    return [
        Entry(
            key=row.pk,
            code=row.code,
            family=row.family,
            family_words=words[row.family],
            built_from=row.built_from,
            built_to=row.built_to,
            numbers=numbers.get(row.pk, ()),
            threads=tuple(thread for thread, _hose in ports.get(row.pk, ())),
            hoses=tuple(hose for _thread, hose in ports.get(row.pk, ())),
            **{name: revisions[row.pk][name] if row.pk in revisions else None for name in FIGURES},
        )
        for row in types
        if row.merged_into is None
    ]


def _revisions() -> dict[int, dict[str, Any]]:
    """Return the figures of the approved revision of each type, else those of its latest draft."""
    found: dict[int, dict[str, Any]] = {}
    rows = TypeRevision.objects.exclude(state=State.SUPERSEDED).order_by("number")
    for row in rows.values("pk", "unit_type_id", "state", *FIGURES):
        kept = found.get(row["unit_type_id"])
        if kept is None or kept["state"] != State.APPROVED:
            found[row["unit_type_id"]] = row
    return found


def _ports(revisions: dict[int, dict[str, Any]]) -> dict[int, list[tuple[str, str]]]:
    types = {row["pk"]: unit_type for unit_type, row in revisions.items()}
    found: dict[int, list[tuple[str, str]]] = {}
    rows = Port.objects.exclude(revision__state=State.SUPERSEDED)
    for revision, thread, hose in rows.values_list("revision_id", "thread", "hose__code"):
        if revision in types:
            found.setdefault(types[revision], []).append((thread, hose or ""))
    return found


def _numbers(types: Iterable[UnitType]) -> dict[int, tuple[KnownNumber, ...]]:
    codes = {row.pk: row.code for row in types}
    numbers = known_numbers(
        rows=[
            NumberRow(
                key=row.pk,
                entry=row.unit_type_id,
                code=codes[row.unit_type_id],
                number=row.number,
                bare=row.bare,
                superseded_by=row.superseded_by_id,
            )
            for row in MakerNumber.objects.order_by("pk")
        ]
    )
    for row in types:
        if row.merged_into_id and row.pk in numbers:
            led = tuple(
                KnownNumber(
                    number=each.number,
                    bare=each.bare,
                    remark=f"Number {each.number} was written down for {row.code}, which turned out to be "
                    "this type.",
                )
                for each in numbers.pop(row.pk)
            )
            numbers[row.merged_into_id] = numbers.get(row.merged_into_id, ()) + led
    return numbers


def propose(observed: Observed) -> tuple[list[Candidate], int]:
    """Return the candidates worth showing, the likeliest first, and how many more agree in something.

    Every type with one of the numbers is shown; of the others the first twelve that agree in at
    least one fact.
    """
    ranked = identify(observed=observed, catalogue=catalogue_entries())
    worth = [one for one in ranked if one.agreeing]
    shown = [one for at, one in enumerate(worth) if at < MOST_SHOWN or one.same_numbers]
    return shown, len(worth) - len(shown)


def types_of(candidates: Iterable[Candidate]) -> dict[int, UnitType]:
    """Return the unit types of candidates by key, with photos, and ``ready`` where one can be received."""
    approved = TypeRevision.objects.filter(unit_type=OuterRef("pk"), state=State.APPROVED)
    photos = ReferencePhoto.objects.select_related("file").order_by("pk")
    rows = UnitType.objects.annotate(ready=Exists(approved)).select_related("variant_of")
    return rows.prefetch_related(Prefetch("reference_photos", photos)).in_bulk(
        [one.entry.key for one in candidates]
    )

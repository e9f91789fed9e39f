"""Interchange: which unit type may stand in for which, one way or both ways."""

from dataclasses import dataclass

from django.db.models import Q

from shop.errors import RuleBroken
from shop.models import Interchange, UnitType
from shop.services.maker_numbers import need_reason
from shop.services.writing import Act, keep, locked, service


@dataclass(frozen=True)
class StandIn:
    """A unit type that may stand in for another, and the row that says so."""

    unit_type: UnitType
    row: Interchange


def stands_in_for(unit_type: UnitType) -> list[StandIn]:
    """Return what may stand in for a unit type, by code, each with the row that says so.

    One query. The row's ``condition`` must be read out with it: it may forbid the exchange at hand.
    """
    found = Q(replaced=unit_type) | Q(stand_in=unit_type, both_ways=True)
    rows = Interchange.objects.filter(found).select_related("stand_in", "replaced")
    pairs = [StandIn(row.stand_in if row.replaced_id == unit_type.pk else row.replaced, row) for row in rows]
    return sorted(pairs, key=lambda pair: pair.unit_type.code)


def replaceable_by(unit_type: UnitType) -> list[StandIn]:
    """Return the types that a unit type may stand in for, by code, each with the row that says so.

    The other direction of `stands_in_for`; one query.
    """
    found = Q(stand_in=unit_type) | Q(replaced=unit_type, both_ways=True)
    rows = Interchange.objects.filter(found).select_related("stand_in", "replaced")
    pairs = [StandIn(row.replaced if row.stand_in_id == unit_type.pk else row.stand_in, row) for row in rows]
    return sorted(pairs, key=lambda pair: pair.unit_type.code)


def interchange_of(unit_type: UnitType) -> list[Interchange]:
    """Return every interchange that names a unit type, in either direction."""
    rows = Interchange.objects.filter(Q(replaced=unit_type) | Q(stand_in=unit_type))
    return list(rows.select_related("stand_in", "replaced"))


@service("catalogue")
def save_interchange(
    *,
    act: Act,
    stand_in: UnitType,
    replaced: UnitType,
    both_ways: bool,
    basis: str,
    condition: str = "",
    row: Interchange | None = None,
) -> Interchange:
    """Write down that ``stand_in`` may stand in for ``replaced``, or correct it for ``act.why``.

    Raises RuleBroken without a basis, for types of two families, for a type with itself, for a pair
    that is written down already, and for a correction without a reason.
    """
    if row:
        need_reason(act, "Say why the interchange is corrected; the reason stays in the history.")
    if stand_in.family != replaced.family:
        raise RuleBroken(
            f"A {stand_in.get_family_display()} cannot stand in for a {replaced.get_family_display()}."
        )
    kept = locked(row) if row else Interchange()
    kept.stand_in, kept.replaced, kept.both_ways = stand_in, replaced, both_ways
    kept.basis, kept.condition = basis.strip(), condition.strip()
    return keep(kept)


@service("catalogue")
def remove_interchange(*, act: Act, row: Interchange) -> None:
    """Withdraw an interchange for the reason in ``act.why``; its history stays."""
    need_reason(act, "Say why it no longer holds; the reason stays in the history.")
    locked(row).delete()

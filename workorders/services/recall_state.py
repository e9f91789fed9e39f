"""What recalls say of a unit now: computed from the facts, for banners and for what stops in the shop.

A unit carries a recall while a place of it holds pieces of a recalled lot, however deep. It clears
by itself once the part is renewed, or when the recall is withdrawn. A closed recall still stands:
the calls are done, the lot stays bad.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from django.urls import reverse

from shop.errors import RuleBroken
from workorders.calc.serial import grouped
from workorders.models import Rebuild, Recall, RecallDecision, Unit
from workorders.services.missing import Missing
from workorders.services.sits import Place, places_from, places_unless
from workorders.services.where_used import where_words

STANDING = """SELECT x.recall_id, x.lot_id FROM workorders_recalllot x
  JOIN workorders_recall c ON c.id = x.recall_id WHERE c.withdrawn_at IS NULL"""
_LISTED = """SELECT 1 FROM workorders_recallunit v JOIN workorders_rebuild vr ON vr.unit_id = v.unit_id
  WHERE vr.id = u.rebuild_id AND v.recall_id = t.seed"""


@dataclass(frozen=True, kw_only=True)
class Carried:
    """One recall that a unit carries: the places that hold the lot, and the lead's word, if it stands."""

    recall: Recall
    places: tuple[Place, ...]
    decision: RecallDecision | None = None

    @property
    def let_go(self) -> bool:
        """Whether the lead lets the unit go as it is."""
        return bool(self.decision and self.decision.may_go)

    @property
    def where(self) -> str:
        """The places in words, such as ``S1 rod seal``."""
        return ", ".join(
            dict.fromkeys(f"{p.place} {p.place_name}".strip() or "whole unit" for p in self.places)
        )

    @property
    def lots(self) -> str:
        """The lots in words, with the way to the recalled one."""
        return ", ".join(dict.fromkeys(place.path for place in self.places))

    @property
    def where_now(self) -> str:
        """Where the unit is now."""
        return where_words(self.places[0])

    @property
    def rebuild_id(self) -> int:
        """The latest rebuild of the unit."""
        return self.places[0].now_id

    @property
    def in_shop(self) -> bool:
        """Whether the unit is in work here, or waits here to go out."""
        return not has_left(self.places[0])

    @property
    def stops(self) -> bool:
        """Whether the unit is in the shop and may not go on."""
        return self.in_shop and not self.let_go

    @property
    def unit_url(self) -> str:
        """The address of the unit's page."""
        return reverse("workorders:unit", args=[self.places[0].serial])

    @property
    def sentence(self) -> str:
        """What is to be done before the unit goes on."""
        return (
            f"{self.where} holds recalled lot {self.lots} ({self.recall}); take it back or renew it, "
            "or the lead decides that the unit may go"
        )


def has_left(place: Place) -> bool:
    """Whether a unit is neither in work here nor waits here to go out."""
    gone = (Rebuild.Stage.SHIPPED, Rebuild.Stage.SCRAPPED, Rebuild.Stage.EXCHANGE_CORE)
    return place.stage in gone or bool(place.shipment)


def carried(units: Collection[int]) -> dict[int, list[Carried]]:
    """Return, by the key of the unit, the standing recalls that it carries; units without any are left out.

    One query where no unit carries any, else four, however many units are asked for.
    """
    rows: dict[tuple[int, int], list[Place]] = {}
    for place in places_from(STANDING, sorted(set(units))):
        if place.is_inside:
            rows.setdefault((place.unit_id, place.seed), []).append(place)
    if not rows:
        return {}
    recalls = Recall.objects.prefetch_related("lots__lot").in_bulk({seed for _unit, seed in rows})
    words = _decisions(places[0].now_id for places in rows.values())
    found: dict[int, list[Carried]] = {}
    for (unit, seed), places in rows.items():
        word = words.get((seed, places[0].now_id))
        standing = word if word and covers(word, recalls[seed], places) else None
        found.setdefault(unit, []).append(
            Carried(recall=recalls[seed], places=tuple(places), decision=standing)
        )
    return found


def found_since() -> dict[int, int]:
    """Return, by the key of the recall, how many units hold its lot and are not on its list; one query."""
    found = {(row.seed, row.unit_id) for row in places_unless(STANDING, _LISTED) if row.is_inside}
    return Counter(seed for seed, _unit in found)


def mark_recalled(units: Iterable[Unit]) -> None:
    """Give each unit of a list what it carries, as ``carried``: one query for all of them, as above."""
    rows = list(units)
    found = carried([unit.pk for unit in rows])
    for unit in rows:
        unit.carried = found.get(unit.pk, [])  # type: ignore[attr-defined]


def _decisions(rebuilds: Iterable[int]) -> dict[tuple[int, int], RecallDecision]:
    """Return the latest word of the lead by recall and rebuild."""
    rows = RecallDecision.objects.filter(rebuild__in=set(rebuilds)).select_related("by").order_by("pk")
    return {(row.recall_id, row.rebuild_id): row for row in rows}


def covers(word: RecallDecision, recall: Recall, places: Sequence[Place]) -> bool:
    """Whether the word was given after each lot in question was recalled, and after it went in.

    Prefetch the lots of the recall.
    """
    recalled = {row.lot.number: row.at for row in recall.lots.all()}
    roots = {place.path.split(" > ")[0] for place in places}
    return all(word.at >= recalled[root] for root in roots) and all(
        word.at >= place.put_in_at for place in places
    )


def stopped(rebuild: Rebuild) -> list[Carried]:
    """Return the recalls that stop a rebuild in the shop; none once it has left."""
    if not rebuild.is_open and rebuild.stage != Rebuild.Stage.RETURNED_AS_FOUND:
        return []
    rows = carried([rebuild.unit_id]).get(rebuild.unit_id, [])
    return [row for row in rows if row.stops and row.rebuild_id == rebuild.pk]


def missing_recall(rebuild: Rebuild) -> list[Missing]:
    """Return by name the recalled lots that stop a rebuild, for the lists of what is missing."""
    return [
        Missing("recall", row.sentence, reverse("workorders:build", args=[rebuild.pk]))
        for row in stopped(rebuild)
    ]


def refuse_recalled(*rebuilds: Rebuild) -> None:
    """Raise RuleBroken, naming unit, place and lot, where a recall stops one of the rebuilds."""
    found = carried([rebuild.unit_id for rebuild in rebuilds])
    for rebuild in rebuilds:
        for row in found.get(rebuild.unit_id, []):
            if row.stops and row.rebuild_id == rebuild.pk:
                raise RuleBroken(f"Unit {grouped(rebuild.unit.serial)} is stopped: {row.sentence}.")


def is_recalled(lot_pk: int) -> Recall | None:
    """Return the standing recall of a lot, or None."""
    return Recall.objects.standing().filter(lots__lot=lot_pk).first()

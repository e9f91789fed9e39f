"""How far a recall is: what became of each unit, whom to call, and what is done in words and figures."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.db.models import prefetch_related_objects

from shop.models import Customer
from workorders.models import Recall, RecallCall, RecallDecision, RecallLetter, RecallUnit, Unit
from workorders.services.recall_state import covers
from workorders.services.where_used import (
    AS_FOUND,
    CORE,
    IN_SHOP,
    ON_SHELF,
    OUT,
    SCRAPPED,
    UnitWith,
    place_words,
    where_used,
)

Outcome = RecallCall.Outcome
# What accounts for a unit, in the order in which they are looked for; with the words of the count.
RENEWED, TAKEN_OUT, GONE, HERE, LET_GO, TOLD_SCRAPPED, TOLD = (
    "renewed",
    "taken out again",
    "scrapped here",
    "in the shop, stopped",
    "let go by the lead",
    "scrapped, by the customer’s word",
    "reached and told",
)
ON_ITS_WAY, TO_DO = "on its way", "to be called"
HERE_NOW = (IN_SHOP, ON_SHELF, CORE)
DONE = (RENEWED, TAKEN_OUT, GONE, HERE, LET_GO, TOLD_SCRAPPED, TOLD)


@dataclass(frozen=True, kw_only=True)
class UnitState:
    """One unit on the list: where it is now, and what accounts for it.

    ``now`` is None where the part was taken out again before the unit left. ``listed`` is not stored
    where the unit was found to hold the lot since the list was made.
    """

    listed: RecallUnit
    now: UnitWith | None
    state: str

    @property
    def where(self) -> str:
        """Where it is now, as a code; empty where nothing of the lot is in it."""
        return self.now.where if self.now else ""

    @property
    def where_words(self) -> str:
        """Where it is now, in words, or else where it was."""
        return self.now.where_words if self.now else self.listed.where

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to be done about it."""
        return self.state in DONE

    @property
    def found_since(self) -> bool:
        """Whether it is not on the list yet."""
        return self.listed.pk is None


@dataclass(frozen=True, kw_only=True)
class Line:
    """One customer on the call sheet."""

    customer: Customer
    units: list[UnitState]
    calls: list[RecallCall]
    letter: RecallLetter | None

    @property
    def is_done(self) -> bool:
        """Whether every unit of the customer is accounted for."""
        return all(unit.is_done for unit in self.units)

    @property
    def next_on(self) -> date | None:
        """The day of the next call that was agreed with the latest attempt."""
        return self.calls[-1].next_on if self.calls and not self.is_done else None


@dataclass(frozen=True, kw_only=True)
class Progress:
    """Where a recall stands on a day."""

    on: date
    units: list[UnitState]
    lines: list[Line]
    here: list[UnitState] = field(default_factory=list)
    elsewhere: list[UnitState] = field(default_factory=list)

    @property
    def done(self) -> int:
        """How many units are accounted for."""
        return sum(unit.is_done for unit in self.units)

    @property
    def left(self) -> int:
        """How many are not."""
        return len(self.units) - self.done

    @property
    def found_since(self) -> int:
        """How many hold the lot and are not on the list yet; they count as all others do."""
        return sum(unit.found_since for unit in self.units)

    @property
    def counts(self) -> list[tuple[str, int]]:
        """How many units there are of each state, in words."""
        counted = Counter(unit.state for unit in self.units)
        return [(state, counted[state]) for state in (*DONE, ON_ITS_WAY, TO_DO) if counted[state]]

    @property
    def words(self) -> str:
        """The progress as a sentence."""
        if not self.units:
            return "No unit holds the lot."
        parts = ", ".join(f"{count} {state}" for state, count in self.counts)
        since = f" {self.found_since} of them found since the list was made." if self.found_since else ""
        units = "1 unit" if len(self.units) == 1 else f"{len(self.units)} units"
        return f"{self.done} of {units} accounted for: {parts}.{since}"


def progress_of(recall: Recall, *, on: date) -> Progress:
    """Return what became of every unit of a recall, and the call sheet.

    Units that were found to hold the lot since the list was made are among them. The number of
    queries does not grow with units, customers or calls.
    """
    prefetch_related_objects([recall], "lots__lot")
    now = {unit.at.unit_id: unit for unit in where_used([row.lot for row in recall.lots.all()], on=on).units}
    calls = list(recall.calls.select_related("by", "customer").order_by("pk"))
    words = {row.rebuild_id: row for row in recall.decisions.order_by("pk")}
    state = _States(recall, calls, words)
    listed = list(recall.units.select_related("unit__unit_type").order_by("pk"))
    since = [] if recall.withdrawn_at else _found_since(recall, listed, now)
    units = [
        UnitState(listed=row, now=now.get(row.unit_id), state=state.of(row, now.get(row.unit_id)))
        for row in (*listed, *since)
    ]
    return Progress(
        on=on,
        units=units,
        lines=_lines(recall, units, calls),
        here=[unit for unit in units if unit.where in HERE_NOW],
        elsewhere=[unit for unit in units if unit.where in ("", SCRAPPED)],
    )


def _found_since(recall: Recall, listed: Iterable[RecallUnit], now: dict[int, UnitWith]) -> list[RecallUnit]:
    """Return rows, not stored, for the units that hold the lot and are not on the list."""
    there = {row.unit_id for row in listed}
    found = {pk: unit for pk, unit in now.items() if unit.inside and pk not in there}
    units = Unit.objects.select_related("unit_type").in_bulk(found) if found else {}
    return [row_of(recall, found[pk], unit=units[pk]) for pk in sorted(found)]


def row_of(recall: Recall, found: UnitWith, **told: Any) -> RecallUnit:
    """Return the row of the list for a unit as it is now, not stored."""
    return RecallUnit(
        recall=recall,
        where=found.where_words[:300],
        customer_id=found.at.customer_id,
        places=[place_words(place) for place in found.inside],
        **told,
    )


class _States:
    """Tells what accounts for a unit, from the calls and the lead's words sorted once."""

    def __init__(self, recall: Recall, calls: Iterable[RecallCall], words: dict[int, RecallDecision]) -> None:
        self.recall, self.words = recall, words
        self.about: dict[int, RecallCall] = {}
        self.told: dict[int, datetime] = {}
        for call in calls:
            if call.unit_id:
                self.about[call.unit_id] = call
            elif call.outcome == Outcome.REACHED:
                self.told[_stays(call.customer)] = call.at

    def of(self, row: RecallUnit, now: UnitWith | None) -> str:
        """Return the state of one unit."""
        if now is None:
            return TAKEN_OUT
        if not now.inside:
            return RENEWED
        if now.where == SCRAPPED:
            return GONE
        word = self.words.get(now.at.now_id)
        if word and word.may_go and covers(word, self.recall, now.inside):
            return LET_GO
        if now.where in HERE_NOW:
            return HERE
        if call := self.about.get(row.pk or 0):
            return TOLD_SCRAPPED if call.outcome == Outcome.SCRAPPED else ON_ITS_WAY
        told = self.told.get(now.at.customer_id or 0)
        # Whoever was reached before the unit was on the list did not hear of it.
        return TOLD if told and row.pk and told >= row.at else TO_DO


def _stays(customer: Customer) -> int:
    """Return the key of the customer that a row means today: calls go on naming a merged one."""
    return customer.merged_into_id or customer.pk


def _lines(recall: Recall, units: list[UnitState], calls: list[RecallCall]) -> list[Line]:
    """Put what is with customers together, by who has it now; what is still to be done comes first."""
    with_customers: dict[int, list[UnitState]] = {}
    for unit in units:
        if unit.now and unit.now.at.customer_id and unit.where in (OUT, AS_FOUND):
            with_customers.setdefault(unit.now.at.customer_id, []).append(unit)
    customers = Customer.objects.in_bulk(with_customers)
    calls_to: dict[int, list[RecallCall]] = {}
    for call in calls:
        calls_to.setdefault(_stays(call.customer), []).append(call)
    letters = {
        _stays(row.customer): row
        for row in recall.letters.select_related("customer", "file", "by").order_by("pk")
    }
    lines = [
        Line(
            customer=customers[pk],
            units=rows,
            calls=calls_to.get(pk, []),
            letter=letters.get(pk),
        )
        for pk, rows in with_customers.items()
    ]
    # What was left open longest comes first; the agreed days decide among the others.
    return sorted(lines, key=lambda line: (line.is_done, line.next_on or date.min, line.customer.name))

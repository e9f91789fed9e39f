"""Recalls: opened over lots, with the list of units, calls, decisions of the lead, closed or withdrawn."""

from collections.abc import Iterable, Sequence
from datetime import date

from django.utils import timezone

from inventory.models import Lot
from inventory.services.lot_state import hold_whatever_state, register_hindrance
from shop.errors import RuleBroken
from shop.models import Customer
from shop.services.customers import standing
from shop.services.numbering import next_number
from shop.services.writing import Act, keep, locked, service
from workorders.models import Rebuild, Recall, RecallCall, RecallDecision, RecallLot, RecallUnit
from workorders.services.recall_progress import progress_of, row_of
from workorders.services.recall_state import found_since, is_recalled
from workorders.services.where_used import UnitWith, where_used

Outcome = RecallCall.Outcome


@service("recall")
def open_recall(*, act: Act, lots: Sequence[Lot], advice: str, reason: str, instructions: str) -> Recall:
    """Recall lots: they go on hold with everything made of them, and every unit that holds them is listed.

    All in one transaction. Lots that one standing recall has already lead to that recall; what was
    made of them since goes on hold, and nothing else changes. Raises RuleBroken without lots or
    words, and for a lot of another standing recall.
    """
    if not lots:
        raise RuleBroken(fields={"lots": "Choose the lots that are recalled."})
    if advice not in Recall.Advice.values:
        raise RuleBroken(fields={"advice": "Choose what the customer should do."})
    held = _locked_lots(lots)
    recall = _recall_of_all(held)
    if recall is None:
        recall = keep(
            Recall(
                number=next_number("R", act.at),
                advice=advice,
                reason=reason.strip(),
                instructions=instructions.strip(),
                opened_at=act.at,
                opened_by=act.by,
            )
        )
    _take_lots(act, recall, held)
    return recall


def _locked_lots(lots: Iterable[Lot]) -> list[Lot]:
    """Read lots again and hold them, in an order that two recalls at once share."""
    return [locked(lot) for lot in sorted({lot.pk: lot for lot in lots}.values(), key=lambda lot: lot.pk)]


def _recall_of_all(lots: Sequence[Lot]) -> Recall | None:
    """Return the standing recall that has all the lots; None where none has any of them."""
    found = [is_recalled(lot.pk) for lot in lots]
    if not any(found):
        return None
    if None in found or len(set(found)) > 1:
        named = ", ".join(f"{lot} by {one}" for lot, one in zip(lots, found, strict=True) if one)
        raise RuleBroken(fields={"lots": f"Recalled already: {named}. Add the other lots to that recall."})
    return found[0]


def _take_lots(act: Act, recall: Recall, lots: Sequence[Lot]) -> None:
    """Tie lots to a recall, hold them and what was made of them, and list the units."""
    there = set(recall.lots.values_list("lot", flat=True))
    for lot in lots:
        if lot.pk not in there:
            keep(RecallLot(recall=recall, lot=lot, by=act.by, at=act.at, why=act.why[:300]))
        hold_whatever_state(lot, f"recalled by {recall}: {recall.reason.rstrip('.')}")
    _list_units(act, recall)


@service("recall")
def add_lots(*, act: Act, recall: Recall, lots: Sequence[Lot]) -> Recall:
    """Recall more lots under a recall that stands, for the reason in ``act.why``.

    Raises RuleBroken without a reason or lots, and for a lot of another standing recall.
    """
    _need_reason(act)
    row = _standing(recall)
    if not lots:
        raise RuleBroken(fields={"lots": "Choose the lots that are recalled too."})
    held = _locked_lots(lots)
    for lot in held:
        other = is_recalled(lot.pk)
        if other and other != row:
            raise RuleBroken(fields={"lots": f"Lot {lot} is recalled by {other} already."})
    _take_lots(act, row, held)
    return row


@service("see")
def add_found_units(*, act: Act, recall: Recall) -> list[RecallUnit]:
    """Add to the list the units that hold a lot of the recall and are not on it; what stands there stays."""
    return _list_units(act, _standing(recall))


def _list_units(act: Act, recall: Recall) -> list[RecallUnit]:
    told = {"by": act.by, "at": act.at, "why": act.why[:300]}
    rows = [
        row_of(recall, unit, unit_id=unit.at.unit_id, **told)
        for unit in not_listed(recall, on=timezone.localdate(act.at))
    ]
    # Rows that are only ever added have no history that a bulk write could miss.
    return RecallUnit.objects.bulk_create(rows, batch_size=500)


def not_listed(recall: Recall, *, on: date) -> list[UnitWith]:
    """Return the units that hold a lot of the recall and are not on its list."""
    lots = [row.lot for row in recall.lots.select_related("lot")]
    listed = set(recall.units.values_list("unit", flat=True))
    return [unit for unit in where_used(lots, on=on).units if unit.inside and unit.at.unit_id not in listed]


@service("recall")
def change_recall(*, act: Act, recall: Recall, advice: str, reason: str, instructions: str) -> Recall:
    """Word a recall otherwise, for the reason in ``act.why``; letters that were issued stay as they are."""
    _need_reason(act)
    row = _standing(recall)
    row.advice, row.reason, row.instructions = advice, reason.strip(), instructions.strip()
    return keep(row)


@service("recall_calls")
def record_call(
    *,
    act: Act,
    recall: Recall,
    customer: Customer,
    outcome: str,
    units: Sequence[RecallUnit] = (),
    note: str = "",
    next_on: date | None = None,
) -> list[RecallCall]:
    """Record an attempt to reach a customer; scrapped or on its way is said of each of the ``units``.

    Raises RuleBroken on a recall that does not stand, for a unit of another recall, without a unit
    where one is meant, for a next call in the past, and while a unit that was found since the list
    was made is not on it: nobody may count as told of what the caller did not know.
    """
    row = _standing(recall)
    if since := found_since().get(row.pk):
        more = "1 more unit holds" if since == 1 else f"{since} more units hold"
        raise RuleBroken(f"{more} the lot. Put what was found since on the list, then record the call.")
    if outcome not in Outcome.values:
        raise RuleBroken(fields={"outcome": "Choose how the call ended."})
    about = list(units) if outcome in RecallCall.ABOUT_A_UNIT else [None]
    if not about:
        raise RuleBroken(fields={"units": "Say which unit it is about."})
    if any(unit and unit.recall_id != row.pk for unit in about):
        raise RuleBroken(fields={"units": f"The unit is not on the list of {row}."})
    if next_on and next_on < timezone.localdate(act.at):
        raise RuleBroken(fields={"next_on": "This day is past. Enter the day of the next call."})
    told = {"customer": standing(customer), "outcome": outcome, "note": note.strip(), "next_on": next_on}
    return [
        keep(RecallCall(recall=row, unit=unit, by=act.by, at=act.at, why=act.why[:300], **told))
        for unit in about
    ]


@service("recall_decide")
def decide(*, act: Act, recall: Recall, rebuild: Rebuild, may_go: bool) -> RecallDecision:
    """Let a unit in the shop go with the recalled lot inside, or stop it again; ``act.why`` is the reason.

    The word holds for this rebuild and for lots recalled so far. Raises RuleBroken without a reason,
    and once the unit has left.
    """
    _need_reason(act)
    row, held = _standing(recall), locked(rebuild)
    if hasattr(held, "packed") or held.stage in (Rebuild.Stage.SHIPPED, Rebuild.Stage.SCRAPPED):
        raise RuleBroken("This unit is not in the shop any more.")
    return keep(
        RecallDecision(
            recall=row, rebuild=held, may_go=may_go, by=act.by, at=act.at, why=act.why.strip()[:300]
        )
    )


@service("recall_decide")
def close_recall(*, act: Act, recall: Recall, accept_open: bool = False) -> Recall:
    """Close a recall whose units are accounted for, for the reason in ``act.why``.

    The lot stays bad: banners and stops stay. ``accept_open`` closes it although some are not.
    """
    _need_reason(act)
    row = _standing(recall)
    if row.closed_at:
        raise RuleBroken(f"{row} is closed already: {row.close_reason}")
    _list_units(act, row)
    left = progress_of(row, on=timezone.localdate(act.at)).left
    if left and not accept_open:
        raise RuleBroken(
            fields={
                "accept_open": f"{left} of its units are not accounted for. Go on calling, or say so here."
            }
        )
    row.closed_at, row.closed_by, row.close_reason = act.at, act.by, act.why.strip()[:300]
    return keep(row)


@service("recall_decide")
def reopen_recall(*, act: Act, recall: Recall) -> Recall:
    """Open a closed recall again, for the reason in ``act.why``."""
    _need_reason(act)
    row = _standing(recall)
    if not row.closed_at:
        raise RuleBroken(f"{row} is open.")
    row.closed_at, row.closed_by, row.close_reason = None, None, ""
    return keep(row)


@service("recall_decide")
def withdraw_recall(*, act: Act, recall: Recall) -> Recall:
    """Withdraw a recall, for the reason in ``act.why``: it was not the lot after all.

    Banners and stops go at once. The lots stay on hold until stores accept them again; letters and
    calls stay, and whoever was told is to be told again.
    """
    _need_reason(act)
    row = _standing(recall)
    row.withdrawn_at, row.withdrawn_by, row.withdraw_reason = act.at, act.by, act.why.strip()[:300]
    return keep(row)


def _standing(recall: Recall) -> Recall:
    row = locked(recall)
    if row.withdrawn_at:
        raise RuleBroken(f"{row} was withdrawn: {row.withdraw_reason}")
    return row


def _need_reason(act: Act) -> None:
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Give the reason; it stays with the recall."})


def _recalled(lot: Lot) -> str:
    """Say why a recalled lot is not accepted again."""
    recall = is_recalled(lot.pk)
    return f"Lot {lot} is recalled by {recall}: it stays on hold while that stands." if recall else ""


def register() -> None:
    """Ask this before a lot is accepted again."""
    register_hindrance(_recalled)

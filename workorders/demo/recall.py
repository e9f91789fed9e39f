"""The recall of the demo's bad lot: letters are out, the first calls are made, some units are still to do."""

import datetime as dt

from shop.roles import STORES, WARRANTY_DESK
from shop.services.writing import Act
from workorders.demo.stock import Shelf
from workorders.models import RecallCall
from workorders.services.recall_papers import issue_letters
from workorders.services.recall_progress import progress_of
from workorders.services.recalls import open_recall, record_call

Outcome = RecallCall.Outcome
REASON = "The lip of the rod seal cracks within months: an under-cured batch, as the supplier confirmed."
INSTRUCTIONS = """Stop using the unit at the first oil on the rod; the platform may sink.
Call us for a day: we fetch the unit, renew the seals at our cost and bring it back.
Until then do not stand on or under the platform while it moves."""
# How the calls of the first two days ended, customer by customer; the rest are still to be called.
CALLS = (
    ((Outcome.REACHED, "will bring it when the season is over"),),
    ((Outcome.NO_ANSWER, ""), (Outcome.LEFT_WORD, "with the harbour office")),
    ((Outcome.REACHED, "takes it out of use today"),),
    ((Outcome.WRONG_NUMBER, "the number belongs to somebody else by now"),),
    ((Outcome.ON_ITS_WAY, "sent by carrier this morning"),),
    ((Outcome.NO_ANSWER, ""),),
)


def recall_bad_lot(shelf: Shelf) -> None:
    """Recall the bad lot two days before the present, once nothing else happens any more.

    What carries it and is in the shop stops, so it comes last. Nothing where no bad lot came in.
    """
    world, lot = shelf.world, shelf.bad_lot
    if lot is None:
        return

    def act(role: str, *, hours_ago: float) -> Act:
        return Act(by=world.people[role][0], at=world.now - dt.timedelta(hours=hours_ago))

    recall = open_recall(
        act=act(STORES, hours_ago=50), lots=[lot], advice="look", reason=REASON, instructions=INSTRUCTIONS
    )
    issue_letters(act=act(WARRANTY_DESK, hours_ago=47), recall=recall)
    today = world.now.date()
    for number, (line, calls) in enumerate(zip(progress_of(recall, on=today).lines, CALLS, strict=False)):
        for place, (outcome, note) in enumerate(calls):
            about = [unit.listed for unit in line.units][:1] if outcome == Outcome.ON_ITS_WAY else []
            open_still = outcome in (Outcome.NO_ANSWER, Outcome.LEFT_WORD)
            record_call(
                act=act(WARRANTY_DESK, hours_ago=26 - number - 3 * place),
                recall=recall,
                customer=line.customer,
                outcome=outcome,
                units=about,
                note=note,
                next_on=today + dt.timedelta(days=1 + number % 3) if open_still else None,
            )

"""What is recorded of the money of a rebuild: the invoice, minutes of work, what others charged."""

from datetime import date
from decimal import Decimal

from django.utils import timezone

from shop.errors import RuleBroken
from shop.models import User
from shop.services.writing import Act, keep, locked, service
from workorders.models import InvoicedPrice, OutsideWork, Rebuild, WorkTime

SAY_WHY = "Say why this is corrected; what stood there stays on record."


@service("prices")
def record_price(*, act: Act, rebuild: Rebuild, amount: Decimal, invoice: str = "") -> InvoicedPrice:
    """Record what was invoiced for a rebuild, in the shop's currency, or correct it.

    A correction keeps the earlier row and needs the reason in ``act.why``. It stands beside the
    signed record and changes nothing of it. Raises RuleBroken for an amount below zero.
    """
    row = locked(rebuild)
    if amount < 0:
        raise RuleBroken(fields={"amount": "A price is not negative."})
    before = standing_price(row)
    if before and not act.why.strip():
        raise RuleBroken(fields={"why": SAY_WHY})
    told = {"by": act.by, "at": act.at, "why": act.why}
    return keep(InvoicedPrice(rebuild=row, amount=amount, invoice=invoice.strip(), replaces=before, **told))


def standing_price(rebuild: Rebuild) -> InvoicedPrice | None:
    """Return the invoiced price that no other replaces."""
    return rebuild.invoiced_prices.filter(replaced_by__isnull=True).first()


@service("work_time")
def record_work_time(
    *, act: Act, rebuild: Rebuild, kind: str, done_by: User, worked_on: date, minutes: int
) -> WorkTime:
    """Record so many minutes that somebody worked on a rebuild; at any time, also after its release.

    Raises RuleBroken for a day to come or before the unit was received, and outside 1 to 1440.
    """
    return _keep_time(act, rebuild, kind, done_by, worked_on, minutes)


@service("work_time")
def correct_work_time(
    *, act: Act, entry: WorkTime, kind: str, done_by: User, worked_on: date, minutes: int
) -> WorkTime:
    """Replace an entry of minutes, for the reason in ``act.why``; none takes it back.

    Raises RuleBroken for an entry that is replaced already, without a reason, and as
    ``record_work_time``.
    """
    if not act.why.strip():
        raise RuleBroken(fields={"why": SAY_WHY})
    if WorkTime.objects.filter(replaces=entry).exists():
        raise RuleBroken("This entry is corrected already: correct the one that stands.")
    return _keep_time(act, entry.rebuild, kind, done_by, worked_on, minutes, entry)


def _keep_time(
    act: Act,
    rebuild: Rebuild,
    kind: str,
    done_by: User,
    worked_on: date,
    minutes: int,
    before: WorkTime | None = None,
) -> WorkTime:
    row = locked(rebuild)
    if not (timezone.localdate(row.received_at) <= worked_on <= timezone.localdate(act.at)):
        raise RuleBroken(fields={"worked_on": "Enter a day from the unit's receipt until today."})
    if not (0 if before else 1) <= minutes <= 1440:
        raise RuleBroken(fields={"minutes": "Enter 1 to 1440 minutes."})
    return keep(
        WorkTime(
            rebuild=row,
            kind=kind,
            done_by=done_by,
            worked_on=worked_on,
            minutes=minutes,
            replaces=before,
            by=act.by,
            at=act.at,
            why=act.why,
        )
    )


@service("costs")
def set_outside_price(*, act: Act, work: OutsideWork, price: Decimal | None) -> OutsideWork:
    """Enter what a supplier charged for outside work, in the shop's currency; None where not known.

    At any time after it was sent, also for a rejected one. Raises RuleBroken for cancelled work, and
    for another price than the one that stands without the reason in ``act.why``.
    """
    row = locked(work)
    if row.cancelled_at:
        raise RuleBroken("This work is cancelled: it costs nothing.")
    if row.price is not None and row.price != price and not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the price is another; the reason stays in the history."})
    row.price = price
    return keep(row)

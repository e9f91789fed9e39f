"""Warranties after they began: another holder, such as whoever bought the machine."""

from django.utils import timezone

from shop.errors import RuleBroken
from shop.models import Customer
from shop.services.customers import standing
from shop.services.writing import Act, keep, locked, service
from workorders.models import Warranty


@service("claims")
def give_warranty(*, act: Act, warranty: Warranty, holder: Customer) -> Warranty:
    """Let another customer hold a warranty for the rest of its term; ``act.why`` says why.

    The term and the terms stay as they are, and so do the papers that name the holder before. Raises
    RuleBroken without a reason, for the holder that it has, and once it is over.
    """
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the warranty goes to somebody else."})
    row, holder = locked(warranty), standing(holder)
    if row.holder_id == holder.pk:
        raise RuleBroken(f"{holder} holds this warranty already.")
    if row.ends_on < timezone.localdate(act.at):
        raise RuleBroken(f"This warranty ended on {row.ends_on:%d %b %Y}: there is nothing left to hold.")
    row.holder = holder
    return keep(row)

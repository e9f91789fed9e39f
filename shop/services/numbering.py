"""Running numbers, such as W26-0042 for a work order, and what only one person at a time may do."""

from datetime import datetime

from django.utils import timezone

from shop.models import Counter


def next_number(letter: str, at: datetime) -> str:
    """Give out the next number of a series for the year of ``at``; call inside a transaction.

    Returns such as ``W26-0042``. The counter row is held until the transaction ends, so two
    people never get the same number and a refused write leaves no gap.
    """
    series = f"{letter}{timezone.localtime(at):%y}"
    counter, _made = Counter.objects.select_for_update().get_or_create(series=series)
    counter.last += 1
    counter.save()
    return f"{series}-{counter.last:04d}"


def one_at_a_time(what: str) -> None:
    """Hold ``what``, in 20 letters at most, until the transaction ends: whoever comes second waits here.

    For a rule that looks at many rows, so that no row in hand can be held for it.
    """
    Counter.objects.select_for_update().get_or_create(series=what)

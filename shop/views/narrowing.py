"""Lists narrowed by text: every word of it stands somewhere in a row."""

from collections.abc import Callable
from typing import Any

from django.db.models import Q


def with_words(rows: Any, text: str, *paths: str, more: Callable[[str], Q] | None = None) -> Any:
    """Return the rows of a queryset in which each word stands in one of the fields.

    ``more`` returns a further condition for a word: for rows of another table, which would be
    counted twice where they are joined.
    """
    for word in text.split():
        found = more(word) if more else Q()
        for path in paths:
            found |= Q(**{f"{path}__icontains": word})
        rows = rows.filter(found)
    return rows

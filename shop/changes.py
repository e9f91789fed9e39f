"""What was changed in tracked rows, in words: who, when, why, from what to what."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any

from django.core.exceptions import ObjectDoesNotExist


@dataclass(frozen=True)
class Change:
    """Everything that one act changed in some rows, one line of words for each field or row."""

    at: datetime
    by: str
    why: str
    lines: tuple[str, ...]


def changes(*histories: Any, fields: Collection[str] | None = None) -> list[Change]:
    """Return the acts behind history rows, latest first.

    ``histories`` are querysets of history rows; ``fields`` names the fields that count, all where
    it is left out. An act that changed none of them is left out as well.
    """
    found = [(row, line) for history in histories for row, line in _lines(history, fields)]
    found.sort(key=lambda pair: (pair[0].history_date, pair[0].history_id), reverse=True)
    acts = groupby(found, key=lambda pair: (pair[0].history_date, pair[0].history_user_id))
    return [_change(list(pairs)) for _key, pairs in acts]


def _change(pairs: list[tuple[Any, str]]) -> Change:
    row = pairs[0][0]
    lines = tuple(dict.fromkeys(line for _row, line in reversed(pairs)))
    return Change(
        row.history_date, str(row.history_user or "the program"), row.history_change_reason or "", lines
    )


def _lines(history: Any, fields: Collection[str] | None) -> Iterator[tuple[Any, str]]:
    rows = history.select_related("history_user").order_by("id", "history_id")
    for _pk, versions in groupby(rows, key=lambda row: row.id):
        before = None
        for row in versions:
            for line in _words(row, before, fields):
                yield row, line
            before = row


def _words(row: Any, before: Any, fields: Collection[str] | None) -> Iterable[str]:
    if row.history_type == "-":
        return [f"{_named(row)}: removed"]
    if before is None:
        return [f"{_named(row)}: entered"]
    return [
        f"{str(field.verbose_name).capitalize()}: was {_shown(field, before)}, now {_shown(field, row)}"
        for field in row.tracked_fields
        if getattr(row, field.attname) != getattr(before, field.attname)
        and (field.name in fields if fields is not None else field.editable)
    ]


def _named(row: Any) -> str:
    """Return what the row was called; a draft's row may name one that was taken out since."""
    try:
        return str(row.instance)
    except ObjectDoesNotExist:
        return f"A {row.instance_type._meta.verbose_name}"


def _shown(field: Any, row: Any) -> str:
    """Return a field's value in words; a row that it points to is named."""
    try:
        value = getattr(row, field.name)
    except ObjectDoesNotExist:
        return "one that was taken out"
    words = dict(field.flatchoices).get(value, value)
    return f"“{words}”" if words not in (None, "") else "empty"

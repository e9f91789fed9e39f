"""What was changed in tracked rows, in words: who, when, why, from what to what."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from typing import Any

from django.core.exceptions import ObjectDoesNotExist
from django.utils import timezone
from django.utils.text import capfirst


@dataclass(frozen=True)
class Change:
    """Everything that one act changed in some rows, one line of words for each field or row."""

    at: datetime
    by: str
    why: str
    lines: tuple[str, ...]


def changes(
    *histories: Any, several: Iterable[Any] = (), fields: Collection[str] | None = None
) -> list[Change]:
    """Return the acts behind history rows, latest first.

    ``histories`` are querysets of history rows, ``several`` those of rows of which a page shows
    more than one, so that their lines name the row. ``fields`` names the fields that count, all
    where it is left out. An act that changed none of them is left out as well.
    """
    every = [*((history, False) for history in histories), *((history, True) for history in several)]
    found = [(row, line) for history, named in every for row, line in _lines(history, fields, named)]
    found.sort(key=lambda pair: (pair[0].history_date, pair[0].history_id), reverse=True)
    acts = groupby(found, key=lambda pair: (pair[0].history_date, pair[0].history_user_id))
    return [_change(list(pairs)) for _key, pairs in acts]


def _change(pairs: list[tuple[Any, str]]) -> Change:
    row = pairs[0][0]
    lines = tuple(dict.fromkeys(line for _row, line in reversed(pairs)))
    return Change(
        row.history_date, str(row.history_user or "the program"), row.history_change_reason or "", lines
    )


def _lines(history: Any, fields: Collection[str] | None, named: bool) -> Iterator[tuple[Any, str]]:
    rows = history.select_related("history_user").order_by("id", "history_id")
    for _pk, versions in groupby(rows, key=lambda row: row.id):
        before = None
        for row in versions:
            for line in _words(row, before, fields, named):
                yield row, line
            before = row


def _words(row: Any, before: Any, fields: Collection[str] | None, named: bool) -> Iterable[str]:
    if row.history_type == "-":
        return [f"{_named(row)}: removed"]
    if before is None:
        return [f"{_named(row)}: entered"]
    changed = [
        field
        for field in row.tracked_fields
        if getattr(row, field.attname) != getattr(before, field.attname)
        and (field.name in fields if fields is not None else field.editable)
    ]
    start = f"{_subject(row)}, " if named and changed else ""
    return [
        f"{capfirst(start + str(field.verbose_name))}: was {_shown(field, before)}, now {_shown(field, row)}"
        for field in changed
    ]


def _subject(row: Any) -> str:
    """Return what a row is about: its place of the unit, where it has one, rather than what it says."""
    return str(getattr(row.instance, "place", None) or _named(row))


def _named(row: Any) -> str:
    """Return what the row was called; a draft's row may name one that was taken out since."""
    instance = row.instance
    for field in row.tracked_fields:  # what was read along need not be read again for the name
        if field.is_relation and field.is_cached(row):
            field.set_cached_value(instance, field.get_cached_value(row))
    try:
        return str(instance)
    except ObjectDoesNotExist:
        return f"A {row.instance_type._meta.verbose_name}"


def _shown(field: Any, row: Any) -> str:
    """Return a field's value in words; a row that it points to is named."""
    try:
        value = getattr(row, field.name)
    except ObjectDoesNotExist:
        return "one that was taken out"
    if isinstance(value, bool):
        return "“yes”" if value else "“no”"
    if isinstance(value, datetime):
        return f"“{timezone.localtime(value):%d %b %Y, %H:%M}”"
    if isinstance(value, date):
        return f"“{value:%d %b %Y}”"
    words = dict(field.flatchoices).get(value, value)
    return f"“{words}”" if words not in (None, "") else "empty"

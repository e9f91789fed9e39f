"""An importer: the columns of a file, and what one row of it becomes."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import models
from django.forms import Form

from shop.errors import RuleBroken
from shop.services.writing import Act

_DECIMAL = re.compile(r"[+-]?\d+,\d+")
_DAYS = ("%Y-%m-%d", "%d.%m.%Y", "%d %b %Y", "%d %B %Y")
Choices = Sequence[tuple[Any, Any]]
Entered = list[models.Model]  # rows made, in the order in which they were; none where all is there


@dataclass(frozen=True, kw_only=True)
class Field:
    """A column: its heading, the form field that checks it, and how people write its values."""

    name: str
    title: str
    required: bool = False
    help: str = ""
    choices: Choices = ()
    decimal: bool = False
    day: bool = False
    default: str = ""

    @property
    def words(self) -> str:
        """The choices as people write them; empty where anything may stand."""
        return _words(self.choices)

    def read(self, text: str) -> str:
        """Return what the form field takes; what cannot be read is left for the form to refuse."""
        if not text:
            return self.default
        if self.choices:
            words = {str(word).casefold(): str(code) for code, word in self.choices}
            return words.get(text.casefold(), text)
        if self.decimal and _DECIMAL.fullmatch(text):
            return text.replace(",", ".")
        return _day(text) if self.day else text

    def refusal(self, text: str, told: str, choices: Choices = ()) -> str:
        """Say what is wrong with a text, better than the form can where it is a choice or a day.

        ``choices`` are those that this row may have, where they are fewer than the column's.
        """
        if not text:
            return told
        if self.choices:
            return f"“{text}” is none of: {_words(choices or self.choices)}."
        if self.day:
            return f"“{text}” is not a date that is read without guessing: write 2025-04-03 or 03.04.2025."
        return told if text in told else f"“{text}”: {told}"


def _words(choices: Choices) -> str:
    return ", ".join(dict.fromkeys(str(word) for code, word in choices if code != ""))


def _day(text: str) -> str:
    for form in _DAYS:
        try:
            return datetime.strptime(text, form).date().isoformat()  # noqa: DTZ007 (a day has no time zone)
        except ValueError:
            continue
    return f"not a date: {text}"  # the form would guess whether 03/04/2025 is in March or in April


class Known:
    """Rows by one or several of their texts, small and capital letters being the same."""

    def __init__(self, rows: "models.QuerySet[Any]", names: Sequence[str]) -> None:
        self._names = names
        self._rows: dict[tuple[str, ...], list[Any]] = {}
        for row in rows.iterator():
            self.add(row)

    def add(self, row: Any) -> Any:
        """Remember a row that was made in this run, and return it."""
        self._rows.setdefault(self._key(*(getattr(row, name) for name in self._names)), []).append(row)
        return row

    def get(self, *texts: str) -> list[Any]:
        """Return the rows with these texts."""
        return self._rows.get(self._key(*texts), [])

    @staticmethod
    def _key(*texts: str) -> tuple[str, ...]:
        return tuple(text.strip().casefold() for text in texts)


@dataclass(frozen=True)
class Values:
    """One row of the file: texts by field name, which fields the file has, and what the run keeps."""

    texts: Mapping[str, str]
    fields: Mapping[str, Field]
    memory: dict[str, Any] = field(default_factory=dict)

    def __getitem__(self, name: str) -> str:
        return self.texts.get(name, "")

    def known(self, rows: "models.QuerySet[Any]", *names: str) -> "Known":
        """Return the rows that are there by the named fields, read once in a run.

        A look-up for each row of the file would read a whole table each time, for no index helps
        where small and capital letters are the same.
        """
        key = rows.model._meta.label
        if key not in self.memory:
            self.memory[key] = Known(rows, names)
        known: Known = self.memory[key]
        return known

    def form_data(self, *names: str, **more: Any) -> dict[str, Any]:
        """Return the data of a form with the named fields, or with all."""
        told = {name: field.read(self[name]) for name, field in self.fields.items()}
        return {**{name: told[name] for name in names or told}, **more}

    def cleaned(self, form: Form) -> dict[str, Any]:
        """Return the cleaned data of a form; RuleBroken with every refusal, by field."""
        if form.is_valid():
            return form.cleaned_data
        told = {name: " ".join(map(str, errors)) for name, errors in form.errors.items()}
        whole = told.pop("__all__", "")
        raise RuleBroken(whole, {name: self._refusal(form, name, text) for name, text in told.items()})

    def _refusal(self, form: Form, name: str, told: str) -> str:
        if name not in self.fields:
            return told
        field = self.fields[name]
        choices = getattr(form.fields[name], "choices", ()) if field.choices else ()
        return field.refusal(self[name], told, choices)

    def same(
        self, row: models.Model, wanted: Mapping[str, Any], *, columns: Mapping[str, str] | None = None
    ) -> None:
        """Raise RuleBroken unless a row that is there already is what the file says of it.

        Only what the file says is compared, and an empty cell says nothing; ``columns`` names those
        that are called otherwise than the row's fields.
        """
        fields = {}
        for name, value in wanted.items():
            held, column = getattr(row, name), (columns or {}).get(name, name)
            if self[column].strip() and _bare(held) != _bare(value):
                told = f"with “{_shown(held)}”; the file says “{_shown(value)}”"
                fields[column] = f"{row} is there already {told}."
        if fields:
            raise RuleBroken(fields=fields)


def _bare(value: Any) -> Any:
    return "" if value is None else value.strip() if isinstance(value, str) else value


def _shown(value: Any) -> str:
    return format(value, ".10g") if isinstance(value, float) else "" if value is None else str(value)


@dataclass(frozen=True, kw_only=True)
class Importer:
    """What a kind of file becomes.

    ``enter`` makes the rows of one row of the file through the services, or none where the same is
    there already, and raises RuleBroken with the reason by field. ``take_back`` undoes one row
    that it made. ``passed`` are headings of the shop's own lists that are not read.
    """

    kind: str
    title: str
    lede: str
    fields: tuple[Field, ...]
    enter: Callable[[Act, Values], Entered]
    take_back: Callable[[Act, models.Model], None]
    examples: Sequence[Mapping[str, str]]
    passed: tuple[str, ...] = ()
    order: int = 50


_importers: dict[str, Importer] = {}


def register(importer: Importer) -> None:
    """Offer an importer; the same kind again replaces the earlier one."""
    _importers[importer.kind] = importer


def importers() -> list[Importer]:
    """Return every importer in the order in which old papers should be entered."""
    return sorted(_importers.values(), key=lambda importer: importer.order)


def importer_of(kind: str) -> Importer | None:
    """Return the importer of a kind, or None."""
    return _importers.get(kind)

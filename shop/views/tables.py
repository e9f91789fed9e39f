"""Lists as files: every list page answers ``?format=csv`` and ``?format=xlsx`` with all its rows."""

import io
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from operator import attrgetter
from typing import Any

from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.text import slugify

from shop.tables.writing import CONTENT_TYPES, write_table
from shop.views.sorting import sorting_of

CHUNK_ROWS = 1000


@dataclass(frozen=True)
class Column:
    """One column of a list: its title, what a row has there (a dotted path or a function), and its order."""

    title: str
    value: str | Callable[[Any], Any]
    # What the database orders by, a path or an expression; any text for a list that is no queryset.
    sort: Any = None

    @property
    def key(self) -> str:
        """How an address names the column."""
        return slugify(self.title)

    def read(self, row: Any) -> Any:
        """Return the value of a row; what is missing is empty."""
        value = self.value(row) if callable(self.value) else attrgetter(self.value)(row)
        if callable(value):
            value = value()
        return "" if value is None else _plain(value)


@dataclass(frozen=True)
class Table:
    """What a list is called in a file name, and its columns."""

    name: str
    columns: Sequence[Column]


def answer_list(
    request: HttpRequest,
    template: str,
    context: Mapping[str, Any],
    *,
    table: Table,
    rows: "QuerySet[Any] | Iterable[Any]",
) -> HttpResponse:
    """Answer a list page: the page, or with ``format`` in the query a file of all rows of its filter."""
    if "format" in request.GET:
        return table_file(table=table, form=request.GET["format"], rows=rows)
    shown = {"exports": tuple(CONTENT_TYPES), "sorting": sorting_of(request, table)}
    return render(request, template, {**context, **shown})


def table_file(*, table: Table, form: str, rows: "QuerySet[Any] | Iterable[Any]") -> HttpResponse:
    """Return a list as a download; Http404 for a format that there is not."""
    titles = [column.title for column in table.columns]
    cells = ([column.read(row) for column in table.columns] for row in _each(rows))
    name = f"{table.name}-{timezone.localdate().isoformat()}"
    return download_table(name=name, form=form, titles=titles, rows=cells)


def download_table(
    *, name: str, form: str, titles: Sequence[str], rows: Iterable[Sequence[Any]]
) -> HttpResponse:
    """Return headings and rows as a download; Http404 for a format that there is not."""
    if form not in CONTENT_TYPES:
        raise Http404(f"Lists are not given as {form}.")
    # Written whole before it is sent, so that a fault is an error page and not half a file.
    file = io.BytesIO()
    write_table(file=file, form=form, titles=titles, rows=rows)
    response = HttpResponse(file.getvalue(), content_type=CONTENT_TYPES[form])
    response["Content-Disposition"] = f'attachment; filename="{name}.{form}"'
    return response


def _each(rows: "QuerySet[Any] | Iterable[Any]") -> Iterator[Any]:
    return rows.iterator(chunk_size=CHUNK_ROWS) if isinstance(rows, QuerySet) else iter(rows)


def _plain(value: Any) -> Any:
    """Return numbers, dates and texts as they are, and a row of the database by its name."""
    return value if isinstance(value, str | int | float | date) or hasattr(value, "as_tuple") else str(value)

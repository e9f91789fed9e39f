"""Lists in the order that a person asks for: ``?sort=key`` rising, ``?sort=-key`` falling."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import Case, F, QuerySet, TextField, Value, When
from django.db.models.functions import Lower, NullIf
from django.http import HttpRequest

if TYPE_CHECKING:
    from shop.views.tables import Column, Table

NAME = "sort"


@dataclass(frozen=True)
class Choice:
    """One order that the list offers: what stands in the address, and in words."""

    value: str
    words: str
    chosen: bool


@dataclass(frozen=True)
class Sorting:
    """The columns of a list that can be sorted, and the one that is."""

    columns: "Sequence[Column]"
    key: str = ""
    falling: bool = False

    @property
    def choices(self) -> Iterator[Choice]:
        """Every order, for a select: the only way on a narrow screen, where the heads are folded away."""
        for column in self.columns:
            for falling in (False, True):
                here = column.key == self.key and falling == self.falling
                yield Choice(_address(column.key, falling), f"{column.title}, {_words(falling)}", here)

    def head(self, key: str) -> tuple[str, str]:
        """Return what ``aria-sort`` of a column says, empty for none, and what its link asks for.

        Raises KeyError for a column that cannot be sorted.
        """
        if key not in {column.key for column in self.columns}:
            raise KeyError(f"the list has no column {key!r} to sort by")
        if key != self.key:
            return "", _address(key, False)
        return ("descending" if self.falling else "ascending"), _address(key, not self.falling)

    @property
    def column(self) -> "Column | None":
        """The column that the list is sorted by."""
        return next((column for column in self.columns if column.key == self.key), None)


def sorting_of(request: HttpRequest, table: "Table") -> Sorting:
    """Read which order is asked for; a column that there is not leaves the list's own order."""
    columns = [column for column in table.columns if column.sort is not None]
    asked = request.GET.get(NAME, "")
    key = asked.removeprefix("-")
    if key not in {column.key for column in columns}:
        return Sorting(columns)
    return Sorting(columns, key, asked.startswith("-"))


def in_order(request: HttpRequest, table: "Table", rows: Any) -> Any:
    """Return the rows in the order asked for: a queryset by the database, a list by what it shows.

    What has no value comes last either way, and rows of one value keep an order of their own.
    """
    sorting = sorting_of(request, table)
    column = sorting.column
    if column is None:
        return rows
    if not isinstance(rows, QuerySet):
        return _sorted(rows, column, sorting.falling)
    assert column.sort is not None
    by = F(column.sort) if isinstance(column.sort, str) else column.sort
    order = by.desc(nulls_last=True) if sorting.falling else by.asc(nulls_last=True)
    return rows.order_by(order, "pk")


def by_text(path: str | Any) -> NullIf:
    """Return what sorts by a text: small letters as large ones, and the rows without a text last."""
    return NullIf(Lower(path), Value(""), output_field=TextField())


def by_choice(path: str, values: Iterable[str]) -> Case:
    """Return what sorts by a choice in the order in which its values are declared."""
    return Case(*[When(**{path: value}, then=Value(at)) for at, value in enumerate(values)])


def _sorted(rows: Iterable[Any], column: "Column", falling: bool) -> list[Any]:
    valued = [(column.read(row), row) for row in rows]
    empty = [row for value, row in valued if value in ("", None)]
    full = [(value, row) for value, row in valued if value not in ("", None)]
    full.sort(key=lambda pair: _comparable(pair[0]), reverse=falling)
    return [row for _value, row in full] + empty


def _comparable(value: Any) -> Any:
    return value.casefold() if isinstance(value, str) else value


def _address(key: str, falling: bool) -> str:
    return f"-{key}" if falling else key


def _words(falling: bool) -> str:
    return "falling" if falling else "rising"

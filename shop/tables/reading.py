"""Tables read from CSV and XLSX files of other programs, within limits."""

import csv
import io
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from shop.tables.faults import TableError
from shop.tables.text import text_of
from shop.tables.workbook import is_workbook, workbook_rows
from shop.tables.writing import as_written

MAX_BYTES = 10 * 2**20
MAX_ROWS = 10_000
MOST_OF_A_LINE = 100_000  # characters; the reader of delimited text takes no larger cell
MAX_COLUMNS = 60
EXAMPLE = "# example"  # rows that begin so are for the reader, and are left out
_DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
Cells = Sequence[str]


@dataclass(frozen=True)
class ReadRow:
    """One row: its number in the file, and its cells by heading."""

    number: int
    cells: dict[str, str]
    beyond: tuple[str, ...] = ()  # cells to the right of the last heading


@dataclass(frozen=True)
class ReadTable:
    """Headings as the file has them, rows with something in them, and how the file was read."""

    titles: tuple[str, ...]
    rows: list[ReadRow] = field(repr=False)
    examples: int
    read_as: str


def plain_title(text: str) -> str:
    """Return a heading as it is compared: small letters, single blanks."""
    return " ".join(text.replace("_", " ").casefold().split())


def read_table(*, data: bytes, known: Collection[str]) -> ReadTable:
    """Read a file; ``known`` are the headings it should have, which tell its delimiter.

    Raises TableError for a file that is empty, too large, damaged, or no table.
    """
    if len(data) > MAX_BYTES:
        raise TableError(f"The file is larger than {MAX_BYTES // 2**20} MB: split it.")
    if not data.strip():
        raise TableError("The file is empty.")
    if is_workbook(data):
        return _table(workbook_rows(data, columns=MAX_COLUMNS), "XLSX, first sheet")
    text, encoding = text_of(data)
    delimiter = _delimiter(text, {plain_title(title) for title in known})
    return _table(_csv_rows(text, delimiter), f"CSV, {_DELIMITERS[delimiter]}, {encoding}")


def _delimiter(text: str, known: Collection[str]) -> str:
    """Return the delimiter that makes most known headings of the first line, else most columns."""
    first = next((line for line in text.splitlines() if line.strip()), "")[:MOST_OF_A_LINE]

    def score(delimiter: str) -> tuple[int, int]:
        cells = next(csv.reader([first], delimiter=delimiter), [])
        return sum(plain_title(cell) in known for cell in cells), len(cells)

    return max(_DELIMITERS, key=score)


def _csv_rows(text: str, delimiter: str) -> Iterator[Cells]:
    try:
        for cells in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True):
            yield [as_written(cell.strip(" ")).strip() for cell in cells]
    except csv.Error as error:
        message = "A quotation mark in the file is not closed, so its columns cannot be told apart."
        raise TableError(message) from error


def _table(rows: Iterable[Cells], read_as: str) -> ReadTable:
    numbered = ((number, cells) for number, cells in enumerate(rows, start=1) if any(cells))
    titles = _titles(next(numbered, (0, ()))[1])
    found: list[ReadRow] = []
    examples = 0
    for number, cells in numbered:
        if next(cell for cell in cells if cell).startswith(EXAMPLE):
            examples += 1
            continue
        if len(found) == MAX_ROWS:
            raise TableError(f"The file has more than {MAX_ROWS} rows: split it.")
        beyond = tuple(cell for cell in cells[len(titles) :] if cell)
        padded = [*cells, *[""] * (len(titles) - len(cells))]
        found.append(ReadRow(number, dict(zip(titles, padded, strict=False)), beyond))
    if not found:
        raise TableError("The file has no rows below its headings.")
    return ReadTable(titles, found, examples, read_as)


def _titles(cells: Cells) -> tuple[str, ...]:
    titles = list(cells)
    while titles and not titles[-1]:
        titles.pop()
    if not titles:
        raise TableError("The file is empty.")
    if len(titles) > MAX_COLUMNS:
        raise TableError(f"The first row has more than {MAX_COLUMNS} cells: it must be the headings.")
    if "" in titles:
        raise TableError(f"Column {titles.index('') + 1} has no heading.")
    title, times = Counter(map(plain_title, titles)).most_common(1)[0]
    if times > 1:
        raise TableError(f"The heading “{title}” stands there {times} times.")
    return tuple(titles)

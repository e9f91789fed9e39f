"""The table in a logger file: delimiter, preamble, headings and the cells as text."""

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice, pairwise

import pandas as pd

from workorders.calc.trace_error import TraceError
from workorders.calc.trace_numbers import is_number_like
from workorders.calc.trace_units import Heading, is_unit_row, read_heading

MIN_ROWS = 5
MOST_COLUMNS = 128  # each is compared with each; common practice, no source
SAMPLE_LINES = 2_000
MAX_FOOTER_LINES = 5
SPACE = r"\s+"
# In the order in which a tie is settled: what hardly stands inside a number comes first.
_DELIMITERS = ("\t", ";", "|", ",", SPACE)
_NAMES = {"\t": "tab", ";": "semicolon", "|": "bar", ",": "comma", SPACE: "white space"}
_COMMENT = ("#", "%", "//", "!")
LONGEST_LINE = 100_000  # below the largest cell that the reader of delimited text takes
_NARROW_SPACES = str.maketrans({"\u00a0": "'", "\u202f": "'", "\u2009": "'", "\u2019": "'", "\u2212": "-"})


@dataclass(frozen=True, kw_only=True, eq=False)
class Table:
    """The cells of a logger file as text.

    ``cells`` has one column per column of the file and one row per sample; ``lines`` gives the
    line in the file of each row, counted from 1; ``headings`` is empty where there are none.
    """

    cells: pd.DataFrame
    lines: list[int]
    headings: tuple[Heading, ...]
    delimiter: str
    warnings: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Layout:
    """How the lines are split, which columns hold numbers, and at which line they start."""

    delimiter: str
    width: int
    numeric: tuple[int, ...]
    start: int
    score: int

    def split(self, line: str) -> list[str]:
        """Split a line into its cells, blanks around them left out."""
        return _split(line, self.delimiter)

    def headings(self, lines: list[str]) -> tuple[tuple[Heading, ...], int]:
        """Read the row (or rows) of headings right above the readings; say how many lines they are."""
        above = [line for line in lines[: self.start] if any(sign.isalnum() for sign in line)][-2:]
        cells = [_heading_cells(line, self) for line in above]
        last = cells[-1] if cells else None
        if last is None:
            return (), 0
        first = cells[0] if len(cells) == 2 else None
        if is_unit_row(last) and first and not is_unit_row(first):
            pairs, count = list(zip(first, last, strict=True)), 2
        elif is_unit_row(last):
            pairs, count = [("", unit) for unit in last], 1
        else:
            pairs, count = [(name, "") for name in last], 1
        return tuple(read_heading(text=name, unit_text=unit) for name, unit in pairs), count

    def preamble_warnings(self, lines: list[str], headed: int) -> list[str]:
        """Say how many lines above the readings are neither readings nor one of the ``headed`` headings."""
        skipped = sum(1 for line in lines[: self.start] if line.strip()) - headed
        if skipped <= 0:
            return []
        return [
            "1 line above the readings is not read."
            if skipped == 1
            else f"{skipped} lines above the readings are not read."
        ]


def read_table(lines: list[str]) -> Table:
    """Find the table in the lines of a logger file.

    Parameters
    ----------
    lines : list of str
        All lines of the file, blank ones included.

    Returns
    -------
    Table
        Cells as text, with headings where the file has them.

    Raises
    ------
    TraceError
        There is no table of numbers, it has one column or fewer than 5 rows, or a line has
        another number of columns than the rest, or is too long for a row of readings.
    """
    long = next((at for at, line in enumerate(lines) if len(line) > LONGEST_LINE), None)
    if long is not None:
        length = len(lines[long])
        raise TraceError(f"Line {long + 1} has {length} characters; a row has at most {LONGEST_LINE}.")
    layout = find_layout(lines)
    headings, headed = layout.headings(lines)
    warnings = layout.preamble_warnings(lines, headed)
    kept = [at for at in range(layout.start, len(lines)) if is_content(lines[at])]
    kept, cut = _drop_footer(lines, kept, layout)
    if cut:
        warnings.append(footer_warning(cut))
    if len(kept) < MIN_ROWS:
        count = "1 row" if len(kept) == 1 else f"{len(kept)} rows"
        raise TraceError(f"The file has {count} of readings; at least {MIN_ROWS} are needed.")
    cells = _parse(kept, lines, layout)
    return Table(
        cells=cells,
        lines=[at + 1 for at in kept],
        headings=headings,
        delimiter=_NAMES[layout.delimiter],
        warnings=tuple(warnings),
    )


def footer_warning(line: int) -> str:
    """Say that what stands from a line on, counted from 1, is not read."""
    return f"The end of the file from line {line} on is cut off or no reading, and is not read."


def is_content(line: str) -> bool:
    """Whether a line is more than blank, delimiters alone, or a comment."""
    if line[:1].isdigit():
        return True
    # A row of delimiters alone is what a spreadsheet leaves for an empty row.
    stripped = line.strip(" \t\f\x1a;,|")
    return bool(stripped) and not stripped.startswith(_COMMENT)


def _split(line: str, delimiter: str) -> list[str]:
    """Split a line into its cells, blanks around them left out."""
    if delimiter == SPACE:
        return line.split()
    return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])]


def find_layout(lines: list[str]) -> Layout:
    """Choose the delimiter that makes rows of numbers of the most lines, and most of their columns.

    Raises TraceError where no lines hold two numbers, or where they hold too many.
    """
    content = ((at, line) for at, line in enumerate(lines) if is_content(line))
    sample = list(islice(content, SAMPLE_LINES))
    layouts = [found for delimiter in _DELIMITERS if (found := _layout(sample, delimiter))]
    if layouts:
        best = max(layouts, key=lambda found: (found.score, len(found.numeric) / found.width))
        if best.width > MOST_COLUMNS:
            raise TraceError(
                f"The file has {best.width} columns; at most {MOST_COLUMNS} are read. Export it with the "
                "channels of this test alone."
            )
        return best
    if sum(is_number_like(line) for _, line in sample) >= max(1, len(sample) // 2):
        raise TraceError(
            "The file has one column of numbers; a trace needs a time and a reading. "
            "If the comma is both delimiter and decimal sign, export with semicolons."
        )
    raise TraceError("No table of readings is found in the file: no lines with a time and a reading.")


def _layout(sample: list[tuple[int, str]], delimiter: str) -> Layout | None:
    rows = [(at, _split(line.translate(_NARROW_SPACES), delimiter)) for at, line in sample]
    marked = [(at, row, [is_number_like(cell) for cell in row]) for at, row in rows]
    widths = Counter(len(row) for _, row, marks in marked if sum(marks) >= 2)
    if not widths:
        return None
    width = max(widths, key=lambda size: (widths[size], size))
    body = [(at, row, marks) for at, row, marks in marked if len(row) == width and sum(marks) >= 2]
    # A column of numbers is one in most rows; in a row of readings every such column has one.
    numeric = tuple(k for k in range(width) if 2 * sum(marks[k] for _, _, marks in body) > len(body))
    good = [at for at, row, marks in body if all(marks[k] or not row[k] for k in numeric)]
    if len(numeric) < 2 or (delimiter == "," and _splits_decimals(body, numeric)):
        return None
    return Layout(
        delimiter=delimiter, width=width, numeric=numeric, start=_start(good, sample), score=len(good)
    )


def _splits_decimals(body: list[tuple[int, list[str], list[bool]]], numeric: tuple[int, ...]) -> bool:
    """Whether a comma cuts numbers in two: a part such as ``026`` is no number by itself."""
    cut = sum(any(re.fullmatch(r"0\d+", row[k]) for k in numeric) for _, row, _ in body)
    return cut > 0.02 * len(body)


def _start(good: list[int], sample: list[tuple[int, str]]) -> int:
    """Return the first row of readings that another one follows soon, past any preamble."""
    order = {at: place for place, (at, _) in enumerate(sample)}
    for this, following in pairwise(good):
        if order[following] - order[this] <= 2:
            return this
    return good[0] if good else sample[0][0]


def _heading_cells(line: str, layout: Layout) -> list[str] | None:
    """Split a line above the readings; None where it is no row of headings."""
    line = line.lstrip().lstrip("#%! ")
    candidates = [layout.split(line)]
    if layout.delimiter == SPACE:
        candidates = [
            re.split(r"\s{2,}|\t", line.strip()),
            _split(re.sub(r"\s+(?=[\[(])", "", line), SPACE),
        ]
    for cells in candidates:
        while len(cells) > layout.width and not cells[-1]:
            cells = cells[:-1]
        if len(cells) == layout.width - 1:
            cells = [*cells, ""]
        if len(cells) == layout.width and any(any(sign.isalpha() for sign in cell) for cell in cells):
            return cells
    return None


def _drop_footer(lines: list[str], kept: list[int], layout: Layout) -> tuple[list[int], int]:
    """Leave out a last line that is cut off, or a few lines of text below the readings."""
    for back in range(min(MAX_FOOTER_LINES, len(kept)) + 1):
        if back == len(kept) or len(layout.split(lines[kept[-1 - back]])) == layout.width:
            break
    if not back or back > MAX_FOOTER_LINES:
        return kept, 0
    return kept[:-back], kept[-back] + 1


def _parse(kept: list[int], lines: list[str], layout: Layout) -> pd.DataFrame:
    """Split the kept lines into cells; refuse a line of another width by its number."""
    rows = [lines[at].strip(" ") for at in kept]
    if not all(row.isascii() for row in rows):
        rows = [row.translate(_NARROW_SPACES) for row in rows]
    quoted = any('"' in row for row in rows)
    for at, width in zip(kept, _widths(rows, layout.delimiter, quoted), strict=False):
        if width != layout.width:
            count = "1 column" if width == 1 else f"{width} columns"
            raise TraceError(f"Line {at + 1} has {count}; the others have {layout.width}.")
    try:
        cells = pd.read_csv(
            io.StringIO("\n".join(rows)),
            sep=layout.delimiter,
            header=None,
            dtype=object,
            na_filter=False,
            skipinitialspace=True,
            skip_blank_lines=False,
            quoting=csv.QUOTE_MINIMAL if quoted else csv.QUOTE_NONE,
        )
    except pd.errors.ParserError:
        cells = pd.DataFrame()
    if cells.shape != (len(rows), layout.width):
        raise TraceError("A quotation mark in the file is not closed, so its columns cannot be told apart.")
    return cells


def _widths(rows: list[str], delimiter: str, quoted: bool) -> Iterator[int]:
    if delimiter == SPACE:
        return (len(row.split()) for row in rows)
    if quoted:
        return (len(cells) for cells in csv.reader(rows, delimiter=delimiter, skipinitialspace=True))
    return (row.count(delimiter) + 1 for row in rows)

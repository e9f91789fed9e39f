"""Long logger files read piece by piece, where every line is as plain as the first ones."""

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from workorders.calc.trace_numbers import Marks, sample_places, to_numbers, to_seconds
from workorders.calc.trace_table import (
    MAX_FOOTER_LINES,
    SAMPLE_LINES,
    SPACE,
    Layout,
    find_layout,
    footer_warning,
    is_content,
)
from workorders.calc.trace_units import Heading

Floats = npt.NDArray[np.float64]
HEAD_LINES = 6_000  # shorter files are read at once; the head holds all that decides the layout
_PIECE_ROWS = 200_000
# What makes a line more than plain: quotation marks, comments, page ends.
_NOT_PLAIN = ('"', "#", "%", "!", "//", "\f", "\x1a")


@dataclass(frozen=True, kw_only=True, eq=False)
class PlainTable:
    """The readings of a long file, still as text: plain ASCII, the same delimiters in each line.

    ``ends`` are the places of the line ends in ``body``; ``lines`` gives the line in the file of
    each row, counted from 1; ``samples`` are cells of each column from all over the file.
    """

    body: bytes
    ends: npt.NDArray[np.int64]
    lines: range
    width: int
    sep: str
    headings: tuple[Heading, ...]
    samples: Mapping[int, list[str]]
    warnings: tuple[str, ...]


def read_plain(text: str, *, head_lines: int = HEAD_LINES) -> PlainTable | None:
    """Take a long file as a plain table.

    Parameters
    ----------
    text : str
        The whole file with ``\\n`` as line end.
    head_lines : int
        Lines that the layout is found in; a file with no more than that is not taken.

    Returns
    -------
    PlainTable or None
        None where the file is short or anything in it is out of the plain: `read_table` reads it
        then, more slowly and with a sentence for what is wrong.
    """
    head = text.split("\n", head_lines)
    if len(head) <= head_lines:
        return None
    head.pop()
    if sum(map(is_content, head)) < min(SAMPLE_LINES, head_lines // 2):
        return None
    layout = find_layout(head)
    body = text[sum(len(line) + 1 for line in head[: layout.start]) :]
    body, cut = _without_footer(body, layout)
    if layout.delimiter == SPACE or not body.isascii() or any(sign in body for sign in _NOT_PLAIN):
        return None
    raw = f"{body}\n".encode("ascii")
    ends = _places(raw, "\n")
    headings, headed = layout.headings(head)
    warnings = layout.preamble_warnings(head, headed)
    if cut:
        warnings.append(footer_warning(layout.start + ends.size + 1))
    return PlainTable(
        body=raw,
        ends=ends,
        lines=range(layout.start + 1, layout.start + ends.size + 1),
        width=layout.width,
        sep=layout.delimiter,
        headings=headings,
        samples=_samples(raw, ends, layout),
        warnings=tuple(warnings),
    )


def plain_values(
    table: PlainTable, *, numbers: Mapping[int, Marks], stamps: list[int]
) -> dict[int, Floats] | None:
    """Convert the columns of a plain table.

    Parameters
    ----------
    table : PlainTable
        From `read_plain`.
    numbers : mapping
        Columns of numbers, each with its marks.
    stamps : list of int
        Columns of time stamps.

    Returns
    -------
    dict or None
        Numbers [unit of the column], seconds from the first stamp; None where a cell is neither.
    """
    decimals = [marks.decimal for marks in numbers.values() if not (marks.thousands or marks.spaced)]
    decimal = max(sorted(set(decimals)), key=decimals.count, default=".")
    plain = [
        k
        for k, marks in numbers.items()
        if marks.decimal == decimal and not (marks.thousands or marks.spaced)
    ]
    values: dict[int, Floats] = {k: np.empty(table.ends.size) for k in numbers}
    texts: dict[int, list[pd.Series]] = {k: [] for k in stamps}
    for first in range(0, table.ends.size, _PIECE_ROWS):
        piece = _piece(table, first, columns=[*numbers, *stamps], plain=plain, decimal=decimal)
        if piece is None:
            return None
        rows = slice(first, first + len(piece))
        for k, marks in numbers.items():
            values[k][rows] = piece[k] if k in plain else to_numbers(cells=piece[k], marks=marks)
        for k in stamps:
            texts[k].append(piece[k])
    values |= {k: to_seconds(pd.concat(pieces, ignore_index=True)) for k, pieces in texts.items()}
    return values if all(np.isfinite(column).all() for column in values.values()) else None


def _piece(
    table: PlainTable, first: int, *, columns: list[int], plain: list[int], decimal: str
) -> pd.DataFrame | None:
    last = min(first + _PIECE_ROWS, table.ends.size) - 1
    start = int(table.ends[first - 1]) + 1 if first else 0
    raw = table.body[start : int(table.ends[last]) + 1]
    if not _is_even(raw, table.ends[first : last + 1] - start, table):
        return None
    try:
        piece = pd.read_csv(
            io.BytesIO(raw),
            sep=table.sep,
            header=None,
            usecols=columns,
            dtype={k: np.float64 if k in plain else object for k in columns},
            decimal=decimal,
            na_filter=False,
            skipinitialspace=True,
            skip_blank_lines=False,
            quoting=csv.QUOTE_NONE,
        )
    except (ValueError, OverflowError):
        return None
    return piece if len(piece) == last - first + 1 else None


def _places(raw: bytes, sign: str) -> npt.NDArray[np.int64]:
    return np.flatnonzero(np.frombuffer(raw, dtype=np.uint8) == ord(sign))


def _is_even(raw: bytes, ends: npt.NDArray[np.int64], table: PlainTable) -> bool:
    """Whether every line has as many delimiters as the first ones had."""
    marks = _places(raw, table.sep)
    each = table.width - 1
    if marks.size != ends.size * each:
        return False
    marks = marks.reshape(-1, each)
    return bool(np.all(marks[:, -1] < ends) and np.all(marks[1:, 0] > ends[:-1]))


def _without_footer(body: str, layout: Layout) -> tuple[str, bool]:
    """Leave out blank lines at the end, and a few lines there that are cut off or no readings."""
    cut, end = 0, len(body)
    while end:
        at = body.rfind("\n", 0, end)
        line = body[at + 1 : end]
        if is_content(line):
            if cut == MAX_FOOTER_LINES or len(layout.split(line)) == layout.width:
                break
            cut += 1
        end = max(at, 0)
    return body[:end], bool(cut)


def _samples(raw: bytes, ends: npt.NDArray[np.int64], layout: Layout) -> dict[int, list[str]]:
    places = sample_places(ends.size)
    starts = np.where(places > 0, ends[places - 1] + 1, 0)
    lines = [raw[start:end].decode("ascii") for start, end in zip(starts, ends[places], strict=True)]
    rows = [[cell.strip() for cell in line.split(layout.delimiter)] for line in lines]
    rows = [row for row in rows if len(row) == layout.width]
    return {k: [row[k] for row in rows] for k in range(layout.width)}

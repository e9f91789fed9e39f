"""Text made to fit a space: shrunk first, then wrapped, and only then ended by an ellipsis."""

from collections.abc import Sequence
from dataclasses import dataclass

from shop.documents.drawing import text_width

LEADING = 1.22  # line distance over em; the accents and descenders of the shipped faces need 1.17
ELLIPSIS = "…"


class LabelError(ValueError):
    """This label cannot be printed on this stock; the message says why."""


@dataclass(frozen=True)
class Line:
    """One line of text and its face."""

    text: str
    face: str


@dataclass(frozen=True)
class Sizes:
    """Heights of the em square in dots: wanted, least before lines are wrapped, least of all."""

    wanted: int
    least_unwrapped: int
    least: int


@dataclass(frozen=True)
class Fitted:
    """Lines that fit their space, all of one size."""

    lines: tuple[Line, ...]
    size: int


def leading(size: int) -> int:
    """Return the distance from baseline to baseline, in dots, for a size."""
    return round(size * LEADING)


def one_line_size(line: Line, *, width: int, most: int) -> int:
    """Return the largest size up to ``most`` at which a line is no wider than ``width`` dots.

    Raises LabelError where it would be smaller than 6 dots, too coarse to read.
    """
    for size in range(most, 5, -1):
        if text_width(line.text, line.face, size) <= width:
            return size
    raise LabelError(f"“{line.text}” is too long to print on this label.")


def fit_lines(lines: Sequence[Line], *, width: int, height: int, sizes: Sizes) -> Fitted:
    """Fit lines into a space in dots; see the module's sentence for the order of means.

    The line that takes most rows loses rows first. Raises LabelError where there are more lines
    than rows even at the least size, since none is ever dropped.
    """
    steps = [(size, False) for size in range(sizes.wanted, sizes.least_unwrapped - 1, -1)]
    steps += [(size, True) for size in range(sizes.wanted, sizes.least - 1, -1)]
    for size, wrapping in steps:
        rows = [row for line in lines for row in (wrap(line, size, width) if wrapping else [line])]
        narrow = all(text_width(row.text, row.face, size) <= width for row in rows)
        if narrow and len(rows) * leading(size) <= height:
            return Fitted(tuple(rows), size)
    return _shortened(lines, width, height // leading(sizes.least), sizes.least)


def wrap(line: Line, size: int, width: int) -> list[Line]:
    """Break a line at spaces into rows no wider than ``width`` dots; too long a word inside."""
    rows = [""]
    for word in line.text.split():
        joined = f"{rows[-1]} {word}".strip()
        if text_width(joined, line.face, size) <= width:
            rows[-1] = joined
            continue
        rows.append("")
        for sign in word:
            if text_width(rows[-1] + sign, line.face, size) > width:
                rows.append("")
            rows[-1] += sign
    return [Line(row, line.face) for row in rows if row]


def _shortened(lines: Sequence[Line], width: int, room: int, size: int) -> Fitted:
    if len(lines) > room:
        raise LabelError(
            f"{len(lines)} lines of text are too many for this label, which has room for {room}."
        )
    parts = [wrap(line, size, width) for line in lines]
    while sum(map(len, parts)) > room:
        longest = max(parts, key=len)
        longest.pop()
        longest[-1] = _with_ellipsis(longest[-1], size, width)
    return Fitted(tuple(row for part in parts for row in part), size)


def _with_ellipsis(line: Line, size: int, width: int) -> Line:
    text = line.text.rstrip(ELLIPSIS + " ,;-")
    while text_width(text + ELLIPSIS, line.face, size) > width:
        text = text[:-1].rstrip(" ,;-")
    return Line(text + ELLIPSIS, line.face)

"""Plain text set in lines: what ReportLab's Paragraph does, without markup and several times faster."""

from functools import lru_cache

from reportlab.lib.enums import TA_CENTER, TA_LEFT
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.platypus import Flowable

FUZZ_POINTS = 1e-6


class Words(Flowable):
    """A run of plain text in one face; a line break in it begins a new line.

    Left or centred, broken at spaces, a word longer than a line wherever it must. ValueError for
    a style that asks for more: it would be ignored.
    """

    def __init__(self, text: str, style: ParagraphStyle):
        super().__init__()
        if style.alignment not in (TA_LEFT, TA_CENTER) or style.leftIndent or style.rightIndent:
            raise ValueError(f"style {style.name!r} is not left or centred without indents")
        self.text, self.style = text, style
        self.lines: tuple[str, ...] = ()

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Break the text into lines of a width."""
        style = self.style
        self.width, self.lines = width, broken(self.text, style.fontName, style.fontSize, width)
        self.height = len(self.lines) * style.leading
        return width, self.height

    def split(self, width: float, height: float) -> "list[Words]":
        """Divide at the lines that fit the height; a first line is never left alone."""
        self.wrap(width, height)
        fitting = int((height + FUZZ_POINTS) / self.style.leading)
        if fitting >= len(self.lines):
            return [self]
        if fitting < 2:
            return []
        parts = (self.lines[:fitting], self.lines[fitting:])
        return [Words("\n".join(lines), self.style) for lines in parts]

    def draw(self) -> None:
        """Draw the lines from the top down."""
        canvas, style = self.canv, self.style
        baseline = self.height - style.fontSize  # where Paragraph puts it
        canvas.setFillColor(style.textColor)
        text = canvas.beginText(0, baseline)
        text.setFont(style.fontName, style.fontSize, style.leading)
        for number, line in enumerate(self.lines):
            if style.alignment == TA_CENTER:
                left = (self.width - text_width(line, style.fontName, style.fontSize)) / 2
                text.setTextOrigin(left, baseline - number * style.leading)
            text.textLine(line)
        canvas.drawText(text)


@lru_cache(maxsize=20_000)
def text_width(text: str, face: str, size: float) -> float:
    """Return the width of a text in points."""
    width: float = pdfmetrics.stringWidth(text, face, size)
    return width


@lru_cache(maxsize=5_000)
def broken(text: str, face: str, size: float, width: float) -> tuple[str, ...]:
    """Return the lines of a text, none wider than ``width`` points unless one letter alone is."""
    return tuple(line for part in text.split("\n") for line in _lines(part.split(), face, size, width))


def _lines(words: list[str], face: str, size: float, width: float) -> list[str]:
    space = text_width(" ", face, size)
    lines, used = [""], 0.0
    for word in words:
        wide = text_width(word, face, size)
        if lines[-1] and used + space + wide <= width + FUZZ_POINTS:
            lines[-1] += f" {word}"
            used += space + wide
        elif wide <= width + FUZZ_POINTS:
            lines, used = _next(lines, word), wide
        else:
            lines = _next(lines, word)
            while text_width(lines[-1], face, size) > width and len(lines[-1]) > 1:
                head = _fitting(lines[-1], face, size, width)
                lines[-1:] = [lines[-1][:head], lines[-1][head:]]
            used = text_width(lines[-1], face, size)
    return lines


def _next(lines: list[str], word: str) -> list[str]:
    return [*lines, word] if lines[-1] else [*lines[:-1], word]


def _fitting(word: str, face: str, size: float, width: float) -> int:
    """Return how many letters of a word fit a line, at least one."""
    count = 1
    while text_width(word[: count + 1], face, size) <= width:
        count += 1
    return count

"""Text set in lines: what ReportLab's Paragraph does for plain and strong words, several times faster."""

from collections.abc import Iterable, Sequence
from functools import lru_cache

from reportlab.lib.enums import TA_CENTER, TA_LEFT
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.textobject import PDFTextObject
from reportlab.platypus import Flowable

from shop.documents.paper import STRONG

FUZZ_POINTS = 1e-6
# A piece of text with its face; a word may have several, such as a strong name and its colon.
Piece = tuple[str, str]
Line = tuple[Piece, ...]


def strong(text: str) -> Piece:
    """Mark a piece of text as strong."""
    return text, STRONG


class Words(Flowable):
    """Text in one face with strong pieces in it; a line break in it begins a new line.

    Left or centred, broken at spaces, a word longer than a line wherever it must; after a bullet
    the lines hang by ``indent`` points. ValueError for a style that asks for more: it would be
    ignored.
    """

    def __init__(
        self,
        text: str | Iterable[str | Piece],
        style: ParagraphStyle,
        *,
        bullet: str = "",
        indent: float = 0,
    ):
        super().__init__()
        if style.alignment not in (TA_LEFT, TA_CENTER) or style.leftIndent or style.rightIndent:
            raise ValueError(f"style {style.name!r} is not left or centred without indents")
        self.style, self.bullet, self.indent = style, bullet, indent
        pieces = [text] if isinstance(text, str) else text
        self.pieces = tuple((piece, style.fontName) if isinstance(piece, str) else piece for piece in pieces)
        self.lines: tuple[Line, ...] = ()
        self.width = float("inf")

    @property
    def natural_width(self) -> float:
        """The width in points that the text takes where nothing but its own line breaks ends a line."""
        lines = broken(self.pieces, self.style.fontSize, float("inf"))
        return self.indent + max(_width_of(line, self.style.fontSize) for line in lines)

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Break the text into lines of a width."""
        self.width = width
        self.lines = broken(self.pieces, self.style.fontSize, width - self.indent)
        self.height = len(self.lines) * self.style.leading
        return width, self.height

    def split(self, width: float, height: float) -> "list[Words]":
        """Divide at the lines that fit the height; a first line is never left alone.

        ReportLab's Table wraps a cell inside the padding and divides it without, so the lines stay as they
        were wrapped where that was narrower.
        """
        self.wrap(min(width, self.width), height)
        fitting = int((height + FUZZ_POINTS) / self.style.leading)
        if fitting >= len(self.lines):
            return [self]
        if fitting < 2:
            return []
        first = Words(_joined(self.lines[:fitting]), self.style, bullet=self.bullet, indent=self.indent)
        return [first, Words(_joined(self.lines[fitting:]), self.style, indent=self.indent)]

    def draw(self) -> None:
        """Draw the lines from the top down."""
        text = self.canv.beginText()
        text.setFillColor(self.style.textColor)
        text.setFont(self.style.fontName, self.style.fontSize, self.style.leading)
        self.show(text, 0, self.height)
        self.canv.drawText(text)

    def show(self, text: PDFTextObject, left: float, top: float) -> None:
        """Show the lines in a text object that has the face and colour of the style."""
        style = self.style
        baseline = top - style.fontSize  # where Paragraph puts it
        if self.bullet:
            text.setTextOrigin(left, baseline)
            text.textOut(self.bullet)
        text.setTextOrigin(left + self.indent, baseline)
        for number, line in enumerate(self.lines):
            if style.alignment == TA_CENTER:
                start = left + (self.width - _width_of(line, style.fontSize)) / 2
                text.setTextOrigin(start, baseline - number * style.leading)
            shown = style.fontName
            for at, (piece, face) in enumerate(line or (("", shown),), 1):
                if face != shown:
                    text.setFont(face, style.fontSize, style.leading)
                shown = face
                (text.textLine if at >= len(line) else text.textOut)(piece)
            if shown != style.fontName:
                text.setFont(style.fontName, style.fontSize, style.leading)


@lru_cache(maxsize=20_000)
def text_width(text: str, face: str, size: float) -> float:
    """Return the width of a text in points."""
    width: float = pdfmetrics.stringWidth(text, face, size)
    return width


@lru_cache(maxsize=5_000)
def broken(pieces: tuple[Piece, ...], size: float, width: float) -> tuple[Line, ...]:
    """Return the lines of a text, none wider than ``width`` points unless one letter alone is."""
    return tuple(_merged(line) for words in _rows(pieces) for line in _lines(words, size, width))


def _rows(pieces: Sequence[Piece]) -> list[list[Line]]:
    """Divide a text into rows at its line breaks, and each row into words."""
    rows: list[list[Line]] = [[]]
    glued = False
    for text, face in pieces:
        for number, part in enumerate(text.split("\n")):
            if number:
                rows.append([])
                glued = False
            words: list[Line] = [((word, face),) for word in part.split()]
            if words and glued and not part[0].isspace():
                rows[-1][-1] += words.pop(0)
            rows[-1] += words
            glued = bool(rows[-1]) and not part[-1:].isspace()
    return rows


def _lines(words: Sequence[Line], size: float, width: float) -> list[Line]:
    lines: list[Line] = [()]
    used = 0.0
    for word in words:
        wide = _width_of(word, size)
        space = (" ", word[0][1])
        between = text_width(*space, size)
        if lines[-1] and used + between + wide <= width + FUZZ_POINTS:
            lines[-1] += (space, *word)
            used += between + wide
            continue
        if lines[-1]:
            lines.append(())
        lines[-1], used = word, wide
        while used > width + FUZZ_POINTS and sum(len(text) for text, _face in lines[-1]) > 1:
            lines[-1:] = _parted(lines[-1], size, width)
            used = _width_of(lines[-1], size)
    return lines


def _parted(word: Line, size: float, width: float) -> tuple[Line, Line]:
    """Part a word that is wider than a line; the first part has one letter at least."""
    letters = [(letter, face) for text, face in word for letter in text]
    count, used = 1, _width_of(letters[:1], size)
    while used + _width_of([letters[count]], size) <= width + FUZZ_POINTS:
        used += _width_of([letters[count]], size)
        count += 1
    return _merged(letters[:count]), _merged(letters[count:])


def _width_of(pieces: Iterable[Piece], size: float) -> float:
    return sum(text_width(text, face, size) for text, face in pieces)


def _merged(pieces: Iterable[Piece]) -> Line:
    """Join neighbours of one face."""
    merged: list[Piece] = []
    for text, face in pieces:
        if merged and merged[-1][1] == face:
            merged[-1] = (merged[-1][0] + text, face)
        else:
            merged.append((text, face))
    return tuple(merged)


def _joined(lines: Sequence[Line]) -> list[Piece]:
    """Return the pieces that break into these lines again."""
    pieces: list[Piece] = []
    for number, line in enumerate(lines):
        if number:
            pieces.append(("\n", (line or lines[number - 1] or (("", STRONG),))[0][1]))
        pieces += line
    return pieces

"""What a paper has to be filled in by hand: boxes to write in, boxes to tick, lines for notes."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, KeepTogether

from shop.documents.paper import INK, STRONG
from workorders.documents.sheet import COPPER, LOUD, NOTE, TEXT, para
from workorders.documents.words import Words

TICK_SIDE = 3.6 * mm
WRITING_HEIGHT = 9 * mm  # for gloves and oil: a line of handwriting takes 8 mm
PAD = 2.2
HAIR, EDGE = 0.5, 0.9


@dataclass(frozen=True, kw_only=True)
class WriteBox:
    """A box to write in, with what belongs there; ``choices`` are ticked instead."""

    label: str
    choices: tuple[str, ...] = ()


class TickBox(Flowable):
    """An empty square to tick."""

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        """Take the square and a little room above it."""
        return TICK_SIDE, TICK_SIDE + 2

    def draw(self) -> None:
        """Draw the square."""
        _square(self.canv, 0, 0)


class TickLine(Flowable):
    """A sentence after a square to tick."""

    indent = TICK_SIDE + 4

    def __init__(self, text: str) -> None:
        super().__init__()
        self.words = para(text, NOTE)

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Take as many lines as the sentence needs."""
        _width, height = self.words.wrap(width - self.indent, 0)
        self.height = max(height, TICK_SIDE) + 3
        return width, self.height

    def draw(self) -> None:
        """Draw the square beside the first line."""
        _square(self.canv, 0, self.height - TICK_SIDE - 1)
        self.words.drawOn(self.canv, self.indent, self.height - self.words.height)


class BoxRow(Flowable):
    """Boxes side by side, each with its label on top and room for a line of handwriting."""

    def __init__(self, boxes: Sequence[tuple[WriteBox, float]]) -> None:
        super().__init__()
        self.boxes = boxes

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Share the width out, and take the height of the tallest box."""
        whole = sum(share for _box, share in self.boxes)
        self.cells = [_Cell(box, width * share / whole) for box, share in self.boxes]
        self.width, self.height = width, max(cell.height for cell in self.cells)
        return self.width, self.height

    def draw(self) -> None:
        """Draw every box with its label and its choices."""
        left = 0.0
        for cell in self.cells:
            self.canv.setStrokeColor(INK)
            self.canv.setLineWidth(HAIR)
            self.canv.rect(left, 0, cell.width, self.height)
            cell.draw(self.canv, left, self.height)
            left += cell.width


class _Cell:
    """One box of a row as it is laid out: its label, and where its choices stand below it."""

    def __init__(self, box: WriteBox, width: float) -> None:
        self.width = width
        self.label = para(box.label, TEXT)
        _width, label_height = self.label.wrap(width - 2 * PAD, 0)
        self.choices: list[tuple[float, float, Words]] = []
        across, below = PAD, label_height + PAD
        for text in box.choices:
            words = para(text, NOTE)
            room = width - 2 * PAD - TickLine.indent
            natural = min(words.natural_width, room)
            if self.choices and across + TickLine.indent + natural > width - PAD:
                across, below = PAD, below + WRITING_HEIGHT * 0.75
            words.wrap(natural + 0.01, 0)
            self.choices.append((across, below, words))
            across += TickLine.indent + natural + 8
            below += max(0.0, words.height - NOTE.leading)
        writing = below - label_height - PAD + WRITING_HEIGHT
        self.height = label_height + PAD + max(writing, WRITING_HEIGHT)

    def draw(self, canvas: Canvas, left: float, top: float) -> None:
        self.label.drawOn(canvas, left + PAD, top - self.label.height - 0.5)
        for across, below, words in self.choices:
            foot = top - below - WRITING_HEIGHT / 2 - TICK_SIDE / 2 + 1
            _square(canvas, left + across, foot)
            start = foot + TICK_SIDE - words.height + 0.8
            words.drawOn(canvas, left + across + TickLine.indent, start)


class RuledLines(Flowable):
    """Empty lines for notes, each high enough to write on; at the end of a page they go on overleaf."""

    def __init__(self, count: int) -> None:
        super().__init__()
        self.count = count

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Take the height of all lines."""
        self.width = width
        return width, self.count * WRITING_HEIGHT

    def split(self, _width: float, height: float) -> list[Flowable]:
        """Divide between two lines."""
        fitting = int(height / WRITING_HEIGHT)
        return [RuledLines(fitting), RuledLines(self.count - fitting)] if 0 < fitting < self.count else []

    def draw(self) -> None:
        """Draw the lines."""
        self.canv.setStrokeColor(INK)
        self.canv.setLineWidth(HAIR)
        for number in range(self.count):
            self.canv.line(0, number * WRITING_HEIGHT + 1, self.width, number * WRITING_HEIGHT + 1)


class StepHead(Flowable):
    """The head of a step: its number in the margin, a title as long as it likes, the verdict at the right."""

    verdict_width = 40 * mm

    def __init__(self, number: str, title: str, verdict: str = "") -> None:
        super().__init__()
        self.number, self.title, self.verdict = number, para(title, LOUD), verdict

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Take as many lines as the title needs."""
        self.width = width
        _width, height = self.title.wrap(width - (self.verdict_width if self.verdict else 0), 0)
        self.height = height + 6
        return width, self.height

    def draw(self) -> None:
        """Draw a rule over the whole width, then number, title and verdict."""
        canvas = self.canv
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(EDGE)
        canvas.line(0, self.height - 1, self.width, self.height - 1)
        first = self.height - 3 - LOUD.fontSize
        canvas.setFillColor(COPPER)
        canvas.setFont(STRONG, 9)
        canvas.drawRightString(-3.4 * mm, first, self.number)
        canvas.setFillColor(INK)
        self.title.drawOn(canvas, 0, self.height - 3 - self.title.height)
        canvas.setFillColor(INK)
        canvas.setFont(STRONG, 10)
        canvas.drawRightString(self.width, first, self.verdict)


def kept(parts: Sequence[Sequence[Flowable]], width: float, page_height: float) -> list[Flowable]:
    """Keep parts on one page where they fit on one, else each part for itself.

    Not one inside the other: ReportLab takes what is kept together for too high to fit anywhere.
    """
    if sum(each.wrap(width, page_height)[1] for part in parts for each in part) <= page_height:
        return [KeepTogether([each for part in parts for each in part])]
    return [KeepTogether(list(part)) for part in parts if part]


def ticks(sentences: Sequence[str]) -> list[Flowable]:
    """Set each sentence after a square to tick."""
    return [TickLine(sentence) for sentence in sentences]


def _square(canvas: Canvas, left: float, foot: float) -> None:
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.8)
    canvas.rect(left, foot, TICK_SIDE, TICK_SIDE)

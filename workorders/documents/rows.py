"""Ruled rows of plain text: what ReportLab's Table does with such cells, several times faster."""

from collections.abc import Sequence

from reportlab.lib.colors import Color
from reportlab.lib.enums import TA_LEFT
from reportlab.platypus import Flowable

from shop.documents.paper import INK, RULE
from workorders.documents.words import FUZZ_POINTS, Words

RIGHT_PAD, TOP_PAD, BOTTOM_PAD = 5, 0.9, 1.3
ROW_RULE: tuple[float, Color] = (0.3, RULE)
HEAD_RULE: tuple[float, Color] = (0.7, INK)

Row = Sequence[Words]


class Rows(Flowable):
    """Cells of plain text in columns of fixed widths in points, each at the top of its row.

    ``head`` rows come again on each page, ruled more strongly beneath; ``lines`` rules every row.
    A row that is longer than a page is continued on the next.
    """

    def __init__(self, rows: Sequence[Row], widths: Sequence[float], *, head: int = 0, lines: bool = True):
        super().__init__()
        if any(cell.style.alignment != TA_LEFT for row in rows for cell in row):
            raise ValueError("the cells of ruled rows are set to the left")
        self.rows, self.widths, self.head, self.lines = rows, widths, head, lines
        self.hAlign = "LEFT"

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Break every cell into lines, and take the height of the tallest in each row."""
        self.heights = [self._row_height(row) for row in self.rows]
        self.width, self.height = sum(self.widths), sum(self.heights)
        return self.width, self.height

    def _row_height(self, row: Row) -> float:
        tallest = max(
            cell.wrap(width - RIGHT_PAD, 0)[1] for cell, width in zip(row, self.widths, strict=True)
        )
        return tallest + TOP_PAD + BOTTOM_PAD

    def split(self, width: float, height: float) -> list[Flowable]:
        """Divide between two rows, or inside a row that is longer than what is left of an empty page."""
        self.wrap(width, height)
        if self.height <= height + FUZZ_POINTS:
            return [self]
        fitting, used = 0, 0.0
        while used + self.heights[fitting] <= height + FUZZ_POINTS:
            used += self.heights[fitting]
            fitting += 1
        if fitting > self.head:
            parts: tuple[Sequence[Row], Sequence[Row]] = (self.rows[:fitting], self.rows[fitting:])
        else:
            top, rest = self._split_row(self.rows[self.head], height - sum(self.heights[: self.head]))
            if not top:
                return []
            parts = ([*self.rows[: self.head], top], [rest, *self.rows[self.head + 1 :]])
        first, second = parts
        again = [*self.rows[: self.head], *second]
        return [Rows(rows, self.widths, head=self.head, lines=self.lines) for rows in (first, again)]

    def _split_row(self, row: Row, height: float) -> tuple[list[Words], list[Words]]:
        """Divide each cell at a height; both parts are empty where a cell cannot be divided there."""
        top, rest = [], []
        for cell, width in zip(row, self.widths, strict=True):
            pieces = cell.split(width - RIGHT_PAD, height - TOP_PAD - BOTTOM_PAD)
            if not pieces:
                return [], []
            top.append(pieces[0])
            rest.append(pieces[1] if len(pieces) > 1 else Words("", cell.style))
        return top, rest

    def draw(self) -> None:
        """Draw the text of all rows in one run, then the rules."""
        text = self.canv.beginText()
        above = self.height
        styled = None
        for row, row_height in zip(self.rows, self.heights, strict=True):
            left = 0.0
            for cell, width in zip(row, self.widths, strict=True):
                style = cell.style
                if style is not styled:
                    text.setFont(style.fontName, style.fontSize, style.leading)
                    text.setFillColor(style.textColor)
                    styled = style
                cell.show(text, left, above - TOP_PAD)
                left += width
            above -= row_height
        self.canv.drawText(text)
        self._draw_rules()

    def _draw_rules(self) -> None:
        below = []
        height = self.height
        for row_height in self.heights:
            height -= row_height
            below.append(height)
        strong = below[: self.head][-1:]
        for heights, (thickness, colour) in ((below if self.lines else [], ROW_RULE), (strong, HEAD_RULE)):
            if heights:
                self.canv.setLineWidth(thickness)
                self.canv.setStrokeColor(colour)
                self.canv.lines([(0, y, self.width, y) for y in heights])

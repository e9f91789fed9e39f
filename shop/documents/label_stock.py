"""Label stocks, sheets and the wired tag as data, and the printer resolutions they are drawn for.

Sizes and grids are common practice, no source; measure a sheet before printing on it.
"""

from dataclasses import dataclass

PRINTER_DPI = (203, 300)
SHEET_DPI = 300  # office printers have 300, 600 or 1200: whole multiples


@dataclass(frozen=True)
class LabelStock:
    """One label of a roll; ``margin_mm`` is what a printer may miss at the edges."""

    name: str
    width_mm: float
    height_mm: float
    margin_mm: float = 1.0


@dataclass(frozen=True)
class SheetStock:
    """A sheet of equal labels, centred on its page; the gaps lie between labels."""

    name: str
    page: str
    page_width_mm: float
    page_height_mm: float
    columns: int
    rows: int
    label: LabelStock
    column_gap_mm: float = 0.0
    row_gap_mm: float = 0.0

    @property
    def places(self) -> int:
        """Labels on one sheet."""
        return self.columns * self.rows

    def corner_mm(self, place: int) -> tuple[float, float]:
        """Return the top left corner of a place from the page's top left corner.

        Places count from 0, along the rows.
        """
        row, column = divmod(place, self.columns)
        return (
            self._edge(self.page_width_mm, self.columns, self.label.width_mm, self.column_gap_mm)
            + column * (self.label.width_mm + self.column_gap_mm),
            self._edge(self.page_height_mm, self.rows, self.label.height_mm, self.row_gap_mm)
            + row * (self.label.height_mm + self.row_gap_mm),
        )

    @staticmethod
    def _edge(page_mm: float, count: int, label_mm: float, gap_mm: float) -> float:
        return (page_mm - count * label_mm - (count - 1) * gap_mm) / 2


@dataclass(frozen=True)
class TagStock:
    """A tag that is wired to the unit through its hole."""

    name: str
    width_mm: float
    height_mm: float
    hole_mm: float
    hole_strip_mm: float
    margin_mm: float = 3.0


LABEL_STOCKS = {
    stock.name: stock
    for stock in (
        LabelStock("62x29", 62, 29),
        LabelStock("50x25", 50, 25),
    )
}
SHEET_STOCKS = {
    sheet.name: sheet
    for sheet in (
        SheetStock("A4", "A4", 210, 297, 3, 7, LabelStock("A4 label", 63.5, 38.1, 2), column_gap_mm=2.5),
        SheetStock(
            "Letter", "Letter", 215.9, 279.4, 3, 10, LabelStock("Letter label", 66.675, 25.4, 1.5), 3.175
        ),
    )
}
WIRED_TAG = TagStock("wired tag", 120, 60, hole_mm=6, hole_strip_mm=14)

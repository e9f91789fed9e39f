"""Ruled rows of plain text, checked against ReportLab's own Table."""

from html import escape

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.lib.enums import TA_CENTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph, Table

from workorders.documents.printed import plain
from workorders.documents.rows import Rows
from workorders.documents.sheet import HEAD, PLAIN_TABLE, TEXT
from workorders.documents.words import Words

WIDTHS = (60, 110, 80)
HEADS = ("Position", "Condition as found", "Action")
BODY = [
    ("S1 rod seal", "hardened, cracked at the lip over half of its round, brown film beneath", "renewed"),
    ("S2", "worn", "renewed with a seal of another material"),
    ("S3 gland seal", "no fault found", "kept"),
]


def rows_of(body=BODY, **told):
    cells = [[Words(head, HEAD) for head in HEADS], *([Words(text, TEXT) for text in row] for row in body)]
    return Rows(cells, WIDTHS, head=1, **told)


def texts(rows):
    return [
        [" ".join("".join(piece for piece, _face in line) for line in cell.lines) for cell in row]
        for row in rows.rows
    ]


def test_rows_are_as_high_and_wide_as_a_table_of_paragraphs():
    exact = {"spaceShrinkage": 0}
    head, text = ParagraphStyle("h", parent=HEAD, **exact), ParagraphStyle("t", parent=TEXT, **exact)
    cells = [[Paragraph(word, head) for word in HEADS]]
    cells += [[Paragraph(escape(word), text) for word in row] for row in BODY]
    oracle = Table(cells, colWidths=WIDTHS, style=PLAIN_TABLE)
    assert rows_of().wrap(250, 1000) == pytest.approx(oracle.wrap(250, 1000))


def test_a_break_comes_between_rows_and_the_heads_come_again():
    rows = rows_of()
    _width, height = rows.wrap(250, 1000)
    first, second = rows.split(250, height - 1)
    for part in (first, second):
        part.wrap(250, 1000)
    assert texts(first) == texts(rows)[:3]
    assert texts(second) == [texts(rows)[0], texts(rows)[3]]
    assert first.height + second.height == pytest.approx(height + second.heights[0])


def test_rows_that_fit_are_not_divided_and_a_page_without_room_takes_none():
    rows = rows_of()
    _width, height = rows.wrap(250, 1000)
    assert rows.split(250, height) == [rows]
    assert rows.split(250, rows.heights[0] + 3) == []


def test_a_row_longer_than_a_page_is_continued_and_nothing_of_it_is_lost():
    long = "seen " * 200
    rows = rows_of([("S1", plain(long), "renewed")])
    rest, pages = rows, []
    while rest:
        rest.wrap(250, 100)
        first, *more = rest.split(250, 100)
        first.wrap(250, 100)
        assert first.height <= 100
        pages.append(first)
        rest = more[0] if more else None
    assert len(pages) > 3
    assert " ".join(texts(page)[1][1] for page in pages).split() == long.split()
    assert [texts(page)[1][0] for page in pages][:2] == ["S1", ""]


SIGNS = "abcde fghi klmno WW. "
LINES = st.text(SIGNS, min_size=0, max_size=160)


def cut(part, height):
    """Divide at a height again and again, as pages would; a part that does not fit gets a page of 100."""
    pieces = []
    while part:
        part.wrap(250, height)
        if part.height <= height:
            return [*pieces, part]
        parts = part.split(250, height)
        if not parts:
            height = 100
            continue
        first, *rest = parts
        first.wrap(250, height)
        assert first.height <= height + 1e-6
        pieces.append(first)
        part, height = (rest[0] if rest else None), 100
    return pieces


@settings(max_examples=60, deadline=None)
@given(body=st.lists(st.tuples(LINES, LINES, LINES), min_size=1, max_size=5), height=st.integers(1, 99))
def test_rows_of_any_text_divide_at_any_height_without_losing_a_line(body, height):
    rows = rows_of(body)
    rows.wrap(250, 100)
    pieces = cut(rows, height)
    for column in range(3):
        found = "".join(row[column] for piece in pieces for row in texts(piece)[1:])
        # Without spaces, since a word wider than its column is broken inside.
        assert "".join(found.split()) == "".join("".join(row[column] for row in body).split())


def words_of(table):
    """What stands in the first cell: ReportLab keeps it alone or in a tuple."""
    cell = table._cellvalues[0][0]
    return list(cell) if isinstance(cell, (list, tuple)) else [cell]


@settings(max_examples=40, deadline=None)
@given(words=LINES, height=st.integers(1, 99))
def test_a_table_of_reportlab_divides_any_cell_at_any_height(words, height):
    """Its cells are wrapped inside their padding and divided without."""
    table = Table([[Words(words, TEXT), "a\n" * 7]], colWidths=[70, 50], style=PLAIN_TABLE, splitInRow=1)
    table.wrap(250, 1000)
    lines = [line for cell in words_of(table) for line in cell.lines if line]
    parts = table.split(250, height)
    assert len(parts) <= 2
    cells = [cell for part in parts for cell in words_of(part)]
    for cell in cells:
        cell.wrap(70 - 5, 1000)
    if parts:
        assert [line for cell in cells for line in cell.lines if line] == lines


def test_a_centred_cell_is_refused():
    with pytest.raises(ValueError, match="to the left"):
        Rows([[Words("x", ParagraphStyle("c", parent=TEXT, alignment=TA_CENTER))]], [50])

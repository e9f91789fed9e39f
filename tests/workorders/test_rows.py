"""Ruled rows of plain text, checked against ReportLab's own Table."""

from html import escape

import pytest
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


def test_a_centred_cell_is_refused():
    with pytest.raises(ValueError, match="to the left"):
        Rows([[Words("x", ParagraphStyle("c", parent=TEXT, alignment=TA_CENTER))]], [50])

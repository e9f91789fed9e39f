"""Text in lines, checked against ReportLab's own Paragraph."""

import random
from html import escape

import pytest
from reportlab.lib.enums import TA_JUSTIFY
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Paragraph, Table

from shop.documents.paper import BODY, STRONG
from workorders.documents.printed import plain
from workorders.documents.sheet import NAME, PLAIN_TABLE, TEXT
from workorders.documents.words import Words, broken, strong

# Paragraph lets a line run over by a part of its spaces, for text justified to both margins.
EXACT = {"spaceShrinkage": 0, "splitLongWords": 1}
TEXT_WITH_SIGNS = "rod seal renewed at S1, lot L26-0001; 7.3 bar ± 0.02 bar – held 120 s across großes Öl Ø12"
WORDS = TEXT_WITH_SIGNS.split()


def texts(lines):
    return tuple("".join(piece for piece, _face in line) for line in lines)


def lines_of(text, width, face=BODY, size=7.4):
    return texts(broken(((text, face),), size, width))


def lines_of_paragraph(text, style, width):
    paragraph = Paragraph(escape(text), style)
    paragraph.wrap(width, 1000)
    return tuple(" ".join(line[1]) for line in paragraph.blPara.lines)


@pytest.mark.parametrize("face", [BODY, STRONG])
@pytest.mark.parametrize("seed", range(12))
def test_lines_break_where_paragraph_breaks_them(face, seed):
    dice = random.Random(seed)
    style = ParagraphStyle("any", fontName=face, fontSize=dice.choice([6.2, 7.4, 9.5]), **EXACT)
    text = " ".join(dice.choices(WORDS, k=dice.randint(1, 40)))
    width = dice.uniform(40, 400)
    assert lines_of(plain(text), width, face, style.fontSize) == lines_of_paragraph(text, style, width)


def test_a_word_longer_than_its_line_is_broken_inside_and_nothing_of_it_is_lost():
    digest = "c0ffee" * 12
    lines = lines_of(digest, 60)
    assert "".join(lines) == digest
    assert len(lines) > 1
    assert all(stringWidth(line, BODY, 7.4) <= 60 for line in lines)
    assert lines_of("ab", 0.1) == ("a", "b")


def test_a_line_break_in_the_text_begins_a_line_and_an_empty_line_keeps_its_room():
    assert lines_of("one\n\ntwo three", 400) == ("one", "", "two three")


def test_a_strong_piece_keeps_to_the_sign_after_it_and_lines_are_measured_in_both_faces():
    run = ["see ", strong("Stored pressure"), ": let it down first, ", strong("Springs"), ": hold them"]
    words = Words(run, TEXT)
    words.wrap(70, 1000)
    assert " ".join(texts(words.lines)) == "see Stored pressure: let it down first, Springs: hold them"
    for line in words.lines:
        assert sum(stringWidth(piece, face, TEXT.fontSize) for piece, face in line) <= 70
    faces = {piece.strip(" :,"): face for line in words.lines for piece, face in line}
    assert faces["Springs"] == STRONG
    assert not any(line[0][0].startswith(":") for line in words.lines)


def test_the_height_is_that_of_paragraph():
    text = " ".join(WORDS * 4)
    exact = ParagraphStyle("exact", parent=TEXT, **EXACT)
    assert Words(plain(text), TEXT).wrap(90, 1000) == Paragraph(escape(text), exact).wrap(90, 1000)
    hanging = ParagraphStyle("hanging", parent=exact, leftIndent=9)
    bulleted = Words(plain(text), TEXT, bullet="–", indent=9)
    assert bulleted.wrap(90, 1000) == Paragraph(escape(text), hanging, bulletText="–").wrap(90, 1000)


@pytest.mark.parametrize("run", [[plain(" ".join(WORDS * 3))], [strong("Springs"), ": hold\nthem " * 9]])
def test_a_split_keeps_every_line_and_leaves_no_first_line_alone(run):
    words = Words(run, TEXT, bullet="1.", indent=14)
    _width, height = words.wrap(100, 1000)
    whole = words.lines
    first, second = words.split(100, height - TEXT.leading)
    for part in (first, second):
        part.wrap(100, 1000)
    assert (*first.lines, *second.lines) == whole
    assert (first.bullet, second.bullet) == ("1.", "")
    assert words.split(100, height) == [words]
    assert words.split(100, TEXT.leading * 1.5) == []


def test_a_style_that_asks_for_more_is_refused():
    with pytest.raises(ValueError, match="not left or centred"):
        Words("text", ParagraphStyle("justified", parent=NAME, alignment=TA_JUSTIFY))
    with pytest.raises(ValueError, match="without indents"):
        Words("text", ParagraphStyle("hanging", parent=NAME, leftIndent=9))


@pytest.mark.parametrize("room", [11, 15, 19, 23, 27, 31])
def test_a_table_divides_a_cell_whose_lines_are_fewer_without_the_padding(room):
    text = "GXWAWK07F Q"
    table = Table(
        [[Words(text, TEXT), "a\n" * 9]], colWidths=[stringWidth(text, BODY, TEXT.fontSize) + 2, 50]
    )
    table.setStyle([*PLAIN_TABLE])
    table.splitInRow = 1
    assert table.wrap(400, 400)[1] > room
    parts = table.split(400, room)
    assert len(parts) in (0, 2)

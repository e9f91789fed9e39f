"""Plain text in lines, checked against ReportLab's own Paragraph."""

import random

import pytest
from reportlab.lib.enums import TA_JUSTIFY
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Paragraph

from shop.documents.paper import BODY, STRONG
from workorders.documents.printed import markup, plain
from workorders.documents.sheet import NAME, TEXT
from workorders.documents.words import Words, broken

# Paragraph lets a line run over by a part of its spaces, for text justified to both margins.
EXACT = {"spaceShrinkage": 0, "splitLongWords": 1}
TEXT_WITH_SIGNS = "rod seal renewed at S1, lot L26-0001; 7.3 bar ± 0.02 bar – held 120 s across großes Öl Ø12"
WORDS = TEXT_WITH_SIGNS.split()


def lines_of_paragraph(text, style, width):
    paragraph = Paragraph(markup(text), style)
    paragraph.wrap(width, 1000)
    return tuple(" ".join(line[1]) for line in paragraph.blPara.lines)


@pytest.mark.parametrize("face", [BODY, STRONG])
@pytest.mark.parametrize("seed", range(12))
def test_lines_break_where_paragraph_breaks_them(face, seed):
    dice = random.Random(seed)
    style = ParagraphStyle("any", fontName=face, fontSize=dice.choice([6.2, 7.4, 9.5]), **EXACT)
    text = " ".join(dice.choices(WORDS, k=dice.randint(1, 40)))
    width = dice.uniform(40, 400)
    assert broken(plain(text), face, style.fontSize, width) == lines_of_paragraph(text, style, width)


def test_a_word_longer_than_its_line_is_broken_inside_and_nothing_of_it_is_lost():
    digest = "c0ffee" * 12
    lines = broken(digest, BODY, 7.4, 60)
    assert "".join(lines) == digest
    assert len(lines) > 1
    assert all(stringWidth(line, BODY, 7.4) <= 60 for line in lines)
    assert broken("ab", BODY, 7.4, 0.1) == ("a", "b")


def test_a_line_break_in_the_text_begins_a_line_and_an_empty_line_keeps_its_room():
    assert broken("one\n\ntwo three", BODY, 7.4, 400) == ("one", "", "two three")


def test_the_height_is_that_of_paragraph():
    text = " ".join(WORDS * 4)
    exact = ParagraphStyle("exact", parent=TEXT, **EXACT)
    assert Words(plain(text), TEXT).wrap(90, 1000) == Paragraph(markup(text), exact).wrap(90, 1000)


def test_a_split_keeps_every_line_and_leaves_no_first_line_alone():
    words = Words(plain(" ".join(WORDS * 3)), TEXT)
    _width, height = words.wrap(100, 1000)
    whole = words.lines
    first, second = words.split(100, height - TEXT.leading)
    for part in (first, second):
        part.wrap(100, 1000)
    assert (*first.lines, *second.lines) == whole
    assert words.split(100, height) == [words]
    assert words.split(100, TEXT.leading * 1.5) == []


def test_a_style_that_asks_for_more_is_refused():
    with pytest.raises(ValueError, match="not left or centred"):
        Words("text", ParagraphStyle("justified", parent=NAME, alignment=TA_JUSTIFY))
    with pytest.raises(ValueError, match="without indents"):
        Words("text", ParagraphStyle("hanging", parent=NAME, leftIndent=9))

"""Test sheets of random plans: nothing is lost, nothing stands outside the page, nothing crashes."""

from dataclasses import replace

import pypdfium2
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from reportlab.lib.units import mm

from shop.documents.paper import page_size_points
from tests.workorders.pdf_reading import pages_of, symbols_of
from tests.workorders.sheet_samples import BLANK, BLANK_STEPS, FILLED, FILLED_STEPS, reading
from workorders.documents.blank_sheet import BlankStep, StepBoxes, WriteGroup, blank_sheet_pdf
from workorders.documents.filled_sheet import SheetStep, filled_sheet_pdf
from workorders.documents.sheet import BOTTOM_MM, TOP_MM
from workorders.documents.writing import WRITING_HEIGHT, BoxRow, TickLine, WriteBox

LETTERS = "abcdefghiklmnoprstuvwxyzABCDEW0123456789äößéøµ°±≤≥"
WORDS = st.text(LETTERS, min_size=1, max_size=14)
LONG = st.text(LETTERS, min_size=1, max_size=90)


def text(most_words, largest):
    """Words of any length, one of them longer than a line now and then; cut to what a field takes."""
    words = st.lists(st.one_of(WORDS, WORDS, WORDS, LONG), min_size=1, max_size=most_words)
    return words.map(lambda found: " ".join(found)[:largest].strip())


BOXES = st.builds(WriteBox, label=text(4, 60), choices=st.lists(text(3, 40), max_size=4).map(tuple))
GROUPS = st.builds(
    WriteGroup,
    title=text(6, 60),
    limit=text(4, 60),
    basis=text(30, 300),
    boxes=st.lists(BOXES, min_size=1, max_size=7).map(tuple),
    instrument=st.booleans(),
    optional=st.booleans(),
)
BLANKS = st.builds(
    BlankStep,
    number=st.integers(1, 99),
    title=text(12, 120),
    what=text(8, 100),
    boxes=st.builds(
        StepBoxes,
        start=st.lists(BOXES, max_size=4).map(tuple),
        groups=st.lists(GROUPS, max_size=4).map(tuple),
    ),
    instruction=st.one_of(st.just(""), text(40, 400), text(40, 400).map(lambda told: " ".join([told] * 25))),
    raised=st.one_of(st.just(""), text(20, 200)),
    confirm=st.lists(text(20, 160), max_size=4).map(tuple),
)
READINGS = st.builds(
    reading,
    label=text(6, 60),
    value=WORDS,
    unit=WORDS.map(lambda word: word[:12]),
    limit=text(4, 60),
    verdict=st.sampled_from(["passes", "fails", "not decided", "invalid"]),
    arithmetic=text(50, 400),
)
FILLEDS = st.builds(
    SheetStep,
    number=st.integers(1, 99),
    title=text(12, 120),
    what=text(8, 100),
    verdict=st.sampled_from(["", "passes", "fails", "not decided"]),
    readings=st.lists(READINGS, max_size=5).map(tuple),
    note=st.one_of(st.just(""), text(40, 400).map(lambda told: " ".join([told] * 12))),
)
FEW = settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))


def bodies(pdf):
    """What stands between the rules of every page, without spaces: lines end where the layout likes."""
    found = []
    for page in pypdfium2.PdfDocument(pdf):
        width, height = page.get_size()
        part = page.get_textpage().get_text_bounded(0, BOTTOM_MM * mm - 3, width, height - TOP_MM * mm + 3)
        found.append("".join(part.replace("\x02", "").replace("￾", "").split()))
    return "".join(found)


def lost(pdf, texts):
    printed = bodies(pdf)
    return [each for each in texts if "".join(each.split()) not in printed]


def outside(pdf, size):
    """Characters that stand outside the page less 4 mm, which no printer reaches."""
    width, height = page_size_points(size)
    edge, found = 4 * mm, []
    for page in pypdfium2.PdfDocument(pdf):
        told = page.get_textpage()
        for at in range(told.count_chars()):
            left, bottom, right, top = told.get_charbox(at)
            inside = left >= edge and right <= width - edge and bottom >= edge and top <= height - edge
            if right > left and not inside:
                found.append(told.get_text_range(at, 1))
    return found


@FEW
@given(steps=st.lists(BLANKS, max_size=4), size=st.sampled_from(["A4", "Letter"]))
def test_a_blank_sheet_of_any_plan_loses_nothing_and_stays_on_its_pages(steps, size):
    pdf = blank_sheet_pdf(replace(BLANK, steps=tuple(steps)), page_size=size)
    texts = [each for step in steps for each in (step.title, step.what, step.instruction, step.raised)]
    texts += [each for step in steps for each in step.confirm]
    groups = [group for step in steps for group in step.boxes.groups]
    texts += [each for group in groups for each in (f"{group.title}: {group.limit}", group.basis)]
    assert lost(pdf, texts) == []
    boxes = [box for step in steps for box in step.boxes.start] + [
        box for each in groups for box in each.boxes
    ]
    labels = [word for box in boxes for word in box.label.split()]
    choices = [word for box in boxes for each in box.choices for word in each.split()]
    assert lost(pdf, [word for word in (*labels, *choices) if len(word) < 5]) == []
    assert outside(pdf, size) == []


@FEW
@given(steps=st.lists(FILLEDS, max_size=4), size=st.sampled_from(["A4", "Letter"]))
def test_a_filled_sheet_of_any_test_loses_nothing_and_stays_on_its_pages(steps, size):
    pdf = filled_sheet_pdf(replace(FILLED, steps=tuple(steps)), page_size=size)
    texts = [each for step in steps for each in (step.title, step.what, step.note)]
    readings = [each for step in steps for each in step.readings]
    texts += [each for row in readings for each in (f"{row.row.label}: {row.arithmetic}", row.basis)]
    assert lost(pdf, texts) == []
    words = [word for row in readings for word in f"{row.row.limit} {row.row.value}".split()]
    assert lost(pdf, [word for word in words if len(word) < 6]) == []
    assert outside(pdf, size) == []


def test_sixty_steps_are_all_printed_and_every_page_is_counted():
    steps = tuple(
        replace(BLANK_STEPS[at % 3], number=at + 1, title=f"Step called {at + 1}") for at in range(60)
    )
    pages = pages_of(blank_sheet_pdf(replace(BLANK, steps=steps)))
    whole = " ".join(pages)
    assert [at for at in range(1, 61) if f"Step called {at}" not in whole] == []
    assert all(f"page {at} of {len(pages)}" in page for at, page in enumerate(pages, 1))


def test_a_step_that_fits_on_a_page_is_not_torn():
    steps = tuple(replace(BLANK_STEPS[1], number=at + 1, title=f"Step called {at + 1}") for at in range(8))
    for page in pages_of(blank_sheet_pdf(replace(BLANK, steps=steps))):
        assert page.count("Step called") == page.count("drips: at most 0 drips")


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_the_signature_is_never_alone_wherever_a_page_ends(size):
    counts = set()
    for files in range(0, 90, 3):
        unused = tuple(f"try-{number}.csv" for number in range(files))
        pages = pages_of(filled_sheet_pdf(replace(FILLED, unused_files=unused), page_size=size))
        counts.add(len(pages))
        assert [word in pages[-1] for word in ("How to compute it again", "Signed by", "End of")] == [
            True
        ] * 3
    assert len(counts) > 1, "the end of the paper met no end of a page"


def test_boxes_have_room_for_a_line_of_handwriting():
    """At least 8 mm, which a gloved hand writes in (common practice, no source)."""
    row = BoxRow([(WriteBox(label="Pressure at the start, bar"), 1.0), (WriteBox(label="On"), 3.0)])
    _width, height = row.wrap(400, 1000)
    label = row.cells[0].label.height
    assert 8 * mm <= WRITING_HEIGHT
    assert height - label >= 8 * mm
    assert row.cells[1].width == pytest.approx(300)


@settings(max_examples=100, deadline=None)
@given(boxes=st.lists(BOXES, min_size=1, max_size=6), width=st.integers(360, 520))
def test_what_stands_in_a_box_stays_in_it_and_apart(boxes, width):
    row = BoxRow([(box, 1.0) for box in boxes])
    row.wrap(width, 1000)
    for cell in row.cells:
        assert cell.label.natural_width <= cell.width or len(cell.label.lines) > 1
        foot = cell.label.height
        for across, below, words in cell.choices:
            assert across + TickLine.indent + words.width <= cell.width
            foot = max(foot, below + words.height)
        assert foot <= cell.height <= row.height


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_the_same_data_give_the_same_bytes_and_another_value_others(size):
    blank, filled = blank_sheet_pdf(BLANK, page_size=size), filled_sheet_pdf(FILLED, page_size=size)
    assert (blank_sheet_pdf(BLANK, page_size=size), filled_sheet_pdf(FILLED, page_size=size)) == (
        blank,
        filled,
    )
    other = replace(FILLED_STEPS[0], note="wet at the gland")
    assert filled_sheet_pdf(replace(FILLED, steps=(other, *FILLED_STEPS[1:])), page_size=size) != filled
    assert symbols_of(blank, dpi=300) == symbols_of(filled, dpi=300) == [BLANK.address]


def test_a_page_size_that_is_not_sold_is_refused():
    with pytest.raises(ValueError, match="page size"):
        blank_sheet_pdf(BLANK, page_size="A3")

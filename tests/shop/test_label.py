"""Labels, sheets of labels and wired tags as printed: sizes, symbol, texts, bytes."""

import random
from io import BytesIO

import numpy as np
import pytest
from pypdf import PdfReader

from shop.documents import paper, qr
from shop.documents.drawing import Box, Code, Ring, Text, dots, text_rise, text_width
from shop.documents.label import (
    LABEL_STOCKS,
    PRINTER_DPI,
    SHEET_STOCKS,
    WIRED_TAG,
    Label,
    LabelError,
    label_pdf,
    label_png,
    longest_address,
    sheet_pdf,
    tag_pdf,
    tag_png,
)
from shop.documents.label_layout import TAG_HINT, lay_out, lay_out_tag
from tests.shop.scanning import decode, located, opened, rendered

SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
BASE = "HTTPS://SVC.EXAMPLE/U/"
LONG_LINES = (
    "Telescopic gangway slewing cylinder with end cushioning, left-hand port block and switch bracket",
    "WO-2041",
    "received 2025-03-04",
)
SHORT_LINES = ("Latch cylinder", "WO-2041", "received 2025-03-04")
STOCKS = [(LABEL_STOCKS[name], dpi) for name in LABEL_STOCKS for dpi in PRINTER_DPI]
STOCKS += [(sheet.label, 300) for sheet in SHEET_STOCKS.values()]


def make_label(seed=1, lines=SHORT_LINES, base=BASE):
    rng = random.Random(seed)
    serial = "".join(rng.choice(SIGNS) for _ in range(9))
    return Label(address=base + serial, big=f"{serial[:3]} {serial[3:6]} {serial[6:]}", lines=lines)


def longest_label(stock, dpi, lines=LONG_LINES):
    """A label with the longest address that the stock takes."""
    rest = longest_address(stock, dpi=dpi) - len("HTTPS:///U/") - 9
    return make_label(base=f"HTTPS://{'A' * rest}/U/", lines=lines)


def all_layouts():
    for stock, dpi in STOCKS:
        for label in (
            make_label(),
            make_label(lines=LONG_LINES),
            longest_label(stock, dpi),
            make_label(lines=()),
        ):
            yield label, lay_out(label, stock, dpi=dpi), dots(stock.margin_mm, dpi)
    for dpi in PRINTER_DPI:
        for label in (make_label(), longest_label(LABEL_STOCKS["62x29"], 203), make_label(lines=())):
            yield label, lay_out_tag(label, WIRED_TAG, dpi=dpi), dots(1, dpi)


def extent(item):
    """Left, top, right and bottom of an item's ink, in dots; of a symbol with its quiet zone."""
    if isinstance(item, Code):
        side = item.symbol.modules_with_quiet_zone * item.module_dots
        return item.left, item.top, item.left + side, item.top + side
    if isinstance(item, Text):
        rise, fall = text_rise(item.text, item.face, item.size)
        right = item.left + text_width(item.text, item.face, item.size)
        return item.left, item.baseline - rise, right, item.baseline + fall
    if isinstance(item, Ring):
        return item.left, item.top, item.left + item.diameter, item.top + item.diameter
    return item.left, item.top, item.left + item.width, item.top + item.height


def page_sizes_mm(pdf_bytes):
    boxes = [page.mediabox for page in PdfReader(BytesIO(pdf_bytes)).pages]
    return [tuple(float(side) * 25.4 / 72 for side in (box.width, box.height)) for box in boxes]


def page_text(pdf_bytes, page=0):
    return " ".join(PdfReader(BytesIO(pdf_bytes)).pages[page].extract_text().split())


def test_nothing_reaches_past_the_margin_and_no_two_parts_meet():
    for label, drawing, margin in all_layouts():
        width, height = dots(drawing.width_mm, drawing.dpi), dots(drawing.height_mm, drawing.dpi)
        extents = [(item, extent(item)) for item in drawing.items]
        for item, (left, top, right, bottom) in extents:
            inside = (
                left >= margin and top >= margin and right <= width - margin and bottom <= height - margin
            )
            assert inside, (label, drawing.title, drawing.width_mm, item)
        for at, (one, (left, top, right, bottom)) in enumerate(extents):
            for other, (left2, top2, right2, bottom2) in extents[at + 1 :]:
                apart = right <= left2 or right2 <= left or bottom <= top2 or bottom2 <= top
                both_boxes = isinstance(one, Box) and isinstance(other, Box)  # neighbours share a line
                assert apart or both_boxes, (drawing.title, drawing.width_mm, drawing.dpi, one, other)


def test_the_serial_is_never_cut_and_is_the_largest_text():
    for label, drawing, _ in all_layouts():
        texts = [item for item in drawing.items if isinstance(item, Text)]
        signs = [item for item in texts if item.face == paper.CODE]
        joined = "".join(item.text for item in signs).replace(" ", "")
        assert joined == label.big.replace(" ", "")
        others = [item.size for item in texts if item.face != paper.CODE]
        assert all(size < sign.size for sign in signs for size in others)
        # Capitals of 2.3 mm are read at arm's length: common practice, no source.
        assert min(sign.size for sign in signs) * 0.73 * 25.4 / drawing.dpi > 2.3


@pytest.mark.parametrize("dpi", PRINTER_DPI)
def test_the_png_of_many_labels_is_read_as_its_own_address(dpi):
    for seed in range(200):
        label = make_label(seed)
        assert decode(opened(label_png(label, LABEL_STOCKS["50x25"], dpi=dpi))) == {label.address}


def measured_symbol(image):
    """Where the decoder sees the symbol, taken to its ink: left, top, width and height in dots."""
    corners = located(image)
    left, top = min(x for x, _ in corners) - 3, min(y for _, y in corners) - 3
    right, bottom = max(x for x, _ in corners) + 4, max(y for _, y in corners) + 4
    ink = ~np.asarray(image)[top:bottom, left:right]
    columns, rows = np.flatnonzero(ink.any(axis=0)), np.flatnonzero(ink.any(axis=1))
    return left + columns[0], top + rows[0], np.ptp(columns) + 1, np.ptp(rows) + 1


@pytest.mark.parametrize("dpi", PRINTER_DPI)
@pytest.mark.parametrize("name", LABEL_STOCKS)
def test_every_module_on_a_label_is_the_same_whole_number_of_dots(name, dpi):
    for label in (make_label(3), longest_label(LABEL_STOCKS[name], dpi)):
        image = opened(label_png(label, LABEL_STOCKS[name], dpi=dpi))
        assert image.mode == "1"
        dark = ~np.asarray(image)
        left, top, side, height = measured_symbol(image)
        assert side == height
        modules = qr.symbol(label.address, 4).modules
        module, rest = divmod(side, modules)
        assert rest == 0
        assert module >= 4
        inside = dark[top : top + side, left : left + side]
        small = inside[::module, ::module]
        assert np.array_equal(np.kron(small, np.ones((module, module), bool)), inside)
        quiet = 4 * module
        assert min(left, top) >= quiet
        around = dark[top - quiet : top + side + quiet, left - quiet : left + side + quiet]
        assert around.shape == (side + 2 * quiet,) * 2
        assert around.sum() == inside.sum()


@pytest.mark.parametrize(
    ("name", "dpi", "size"),
    # 203 dpi is 8 dots per mm in the trade (203.2), so these are whole millimetres times 8.
    [
        ("50x25", 203, (400, 200)),
        ("62x29", 203, (496, 232)),
        ("50x25", 300, (591, 295)),
        ("62x29", 300, (732, 343)),
    ],
)
def test_a_label_png_has_the_dots_of_its_printer_and_says_so(name, dpi, size):
    for png in (label_png(make_label(), LABEL_STOCKS[name], dpi=dpi), tag_png(make_label(), dpi=dpi)):
        # PNG specification 11.3.5.3: pHYs counts pixels per metre.
        assert opened(png).info["dpi"] == pytest.approx((dpi, dpi), abs=0.02)
    assert opened(label_png(make_label(), LABEL_STOCKS[name], dpi=dpi)).size == size


@pytest.mark.parametrize("dpi", PRINTER_DPI)
@pytest.mark.parametrize("name", LABEL_STOCKS)
def test_a_label_pdf_has_exact_size_one_page_each_and_reads_back(name, dpi):
    stock = LABEL_STOCKS[name]
    labels = [make_label(seed) for seed in range(3)]
    pdf = label_pdf(labels, stock, dpi=dpi)
    assert page_sizes_mm(pdf) == [pytest.approx((stock.width_mm, stock.height_mm), abs=0.001)] * 3
    for page, label in enumerate(labels):
        assert decode(rendered(pdf, 300, page)) == {label.address}
        text = page_text(pdf, page)
        assert all(part in text for part in (label.big, *label.lines))


@pytest.mark.parametrize("dpi", PRINTER_DPI)
def test_a_pdf_rendered_at_the_printers_resolution_has_the_modules_of_the_png(dpi):
    label, stock = make_label(5), LABEL_STOCKS["50x25"]
    code = next(item for item in lay_out(label, stock, dpi=dpi).items if isinstance(item, Code))
    side = code.symbol.modules_with_quiet_zone * code.module_dots
    area = np.s_[code.top : code.top + side, code.left : code.left + side]
    page = rendered(label_pdf([label], stock, dpi=dpi), dpi)
    printed = np.asarray(opened(label_png(label, stock, dpi=dpi)))
    differing = (page[area] > 127) != printed[area]
    # The page is a fraction of a dot shorter than whole dots, so an edge may fall next to its dot.
    assert differing.mean() < 0.02
    assert decode(page) == {label.address}


@pytest.mark.parametrize(
    ("name", "size_mm", "places"), [("A4", (210, 297), 21), ("Letter", (215.9, 279.4), 30)]
)
def test_a_sheet_starts_at_the_place_asked_for_and_goes_on_to_the_next_sheet(name, size_mm, places):
    sheet = SHEET_STOCKS[name]
    assert sheet.places == places
    labels = [make_label(seed) for seed in range(places)]
    pdf = sheet_pdf(labels, sheet, start=places - 1)
    assert page_sizes_mm(pdf) == [pytest.approx(size_mm, abs=0.001)] * 2
    assert decode(rendered(pdf, 300, 0)) == {label.address for label in labels[:2]}
    assert decode(rendered(pdf, 300, 1)) == {label.address for label in labels[2:]}
    assert labels[0].big in page_text(pdf, 0)
    assert len(page_sizes_mm(sheet_pdf(labels, sheet))) == 1
    assert len(page_sizes_mm(sheet_pdf(labels[:1], sheet, start=places))) == 1


@pytest.mark.parametrize("name", SHEET_STOCKS)
def test_every_label_of_a_sheet_lies_inside_its_place_on_the_page(name):
    sheet = SHEET_STOCKS[name]
    pixels_per_mm = 300 / 25.4
    covered = np.zeros_like(rendered(sheet_pdf([make_label(1)], sheet), 300), dtype=bool)
    for place in range(sheet.places):
        page = rendered(sheet_pdf([make_label(place, LONG_LINES)], sheet, start=place + 1), 300) < 128
        left, top = sheet.corner_mm(place)
        box = [left, left + sheet.label.width_mm, top, top + sheet.label.height_mm]
        assert box[0] >= 4
        assert box[1] <= sheet.page_width_mm - 4
        assert box[2] >= 4
        assert box[3] <= sheet.page_height_mm - 4
        x0, x1, y0, y1 = (round(edge * pixels_per_mm) for edge in box)
        assert page[y0:y1, x0:x1].sum() == page.sum() > 0
        assert not (covered & page).any()
        covered |= page


@pytest.mark.parametrize("start", [0, 22, -1])
def test_a_place_that_a_sheet_does_not_have_is_refused(start):
    with pytest.raises(LabelError, match="places 1 to 21"):
        sheet_pdf([make_label()], SHEET_STOCKS["A4"], start=start)


def test_printing_nothing_is_refused():
    for make in (
        lambda: label_pdf([], LABEL_STOCKS["50x25"], dpi=203),
        lambda: tag_pdf([], dpi=203),
        lambda: sheet_pdf([], SHEET_STOCKS["A4"]),
    ):
        with pytest.raises(LabelError, match="nothing to print"):
            make()


@pytest.mark.parametrize("dpi", PRINTER_DPI)
def test_a_wired_tag_has_a_hole_mark_large_signs_and_a_blank_box_below_each(dpi):
    label = make_label(7, lines=LONG_LINES)
    drawing = lay_out_tag(label, WIRED_TAG, dpi=dpi)
    (ring,) = [item for item in drawing.items if isinstance(item, Ring)]
    assert ring.diameter * 25.4 / dpi == pytest.approx(6, abs=0.1)
    signs = [item for item in drawing.items if isinstance(item, Text) and item.face == paper.CODE]
    boxes = [item for item in drawing.items if isinstance(item, Box)]
    assert len(signs) == len(boxes) == 9
    dark = ~np.asarray(opened(tag_png(label, dpi=dpi)))
    for sign, box in zip(signs, boxes, strict=True):
        assert text_rise(sign.text, sign.face, sign.size)[0] * 25.4 / dpi > 9
        middle = sign.left + text_width(sign.text, sign.face, sign.size) / 2
        assert abs(middle - box.left - box.width / 2) <= 3
        assert sign.baseline < box.top
        # Letter stamps of 8 mm fit: common practice, no source.
        assert min(box.width, box.height) * 25.4 / dpi - 1 > 8
        inside = np.s_[box.top + box.line : box.top + box.height - box.line]
        assert not dark[inside, box.left + box.line : box.left + box.width - box.line].any()


@pytest.mark.parametrize("dpi", PRINTER_DPI)
def test_wired_tags_have_exact_size_and_read_back(dpi):
    labels = [make_label(seed, LONG_LINES) for seed in range(2)]
    pdf = tag_pdf(labels, dpi=dpi)
    assert page_sizes_mm(pdf) == [pytest.approx((120, 60), abs=0.001)] * 2
    for page, label in enumerate(labels):
        assert decode(rendered(pdf, 300, page)) == {label.address}
        assert decode(opened(tag_png(label, dpi=dpi))) == {label.address}
        assert TAG_HINT in page_text(pdf, page)
        signs = page_text(pdf, page).replace(" ", "")
        assert label.big.replace(" ", "") in signs


def printed_lines(label, stock, dpi):
    items = lay_out(label, stock, dpi=dpi).items
    return [item for item in items if isinstance(item, Text) and item.face != paper.CODE]


def test_lines_shrink_before_they_wrap_and_wrap_before_they_are_shortened():
    stock, dpi = LABEL_STOCKS["62x29"], 300
    short = printed_lines(make_label(lines=("Latch cylinder",)), stock, dpi)
    shrunk = printed_lines(make_label(lines=("Latch cylinder, right-hand",)), stock, dpi)
    wrapped = printed_lines(make_label(lines=("Latch cylinder, right-hand, with ports",)), stock, dpi)
    cut = printed_lines(make_label(lines=("Latch cylinder " * 40,)), stock, dpi)
    assert [len(short), len(shrunk), len(wrapped)] == [1, 1, 2]
    assert short[0].size > shrunk[0].size
    assert " ".join(line.text for line in wrapped) == "Latch cylinder, right-hand, with ports"
    assert cut[-1].text.endswith("…")
    assert not any("…" in line.text for line in cut[:-1])
    assert cut[-1].size == dots(2.1, dpi)


def test_a_long_first_line_leaves_the_others_whole():
    for stock, dpi in STOCKS:
        texts = [line.text for line in printed_lines(longest_label(stock, dpi), stock, dpi)]
        assert texts[-2:] == list(LONG_LINES[1:])


def test_a_word_without_spaces_is_broken_and_not_lost():
    word = "VERYLONGCATALOGUECODEWITHOUTANYSPACE-4711"
    texts = [line.text for line in printed_lines(make_label(lines=(word,)), LABEL_STOCKS["50x25"], 203)]
    assert len(texts) > 1
    assert "".join(texts) == word


def test_what_cannot_be_printed_whole_is_refused():
    stock = LABEL_STOCKS["50x25"]
    with pytest.raises(LabelError, match="is too long to print on this label"):
        lay_out(Label(address=BASE + "1", big="X" * 200), stock, dpi=203)
    with pytest.raises(LabelError, match="too many for this label"):
        lay_out(make_label(lines=tuple("abcdefghijklmnop")), stock, dpi=203)
    with pytest.raises(LabelError, match="too long to stamp into boxes"):
        lay_out_tag(Label(address=BASE + "1", big="X" * 40), WIRED_TAG, dpi=203)
    with pytest.raises(LabelError, match="outside alphanumeric mode"):
        lay_out(Label(address="https://svc.example/u/1", big="1"), stock, dpi=203)


@pytest.mark.parametrize(("stock", "dpi"), STOCKS)
def test_the_longest_address_fits_and_one_more_character_is_refused(stock, dpi):
    longest = longest_address(stock, dpi=dpi)
    code = next(
        item for item in lay_out(longest_label(stock, dpi), stock, dpi=dpi).items if isinstance(item, Code)
    )
    assert code.module_dots == 4
    too_long = Label(address="A" * (longest + 1), big="1")
    with pytest.raises(LabelError, match=f"takes {longest} at most"):
        lay_out(too_long, stock, dpi=dpi)


def test_the_same_label_gives_the_same_bytes():
    label, stock = make_label(2, LONG_LINES), LABEL_STOCKS["62x29"]
    for make in (
        lambda: label_pdf([label, make_label()], stock, dpi=203),
        lambda: label_png(label, stock, dpi=300),
        lambda: tag_pdf([label], dpi=203),
        lambda: sheet_pdf([label] * 3, SHEET_STOCKS["Letter"], start=4),
    ):
        assert make() == make()
    assert label_pdf([label], stock, dpi=203) != label_pdf([make_label(3)], stock, dpi=203)


def test_a_label_pdf_carries_its_fonts():
    fonts = PdfReader(BytesIO(label_pdf([make_label()], LABEL_STOCKS["62x29"], dpi=203))).pages[0][
        "/Resources"
    ]["/Font"]
    described = [font.get_object() for font in fonts.values()]
    used = [font for font in described if font["/Subtype"] == "/TrueType"]
    assert {font["/BaseFont"].split("+")[1] for font in used} == {paper.BODY, paper.STRONG, paper.CODE}
    assert all("/FontFile2" in font["/FontDescriptor"] for font in used)

"""The chart of a hold: the same bytes for the same data, readable parts, and no inline style."""

from dataclasses import replace
from io import BytesIO
from xml.etree import ElementTree

import pypdfium2
import pytest
from pypdf import PdfReader
from reportlab.platypus import SimpleDocTemplate

from shop.documents import paper
from tests.workorders.trace_files import real
from workorders.calc.thin import thin
from workorders.calc.trace import read_trace
from workorders.documents.trace_chart import PALETTES, HoldTrace, description, hold_chart, hold_chart_svg


def tight() -> HoldTrace:
    trace = read_trace(data=real("hold_tight"))
    time, pressure = thin(time_s=trace.time_s, value=trace.pressure_bar, buckets=400)
    return HoldTrace(
        time_s=tuple(time.tolist()),
        pressure_bar=tuple(pressure.tolist()),
        title="Pressure hold, bore side",
        window_s=(10.0, 150.0),
        line=((10.0, 7.311), (150.0, 7.278)),
        line_label="line: 0.014 bar/min",
        limit_line=((10.0, 7.311), (150.0, 7.194)),
        limit_label="limit: 0.05 bar/min",
    )


def as_pdf(trace: HoldTrace) -> bytes:
    paper.register_fonts()
    out = BytesIO()
    SimpleDocTemplate(out, invariant=1).build([hold_chart(trace, font=paper.BODY, width=420)])
    return out.getvalue()


def texts(svg: str) -> list[str]:
    return [element.text for element in ElementTree.fromstring(svg).iter() if element.tag.endswith("}text")]


@pytest.mark.parametrize("palette", PALETTES)
def test_the_same_data_gives_the_same_bytes(palette):
    assert hold_chart_svg(tight(), palette=palette, name="a") == hold_chart_svg(
        tight(), palette=palette, name="a"
    )
    assert as_pdf(tight()) == as_pdf(tight())


def test_title_units_ticks_and_lines_are_written_on_it():
    written = texts(hold_chart_svg(tight(), palette="light", name="a"))
    for words in (
        "Pressure hold, bore side",
        "time, s",
        "pressure, bar",
        "logged",
        "line: 0.014 bar/min",
        "limit: 0.05 bar/min",
        "window evaluated",
        "50",
        "100",
        "7.20",
        "7.30",
    ):
        assert words in written


def test_the_page_gets_no_inline_style_and_ids_of_its_own():
    svg = hold_chart_svg(tight(), palette="dark", name="step-7")
    root = ElementTree.fromstring(svg)
    assert not [element for element in root.iter() if "style" in element.attrib]
    assert "<script" not in svg
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert ids
    assert all(name.startswith("step-7-") for name in ids)
    assert len(ids) == len(set(ids))
    assert "url(#clip)" not in svg


def test_a_reader_who_does_not_see_it_gets_a_sentence():
    root = ElementTree.fromstring(hold_chart_svg(tight(), palette="light", name="a"))
    title = root[0]
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == title.get("id")
    assert title.text == description(tight())
    assert "from 7.315 to 7.284 bar over 151.3 s, evaluated from 10.0 to 150.0 s" in title.text


def test_a_palette_colours_paper_and_ink():
    light, dark = (hold_chart_svg(tight(), palette=name, name="a") for name in ("light", "dark"))
    assert light != dark
    with pytest.raises(KeyError):
        hold_chart(tight(), palette="sepia")


def _luminance(colour) -> float:
    """Relative luminance, WCAG 2.2, definition of the same name."""
    parts = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in colour.rgb()]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


@pytest.mark.parametrize("palette", PALETTES.values(), ids=PALETTES)
def test_lines_stand_out_from_paper_and_window(palette):
    """WCAG 2.2, 1.4.11: 3 to 1 for graphics, and 1.4.3: 4.5 to 1 for text."""
    for ground in (palette.paper, palette.window):
        for colour, least in ((palette.ink, 4.5), (palette.trace, 3), (palette.line, 3), (palette.limit, 3)):
            bright, dim = sorted((_luminance(colour), _luminance(ground)), reverse=True)
            assert (bright + 0.05) / (dim + 0.05) >= least


def test_the_pdf_carries_the_words_in_the_shipped_font_and_the_lines_in_colour():
    pdf = as_pdf(tight())
    page = PdfReader(BytesIO(pdf)).pages[0]
    assert "Pressure hold, bore side" in page.extract_text()
    assert any(
        paper.BODY in str(font.get_object()["/BaseFont"]) for font in page["/Resources"]["/Font"].values()
    )
    picture = pypdfium2.PdfDocument(pdf)[0].render(scale=2).to_pil().convert("RGB")
    found = {colour for _, colour in picture.getcolors(1 << 20)}
    for line in (PALETTES["print"].trace, PALETTES["print"].limit):
        assert tuple(round(255 * part) for part in line.rgb()) in found


def test_a_chart_without_window_and_lines_and_of_a_constant_pressure_is_drawn():
    flat = HoldTrace(time_s=(0.0, 10.0), pressure_bar=(5.0, 5.0), title="at rest")
    written = texts(hold_chart_svg(flat, palette="print", name="a"))
    assert "5.00" in written
    assert "window evaluated" not in written


def legend_rows(trace: HoldTrace) -> set[str | None]:
    root = ElementTree.fromstring(hold_chart_svg(trace, palette="light", name="a"))
    labels = ("logged", trace.line_label, trace.limit_label)
    return {element.get("y") for element in root.iter() if element.text in labels}


def test_a_long_legend_goes_on_in_a_second_row():
    long = replace(tight(), line_label="line: 0.0141 bar per minute, standard error 0.0001")
    assert len(legend_rows(replace(tight(), line_label="line", limit_label="limit"))) == 1
    assert len(legend_rows(long)) > 1


def test_data_that_do_not_match_are_refused():
    with pytest.raises(ValueError, match="one length"):
        HoldTrace(time_s=(0.0, 1.0), pressure_bar=(5.0,), title="")

"""The release certificate: what is on it, whether all of it, and whether twice the same."""

from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO

import pypdf
import pytest

from tests.workorders.paper_samples import CERTIFICATE, CUSTOMER, POSITIONS, STEPS, UNIT
from tests.workorders.pdf_reading import fonts_of, pages_of, stored_dates, stored_texts, symbols_of, text_of
from workorders.calc.verdict import DECISION_RULE
from workorders.documents.certificate import certificate_pdf
from workorders.documents.certificate_data import STATUS_DEFINITIONS, Replaces

# strftime is the outside check for dates and times; the papers do not use it, since %b follows
# the locale of the machine.
DAY, TIME = "%d %b %Y", "%d %b %Y, %H:%M"

# ISO/IEC 17025:2017, 7.8.2.1 a) to p): the items of a report, in our words. Each must be found by
# text extraction with its value beside its label.
REPORT_ITEMS = {
    "a title": ["Release certificate No. RC-2026-0412"],
    "b name and address of the shop": ["Tern Quay Rebuild Works 3 Slip Row, Tern Quay, TQ0 0TQ"],
    "c place of the work": ["Place of the work Bench hall, 5 Slip Row, Tern Quay"],
    "d number on all parts, clear end": ["— End of certificate RC-2026-0412 —"],
    "e customer and contact": [
        "Customer Halvard Øst Båtplattform ÅS Brygge 7, 0123 Skarvøy",
        "Customer contact telephone +44 1632 960 377",
    ],
    "f method": [
        "Test plan Lift cylinder 40/20 acceptance, version 2",
        "Teardown procedure TD-CYL-040 rev B",
    ],
    "g item and its condition": [
        "Unit Boarding platform lift cylinder, left",
        "Catalogue code TQ-CYL-040, revision 3",
        "Shop serial 7K3M9QX2D",
        "Maker's serial MX 88-1204",
        "Quantity 1",
        "Condition on arrival Not opened before. Rod extended 40 mm, oil at the rod gland",
    ],
    "h date received": ["Received 01 Nov 2026"],
    "i dates performed": ["Torn down 02 Nov 2026", "Built 03 Nov 2026", "Tested 04 Nov 2026"],
    "j date issued": ["Issued 05 Nov 2026"],
    "k sampling": ["Sampling not applicable: the whole unit was tested"],
    "l results relate only to the item": ["The results relate only to the unit named here."],
    "m results with units": [
        "3. Hold, bore side decay 0.0141 bar/min ± 0.0021 bar/min at most 0.05 bar/min ✓ passes PT-07",
        "Rod roughness Ra as found 0.62 µm at most 0.40 µm ✗ fails MC-11",
    ],
    "n deviations": ["Deviations, concessions Rig fluid ISO VG 22 in place of the service fluid"],
    "o who authorises": [
        "Signed by Odile Marchbank Authority no. TQ-REL-02",
        "Signed on 05 Nov 2026, 14:32 UTC+01:00",
    ],
    "p results from others": ["Results from others none"],
}


@pytest.fixture(scope="module")
def printed():
    return certificate_pdf(CERTIFICATE)


@pytest.mark.record_row("R27")
@pytest.mark.parametrize("item", REPORT_ITEMS)
def test_each_report_item_is_found_with_its_value(printed, item):
    text = text_of(printed)
    for expected in REPORT_ITEMS[item]:
        assert expected in text


@pytest.mark.record_row("R27")
def test_the_report_list_is_whole():
    assert [name[0] for name in REPORT_ITEMS] == list("abcdefghijklmnop")


@pytest.mark.record_row("R27")
@pytest.mark.parametrize("page_size", ["A4", "Letter"])
def test_every_stored_text_and_date_is_found(page_size):
    pdf = certificate_pdf(CERTIFICATE, page_size=page_size)
    text = text_of(pdf)
    missing = [
        stored
        for stored in stored_texts(replace(CERTIFICATE, unit=replace(UNIT, address="")))
        if stored not in text
    ]
    assert missing == []
    for stored in stored_dates(CERTIFICATE):
        assert stored.strftime(TIME if isinstance(stored, datetime) else DAY) in text


def test_every_stored_text_is_missed_when_it_changes(printed):
    """The search above can fail: another unit's certificate does not hold these words."""
    other = replace(
        CERTIFICATE, positions=(replace(POSITIONS[0], part="lip seal 25 x 33 x 5"), *POSITIONS[1:])
    )
    assert "lip seal 25 x 33 x 5" not in text_of(printed)
    assert "lip seal 25 x 33 x 5" in text_of(certificate_pdf(other))


@pytest.mark.record_row("R27")
@pytest.mark.parametrize("page_size", ["A4", "Letter"])
def test_nine_positions_fit_two_pages_numbered_on_each(page_size):
    assert len(CERTIFICATE.positions) == 9
    pages = pages_of(certificate_pdf(CERTIFICATE, page_size=page_size))
    assert len(pages) == 2
    for number, page in enumerate(pages, 1):
        assert f"page {number} of 2" in page
        assert "Release certificate RC-2026-0412" in page
    assert [page.count("End of certificate") for page in pages] == [0, 1]


@pytest.mark.parametrize("page_size", ["A4", "Letter"])
def test_nine_positions_with_a_note_each_and_a_longer_plan_still_fit_two_pages(page_size):
    noted = tuple(replace(row, note="Looked at twice under the lamp; see photo.") for row in POSITIONS)
    data = replace(CERTIFICATE, positions=noted, steps=STEPS + STEPS[:3])
    assert len(pages_of(certificate_pdf(data, page_size=page_size))) == 2


def test_rows_are_read_in_order(printed):
    row = (
        "S3 piston piston seal, reciprocating broken up, fragments lost normal wear renewed "
        "energised ring 40 x 32.5 PTFE L-2402"
    )
    assert row in text_of(printed)


@pytest.mark.parametrize("field", ["note", "condition"])
def test_long_texts_wrap_over_pages_and_none_is_cut(field):
    words = [f"w{number:04d}" for number in range(1500)]
    long = replace(POSITIONS[0], **{field: " ".join(words)})
    pdf = certificate_pdf(replace(CERTIFICATE, positions=(long, *POSITIONS[1:])))
    text = text_of(pdf)
    assert [word for word in words if word not in text] == []
    assert f"page 1 of {len(pages_of(pdf))}" in text


def test_a_long_word_without_spaces_is_broken_not_cut():
    part = "X" * 30 + "Y" * 30 + "Z" * 30
    positions = (replace(POSITIONS[0], part=part), *POSITIONS[1:])
    text = text_of(certificate_pdf(replace(CERTIFICATE, positions=positions)))
    assert part in text.replace(" ", "")


@pytest.mark.record_row("R14")
def test_what_is_not_there_is_printed_as_not_available():
    bare = replace(
        CERTIFICATE,
        customer=replace(CUSTOMER, address=(), contact=""),
        customer_order="",
        unit=replace(UNIT, maker_serial=""),
        torn_down_on=None,
        built_on=None,
        status="tested only",
        positions=(),
        components=(),
        measurements=(),
        operations=(),
        charts=(),
        deviations=(),
        limitations=(),
    )
    text = text_of(certificate_pdf(bare))
    for label in ("Customer contact", "Customer's order no.", "Maker's serial", "Torn down", "Built"):
        assert f"{label} N/A" in text
    for section in ("Findings and work by seal position", "Components, ports and body", "Rework operations"):
        assert f"{section} N/A" in text
    assert "Deviations, concessions none" in text


@pytest.mark.record_row("R15")
@pytest.mark.parametrize("status", STATUS_DEFINITIONS)
def test_the_status_is_one_word_of_the_list_with_its_meaning(status):
    text = text_of(certificate_pdf(replace(CERTIFICATE, status=status)))
    assert f"Status {status} {STATUS_DEFINITIONS[status]}." in text
    assert status not in "release certificate"


@pytest.mark.record_row("R15")
@pytest.mark.parametrize(
    ("field", "value", "message"),
    [("status", "rebuilt", "status must be one of"), ("test_verdict", "good", "test verdict must be one of")],
)
def test_a_word_outside_its_list_is_refused(field, value, message):
    with pytest.raises(ValueError, match=message):
        replace(CERTIFICATE, **{field: value})


@pytest.mark.record_row("R28")
def test_the_statement_of_the_result_names_plan_and_rule(printed):
    text = text_of(printed)
    assert (
        f"Result of Lift cylinder 40/20 acceptance, version 2: ✓ passes. Decision rule: {DECISION_RULE}."
        in text
    )


@pytest.mark.record_row("R28")
def test_what_each_uncertainty_is_made_of_is_printed_beside_its_reading(printed):
    text = text_of(printed)
    # The same parts are told once.
    assert "2. bore side, 2. rod side: accuracy of the instrument 0.61; smallest step" in text
    assert (
        "3. decay: drift of the gauge between start and end 0.0007; scatter about the line 0.0008; " in text
    )
    assert "combined 0.0011 bar/min." in text


def test_a_certificate_of_before_that_prints_as_it_was(printed):
    """Its readings hold neither parts nor what they come to."""
    bare = tuple(
        replace(step, readings=tuple(replace(each, budget="", combined="") for each in step.readings))
        for step in STEPS
    )
    text = text_of(certificate_pdf(replace(CERTIFICATE, steps=bare)))
    assert "Uncertainties are made of" in text_of(printed)
    assert "Uncertainties are made of" not in text


@pytest.mark.record_row("R29")
def test_a_reissue_has_its_number_and_names_what_it_replaces():
    again = replace(
        CERTIFICATE,
        number="RC-2026-0437",
        replaces=Replaces(number="RC-2026-0412", reason="lot of the wiper corrected"),
    )
    text = text_of(certificate_pdf(again))
    assert "This certificate replaces RC-2026-0412. Reason: lot of the wiper corrected" in text
    assert "End of certificate RC-2026-0437" in text


@pytest.mark.record_row("R35")
def test_each_act_has_meaning_name_and_time(printed):
    text = text_of(printed)
    for act in CERTIFICATE.acts:
        times = f"{act.done_at.strftime(TIME)} UTC {act.entered_at.strftime(TIME)} UTC"
        assert f"{act.meaning} {act.name} {times}" in text


@pytest.mark.record_row("R17")
def test_a_time_without_a_zone_is_refused():
    signature = replace(CERTIFICATE.signature, at=datetime(2026, 11, 5, 14, 32))
    with pytest.raises(ValueError, match="time zone"):
        certificate_pdf(replace(CERTIFICATE, signature=signature))


@pytest.mark.record_row("R18")
def test_unit_and_record_are_tied_to_the_paper(printed):
    assert symbols_of(printed) == [UNIT.address]
    pages = pages_of(printed)
    assert all("record 3f9a 12cd 5e0b 7781" in page for page in pages)
    assert f"record sha-256 {CERTIFICATE.digest}" in pages[-1]


@pytest.mark.record_row("R19")
def test_it_is_no_delivery_note_and_claims_nothing(printed):
    text = text_of(printed)
    assert "is not a delivery note and does not approve the installation" in text
    claims = (
        "accredited",
        "complies",
        "compliant",
        "conforms",
        "certified",
        "approved by",
        "17025",
        "CFR",
        "ISO 10100",
    )
    assert [word for word in claims if word.lower() in text.lower()] == []


@pytest.mark.parametrize("charts", [1, 2, 3])
def test_each_hold_has_its_chart_with_the_limit_in_words(charts):
    data = replace(CERTIFICATE, charts=(*CERTIFICATE.charts, CERTIFICATE.charts[0])[:charts])
    text = text_of(certificate_pdf(data))
    assert text.count("window evaluated") == charts
    assert text.count("over 120 s. Limit drawn: 0.05 bar/min.") == charts


def test_names_in_other_scripts_survive():
    names = "Łódź Ångström Юрий Ґалаґан Ωμέγα Σπύρος Nguyễn Đặng"
    text = text_of(certificate_pdf(replace(CERTIFICATE, customer=replace(CUSTOMER, name=names))))
    assert names in text


def test_a_sign_the_font_lacks_is_printed_as_its_code_point():
    text = text_of(certificate_pdf(replace(CERTIFICATE, customer=replace(CUSTOMER, name="Quay 港 Works"))))
    assert "Quay [U+6E2F] Works" in text  # U+6E2F by the Unicode code chart for CJK ideographs


def test_marks_of_a_markup_language_are_printed_as_typed():
    note = "bore < 40.000 & rod > 19.9 <b>not bold</b> &amp;"
    positions = (replace(POSITIONS[0], note=note), *POSITIONS[1:])
    assert note in text_of(certificate_pdf(replace(CERTIFICATE, positions=positions)))


def test_all_fonts_are_in_the_file(printed):
    fonts = fonts_of(printed)
    assert fonts
    assert all("DejaVu" in name and embedded for name, embedded in fonts.items())


def test_title_and_author_are_set(printed):
    about = pypdf.PdfReader(BytesIO(printed)).metadata
    assert (about.title, about.author) == ("Release certificate RC-2026-0412", "Tern Quay Rebuild Works")


def test_another_value_gives_other_bytes(printed):
    step = replace(STEPS[0], readings=(replace(STEPS[0].readings[0], value="1"),))
    assert certificate_pdf(CERTIFICATE) == printed
    assert certificate_pdf(replace(CERTIFICATE, steps=(step, *STEPS[1:]))) != printed


def test_an_unknown_page_size_is_refused():
    with pytest.raises(ValueError, match="A4, Letter"):
        certificate_pdf(CERTIFICATE, page_size="A5")


def test_the_offset_to_utc_follows_the_time_given():
    moved = replace(CERTIFICATE.signature, at=CERTIFICATE.signature.at.astimezone(UTC))
    assert "Signed on 05 Nov 2026, 13:32 UTC How" in text_of(
        certificate_pdf(replace(CERTIFICATE, signature=moved))
    )

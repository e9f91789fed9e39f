"""Fitting page, packing list, returned-as-found paper and flush warning, and what all papers share."""

import os
import subprocess
import sys
from dataclasses import replace

import pytest

from tests.workorders import sister_paper_samples as samples
from tests.workorders.paper_samples import CERTIFICATE, UNIT
from tests.workorders.pdf_reading import (
    character_boxes,
    fonts_of,
    pages_of,
    stored_texts,
    symbols_of,
    text_of,
)
from workorders.calc.serial import grouped
from workorders.documents.cautions import FITTING
from workorders.documents.certificate import certificate_pdf
from workorders.documents.certificate_data import Replaces
from workorders.documents.fitter_page import fitter_page_pdf
from workorders.documents.flush_warning import FlaggedUnit, flush_warning_pdf
from workorders.documents.packing_list import PackedItem, PackedParcel, PackedUnit, packing_list_pdf
from workorders.documents.port_drawing import PortRow, port_drawing
from workorders.documents.returned_as_found import returned_as_found_pdf

PAPERS = {
    "certificate": (certificate_pdf, CERTIFICATE),
    "fitting page": (fitter_page_pdf, samples.FITTER_PAGE),
    "packing list": (packing_list_pdf, samples.PACKING_LIST),
    "returned as found": (returned_as_found_pdf, samples.RETURNED),
    "flush warning": (flush_warning_pdf, samples.FLUSH),
}
EVERY_PAPER = pytest.mark.parametrize(("build", "data"), PAPERS.values(), ids=PAPERS)
WITH_A_UNIT = [name for name in PAPERS if name != "packing list"]

DIGESTS_IN_A_NEW_PROCESS = """
import hashlib
from tests.workorders.test_sister_papers import PAPERS
for build, data in PAPERS.values():
    print(hashlib.sha256(build(data)).hexdigest())
"""


@EVERY_PAPER
def test_the_same_data_gives_the_same_bytes(build, data):
    assert build(data) == build(data)


def test_no_paper_depends_on_the_order_of_hashes():
    runs = []
    for seed in ("1", "4711"):
        environment = os.environ | {"PYTHONHASHSEED": seed}
        command = [sys.executable, "-c", DIGESTS_IN_A_NEW_PROCESS]
        done = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
        runs.append(done.stdout.split())
    assert len(runs[0]) == len(PAPERS)
    assert runs[0] == runs[1]


@EVERY_PAPER
@pytest.mark.parametrize("page_size", ["A4", "Letter"])
def test_pages_are_numbered_and_the_end_is_marked(build, data, page_size):
    pages = pages_of(build(data, page_size=page_size))
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
    assert sum("— End of" in page for page in pages) == 1
    assert "— End of" in pages[-1]


@pytest.mark.parametrize(
    ("name", "before"),
    [("certificate", "Limitations, cautions and warranty"), ("returned as found", "Cautions")],
)
@pytest.mark.parametrize("page_size", ["A4", "Letter"])
def test_the_signature_is_never_alone_wherever_a_page_ends(name, before, page_size):
    build, data = PAPERS[name]
    counts = set()
    for lines in range(0, 120, 4):
        noted = replace(data.positions[0], note="\n".join(["seen"] * lines))
        pages = pages_of(build(replace(data, positions=(noted, *data.positions[1:])), page_size=page_size))
        counts.add(len(pages))
        assert [word in pages[-1] for word in (before, "Signed by", "End of")] == [True] * 3
    assert len(counts) > 1, "the end of the paper met no end of a page"


@EVERY_PAPER
def test_all_fonts_are_in_the_file(build, data):
    fonts = fonts_of(build(data))
    assert fonts
    assert all("DejaVu" in name and embedded for name, embedded in fonts.items())


@EVERY_PAPER
@pytest.mark.parametrize("page_size", ["A4", "Letter"])
def test_nothing_is_printed_outside_the_page_or_over_the_right_edge(build, data, page_size):
    right_edge = {"A4": 210 - 12, "Letter": 215.9 - 12}[page_size] * 72 / 25.4
    boxes = character_boxes(build(data, page_size=page_size))
    assert len(boxes) > 500
    assert max(right for _left, right in boxes) <= right_edge + 1
    assert min(left for left, _right in boxes) > 8 * 72 / 25.4


@pytest.mark.parametrize("name", WITH_A_UNIT)
def test_the_symbol_of_the_unit_is_read_from_a_coarse_picture(name):
    build, data = PAPERS[name]
    assert symbols_of(build(data)) == [UNIT.address]


@pytest.mark.parametrize("name", [name for name in PAPERS if name != "certificate"])
def test_every_stored_text_is_found(name):
    build, data = PAPERS[name]
    text = text_of(build(data))
    # The address stands in the symbol; the place of the work stands on the certificate only.
    unprinted = {UNIT.address, data.shop.location}
    missing = {stored for stored in stored_texts(data) if stored not in text and grouped(stored) not in text}
    assert missing - unprinted == set()


def test_the_fitting_page_tells_fluid_caps_hoses_and_cautions():
    text = text_of(fitter_page_pdf(samples.FITTER_PAGE))
    assert "Fluid inside now mineral oil ISO VG 15 Fill with mineral oil ISO VG 15" in text
    assert "drain it and flush" not in text
    assert "A bore side screwed clip, 14 mm black plug 3" in text
    assert "hose 4" in text
    for caution in FITTING:
        assert f"{caution.hazard}. {caution.text}" in text
        assert caution.source in text
    assert "Local codes, the machine maker's instructions and licensed practice come first" in text
    assert "General steps (common practice, no source)" in text


def test_another_fluid_inside_is_said_to_come_out_first():
    data = replace(samples.FITTER_PAGE, fluid_inside="preserving oil")
    assert "The fluid inside is not the one to fill with: drain it and flush" in text_of(
        fitter_page_pdf(data)
    )


def test_the_steps_of_the_type_take_the_place_of_the_general_ones():
    data = replace(samples.FITTER_PAGE, filling=("Fill by the upper port.", "Stroke it ten times."))
    text = text_of(fitter_page_pdf(data))
    assert "1. Fill by the upper port. 2. Stroke it ten times." in text
    assert "General steps" not in text


def test_a_unit_without_ports_has_no_drawing():
    text = text_of(fitter_page_pdf(replace(samples.FITTER_PAGE, ports=())))
    assert "Caps to take off, hose to port N/A" in text
    assert port_drawing("cylinder", (), 400) is None


def test_a_place_on_the_body_is_drawn_only_when_all_are_known():
    ports = (PortRow(code="A", name="bore side", along=0.1), PortRow(code="B", name="rod side", along=0.9))
    known = port_drawing("cylinder", ports, 400)
    guessed = port_drawing("cylinder", (ports[0], replace(ports[1], along=None)), 400)
    assert len(known.contents) == len(guessed.contents) + 2  # the rod and its name
    text = text_of(fitter_page_pdf(replace(samples.FITTER_PAGE, ports=ports)))
    assert "places along the body as on the unit" in text


@pytest.mark.parametrize("along", [-0.01, 1.01])
def test_a_place_off_the_body_is_refused(along):
    with pytest.raises(ValueError, match="along must be from 0 to 1"):
        PortRow(code="A", name="bore side", along=along)


def test_an_unknown_family_is_refused():
    with pytest.raises(ValueError, match="family must be one of"):
        port_drawing("winch", samples.FITTER_PAGE.ports, 400)


def test_the_packing_list_counts_what_is_packed():
    text = text_of(packing_list_pdf(samples.PACKING_LIST))
    assert "Parcel 1 of 2, 4.2 kg, 60 × 20 × 15 cm, tracking number CP 0044 1187" in text
    assert "caps on A, B" in text
    assert "Parcel 2 of 2, tracking number to follow" in text
    assert "– mounting pin, extra part ✗ not packed kept back at the customer's wish" in text
    assert "returned as found: not tested, no warranty" in text
    assert "In all: 2 parcels, 3 units, 3 accessories." in text
    assert "packed on this page: 3 units, 3 accessories" in text


def test_the_counts_of_the_pages_add_up_to_the_whole():
    units = tuple(
        PackedUnit(
            serial=f"{number:09d}",
            type_name="lift cylinder",
            caps=("P1",) if number % 7 else (),
            items=tuple(PackedItem(label=f"hose {hose}", packed=hose < 3) for hose in range(number % 5)),
        )
        for number in range(60)
    )
    shipment = replace(samples.PACKING_LIST, parcels=(PackedParcel(number=1, units=units),))
    pages = pages_of(packing_list_pdf(shipment))
    assert len(pages) > 2
    counts = [page.split("packed on this page: ")[1].split() for page in pages]
    accessories = sum(item.packed for unit in units for item in unit.items)
    assert sum(int(count[0]) for count in counts) == 60
    assert sum(int(count[2]) for count in counts) == accessories
    assert f"In all: 1 parcel, 60 units, {accessories} accessories." in pages[-1]
    assert sum(page.count("no caps") for page in pages) == 9


@pytest.mark.record_row("R7")
def test_a_unit_returned_as_found_has_a_signed_list_of_discrepancies():
    text = text_of(returned_as_found_pdf(samples.RETURNED))
    assert "not tested, no warranty" in text
    for line in samples.RETURNED.discrepancies:
        assert f"– {line}" in text
    assert "Ports closed by plastic caps on both ports" in text
    assert "Signed by Odile Marchbank Authority no. TQ-REL-02 Signed on 05 Nov 2026, 15:10 UTC+01:00" in text


def test_a_reissued_paper_names_what_it_replaces():
    data = replace(samples.RETURNED, replaces=Replaces(number="AF-2026-0030", reason="wrong serial"))
    assert "This paper replaces AF-2026-0030. Reason: wrong serial" in text_of(returned_as_found_pdf(data))


@pytest.mark.parametrize("page_size", ["A4", "Letter"])
def test_the_flush_warning_is_one_page_with_a_dozen_flagged_units(page_size):
    flagged = tuple(
        FlaggedUnit(
            serial=f"{number:09d}", type_name="lift cylinder", place=f"place {number}", state="received"
        )
        for number in range(12)
    )
    pages = pages_of(flush_warning_pdf(replace(samples.FLUSH, flagged=flagged), page_size=page_size))
    assert len(pages) == 1
    assert "Flush the circuit before fitting" in pages[0]
    assert "Flush with mineral oil ISO VG 15" in pages[0]
    assert "000 000 011 lift cylinder place 11 received" in pages[0]


def test_a_flush_warning_says_when_no_other_unit_came():
    text = text_of(flush_warning_pdf(replace(samples.FLUSH, flagged=())))
    assert "none: no other unit came with this work order" in text

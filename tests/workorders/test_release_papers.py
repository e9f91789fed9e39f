"""The issued papers against the stored rows, read back by text extraction.

The sixteen items are those of ISO/IEC 17025:2017, 7.8.2.1 a) to p), as listed in docs/record.md;
modelled on, no compliance claimed.
"""

import pytest

from shop.services.files import read_bytes
from tests.workorders.journey import Journey
from tests.workorders.pdf_reading import pages_of, squeezed, symbols_of, text_of
from workorders.calc.serial import grouped
from workorders.documents.printed import day
from workorders.services.papers import local

pytestmark = pytest.mark.django_db


def made_once():
    journey = Journey().tested().release(remarks="Rod kept, within limits.")
    return journey, read_bytes(journey.released.certificate)


@pytest.fixture(scope="module")
def kept(keep):
    return keep(made_once)


@pytest.fixture
def issued(kept):
    return kept()


def expected(journey):
    """The sixteen items with the stored values that must be found."""
    rebuild, release, test = journey.rebuild, journey.released, journey.test
    order = rebuild.work_order
    customer = order.customer
    signed = {row.meaning: row for row in rebuild.signatures.all()}
    limits = [limit for step in test.plan.steps.all() for limit in step.limits.all()]
    return {
        "a title": ["Release certificate"],
        "b laboratory": ["Tern Quay Rebuild Works", "4 Slipway Row"],
        "c location": ["Tern Quay"],
        "d identification": [release.number, f"End of certificate {release.number}"],
        "e customer": [customer.name, customer.phone, customer.street],
        "f method": [test.plan.title, str(test.plan.version), rebuild.revision.teardown_procedure],
        "g item": [rebuild.unit.serial, rebuild.unit.unit_type.name, rebuild.arrival_condition],
        "h received": [day(local(rebuild.received_at).date())],
        "i performed": [day(local(signed[m].done_at).date()) for m in ("torn_down", "built", "tested")],
        "j issued": [day(local(release.at).date())],
        "k sampling": ["not applicable: the whole unit was tested"],
        "l scope": ["relate only to the unit"],
        "m results": [
            f"{reading.value:.4g}"
            for r in test.results.all()
            for reading in r.readings.all()
            if reading.limit.judged != "witness"
        ]
        + [limit.reading for limit in limits]
        + ["bar/min"],
        "n deviations": ["Rod kept, within limits."],
        "o authorised": [release.signature.printed_name],
        "p external": ["Results from others"],
    }


ITEMS = list("abcdefghijklmnop")


@pytest.mark.record_row("R27")
@pytest.mark.parametrize("letter", ITEMS)
def test_each_of_the_sixteen_items_is_printed_as_stored(issued, letter):
    journey, pdf = issued
    text = text_of(pdf).casefold()
    (name,) = [name for name in expected(journey) if name.startswith(f"{letter} ")]
    for value in expected(journey)[name]:
        assert squeezed(str(value)).casefold() in text, f"{name}: {value}"


@pytest.mark.record_row("R14")
@pytest.mark.record_row("R16")
@pytest.mark.record_row("R28")
def test_every_finding_part_lot_limit_and_rule_is_printed(issued):
    journey, pdf = issued
    text = text_of(pdf)
    for part in journey.rebuild.parts_used.select_related("lot__part", "position"):
        for value in (part.position.code, part.lot.part.number, part.lot.number):
            assert value in text
    for finding in journey.rebuild.findings.all():
        assert finding.get_condition_display() in text
    for value in ("at least 160", "at most 1", "k = 2", "N/A", "11.98", "11.95 to 12"):
        assert value in text, value


@pytest.mark.record_row("R6")
@pytest.mark.record_row("R17")
@pytest.mark.record_row("R35")
def test_who_did_what_when_is_printed_with_its_meaning(issued):
    journey, pdf = issued
    text = text_of(pdf)
    for signature in journey.rebuild.signatures.all():
        assert signature.printed_name in text
        assert day(local(signature.done_at).date()) in text
        if signature.meaning != "released":
            assert signature.get_meaning_display() in text


@pytest.mark.record_row("R6")
def test_a_name_changed_later_does_not_change_the_signature(issued):
    journey, _pdf = issued
    lead = journey.people["lead"]
    name = lead.printed_name
    lead.printed_name = "Somebody Else"
    lead.save()
    journey.released.signature.refresh_from_db()
    assert journey.released.signature.printed_name == name


@pytest.mark.record_row("R18")
def test_the_paper_leads_back_to_the_unit_and_the_record(issued):
    journey, pdf = issued
    assert f"HTTPS://SVC.EXAMPLE/U/{journey.unit.serial}" in symbols_of(pdf)
    assert journey.released.signature.content_sha256 in text_of(pdf).replace(" ", "")


@pytest.mark.record_row("R19")
def test_it_is_no_delivery_note(issued):
    _journey, pdf = issued
    assert "delivery note" in text_of(pdf)
    assert len(pages_of(pdf)) <= 2


@pytest.mark.record_row("R10")
def test_the_shipment_counts_the_certificate_into_the_parcel(issued):
    journey, _pdf = issued
    journey.ship()
    items = [line["item"] for line in journey.rebuild.packed.checked if line["packed"]]
    assert any(journey.released.number in item for item in items)
    text = text_of(read_bytes(journey.shipment.packing_list))
    for value in (journey.shipment.number, grouped(journey.unit.serial), journey.released.number, "H1"):
        assert value in text, value
    assert text.count(journey.shipment.recipient.name) == text.count("Recipient ") + text.count("Bill to")


def test_the_fitting_page_names_fluids_ports_and_hoses(issued):
    journey, _pdf = issued
    text = text_of(read_bytes(journey.released.fitter_page))
    for value in (journey.unit.serial, str(journey.test.fluid_left), "P1", "H1", journey.released.number):
        assert value in text, value


@pytest.mark.record_row("R5")
def test_a_late_entry_shows_both_times():
    import datetime as dt

    from workorders.services import teardown

    journey = Journey().receive().find()
    done = journey.now
    journey.now += dt.timedelta(days=2)
    signed = teardown.close_teardown(act=journey.act("bench"), rebuild=journey.rebuild, done_at=done)
    assert (signed.done_at, signed.at) == (done, journey.now)


@pytest.mark.record_row("R4")
def test_the_work_and_the_procedure_are_printed(issued):
    journey, pdf = issued
    text = text_of(pdf)
    assert journey.rebuild.revision.teardown_procedure in text
    assert "renewed" in text


@pytest.mark.record_row("R38")
def test_the_test_has_the_six_blocks_of_the_list_of_contents(issued):
    """ISO 10100, list of contents only: its pressures, times and limits could not be read."""
    journey, pdf = issued
    text = text_of(pdf)
    identity = (journey.unit.serial, journey.rebuild.unit.unit_type.code)
    fluid = (str(journey.test.rig_fluid), "oil at 20 to 25 °C, 10 µm filter")
    leaks = ("Low-pressure leak", "Piston bypass", "Proof, both sides")
    for value in (*identity, *fluid, *leaks, journey.test.plan.title):
        assert value in text, value


@pytest.mark.record_row("R30")
def test_each_instrument_is_printed_with_its_calibration(issued):
    journey, pdf = issued
    text = text_of(pdf)
    calibration = journey.gauge.calibrations.get()
    for value in (journey.gauge.code, day(calibration.calibrated_on), day(calibration.due_on)):
        assert value in text, value

"""The second half of the box of four: two units released, packed by scans into two parcels, one as found."""

import datetime as dt
import io
import re

from django.utils import timezone
from pypdf import PdfReader

from shop.services.writing import Act
from tests.browser.floor import downloaded, field, heading, scan, shown_file, tile
from tests.shop.scanning import decode, rendered
from tests.workorders.journey import Journey
from tests.workorders.pdf_reading import text_of
from workorders.calc.serial import grouped
from workorders.models import PackedUnit, PackingLine, Rebuild, Shipment
from workorders.services import shipping

TO_CHECK = re.compile("^(Packed|Is on|Left inside) ")


def finish(floor, released, as_found):
    """What the bench does in between, by the services: two units released, one left as it is."""
    floor.gauge.accuracy, floor.gauge.resolution = 0.4, 0.01
    floor.gauge.save()
    for rebuild in released:
        way = Journey(revision=floor.revision, people=dict(floor.people), rebuild=rebuild)
        way.now = timezone.now() - dt.timedelta(hours=8)
        way.gauge, way.micrometer = floor.gauge, floor.micrometer
        way.find().close_teardown().go_ahead().fit().close_build()
        way.start_test().run_steps().sign_test().release()
    lead = Act(by=floor.people["lead"])
    reason = "Opened by others and bent; the customer wants it back."
    shipping.exit_rebuild(act=lead, rebuild=as_found, exit="returned_as_found", reason=reason)


def send_back(floor, page, box):
    """Two parcels filled by scanning, a wrong scan refused, one shipment of a double tap."""
    first, opened, last = Rebuild.objects.order_by("pk")
    finish(floor, (first, last), opened)
    page.goto(f"{floor.server.url}{first.work_order.get_absolute_url()}")
    page.get_by_role("link", name="Pack", exact=True).click()
    page.get_by_role("button", name="Begin to pack").click()
    pack(page, floor, first, 1)
    scan(page, "H77-NOWHERE")
    page.get_by_text("is no unit, hose, cap or accessory of this packing").first.wait_for()
    page.get_by_role("button", name="Another parcel").click()
    pack(page, floor, last, 2)
    pack(page, floor, opened, 2)
    page.get_by_text("returned as found: not tested, no warranty").wait_for()
    close_parcel(page)
    send_off(page, first.work_order)
    papers(page, (first, last, opened))


def pack(page, floor, rebuild, parcel):
    """The label, then the cap by its port; an undo and the rest by big targets."""
    scan(page, f"{floor.server.url}/U/{rebuild.unit.serial}".upper())
    page.get_by_text(f"Unit {grouped(rebuild.unit.serial)} lies in parcel {parcel}.").wait_for()
    scan(page, "P1")
    page.get_by_text(f"Packed with {grouped(rebuild.unit.serial)}: cap on port P1").wait_for()
    unit = page.locator(f"#unit-{rebuild.packing_units.get().pk}")
    with page.expect_navigation():
        unit.get_by_role("button", name=re.compile("^Undo cap on port P1")).click()
    waiting = unit.get_by_role("button", name=TO_CHECK)
    for _ in range(waiting.count()):
        with page.expect_navigation():
            waiting.first.click()
    states = PackingLine.objects.filter(packing_unit__rebuild=rebuild).values_list("state", flat=True)
    assert set(states) == {"packed"}


def close_parcel(page):
    page.get_by_role("link", name="Close the parcel").click()
    field(page, "Weight").fill("4.2")
    page.get_by_role("button", name="Close it").click()
    page.get_by_text("4.2 kg").first.wait_for()


def send_off(page, order):
    page.get_by_role("link", name="Send it off").click()
    tile(page, "Where it goes", "Another address, written below")
    field(page, "Another address").fill("Marram Boat Lifts\n3 Groyne Lane\nSallow Bay")
    field(page, "Carrier").fill("Coast Post")
    page.get_by_role("button", name="Send it off").dblclick()
    heading(page, re.compile("^Shipment S"))
    shipment = Shipment.objects.get()
    assert shipment.work_order == order
    assert [parcel.units.count() for parcel in shipment.parcels.all()] == [1, 2]
    assert PackedUnit.objects.filter(as_found=True).count() == 1


def papers(page, rebuilds):
    """Every paper opens, and every symbol reads."""
    number = Shipment.objects.get().number
    told = text_of(shown_file(page, "Packing list (PDF)"))
    serials = [grouped(row.unit.serial) for row in rebuilds]
    for words in (*serials, "caps on P1", "4.2 kg", "returned as found"):
        assert words in told, words
    labels = downloaded(page, "Address labels (PDF)")
    sheets = [sheet.extract_text() for sheet in PdfReader(io.BytesIO(labels)).pages]
    assert [f"parcel {at} of 2" in sheet for at, sheet in enumerate(sheets, 1)] == [True, True]
    assert ends_of(labels, 203, pages=2) == {number}
    tags = downloaded(page, "Port tags (PDF)")
    assert ends_of(tags, 300, pages=3) == {row.unit.serial for row in rebuilds}


def ends_of(pdf, dpi, *, pages):
    """What the symbols of all pages lead to."""
    return {text.rsplit("/", 1)[-1] for at in range(pages) for text in decode(rendered(pdf, dpi, page=at))}

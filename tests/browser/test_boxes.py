"""An unannounced box of four units, one unidentified, one opened by others: received, and sent back."""

import io
import re

import pytest
from PIL import Image
from pypdf import PdfReader

from shop.roles import RECEIVING
from tests import factories
from tests.browser.dispatching import send_back
from tests.browser.floor import Floor, downloaded, field, heading, scan, tile
from tests.browser.serving import serving
from tests.shop.scanning import decode, rendered
from workorders.models import Box, Rebuild

LOOKS = (
    "grey cylinder, cord at the eye",
    "grey cylinder, bent rod",
    "cylinder, blue paint",
    "block, no plate",
)
OPENED = ("not opened before", "opened by others", "not opened before")


@pytest.fixture(scope="module")
def floor(django_db_setup, django_db_blocker, browser, tmp_path_factory):
    with django_db_blocker.unblock(), serving(tmp_path_factory.mktemp("boxes")) as server:
        yield Floor(browser, server)


def photo(name="as it came.jpg"):
    stream = io.BytesIO()
    Image.new("RGB", (640, 480), (90, 70, 50)).save(stream, "JPEG")
    return {"name": name, "mimeType": "image/jpeg", "buffer": stream.getvalue()}


def test_an_unannounced_box_is_received_in_one_sitting_and_its_units_sent_back(floor):
    factories.CustomerFactory(name="Marram Boat Lifts")
    clerk = floor.sign_in(RECEIVING)
    take_in(clerk)
    box = Box.objects.get()
    for place, look in enumerate(LOOKS):
        write_down(clerk, look, identified=place < 3)
    tag = print_tags(clerk, box)
    name_sender(clerk, box)
    for place, opened in enumerate(OPENED, 1):
        receive_unit(clerk, box, place, opened)
    assert [row.opened_before for row in Rebuild.objects.order_by("pk")] == [
        "not_before",
        "by_others",
        "not_before",
    ]
    close(clerk, box, tag)
    assert floor.watch.take() == []
    send_back(floor, clerk, box)
    assert floor.watch.take() == []


def take_in(page):
    """A box is here: its state, its damage, photos; a double tap makes one box.

    A photo is added to those before, one can be left out, and a refused form brings them back.
    """
    page.get_by_role("link", name="Receive a box").click()
    page.get_by_role("link", name="A box is here, sender not known yet").click()
    tile(page, "State of the packing", "wet or oily outside")
    for name in ("as it came.jpg", "by mistake.jpg", "label.jpg"):
        field(page, "Choose photos").set_input_files(photo(name))
        page.get_by_alt_text(f"Chosen: {name}").wait_for()
    page.get_by_role("button", name="Leave out by mistake.jpg").click()
    page.get_by_alt_text("Chosen: by mistake.jpg").wait_for(state="detached")
    page.get_by_role("button", name="The box is here").click()
    page.locator(".error-summary, [aria-invalid=true]").first.wait_for()
    assert not Box.objects.exists()
    for name in ("as it came.jpg", "label.jpg"):
        page.get_by_alt_text(f"Chosen: {name}").wait_for()
    field(page, "What is wrong with the packing").fill("Oil on the bottom.")
    page.get_by_role("button", name="The box is here").dblclick()
    heading(page, re.compile("^Box B"))
    page.get_by_text("The packing was wet or oily outside").wait_for()
    assert Box.objects.count() == 1
    names = Box.objects.get().photos.order_by("pk").values_list("file__name", flat=True)
    assert list(names) == ["as it came.jpg", "label.jpg"]


def write_down(page, look, *, identified):
    page.get_by_role("link", name="Add what lies in it").click()
    tile(page, "What it is", "identified" if identified else "not identified")
    field(page, "How it looks").fill(look)
    page.get_by_role("button", name="Write it down").click()
    page.get_by_role("cell", name=look).wait_for()


def print_tags(page, box):
    """Every line has its tag, also the unidentified one; each symbol leads to the box."""
    tags = downloaded(page, "Labels 62 × 29 mm (PDF)")
    texts = [sheet.extract_text() for sheet in PdfReader(io.BytesIO(tags)).pages]
    assert [f"{box.number}/{place}" in text for place, text in enumerate(texts, 1)] == [True] * 4
    assert "not identified" in texts[3]
    read = {text for place in range(4) for text in decode(rendered(tags, 300, page=place))}
    (address,) = read
    assert address.endswith(f"/B/{box.number}")
    return address


def name_sender(page, box):
    page.get_by_role("link", name="Name the sender").click()
    field(page, "Name, town, e-mail or telephone").fill("Marram")
    page.get_by_role("button", name="Find the customer").click()
    page.get_by_role("link", name=re.compile("Marram Boat Lifts")).click()
    page.get_by_role("button", name="Name this customer").click()
    page.get_by_role("link", name="Put it into a work order").click()
    tile(page, "Work order", "Open a new work order")
    page.get_by_role("button", name="Put the box in").click()
    heading(page, f"Box {box.number}")


def receive_unit(page, box, place, opened):
    page.get_by_role("link", name=f"Receive this unit from line {place}").click()
    page.get_by_text(f"line {place}: {LOOKS[place - 1]}").wait_for()
    page.get_by_role("link", name="BL-25 Boarding ladder cylinder").click()
    tile(page, "Opened before?", opened)
    field(page, "Condition on arrival").fill("Oily.")
    page.get_by_role("button", name="Receive this unit").click()
    heading(page, re.compile("^Intake of"))
    page.get_by_role("link", name=f"Back to box {box.number}").click()
    heading(page, f"Box {box.number}")


def close(page, box, tag):
    """The tag brings the box back; closed, it stays listed for what nobody could identify."""
    page.goto(page.url.split("/boxes/")[0])
    scan(page, tag)
    heading(page, f"Box {box.number}")
    page.get_by_role("link", name="Close the box").click()
    page.get_by_text(f"Line 4: {LOOKS[3]}").wait_for()
    page.get_by_role("button", name="Close the box").click()
    page.get_by_role("link", name="Open it again").wait_for()
    page.get_by_role("link", name="Boxes").first.click()
    page.get_by_role("row", name=re.compile(box.number)).get_by_text(LOOKS[3]).wait_for()

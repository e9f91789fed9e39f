"""One cylinder from the box to the warranty answer, by clicking, typing and scanning, as the people do."""

import io
import re

import pytest
from PIL import Image

from shop.roles import BENCH, LEAD, RECEIVING, WARRANTY_DESK
from tests import factories
from tests.browser.floor import Floor, downloaded, field, heading, scan, shown_file, tile
from tests.browser.serving import serving
from tests.shop.scanning import decode, rendered
from tests.workorders.journey import TRACES
from tests.workorders.pdf_reading import symbols_of, text_of
from workorders.models import Claim, Rebuild, Release, Shipment, Unit

CUSTOMER = "Marram Boat Lifts"
REPORTED = "Drips at the rod after a night."


@pytest.fixture(scope="module")
def floor(django_db_setup, django_db_blocker, browser, tmp_path_factory):
    with django_db_blocker.unblock(), serving(tmp_path_factory.mktemp("walk")) as server:
        yield Floor(browser, server)


def photo():
    stream = io.BytesIO()
    Image.new("RGB", (640, 480), (90, 70, 50)).save(stream, "JPEG")
    return {"name": "as it came.jpg", "mimeType": "image/jpeg", "buffer": stream.getvalue()}


def test_one_cylinder_goes_from_the_box_to_the_warranty_answer(floor):
    clerk, tech = floor.sign_in(RECEIVING), floor.sign_in(BENCH)
    receive(clerk)
    unit = Unit.objects.get()
    label = print_labels(clerk, unit)
    tear_down(tech, label)
    give_go_ahead(clerk, label)
    build(tech, floor, label)
    run_test(tech, floor)
    release(floor, label, unit)
    ship(clerk, label, unit)
    answer_a_call(floor, label, unit)
    show_a_stranger(floor, unit)
    assert floor.watch.take() == []


def receive(page):
    """Point 3: the customer, the work order, the unit with its hoses and photos."""
    page.get_by_role("link", name="Receive a box").click()
    field(page, "Name, town, e-mail or telephone; or scan a unit of theirs").fill("Marram")
    page.get_by_role("button", name="Find the customer").click()
    page.get_by_text("Nobody in the books matches").wait_for()
    field(page, "Name").fill(CUSTOMER)
    field(page, "Telephone").fill("01632 960142")
    field(page, "Street and number").fill("3 Groyne Lane")
    field(page, "Town").fill("Sallow Bay")
    page.get_by_role("button", name="Enter and open a work order").click()
    field(page, "Customer's order number").fill("PO-7731")
    page.get_by_role("button", name="Open a work order").click()
    field(page, "Scan its shop serial, or search its type").fill("ladder cyl")
    page.get_by_role("button", name="Add a unit").click()
    page.get_by_role("link", name="BL-25 Boarding ladder cylinder").click()
    page.get_by_role("button", name="Receive this unit").click()
    assert page.locator(".error-summary").evaluate("box => box === document.activeElement")
    assert not Unit.objects.exists()
    tile(page, "Opened before?", "not opened before")
    field(page, "Condition on arrival").fill("Dirty, rod pitted at one end.")
    field(page, "What the customer reports").fill(REPORTED)
    tile(page, "Hoses attached, by number", "H1 (port P1)")
    field(page, "Choose photos").set_input_files(photo())
    page.get_by_alt_text("Chosen: as it came.jpg").wait_for()
    page.get_by_role("button", name="Receive this unit").dblclick()
    heading(page, re.compile("^Intake of"))
    assert Unit.objects.count() == Rebuild.objects.count() == 1
    picture = page.get_by_alt_text(re.compile("^Photo 1"))
    assert picture.evaluate("async image => { await image.decode(); return image.naturalWidth }") == 640


def print_labels(page, unit):
    """Point 3: the label and the wired tag; both symbols read as the unit's address."""
    tag = downloaded(page, "Wired tag for the wash (PDF)")
    page.get_by_role("link", name="Print its label").click()
    label = downloaded(page, "PDF, exact size")
    told = decode(rendered(label, 300))
    assert told == decode(rendered(tag, 300))
    (text,) = told
    address = page.url.split("/units/")[0]
    assert text == f"{address}/u/{unit.serial}".upper()
    assert unit.serial in text_of(tag).replace(" ", "")
    return text


def tear_down(page, label):
    """Point 4: every place by tiles, the rod with its instrument, the fluid, the signature."""
    scan(page, label)
    page.get_by_role("link", name="Go to the open rebuild").click()
    page.get_by_role("link", name="Tear down").click()
    page.locator("a.tile").first.click()
    for place in ("S1", "S2", "S3"):
        page.locator("#place-heading", has_text=place).wait_for()
        tile(page, "Condition, as found", "hardened")
        tile(page, "Likely cause", "age")
        page.get_by_role("button", name="Save and go on").click()
    page.locator("#place-heading", has_text="S4").wait_for()
    page.get_by_role("button", name="The rest: renewed, not examined").click()
    page.locator("a.tile", has_text="K1").click()
    page.locator("#place-heading", has_text="K1").wait_for()
    tile(page, "Condition, as found", "sound")
    tile(page, "Action", "kept")
    page.get_by_role("button", name="Save and go on").click()
    page.locator("#place-heading", has_text="P1").wait_for()
    tile(page, "Condition, as found", "worn")
    tile(page, "Action", "reworked")
    page.get_by_role("button", name="Save and go on").click()
    page.locator("#place-heading", has_text="H1").wait_for()
    tile(page, "Condition, as found", "chafed, cover only")
    tile(page, "Action", "kept")
    page.get_by_role("button", name="Save and go on").click()
    page.get_by_text("7 of 7 places of this unit are judged").wait_for()
    page.get_by_role("link", name=re.compile("rod diameter|Measure", re.I)).first.click()
    field(page, "Instrument").select_option(label="M-25 micrometer")
    field(page, "Reading").fill("11.98")
    page.get_by_role("button", name="Save the readings").click()
    page.get_by_role("link", name="Record the fluid").click()
    tile(page, "Colour", "brown")
    tile(page, "Smell", "burnt")
    tile(page, "Water", "no water seen")
    page.get_by_role("button", name="Save the fluid").click()
    page.get_by_role("link", name="Sign the teardown").click()
    page.get_by_role("button", name="Sign the teardown").click()
    heading(page, "Rebuild 1")


def give_go_ahead(page, label):
    """Point 5: what the customer allowed."""
    scan(page, label)
    page.get_by_role("link", name="Go to the open rebuild").click()
    page.get_by_role("link", name="Record a go-ahead").click()
    tile(page, "How it was given", "by telephone")
    field(page, "Given by").fill("R. Holm")
    field(page, "What is allowed").fill("All seals renewed, port reworked, tested.")
    field(page, "Price ceiling").fill("240")
    page.get_by_role("button", name="Record the go-ahead").click()
    heading(page, "Rebuild 1")


def build(page, floor, label):
    """Point 5: one lot by scan, the rest by one scan of a packed kit, the rework, the signature."""
    scan(page, label)
    page.get_by_role("link", name="Go to the open rebuild").click()
    page.get_by_role("link", name="Build", exact=True).click()
    heading(page, "Build")
    first = next(iter(floor.lots.values()))
    scan(page, first.number)
    page.get_by_text(f"S1 rod seal: 1 of lot {first.number} fitted").wait_for()
    scan(page, floor.packed.code.lower())
    page.get_by_text(f"Kit {floor.packed.code} fills S2, S3, S4.").wait_for()
    page.get_by_role("link", name="Record rework").click()
    page.get_by_role("link", name="Crimp machined out").click()
    tile(page, "Where", "P1 rod side")
    field(page, "Tool or machine").fill("lathe 2 with collet")
    page.get_by_role("button", name="Save the rework").click()
    page.get_by_role("link", name="Sign the build").click()
    page.get_by_role("button", name="Sign the build").click()
    heading(page, "Rebuild 1")


def run_test(page, floor):
    """Point 6: steps by hand, the hold from a logged trace, the signature with the password."""
    page.get_by_role("link", name="Start the test").click()
    tile(page, "Fluid in the rig now", "HM 32")
    page.get_by_role("button", name="Start the test").click()
    record_count(page, "Step 1")
    page.get_by_role("heading", name=re.compile("^Step 2")).wait_for()
    start(page)
    reading = page.get_by_role("group", name=re.compile("^Pressure"))
    field(reading, "Reading").fill("165")
    field(reading, "Instrument").select_option(label=instrument(reading, "G-20"))
    record_count(page, "Step 2", started=True)
    hold_from_the_logger(page)
    record_count(page, "Step 4")
    page.get_by_role("heading", name=re.compile("^Step 5")).wait_for()
    tile(page, "Seen", "as required")
    field(page, "Note").fill("Dry all round after ten strokes.")
    page.get_by_role("button", name="Record this step").click()
    page.get_by_role("link", name="Sign the test: it passes").click()
    tile(page, "Fluid left inside for shipping", "HM 32")
    field(page, "Your password again, as signature").fill(factories.PASSWORD)
    page.get_by_role("button", name="Sign the test").click()
    page.get_by_role("heading", level=1, name="Pressure test 1").wait_for()


def start(page):
    """Confirm what the step wants confirmed, with the rod port open to the tank."""
    for box in page.locator("#step input[type=checkbox]").all():
        box.check()
    tile(page, "The rod port", "open: to the tank or a measuring glass")
    page.get_by_role("button", name="Confirm and start this step").click()
    page.get_by_role("button", name="Record this step").wait_for()


def record_count(page, step, started=False):
    """Nothing dripped at this step."""
    page.get_by_role("heading", name=re.compile(f"^{step}")).wait_for()
    if not started:
        start(page)
    field(page, "Counted").fill("0")
    page.get_by_role("button", name="Record this step").click()


def instrument(group, code):
    """Return the words under which an instrument is offered."""
    return field(group, "Instrument").locator("option", has_text=code).first.inner_text()


def hold_from_the_logger(page):
    """Upload, look at the chart, confirm."""
    page.get_by_role("heading", name=re.compile("^Step 3")).wait_for()
    start(page)
    field(page, "Logger file").set_input_files(TRACES / "hold_tight.csv")
    upload = page.locator("form", has=field(page, "Logger file"))
    field(upload, "Instrument").select_option(label=instrument(upload, "T-16"))
    page.get_by_role("button", name="Read the file").click()
    page.get_by_text("Would be:").wait_for()
    # The slope of the source note beside the file, by an implementation that is not ours.
    assert "0.0141" in page.locator(".chart figcaption").inner_text()
    page.locator(".trace-plot canvas").scroll_into_view_if_needed()
    # What stands there without scripts is a picture too; refused where it is none.
    page.get_by_alt_text("Pressure over time").evaluate(
        "image => { image.loading = 'eager'; return image.decode(); }"
    )
    page.get_by_role("button", name="Record this step").click()


def release(floor, label, unit):
    """Point 7: the lead signs; the papers carry the record and lead back to the unit."""
    page = floor.sign_in(LEAD)
    password = "Your password again, as signature"
    scan(page, label)
    page.get_by_role("link", name="Go to the open rebuild").click()
    page.get_by_role("link", name="Release", exact=True).click()
    tile(page, "Status on the certificate", "Overhauled")
    field(page, password).fill("not my password")
    page.get_by_role("button", name="Sign and release").click()
    page.get_by_text("This is not your password").first.wait_for()
    assert field(page, password).evaluate("field => field === document.activeElement")
    assert not Release.objects.exists()
    field(page, password).fill(factories.PASSWORD)
    page.get_by_role("button", name="Sign and release").click()
    heading(page, re.compile("^Certificate C"))
    certificate = shown_file(page, "Certificate (PDF)")
    told = text_of(certificate)
    for words in (
        CUSTOMER,
        "Boarding ladder cylinder",
        "hardened",
        "lathe 2 with collet",
        "T-16",
        "Overhauled",
    ):
        assert words.lower() in told.lower(), words
    assert unit.serial in told.replace(" ", "")
    assert label in symbols_of(certificate)
    fitter = text_of(shown_file(page, "Page for the fitter (PDF)"))
    assert "HM 32" in fitter
    assert "H1" in fitter


def ship(page, label, unit):
    """Point 7: the packing check against the intake, and off it goes."""
    page.goto(page.url.split("/rebuilds/")[0] + "/shipments/")
    page.get_by_role("link", name=re.compile("^Pack W")).click()
    page.get_by_role("button", name="Begin to pack").click()
    scan(page, label)
    unpacked = page.get_by_role("button", name=re.compile("^(Packed|Is on|Left inside) "))
    for _ in range(unpacked.count()):
        with page.expect_navigation():
            unpacked.first.click()
    page.get_by_role("link", name="Send it off").click()
    field(page, "Carrier").fill("Coast Post")
    page.get_by_role("button", name="Send it off").dblclick()
    heading(page, re.compile("^Shipment S"))
    assert Shipment.objects.count() == 1
    assert unit.serial in text_of(shown_file(page, "Packing list (PDF)")).replace(" ", "")


def answer_a_call(floor, label, unit):
    """Point 8: the label read out into the search box, the answer in words, a claim judged."""
    page = floor.sign_in(WARRANTY_DESK)
    box = page.get_by_role("searchbox", name="Find a unit, customer or work order")
    box.fill(f"  {label.lower()}\t")
    box.press("Enter")
    page.get_by_text(re.compile(r"^In warranty until \d\d \w{3} \d{4}$")).wait_for()
    assert page.locator("time").count() >= 6
    page.get_by_role("link", name="Open a claim").click()
    field(page, "What the customer reports").fill("Wet at the rod again after a month.")
    page.get_by_role("button", name="Open the claim").dblclick()
    heading(page, re.compile("^Claim K"))
    assert Claim.objects.count() == 1
    tile(page, "Judgement", "accepted")
    field(page, "Reason").fill("Rod seal of the same lot; within the term.")
    page.get_by_role("button", name="Record the judgement").click()
    page.get_by_text(re.compile("^Accepted, ")).wait_for()
    assert Claim.objects.get().judgement == Claim.Judgement.ACCEPTED
    assert unit.rebuilds.count() == 1


def show_a_stranger(floor, unit):
    """Point 8: whoever finds the label learns the type and the warranty, and no names."""
    page = floor.context().new_page()
    page.goto(f"{floor.server.url}/U/{unit.serial.lower()}")
    page.get_by_text(re.compile("^In warranty until")).wait_for()
    told = page.content()
    assert "Boarding ladder cylinder" in told
    secrets = [CUSTOMER, "Holm", "Alex", "240", "PO-7731", "W26-", REPORTED]
    secrets += [lot.number for lot in floor.lots.values()]
    assert [word for word in secrets if word in told] == []

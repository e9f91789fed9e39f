"""A small served shop with people at their browsers, for the tests that work as they do."""

import datetime as dt
import re
import time

from inventory.models import Kit, Lot
from inventory.services.kits import pack_kit
from shop.models import Port, UnitType
from shop.roles import BENCH, LEAD, RECEIVING, STORES, WARRANTY_DESK
from shop.services.writing import Act
from tests import factories
from tests.browser.watching import Watch
from tests.workorders.journey import make_type

FAR = dt.date(2090, 1, 1)  # the pages ask the real clock
DESKTOP, TABLET = {"width": 1280, "height": 800}, {"width": 820, "height": 1180}
SCREENS = {BENCH: TABLET}
KEY_S = 0.004  # between two keys of a scanner
# Not Playwright's own waiting, which a download leaves hanging.
LOADED = "new Promise((done) => document.readyState === 'complete' ? done() : addEventListener('load', done))"


class Floor:
    """The rows of a shop that has one unit type in its catalogue, and its people."""

    def __init__(self, browser, server):
        self.browser, self.server, self.watch = browser, server, Watch()
        self.revision = make_type()
        unit_type = self.revision.unit_type
        UnitType.objects.filter(pk=unit_type.pk).update(code="BL-25", name="Boarding ladder cylinder")
        Port.objects.filter(revision=self.revision).update(fitting="crimped")
        factories.ShopProfileFactory()
        self.people = {
            role: factories.person(role, username=role.replace(" ", "-"), printed_name=f"Alex {role.title()}")
            for role in (RECEIVING, BENCH, WARRANTY_DESK, STORES, LEAD)
        }
        self.gauge = factories.InstrumentFactory(code="G-20", name="test gauge", calibration=FAR)
        self.transducer = factories.InstrumentFactory(
            code="T-16", name="transducer", range_high=16, accuracy=0.04, resolution=0.001, calibration=FAR
        )
        self.micrometer = factories.InstrumentFactory(
            code="M-25",
            name="micrometer",
            quantity="length",
            unit="mm",
            range_high=25,
            accuracy=0.003,
            calibration=FAR,
        )
        self.kit = Kit.objects.get(revision=self.revision)
        Lot.objects.update(use_by=FAR)
        self.lots = {line: line.part.lots.get() for line in self.kit.lines.all()}
        self.packed = pack_kit(act=Act(by=self.people[STORES]), kit=self.kit, lots=self.lots)

    def context(self, role="", **options):
        """A browser context with the screen of a role, listened to."""
        context = self.browser.new_context(
            viewport=SCREENS.get(role, DESKTOP), reduced_motion="reduce", **options
        )
        context.set_default_timeout(15_000)
        self.watch.over(context)
        return context

    def sign_in(self, role, **options):
        """Sign a person in through the real page and return their page."""
        page = self.context(role, **options).new_page()
        page.goto(self.server.url)
        field(page, "Username").fill(self.people[role].username)
        field(page, "Password").fill(factories.PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.get_by_role("heading", level=1, name="In the shop").wait_for()
        return page


def scan(page, text):
    """Press the keys of a text as a scanner does, and Enter; nothing needs to have the focus.

    The keys carry their own times, so that a slow machine does not look like a slow hand.
    """
    page.evaluate(LOADED)  # a person does not scan before the page is there
    session = page.context.new_cdp_session(page)
    now = time.time()
    for place, key in enumerate(text):
        stamp = {"key": key, "timestamp": now + place * KEY_S}
        session.send("Input.dispatchKeyEvent", {"type": "keyDown", "text": key, **stamp})
        session.send("Input.dispatchKeyEvent", {"type": "keyUp", **stamp})
    enter = {"key": "Enter", "code": "Enter", "windowsVirtualKeyCode": 13, "text": "\r"}
    with page.expect_navigation():
        session.send(
            "Input.dispatchKeyEvent", {"type": "keyDown", "timestamp": now + len(text) * KEY_S, **enter}
        )
    session.detach()


def field(page, label):
    """Return the field of that label; a unit and “if any” may stand behind it."""
    return page.get_by_label(re.compile(rf"^\s*{re.escape(label)}( in .+)?( \(if any\))?\s*$"))


def tile(page, question, answer):
    """Tap a tile of a question."""
    group = page.get_by_role("group", name=re.compile(f"^{re.escape(question)}"))
    group.get_by_text(answer, exact=True).click()


def downloaded(page, name):
    """Click a link or button and return the bytes of the file that comes down."""
    with page.expect_download() as coming:
        page.get_by_role("link", name=name).first.click()
    return coming.value.path().read_bytes()


def shown_file(page, name):
    """Return the bytes behind a link that the browser would show in place of the page."""
    address = page.get_by_role("link", name=name).first.get_attribute("href")
    answer = page.request.get(page.url.split("/", 3)[0] + "//" + page.url.split("/", 3)[2] + address)
    assert answer.ok, (name, answer.status)
    return answer.body()


def heading(page, name):
    """Wait until a page with that heading has come."""
    page.get_by_role("heading", level=1, name=name).wait_for()

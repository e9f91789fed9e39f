"""The main acts with JavaScript switched off, and a double click with and without it."""

import pytest

from shop.roles import BENCH, RECEIVING
from shop.services.customers import save_customer
from shop.services.writing import Act
from tests.browser.floor import Floor, field, heading, tile
from tests.browser.serving import serving
from workorders.models import Finding, GoAhead, Rebuild, WorkOrder
from workorders.services.receiving import add_new_unit, open_work_order

PLAIN = {"java_script_enabled": False}


@pytest.fixture(scope="module")
def floor(django_db_setup, django_db_blocker, browser, tmp_path_factory):
    with django_db_blocker.unblock(), serving(tmp_path_factory.mktemp("plain")) as server:
        yield Floor(browser, server)


@pytest.fixture
def rebuild(floor):
    """A unit that has just been received."""
    act = Act(by=floor.people[RECEIVING])
    customer = save_customer(act=act, name="Sallow Bay Ferries")
    order = open_work_order(act=act, customer=customer)
    return add_new_unit(
        act=act,
        work_order=order,
        unit_type=floor.revision.unit_type,
        opened_before="not_before",
        arrival_condition="clean",
    )


def test_a_unit_is_received_without_javascript(floor):
    page = floor.sign_in(RECEIVING, **PLAIN)
    page.goto(floor.server.url + "/receive/")
    page.get_by_text("Not in the books: enter a new customer").click()
    field(page, "Name").fill("Groyne Lane Hire")
    page.get_by_role("button", name="Enter and open a work order").click()
    page.get_by_role("button", name="Open a work order").click()
    field(page, "Scan its shop serial, or search its type").fill("BL-25")
    page.get_by_role("button", name="Add a unit").click()
    page.get_by_role("link", name="BL-25 Boarding ladder cylinder").click()
    tile(page, "Opened before?", "cannot be told")
    page.get_by_role("button", name="Receive this unit").click()
    page.get_by_text("Condition on arrival: This is still empty.").wait_for()
    field(page, "Condition on arrival").fill("Clean, dry, caps on.")
    page.get_by_role("button", name="Receive this unit").click()
    page.get_by_text("Received: unit").wait_for()
    unit = Rebuild.objects.get(work_order__customer__name="Groyne Lane Hire")
    assert unit.arrival_condition == "Clean, dry, caps on."
    assert floor.watch.take() == []


def test_a_finding_is_recorded_without_javascript(floor, rebuild):
    page = floor.sign_in(BENCH, **PLAIN)
    page.goto(f"{floor.server.url}/rebuilds/{rebuild.pk}/teardown/")
    page.locator("a.tile", has_text="S2").click()
    tile(page, "Condition, as found", "worn")
    page.get_by_role("button", name="Save and go on").click()
    page.get_by_text("S2 piston seal: recorded.").wait_for()
    found = Finding.objects.get(rebuild=rebuild)
    assert (found.position.code, found.condition, found.cause) == ("S2", "worn", "not_determined")
    assert floor.watch.take() == []


def test_a_go_ahead_is_recorded_without_javascript(floor, rebuild):
    page = floor.sign_in(RECEIVING, **PLAIN)
    page.goto(f"{floor.server.url}/rebuilds/{rebuild.pk}/go-ahead/")
    tile(page, "How it was given", "in writing")
    field(page, "Given by").fill("M. Quill")
    field(page, "What is allowed").fill("All seals.")
    field(page, "Price ceiling").fill("180")
    page.get_by_role("button", name="Record the go-ahead").click()
    heading(page, "Rebuild 1")
    assert GoAhead.objects.get(rebuild=rebuild).given_by == "M. Quill"
    assert floor.watch.take() == []


@pytest.mark.parametrize("options", [{}, PLAIN], ids=["with JavaScript", "without JavaScript"])
def test_a_double_click_opens_one_work_order(floor, rebuild, options):
    before = WorkOrder.objects.count()
    page = floor.sign_in(RECEIVING, **options)
    page.goto(f"{floor.server.url}/receive/{rebuild.work_order.customer_id}/")
    page.get_by_role("button", name="Open a work order").dblclick()
    heading(page, rebuild.work_order.number[:4])
    assert WorkOrder.objects.count() == before + 1
    assert floor.watch.take() == []


def test_the_same_form_sent_twice_by_two_tabs_makes_one_record(floor, rebuild):
    """The network answers late, the page is opened again from the history, and it is sent once more."""
    page = floor.sign_in(RECEIVING)
    page.goto(f"{floor.server.url}/receive/{rebuild.work_order.customer_id}/")
    before = WorkOrder.objects.count()
    sent = page.locator("main form[method=post]").evaluate(
        """async (form) => {
            const send = () => fetch(form.action, { method: "POST", body: new FormData(form) });
            const answers = await Promise.all([send(), send()]);
            return answers.map((answer) => [answer.status, answer.url]);
        }"""
    )
    assert WorkOrder.objects.count() == before + 1
    assert sent[0] == sent[1]
    assert sent[0][0] == 200

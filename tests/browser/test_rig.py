"""A rig sends its file with the command, and the page of the open step shows it arriving by itself."""

import io
import threading

import pytest
from django.core.management import CommandError, call_command

from shop.roles import BENCH, LEAD
from shop.services.writing import Act
from tests.browser.floor import Floor
from tests.browser.serving import serving
from tests.workorders import bench as at_bench
from tests.workorders.journey import Journey
from workorders.models import LoggerFile, RigFile
from workorders.services import rigs

TIGHT = at_bench.TRACES / "hold_tight.csv"


@pytest.fixture(scope="module")
def floor(django_db_setup, django_db_blocker, browser, tmp_path_factory):
    with django_db_blocker.unblock(), serving(tmp_path_factory.mktemp("rig")) as server:
        yield Floor(browser, server)


def at_the_hold(floor):
    """A unit of the shop's one type on test, with the hold in turn and nothing confirmed for it yet."""
    journey = Journey(revision=floor.revision, people=floor.people)
    steps = list(floor.revision.test_plans.get().steps.all())
    hold = next(step for step in steps if step.kind == "hold")
    later = [step.title for step in steps if step.order >= hold.order]
    journey.receive().find().close_teardown().go_ahead().fit().close_build()
    return journey.start_test().run_steps(leave_out=later), hold


def test_a_trace_shows_on_the_open_step_without_a_reload(floor, tmp_path):
    journey, hold = at_the_hold(floor)
    test = journey.test
    act = Act(by=floor.people[LEAD])
    rig = rigs.save_rig(act=act, code="R-1", name="Bench rig")
    rigs.mount_instrument(act=act, rig=rig, instrument=floor.transducer)
    token_file = tmp_path / "token"
    token_file.write_text(rigs.make_token(act=act, rig=rig, used_for="logger")[1] + "\n")
    page = floor.sign_in(BENCH)
    page.goto(floor.server.url + test.get_absolute_url())
    page.get_by_text("Nothing has come from a rig for this test.").wait_for()
    page.evaluate("window.stayed = true")
    told = send(floor, token_file, test)
    assert told.startswith(f"Handed in for step {hold}")
    shown = page.get_by_role("link", name="Show it hold_tight.csv")
    shown.wait_for()
    assert page.evaluate("window.stayed")  # the page was not loaded again
    assert "hold_tight.csv, came at" in page.locator("#from-rigs-said").text_content()
    assert send(floor, token_file, test) == told  # sent again: nothing new
    assert RigFile.objects.count() == LoggerFile.objects.count() == 1
    journey.start_step(hold)
    shown.click()
    page.get_by_text("Not recorded yet.").wait_for()
    page.get_by_role("button", name="Record this step").click()
    page.get_by_role("heading", level=1, name="Pressure test").wait_for()
    assert test.results.get(step=hold).verdict == "passes"
    page.goto(floor.server.url + rig.get_absolute_url())
    page.locator("#from-rigs").get_by_text("recorded", exact=True).wait_for()
    refuse_a_wrong_token(floor, tmp_path, test)
    assert floor.watch.take() == []


def send(floor, token_file, test):
    """Run the command in a thread of its own: the browser's own is busy with the page."""
    said = io.StringIO()
    words = {"to": floor.server.url, "token_file": token_file, "serial": test.rebuild.unit.serial}
    job = threading.Thread(target=call_command, args=("send_trace", TIGHT), kwargs={**words, "stdout": said})
    job.start()
    job.join(60)
    return said.getvalue().strip()


def refuse_a_wrong_token(floor, tmp_path, test):
    wrong = tmp_path / "wrong"
    wrong.write_text("wrong")
    with pytest.raises(CommandError, match=r"Refused \(401\)"):
        call_command(
            "send_trace", TIGHT, to=floor.server.url, token_file=wrong, serial=test.rebuild.unit.serial
        )

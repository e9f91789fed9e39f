"""What was typed beside a logger file is never dropped, though no script runs: shown first, or refused."""

import uuid
from html.parser import HTMLParser

import pytest

from shop.services.writing import Act
from tests.workorders import bench as at_bench
from tests.workorders.bench_pages import send_file, text, url
from workorders.models import Reading
from workorders.services.readings import recomputed
from workorders.services.testing import supersede_test

pytestmark = pytest.mark.django_db
CHECK = {
    "blank_start_bar": "7.0",
    "blank_end_bar": "6.8",
    "blank_duration_s": "300",
    "blank_rig_ml_per_bar": "0.6",
    "blank_together_ml_per_bar": "1.0",
}
UNSEEN = "What you entered was not in the verdict yet"


class RecordForm(HTMLParser):
    """The fields that a browser without scripts sends with the form that records a step, in order."""

    def __init__(self, html):
        super().__init__()
        self.inside, self.owner, self.fields, self.select, self.area = None, {}, [], None, None
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        at = dict(attrs)
        if tag == "form":
            self.inside = at.get("id")
        mine, name = at.get("form", self.inside) == "record", at.get("name")
        kind = at.get("type")
        sent = kind not in ("file", "submit") and (kind not in ("checkbox", "radio") or "checked" in at)
        if tag == "input" and mine and name and sent:
            self.fields.append((name, at.get("value", "")))
        if tag == "select" and mine:
            self.select = len(self.fields)
            self.fields.append((name, ""))
        if tag == "option" and self.select is not None and "selected" in at:
            self.fields[self.select] = (self.fields[self.select][0], at.get("value", ""))
        if tag == "textarea" and mine:
            self.area = len(self.fields)
            self.fields.append((name, ""))

    def handle_data(self, data):
        if self.area is not None:
            self.fields[self.area] = (
                self.fields[self.area][0],
                self.fields[self.area][1] + data.lstrip("\n"),
            )

    def handle_endtag(self, tag):
        if tag == "form":
            self.inside = None
        if tag == "select":
            self.select = None
        if tag == "textarea":
            self.area = None


@pytest.fixture
def test(bench):
    """A test whose next step is the hold, at most 0.1 bar/min."""
    test = at_bench.started(bench)
    for step in at_bench.steps_of(test)[:2]:
        at_bench.record(bench, test, step)
    return test


@pytest.fixture
def limit(test):
    return at_bench.limits_of(at_bench.steps_of(test)[2])["decay"]


@pytest.fixture
def bench_client(client, bench):
    client.force_login(bench)
    return client


def typed(page, limit, **values):
    """What the form on a page sends after these values were typed into its fields that are seen."""
    data = {}
    for name, value in RecordForm(text(page)).fields:
        data.setdefault(name, []).append(value)
    for part, value in values.items():
        name = part if part in data else f"r{limit.pk}-{part}"
        data[name][-1] = value
    return {**data, "form_token": uuid.uuid4().hex}


def opened(client, test, limit):
    return client.get(send_file(client, test, limit, "hold_slow_leak.csv").url)


def test_a_file_recorded_as_shown_needs_no_second_press(bench_client, test, limit):
    page = opened(bench_client, test, limit)
    assert bench_client.post(url("test_step", test.pk, 3), typed(page, limit)).status_code == 302
    assert Reading.objects.get(limit=limit).observed.get("blank") is None


@pytest.mark.parametrize(
    "values",
    [CHECK, {"start": "30"}, {"end": "120"}, {"pressure": "1"}, {"start": "", "end": ""}],
    ids=["a check", "a start", "an end", "a column", "a window emptied"],
)
def test_what_was_typed_and_not_shown_is_shown_first_and_recorded_then(bench_client, test, limit, values):
    page = opened(bench_client, test, limit)
    shown = page.context["open"].files[0].proposal
    if "start" in values and values["start"] == "":  # the window chosen, so that the proposal differs from it
        page = bench_client.get(
            url("test_step", test.pk, 3), dict(hidden(page)) | {f"r{limit.pk}-start": "30"}
        )
    answer = bench_client.post(url("test_step", test.pk, 3), typed(page, limit, note="bled twice", **values))
    assert answer.status_code == 422
    assert UNSEEN in text(answer)
    assert not Reading.objects.filter(limit=limit).exists()
    proposal = answer.context["open"].files[0].proposal
    if values is CHECK:
        assert proposal.outcome.value == pytest.approx(shown.outcome.value - 0.6 * 0.04)
    again = typed(answer, limit)
    assert again["note"] == ["bled twice"]
    assert bench_client.post(url("test_step", test.pk, 3), again).status_code == 302
    assert bench_client.post(url("test_step", test.pk, 3), again).status_code == 302  # a double press
    reading = Reading.objects.get(limit=limit)
    assert reading.value == proposal.outcome.value
    assert recomputed(reading).arithmetic == reading.arithmetic == proposal.outcome.arithmetic


def hidden(page):
    return page.context["open"].files[0].hidden


def test_a_check_with_figures_missing_is_said_and_kept_in_its_fields(bench_client, test, limit):
    page = opened(bench_client, test, limit)
    answer = bench_client.post(
        url("test_step", test.pk, 3), typed(page, limit, blank_start_bar="7.0", note="bled twice")
    )
    assert answer.status_code == 422
    assert "Give pressures, time and both compliances" in text(answer)
    # Put right and pressed again: it was not in a verdict yet.
    again = typed(answer, limit, **CHECK)
    second = bench_client.post(url("test_step", test.pk, 3), again)
    assert second.status_code == 422
    assert UNSEEN in text(second)
    third = bench_client.post(url("test_step", test.pk, 3), typed(second, limit))
    assert third.status_code == 302
    assert Reading.objects.get(limit=limit).observed["blank"]["rig_ml_per_bar"] == 0.6


def test_showing_it_keeps_what_else_was_typed_and_records_nothing(bench_client, test, limit):
    page = opened(bench_client, test, limit)
    data = typed(page, limit, note="bled twice", **CHECK) | {"show": str(limit.pk)}
    answer = bench_client.post(url("test_step", test.pk, 3), data)
    assert answer.status_code == 200
    assert not Reading.objects.filter(limit=limit).exists()
    again = typed(answer, limit)
    assert again["note"] == ["bled twice"]
    assert UNSEEN not in text(answer)
    assert bench_client.post(url("test_step", test.pk, 3), again).status_code == 302
    assert Reading.objects.get(limit=limit).observed["blank"]["start_bar"] == 7.0


def test_a_test_set_aside_shows_no_file_any_more(bench_client, bench, test, limit):
    page = opened(bench_client, test, limit)
    data = typed(page, limit) | {"show": str(limit.pk)}
    supersede_test(act=Act(by=bench, at=at_bench.AT), test=test, reason="The wrong rig.")
    answer = bench_client.post(url("test_step", test.pk, 3), data)
    assert (answer.status_code, answer.url) == (302, test.get_absolute_url())

"""Logger files that are refused, instruments that do not count, charts, and sums done again."""

import json
import uuid
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.urls import reverse

from shop.errors import RuleBroken
from shop.models import StoredFile
from shop.services.files import place_of
from shop.services.writing import Act
from tests.workorders import bench as at_bench
from tests.workorders.bench_pages import confirm, send_file, shown
from workorders.models import LoggerFile, Reading, Trace
from workorders.services.logger_files import offer_file
from workorders.services.readings import recomputed

pytestmark = pytest.mark.django_db


@pytest.fixture
def test(bench):
    """A test whose next step is the hold."""
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


def no_files_kept():
    folder = Path(settings.FILES_DIR)
    return not [path for path in folder.rglob("*") if path.is_file()]


# -- files that are refused


def rows(count=600, line="{t:.1f};{p:.3f}\n"):
    return "".join(line.format(t=k / 10, p=7 - k / 1000) for k in range(count))


BAD = {
    "empty": (b"", "empty"),
    "blank": (b" \n\n", "empty"),
    "binary": (bytes(range(256)) * 40, "not text"),
    "picture": (b"\x89PNG\r\n\x1a\n" + bytes(300), "not text"),
    "spreadsheet": (b"PK\x03\x04" + bytes(300), "spreadsheet"),
    "one column": ("\n".join(str(k / 10) for k in range(600)).encode(), "one column"),
    "backwards": (("t [s];p [bar]\n" + rows() + "3.0;6.1\n" + rows(5)).encode(), "runs backwards"),
    "not a number": (("t [s];p [bar]\n" + rows(300) + "30.1;NaN\n").encode(), "is no number"),
    "prose": (b"this is not a trace at all\n" * 30, "no"),
}


@pytest.mark.parametrize("kind", BAD)
def test_a_bad_file_gets_a_clear_message_and_leaves_nothing_behind(bench_client, test, limit, kind):
    data, message = BAD[kind]
    answer = send_file(bench_client, test, limit, data)
    body = answer.content.decode()
    assert answer.status_code == 422
    assert message in body
    assert "Nothing was saved" in body
    assert not StoredFile.objects.exists()
    assert not LoggerFile.objects.exists()
    assert no_files_kept()


def test_a_file_over_the_size_limit_is_refused_before_it_is_read(bench_client, test, limit, settings):
    settings.UPLOAD_LIMIT_BYTES = 1024
    answer = send_file(bench_client, test, limit, "hold_tight.csv")
    assert answer.status_code == 422
    assert "upload limit" in answer.content.decode()
    assert not StoredFile.objects.exists()
    assert no_files_kept()


def test_the_address_of_the_upload_takes_no_get(bench_client, test, limit):
    address = reverse("workorders:logger_file_new", args=[test.pk, 3, limit.pk])
    assert bench_client.get(address).status_code == 405
    assert bench_client.post(reverse("workorders:logger_file_new", args=[test.pk, 3, 999])).status_code == 404


def test_no_file_at_all_is_refused(bench_client, test, limit):
    address = reverse("workorders:logger_file_new", args=[test.pk, 3, limit.pk])
    answer = bench_client.post(
        address, {"form_token": uuid.uuid4().hex, f"r{limit.pk}-instrument": at_bench.transducer().pk}
    )
    assert answer.status_code == 422
    assert not LoggerFile.objects.exists()


def test_columns_can_be_named_where_the_file_does_not_say_them(bench_client, test, limit):
    unknown = ("t [s];p [atm]\n" + rows()).encode()
    answer = send_file(bench_client, test, limit, unknown)
    assert answer.status_code == 422
    assert "is no pressure unit known here" in answer.content.decode()
    answer = send_file(bench_client, test, limit, unknown, time="0", pressure="1", pressure_unit="bar")
    page = bench_client.get(answer.url)
    assert shown(page).proposal.trace.mapping.pressure_unit == "bar"


def test_a_count_takes_no_logger_file(bench, test):
    strokes = at_bench.limits_of(at_bench.steps_of(test)[3])["strokes"]
    at_bench.record(bench, test, at_bench.steps_of(test)[2])
    with pytest.raises(RuleBroken, match="does not come from a logger file"):
        offer_file(
            act=Act(by=bench, at=at_bench.AT),
            test=test,
            limit=strokes,
            instrument=at_bench.transducer(),
            upload=at_bench.upload("hold_tight.csv"),
        )
    assert not StoredFile.objects.exists()


def test_a_logger_file_waits_for_its_turn(bench, client):
    test = at_bench.started(bench)
    with pytest.raises(RuleBroken, match="Record step 1"):
        at_bench.hand_in(bench, test, "hold_tight.csv")
    assert no_files_kept()


@pytest.mark.parametrize("role", ["receiving", "warranty desk", "stores", None])
def test_only_the_bench_and_the_lead_hand_in_files(client, test, limit, role):
    from tests import factories

    if role:
        client.force_login(factories.person(role))
    answer = send_file(client, test, limit, "hold_tight.csv")
    assert answer.status_code == (403 if role else 302)
    assert role or answer.url.startswith("/sign-in/")
    assert not LoggerFile.objects.exists()


# -- instruments of a trace


def test_a_transducer_out_of_calibration_makes_the_trace_invalid(bench, test, limit):
    import datetime as dt

    from tests import factories

    old = factories.InstrumentFactory(calibration=dt.date(2026, 3, 3), range_high=16.0, accuracy=0.04)
    row = at_bench.hand_in(bench, test, "hold_tight.csv", old)
    result = at_bench.record(bench, test, limit.step, decay=at_bench.trace_entry(row))
    assert result.verdict == "invalid"
    assert "out of calibration" in result.arithmetic


def test_a_transducer_whose_range_ends_below_the_trace_makes_it_invalid(bench, test, limit):
    row = at_bench.hand_in(bench, test, "hold_tight.csv", at_bench.transducer(range_high=7.3))
    result = at_bench.record(bench, test, limit.step, decay=at_bench.trace_entry(row))
    assert result.verdict == "invalid"
    assert "does not hold 7.3" in result.arithmetic


def test_a_coarse_gauge_cannot_decide_a_tight_hold(bench, test, limit):
    row = at_bench.hand_in(bench, test, "hold_tight.csv", at_bench.transducer(accuracy=0.6))
    result = at_bench.record(bench, test, limit.step, decay=at_bench.trace_entry(row))
    assert result.verdict == "not_decided"
    assert "the limit lies inside the uncertainty" in result.arithmetic


# -- computed again, and drawn


def test_a_changed_file_cannot_pass_for_the_stored_one(
    bench, test, limit, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        row = at_bench.hand_in(bench, test, "hold_tight.csv")
    at_bench.record(bench, test, limit.step, decay=at_bench.trace_entry(row))
    place_of(row.file.sha256).write_bytes((at_bench.TRACES / "hold_slow_leak.csv").read_bytes())
    with pytest.raises(RuleBroken, match="no longer has the bytes"):
        recomputed(Reading.objects.get(limit=limit))


def test_a_changed_window_shows_in_what_is_computed_again(bench, test, limit):
    row = at_bench.hand_in(bench, test, "hold_tight.csv")
    at_bench.record(bench, test, limit.step, decay=at_bench.trace_entry(row))
    reading = Reading.objects.get(limit=limit)
    assert recomputed(reading).arithmetic == reading.arithmetic
    reading.trace.window_end_s = 60.0
    assert recomputed(reading).verdict == "not_decided"


@pytest.mark.parametrize("theme", ["light", "dark", "strange"])
def test_the_chart_is_svg_without_inline_style_under_the_strict_policy(
    bench_client, bench, test, limit, theme
):
    row = at_bench.hand_in(bench, test, "hold_tight.csv")
    addresses = [reverse("workorders:logger_file_chart", args=[row.pk])]
    at_bench.record(bench, test, limit.step, decay=at_bench.trace_entry(row))
    addresses.append(reverse("workorders:trace_chart", args=[Trace.objects.get().pk]))
    for address in addresses:
        answer = bench_client.get(f"{address}?theme={theme}")
        svg = answer.content.decode()
        assert answer["Content-Type"] == "image/svg+xml"
        assert "unsafe-inline" not in answer["Content-Security-Policy"]
        assert "<svg" in svg
        assert "style=" not in svg
        assert "<script" not in svg
        assert "Hold at 7 bar: pressure from" in svg


def test_a_chart_follows_the_window_that_is_asked_for(bench_client, bench, test, limit):
    row = at_bench.hand_in(bench, test, "hold_tight.csv")
    address = reverse("workorders:logger_file_chart", args=[row.pk])
    prefix = f"r{limit.pk}"
    part = bench_client.get(f"{address}?{prefix}-start=20&{prefix}-end=90").content.decode()
    assert "evaluated from 20.0 to 89.9 s" in part
    assert bench_client.get(f"{address}?{prefix}-start=900").status_code == 404


def test_charts_are_for_signed_in_people(client, bench, test, limit):
    row = at_bench.hand_in(bench, test, "hold_tight.csv")
    address = reverse("workorders:logger_file_chart", args=[row.pk])
    assert client.get(address).url.startswith("/sign-in/")


def test_the_figures_stand_on_the_page_beside_the_chart(bench_client, bench, test, limit):
    row = at_bench.hand_in(bench, test, "hold_tight.csv")
    at_bench.record(bench, test, limit.step, decay=at_bench.trace_entry(row))
    body = bench_client.get(test.get_absolute_url()).content.decode()
    assert "0.0141" in body
    assert "(prefers-color-scheme: dark)" in body
    trace = Trace.objects.get()
    page = bench_client.get(reverse("workorders:trace", args=[trace.pk])).content.decode()
    assert "How the uncertainty of decay adds up" in page
    assert "scatter about the line, raised for samples that are alike" in page
    assert "0.014096" in page
    assert trace.file.sha256 in page


def test_the_observation_names_the_file_by_its_digest(bench, test, limit):
    row = at_bench.hand_in(bench, test, "hold_tight.csv")
    at_bench.record(bench, test, limit.step, decay=at_bench.trace_entry(row))
    observed = Reading.objects.get(limit=limit).observed
    assert observed["sha256"] == row.file.sha256
    assert json.loads(json.dumps(observed)) == observed


def test_a_file_with_time_stamps_is_recorded_as_it_is_shown(bench_client, bench, test, limit):
    """A stamp has no unit to choose, so none is sent back."""
    start = datetime(2026, 3, 4, 9, 59, 59)
    lines = [
        f"{start + timedelta(seconds=k):%Y-%m-%d %H:%M:%S};{7.3 - k / 60 * 0.02:.5f}" for k in range(180)
    ]
    data = "\n".join(["stamp;pressure [bar]", *lines, ""]).encode()
    page = bench_client.get(send_file(bench_client, test, limit, data).url)
    assert 'value="None"' not in page.content.decode()
    assert None not in dict(shown(page).hidden).values()
    assert confirm(bench_client, page, test).status_code == 302
    reading = Reading.objects.get(limit=limit)
    assert reading.value == pytest.approx(0.02, abs=1e-5)
    assert recomputed(reading).arithmetic == reading.arithmetic

"""Long logger files: put aside, read by another process, kept as columns, and never half stored."""

import time
import uuid
from pathlib import Path

import numpy as np
import pytest
from django.conf import settings
from django.urls import reverse

from shop.models import FormToken, StoredFile
from shop.services.files import place_of
from tests.workorders import bench as at_bench
from tests.workorders.bench_pages import confirm, send_file, shown
from tests.workorders.test_trace_fuzz_upload import WHOLE
from workorders.calc.trace import read_source
from workorders.models import LoggerFile, Reading
from workorders.services import trace_kept, trace_sources, trace_waiting
from workorders.services.readings import recomputed
from workorders.services.trace_sources import columns_folder, stored_source

pytestmark = pytest.mark.django_db
LEAK = (at_bench.TRACES / "hold_slow_leak.csv").read_bytes()


@pytest.fixture(autouse=True)
def _everything_is_long(monkeypatch):
    monkeypatch.setattr(trace_sources, "LONG_BYTES", 1)


@pytest.fixture
def read_here(monkeypatch):
    """Read in this process at the second question, as if the other process had taken a while."""
    asked = []

    def begin(path, folder):
        asked.append(path)
        if len(asked) % 2 == 0:
            trace_kept.main(path, folder)

    monkeypatch.setattr(trace_waiting._READERS, "begin", begin)
    return asked


@pytest.fixture
def test(bench):
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


def files_left():
    """Files of the record, and what waits beside them to be read."""
    files = Path(settings.FILES_DIR)
    return [
        path for place in (files, files.parent / "waiting") for path in place.rglob("*") if path.is_file()
    ]


def go_on(client, page):
    data = {"form_token": str(page.context["key"]), "waiting": "yes"}
    return client.post(page.context["back"], data)


def waited(client, test, limit, data):
    """Send a file and wait until it is read; return the page that says so."""
    answer = send_file(client, test, limit, data)
    assert answer.status_code == 302
    first = client.get(answer.url)
    if first.context["is_reading"]:
        assert "is being read" in first.content.decode()
    return client.get(answer.url)


def test_a_long_file_waits_is_read_and_shown(bench_client, test, limit, read_here):
    page = waited(bench_client, test, limit, LEAK)
    assert "has ended" in page.content.decode()
    assert not LoggerFile.objects.exists()
    answer = go_on(bench_client, page)
    row = LoggerFile.objects.get()
    assert place_of(row.file.sha256).name == row.file.sha256
    told = shown(bench_client.get(answer.url)).proposal
    assert told.trace.rows == 1408
    again = go_on(bench_client, page)
    assert (again.status_code, again.url) == (302, answer.url)
    assert LoggerFile.objects.count() == StoredFile.objects.count() == 1


def test_the_same_request_twice_leaves_one_file_waiting(bench_client, test, limit, read_here):
    address = reverse("workorders:logger_file_new", args=[test.pk, 3, limit.pk])
    token = uuid.uuid4()
    sent = {
        "form_token": token.hex,
        f"r{limit.pk}-instrument": at_bench.transducer().pk,
    }
    first, second, third, fourth = (
        bench_client.post(address, {**sent, f"r{limit.pk}-file": at_bench.upload("hold_tight.csv")})
        for _ in range(4)
    )
    assert first.url == second.url == f"{address}reading/{token}/"
    assert third.url != first.url  # it was read meanwhile, so this one goes on by itself
    assert fourth.url == third.url
    assert LoggerFile.objects.count() == FormToken.objects.filter(token=token).count() == 1


def test_a_long_file_that_cannot_be_read_leaves_nothing(bench_client, test, limit, read_here):
    page = waited(bench_client, test, limit, b"t [s];p [bar]\n" + b"1;2\n" * 3)
    answer = go_on(bench_client, page)
    body = answer.content.decode()
    assert answer.status_code == 422
    assert "3 rows of readings; at least 5" in body
    assert "Nothing of the file was kept" in body
    assert files_left() == []
    assert not columns_folder().exists() or not any(columns_folder().iterdir())
    assert not StoredFile.objects.exists()
    assert bench_client.get(page.request["PATH_INFO"]).status_code == 404
    gone = go_on(bench_client, page)
    assert gone.status_code == 422
    assert "no longer here" in gone.content.decode()


@pytest.mark.parametrize("name", WHOLE)
def test_a_long_file_that_is_odd_as_a_whole_leaves_all_or_nothing(bench_client, test, limit, read_here, name):
    sent = send_file(bench_client, test, limit, WHOLE[name])
    if sent.status_code == 302:
        bench_client.get(sent.url)
        sent = go_on(bench_client, bench_client.get(sent.url))
    if sent.status_code == 422:
        assert files_left() == []
        assert not LoggerFile.objects.exists()
        assert not StoredFile.objects.exists()
        return
    assert sent.status_code == 302
    assert len(files_left()) == LoggerFile.objects.count() == StoredFile.objects.count() == 1
    assert confirm(bench_client, bench_client.get(sent.url), test).status_code in (302, 422)


def test_going_on_too_soon_goes_back_to_waiting(bench_client, test, limit, monkeypatch):
    monkeypatch.setattr(trace_waiting._READERS, "begin", lambda path, folder: None)
    answer = send_file(bench_client, test, limit, LEAK)
    page = bench_client.get(answer.url)
    assert go_on(bench_client, page).url == answer.url
    assert not LoggerFile.objects.exists()


def test_the_reading_process_reads_and_one_that_died_is_started_again(bench_client, test, limit):
    answer = send_file(bench_client, test, limit, LEAK)
    readers = trace_waiting._READERS
    (first,) = readers._running.values()
    first.kill()
    first.wait()
    end = time.monotonic() + 120
    while bench_client.get(answer.url).context["is_reading"]:
        assert time.monotonic() < end
        time.sleep(0.3)
    assert go_on(bench_client, bench_client.get(answer.url)).status_code == 302
    assert stored_source(StoredFile.objects.get()).columns[0].values.size == 1408


def test_kept_columns_are_those_of_the_file_and_damage_is_read_anew(tmp_path):
    source = read_source(data=LEAK)
    folder = trace_kept.kept_folder(tmp_path, "ab")
    assert trace_kept.kept_source(folder, checked=True) is None
    trace_kept.keep_source(folder, source)
    trace_kept.keep_source(folder, source)
    kept = trace_kept.kept_source(folder, checked=True)
    assert kept.warnings == source.warnings
    assert list(kept.lines) == list(source.lines)
    for one, other in zip(kept.columns, source.columns, strict=True):
        assert np.array_equal(one.values, other.values)
        assert (one.label, one.unit, one.quantity) == (other.label, other.unit, other.quantity)
    raw = bytearray((folder / "columns.npy").read_bytes())
    raw[-5] ^= 1
    (folder / "columns.npy").write_bytes(raw)
    assert trace_kept.kept_source(folder, checked=True) is None
    assert not folder.exists()
    assert [path.name for path in tmp_path.iterdir()] == []


def test_what_was_not_used_longest_is_dropped_first(tmp_path):
    source = read_source(data=LEAK)
    folders = [trace_kept.kept_folder(tmp_path, name) for name in ("aa", "bb", "cc")]
    for folder in folders:
        trace_kept.keep_source(folder, source)
    trace_kept.kept_source(folders[0], checked=False)
    size = sum(path.stat().st_size for path in folders[0].iterdir())
    trace_kept.drop_unused(tmp_path, most_bytes=2 * size)
    assert [folder.exists() for folder in folders] == [True, False, True]


def test_a_recorded_reading_is_computed_again_with_and_without_kept_columns(bench, test, limit):
    row = at_bench.hand_in(bench, test, "hold_slow_leak.csv")
    at_bench.record(bench, test, limit.step, decay=at_bench.trace_entry(row))
    reading = Reading.objects.get(limit=limit)
    (kept,) = columns_folder().iterdir()
    assert recomputed(reading).arithmetic == reading.arithmetic
    for path in kept.iterdir():
        path.unlink()
    kept.rmdir()
    assert recomputed(reading).arithmetic == reading.arithmetic
    assert kept.exists()


def test_what_is_left_waiting_for_a_day_is_dropped(bench_client, test, limit, read_here, monkeypatch):
    send_file(bench_client, test, limit, LEAK)
    assert files_left()
    monkeypatch.setattr(trace_waiting, "FORGOTTEN_S", -1.0)
    trace_waiting._drop_forgotten()
    assert files_left() == []


@pytest.mark.parametrize("role", ["receiving", "warranty desk", "stores", None])
def test_only_those_who_test_may_wait(client, test, limit, role):
    from tests import factories

    if role:
        client.force_login(factories.person(role))
    address = reverse("workorders:logger_file_reading", args=[test.pk, 3, limit.pk, uuid.uuid4()])
    assert client.get(address).status_code == (403 if role else 302)
    assert client.post(address).status_code in (302, 403, 405)


# -- samples for the chart


def test_samples_of_a_part_are_those_of_the_file(bench_client, bench, test, limit):
    row = at_bench.hand_in(bench, test, "hold_slow_leak.csv")
    address = reverse("workorders:logger_file_samples", args=[row.pk])
    told = bench_client.get(f"{address}?from=10&to=20&dots=500&columns=2,1").json()
    lines = [line.split(";") for line in LEAK.decode().split()]
    time_s = [float(cell[0].replace(".", "")) / 1e6 for cell in lines]  # microseconds, dotted
    inside = [place for place, at in enumerate(time_s) if 10 <= at <= 20]
    assert told["samples"] == len(inside)
    assert told["complete"]
    assert told["time"][1:-1] == pytest.approx([time_s[place] for place in inside])
    assert told["values"][0][1:-1] == pytest.approx([float(lines[place][2]) for place in inside])
    assert told["values"][1][1:-1] == pytest.approx([float(lines[place][1]) for place in inside])
    assert [channel["index"] for channel in told["channels"]] == [1, 2]


def test_samples_of_the_whole_keep_the_least_and_the_greatest(bench_client, bench, test, limit):
    row = at_bench.hand_in(bench, test, "hold_slow_leak.csv")
    address = reverse("workorders:logger_file_samples", args=[row.pk])
    told = bench_client.get(f"{address}?dots=20").json()
    bar = [float(line.split(";")[2]) for line in LEAK.decode().split()]
    assert not told["complete"]
    assert len(told["time"]) <= 42
    assert (min(told["values"][0]), max(told["values"][0])) == (min(bar), max(bar))


@pytest.mark.parametrize(
    "query", ["from=x", "columns=9", "columns=a", "dots=0", "from=5&to=1", "columns=0,99"]
)
def test_a_part_that_is_none_is_not_found(bench_client, bench, test, limit, query):
    row = at_bench.hand_in(bench, test, "hold_slow_leak.csv")
    address = reverse("workorders:logger_file_samples", args=[row.pk])
    assert bench_client.get(f"{address}?{query}").status_code == 404
    assert bench_client.post(address).status_code == 405

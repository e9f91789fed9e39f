"""Damaged logger files by the upload form: read or refused, never half stored, never an error of ours."""

import json
from pathlib import Path

import pytest
from django.conf import settings as site
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shop.models import StoredFile
from tests.workorders import bench as at_bench
from tests.workorders.bench_pages import confirm, send_file, url
from tests.workorders.test_trace_fuzz import DAMAGE, SOURCES, damaged
from workorders.models import LoggerFile, Reading, StepResult, Trace
from workorders.services.readings import recomputed

pytestmark = pytest.mark.django_db
RANDOM = settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
CRUEL = st.sampled_from(
    [
        b"\0" * 40,
        b"9" * 70_000,
        b"nan;nan;nan\n",
        b"-12.000;1;2\n",
        b"inf;-inf;1e400\n",
        b'"' * 3,
        "Ω−１２；".encode(),
        "12;13\n".encode("utf-16"),
        b"\xff\xfe\xfd",
        b";" * 500 + b"\n",
        b"00:00:00.000;1;2\n31.02.2024 25:61:61;1;2\n",
        b"\r\r\n\n\x1a\f",
        b"1_0;0x1f;1d5\n",
        b"=1+2;@SUM(A1);-2+3\n",
        b"7;1e308\n8;-1e308\n",
    ]
)


def rows(write, count=40):
    """A file of so many rows, by the time in s and a pressure that falls."""
    return "".join(f"{write(k * 5, 7 - k / 500)}\n" for k in range(count))


# Files that are wrong as a whole, or odd as a whole.
PLAIN = "time [s];pressure [bar]\n" + rows(lambda t, p: f"{t};{p:.3f}")
WHOLE = {
    "empty": b"",
    "nothing but NUL": b"\0" * 5000,
    "one column": rows(lambda t, p: f"{p:.3f}").encode(),
    "ten thousand columns": (";".join(f"c{k}" for k in range(10_000)) + "\n").encode()
    + rows(lambda t, p: ";".join([str(t)] + [f"{p:.3f}"] * 9_999), 8).encode(),
    "a row of ten thousand": (PLAIN + ";1" * 10_000 + "\n").encode(),
    "formulas": rows(lambda t, p: f"=A{t};=B{t}*{p:.2f}").encode(),
    "formula beside numbers": rows(lambda t, p: f"{t};{p:.3f};=HYPERLINK(B{t})").encode(),
    "time backwards": rows(lambda t, p: f"{1000 - t};{p:.3f}").encode(),
    "time stands still": rows(lambda t, p: f"5;{p:.3f}").encode(),
    "separators mixed": rows(lambda t, p: f"{t};{p:.3f}" if t % 2 else f"{t},{p:.3f}\t1").encode(),
    "not a number": rows(lambda t, p: f"{t};nan").encode(),
    "infinite": rows(lambda t, p: f"{t};inf").encode(),
    "as large as numbers go": rows(lambda t, p: f"{t};{p:.3f}e307").encode(),
    "time as large as numbers go": rows(lambda t, p: f"{t + 1}e305;{p:.3f}").encode(),
    "as small as numbers go": rows(lambda t, p: f"{t};{p:.3f}e-320").encode(),
    "time as small as numbers go": rows(lambda t, p: f"{t}e-322;{p:.3f}").encode(),
    "too precise": rows(lambda t, p: f"{t};{p:.3f}{'1' * 3000}").encode(),
    "heading with NUL": PLAIN.replace("pressure", "press\0ure").encode(),
    "heading of 20 000 signs": PLAIN.replace("pressure", "pressure" * 2500).encode(),
    "heading of markup": PLAIN.replace("pressure", "<script>p</script>").encode(),
    "lone surrogate": PLAIN.encode("utf-16-le").replace(b"p\0", b"\0\xd8", 1),
    "UTF-16 without its mark": PLAIN.encode("utf-16-le"),
    "UTF-32": PLAIN.encode("utf-32"),
    "code page 1252": PLAIN.replace("[bar]", "[bar] °").encode("cp1252"),
    "EBCDIC": PLAIN.encode("cp500"),
    "a compressed file": b"PK\x03\x04" + bytes(range(256)) * 40,
    "quotes that never close": PLAIN.replace("\n", '\n"', 3).encode(),
    "a good file": PLAIN.encode(),
}
NAMES = st.sampled_from(
    ["log.csv", "../../etc/log.csv", "l\0g.csv", "=1+1.csv", "ø" * 300 + ".csv", ".csv", "log"]
)


@pytest.fixture
def test(bench):
    test = at_bench.started(bench)
    for step in at_bench.steps_of(test)[:2]:
        at_bench.record(bench, test, step)
    return test


@pytest.fixture
def limit(test):
    return at_bench.limits_of(at_bench.steps_of(test)[2])["decay"]


def kept():
    return {path.name for path in Path(site.FILES_DIR).rglob("*") if path.is_file()}


def nothing_half_done(limit):
    """Every row has its file, every file its row; a result has its reading, and that its trace."""
    files = set(StoredFile.objects.values_list("sha256", flat=True))
    assert {name.partition(".")[0] for name in kept()} == files
    assert LoggerFile.objects.count() == StoredFile.objects.count()
    results = StepResult.objects.filter(step=limit.step).count()
    assert Reading.objects.filter(limit=limit).count() == Trace.objects.count() == results


class _Undo(Exception):
    """Ends one example; the next one meets the test as it was."""


@pytest.mark.parametrize("name", WHOLE)
def test_a_file_that_is_odd_as_a_whole_is_refused_whole_or_recorded_whole(client, bench, test, limit, name):
    client.force_login(bench)
    _through_the_pages(client, test, limit, WHOLE[name], {})


def test_a_good_file_is_recorded(client, bench, test, limit):
    """The way above does lead to a record: nothing is refused that should not be."""
    client.force_login(bench)
    _through_the_pages(client, test, limit, WHOLE["a good file"], {})
    assert Reading.objects.filter(limit=limit).exists()


@settings(RANDOM, max_examples=12)
@given(name=NAMES, data=st.sampled_from(sorted(WHOLE)))
def test_no_name_of_a_file_does_harm(client, bench, test, limit, name, data):
    client.force_login(bench)
    _each_by_itself(client, test, limit, WHOLE[data], {}, name)


@RANDOM
@given(
    source=st.sampled_from(SOURCES),
    damages=st.lists(DAMAGE, max_size=3),
    cruel=st.lists(st.tuples(st.integers(0, 40_000), CRUEL), max_size=2),
    window=st.sampled_from(
        [{}, {"start": "5", "end": "60"}, {"start": "nan"}, {"end": "-1"}, {"start": "1e308"}]
    ),
)
def test_any_damaged_file_is_refused_whole_or_recorded_whole(
    client, bench, test, limit, source, damages, cruel, window
):
    data = damaged(source, damages)
    for place, piece in cruel:
        at = place % max(len(data), 1)
        data = data[:at] + piece + data[at:]
    client.force_login(bench)
    _each_by_itself(client, test, limit, data, window)


def _each_by_itself(client, test, limit, data, window, name="log.csv"):
    before = kept()
    try:
        with transaction.atomic():
            _through_the_pages(client, test, limit, data, window, name)
            raise _Undo
    except _Undo:
        for path in Path(site.FILES_DIR).rglob("*"):
            if path.is_file() and path.name not in before:
                path.unlink()


def _through_the_pages(client, test, limit, data, window, name="log.csv"):
    answer = send_file(client, test, limit, data, file_name=name)
    if answer.status_code == 422:
        assert not LoggerFile.objects.exists()
        assert not StoredFile.objects.exists()
        assert kept() == set()
        return
    assert answer.status_code == 302
    nothing_half_done(limit)
    asked = "&".join(f"r{limit.pk}-{name}={value}" for name, value in window.items())
    page = client.get(f"{answer.url.partition('#')[0]}&{asked}")
    assert page.status_code == 200
    row = LoggerFile.objects.get()
    samples = client.get(url("logger_file_samples", row.pk))
    assert samples.status_code in (200, 404)
    if samples.status_code == 200:
        json.loads(samples.content, parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))
    assert client.get(url("logger_file_chart", row.pk)).status_code in (200, 404)
    recorded = confirm(client, page, test)
    assert recorded.status_code in (302, 422)
    nothing_half_done(limit)
    if recorded.status_code == 302:
        reading = Reading.objects.get(limit=limit)
        assert recomputed(reading).arithmetic == reading.arithmetic
        assert client.get(url("trace", Trace.objects.get().pk)).status_code == 200

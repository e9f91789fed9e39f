"""Damaged logger files through the pages: read or refused, never half stored, never an error of ours."""

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
    ]
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
    before = kept()
    try:
        with transaction.atomic():
            _through_the_pages(client, test, limit, data, window)
            raise _Undo
    except _Undo:
        for path in Path(site.FILES_DIR).rglob("*"):
            if path.is_file() and path.name not in before:
                path.unlink()


def _through_the_pages(client, test, limit, data, window):
    answer = send_file(client, test, limit, data)
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

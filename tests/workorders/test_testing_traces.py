"""Logger files through the pages: handed in, shown, confirmed, remembered, refused."""

import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from shop.errors import RuleBroken
from shop.models import StoredFile
from shop.services.files import place_of, read_bytes
from shop.services.writing import Act
from tests.workorders import bench as at_bench
from tests.workorders.bench_pages import confirm, send_file, shown
from workorders.models import Instrument, LoggerFile, Reading, StepResult, Trace
from workorders.services.logger_files import offer_file
from workorders.services.readings import recomputed_verdict
from workorders.services.step_results import HandHoldEntry

pytestmark = pytest.mark.django_db
# Ordinary least squares over each whole hold, by NumPy: fixtures/traces/SOURCE.md.
SLOPES = {
    "hold_tight.csv": (0.014096, 0.000116, 1508, 151.3),
    "hold_slow_leak.csv": (0.043344, 0.000166, 1408, 141.4),
    "hold_fast_leak.csv": (1.3665, 0.0534, 1443, 144.5),
}


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


# -- the shared traces through the real pages


@pytest.mark.parametrize("name", SLOPES)
def test_a_shared_hold_comes_in_without_help_and_gives_its_published_slope(bench_client, test, limit, name):
    slope, error, rows, seconds = SLOPES[name]
    page = bench_client.get(send_file(bench_client, test, limit, name).url)
    assert page.status_code == 200
    fit = shown(page).proposal.evaluated.fit
    assert fit.decay_bar_per_min == pytest.approx(slope, rel=1e-4)
    assert fit.standard_error_bar_per_min == pytest.approx(error, rel=5e-3)
    assert not Trace.objects.exists()
    assert confirm(bench_client, page, test).status_code == 302
    trace = Trace.objects.get()
    assert (trace.rows, trace.window_start_s) == (rows, 0.0)
    assert trace.window_end_s == pytest.approx(seconds, abs=0.1)
    assert trace.decay_bar_per_min == pytest.approx(slope, rel=1e-4)
    assert trace.straight == (name != "hold_fast_leak.csv")
    assert recomputed_verdict(trace.reading) == trace.reading.verdict


@pytest.mark.parametrize(
    ("name", "verdict"), [("hold_tight.csv", "passes"), ("hold_slow_leak.csv", "passes")]
)
def test_a_straight_hold_is_decided_with_its_uncertainty(bench_client, test, limit, name, verdict):
    page = bench_client.get(send_file(bench_client, test, limit, name).url)
    body = page.content.decode()
    assert "a straight line" in body
    confirm(bench_client, page, test)
    reading = Reading.objects.get(limit=limit)
    assert reading.verdict == verdict
    assert "uncertainty ±" in reading.arithmetic
    assert reading.value == Trace.objects.get().decay_bar_per_min


def test_the_fast_leak_is_called_not_a_straight_line_and_never_passes(bench_client, test, limit):
    page = bench_client.get(send_file(bench_client, test, limit, "hold_fast_leak.csv").url)
    body = page.content.decode()
    assert "Not a straight line" in body
    assert "not a number to trust" in body
    confirm(bench_client, page, test)
    reading = Reading.objects.get(limit=limit)
    # The chamber loses nearly all its pressure: no line is needed to say that it fails.
    assert reading.verdict == "fails"
    assert "not a straight line (emptying" in reading.arithmetic
    assert "on average" in reading.arithmetic
    page = bench_client.get(test.get_absolute_url()).content.decode()
    assert "not a number to trust" in page


def test_a_part_of_the_fast_leak_that_bends_is_not_decided(bench_client, test, limit):
    first = send_file(bench_client, test, limit, "hold_fast_leak.csv").url
    # From shutting the supply to a little below half of the pressure left: bent, and not empty.
    address = first.replace("#step", f"&r{limit.pk}-start=0&r{limit.pk}-end=8#step")
    page = bench_client.get(address)
    fit = shown(page).proposal.evaluated.fit
    assert fit.last_bar > 0.5 * fit.first_bar
    assert not fit.straight
    assert shown(page).proposal.outcome.verdict == "not_decided"
    assert "not a straight line" in shown(page).proposal.outcome.arithmetic


def test_the_stroke_file_comes_in_with_all_its_channels(bench_client, test, limit):
    page = bench_client.get(send_file(bench_client, test, limit, "stroke_oring_5bar.csv").url)
    columns = shown(page).proposal.trace.columns
    # Seven columns: time in ms, laser V, pressure V, force V, position mm, pressure bar, force N.
    assert len(columns) == 7
    assert shown(page).proposal.trace.rows == 10_321
    assert shown(page).proposal.trace.mapping.time_unit == "ms"
    # Of the volts and the bar made of them, the larger: the sixth column.
    assert shown(page).proposal.trace.mapping.pressure_column == 5
    assert "All 7 columns of the file" in page.content.decode()
    assert confirm(bench_client, page, test).status_code == 302
    trace = Trace.objects.get()
    body = bench_client.get(reverse("workorders:trace", args=[trace.pk])).content.decode()
    assert "All 7 columns of the file" in body
    assert "248.779" in body  # the first force, in N
    # Held at 5 bar, not at the 7 bar of the plan: never a pass for this step.
    assert trace.reading.verdict == "not_decided"


def test_the_file_is_stored_as_it_was_uploaded(
    bench_client, test, limit, bench, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        page = bench_client.get(send_file(bench_client, test, limit, "hold_tight.csv").url)
    confirm(bench_client, page, test)
    trace = Trace.objects.get()
    original = (at_bench.TRACES / "hold_tight.csv").read_bytes()
    assert read_bytes(trace.file) == original
    assert place_of(trace.file.sha256).read_bytes() == original
    assert (trace.file.kind, trace.file.name, trace.file.by) == ("trace", "hold_tight.csv", bench)
    answer = bench_client.get(trace.file.get_absolute_url())
    assert answer.content == original
    assert answer["Content-Disposition"].startswith("attachment")


# -- window and mapping


def test_the_window_is_chosen_by_numbers_and_that_window_is_recorded(bench_client, test, limit):
    first = send_file(bench_client, test, limit, "hold_tight.csv").url
    page = bench_client.get(first.replace("#", f"&r{limit.pk}-start=10&r{limit.pk}-end=140#"))
    assert "window" in page.content.decode()
    fit = shown(page).proposal.evaluated.fit
    assert (fit.start_s, fit.end_s) == (pytest.approx(10, abs=0.11), pytest.approx(140, abs=0.11))
    confirm(bench_client, page, test)
    trace = Trace.objects.get()
    assert (trace.window_start_s, trace.window_end_s) == (fit.start_s, fit.end_s)
    assert trace.decay_bar_per_min == fit.decay_bar_per_min


def test_a_window_is_proposed_after_the_supply_is_shut_and_said_so(bench_client, bench, test, limit):
    """Pumped up in 20 s, then held: the proposal starts where it is shut; the plan's 120 s are kept."""
    rows = "".join(
        f"{k / 10:.1f};{min(k / 200 * 8, 8 - 0.03 / 600 * max(0, k - 200)):.4f}\n" for k in range(2000)
    )
    upload = SimpleUploadedFile("pumped.csv", ("time [s];pressure [bar]\n" + rows).encode(), "text/csv")
    row = offer_file(
        act=Act(by=bench, at=at_bench.AT),
        test=test,
        limit=limit,
        instrument=at_bench.transducer(),
        upload=upload,
    )
    address = reverse("workorders:test_step", args=[test.pk, 3])
    page = bench_client.get(f"{address}?r{limit.pk}-file={row.pk}")
    fit = shown(page).proposal.evaluated.fit
    assert fit.start_s == pytest.approx(20, abs=1.5)
    assert fit.end_s == pytest.approx(199.9)
    assert "Window: the supply is taken as shut at 2" in page.content.decode()
    assert confirm(bench_client, page, test).status_code == 302
    assert Trace.objects.get().window_start_s == fit.start_s
    # A window chosen by hand is no proposal.
    page = bench_client.get(f"{address}?r{limit.pk}-file={row.pk}&r{limit.pk}-start=0")
    assert shown(page).proposal.evaluated.fit.start_s == 0
    assert "Window: " not in page.content.decode()


def test_a_window_shorter_than_the_plan_is_not_decided(bench_client, test, limit):
    first = send_file(bench_client, test, limit, "hold_tight.csv").url
    page = bench_client.get(first.replace("#", f"&r{limit.pk}-start=0&r{limit.pk}-end=100#"))
    outcome = shown(page).proposal.outcome
    assert outcome.verdict == "not_decided"
    assert "of the 120 s that the plan asks for" in outcome.arithmetic


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ("start=500", "at different times are needed"),
        ("start=20&R-end=20", "at different times are needed"),
        ("start=abc", "Enter a number"),
        ("time=2&R-pressure=2", "is chosen as time and as pressure"),
        ("time=1", "runs backwards"),
    ],
)
def test_a_choice_that_does_not_fit_says_so_and_records_nothing(bench_client, test, limit, change, message):
    first = send_file(bench_client, test, limit, "hold_tight.csv").url
    query = f"&r{limit.pk}-" + change.replace("R-", f"r{limit.pk}-")
    page = bench_client.get(first.replace("#", query + "#"))
    assert page.status_code == 200
    assert message in page.content.decode()
    data = {
        pair.split("=")[0]: pair.split("=")[1]
        for pair in (first.partition("?")[2].split("#")[0] + query).split("&")
    }
    address = reverse("workorders:test_step", args=[test.pk, 3])
    answer = bench_client.post(address, {"form_token": uuid.uuid4().hex, "note": "", **data})
    assert answer.status_code == 422
    assert not Trace.objects.exists()
    assert not StepResult.objects.filter(step=limit.step).exists()


def test_the_mapping_is_changeable(bench_client, test, limit):
    first = send_file(bench_client, test, limit, "hold_tight.csv").url
    volts = bench_client.get(first.replace("#", f"&r{limit.pk}-pressure=1&r{limit.pk}-pressure_unit=bar#"))
    assert shown(volts).proposal.trace.mapping.pressure_column == 1
    assert shown(volts).proposal.evaluated.fit.first_bar == 3.658


def test_a_confirmed_mapping_is_remembered_and_applied_to_the_next_file_of_the_same_shape(
    bench_client, bench, test, limit
):
    instrument = at_bench.transducer()
    first = send_file(bench_client, test, limit, "hold_tight.csv", instrument).url
    page = bench_client.get(first.replace("#", f"&r{limit.pk}-pressure=1&r{limit.pk}-pressure_unit=bar#"))
    assert Instrument.objects.get(pk=instrument.pk).trace_mapping is None
    confirm(bench_client, page, test)
    remembered = Instrument.objects.get(pk=instrument.pk).trace_mapping
    assert (remembered["pressure_column"], remembered["time_unit"]) == (1, "µs")
    again = bench_client.get(send_file(bench_client, test, limit, "hold_slow_leak.csv", instrument).url)
    assert shown(again).proposal.remembered
    assert shown(again).proposal.trace.mapping.pressure_column == 1
    assert "Read as the last file of" in again.content.decode()
    other_shape = bench_client.get(
        send_file(bench_client, test, limit, "stroke_oring_5bar.csv", instrument).url
    )
    assert not shown(other_shape).proposal.remembered
    other_instrument = bench_client.get(send_file(bench_client, test, limit, "hold_slow_leak.csv").url)
    assert not shown(other_instrument).proposal.remembered


# -- between the two moves


def test_a_file_handed_in_counts_for_nothing_until_the_step_is_recorded(bench_client, bench, test, limit):
    send_file(bench_client, test, limit, "hold_tight.csv")
    row = LoggerFile.objects.get()
    assert (row.pressure_test, row.limit, row.by) == (test, limit, bench)
    assert not Reading.objects.filter(limit=limit).exists()
    assert not Trace.objects.exists()
    page = bench_client.get(test.get_absolute_url()).content.decode()
    assert "Logger files handed in and not used" in page
    assert "Handed in before" in page


def test_a_used_file_is_no_longer_listed_as_unused(bench_client, test, limit):
    page = bench_client.get(send_file(bench_client, test, limit, "hold_tight.csv").url)
    confirm(bench_client, page, test)
    assert "handed in and not used" not in bench_client.get(test.get_absolute_url()).content.decode()


def test_an_upload_sent_twice_is_one_file(bench_client, test, limit):
    prefix, token = f"r{limit.pk}", uuid.uuid4().hex
    instrument = at_bench.transducer()
    address = reverse("workorders:logger_file_new", args=[test.pk, 3, limit.pk])
    answers = [
        bench_client.post(
            address,
            {
                "form_token": token,
                f"{prefix}-file": at_bench.upload("hold_tight.csv"),
                f"{prefix}-instrument": instrument.pk,
            },
        )
        for _ in range(2)
    ]
    assert answers[0].url == answers[1].url
    assert (LoggerFile.objects.count(), StoredFile.objects.count()) == (1, 1)


def test_a_file_of_another_test_is_not_shown(bench_client, bench, test, limit):
    other = at_bench.started(bench)
    for step in at_bench.steps_of(other)[:2]:
        at_bench.record(bench, other, step)
    row = at_bench.hand_in(bench, other, "hold_tight.csv")
    address = reverse("workorders:test_step", args=[test.pk, 3])
    assert bench_client.get(f"{address}?r{limit.pk}-file={row.pk}").status_code == 404
    with pytest.raises(RuleBroken, match="handed in for another reading"):
        at_bench.record(bench, test, limit.step, decay=at_bench.trace_entry(row))


def test_recording_again_by_hand_takes_the_trace_out_and_history_keeps_it(bench, test, limit):
    row = at_bench.hand_in(bench, test, "hold_tight.csv")
    at_bench.record(bench, test, limit.step, decay=at_bench.trace_entry(row))
    pk = Trace.objects.get().pk
    entry = HandHoldEntry(start_bar=7.3, end_bar=7.28, duration_s=300, instrument=at_bench.transducer())
    at_bench.record(bench, test, limit.step, why="logger clock was wrong", decay=entry)
    assert not Trace.objects.exists()
    gone = Trace.history.filter(id=pk).first()
    assert (gone.history_type, gone.history_change_reason) == ("-", "logger clock was wrong")
    assert read_bytes(row.file)
    assert recomputed_verdict(Reading.objects.get(limit=limit)) == "passes"


def test_another_file_takes_the_place_of_the_first(bench, test, limit):
    for why, name in (("", "hold_tight.csv"), ("wrong file", "hold_slow_leak.csv")):
        row = at_bench.hand_in(bench, test, name)
        at_bench.record(bench, test, limit.step, why=why, decay=at_bench.trace_entry(row))
    trace = Trace.objects.get()
    assert trace.file.name == "hold_slow_leak.csv"
    assert [each.rows for each in Trace.history.filter(id=trace.pk)] == [1408, 1508]


def test_two_holds_of_one_step_take_a_file_each(bench_client, bench):
    decay = dict(at_bench.STEPS[2][1][0])
    both = ({"kind": "hold", "title": "Hold, both sides"}, (decay, {**decay, "reading": "decay, rod side"}))
    test = at_bench.started(bench, at_bench.ready_rebuild(steps=(both,)))
    bore, rod = at_bench.steps_of(test)[0].limits.order_by("order")
    first = send_file(bench_client, test, bore, "hold_tight.csv").url
    query = first.partition("?")[2].split("#")[0]
    address = reverse("workorders:logger_file_new", args=[test.pk, 1, rod.pk])
    assert f"{address}?{query}" in bench_client.get(first).content.decode()
    second = bench_client.post(
        f"{address}?{query}",
        {
            "form_token": uuid.uuid4().hex,
            f"r{rod.pk}-file": at_bench.upload("hold_slow_leak.csv"),
            f"r{rod.pk}-instrument": at_bench.transducer().pk,
        },
    )
    page = bench_client.get(second.url)
    assert [each.limit for each in page.context["open"].files] == [bore, rod]
    data = {name: value for each in page.context["open"].files for name, value in each.hidden}
    answer = bench_client.post(
        reverse("workorders:test_step", args=[test.pk, 1]),
        {"form_token": uuid.uuid4().hex, "note": "", **data},
    )
    assert answer.status_code == 302
    traces = Trace.objects.order_by("reading__limit__order")
    assert [trace.file.name for trace in traces] == ["hold_tight.csv", "hold_slow_leak.csv"]

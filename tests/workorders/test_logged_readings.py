"""Strokes and steady readings from logger files: judged, kept, computed again, and shown."""

import numpy as np
import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, connection, transaction
from scipy import linalg
from scipy.signal import lfilter

from tests.workorders import bench as at_bench
from tests.workorders.bench_pages import send, send_file, shown, text, url
from tests.workorders.test_stroke import both_ways
from workorders.calc.autocorrelation import mean_factor
from workorders.calc.steady import SteadyError, evaluate_steady, propose_steady, steady_uncertainty
from workorders.calc.uncertainty import Gauge
from workorders.models import LoggerFile, Reading, Trace
from workorders.services.certificate import charts_of
from workorders.services.logger_files import Choices, offer_file, propose
from workorders.services.readings import recomputed
from workorders.services.step_results import TraceEntry

pytestmark = pytest.mark.django_db
STROKE = {"judged": "stroke", "quantity": "pressure", "unit": "bar", "basis": "x"}
STEP = {"kind": "break_away", "side": "both", "title": "Break-away", "pressure_bar": 10}
STEPS = (
    (
        STEP,
        (
            {**STROKE, "reading": "break-away", "figure": "break_away", "upper": 7},
            {**STROKE, "reading": "running", "figure": "running", "upper": 5},
            {**STROKE, "reading": "index", "figure": "stick_slip", "unit": "", "upper": 0.2},
        ),
    ),
)
FLOW = {
    "reading": "flow",
    "judged": "steady",
    "quantity": "flow",
    "unit": "L/min",
    "lower": 3.5,
    "basis": "x",
}
PUMP = (({"kind": "flow", "title": "Flow", "pressure_bar": 100}, (FLOW,)),)


def table(head, *columns):
    rows = (";".join(f"{value:.6g}" for value in row) for row in zip(*columns, strict=True))
    return "\n".join([head, *rows, ""]).encode()


def stroke_file(head="time [s];position [mm];pressure [bar]"):
    way, pressure = both_ways()
    return table(head, np.arange(way.size) / 10, way, pressure)


def flow_file(*, drift=0.0, unit="mL/min", seed=4):
    """Nothing, then 3.8 L/min, then nothing; beside the pressure."""
    time = np.arange(0, 100, 0.1)
    litres = np.where((time > 20) & (time < 80), 3.8 + drift * (time - 50) / 60, 0.0)
    litres = litres + np.random.default_rng(seed).normal(0, 0.01, time.size)
    scale = {"mL/min": 1000, "L/min": 1, "L/h": 60}[unit]
    pressure = np.where(litres > 1, 100.0, 0.0)
    return table(f"time [s];pressure [bar];flow [{unit}]", time, pressure, litres * scale)


@pytest.fixture
def stroke_test(bench):
    return at_bench.started(bench, at_bench.ready_rebuild(steps=STEPS))


@pytest.fixture
def pump_test(bench):
    return at_bench.started(bench, at_bench.ready_rebuild(steps=PUMP))


def meter():
    return at_bench.gauge(
        quantity="flow", unit="L/min", range_low=0, range_high=10, accuracy=0.05, resolution=0.001
    )


def offered(person, test, limit, data, instrument):
    act = at_bench.Act(by=person, at=at_bench.AT)
    file = SimpleUploadedFile("log.csv", data)
    row = offer_file(act=act, test=test, limit=limit, instrument=instrument, upload=file)
    return propose(row, Choices(), act)


def entry_of(told):
    fit = told.evaluated.fit
    return TraceEntry(
        logger_file=told.logger_file,
        mapping=told.trace.mapping,
        window_start_s=fit.start_s,
        window_end_s=fit.end_s,
    )


def record_from(person, test, data, instrument, other=b" "):
    """Record every reading of the first step from a file of its own (other bytes each time)."""
    step = at_bench.steps_of(test)[0]
    told = {
        name: offered(person, test, limit, data + other * place, instrument)
        for place, (name, limit) in enumerate(at_bench.limits_of(step).items())
    }
    at_bench.record(person, test, step, **{name: entry_of(one) for name, one in told.items()})
    return {row.limit.reading: row for row in Reading.objects.all()}


# -- strokes


def test_the_friction_that_was_put_into_a_file_is_judged_and_computed_again(bench, stroke_test):
    """6 bar as it leaves and 4 bar on its way, both ways, without any swing."""
    rows = record_from(bench, stroke_test, stroke_file(), at_bench.transducer())
    assert [rows[name].value for name in ("break-away", "running", "index")] == pytest.approx(
        [6, 4, 0], abs=1e-9
    )
    assert {row.verdict for row in rows.values()} == {"passes"}
    assert "2 strokes of 100 mm extending and retracting" in rows["running"].arithmetic
    # ± 0.04 bar and steps of 0.001 bar, rectangular, k = 2; the two strokes do not scatter.
    assert rows["break-away"].uncertainty == pytest.approx(2 * np.hypot(0.04 / 3**0.5, 0.001 / 12**0.5))
    for row in rows.values():
        again = recomputed(row)
        assert (again.arithmetic, again.value) == (row.arithmetic, row.value)
        assert row.trace.decay_bar_per_min is None


@pytest.mark.parametrize(("other", "charts"), [(b"", 1), (b" ", 3)], ids=["one file", "three files"])
def test_figures_that_rest_on_one_window_of_one_file_share_a_chart(bench, stroke_test, other, charts):
    rows = record_from(bench, stroke_test, stroke_file(), at_bench.transducer(), other=other)
    assert len(rows) == 3
    assert len(charts_of(rows["running"].result)) == charts


def test_on_one_side_only_its_strokes_count(bench):
    way, pressure = both_ways()
    harder = np.where(np.arange(way.size) < 121, pressure, 1.5 * pressure)
    data = table("time [s];position [mm];pressure [bar]", np.arange(way.size) / 10, way, harder)
    found = {}
    for side in ("bore", "rod", "both"):
        steps = (({**STEP, "side": side}, STEPS[0][1][:1]),)
        test = at_bench.started(bench, at_bench.ready_rebuild(steps=steps))
        (limit,) = at_bench.limits_of(at_bench.steps_of(test)[0]).values()
        instrument = at_bench.transducer()
        found[side] = offered(bench, test, limit, data + side.encode()[:0] + b" " * len(found), instrument)
    assert {side: told.outcome.value for side, told in found.items()} == {"bore": 6, "rod": 9, "both": 9}
    assert found["rod"].outcome.verdict == "fails"


def test_a_stroke_logged_on_a_real_bench_is_read_by_the_columns_chosen(client, bench, stroke_test):
    """Twenty strokes by the position alone, counted here without the project's own sums."""
    client.force_login(bench)
    limit = at_bench.limits_of(at_bench.steps_of(stroke_test)[0])["break-away"]
    name = "stroke_oring_5bar.csv"
    chosen = {"time": 0, "time_unit": "ms", "pressure": 5, "channel": 4}
    answer = send_file(client, stroke_test, limit, name, **chosen)
    told = shown(client.get(answer.url)).proposal
    rows = np.genfromtxt(at_bench.TRACES / name, delimiter="\t", dtype=str)
    position = rows[:, 4].astype(float)
    middle = (position.max() + position.min()) / 2
    crossings = np.flatnonzero(np.diff(position > middle))
    assert len(told.evaluated.fit.strokes) == len(crossings) == 20
    assert told.outcome.value == pytest.approx(rows[:, 5].astype(float).max(), abs=0.02)
    page = text(client.get(answer.url))
    assert "Each of the 20 strokes" in page
    assert 'data-beside="4"' in page


def test_a_file_that_names_no_position_is_refused_and_nothing_stays(client, bench, stroke_test):
    client.force_login(bench)
    limit = at_bench.limits_of(at_bench.steps_of(stroke_test)[0])["break-away"]
    answer = send_file(client, stroke_test, limit, stroke_file("time [s];a;pressure [bar]"))
    assert answer.status_code == 422
    assert "names no column as the position" in text(answer)
    assert "Position is in" in text(answer)
    assert not LoggerFile.objects.exists()


def test_a_position_in_another_unit_is_brought_to_millimetres(bench, stroke_test):
    limit = at_bench.limits_of(at_bench.steps_of(stroke_test)[0])["running"]
    told = offered(
        bench, stroke_test, limit, stroke_file("time [s];position [cm];pressure [bar]"), at_bench.transducer()
    )
    assert told.evaluated.fit.strokes[0].travel_mm == pytest.approx(1000)
    with pytest.raises(Exception, match="does not become mm"):
        offered(
            bench,
            stroke_test,
            limit,
            stroke_file("time [s];position [parsec];pressure [bar]"),
            at_bench.transducer(),
        )


def test_a_recorded_stroke_is_shown_on_its_page_and_its_sheet(client, bench, stroke_test):
    record_from(bench, stroke_test, stroke_file(), at_bench.transducer())
    client.force_login(bench)
    for trace in Trace.objects.all():
        page = text(client.get(url("trace", trace.pk)))
        assert "Each of the 2 strokes" in page
        assert "Straight line" not in page
        drawing = client.get(url("trace_chart", trace.pk))
        assert "pressure from 0.000 to 4.000 bar" in text(drawing)
        assert client.get(url("trace_samples", trace.pk)).status_code == 200
    sheet = client.get(url("test_sheet", stroke_test.pk))
    assert sheet.status_code == 200
    assert sheet.content.startswith(b"%PDF")


# -- steady readings


@pytest.mark.parametrize("unit", ["mL/min", "L/min", "L/h"])
def test_the_mean_of_a_steady_flow_is_judged_in_the_unit_of_its_limit(bench, pump_test, unit):
    row = record_from(bench, pump_test, flow_file(unit=unit), meter())["flow"]
    assert row.value == pytest.approx(3.8, abs=0.002)
    assert row.verdict == "passes"
    assert row.trace.window_start_s > 20
    assert row.trace.window_end_s < 80
    again = recomputed(row)
    assert (again.arithmetic, again.value, again.uncertainty) == (row.arithmetic, row.value, row.uncertainty)
    assert 2 * row.combined == pytest.approx(row.uncertainty)


def test_a_flow_that_drifts_is_not_decided(bench, pump_test):
    limit = at_bench.limits_of(at_bench.steps_of(pump_test)[0])["flow"]
    act, instrument = at_bench.Act(by=bench, at=at_bench.AT), meter()
    told = offered(bench, pump_test, limit, flow_file(drift=0.3), instrument)
    whole = propose(told.logger_file, Choices(start_s=20.2, end_s=79.8), act)
    assert whole.outcome.verdict == "not_decided"
    assert "still drifts by" in whole.outcome.arithmetic
    part = propose(told.logger_file, Choices(start_s=60, end_s=79.8), act)
    assert part.outcome.verdict == "passes"


def test_the_factor_of_a_mean_is_that_of_the_whole_matrix_of_correlations():
    """Independent: u² = cᵀ R c with equal weights, written out as a matrix; and near (1 + ρ)/(1 − ρ) = 9."""
    rng = np.random.default_rng(3)
    series = lfilter([1], [1, -0.8], rng.normal(size=4500))[500:]
    centred = series - series.mean()
    n = series.size
    rho = np.array([centred[: n - k] @ centred[k:] for k in range(n // 4)]) / (centred @ centred)
    end = next((k for k in range(0, n // 4, 2) if rho[k] + rho[k + 1] <= 0), n // 4)
    column = np.zeros(n)
    column[:end] = rho[:end]
    whole = np.ones(n) @ linalg.toeplitz(column) @ np.ones(n) / n
    assert mean_factor(residual=series) == pytest.approx(whole, rel=1e-9)
    assert whole == pytest.approx(9, rel=0.25)
    assert mean_factor(residual=rng.normal(size=4000)) == pytest.approx(1, abs=0.1)


def test_the_standard_error_of_a_mean_is_how_far_means_scatter():
    """Four hundred runs of samples that are alike: their means scatter as far as each run says."""
    rng, time = np.random.default_rng(8), np.arange(2000) / 10
    runs = lfilter([1], [1, -0.8], rng.normal(size=(400, 2500)), axis=1)[:, 500:]
    fits = [evaluate_steady(time_s=time, value=50 + run, start_s=0, end_s=200) for run in runs]
    scatter = np.std([fit.mean for fit in fits])
    assert np.mean([fit.standard_error for fit in fits]) == pytest.approx(scatter, rel=0.15)


def test_what_the_mean_is_made_of():
    time = np.arange(100.0)
    fit = evaluate_steady(time_s=time, value=4 + 0.001 * time, start_s=0, end_s=99)
    assert (fit.mean, fit.drift) == (pytest.approx(4.0495), pytest.approx(0.099))
    parts = dict(steady_uncertainty(fit=fit, gauge=Gauge(accuracy=0.03, full_scale=10)).parts)
    assert parts["drift over the window"] == pytest.approx(0.099 / 2 / 3**0.5)
    assert parts["accuracy"] == pytest.approx(0.03 / 3**0.5)
    with pytest.raises(SteadyError, match="at least 5"):
        evaluate_steady(time_s=time, value=time, start_s=0, end_s=2)
    with pytest.raises(SteadyError, match="numbers throughout"):
        evaluate_steady(time_s=time, value=np.where(time == 7, np.nan, 4.0), start_s=0, end_s=99)


def test_a_reading_without_a_level_part_is_proposed_whole():
    time = np.arange(0.0, 100.0, 0.1)
    assert propose_steady(time_s=time, value=time).reason == "the whole file"
    assert propose_steady(time_s=time, value=0 * time).reason == "the whole file"


@pytest.mark.parametrize(
    ("steps", "data", "instrument", "words"),
    [
        (
            (({"kind": "flow", "title": "Flow"}, ({**FLOW, "lower": 3.79},)),),
            flow_file(),
            meter,
            "weighs most",
        ),
        (
            ((STEP, ({**STEPS[0][1][0], "upper": 6.01},)),),
            stroke_file(),
            at_bench.transducer,
            "would decide it",
        ),
    ],
)
def test_what_would_decide_a_logged_reading_is_said(bench, steps, data, instrument, words):
    test = at_bench.started(bench, at_bench.ready_rebuild(steps=steps))
    (limit,) = at_bench.limits_of(at_bench.steps_of(test)[0]).values()
    outcome = offered(bench, test, limit, data, instrument()).outcome
    assert outcome.verdict == "not_decided"
    assert words in outcome.arithmetic


# -- the database


def test_a_trace_has_all_of_a_hold_or_none_of_it(bench, stroke_test):
    record_from(bench, stroke_test, stroke_file(), at_bench.transducer())
    row = Trace.objects.first()
    row.decay_bar_per_min = 0.1
    with pytest.raises(ValidationError, match="other readings have none of them"):
        row.full_clean()
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE workorders_trace SET straight = %s WHERE id = %s", [True, row.pk])


def test_a_steady_flow_is_recorded_from_its_page(client, bench, pump_test):
    client.force_login(bench)
    limit = at_bench.limits_of(at_bench.steps_of(pump_test)[0])["flow"]
    answer = send_file(client, pump_test, limit, flow_file(), instrument=meter())
    page = client.get(answer.url)
    assert "mean of the window" in text(page)
    hidden = {name: "" if value is None else value for name, value in shown(page).hidden}
    sent = send(client, url("test_step", pump_test.pk, 1), note="", **hidden)
    assert sent.status_code == 302
    row = Reading.objects.get()
    assert row.trace.mapping["channel_column"] == 2
    row.trace.refresh_from_db()
    assert row.instrument.trace_mapping["channel_column"] == 2


@pytest.mark.parametrize("beside", [False, True], ids=["time and flow", "a pressure beside it"])
def test_a_flow_is_taken_from_a_file_without_headings_once_its_column_is_said(
    client, bench, pump_test, beside
):
    """No column is named, so the flow alone would be taken for the pressure."""
    client.force_login(bench)
    limit = at_bench.limits_of(at_bench.steps_of(pump_test)[0])["flow"]
    time = np.arange(0.0, 40.0, 0.1)
    flow = 3.8 + 0.01 * np.sin(time * 40)
    pressure = [80 + 0.1 * np.sin(time * 31)] if beside else []
    rows = zip(time, flow, *pressure, strict=True)
    data = "".join(";".join(f"{value:.3f}" for value in row) + "\n" for row in rows).encode()
    refused = send_file(client, pump_test, limit, data, instrument=meter())
    assert refused.status_code == 422
    assert "names no column as the flow" in text(refused)
    answer = send_file(client, pump_test, limit, data, instrument=meter(), channel=1)
    page = client.get(answer.url)
    told = shown(page).proposal
    assert told.evaluated.fit.mean == pytest.approx(flow.mean(), abs=0.001)
    assert told.trace.mapping.pressure_column == (2 if beside else None)
    assert "could be the pressure" not in text(page)


def test_a_logged_flow_that_is_not_decided_says_what_to_measure_closer(bench):
    """3.8 L/min at least 3.79 L/min, by a meter of ±0.05 L/min."""
    steps = ((PUMP[0][0], ({**FLOW, "lower": 3.79},)),)
    test = at_bench.started(bench, at_bench.ready_rebuild(steps=steps))
    row = record_from(bench, test, flow_file(), meter())["flow"]
    assert row.verdict == "not_decided"
    assert "weighs most: measure that closer" in row.arithmetic
    assert recomputed(row).arithmetic == row.arithmetic

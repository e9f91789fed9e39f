"""A hold with a temperature beside it: brought to one temperature, or held back by what it may hide.

The constants are those of leeimh.com, of which `tests/workorders/test_temperature.py` checks the printed
figures; lines are compared with SciPy's, and what is added with the sum of the registry.
"""

import json
from dataclasses import replace

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from shop.errors import RuleBroken
from shop.services.writing import Act
from tests.workorders import bench as at_bench
from tests.workorders.bench_pages import confirm, send_file, shown, text
from workorders.calc.hold import evaluate_hold
from workorders.calc.temperature import OILS, temperature_corrected_decay
from workorders.calc.thermal_hold import STIFFEST_BAR_PER_K, hidden_by_warming, hold_at_one_temperature
from workorders.calc.trace import TraceError, TraceMapping, read_trace
from workorders.models import Reading
from workorders.services.entries import NOT_THE_OIL, ThermalEntry
from workorders.services.logger_files import offer_file
from workorders.services.readings import recomputed
from workorders.services.ways.base import Evaluated
from workorders.services.ways.thermal import hidden

OIL = "mineral oil, MIL-H-5606"
PER_K = 10 * 260_000 * 6.894757e-3 * 0.00046 * 1.8  # leeimh.com: psi and for each °F
TIME_S = np.arange(0.0, 300.2, 0.2)
NOISE = np.random.default_rng(4).normal(0, 0.002, TIME_S.size)


def trace_of(decay, change_k, per_k=PER_K):
    """Pressure and temperature of a hold that leaks by so much and warms evenly by so much."""
    temperature = 30 + change_k * TIME_S / TIME_S[-1]
    return 8 - decay / 60 * TIME_S + per_k * (temperature - 30) + NOISE, temperature


def brought(decay, change_k, **more):
    pressure, temperature = trace_of(decay, change_k)
    hold = evaluate_hold(time_s=TIME_S, pressure_bar=pressure)
    told = {"time_s": TIME_S, "pressure_bar": pressure, "temperature_c": temperature}
    return hold, hold_at_one_temperature(**told, hold=hold, **{"oil": OIL, "error_k": 0.02} | more)


@pytest.mark.parametrize("change_k", [-0.3, 0.0, 0.25])
def test_the_leak_is_found_again_whatever_the_oil_did(change_k):
    _measured, found = brought(0.05, change_k)
    line = stats.linregress(TIME_S, 8 - 0.05 / 60 * TIME_S + NOISE)
    assert found.hold.decay_bar_per_min == pytest.approx(-60 * line.slope, rel=1e-6)
    assert found.hold.standard_error_bar_per_min == pytest.approx(60 * line.stderr, rel=1e-6)
    assert found.change_k == pytest.approx(change_k, abs=1e-9)


@given(
    decay=st.integers(-2000, 2000).map(lambda whole: whole / 1000),
    change_k=st.integers(-3000, 3000).map(lambda whole: whole / 1000),
    error_k=st.integers(0, 2000).map(lambda whole: whole / 1000),
    oil=st.sampled_from(list(OILS)),
    given_volume=st.none() | st.tuples(st.floats(1, 5000), st.floats(0.001, 50)),
)
def test_it_agrees_with_the_sum_of_the_registry(decay, change_k, error_k, oil, given_volume):
    volume = dict(zip(("volume_ml", "compliance_ml_per_bar"), given_volume or (), strict=False))
    measured, found = brought(decay, change_k, oil=oil, error_k=error_k, **volume)
    told = temperature_corrected_decay(
        decay_bar_per_min=measured.decay_bar_per_min,
        temperature_change_k=change_k,
        duration_s=measured.duration_s,
        oil=oil,
        temperature_uncertainty_k=error_k,
        **volume,
    )
    assert found.hold.decay_bar_per_min == pytest.approx(told.corrected_bar_per_min, rel=1e-6, abs=1e-6)
    assert found.added_bar_per_min == pytest.approx(told.thermal_bar_per_min, rel=1e-6, abs=1e-6)
    assert found.expanded_bar_per_min == pytest.approx(told.expanded_bar_per_min, rel=1e-5, abs=1e-6)


def test_the_stiffest_oil_is_the_phosphate_ester():
    """leeimh.com: 340000 psi and 0.00047 for each °F, the most of its list."""
    assert pytest.approx(3.4e6 * 6.894757e-3 * 0.00047 * 1.8) == STIFFEST_BAR_PER_K
    pressure, temperature = trace_of(0.0, 0.5)
    hold = evaluate_hold(time_s=TIME_S, pressure_bar=pressure)
    change, hides = hidden_by_warming(time_s=TIME_S, temperature_c=temperature, hold=hold)
    assert (change, hides) == pytest.approx((0.5, 0.5 * STIFFEST_BAR_PER_K / hold.duration_s * 60))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"oil": "olive"}, "one of the list"),
        ({"error_k": -0.1}, "0 K or more"),
        ({"error_k": float("nan")}, "0 K or more"),
        ({"volume_ml": 0.0, "compliance_ml_per_bar": 1.0}, "above 0"),
    ],
)
def test_what_cannot_be_is_refused(changes, words):
    with pytest.raises(ValueError, match=words):
        brought(0.05, 0.1, **changes)


@given(seed=st.integers(0, 1000), share=st.floats(0.1, 0.8), change_k=st.floats(-0.3, 0.3))
def test_short_gaps_change_nothing_that_matters(seed, share, change_k):
    """Readings left out by chance, never a tenth of the window in a row: the same change, the same leak."""
    pressure, temperature = trace_of(0.05, change_k)
    gappy = temperature.copy()
    gappy[np.random.default_rng(seed).random(TIME_S.size) < share] = np.nan
    hold = evaluate_hold(time_s=TIME_S, pressure_bar=pressure)
    change, adds = hidden_by_warming(time_s=TIME_S, temperature_c=gappy, hold=hold)
    assert change == pytest.approx(change_k, abs=1e-6)
    assert adds == pytest.approx(
        hidden_by_warming(time_s=TIME_S, temperature_c=temperature, hold=hold)[1], abs=1e-4
    )
    found = hold_at_one_temperature(
        time_s=TIME_S, pressure_bar=pressure, temperature_c=gappy, hold=hold, oil=OIL, error_k=0.0
    )
    whole = hold_at_one_temperature(
        time_s=TIME_S, pressure_bar=pressure, temperature_c=temperature, hold=hold, oil=OIL, error_k=0.0
    )
    assert found.hold.decay_bar_per_min == pytest.approx(whole.hold.decay_bar_per_min, abs=1e-3)


@pytest.mark.parametrize(("share", "taken"), [(0.09, True), (0.11, False)])
@pytest.mark.parametrize("place", [0.0, 0.5, 1.0], ids=["at the start", "in the middle", "at the end"])
def test_a_tenth_of_the_window_without_a_temperature_is_the_most(share, taken, place):
    pressure, temperature = trace_of(0.05, 0.1)
    count = int(share * TIME_S.size)
    first = int(place * (TIME_S.size - count))
    temperature[first : first + count] = np.nan
    hold = evaluate_hold(time_s=TIME_S, pressure_bar=pressure)
    if taken:
        assert hidden_by_warming(time_s=TIME_S, temperature_c=temperature, hold=hold)[0] == pytest.approx(0.1)
        return
    with pytest.raises(ValueError, match="gaps longer than a tenth of this window"):
        hidden_by_warming(time_s=TIME_S, temperature_c=temperature, hold=hold)


# -- at the bench


def written(decay, change_k, columns=1, others=1.0):
    """A file with one temperature or two, of which the second changes ``others`` times as much."""
    pressure, temperature = trace_of(decay, change_k)
    names = ["oil", "tank"][:columns]
    head = ";".join(["time [s]", "pressure [bar]", *(f"{name} [°C]" for name in names)])
    rows = (
        ";".join([f"{t:.1f}", f"{p:.4f}", *[f"{c:.4f}", f"{30 + others * (c - 30):.4f}"][:columns]])
        for t, p, c in zip(TIME_S, pressure, temperature, strict=True)
    )
    return (head + "\n" + "\n".join(rows) + "\n").encode()


def with_gaps(data, keep, gap=""):
    """The same file with a temperature in each so many rows alone."""
    head, *rows = data.decode().splitlines()
    told = [row if k % keep == 0 else f"{row.rpartition(';')[0]};{gap}" for k, row in enumerate(rows)]
    return "\n".join([head, *told, ""]).encode()


def held(bench, data, thermal=None, upper=0.1):
    """Record a hold of a step that asks for nothing but the decay, and return its reading."""
    hold, (decay,) = at_bench.STEPS[2]
    test = at_bench.started(bench, at_bench.ready_rebuild(steps=((hold, ({**decay, "upper": upper},)),)))
    step = at_bench.steps_of(test)[0]
    file = offer_file(
        act=Act(by=bench, at=at_bench.AT),
        test=test,
        limit=at_bench.limits_of(step)["decay"],
        instrument=at_bench.transducer(accuracy=0.004, resolution=0.0),
        upload=SimpleUploadedFile("hold.csv", data, "text/csv"),
    )
    entry = replace(at_bench.trace_entry(file), thermal=thermal)
    at_bench.record(bench, test, step, decay=entry)
    return Reading.objects.get(limit__step=step)


NAMED = ThermalEntry(oil=OIL, error_k=0.005)


@pytest.mark.django_db
def test_oil_that_warmed_never_lets_a_leaking_unit_pass(bench):
    """It leaks three times the limit and warms by 0.1 K, so that the pressure stands still."""
    data = written(0.3, 0.1)
    unsaid = held(bench, data)
    assert unsaid.value < 0.05
    assert unsaid.verdict == "not_decided"
    assert "column 3 (oil) warmed by 0.1 K, which may hide up to 0.4 bar/min" in unsaid.arithmetic
    named = held(bench, data, NAMED)
    assert named.verdict == "fails"
    assert named.value == pytest.approx(0.3, abs=0.01)
    assert (
        "the oil went +0.1 K ±0.005 K, 14.8 bar for each K by the constants of mineral oil"
        in named.arithmetic
    )
    assert [name for name, _value in named.budget][-2:] == [
        "change of the temperature",
        "constants of the oil",
    ]


@pytest.mark.django_db
def test_oil_that_cooled_is_said_beside_a_hold_that_fails_and_taken_off_where_it_is_named(bench):
    data = written(0.01, -0.1)
    unsaid = held(bench, data, upper=0.15)
    assert unsaid.verdict == "fails"
    assert "cooled by 0.1 K, which may look like up to 0.4 bar/min" in unsaid.arithmetic
    assert held(bench, data, NAMED, upper=0.15).verdict == "passes"


@pytest.mark.django_db
def test_a_temperature_of_something_else_changes_nothing(bench):
    reading = held(bench, written(0.01, 0.1), ThermalEntry(oil=NOT_THE_OIL))
    assert reading.verdict == "passes"
    assert reading.observed["thermal"] == {"oil": NOT_THE_OIL}


@pytest.mark.django_db
def test_oil_that_stays_as_warm_as_it_was_holds_nothing_back(bench):
    assert held(bench, written(0.01, 0.0)).verdict == "passes"


@pytest.mark.django_db
def test_of_two_temperatures_one_is_chosen(bench):
    with pytest.raises(RuleBroken, match="which column is the temperature"):
        held(bench, written(0.01, 0.1, columns=2), NAMED)
    assert held(bench, written(0.3, 0.1, columns=2), replace(NAMED, column=3)).verdict == "fails"


@pytest.mark.parametrize(
    ("change_k", "others", "said"),
    [
        (-0.1, 2.0, "column 4 (tank) cooled by 0.2 K, which may look like up to 0.79 bar/min"),
        (-0.1, -0.5, "column 4 (tank) warmed by 0.05 K, which may hide up to 0.2 bar/min"),
        (0.1, 0.5, "column 3 (oil) warmed by 0.1 K, which may hide up to 0.4 bar/min"),
    ],
)
def test_of_two_temperatures_the_worse_is_spoken_of(change_k, others, said):
    trace = read_trace(data=written(0.05, change_k, columns=2, others=others))
    fit = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar)
    assert said in hidden({"evaluation": 4}, Evaluated(trace=trace, fit=fit))[1]


@pytest.mark.django_db
@pytest.mark.parametrize("thermal", [None, NAMED, replace(NAMED, volume_ml=25.0)])
def test_it_is_judged_again_from_what_is_kept(bench, thermal):
    reading = held(bench, written(0.05, 0.05), thermal)
    again = recomputed(Reading.objects.get(pk=reading.pk))
    assert (again.value, again.uncertainty, again.verdict) == (
        reading.value,
        reading.uncertainty,
        reading.verdict,
    )
    assert again.arithmetic == reading.arithmetic


@pytest.mark.django_db
def test_a_reading_of_the_third_evaluation_keeps_its_verdict(bench):
    reading = held(bench, written(0.01, 0.1))
    reading.observed["evaluation"] = 3
    assert reading.verdict == "not_decided"
    assert recomputed(reading).verdict == "passes"


@pytest.mark.django_db
@pytest.mark.parametrize("gap", ["", "OL", "NaN", "---"])
def test_a_temperature_logged_more_seldom_holds_a_pass_back_as_well(bench, gap):
    """It leaks three times the limit and warms by 0.1 K; the temperature stands in each twentieth row."""
    reading = held(bench, with_gaps(written(0.3, 0.1), 20, gap))
    assert reading.verdict == "not_decided"
    assert "warmed by 0.1 K, which may hide up to 0.4 bar/min" in reading.arithmetic
    named = held(bench, with_gaps(written(0.3, 0.1), 20, gap), NAMED)
    assert (named.verdict, named.value) == ("fails", pytest.approx(0.3, abs=0.01))
    assert recomputed(named).arithmetic == named.arithmetic


@pytest.mark.django_db
def test_a_temperature_with_long_gaps_never_lets_a_hold_pass_unless_it_is_not_that_of_the_oil(bench):
    head, *rows = written(0.01, 0.0).decode().splitlines()
    data = "\n".join(
        [head, *(row if k < 200 else f"{row.rpartition(';')[0]};" for k, row in enumerate(rows)), ""]
    ).encode()
    unsaid = held(bench, data)
    assert unsaid.verdict == "not_decided"
    assert "column 3 (oil) has no reading for more than a tenth of the window" in unsaid.arithmetic
    assert recomputed(unsaid).arithmetic == unsaid.arithmetic
    assert held(bench, data, ThermalEntry(oil=NOT_THE_OIL)).verdict == "passes"
    with pytest.raises(RuleBroken, match="gaps longer than a tenth"):
        held(bench, data, NAMED)
    # As judged before the fifth evaluation, when such a column was not looked at.
    unsaid.observed["evaluation"] = 4
    assert recomputed(unsaid).verdict == "passes"


def test_a_column_with_gaps_does_not_change_how_the_file_was_read_before_it_was_read():
    """The mapping kept with a recorded trace names the columns without it, and still fits."""
    data = with_gaps(written(0.01, 0.0), 20)
    trace = read_trace(data=data)
    before = read_trace(data=b"\n".join(row.rpartition(b";")[0] for row in data.splitlines()))
    again = read_trace(data=data, mapping=before.mapping)
    assert again.mapping == trace.mapping == before.mapping
    assert list(again.pressure_bar) == list(before.pressure_bar)
    assert any("has no reading in" in words for words in trace.warnings)
    assert trace.columns[2].readings.size == -(-trace.rows // 20)


def test_a_temperature_that_is_neither_a_number_nor_missing_is_refused():
    rows = written(0.01, 0.0).decode().splitlines()
    rows[700] = f"{rows[700].rpartition(';')[0]};warm"
    with pytest.raises(TraceError, match=r"Line 701: “warm” in column 3 \(oil\) is no number"):
        read_trace(data="\n".join(rows).encode())


def test_a_temperature_without_any_reading_is_left_out_and_said():
    data = with_gaps(written(0.01, 0.0), 10**9, "OL").replace(b";30.0000\n", b";OL\n")
    trace = read_trace(data=data)
    assert [column.index for column in trace.columns] == [0, 1]
    assert any("holds no reading and is left out" in words for words in trace.warnings)


def test_a_pressure_with_gaps_is_refused_still():
    rows = written(0.01, 0.0).decode().splitlines()
    rows[700] = ";".join([rows[700].split(";")[0], "", rows[700].split(";")[2]])
    with pytest.raises(TraceError, match=r"Line 701: column 2 \(pressure\) is empty"):
        read_trace(data="\n".join(rows).encode())


@pytest.mark.django_db
def test_a_temperature_without_a_unit_holds_a_pass_back_as_well(bench):
    data = written(0.3, 0.1).replace("oil [°C]".encode(), b"oil temperature")
    reading = held(bench, data)
    assert reading.verdict == "not_decided"
    assert "warmed by 0.1 K, which may hide up to 0.4 bar/min" in reading.arithmetic
    told = "The file names no unit for column 3 (oil temperature); it is taken as °C."
    assert told in read_trace(data=data).warnings
    assert held(bench, data, NAMED).value == pytest.approx(0.3, abs=0.01)
    reading.observed["evaluation"] = 4
    assert recomputed(reading).verdict == "passes"


def test_a_column_with_gaps_is_no_pressure_and_no_time():
    data = with_gaps(written(0.01, 0.0), 20)
    for chosen in (
        TraceMapping(pressure_column=2),
        TraceMapping(time_column=2),
        TraceMapping(channel_column=2),
    ):
        with pytest.raises(TraceError, match=r"Column 3 \(oil\) has rows without a reading"):
            read_trace(data=data, mapping=chosen)


# -- on the page


@pytest.fixture
def test(bench):
    """A test whose next step is the hold."""
    test = at_bench.started(bench)
    for step in at_bench.steps_of(test)[:2]:
        at_bench.record(bench, test, step)
    return test


@pytest.mark.django_db
def test_the_page_asks_about_the_temperature_of_a_file_that_has_one(client, bench, test):
    client.force_login(bench)
    limit = at_bench.limits_of(at_bench.steps_of(test)[2])["decay"]
    sent = send_file(client, test, limit, written(0.3, 0.1)).url
    page = client.get(sent)
    assert "which may hide up to" in text(page)
    assert "sensor on the tank or the wall lags" in text(page)
    asked = {f"r{limit.pk}-file": shown(page).logger_file.pk, f"r{limit.pk}-oil": OIL}
    address = reverse("workorders:test_step", args=[test.pk, 3])
    refused = client.get(address, asked)
    assert "Say by how much the change of the temperature may be off." in text(refused)
    assert shown(refused).proposal is None
    page = client.get(address, asked | {f"r{limit.pk}-oil_error": "0.005"})
    assert "at one temperature" in text(page)
    assert confirm(client, page, test).status_code == 302
    reading = Reading.objects.get(limit=limit)
    assert reading.verdict == "fails"
    assert reading.observed["thermal"] == {"oil": OIL, "error_k": 0.005}


@pytest.mark.django_db
def test_a_temperature_with_gaps_is_drawn_with_them(client, bench, test):
    client.force_login(bench)
    limit = at_bench.limits_of(at_bench.steps_of(test)[2])["decay"]
    page = client.get(send_file(client, test, limit, with_gaps(written(0.3, 0.1), 3)).url)
    row = shown(page).logger_file
    assert "nan" not in text(page)
    address = reverse("workorders:logger_file_samples", args=[row.pk])
    for dots in ("4000", "20"):  # every sample, and the highest and lowest alone
        answer = client.get(address, {"columns": "1,2", "dots": dots})
        pressure, oil = json.loads(answer.content, parse_constant=pytest.fail)["values"]
        assert None not in pressure
        assert None in oil
        assert max(each for each in oil if each is not None) == pytest.approx(30.1, abs=0.001)


@pytest.mark.django_db
def test_nothing_is_asked_about_oil_where_the_file_has_no_temperature(client, bench, test):
    client.force_login(bench)
    limit = at_bench.limits_of(at_bench.steps_of(test)[2])["decay"]
    page = client.get(send_file(client, test, limit, "hold_tight.csv").url)
    assert "The oil shut in is" not in text(page)
    wrong = client.get(
        page.request["PATH_INFO"],
        {f"r{limit.pk}-file": shown(page).logger_file.pk, f"r{limit.pk}-start": "x"},
    )
    assert "The oil shut in is" not in text(wrong)

"""Ways of judging: strokes, steady readings, efficiency, oil samples, readings without limit, blanked rig."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from shop.errors import RuleBroken
from shop.models import StepLimit
from tests.workorders import bench as at_bench
from workorders.calc.blank import blank_check
from workorders.calc.oil_sample import judge_cleanliness
from workorders.calc.power_unit import steady_mean, volumetric_efficiency
from workorders.calc.rig import rig_compliance
from workorders.calc.stroke import swing_by_hand
from workorders.calc.uncertainty import Gauge, hand_hold, reading_uncertainty, scatter_of_few
from workorders.forms.step import StepForm, initial_of
from workorders.models import Instrument, Reading
from workorders.services.certificate import reading_row
from workorders.services.readings import recomputed
from workorders.services.record.testing import reading_record
from workorders.services.step_results import (
    BlankEntry,
    CleanlinessEntry,
    EfficiencyEntry,
    HandHoldEntry,
    SteadyEntry,
    SwingEntry,
    ValueEntry,
)
from workorders.services.ways import WAYS
from workorders.services.ways.base import gauge_of

FLOW = Gauge(accuracy=0.4, full_scale=60, resolution=0.01)
SPEED = Gauge(accuracy=5, full_scale=5000, resolution=1)
WORN = {
    "flow_l_min": 37.85,
    "speed_rpm": 1800,
    "displacement_cm3": 24.58,
    "displacement_error_pct": 1.0,
    "flow_gauge": FLOW,
    "speed_gauge": SPEED,
}

# -- the sums


def test_a_worn_pump_has_the_efficiency_that_is_printed():
    """hydrauliclearning.com, worn pump: 10.0 of 11.69 gal/min are 85.5 %; 1 gal is 3.785 L."""
    assert volumetric_efficiency(**WORN).efficiency_pct == pytest.approx(85.5, abs=0.05)


def test_the_uncertainty_of_an_efficiency_agrees_with_a_simulation():
    """A million draws: each error even over its ± (JCGM 100, 4.3.7, number from memory)."""
    rng = np.random.default_rng(7)
    n = 1_000_000
    flow = 37.85 + rng.uniform(-0.4, 0.4, n) + rng.uniform(-0.005, 0.005, n)
    speed = 1800 + rng.uniform(-5, 5, n) + rng.uniform(-0.5, 0.5, n)
    size = 24.58 * (1 + rng.uniform(-0.01, 0.01, n))
    drawn = 100 * flow * 1000 / (size * speed)
    found = volumetric_efficiency(**WORN)
    assert found.uncertainty.standard == pytest.approx(drawn.std(), rel=0.005)


@given(
    flow=st.floats(0.1, 100), speed=st.floats(100, 5000), size=st.floats(0.2, 200), times=st.floats(0.01, 100)
)
def test_an_efficiency_is_a_ratio(flow, speed, size, times):
    """With flow and displacement in another unit, and their gauge with them, nothing changes."""
    given_ = {"speed_rpm": speed, "displacement_error_pct": 1.0, "speed_gauge": SPEED}
    one = volumetric_efficiency(flow_l_min=flow, displacement_cm3=size, flow_gauge=FLOW, **given_)
    other = Gauge(accuracy=0.4 * times, full_scale=60 * times, resolution=0.01 * times)
    two = volumetric_efficiency(
        flow_l_min=flow * times, displacement_cm3=size * times, flow_gauge=other, **given_
    )
    assert two.efficiency_pct == pytest.approx(one.efficiency_pct)
    assert two.uncertainty.standard == pytest.approx(one.uncertainty.standard)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"flow_l_min": -0.1}, "flow must be 0"),
        ({"speed_rpm": 0}, "speed must be above 0"),
        ({"displacement_cm3": 0}, "displacement must be above 0"),
    ],
)
def test_an_efficiency_of_nothing_is_refused(changes, words):
    with pytest.raises(ValueError, match=words):
        volumetric_efficiency(**{**WORN, **changes})


def test_steady_readings_scatter_as_scipy_has_it():
    readings = (2.31, 2.29, 2.34, 2.28, 2.30)
    found = steady_mean(readings=readings, gauge=FLOW)
    assert found.mean == pytest.approx(np.mean(readings), rel=1e-12)
    low, high = stats.t.interval(stats.norm.cdf(2) * 2 - 1, 4, np.mean(readings), stats.sem(readings))
    assert 2 * dict(found.uncertainty.parts)["repeats"] == pytest.approx((high - low) / 2, rel=1e-9)
    assert found.swing_pct == pytest.approx(100 * 0.06 / 2.304)
    assert found.steady


@pytest.mark.parametrize("count", [2, 3, 5, 20])
def test_the_interval_of_a_few_readings_holds_the_mean_as_often_as_it_says(count):
    """5,000 sets of normal readings of a gauge without error; twice the plain standard error misses."""
    sets = np.random.default_rng(6).normal(50, 1, size=(5_000, count))
    good = Gauge(accuracy=1e-9, full_scale=100)
    held, plain = 0, 0
    for readings in sets.tolist():
        found = steady_mean(readings=readings, gauge=good)
        held += abs(found.mean - 50) <= found.uncertainty.expanded
        plain += abs(found.mean - 50) <= 2 * stats.tstd(readings) / count**0.5
    assert held / len(sets) == pytest.approx(stats.norm.cdf(2) * 2 - 1, abs=0.012)  # 4 standard deviations
    assert plain < held


@pytest.mark.parametrize("degrees", [0, -1, float("nan")])
def test_one_reading_has_no_scatter_to_raise(degrees):
    with pytest.raises(ValueError, match="above 0"):
        scatter_of_few(standard_error=1.0, degrees=degrees)


@given(
    readings=st.lists(st.floats(1, 100), min_size=2, max_size=20),
    times=st.floats(0.01, 100),
    more=st.floats(0, 100),
)
def test_a_steady_mean_scales_and_shifts_with_its_readings(readings, times, more):
    base = steady_mean(readings=readings, gauge=FLOW)
    scaled = steady_mean(readings=[one * times for one in readings], gauge=FLOW)
    shifted = steady_mean(readings=[one + more for one in readings], gauge=FLOW)
    assert scaled.mean == pytest.approx(base.mean * times)
    assert scaled.swing_pct == pytest.approx(base.swing_pct, abs=1e-9)
    repeats = dict(base.uncertainty.parts)["repeats"]
    assert dict(scaled.uncertainty.parts)["repeats"] == pytest.approx(repeats * times, abs=1e-9)
    assert shifted.mean == pytest.approx(base.mean + more)
    assert dict(shifted.uncertainty.parts)["repeats"] == pytest.approx(repeats, abs=1e-9)


@pytest.mark.parametrize(("readings", "steady"), [((100, 105.1), True), ((100, 105.2), False), ((3,), True)])
def test_readings_that_swing_by_more_than_a_twentieth_are_not_steady(readings, steady):
    """By hand: 5.1 of 102.55 are 4.97 %, 5.2 of 102.6 are 5.07 %."""
    assert steady_mean(readings=readings, gauge=FLOW).steady is steady


def test_no_reading_has_no_mean():
    with pytest.raises(ValueError, match="one or more"):
        steady_mean(readings=(), gauge=FLOW)


def test_a_stick_slip_index_by_hand():
    """By hand: from 3.6 to 4.4 bar about 4 bar are 0.2; ±0.04 bar of 4 bar are 0.01 of it, over root 3."""
    index, spread = swing_by_hand(
        highest_bar=4.4, lowest_bar=3.6, running_bar=4, gauge=Gauge(accuracy=0.04, full_scale=16)
    )
    assert index == pytest.approx(0.2)
    assert spread.standard == pytest.approx(0.2 * 0.01 / math.sqrt(3))
    with pytest.raises(ValueError, match="between the lowest and the highest"):
        swing_by_hand(highest_bar=4, lowest_bar=3, running_bar=5, gauge=FLOW)


def facts(**fields):
    known = {"range_low": 0.0, "range_high": 250.0, "accuracy": 1.5, "resolution": 0.1, "unit": "bar"}
    return {**known, **fields}


def test_a_class_is_a_share_of_the_range_and_an_older_instrument_a_value():
    """Class 0.6 of 250 bar is ±1.5 bar (common practice, no source)."""
    assert gauge_of(facts(accuracy=0.6, accuracy_of="span")) == gauge_of(facts())


def test_an_accuracy_of_the_reading_grows_with_it():
    """By hand: ±(0.5 % of 100 + 2 steps of 0.1) is ±0.7, of 200 ±1.2; rectangular."""
    gauge = gauge_of(facts(accuracy=0.5, accuracy_of="reading", accuracy_digits=2))
    assert gauge.half_width(100) == pytest.approx(0.7)
    assert gauge.half_width(-200) == pytest.approx(1.2)
    parts = dict(reading_uncertainty(gauge=gauge, at=200).parts)
    assert parts["accuracy"] == pytest.approx(1.2 / math.sqrt(3))
    hold = hand_hold(start_bar=100, end_bar=99, duration_s=60, gauge=gauge)
    assert dict(hold.uncertainty.parts)["drift"] == pytest.approx(0.7 / math.sqrt(3))
    # Of a fall of 1 bar the gain is off by 0.5 % and by what the steps are of the range, 0.2 of 250.
    assert dict(hold.uncertainty.parts)["gain"] == pytest.approx((0.005 + 0.2 / 250) / math.sqrt(3))


LIMIT = (18, 16, 13)


@pytest.mark.parametrize(
    ("numbers", "few", "word"),
    [
        ((18, 16, 13), (False, False, False), "passes"),
        ((19, 16, 13), (False, False, False), "fails"),
        ((18, 17, 13), (False, False, False), "fails"),
        ((18, 16, 14), (False, False, False), "fails"),
        ((18, 16, 14), (False, False, True), "fails"),
        ((18, 16, 13), (False, False, True), "not decided"),
        ((14, 12, 7), (False, False, True), "passes"),
    ],
)
def test_each_scale_number_has_its_limit(numbers, few, word):
    assert judge_cleanliness(numbers=numbers, few=few, limit=LIMIT, code="x").word == word


def test_a_measured_compliance_counts_with_its_own_uncertainty():
    check = {
        "start_bar": 7.1,
        "end_bar": 6.9,
        "duration_s": 300,
        "rig_ml_per_bar": 0.6,
        "together_ml_per_bar": 1.0,
        "gauge": Gauge(accuracy=0.04, full_scale=16),
        "hold_start_bar": 7.1,
    }
    rough = blank_check(**check)
    same = blank_check(**check, rig_expanded_ml_per_bar=0.06, together_expanded_ml_per_bar=0.1)
    close = blank_check(**check, rig_expanded_ml_per_bar=0.0, together_expanded_ml_per_bar=0.0)
    assert same.expanded_bar_per_min == pytest.approx(rough.expanded_bar_per_min)
    assert close.expanded_bar_per_min == pytest.approx(0.6 * close.uncertainty.expanded)
    assert dict(rough.parts)["blanked rig, compliances"] == pytest.approx(0.024 * math.hypot(0.05, 0.05))


# -- through the services

LIMITS = (
    {"reading": "break-away", "judged": "stroke", "figure": "break_away", "unit": "bar", "upper": 3.0},
    {"reading": "swing", "judged": "stroke", "figure": "stick_slip", "unit": "", "upper": 0.3},
    {"reading": "flow", "judged": "steady", "quantity": "flow", "unit": "L/min", "lower": 30.0},
    {
        "reading": "efficiency",
        "judged": "efficiency",
        "unit": "%",
        "lower": 80.0,
        "displacement_cm3": 24.58,
        "displacement_error_pct": 1.0,
    },
    {"reading": "oil", "judged": "cleanliness", "code_at_most": "18/16/13"},
    {"reading": "voltage", "judged": "recorded", "quantity": "voltage", "unit": "V"},
    {"reading": "winding", "judged": "value", "quantity": "insulation", "unit": "MΩ", "lower": 1.0},
)
EACH = (({"kind": "flow", "title": "Each way"}, tuple({"basis": "x", **limit} for limit in LIMITS)),)


def meter(quantity, unit, end, accuracy, step=0.01, **fields):
    made = {"quantity": quantity, "unit": unit, "range_high": end, "accuracy": accuracy, "resolution": step}
    return at_bench.gauge(**made, **fields)


def entries(**changes):
    low = at_bench.gauge(range_high=16.0, accuracy=0.04, resolution=0.001)
    flow, speed = meter("flow", "L/min", 60.0, 0.4), meter("speed", "1/min", 5000.0, 5.0, 1.0)
    known = {
        "break-away": ValueEntry(value=2.1, instrument=low),
        "swing": SwingEntry(highest_bar=2.2, lowest_bar=1.8, running_bar=2.0, instrument=low),
        "flow": SteadyEntry(readings=(37.8, 37.9, 37.85), instrument=flow),
        "efficiency": EfficiencyEntry(
            flow_l_min=37.85, speed_rpm=1800.0, instrument=flow, speed_instrument=speed
        ),
        "oil": CleanlinessEntry(report="shop counter, sample 12", counts_per_ml=(2178.0, 600.0, 63.0)),
        "voltage": ValueEntry(value=12.4, instrument=meter("voltage", "V", 30.0, 0.1)),
        "winding": ValueEntry(value=20.0, instrument=meter("insulation", "MΩ", 500.0, 1.0)),
    }
    return {**known, **changes}


@pytest.fixture
def test(bench, db):
    return at_bench.started(bench, at_bench.ready_rebuild(steps=EACH))


def recorded(bench, test, **changes):
    step = at_bench.steps_of(test)[0]
    result = at_bench.record(bench, test, step, **entries(**changes))
    rows = Reading.objects.filter(result=result).select_related("limit__step", "instrument")
    return result, {row.limit.reading: row for row in rows}


def test_every_way_of_the_model_has_its_judge():
    assert set(WAYS) == set(StepLimit.Judged.values)


def test_each_way_is_judged_kept_and_computed_again(bench, test):
    result, rows = recorded(bench, test)
    assert result.verdict == "passes"
    assert {name: row.verdict for name, row in rows.items() if row.verdict != "passes"} == {
        "voltage": "recorded"
    }
    assert rows["efficiency"].value == pytest.approx(85.5, abs=0.05)
    assert rows["efficiency"].second_instrument.unit == "1/min"
    assert rows["oil"].arithmetic.endswith("18/16/13, at most 18/16/13: passes")
    for row in rows.values():
        again = recomputed(row)
        assert (again.verdict, again.value, again.arithmetic) == (row.verdict, row.value, row.arithmetic)
        # The parts that are shown add up to what was judged.
        assert 2 * row.combined == pytest.approx(row.uncertainty)
    assert reading_row(rows["oil"]).value == "18/16/13"
    assert reading_record(rows["oil"])["code_at_most"] == "18/16/13"
    assert "figure" not in reading_record(rows["voltage"])


def test_what_is_only_recorded_needs_a_valid_instrument_all_the_same(bench, test):
    bad = meter("voltage", "V", 10.0, 0.1)
    result, rows = recorded(bench, test, voltage=ValueEntry(value=12.4, instrument=bad))
    assert rows["voltage"].verdict == result.verdict == "invalid"
    assert "does not hold 12.4" in rows["voltage"].arithmetic


def test_a_speed_beyond_its_instrument_makes_the_efficiency_invalid(bench, test):
    entry = entries()["efficiency"]
    slow = meter("speed", "1/min", 1000.0, 5.0, 1.0)
    changed = EfficiencyEntry(**{**vars(entry), "speed_instrument": slow})
    _, rows = recorded(bench, test, efficiency=changed)
    assert rows["efficiency"].verdict == "invalid"
    assert slow.code in rows["efficiency"].arithmetic


def test_what_to_measure_closer_is_said_where_no_one_gauge_decides(bench):
    """85.5 % ± 1.5 % at least 85 %, and 0.2 ± 0.006 at most 0.2."""
    near = {"efficiency": {"lower": 85.0}, "swing": {"upper": 0.2}}
    limits = [{"basis": "x", **limit, **near.get(limit["reading"], {})} for limit in LIMITS]
    steps = (({"kind": "flow", "title": "Each way"}, tuple(limits)),)
    _, rows = recorded(bench, at_bench.started(bench, at_bench.ready_rebuild(steps=steps)))
    for name, part in (("efficiency", "flow meter"), ("swing", "running pressure")):
        assert rows[name].verdict == "not_decided"
        assert f"; the {part} weighs most: measure that closer" in rows[name].arithmetic


def test_readings_that_swing_do_not_pass(bench, test):
    flow = meter("flow", "L/min", 60.0, 0.4)
    _, rows = recorded(bench, test, flow=SteadyEntry(readings=(38.0, 44.0) * 4, instrument=flow))
    assert rows["flow"].verdict == "not_decided"
    assert "still swing by 14.6 %" in rows["flow"].arithmetic


@pytest.mark.parametrize(
    ("code", "verdict"), [("18/16/13", "passes"), ("17/15/>=13", "not_decided"), ("19/16/13", "fails")]
)
def test_a_printed_code_is_taken_as_it_stands(bench, test, code, verdict):
    _, rows = recorded(bench, test, oil=CleanlinessEntry(report="laboratory, 2209", code=code))
    assert rows["oil"].verdict == verdict
    assert reading_row(rows["oil"]).value == code


def test_counts_that_rise_with_the_size_are_refused(bench, test):
    rising = CleanlinessEntry(report="x", counts_per_ml=(10.0, 20.0, 30.0))
    with pytest.raises(RuleBroken, match="oil: the counts must not rise"):
        recorded(bench, test, oil=rising)
    assert not Reading.objects.exists()


def test_the_form_asks_what_each_way_needs_and_starts_from_what_was_recorded(bench, test):
    result, rows = recorded(bench, test)
    limits = [row.limit for row in rows.values()]
    known = {"limits": limits, "proposals": {}, "states": {}, "again": True}
    blank = StepForm(initial=initial_of(result), **known)
    typed = {name: blank.get_initial_for_field(field, name) for name, field in blank.fields.items()}
    sent = {
        name: blank.fields[name].prepare_value(value) for name, value in typed.items() if value is not None
    }
    form = StepForm({**sent, "why": "typed anew"}, **known)
    assert form.is_valid(), form.errors
    told = {limit.reading: entry for limit, entry in form.entries(form.cleaned_data).items()}
    assert told["flow"].readings == (37.8, 37.9, 37.85)
    assert told["oil"].counts_per_ml == (2178.0, 600.0, 63.0)
    assert told["efficiency"].speed_instrument == rows["efficiency"].second_instrument
    assert told["swing"].running_bar == 2.0


# -- the blanked rig

HOLD = {"kind": "hold", "side": "bore", "title": "Hold", "pressure_bar": 7, "hold_s": 120}
DECAY = {"reading": "decay", "judged": "decay", "unit": "bar/min", "upper": 0.055, "basis": "x"}
BLANKED = (({**HOLD, "blank_required": True}, (DECAY,)),)
CHECK = {"start_bar": 7.1, "end_bar": 6.9, "duration_s": 300.0}
LET_OUT = {
    "rig_withdrawn": ((0.0, 7.2), (0.6, 6.2), (1.2, 5.2)),
    "together_withdrawn": ((0.0, 7.2), (1.0, 6.2), (2.0, 5.2)),
    "meter_error_ml": 0.005,
}


def hold(blank):
    instrument = at_bench.transducer(accuracy=0.04)
    return HandHoldEntry(
        start_bar=7.1,
        end_bar=6.8,
        duration_s=300.0,
        instrument=instrument,
        blank=blank and BlankEntry(**blank),
    )


def test_a_hold_without_the_check_that_its_step_asks_for_is_refused(bench, db):
    test = at_bench.started(bench, at_bench.ready_rebuild(steps=BLANKED))
    step = at_bench.steps_of(test)[0]
    with pytest.raises(RuleBroken) as refused:
        at_bench.record(bench, test, step, decay=hold(None))
    assert "Give the check" in str(refused.value.fields)
    assert not Reading.objects.exists()
    at_bench.record(bench, test, step, decay=hold({**CHECK, **LET_OUT}))
    row = Reading.objects.get()
    assert recomputed(row).arithmetic == row.arithmetic
    assert 2 * row.combined == pytest.approx(row.uncertainty)
    # 0.6 mL over 1 bar: the compliances are those of the metered withdrawal, with their own uncertainty.
    pairs = LET_OUT["rig_withdrawn"]
    known = rig_compliance(
        withdrawn_ml=tuple(pair[0] for pair in pairs),
        pressure_bar=tuple(pair[1] for pair in pairs),
        meter_error_ml=0.005,
        gauge_error_bar=0.04,
    )
    assert known.compliance_ml_per_bar == pytest.approx(0.6)
    assert row.value == pytest.approx(0.06 - 0.6 * 0.04)
    assert known.expanded_ml_per_bar < 0.06  # closer than the tenth of it that counts without


def test_what_would_decide_a_hold_is_said_beside_a_blanked_rig(bench, db):
    near = (({**HOLD, "blank_required": True}, ({**DECAY, "upper": 0.038},)),)
    test = at_bench.started(bench, at_bench.ready_rebuild(steps=near))
    at_bench.record(bench, test, at_bench.steps_of(test)[0], decay=hold({**CHECK, **LET_OUT}))
    row = Reading.objects.get()
    assert row.verdict == "not_decided"
    assert "would decide it" in row.arithmetic or "too near the limit" in row.arithmetic
    # Before the third evaluation nothing was said there, and such a reading is told as it was.
    row.observed["evaluation"] = 2
    assert recomputed(row).arithmetic.endswith("the limit lies inside the uncertainty")


def test_an_instrument_says_its_accuracy_as_it_was_stated():
    unit = Instrument(accuracy=1.5, unit="bar")
    span = Instrument(accuracy=0.6, unit="bar", accuracy_of="span")
    share = Instrument(accuracy=0.5, unit="V", accuracy_of="reading", accuracy_digits=2)
    said = [row.accuracy_text for row in (unit, span, share)]
    assert said == ["±1.5 bar", "±0.6 % of the range", "±0.5 % of reading + 2 steps"]

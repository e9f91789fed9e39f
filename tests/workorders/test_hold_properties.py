"""What must not matter to a verdict, and what must: shifts, units, order of columns, uncertainty, value."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from workorders.calc.hold import evaluate_hold
from workorders.calc.hold_window import propose_window
from workorders.calc.thin import thin
from workorders.calc.trace import read_trace
from workorders.calc.trace_units import BAR, SECONDS
from workorders.calc.uncertainty import Gauge, slope_uncertainty
from workorders.calc.verdict import FAILS, NOT_DECIDED, PASSES, judge, judge_hold

FEW = settings(max_examples=60, deadline=None)
TIME_S = np.arange(0.0, 120.0, 0.4)
NOISE = np.random.default_rng(31).normal(0, 0.002, TIME_S.size)
GAUGE = Gauge(accuracy=0.04, full_scale=16, resolution=0.001)
BADNESS = {PASSES: 0, NOT_DECIDED: 1, FAILS: 2}
SHAPES = {
    "straight": lambda rate: 7 - rate / 60 * TIME_S + NOISE,
    "settling": lambda rate: 7 - rate / 60 * TIME_S + 0.3 * np.exp(-TIME_S / 15) + NOISE,
    "emptying": lambda rate: 7 * np.exp(-TIME_S / (15 / (0.5 + rate))) + 0.1 + NOISE,
}
shapes = st.sampled_from(sorted(SHAPES))
rates = st.floats(-0.2, 0.4)
limits = st.floats(0.001, 0.3)


def fitted(shape, rate, *, shift_s=0.0, scale=1.0, more_bar=0.0):
    pressure = SHAPES[shape](rate)
    return evaluate_hold(time_s=TIME_S + shift_s, pressure_bar=scale * pressure + more_bar)


def clear_of_its_limit(hold, gauge, limit):
    """Whether no last digit decides: the limit is no end of value ± uncertainty."""
    expanded = slope_uncertainty(hold=hold, gauge=gauge, correlated=hold.straight).expanded
    average = (hold.first_bar - hold.last_bar) / hold.duration_s * 60
    ends = [value + sign * expanded for value in (hold.decay_bar_per_min, average) for sign in (-1, 1)]
    return min(abs(end - limit) for end in ends) > 1e-6 * limit


# -- shifts and units


@FEW
@given(shape=shapes, rate=rates, limit=limits, shift_s=st.floats(-1e5, 1e8))
def test_when_the_clock_started_does_not_matter(shape, rate, limit, shift_s):
    hold, moved = fitted(shape, rate), fitted(shape, rate, shift_s=shift_s)
    assert moved.decay_bar_per_min == pytest.approx(hold.decay_bar_per_min, rel=1e-5, abs=1e-7)
    assert moved.correlated_error_bar_per_min == pytest.approx(hold.correlated_error_bar_per_min, rel=1e-4)
    assert (moved.straight, moved.bend) == (hold.straight, hold.bend)
    assume(clear_of_its_limit(hold, GAUGE, limit))
    words = [judge_hold(hold=each, gauge=GAUGE, limit_bar_per_min=limit).word for each in (hold, moved)]
    assert words[0] == words[1]


@FEW
@given(shape=shapes, rate=rates, limit=limits, scale=st.floats(1e-2, 1e2))
def test_another_unit_of_pressure_scales_the_numbers_and_leaves_the_verdict(shape, rate, limit, scale):
    hold, scaled = fitted(shape, rate), fitted(shape, rate, scale=scale)
    assert scaled.decay_bar_per_min == pytest.approx(scale * hold.decay_bar_per_min, rel=1e-9)
    error, other = hold.correlated_error_bar_per_min, scaled.correlated_error_bar_per_min
    assert other == pytest.approx(scale * error, rel=1e-6)
    gauge = Gauge(accuracy=0.04 * scale, full_scale=16 * scale, resolution=0.001 * scale)
    assume(clear_of_its_limit(hold, GAUGE, limit))
    verdict = judge_hold(hold=hold, gauge=GAUGE, limit_bar_per_min=limit)
    again = judge_hold(hold=scaled, gauge=gauge, limit_bar_per_min=limit * scale)
    assert again.word == verdict.word
    assert again.uncertainty == pytest.approx(scale * verdict.uncertainty, rel=1e-6)


@FEW
@given(rate=rates, limit=limits, more_bar=st.floats(-6, 400))
def test_the_level_of_the_pressure_does_not_matter_to_a_straight_hold(rate, limit, more_bar):
    hold, raised = fitted("straight", rate), fitted("straight", rate, more_bar=more_bar)
    assert raised.decay_bar_per_min == pytest.approx(hold.decay_bar_per_min, abs=1e-9)
    assert raised.straight == hold.straight
    assume(clear_of_its_limit(hold, GAUGE, limit))
    words = [judge_hold(hold=each, gauge=GAUGE, limit_bar_per_min=limit).word for each in (hold, raised)]
    assert words[0] == words[1]


@FEW
@given(
    rate=st.floats(0.01, 0.3),
    pressure_unit=st.sampled_from(sorted(BAR)),
    time_unit=st.sampled_from(["ms", "s", "min", "h"]),
    order=st.permutations(range(4)),
)
def test_neither_the_units_of_a_file_nor_the_order_of_its_columns_matter(
    rate, pressure_unit, time_unit, order
):
    pressure = SHAPES["straight"](rate)
    columns = (
        (f"time [{time_unit}]", TIME_S / SECONDS[time_unit]),
        (f"pressure [{pressure_unit}]", pressure / BAR[pressure_unit]),
        ("oil [°C]", 40 + np.sin(TIME_S / 9)),
        ("rod [mm]", 120 + 0.001 * TIME_S),
    )

    def written(places):
        chosen = [columns[at] for at in places]
        rows = [";".join(name for name, _ in chosen)]
        rows += [
            ";".join(f"{value:.9f}" for value in row) for row in zip(*(v for _, v in chosen), strict=True)
        ]
        return "\n".join(rows).encode()

    trace, first = read_trace(data=written(order)), read_trace(data=written(range(4)))
    assert trace.mapping.pressure_column == order.index(1)
    np.testing.assert_array_equal(trace.pressure_bar, first.pressure_bar)
    np.testing.assert_allclose(trace.pressure_bar, pressure, atol=1e-7)
    hold = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar)
    assert hold == evaluate_hold(time_s=first.time_s, pressure_bar=first.pressure_bar)
    assert hold.decay_bar_per_min == pytest.approx(fitted("straight", rate).decay_bar_per_min, abs=1e-5)


@FEW
@given(rate=rates, more_bar=st.floats(-1, 400))
def test_the_level_of_the_pressure_does_not_move_the_window(rate, more_bar):
    """Above a vessel that empties: for that one the window rests on the level itself."""
    pressure = 100 + SHAPES["settling"](rate)
    plain = propose_window(time_s=TIME_S, pressure_bar=pressure)
    raised = propose_window(time_s=TIME_S, pressure_bar=pressure + more_bar)
    assert raised == plain


# -- the same again


@FEW
@given(shape=shapes, rate=rates)
def test_the_same_file_gives_the_same_result(shape, rate):
    rows = zip(TIME_S, SHAPES[shape](rate), strict=True)
    data = ("t [s];p [bar]\n" + "".join(f"{t:.1f};{p:.4f}\n" for t, p in rows)).encode()
    one, two = read_trace(data=data), read_trace(data=data)
    assert (one.mapping, one.warnings) == (two.mapping, two.warnings)
    holds = [evaluate_hold(time_s=each.time_s, pressure_bar=each.pressure_bar) for each in (one, two)]
    assert holds[0] == holds[1]


@FEW
@given(
    values=st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=400),
    buckets=st.integers(1, 60),
    data=st.data(),
)
def test_thinning_loses_no_extreme(values, buckets, data):
    steps = data.draw(st.lists(st.floats(0, 5), min_size=len(values), max_size=len(values)))
    time_s, value = np.cumsum(steps), np.array(values)
    times, kept = thin(time_s=time_s, value=value, buckets=buckets)
    assert (kept.min(), kept.max()) == (value.min(), value.max())
    assert (kept[0], kept[-1]) == (value[0], value[-1])
    assert np.all(np.diff(times) >= 0)
    assert len(kept) <= max(2 * buckets + 2, 2)


# -- the verdict


def word(value, uncertainty, lower, upper):
    return judge(value=value, unit="bar", uncertainty=uncertainty, lower=lower, upper=upper).word


numbers = st.floats(-1e4, 1e4)


@given(
    value=numbers,
    little=st.floats(0, 100),
    more=st.floats(0, 100),
    limit=numbers,
    wide=st.floats(0, 1e3),
    ends=st.sampled_from(["lower", "upper", "both"]),
)
def test_more_uncertainty_only_ever_undecides(value, little, more, limit, wide, ends):
    """It never turns not decided into a verdict, nor a verdict into the other one."""
    lower = None if ends == "upper" else limit
    upper = None if ends == "lower" else limit + wide
    before, after = word(value, little, lower, upper), word(value, little + more, lower, upper)
    assert after in (before, NOT_DECIDED)


@given(one=numbers, step=st.floats(0, 1e3), uncertainty=st.floats(0, 100), limit=numbers)
def test_a_verdict_follows_its_value(one, step, uncertainty, limit):
    """A higher value is never better against a limit at most, and never worse against one at least."""
    at_most = [BADNESS[word(value, uncertainty, None, limit)] for value in (one, one + step)]
    at_least = [BADNESS[word(value, uncertainty, limit, None)] for value in (one, one + step)]
    assert at_most[0] <= at_most[1]
    assert at_least[0] >= at_least[1]


@FEW
@given(shape=shapes, rate=rates, limit=limits, times=st.floats(1, 50))
def test_a_coarser_gauge_only_ever_undecides_a_hold(shape, rate, limit, times):
    hold = fitted(shape, rate)
    fine = judge_hold(hold=hold, gauge=GAUGE, limit_bar_per_min=limit).word
    coarse = replace(GAUGE, accuracy=GAUGE.accuracy * times, resolution=GAUGE.resolution * times)
    assert judge_hold(hold=hold, gauge=coarse, limit_bar_per_min=limit).word in (fine, NOT_DECIDED)


@FEW
@given(shape=shapes, rate=rates, limit=limits, more=st.floats(0, 1))
def test_a_laxer_limit_never_judges_worse(shape, rate, limit, more):
    hold = fitted(shape, rate)
    strict, lax = (
        BADNESS[judge_hold(hold=hold, gauge=GAUGE, limit_bar_per_min=one).word]
        for one in (limit, limit + more)
    )
    assert lax <= strict

"""Uncertainty of readings, holds and slopes, and the three verdicts on both sides of every limit."""

import numpy as np
import pytest
from scipy import stats

from tests.workorders.trace_files import real
from workorders.calc.hold import HoldFit, evaluate_hold
from workorders.calc.trace import read_trace
from workorders.calc.uncertainty import (
    Gauge,
    hand_hold,
    reading_uncertainty,
    slope_uncertainty,
)
from workorders.calc.verdict import judge, judge_count, judge_hand_hold, judge_hold, judge_witness

CLASS_025 = Gauge(accuracy=0.04, full_scale=16.0)  # 0.25 % of 16 bar


def fit_of(name: str) -> HoldFit:
    trace = read_trace(data=real(name))
    return evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar)


def test_an_accuracy_is_a_rectangle_and_a_resolution_another():
    """Independent: the standard deviations of SciPy's uniform distribution."""
    gauge = Gauge(accuracy=1.6, full_scale=160, resolution=0.5)
    parts = dict(reading_uncertainty(gauge=gauge).parts)
    assert parts["accuracy"] == pytest.approx(stats.uniform(-1.6, 3.2).std())
    assert parts["resolution"] == pytest.approx(stats.uniform(-0.25, 0.5).std())
    expected = 2 * np.hypot(parts["accuracy"], parts["resolution"])
    assert reading_uncertainty(gauge=gauge).expanded == pytest.approx(expected)


def test_a_hand_hold_agrees_with_a_simulation_of_its_stated_assumptions():
    """A million draws of drift, gain, resolution and timing, each from its stated rectangle."""
    rng = np.random.default_rng(21)
    n = 1_000_000
    gauge = Gauge(accuracy=0.16, full_scale=16, resolution=0.1)
    start, end, duration = 10.0, 6.0, 120.0
    gain = 1 + rng.uniform(-0.01, 0.01, n)
    drift = rng.uniform(-0.16, 0.16, n)
    display = rng.uniform(-0.05, 0.05, n) - rng.uniform(-0.05, 0.05, n)
    seconds = duration + rng.uniform(-1, 1, n)
    simulated = ((start - end) * gain + drift + display) / seconds * 60
    hold = hand_hold(start_bar=start, end_bar=end, duration_s=duration, gauge=gauge)
    assert hold.decay_bar_per_min == pytest.approx(simulated.mean(), rel=1e-3)
    assert hold.uncertainty.standard == pytest.approx(simulated.std(), rel=5e-3)


def test_what_both_readings_share_cancels():
    """The pressure level does not enter: only the fall, the time and the gauge do."""
    low = hand_hold(start_bar=2.0, end_bar=1.9, duration_s=300, gauge=CLASS_025)
    high = hand_hold(start_bar=15.0, end_bar=14.9, duration_s=300, gauge=CLASS_025)
    assert low.uncertainty.expanded == pytest.approx(high.uncertainty.expanded)


def test_a_longer_hold_and_a_better_gauge_are_less_uncertain():
    def expanded(duration_s: float, accuracy: float) -> float:
        gauge = Gauge(accuracy=accuracy, full_scale=16, resolution=0.02)
        return hand_hold(start_bar=8, end_bar=7.9, duration_s=duration_s, gauge=gauge).uncertainty.expanded

    assert expanded(600, 0.04) < expanded(300, 0.04) < expanded(300, 0.16)


def test_a_slope_has_its_regression_beside_the_drift_of_the_gauge():
    fit = fit_of("hold_slow_leak")
    uncertainty = slope_uncertainty(hold=fit, gauge=CLASS_025, few=False)
    drift = 0.04 / np.sqrt(3) / (fit.duration_s / 60)
    gain = 0.0025 / np.sqrt(3) * fit.decay_bar_per_min
    expected = np.sqrt(drift**2 + gain**2 + fit.correlated_error_bar_per_min**2)
    assert uncertainty.standard == pytest.approx(expected)
    assert dict(uncertainty.parts)["regression"] == fit.correlated_error_bar_per_min
    few = dict(slope_uncertainty(hold=fit, gauge=CLASS_025).parts)["regression"]
    student = stats.t.ppf(stats.norm.cdf(2), fit.effective_n - 2)
    assert few == pytest.approx(fit.correlated_error_bar_per_min * student / 2)
    first = slope_uncertainty(hold=fit, gauge=CLASS_025, correlated=False, few=False)
    assert dict(first.parts)["regression"] == fit.standard_error_bar_per_min


def test_a_class_of_a_quarter_percent_decides_a_tight_hold_of_two_and_a_half_minutes():
    verdict = judge_hold(hold=fit_of("hold_tight"), gauge=CLASS_025, limit_bar_per_min=0.05)
    assert verdict.word == "passes"
    assert verdict.sentence == "0.014 bar/min, at most 0.05 bar/min, uncertainty ±0.019 bar/min: passes"


def test_a_coarse_gauge_cannot_decide_the_same_hold():
    coarse = Gauge(accuracy=0.16, full_scale=16)
    assert judge_hold(hold=fit_of("hold_tight"), gauge=coarse, limit_bar_per_min=0.05).word == "not decided"


def test_a_slow_leak_near_its_limit_is_not_decided_and_beyond_it_fails():
    fit = fit_of("hold_slow_leak")
    near = judge_hold(hold=fit, gauge=CLASS_025, limit_bar_per_min=0.05)
    assert near.sentence.endswith("not decided: the limit lies inside the uncertainty")
    assert judge_hold(hold=fit, gauge=CLASS_025, limit_bar_per_min=0.02).word == "fails"


def test_an_emptying_trace_fails_by_its_first_and_last_reading_and_never_by_its_slope():
    verdict = judge_hold(hold=fit_of("hold_fast_leak"), gauge=CLASS_025, limit_bar_per_min=0.05)
    assert verdict.word == "fails"
    # By hand: (7.666 - 0.030) bar / 144.465 s * 60 s/min = 3.1714 bar/min.
    assert verdict.sentence.startswith("not a straight line (emptying")
    assert "from 7.666 to 0.030 bar in 144.5 s, on average 3.17 bar/min" in verdict.sentence


def test_a_settling_trace_neither_passes_nor_fails():
    time_s = np.arange(0, 150, 0.1)
    fit = evaluate_hold(time_s=time_s, pressure_bar=7 + 0.02 * np.exp(-time_s / 15))
    for limit in (0.5, 1e-5):
        verdict = judge_hold(hold=fit, gauge=CLASS_025, limit_bar_per_min=limit)
        assert verdict.word == "not decided"
        assert "settling" in verdict.sentence


@pytest.mark.parametrize(
    ("value", "word"),
    [
        (0.03, "passes"),
        (0.030001, "not decided"),
        (0.07, "not decided"),
        (0.070001, "fails"),
        (-1.0, "passes"),
    ],
)
def test_at_most(value, word):
    assert judge(value=value, unit="bar/min", uncertainty=0.02, upper=0.05).word == word


@pytest.mark.parametrize(
    ("value", "word"), [(12.0, "passes"), (11.999, "not decided"), (8.0, "not decided"), (7.999, "fails")]
)
def test_at_least(value, word):
    assert judge(value=value, unit="L/min", uncertainty=2.0, lower=10.0).word == word


@pytest.mark.parametrize(
    ("value", "word"),
    [
        (88.9, "fails"),
        (89.0, "not decided"),
        (90.9, "not decided"),
        (91.0, "passes"),
        (109.0, "passes"),
        (109.1, "not decided"),
        (111.0, "not decided"),
        (111.1, "fails"),
    ],
)
def test_between_two_limits(value, word):
    assert judge(value=value, unit="bar", uncertainty=1.0, lower=90.0, upper=110.0).word == word


def test_a_range_narrower_than_the_uncertainty_can_never_pass():
    for value in np.linspace(90, 110, 41):
        assert judge(value=value, unit="bar", uncertainty=5, lower=99, upper=101).word != "passes"


def test_without_uncertainty_every_value_is_decided():
    assert judge(value=0.3, unit="mm", uncertainty=0, upper=0.1 + 0.2).word == "passes"
    assert judge(value=0.1 + 0.2, unit="mm", uncertainty=0, upper=0.3).word == "passes"
    assert judge(value=0.3001, unit="mm", uncertainty=0, upper=0.3).word == "fails"


def test_the_sentence_has_the_arithmetic_for_people():
    verdict = judge(value=103.27, unit="bar", uncertainty=1.23, lower=90, upper=110)
    assert verdict.sentence == "103.3 bar, at least 90 bar and at most 110 bar, uncertainty ±1.3 bar: passes"
    assert (verdict.value, verdict.lower, verdict.upper, verdict.uncertainty) == (103.27, 90, 110, 1.23)
    assert "k = 2" in verdict.rule
    assert "JCGM 100" in verdict.rule


@pytest.mark.parametrize(
    ("count", "limits", "word"),
    [
        (0, {"upper": 0}, "passes"),
        (1, {"upper": 0}, "fails"),
        (3, {"lower": 3}, "passes"),
        (2, {"lower": 3}, "fails"),
    ],
)
def test_a_count_has_no_uncertainty(count, limits, word):
    verdict = judge_count(count=count, what="drips", **limits)
    assert verdict.word == word
    assert verdict.uncertainty == 0
    assert "±" not in verdict.sentence


def test_a_witnessed_observation_is_as_required_or_not():
    assert (
        judge_witness(as_required=True, what="dry outside").sentence
        == "dry outside: seen as required: passes"
    )
    assert judge_witness(as_required=False, what="dry outside").word == "fails"


def test_a_hand_hold_is_judged_with_its_uncertainty():
    gauge = Gauge(accuracy=0.04, full_scale=16, resolution=0.01)
    hold = hand_hold(start_bar=8.0, end_bar=7.9, duration_s=300, gauge=gauge)
    assert hold.decay_bar_per_min == pytest.approx(0.02)  # 0.1 bar in 5 min
    assert judge_hand_hold(hold=hold, limit_bar_per_min=0.05).word == "passes"
    assert judge_hand_hold(hold=hold, limit_bar_per_min=0.025).word == "not decided"
    assert judge_hand_hold(hold=hold, limit_bar_per_min=0.01).word == "fails"


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"value": float("nan"), "uncertainty": 1, "upper": 1}, "value must be a number"),
        ({"value": 1, "uncertainty": -1, "upper": 1}, "uncertainty must be 0 or more"),
        ({"value": 1, "uncertainty": float("nan"), "upper": 1}, "uncertainty must be 0 or more"),
        ({"value": 1, "uncertainty": 1}, "a limit is needed"),
        ({"value": 1, "uncertainty": 1, "lower": 2, "upper": 1}, "lower must not be above upper"),
    ],
)
def test_a_judgement_without_sense_is_refused(values, words):
    with pytest.raises(ValueError, match=words):
        judge(unit="bar", **values)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"duration_s": 0}, "duration_s must be above 0"),
        ({"duration_s": 60, "timing_s": -1}, "timing_s must be 0"),
        ({"duration_s": 60, "start_bar": float("inf")}, "must be numbers"),
    ],
)
def test_a_hand_hold_without_sense_is_refused(values, words):
    with pytest.raises(ValueError, match=words):
        hand_hold(**{"start_bar": 8, "end_bar": 7, "gauge": CLASS_025, **values})


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"accuracy": 0, "full_scale": 16}, "accuracy must be above 0"),
        ({"accuracy": 0.1, "full_scale": 0}, "full_scale must be above 0"),
        ({"accuracy": 0.1, "full_scale": 16, "resolution": -1}, "resolution must be 0 or more"),
    ],
)
def test_a_gauge_without_sense_is_refused(values, words):
    with pytest.raises(ValueError, match=words):
        Gauge(**values)


def test_a_negative_count_is_refused():
    with pytest.raises(ValueError, match="count must be 0 or more"):
        judge_count(count=-1, what="drips", upper=0)

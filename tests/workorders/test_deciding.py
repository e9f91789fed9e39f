"""What would decide a verdict that is open, and the bench sums of verdicts."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workorders.calc.bench_verdicts import hold_verdict, reading_verdict
from workorders.calc.deciding import deciding_hold, deciding_reading
from workorders.calc.hold import evaluate_hold
from workorders.calc.uncertainty import Gauge, hand_hold, reading_uncertainty, slope_uncertainty
from workorders.calc.verdict import judge

READING = {"reading": 162, "accuracy_class_pct": 1, "full_scale": 250, "resolution": 1, "lower": 160}
HOLD = {
    "decay_bar_per_min": 0.0433,
    "duration_s": 141.4,
    "limit_bar_per_min": 0.05,
    "accuracy_class_pct": 0.25,
    "full_scale_bar": 16,
    "standard_error_bar_per_min": 0.0014,
}
GAUGE = Gauge(accuracy=0.04, full_scale=16, resolution=0.001)


# -- a better gauge


def test_a_gauge_that_is_said_to_decide_decides():
    wanted = deciding_reading(value=162, gauge=Gauge(accuracy=2.5, full_scale=250, resolution=1), lower=160)
    better = Gauge(accuracy=wanted.accuracy * 0.999, full_scale=250, resolution=1)
    worse = Gauge(accuracy=wanted.accuracy * 1.001, full_scale=250, resolution=1)
    words = [
        judge(value=162, unit="bar", uncertainty=reading_uncertainty(gauge=gauge).expanded, lower=160).word
        for gauge in (better, worse)
    ]
    assert words == ["passes", "not decided"]
    assert wanted.hold_s is None


def test_by_hand_the_accuracy_is_what_the_steps_leave_of_half_the_margin():
    """Half of 2 bar is 1; 1 bar steps take 1/12 of its square; the rest times the root of three."""
    wanted = deciding_reading(value=162, gauge=Gauge(accuracy=2.5, full_scale=250, resolution=1), lower=160)
    assert wanted.accuracy == pytest.approx(np.sqrt(3 * (1 - 1 / 12)))


def test_a_value_on_its_limit_is_decided_by_nothing():
    on_it = deciding_reading(value=160, gauge=GAUGE, lower=160)
    assert on_it.accuracy is None
    assert on_it.sentence == "too near the limit for a better gauge to decide"


def test_a_gauge_that_nobody_makes_is_not_asked_for():
    nearly = deciding_reading(value=160.0000001, gauge=Gauge(accuracy=1, full_scale=160), lower=160)
    assert nearly.accuracy is None
    near = deciding_reading(value=160.00001, gauge=Gauge(accuracy=1, full_scale=160), lower=160)
    assert near.accuracy == pytest.approx(0.000005 * np.sqrt(3), rel=1e-3)


def test_of_two_limits_the_nearer_counts():
    near = deciding_reading(value=99, gauge=Gauge(accuracy=3, full_scale=160), lower=90, upper=100)
    assert near.accuracy == pytest.approx(np.sqrt(3) / 2)


# -- a longer hold


def test_a_hand_hold_as_long_as_said_decides():
    hold = hand_hold(start_bar=8.0, end_bar=7.9, duration_s=150, gauge=GAUGE)
    wanted = deciding_hold(hold=hold, gauge=GAUGE, limit_bar_per_min=0.05)
    assert wanted.hold_s > 150
    for length, word in ((wanted.hold_s * 1.001, "passes"), (wanted.hold_s * 0.999, "not decided")):
        longer = hand_hold(start_bar=8.0, end_bar=8 - 0.04 / 60 * length, duration_s=length, gauge=GAUGE)
        judged = judge(
            value=longer.decay_bar_per_min, unit="", uncertainty=longer.uncertainty.expanded, upper=0.05
        )
        assert judged.word == word


def test_a_logged_hold_as_long_as_said_decides():
    """The same noise at the same rate: its standard error falls with the power 1.5 of the length."""
    rng = np.random.default_rng(5)
    noise = rng.normal(0, 0.02, 60_000)

    def fitted(length_s):
        time_s = np.arange(0.0, length_s, 0.1)
        return evaluate_hold(time_s=time_s, pressure_bar=8 - 0.04 / 60 * time_s + noise[: time_s.size])

    short = fitted(150)
    wanted = deciding_hold(hold=short, gauge=GAUGE, limit_bar_per_min=short.decay_bar_per_min + 0.008)
    long = fitted(wanted.hold_s)
    assert slope_uncertainty(hold=long, gauge=GAUGE).expanded == pytest.approx(0.008, rel=0.05)


def test_what_no_hold_within_a_day_decides_says_so():
    """The gain of the gauge stays however long the hold is."""
    coarse = Gauge(accuracy=1, full_scale=100)
    hold = hand_hold(start_bar=100, end_bar=80, duration_s=600, gauge=coarse)
    wanted = deciding_hold(hold=hold, gauge=coarse, limit_bar_per_min=hold.decay_bar_per_min + 0.02)
    assert wanted.hold_s is None
    assert wanted.accuracy is not None
    assert wanted.sentence.startswith("a gauge of ±")


@pytest.mark.parametrize(
    ("duration_s", "words"),
    [(150.0, "a hold of 1"), (900.0, "min or a gauge of ±")],
    ids=["seconds", "minutes"],
)
def test_the_sentence_is_written_as_people_set_clocks(duration_s, words):
    hold = hand_hold(start_bar=8.0, end_bar=8 - 0.04 / 60 * duration_s, duration_s=duration_s, gauge=GAUGE)
    expanded = hold.uncertainty.expanded
    limit = hold.decay_bar_per_min + 0.9 * expanded
    assert words in deciding_hold(hold=hold, gauge=GAUGE, limit_bar_per_min=limit).sentence


def test_a_hold_on_its_limit_is_decided_by_no_longer_one():
    hold = hand_hold(start_bar=8.0, end_bar=7.9, duration_s=150, gauge=GAUGE)
    on_it = deciding_hold(hold=hold, gauge=GAUGE, limit_bar_per_min=hold.decay_bar_per_min, least_s=300)
    assert on_it.sentence == "too near the limit for a longer hold or a better gauge to decide"


def test_no_hold_is_advised_that_is_shorter_than_what_is_asked_for():
    hold = hand_hold(start_bar=8.0, end_bar=7.9, duration_s=150, gauge=GAUGE)
    enough = deciding_hold(hold=hold, gauge=GAUGE, limit_bar_per_min=0.05).hold_s
    for least_s, told in ((enough - 1, enough), (enough + 60, enough + 60)):
        found = deciding_hold(hold=hold, gauge=GAUGE, limit_bar_per_min=0.05, least_s=least_s)
        assert found.hold_s == told


# -- reading_verdict


def test_a_class_is_a_share_of_the_end_of_the_scale():
    found = reading_verdict(**READING)
    assert found.accuracy == 2.5
    # By hand: 2.5/√3 = 1.4434, 1/√12 = 0.2887, 2 √(1.4434² + 0.2887²) = 2.9439.
    assert found.expanded_uncertainty == pytest.approx(2.9439, abs=5e-5)
    assert found.verdict == "not decided"


def test_a_rectangle_of_one_and_a_half_is_as_published():
    """The documentation of a metrology program prints 0.8660254037844387 for a uniform half-width of 1.5."""
    found = reading_verdict(reading=0, accuracy_class_pct=1.5, full_scale=100, upper=100)
    assert found.accuracy_part == pytest.approx(0.8660254037844387, rel=1e-12)


@pytest.mark.parametrize(
    ("reading", "word"),
    [(162.945, "passes"), (162.943, "not decided"), (157.057, "not decided"), (157.055, "fails")],
)
def test_a_reading_on_both_sides_of_its_limit(reading, word):
    found = reading_verdict(**{**READING, "reading": reading})
    assert found.verdict == word
    assert (found.would_decide == "it is decided") == (word != "not decided")


def test_repeats_are_combined_with_the_rest():
    found = reading_verdict(**READING, repeats=1.0)
    alone = reading_verdict(**READING)
    assert found.expanded_uncertainty == pytest.approx(np.hypot(alone.expanded_uncertainty, 2.0))


@given(scale=st.floats(0.01, 100))
def test_another_unit_changes_no_verdict(scale):
    plain = reading_verdict(**READING)
    scaled = reading_verdict(
        reading=162 * scale,
        accuracy_class_pct=1,
        full_scale=250 * scale,
        resolution=scale,
        lower=160 * scale,
    )
    assert scaled.verdict == plain.verdict
    assert scaled.expanded_uncertainty == pytest.approx(scale * plain.expanded_uncertainty)


# -- hold_verdict


def test_the_slow_leak_is_decided_by_a_hold_of_seven_minutes():
    found = hold_verdict(**HOLD)
    assert found.verdict == "not decided"
    assert 360 < found.decided_after_s < 480
    for share, word in ((1.001, "passes"), (0.999, "not decided")):
        length_s = found.decided_after_s * share
        error = 0.0014 / (length_s / 141.4) ** 1.5
        longer = {**HOLD, "duration_s": length_s, "standard_error_bar_per_min": error}
        assert hold_verdict(**longer).verdict == word
    better = 100 * found.decided_by_bar / 16
    assert hold_verdict(**{**HOLD, "accuracy_class_pct": better * 0.999}).verdict == "passes"


def test_a_hold_that_is_decided_asks_for_nothing_more():
    found = hold_verdict(**{**HOLD, "decay_bar_per_min": 0.0})
    assert (found.verdict, found.decided_after_s, found.decided_by_bar) == ("passes", None, None)


def test_the_bench_sum_is_the_sum_of_the_test():
    """The same hold through the evaluation that tests are judged by."""
    hold = hand_hold(start_bar=8.0, end_bar=7.9, duration_s=150, gauge=GAUGE, timing_s=0)
    found = hold_verdict(
        decay_bar_per_min=hold.decay_bar_per_min,
        duration_s=150,
        limit_bar_per_min=0.05,
        accuracy_class_pct=0.25,
        full_scale_bar=16,
        resolution_bar=0.001,
    )
    assert found.expanded_bar_per_min == pytest.approx(hold.uncertainty.expanded)


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"lower": None}, "upper is needed, or lower; got neither"),
        ({"upper": 150}, "lower must be at most upper"),
        ({"accuracy_class_pct": 0}, "accuracy_class_pct must be at least 0.001 %"),
        ({"full_scale": 0}, "full_scale must be at least 0.001"),
        ({"resolution": -1}, "resolution must be at least 0"),
    ],
)
def test_an_impossible_reading_is_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        reading_verdict(**{**READING, **fields})


def test_an_impossible_hold_is_refused():
    with pytest.raises(ValueError, match="duration_s must be at least 1 s"):
        hold_verdict(**{**HOLD, "duration_s": 0.5})

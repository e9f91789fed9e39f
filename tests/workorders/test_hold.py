"""The evaluation of a hold against certified data, an independent fit, and its own stated rules."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workorders.calc.hold import HoldError, evaluate_hold, is_emptying
from workorders.calc.hold_table import hold_decay

TIME_S = np.arange(0.0, 150.0, 0.1)
NOISE = np.random.default_rng(11).normal(0, 0.003, TIME_S.size)
UNEVEN = np.cumsum(np.random.default_rng(12).exponential(0.1, 1500))


def test_certified_regression_of_nist():
    """NIST Statistical Reference Datasets, Norris: the certified values of the file that SciPy ships."""
    rows = (Path(__file__).with_name("norris_nist_strd.dat")).read_text().splitlines()
    (b0, _), (b1, b1_error) = ([float(word) for word in rows[at].split()[1:]] for at in (30, 31))
    r_squared = float(next(row for row in rows if "R-Squared" in row).split()[1])
    y, x = np.array([[float(word) for word in row.split()] for row in rows[60:96]]).T
    order = np.argsort(x)
    fit = evaluate_hold(time_s=x[order], pressure_bar=y[order])
    assert fit.n == 36
    assert fit.decay_bar_per_min == pytest.approx(-b1 * 60, rel=1e-12)
    assert fit.standard_error_bar_per_min == pytest.approx(b1_error * 60, rel=1e-9)
    assert fit.intercept_bar == pytest.approx(b0, rel=1e-11)
    assert fit.r**2 == pytest.approx(r_squared, rel=1e-12)


def test_the_calibration_line_of_the_guide():
    """JCGM 100:2008, H.3, table H.6: corrections of a thermometer over its readings, from 20 °C.

    The data are read in the documentation of a metrology program; slope and errors by NumPy.
    """
    reading_c = np.array(
        [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    )
    correction_c = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    (slope, intercept), covariance = np.polyfit(reading_c - 20, correction_c, 1, cov=True)
    fit = evaluate_hold(time_s=reading_c - 20, pressure_bar=np.array(correction_c))
    assert fit.decay_bar_per_min / -60 == pytest.approx(slope, rel=1e-9)
    assert fit.standard_error_bar_per_min / 60 == pytest.approx(np.sqrt(covariance[0, 0]), rel=1e-9)
    assert fit.intercept_bar == pytest.approx(intercept, rel=1e-9)


@pytest.mark.parametrize("time_s", [TIME_S, UNEVEN], ids=["even steps", "uneven steps"])
def test_a_noisy_hold_agrees_with_numpy(time_s):
    pressure = 7 - 0.05 / 60 * time_s + NOISE[: time_s.size]
    (slope, intercept), covariance = np.polyfit(time_s, pressure, 1, cov=True)
    fit = evaluate_hold(time_s=time_s, pressure_bar=pressure)
    assert fit.decay_bar_per_min == pytest.approx(-60 * slope, rel=1e-8)
    assert fit.standard_error_bar_per_min == pytest.approx(60 * np.sqrt(covariance[0, 0]), rel=1e-8)
    assert fit.line_bar(time_s=30.0) == pytest.approx(intercept + 30 * slope, rel=1e-10)
    curve = np.polyval(np.polyfit(time_s - time_s.mean(), pressure, 2), time_s - time_s.mean())
    assert fit.departure_bar == pytest.approx(np.max(np.abs(curve - (intercept + slope * time_s))), rel=1e-6)


def test_only_the_window_counts_with_both_its_ends():
    pressure = np.where(TIME_S < 50, 9.0, 8 - 0.06 / 60 * (TIME_S - 50))
    fit = evaluate_hold(time_s=TIME_S, pressure_bar=pressure, start_s=TIME_S[500], end_s=TIME_S[1000])
    assert (fit.n, fit.start_s, fit.end_s) == (501, TIME_S[500], TIME_S[1000])
    assert fit.decay_bar_per_min == pytest.approx(0.06)
    assert fit.fall_bar == pytest.approx(0.05)
    assert (fit.first_bar, fit.last_bar) == (pressure[500], pressure[1000])


def test_a_rising_pressure_has_a_negative_decay():
    assert evaluate_hold(
        time_s=TIME_S, pressure_bar=5 + 0.02 / 60 * TIME_S
    ).decay_bar_per_min == pytest.approx(-0.02)


def parabola(departure_share: float) -> np.ndarray:
    """A fall of 1 bar whose best quadratic leaves the best line by a share of the fall, at the ends.

    With x from -1 to 1 the line of x² - 1/3 is zero, and at the ends it is 2/3.
    """
    x = np.linspace(-1, 1, 2001)
    return 5 - x / 2 + departure_share * 1.5 * (x**2 - 1 / 3)


@pytest.mark.parametrize(("share", "straight"), [(0.19, True), (0.21, False), (-0.19, True), (-0.21, False)])
def test_a_trace_is_bent_beyond_a_fifth_of_its_fall(share, straight):
    fit = evaluate_hold(time_s=np.linspace(0, 100, 2001), pressure_bar=parabola(share))
    assert fit.departure_bar / fit.fall_bar == pytest.approx(abs(share), rel=2e-3)
    assert fit.straight is straight


@pytest.mark.parametrize("seed", range(40))
def test_noise_around_no_fall_is_not_called_bent(seed):
    noise = np.random.default_rng(1000 + seed).normal(0, 0.003, TIME_S.size)
    assert evaluate_hold(time_s=TIME_S, pressure_bar=6 + noise).straight


def test_a_bend_without_a_net_fall_is_called_bent():
    """A fall that cannot be told from zero does not hide a bend that stands clear of the noise."""
    x = np.linspace(-1, 1, TIME_S.size)
    fit = evaluate_hold(time_s=TIME_S, pressure_bar=6 + 0.02 * x**2 + NOISE)
    assert abs(fit.decay_bar_per_min) < 2 * fit.standard_error_bar_per_min
    assert not fit.straight
    assert fit.bend.startswith("turning")


def test_a_small_fall_in_noise_is_straight_although_its_quadratic_departs_by_chance():
    """Here the departure is more than 20 % of the fall, and still inside the noise."""
    noise = np.random.default_rng(4).normal(0, 0.02, 200)
    time_s = np.arange(200) / 2
    fit = evaluate_hold(time_s=time_s, pressure_bar=6 - 0.001 / 60 * time_s + noise)
    assert fit.departure_bar > 0.2 * abs(fit.fall_bar)
    assert fit.straight


@pytest.mark.parametrize(
    ("pressure", "word"),
    [
        (7.6 * np.exp(-TIME_S / 20) + 0.03, "emptying"),
        (7 + 0.2 * np.exp(-TIME_S / 20), "settling"),
        (7 - 0.2 * (TIME_S / 150) ** 4, "quickening"),
        (7 - 0.2 * np.sin(np.pi * TIME_S / 150), "turning"),
    ],
)
def test_a_bend_is_named(pressure, word):
    fit = evaluate_hold(time_s=TIME_S, pressure_bar=pressure)
    assert not fit.straight
    assert fit.bend.startswith(word)
    assert is_emptying(fit) is (word == "emptying")


@given(
    shift_s=st.floats(-1e5, 1e9),
    scale=st.floats(1e-3, 1e3),
    offset_bar=st.floats(-100, 1000),
)
def test_shifting_time_and_scaling_pressure_act_as_they_must(shift_s, scale, offset_bar):
    pressure = 7 - 0.05 / 60 * TIME_S + NOISE
    plain = evaluate_hold(time_s=TIME_S, pressure_bar=pressure)
    moved = evaluate_hold(time_s=TIME_S + shift_s, pressure_bar=scale * pressure + offset_bar)
    assert moved.decay_bar_per_min == pytest.approx(scale * plain.decay_bar_per_min, rel=1e-5)
    assert moved.standard_error_bar_per_min == pytest.approx(
        scale * plain.standard_error_bar_per_min, rel=1e-5
    )
    assert moved.straight is plain.straight


def test_the_bench_sum_is_the_evaluation_of_a_test():
    time_s, pressure = TIME_S[::75], 7 - 0.05 / 60 * TIME_S[::75] + NOISE[::75]
    fit = evaluate_hold(time_s=time_s, pressure_bar=pressure)
    found = hold_decay(time_s=tuple(time_s), pressure_bar=tuple(pressure))
    assert found.decay_bar_per_min == fit.decay_bar_per_min
    assert found.independent_error_bar_per_min == fit.standard_error_bar_per_min
    assert found.standard_error_bar_per_min == fit.correlated_error_bar_per_min
    assert found.shape == "straight"


def test_the_bench_sum_names_a_bend():
    time_s = tuple(range(0, 150, 5))
    found = hold_decay(time_s=time_s, pressure_bar=tuple(7.6 * np.exp(-np.array(time_s) / 20)))
    assert found.shape.startswith("emptying")
    assert "no number to trust: emptying" in found.warnings[0]


@pytest.mark.parametrize(
    ("time_s", "pressure_bar", "message"),
    [
        ((0, 1, 2, 3), (1, 1, 1, 1), "a list of 5 or more"),
        ((0, 1, 2, 3, 4, 5), (1, 1, 1, 1, 1), "must be a time for each pressure"),
        ((0, 2, 1, 3, 4), (1, 1, 1, 1, 1), "must not run backwards"),
    ],
)
def test_a_list_that_is_no_hold_is_refused(time_s, pressure_bar, message):
    with pytest.raises(ValueError, match=message):
        hold_decay(time_s=time_s, pressure_bar=pressure_bar)


@pytest.mark.parametrize(
    ("time_s", "pressure_bar", "words"),
    [
        ([0, 1, 2, 3], [1, 1, 1, 1], "holds 4 samples; at least 5"),
        ([3, 3, 3, 3, 3, 3], [1, 2, 3, 4, 5, 6], "at different times"),
        ([0, 1, 2, 3, 4], [1, 2, 3, 4], "one length"),
        ([0, 1, 2, 3, 4], [1, 2, float("nan"), 4, 5], "numbers throughout"),
        ([0, 1, 2, 1, 4], [1, 2, 3, 4, 5], "must not run backwards"),
    ],
)
def test_what_cannot_be_evaluated_is_refused(time_s, pressure_bar, words):
    with pytest.raises(HoldError, match=words):
        evaluate_hold(time_s=np.array(time_s), pressure_bar=np.array(pressure_bar))


def test_a_window_outside_the_trace_is_refused():
    with pytest.raises(HoldError, match="window from 200 s to 300 s holds 0 samples"):
        evaluate_hold(time_s=TIME_S, pressure_bar=NOISE, start_s=200, end_s=300)


def test_two_times_only_carry_a_line_and_no_bend():
    fit = evaluate_hold(
        time_s=np.array([0, 0, 0, 60, 60, 60.0]), pressure_bar=np.array([5, 5.1, 4.9, 4, 4.1, 3.9])
    )
    assert fit.decay_bar_per_min == pytest.approx(1.0)
    assert fit.straight

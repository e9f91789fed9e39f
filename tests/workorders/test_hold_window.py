"""The proposed window of a hold, on made-up holds whose parts are known and on the shared traces."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.workorders.trace_files import real
from workorders.calc.hold import evaluate_hold
from workorders.calc.hold_window import propose_window
from workorders.calc.trace import read_trace

TIME_S = np.arange(0.0, 600.0, 0.1)
SHUT_S = 30.0


def noisy(pressure, seed=1, size=0.003):
    return pressure + np.random.default_rng(seed).normal(0, size, TIME_S.size)


def pumped_up(after):
    """A rise to 150 bar in 30 s, then what is given for the time since."""
    return np.where(TIME_S < SHUT_S, TIME_S * 5, after(TIME_S - SHUT_S))


def fit_of(pressure, window):
    return evaluate_hold(time_s=TIME_S, pressure_bar=pressure, start_s=window.start_s, end_s=window.end_s)


@pytest.mark.parametrize("name", ["hold_tight", "hold_slow_leak", "hold_fast_leak"])
def test_the_shared_holds_are_taken_whole(name):
    trace = read_trace(data=real(name))
    window = propose_window(time_s=trace.time_s, pressure_bar=trace.pressure_bar)
    assert (window.start_s, window.end_s) == (0.0, trace.duration_s)
    assert ("no part" in window.reason) == (name == "hold_fast_leak")


@pytest.mark.parametrize("seed", range(3))
def test_pumping_up_is_left_out(seed):
    pressure = noisy(pumped_up(lambda since: 150 - 0.05 / 60 * since), seed)
    window = propose_window(time_s=TIME_S, pressure_bar=pressure)
    assert window.start_s == pytest.approx(SHUT_S, abs=2)
    assert "shut at 3" in window.reason
    assert fit_of(pressure, window).decay_bar_per_min == pytest.approx(0.05, rel=0.01)


@pytest.mark.parametrize("seed", range(3))
def test_settling_is_left_out(seed):
    pressure = noisy(pumped_up(lambda since: 150 - 0.05 / 60 * since + 2 * np.exp(-since / 20)), seed)
    window = propose_window(time_s=TIME_S, pressure_bar=pressure)
    assert 60 < window.start_s < 150
    assert "settled from" in window.reason
    fit = fit_of(pressure, window)
    assert fit.straight
    # What is left of the settling overstates the decay, and never hides it.
    assert 0.05 < fit.decay_bar_per_min < 0.06


def test_a_level_pressure_before_the_supply_is_shut_is_left_out():
    pressure = noisy(np.where(TIME_S < 60, 150, 150 - 1.0 / 60 * (TIME_S - 60)))
    window = propose_window(time_s=TIME_S, pressure_bar=pressure)
    assert window.start_s == pytest.approx(60, abs=3)
    assert fit_of(pressure, window).decay_bar_per_min == pytest.approx(1.0, rel=0.01)


def test_letting_off_at_the_end_is_left_out():
    falls = pumped_up(lambda since: 150 - 0.5 / 60 * since)
    pressure = noisy(np.where(TIME_S < 550, falls, np.maximum(0, 145 - 30 * (TIME_S - 550))))
    window = propose_window(time_s=TIME_S, pressure_bar=pressure)
    assert window.end_s == pytest.approx(550, abs=3)
    assert "ended at" in window.reason
    assert fit_of(pressure, window).decay_bar_per_min == pytest.approx(0.5, rel=0.01)


@pytest.mark.parametrize("tau_s", [20, 60, 200])
def test_the_straight_end_of_a_vessel_that_emptied_is_never_proposed(tau_s):
    pressure = noisy(150 * np.exp(-TIME_S / tau_s))
    window = propose_window(time_s=TIME_S, pressure_bar=pressure)
    assert window.start_s == 0
    assert "no part of the hold is straight enough" in window.reason
    assert not fit_of(pressure, window).straight


def test_the_hold_that_the_plan_asks_for_is_kept():
    pressure = noisy(pumped_up(lambda since: 150 - 0.05 / 60 * since + 2 * np.exp(-since / 60)))
    free = propose_window(time_s=TIME_S, pressure_bar=pressure)
    kept = propose_window(time_s=TIME_S, pressure_bar=pressure, least_s=540)
    assert free.end_s - free.start_s < 500
    assert kept.end_s - kept.start_s >= 540


@pytest.mark.parametrize("level", [0.0, 150.0])
def test_a_pressure_that_never_changes_is_taken_whole(level):
    assert propose_window(time_s=TIME_S, pressure_bar=np.full_like(TIME_S, level)).reason == "the whole file"


def test_a_few_samples_are_taken_whole():
    window = propose_window(time_s=np.arange(5.0), pressure_bar=np.array([5.0, 4, 3, 2, 1]))
    assert (window.start_s, window.end_s) == (0.0, 4.0)
    still = propose_window(time_s=np.zeros(20), pressure_bar=np.arange(20.0))
    assert (still.start_s, still.end_s) == (0.0, 0.0)


@settings(max_examples=20, deadline=None)
@given(shift_s=st.floats(0, 1e5), scale=st.floats(0.01, 100))
def test_shifting_the_clock_and_changing_the_unit_move_the_window_along(shift_s, scale):
    pressure = noisy(pumped_up(lambda since: 150 - 0.05 / 60 * since + 2 * np.exp(-since / 20)))
    plain = propose_window(time_s=TIME_S, pressure_bar=pressure)
    moved = propose_window(time_s=TIME_S + shift_s, pressure_bar=scale * pressure)
    assert moved.start_s - shift_s == pytest.approx(plain.start_s, abs=2)
    assert moved.end_s - shift_s == pytest.approx(plain.end_s, abs=2)

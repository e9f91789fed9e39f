"""The stated rules by which time and pressure are proposed, each on both of its sides."""

import numpy as np
import pytest

from workorders.calc.trace_proposal import (
    counts_by_one,
    propose_pressure,
    propose_time_column,
    propose_time_unit,
)

EVEN = np.arange(200) * 0.1
NOISE = np.random.default_rng(5).normal(0, 0.01, 200)
HOLD = np.round(7 - 0.001 * EVEN + NOISE, 3)


@pytest.mark.parametrize(
    ("step", "unit"),
    [
        (0.1, "s"),
        (1.0, "s"),
        (0.01, "s"),
        (0.001, "s"),
        (2.0, "s"),
        (3.2, "ms"),  # 3.2 s is 1.505 decades from 0.1 s, 3.2 ms is 1.495
        (3.1, "s"),
        (10.0, "ms"),
        (100.0, "ms"),
        (3200.0, "µs"),
        (100_000.0, "µs"),
        (0.1 / 60, "min"),
        (0.5 / 60, "min"),
        (1.0 / 3600, "h"),
    ],
)
def test_the_unit_is_the_one_whose_step_is_nearest_a_tenth_of_a_second(step, unit):
    assert propose_time_unit(median_step=step) == unit


@pytest.mark.parametrize("step", [0.0, -1.0, float("nan")])
def test_a_step_that_does_not_rise_has_no_unit(step):
    with pytest.raises(ValueError, match="above 0"):
        propose_time_unit(median_step=step)


def test_a_clock_goes_before_a_running_number():
    number = np.arange(200.0)
    assert propose_time_column([number, HOLD, EVEN]) == 2
    assert propose_time_column([number, HOLD]) == 0
    assert counts_by_one(number)
    assert not counts_by_one(EVEN)


def test_an_even_rise_goes_before_an_uneven_one_and_the_first_before_a_later():
    uneven = np.cumsum(np.random.default_rng(6).exponential(1.0, 200))
    assert propose_time_column([uneven, EVEN]) == 1
    assert propose_time_column([EVEN, 2 * EVEN]) == 0


def test_a_clock_with_one_step_back_is_still_the_clock():
    jumped = EVEN.copy()
    jumped[120:] -= 5
    assert propose_time_column([jumped, HOLD]) == 0


def test_a_clock_that_only_falls_is_named_so_that_it_can_be_refused():
    assert propose_time_column([EVEN[::-1], HOLD]) == 0


def test_what_wanders_is_no_clock():
    assert propose_time_column([HOLD, NOISE]) is None
    drift = np.round(20 + EVEN / 30 + NOISE, 1)
    assert propose_time_column([drift]) is None


def propose(*columns):
    return propose_pressure(columns=columns, labels=[f"column {k + 1}" for k in range(len(columns))])


def test_of_proportional_columns_the_larger_is_proposed():
    volts = np.round(HOLD / 2, 3)
    assert propose(volts, HOLD).column == 1
    assert propose(HOLD, volts).column == 0
    assert "proportional" in propose(volts, HOLD).reasons[0]


def test_two_channels_near_a_constant_are_not_proportional_by_accident():
    temperature = np.round(23 + np.random.default_rng(7).normal(0, 0.02, 200), 2)
    proposal = propose(HOLD, temperature)
    assert proposal.column == 0
    assert "could each be the pressure" in proposal.reasons[0]


def test_a_channel_below_a_full_vacuum_and_its_sensor_are_no_pressure():
    position = 20 * np.sin(EVEN)
    volts = 3 + position / 13
    assert propose(volts, position, HOLD).column == 2
    assert propose(position + 25, HOLD).column == 0  # never below -1: nothing speaks against it
    assert propose(position).column == 0  # nothing else is there to take


def test_a_channel_that_changes_goes_before_a_constant_one():
    assert propose(np.full(200, 24.0), HOLD).column == 1


def test_no_candidate_is_no_proposal():
    assert propose().column is None

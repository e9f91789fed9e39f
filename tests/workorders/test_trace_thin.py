"""Thinning for the drawing keeps every peak, the order and both ends."""

from itertools import pairwise

import numpy as np
import pytest

from workorders.calc.thin import thin

TIME_S = np.cumsum(np.random.default_rng(8).uniform(0.001, 0.2, 50_000))
VALUE = np.random.default_rng(9).normal(7, 0.01, 50_000)


def test_the_highest_and_lowest_of_each_span_are_kept():
    time, value = thin(time_s=TIME_S, value=VALUE, buckets=300)
    edges = np.linspace(TIME_S[0], TIME_S[-1], 301)
    for low, high in pairwise(edges):
        inside, kept = [(low <= times) & (times < high) for times in (TIME_S, time)]
        assert value[kept].max() == VALUE[inside].max()
        assert value[kept].min() == VALUE[inside].min()
    assert time.size <= 602


def test_a_single_spike_survives_in_a_long_record():
    value = np.zeros(50_000)
    value[31_337] = 250.0
    time, thinned = thin(time_s=TIME_S, value=value, buckets=10)
    assert thinned.max() == 250.0
    assert time[thinned.argmax()] == TIME_S[31_337]


def test_first_and_last_sample_and_the_order_stay():
    time, value = thin(time_s=TIME_S, value=VALUE, buckets=50)
    assert (time[0], time[-1], value[0], value[-1]) == (TIME_S[0], TIME_S[-1], VALUE[0], VALUE[-1])
    assert np.all(np.diff(time) > 0)
    assert np.isin(value, VALUE).all()


def test_a_gap_in_the_record_leaves_empty_spans_out():
    time_s = np.concatenate([np.arange(0, 10, 0.01), np.arange(1000, 1010, 0.01)])
    time, _ = thin(time_s=time_s, value=np.sin(time_s), buckets=100)
    assert time.size <= 6


def test_a_short_record_stays_as_it_is():
    time, _ = thin(time_s=TIME_S[:22], value=VALUE[:22], buckets=10)
    assert time.size == 22


def test_bad_input_is_refused():
    with pytest.raises(ValueError, match="buckets must be 1 or more"):
        thin(time_s=TIME_S, value=VALUE, buckets=0)
    with pytest.raises(ValueError, match="of one length"):
        thin(time_s=TIME_S, value=VALUE[:5], buckets=4)

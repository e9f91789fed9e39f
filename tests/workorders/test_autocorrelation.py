"""The standard error of a decay where neighbouring samples are alike."""

import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import linalg, stats
from scipy.signal import lfilter

from tests.workorders.trace_files import REAL, real
from workorders.calc import autocorrelation
from workorders.calc.autocorrelation import correlated_error, effective_samples, mean_factor, slope_factor
from workorders.calc.hold import evaluate_hold
from workorders.calc.trace import read_trace
from workorders.calc.uncertainty import Gauge, slope_uncertainty

TIME_S = np.arange(1500) / 10


def remembering(rng, n, rho):
    """A series each sample of which keeps the share rho of the one before; variance 1."""
    noise = lfilter([1], [1, -rho], rng.normal(size=n + 500))[500:]
    return noise * np.sqrt(1 - rho**2)


def parsed(name):
    """Time [s] and pressure [bar] of a shared trace, read here without the project's reader."""
    rows = [line.split(";") for line in (REAL / f"{name}.csv").read_text().split()]
    micros = np.array([float(row[0].replace(".", "")) for row in rows])
    return micros / 1e6, np.array([float(row[2]) for row in rows])


# -- the shared traces against SciPy


@pytest.mark.parametrize("name", ["hold_tight", "hold_slow_leak", "hold_fast_leak"])
def test_slope_and_standard_error_of_the_shared_traces_agree_with_scipy(name):
    line = stats.linregress(*parsed(name))
    trace = read_trace(data=real(name))
    fit = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar)
    assert fit.decay_bar_per_min == pytest.approx(-60 * line.slope, rel=1e-6)
    assert fit.standard_error_bar_per_min == pytest.approx(60 * line.stderr, rel=1e-6)


@pytest.mark.parametrize("name", ["hold_tight", "hold_slow_leak"])
def test_the_factor_is_that_of_the_whole_matrix_of_correlations(name):
    """Independent: the variance of a sum of correlated samples, u² = cᵀ R c, written out as a matrix."""
    time_s, pressure = (values[:600] for values in parsed(name))
    line = stats.linregress(time_s, pressure)
    residual = pressure - line.intercept - line.slope * time_s
    centred = residual - residual.mean()
    rho = np.array([centred[: 600 - k] @ centred[k:] for k in range(150)]) / (centred @ centred)
    end = next((k for k in range(0, 150, 2) if rho[k] + rho[k + 1] <= 0), 150)
    column = np.zeros(600)
    column[:end] = rho[:end]
    weights = time_s - time_s.mean()
    whole = weights @ linalg.toeplitz(column) @ weights / (weights @ weights)
    assert slope_factor(time_s=time_s, residual=residual) == pytest.approx(whole, rel=1e-9)
    assert whole > 10


def test_a_logged_hold_is_worth_far_fewer_samples_than_it_has():
    trace = read_trace(data=real("hold_tight"))
    fit = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar)
    assert fit.n == 1508
    assert 15 < fit.effective_n < 60
    assert fit.correlated_error_bar_per_min > 5 * fit.standard_error_bar_per_min


# -- made-up series whose truth is known


@pytest.mark.parametrize("rho", [0.0, 0.5, 0.9])
def test_the_raised_error_is_the_spread_of_the_slopes(rho):
    """400 series of noise without a slope: the slopes found spread as the mean error says."""
    rng = np.random.default_rng(int(rho * 10))
    fits = [
        evaluate_hold(time_s=TIME_S, pressure_bar=100 + remembering(rng, TIME_S.size, rho))
        for _ in range(400)
    ]
    spread = np.std([fit.decay_bar_per_min for fit in fits])
    told = np.sqrt(np.mean([fit.correlated_error_bar_per_min**2 for fit in fits]))
    assert told == pytest.approx(spread, rel=0.12)
    if rho:
        plain = np.sqrt(np.mean([fit.standard_error_bar_per_min**2 for fit in fits]))
        assert plain < 0.7 * spread


@pytest.mark.parametrize("rho", [0.3, 0.6, 0.9])
def test_the_factor_of_a_long_series_is_the_published_limit(rho):
    """Bretherton et al. 1999: n (1 - rho) / (1 + rho) samples are worth as much (lag one alone)."""
    residual = remembering(np.random.default_rng(3), 200_000, rho)
    found = slope_factor(time_s=np.arange(200_000.0), residual=residual)
    assert found == pytest.approx((1 + rho) / (1 - rho), rel=0.08)


@given(
    shift_s=st.floats(-1e4, 1e4),
    scale=st.floats(1e-3, 1e3),
    offset=st.floats(-100, 100),
    faster=st.floats(0.1, 10),
)
def test_neither_units_nor_shifts_change_the_factor(shift_s, scale, offset, faster):
    residual = remembering(np.random.default_rng(7), 300, 0.8)
    time_s = np.arange(300.0)
    plain = slope_factor(time_s=time_s, residual=residual)
    moved = slope_factor(time_s=faster * time_s + shift_s, residual=scale * residual + offset)
    assert moved == pytest.approx(plain, rel=1e-6)


def test_a_million_samples_of_an_awkward_number_take_no_time():
    """1 000 003 is prime: a transform of just that length would take seconds."""
    time_s = np.arange(1_000_003) / 100
    residual = np.random.default_rng(1).normal(size=time_s.size)
    began = time.perf_counter()
    assert slope_factor(time_s=time_s, residual=residual) < 1.1
    assert time.perf_counter() - began < 3


def test_nothing_left_or_a_flickering_series_gives_no_less_than_the_plain_error():
    time_s = np.arange(100.0)
    assert slope_factor(time_s=time_s, residual=np.zeros(100)) == 1.0
    assert slope_factor(time_s=time_s, residual=(-1.0) ** np.arange(100)) == 1.0
    assert correlated_error(error=0.2, n=100, factor=1.0) == 0.2


def test_an_error_is_raised_by_the_samples_it_is_worth():
    """By hand: 100 samples worth 25: factor 4, scatter over 23 in place of 98, 25 in place of 100."""
    raised = correlated_error(error=0.1, n=100, factor=4.0)
    assert raised == pytest.approx(0.1 * np.sqrt(98 / 23))


def test_a_series_worth_less_than_three_samples_counts_as_three():
    assert correlated_error(error=0.1, n=10, factor=9.0) == pytest.approx(0.1 * np.sqrt(9 * 8 / 10 * 3))


# -- the calculation


@pytest.mark.parametrize(("samples", "rho"), [(3, 0.5), (10, 0.9), (1500, 0.9), (40, 0.0), (200, 0.99)])
def test_effective_samples_are_the_sum_of_zhang(samples, rho):
    """Zhang, Metrologia 43 (2006) S276: 1 + 2/n * sum((n - k) * rho_k), added up one by one."""
    summed = 1 + 2 / samples * sum((samples - k) * rho**k for k in range(1, samples))
    found = effective_samples(samples=samples, lag_one=rho)
    assert found.variance_factor == pytest.approx(summed, rel=1e-9)
    assert found.effective_samples == pytest.approx(samples / summed, rel=1e-9)


def test_many_samples_come_near_the_published_limit():
    """Bretherton et al. 1999: n (1 - rho) / (1 + rho)."""
    found = effective_samples(samples=1_000_000, lag_one=0.9)
    assert found.effective_samples == pytest.approx(1_000_000 * 0.1 / 1.9, rel=1e-4)


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"samples": 2}, "samples must be a whole number at least 3"),
        ({"lag_one": 1.0}, "lag_one must be at least 0 and at most 0.999; got 1"),
        ({"lag_one": -0.1}, "got -0.1"),
    ],
)
def test_impossible_samples_are_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        effective_samples(**{"samples": 100, "lag_one": 0.5, **fields})


# -- few samples


GOOD = Gauge(accuracy=1e-12, full_scale=100)


def coverage(*, count, rho, sets, few):
    """How often the interval holds the slope, 0, of so many series of noise; seeded, so always the same."""
    rng = np.random.default_rng(count)
    time_s, held = np.arange(count) / 10, 0
    for _ in range(sets):
        fit = evaluate_hold(time_s=time_s, pressure_bar=100 + remembering(rng, count, rho))
        spread = slope_uncertainty(hold=fit, gauge=GOOD, few=few)
        held += abs(fit.decay_bar_per_min) <= spread.expanded
    return held / sets


@pytest.mark.parametrize("count", [5, 6, 10, 30])
def test_the_interval_of_a_few_samples_holds_the_slope_as_often_as_it_says(count):
    """1,500 holds without a fall, of a gauge without error; twice the plain standard error misses."""
    held = coverage(count=count, rho=0.0, sets=1_500, few=True)
    # 4 standard deviations; a run that looks alike by chance has its error raised, so a little above.
    assert stats.norm.cdf(2) * 2 - 1 - 0.0216 < held < 0.98
    assert coverage(count=count, rho=0.0, sets=1_500, few=False) < held


@pytest.mark.parametrize(("count", "rho"), [(100, 0.9), (300, 0.9)])
def test_samples_that_are_alike_and_worth_few_hold_the_slope_more_often(count, rho):
    """What is still missing is that short runs estimate their correlation too low (`slope_factor`)."""
    plain = coverage(count=count, rho=rho, sets=400, few=False)
    assert coverage(count=count, rho=rho, sets=400, few=True) > plain + 0.01


def test_a_line_through_five_samples_is_raised_by_the_table_of_student():
    """t of 3 degrees for 95.45 % is 3.31: JCGM 100:2008, table G.2 (NIST TN 1297, table B.1, prints it too).

    The clause and the figure are from memory; the oracle is SciPy's interval of the same line.
    """
    time_s = np.arange(5) * 30.0
    pressure = np.array([7.30, 7.27, 7.26, 7.22, 7.21])
    fit = evaluate_hold(time_s=time_s, pressure_bar=pressure)
    assert fit.variance_factor == 1
    line = stats.linregress(time_s, pressure)
    low, high = stats.t.interval(stats.norm.cdf(2) * 2 - 1, 3, line.slope, line.stderr)
    found = dict(slope_uncertainty(hold=fit, gauge=GOOD).parts)["regression"]
    assert 2 * found == pytest.approx(60 * (high - low) / 2, rel=1e-9)


# -- long records


@given(
    size=st.integers(2, 400), lags=st.integers(1, 50), first=st.integers(1, 64), seed=st.integers(0, 10_000)
)
def test_sums_of_products_piece_by_piece_are_those_of_numpy(size, lags, first, seed):
    values = np.random.default_rng(seed).normal(size=size)
    lags = min(lags, size)
    whole = np.correlate(values, values, "full")[size - 1 : size - 1 + lags]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(autocorrelation, "FIRST_LAGS", first)
        assert autocorrelation._lagged(values, lags) == pytest.approx(whole, abs=1e-9)


@given(seed=st.integers(0, 10_000), rho=st.floats(0, 0.99), first=st.integers(2, 200))
def test_few_lags_first_end_where_all_lags_end(seed, rho, first):
    residual = remembering(np.random.default_rng(seed), 1_000, rho)
    time_s = np.arange(1_000.0)
    whole = slope_factor(time_s=time_s, residual=residual), mean_factor(residual=residual)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(autocorrelation, "FIRST_LAGS", first)
        assert slope_factor(time_s=time_s, residual=residual) == pytest.approx(whole[0], rel=1e-9)
        assert mean_factor(residual=residual) == pytest.approx(whole[1], rel=1e-9)

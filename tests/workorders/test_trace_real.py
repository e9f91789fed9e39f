"""The four files logged on a real bench (fixtures/traces/SOURCE.md) load without help."""

import numpy as np
import pytest

from tests.workorders.trace_files import real
from workorders.calc.hold import evaluate_hold
from workorders.calc.trace import TraceMapping, read_trace

# Rows and duration as published with the files; decay and standard error calculated with NumPy by
# the source note, bar/min; each figure to the digits that are printed there.
PUBLISHED = [
    ("hold_tight", 1508, 151.3, 0.014096, 0.000116, True),
    ("hold_slow_leak", 1408, 141.4, 0.043344, 0.000166, True),
    ("hold_fast_leak", 1443, 144.5, 1.3665, 0.0534, False),
]


def by_hand(name: str) -> tuple[np.ndarray, np.ndarray]:
    """Read a hold file with nothing but NumPy: microseconds with dotted thousands; V; bar."""
    rows = [line.split(";") for line in real(name).decode().split()]
    time_s = np.array([int(row[0].replace(".", "")) for row in rows]) / 1e6
    return time_s, np.array([float(row[2]) for row in rows])


@pytest.mark.parametrize(("name", "rows", "seconds", "decay", "error", "straight"), PUBLISHED)
def test_a_hold_gives_the_published_slope(name, rows, seconds, decay, error, straight):
    trace = read_trace(data=real(name))
    fit = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar)
    assert (trace.rows, round(trace.duration_s, 1)) == (rows, seconds)
    assert fit.decay_bar_per_min == pytest.approx(decay, abs=0.5 * 10 ** -len(str(decay).split(".")[1]))
    assert fit.standard_error_bar_per_min == pytest.approx(
        error, abs=0.5 * 10 ** -len(str(error).split(".")[1])
    )
    assert fit.straight is straight


@pytest.mark.parametrize("name", [row[0] for row in PUBLISHED])
def test_a_hold_agrees_with_numpy_on_numbers_read_by_hand(name):
    time_s, pressure_bar = by_hand(name)
    trace = read_trace(data=real(name))
    np.testing.assert_allclose(trace.time_s, time_s, rtol=0, atol=1e-9)
    np.testing.assert_array_equal(trace.pressure_bar, pressure_bar)
    (slope, intercept), covariance = np.polyfit(time_s, pressure_bar, 1, cov=True)
    fit = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar)
    assert fit.decay_bar_per_min == pytest.approx(-slope * 60, rel=1e-6)
    assert fit.standard_error_bar_per_min == pytest.approx(np.sqrt(covariance[0, 0]) * 60, rel=1e-6)
    assert fit.intercept_bar == pytest.approx(intercept, rel=1e-9)


@pytest.mark.parametrize("name", [row[0] for row in PUBLISHED])
def test_the_reading_of_a_hold_is_proposed_and_said(name):
    trace = read_trace(data=real(name))
    assert trace.mapping == TraceMapping(
        time_column=0,
        time_unit="µs",
        pressure_column=2,
        pressure_unit="bar",
        shape=("column 1", "column 2", "column 3"),
    )
    said = " ".join(trace.warnings)
    for words in (
        "dot in column 1 is read as a thousands mark",
        "it is read as µs, which makes the median step 0.1 s",
        "Column 2 and column 3 are proportional; the larger",
        "it is read as bar",
    ):
        assert words in said


def test_the_fast_leak_is_emptying_and_no_straight_line():
    trace = read_trace(data=real("hold_fast_leak"))
    fit = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar)
    assert not fit.straight
    assert fit.bend.startswith("emptying")


def test_the_stroke_file_comes_in_with_all_its_channels():
    """Ranges read from the publisher's columns: ms, V, V, V, mm, bar, N."""
    trace = read_trace(data=real("stroke_oring_5bar"))
    assert trace.rows == 10_321
    assert [column.index for column in trace.columns] == list(range(7))
    assert trace.mapping.time_unit == "ms"
    assert trace.duration_s == pytest.approx(106.284)
    assert trace.mapping.pressure_column == 5
    assert (trace.pressure_bar.min(), trace.pressure_bar.max()) == (4.956, 5.058)
    position, force = trace.column(4), trace.column(6)
    assert (position.values.min(), position.values.max()) == (-2.82, 36.67)
    assert (force.values.min(), force.values.max()) == (234.645, 258.891)
    said = " ".join(trace.warnings)
    for words in (
        "Column 3 and column 6 are proportional",
        "Column 5 goes below −1 bar",
        "Column 6 and column 7 could each be the pressure",
    ):
        assert words in said

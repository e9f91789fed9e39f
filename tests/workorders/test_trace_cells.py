"""Cells into numbers, quickly: as the standard library reads them, and none that is none."""

from datetime import datetime, time, timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workorders.calc.trace_numbers import Marks, to_numbers, to_seconds


@pytest.mark.parametrize("fraction", ["%S.%f", "%S,%f"])
def test_stamps_of_one_width_are_the_seconds_of_the_standard_library(fraction):
    first = datetime(2024, 2, 28, 23, 59, 58, 500_000)
    moments = [first + timedelta(microseconds=250_001 * k) for k in range(20)]
    cells = pd.Series([moment.strftime(f"%Y-%m-%d %H:%M:{fraction}") for moment in moments])
    told = [(moment - first).total_seconds() for moment in moments]
    assert to_seconds(cells) == pytest.approx(told, abs=1e-9)
    # One cell of another width sends all of them the longer way, to the same seconds.
    short = cells.mask(cells.index == 4, cells.str.slice(0, 23))
    assert to_seconds(short) == pytest.approx(told, abs=1e-3)


def test_a_stamp_of_the_right_width_that_is_no_time_is_none():
    cells = pd.Series(["2024-02-28 10:00:00.000", "2024-02-28 1a:00:00.500", "2024-02-28 10:00:01.000"])
    assert list(np.isnan(to_seconds(cells))) == [False, True, False]


def test_thousands_marks_are_read_at_once_and_one_by_one_alike():
    cells = pd.Series([f"{k:,}".replace(",", ".") for k in range(0, 3_000_000, 49_999)])
    marks = Marks(decimal=",", thousands=".")
    assert list(to_numbers(cells=cells, marks=marks)) == list(range(0, 3_000_000, 49_999))
    broken = to_numbers(cells=cells.mask(cells.index == 7, "1.23.456"), marks=marks)
    assert list(np.flatnonzero(np.isnan(broken))) == [7]
    assert list(np.delete(broken, 7)) == list(np.delete(np.arange(0, 3_000_000, 49_999.0), 7))


@given(hour=st.integers(0, 99), minute=st.integers(0, 99), second=st.integers(0, 99), dated=st.booleans())
def test_a_clock_is_a_time_where_the_standard_library_has_it_as_one(hour, minute, second, dated):
    """The cell after it shows that the clock begins anew, so that hours are not counted on."""
    clock = f"{hour:02d}:{minute:02d}:{second:02d}"
    days = ("2024-05-01 ", "2024-05-01 ", "2024-05-02 ") if dated else ("", "", "")
    cells = [day + each for day, each in zip(days, ("00:00:00", clock, "00:00:00"), strict=True)]
    got = to_seconds(pd.Series(cells))[1]
    try:
        told = timedelta(hours=time.fromisoformat(clock).hour, minutes=minute, seconds=second)
    except ValueError:
        assert np.isnan(got)
    else:
        assert got == told.total_seconds()


@pytest.mark.parametrize(
    ("cells", "seconds"),
    [
        (("23:59:59", "24:00:00", "24:00:01"), (0, 1, 2)),  # counted from a start
        (("99:59:59", "100:00:00", "100:00:01"), (0, 1, 2)),
        (("59:59.5", "60:00.0", "61:00.0"), (0, 0.5, 60.5)),  # minutes counted
        (("11:59:59 PM", "12:00:00 AM", "12:00:01 AM"), (0, 1, 2)),
        (("20:00:00", "24:00:00", "09:00:00", "20:00:02"), (0, None, -39_600, 2)),
        (("2024-05-01 23:59:59", "2024-05-01 24:00:00", "2024-05-02 00:00:01"), (0, None, 2)),
        (("10:00", "10:60", "11:01"), (0, None, 3660)),
        (("1:00:00 AM", "13:00:00 AM", "1:00:02 AM"), (0, None, 2)),
    ],
)
def test_hours_and_minutes_beyond_the_clock_are_times_only_where_they_are_counted(cells, seconds):
    got = to_seconds(pd.Series(cells))
    assert [None if np.isnan(each) else float(each) for each in got] == list(seconds)

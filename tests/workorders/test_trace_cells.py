"""Cells into numbers, quickly: as the standard library reads them, and none that is none."""

from datetime import datetime, timedelta

import numpy as np
import pandas as pd
import pytest

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

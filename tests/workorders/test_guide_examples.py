"""Worked examples that others have printed: of the guide to uncertainty, of handbooks of regression.

The figures of JCGM 100:2008 are read in the tests of an open metrology library, which cites them by
clause; the guide itself was not opened. Clause by clause: H.1 the end gauge, H.3 the thermometer.
"""

import math

import numpy as np
import pytest
from scipy import stats

from workorders.calc.hold import S_PER_MIN, evaluate_hold
from workorders.calc.uncertainty import Gauge, Uncertainty, reading_uncertainty


def rectangle(half_width):
    """The standard uncertainty of a rectangle, by the sum that judges readings."""
    return reading_uncertainty(gauge=Gauge(accuracy=half_width, full_scale=half_width)).standard


# -- the end gauge, H.1: nanometres

STANDARD_NM, EXPANSION_PER_C = 50_000_623.6, 11.5e-6


def test_the_comparator_of_the_end_gauge():
    """H.1.3.2: scatter 5.8 nm; 10 nm at 95 % with 5 degrees of freedom; 20 nm at three sigma: 9.7 nm."""
    parts = (("scatter", 5.8), ("random", 10 / stats.t.ppf(0.975, 5)), ("systematic", 20 / 3))
    assert Uncertainty(parts=parts).standard == pytest.approx(9.7, abs=0.05)


def test_the_end_gauge():
    """H.1.4: 75 nm at three sigma; 9.7 nm; two rectangles, ±1e-6/°C at -0.1 °C and ±0.05 °C: 32 nm."""
    parts = (
        ("standard", 75 / 3),
        ("comparator", 9.7),
        ("expansion", rectangle(STANDARD_NM * 0.1 * 1e-6)),
        ("difference of temperature", rectangle(STANDARD_NM * EXPANSION_PER_C * 0.05)),
    )
    assert Uncertainty(parts=parts).standard == pytest.approx(32, abs=0.5)
    # Without the two rectangles it would not be the printed figure.
    assert Uncertainty(parts=parts[:2]).standard < 27


def test_a_last_digit_is_a_rectangle_of_half_of_it():
    """R. Willink, Metrologia 44 (2007) 73, as the documentation of an uncertainty library prints it:
    eleven readings of -0.0056 by steps of 0.0001, without spread: 2.8867513459481e-05."""
    step = dict(reading_uncertainty(gauge=Gauge(accuracy=1, full_scale=1, resolution=0.0001)).parts)
    assert step["resolution"] == pytest.approx(2.8867513459481e-05, rel=1e-12)


# -- lines

READING_C = (21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511)
CORRECTION_C = (-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160)
# Young's modulus over temperature: M. G. Natrella, NBS Handbook 91, section 5-4.1.
TEMPERATURE = (30, *range(100, 1600, 100))
MODULUS = (
    *(4642, 4612, 4565, 4513, 4476, 4433, 4389, 4347),
    *(4303, 4251, 4201, 4140, 4100, 4073, 4024, 3999),
)


def line(x, y):
    """Slope, its standard error, and the value at 0, by the sum that evaluates holds."""
    fit = evaluate_hold(time_s=np.array(x, dtype=float), pressure_bar=np.array(y, dtype=float))
    slope = -fit.decay_bar_per_min / S_PER_MIN
    return slope, fit.standard_error_bar_per_min / S_PER_MIN, fit.intercept_bar


def test_the_thermometer():
    """H.3.3: slope 0.00218 with 0.00067, -0.1712 °C at 20 °C; H.3.4: -0.1494 °C at 30 °C."""
    slope, error, at_20 = line([one - 20 for one in READING_C], CORRECTION_C)
    assert round(slope, 5) == 0.00218
    assert round(error, 5) == 0.00067
    assert round(at_20, 4) == -0.1712
    assert round(at_20 + 10 * slope, 4) == -0.1494


def test_the_modulus_of_a_handbook():
    """NBS Handbook 91, worksheet 5-4.1: slope -0.44985482, variance of it 0.000025649045, 4654.9846 at 0."""
    slope, error, at_0 = line(TEMPERATURE, MODULUS)
    assert slope == pytest.approx(-0.44985482, abs=5e-9)
    assert error == pytest.approx(math.sqrt(0.000025649045), rel=5e-8)
    assert at_0 == pytest.approx(4654.9846, abs=5e-5)


def test_a_line_as_an_uncertainty_library_prints_it():
    """Its documentation: 9.4083333333333 with 0.8683016476563, and 4.8138888888888 at 0."""
    slope, error, at_0 = line(range(1, 10), (15.6, 17.5, 36.6, 43.8, 58.2, 61.6, 64.2, 70.4, 98.8))
    assert slope == pytest.approx(9.4083333333333, rel=1e-12)
    assert error == pytest.approx(0.8683016476563, rel=1e-12)
    assert at_0 == pytest.approx(4.8138888888888, rel=1e-12)

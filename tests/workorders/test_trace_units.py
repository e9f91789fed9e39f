"""Headings tell quantity and unit in the many ways in which they are written."""

import pytest

from workorders.calc.trace_units import BAR, is_unit_row, read_heading


@pytest.mark.parametrize(
    ("text", "name", "quantity", "unit"),
    [
        ("Pressure [bar]", "Pressure", "pressure", "bar"),
        ("p (kPa)", "p", "pressure", "kPa"),
        ("t/s", "t", "time", "s"),
        ("t / ms", "t", "time", "ms"),
        ("Druck in mbar", "Druck", "pressure", "mbar"),
        ("Zeit [µs]", "Zeit", "time", "µs"),
        ("Zeit [\u03bcs]", "Zeit", "time", "µs"),  # Greek mu in place of the micro sign
        ("Elapsed Time, s", "Elapsed Time", "time", "s"),
        ("pressure_bar", "pressure", "pressure", "bar"),
        ("Cyl. pressure rod side (psi)", "Cyl. pressure rod side", "pressure", "psi"),
        ("Pressure (rod side) [bar]", "Pressure (rod side)", "pressure", "bar"),
        ("Pressure [V]", "Pressure", "voltage", "V"),
        ("pressure_V", "pressure", "voltage", "V"),
        ("Time [M]", "Time", "time", "min"),
        ("Temp °C", "Temp", "temperature", "°C"),
        ("Flow L/min", "Flow", "flow", "L/min"),
        ("psi", "psi", "pressure", "psi"),
        ("Date/Time", "Date/Time", "time", None),
        ("Sample time", "Sample time", "time", None),
        ("Sample #", "Sample #", "count", None),
        ("No.", "No.", "count", None),
        ("P2", "P2", "pressure", None),
    ],
)
def test_a_heading_tells_name_quantity_and_unit(text, name, quantity, unit):
    heading = read_heading(text=text)
    assert (heading.name, heading.quantity, heading.unit) == (name, quantity, unit)


@pytest.mark.parametrize("text", ["P_in", "Sensor A", "T", "valve in", "Port F", "min", "Messwert 1"])
def test_a_word_that_only_looks_like_a_unit_is_none(text):
    assert read_heading(text=text).unit is None


def test_a_bracketed_unit_that_is_not_known_is_kept_and_a_place_is_not():
    assert read_heading(text="Pressure [kg/cm2]").strange_unit == "kg/cm2"
    assert read_heading(text="Pressure (atm)").strange_unit == "atm"
    assert read_heading(text="Pressure (rod side)").strange_unit is None


def test_a_row_of_units_belongs_to_the_headings_above_it():
    assert is_unit_row(["[s]", "[bar]", ""])
    assert not is_unit_row(["Time", "bar"])
    assert not is_unit_row(["s"])
    heading = read_heading(text="Pressure", unit_text="[kPa]")
    assert (heading.name, heading.unit) == ("Pressure", "kPa")


def test_pressure_units_convert_as_published():
    """NIST Special Publication 811 (2008), Appendix B.8: bar, mbar, psi in kPa; SI prefixes for the rest."""
    kilopascals = {
        "bar": 100.0,
        "mbar": 0.1,
        "hPa": 0.1,
        "kPa": 1.0,
        "MPa": 1000.0,
        "Pa": 0.001,
        "psi": 6.894757,
    }
    assert set(BAR) == set(kilopascals)
    for unit, kpa in kilopascals.items():
        assert BAR[unit] * 100 == pytest.approx(kpa, rel=1e-9), unit

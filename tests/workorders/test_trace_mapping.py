"""A reading that was chosen once is remembered as plain data and used for the next file of the same shape."""

import json

import pytest

from tests.workorders.trace_files import real
from workorders.calc.trace import TraceError, TraceMapping, read_trace

ROWS = [(k * 10, 7 - k / 1000, 3 + k / 500) for k in range(80)]
FILE = ("a;b;c\n" + "".join(f"{t};{p:.3f};{q:.3f}\n" for t, p, q in ROWS)).encode()


def test_a_mapping_goes_through_json_and_back():
    mapping = read_trace(data=real("hold_tight")).mapping
    stored = json.loads(json.dumps(mapping.as_dict()))
    assert stored == {
        "time_column": 0,
        "time_unit": "µs",
        "pressure_column": 2,
        "pressure_unit": "bar",
        "shape": ["column 1", "column 2", "column 3"],
    }
    assert TraceMapping.from_dict(stored) == mapping


def test_a_remembered_mapping_reads_the_next_file_of_the_same_shape_without_guessing():
    remembered = read_trace(data=real("hold_tight")).mapping
    trace = read_trace(data=real("hold_slow_leak"), mapping=remembered)
    assert trace.mapping == remembered
    assert not any("proposed" in warning or "names no" in warning for warning in trace.warnings)


def test_a_remembered_mapping_is_refused_for_another_shape():
    remembered = read_trace(data=real("hold_tight")).mapping
    with pytest.raises(
        TraceError, match="has the columns a, b and c; the chosen reading is for column 1, column 2"
    ):
        read_trace(data=FILE, mapping=remembered)
    assert not remembered.fits(read_trace(data=FILE).columns)


def test_what_a_mapping_leaves_open_is_proposed():
    trace = read_trace(data=FILE, mapping=TraceMapping(time_unit="s"))
    assert (trace.mapping.time_column, trace.mapping.time_unit) == (0, "s")
    assert trace.duration_s == 790.0


def test_the_same_samples_are_read_anew_under_another_mapping():
    trace = read_trace(data=FILE)
    assert trace.pressure_bar[0] == 7.0
    other = trace.with_mapping(
        TraceMapping(time_column=0, time_unit="ms", pressure_column=2, pressure_unit="psi")
    )
    assert other.duration_s == pytest.approx(0.79)
    # 1 psi = 6.894 757 kPa, NIST Special Publication 811 (2008), Appendix B.8.
    assert other.pressure_bar[0] == pytest.approx(3 * 0.06894757)
    assert [column.quantity for column in other.columns] == ["time", "unknown", "pressure"]


@pytest.mark.parametrize(
    ("mapping", "words"),
    [
        ({"time_column": 7}, "no column 8 with numbers"),
        ({"pressure_column": 3}, "no column 4"),
        ({"time_column": 1}, "runs backwards"),
        ({"time_column": 2, "pressure_column": 2}, "same column"),
    ],
)
def test_a_mapping_that_the_file_does_not_bear_is_refused(mapping, words):
    with pytest.raises(TraceError, match=words):
        read_trace(data=FILE, mapping=TraceMapping(**mapping))


def test_a_unit_that_is_not_known_is_refused_with_those_that_are():
    with pytest.raises(
        TraceError, match="no pressure unit known here; choose bar, mbar, hPa, kPa, MPa, Pa, psi"
    ):
        TraceMapping(pressure_unit="furlong")
    with pytest.raises(TraceError, match="no time unit"):
        TraceMapping(time_unit="fortnight")


def test_time_stamps_take_no_other_unit():
    stamped = ("Time;p [bar]\n" + "".join(f"10:00:{k:02d};{7 - k / 100}\n" for k in range(40))).encode()
    assert read_trace(data=stamped).mapping.time_unit == "time stamp"
    with pytest.raises(TraceError, match="Time stamps have no unit to choose"):
        read_trace(data=stamped, mapping=TraceMapping(time_unit="ms"))


@pytest.mark.parametrize(
    "data", [{"time_column": 0, "colour": "red"}, [], {"time_column": "first"}, {"time_column": -1}]
)
def test_what_is_no_stored_mapping_is_refused(data):
    with pytest.raises(TraceError, match=r"not in the form|A column is a number from 0"):
        TraceMapping.from_dict(data)

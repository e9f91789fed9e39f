"""One real trace rewritten in every common shape reads as the original, slowly and quickly alike.

The numbers are those of ``hold_slow_leak`` (fixtures/traces/SOURCE.md); its decay there was calculated
with NumPy.
"""

from datetime import datetime, timedelta

import numpy as np
import pytest

from tests.workorders.trace_files import german, grouped, real
from workorders.calc.hold import evaluate_hold
from workorders.calc.trace import Source, TraceMapping, read_trace, trace_of
from workorders.calc.trace_columns import read_columns, read_plain_columns
from workorders.calc.trace_plain import read_plain
from workorders.calc.trace_table import read_table
from workorders.calc.trace_text import read_text

ORIGINAL = read_trace(data=real("hold_slow_leak"))
TIME_MS = np.round(ORIGINAL.time_s * 1000).astype(int).tolist()
VOLTS = ORIGINAL.column(1).values.tolist()
BAR = ORIGINAL.pressure_bar.tolist()
ROWS = list(zip(TIME_MS, VOLTS, BAR, strict=True))
NOON = datetime(2026, 5, 12, 23, 58, 45)  # the recording passes midnight


def written(line, head="", end="\n", after="", code="utf-8"):
    body = end.join(line(*row) for row in ROWS)
    return (head.replace("\n", end) + body + after + end).encode(code)


def stamp(ms, form):
    return (NOON + timedelta(milliseconds=ms)).strftime(form)


def comma(value, places=3):
    return f"{value:.{places}f}".replace(".", ",")


def plain(ms, volts, bar):
    return f"{ms / 1000:.3f},{volts:.3f},{bar:.3f}"


HEAD = "Time [s],Sensor [V],Pressure [bar]\n"
# name: (bytes, mapping that a person chooses; None where the file says it all)
SHAPES = {
    "comma separated": (written(plain, HEAD), None),
    "tab separated": (written(lambda *r: plain(*r).replace(",", "\t"), HEAD.replace(",", "\t")), None),
    "bars between": (written(lambda *r: plain(*r).replace(",", "|"), HEAD.replace(",", "|")), None),
    "spaces between": (written(lambda *r: plain(*r).replace(",", "   ")), None),
    "decimal comma and semicolon": (
        written(lambda t, v, p: f"{comma(t / 1000)};{comma(v)};{comma(p)}", "Zeit [s];U [V];Druck [bar]\n"),
        None,
    ),
    "dotted thousands and decimal comma": (
        written(
            lambda t, v, p: f"{german(t, 1)};{comma(v)};{german(p * 1000, 0)}",
            "Zeit [ms];U [V];Druck [mbar]\n",
        ),
        None,
    ),
    "dotted thousands, nothing named": (
        written(lambda t, v, p: f"{german(t * 1000, 0)}.000;{v:.3f};{p:.3f}"),
        TraceMapping(time_column=0, time_unit="ns", pressure_column=2, pressure_unit="bar"),
    ),
    "spaces as thousands": (
        written(
            lambda t, v, p: f"{grouped(t, 0, ' ')};{v:.3f};{grouped(p * 1e5, 0, ' ')}",
            "t [ms];U [V];p [Pa]\n",
        ),
        None,
    ),
    "no header": (written(plain), None),
    "units in a row of their own": (written(plain, "Time,Sensor,Pressure\n[s],[V],[bar]\n"), None),
    "another unit": (
        written(lambda t, v, p: f"{t / 1000:.3f},{v:.3f},{p * 100:.1f}", "t (s),U (V),p (kPa)\n"),
        None,
    ),
    "quoted": (
        written(
            lambda t, v, p: f'"{comma(t / 1000)}","{comma(v)}","{comma(p)}"', '"t [s]","U [V]","p [bar]"\n'
        ),
        None,
    ),
    "byte-order mark": (written(plain, HEAD, code="utf-8-sig"), None),
    "UTF-16": (written(plain, HEAD, code="utf-16"), None),
    "UTF-16, no mark": (written(plain, HEAD, code="utf-16-be"), None),
    "Latin-1 with a degree sign": (
        written(
            lambda t, v, p: f"{t / 1000:.3f};{20 + t / 1e5:.2f};{p:.3f}",
            "t [s];T [°C];p [bar]\n",
            code="latin-1",
        ),
        None,
    ),
    "comment lines above": (written(plain, "# logger 7\n# 12 May\n#\n" + HEAD), None),
    "comment lines between": (
        written(lambda t, v, p: ("# still going\n" if t % 100 == 0 else "") + plain(t, v, p), HEAD),
        None,
    ),
    "a delimiter at each end": (written(lambda *r: plain(*r) + ",", HEAD.replace("\n", ",\n")), None),
    "empty rows at the end": (written(plain, HEAD, after="\n,,\n,,\n"), None),
    "line ends of two signs": (written(plain, HEAD, end="\r\n"), None),
    "line ends of one other sign": (written(plain, HEAD, end="\r"), None),
    "a foot of words": (written(plain, HEAD, after="\nEnd of recording"), None),
    "time of day": (
        written(lambda t, v, p: f"{stamp(t, '%H:%M:%S.%f')[:-3]};{v:.3f};{p:.3f}", "Time;U [V];p [bar]\n"),
        None,
    ),
    "date and time of day": (
        written(
            lambda t, v, p: f"{stamp(t, '%d.%m.%Y %H:%M:%S,%f')[:-3]};{comma(v)};{comma(p)}",
            "Zeit;U [V];p [bar]\n",
        ),
        None,
    ),
    "date and time of the standard": (
        written(
            lambda t, v, p: f"{stamp(t, '%Y-%m-%dT%H:%M:%S.%f')[:-3]}Z\t{v:.3f}\t{p:.3f}",
            "Time\tU [V]\tp [bar]\n",
        ),
        None,
    ),
    "a channel of words and one of temperature": (
        written(
            lambda t, v, p: f"{t / 1000:.3f},run,{20 + t / 1e5:.2f},{p:.3f}",
            "Time [s],State,Oil [°C],Pressure [bar]\n",
        ),
        None,
    ),
    "two pressures": (
        written(
            lambda t, v, p: f"{t / 1000:.3f};{9 + t % 3 / 10:.1f};{p:.3f}", "t [s];supply [bar];cap [bar]\n"
        ),
        TraceMapping(pressure_column=2),
    ),
}


def slowly(data):
    table = read_table(read_text(data=data).split("\n"))
    columns, warnings = read_columns(table)
    return Source(columns=tuple(columns), lines=table.lines, warnings=(*table.warnings, *warnings))


def quickly(data):
    """Read with a head so short that the file counts as long; None where it is not plain."""
    table = read_plain(read_text(data=data), head_lines=200)
    found = read_plain_columns(table) if table else None
    if found is None:
        return None
    return Source(columns=tuple(found[0]), lines=table.lines, warnings=(*table.warnings, *found[1]))


def close_to_the_original(trace):
    fit, true = (
        evaluate_hold(time_s=each.time_s, pressure_bar=each.pressure_bar) for each in (trace, ORIGINAL)
    )
    assert trace.rows == ORIGINAL.rows
    assert trace.time_s == pytest.approx(ORIGINAL.time_s, abs=2e-6)  # seconds of a date since 1970
    assert trace.pressure_bar == pytest.approx(ORIGINAL.pressure_bar, abs=1e-9)
    assert fit.decay_bar_per_min == pytest.approx(true.decay_bar_per_min, rel=1e-7)
    assert fit.decay_bar_per_min == pytest.approx(0.043344, abs=5e-7)
    assert fit.correlated_error_bar_per_min == pytest.approx(true.correlated_error_bar_per_min, rel=1e-6)


@pytest.mark.parametrize("name", SHAPES)
def test_a_rewritten_trace_reads_as_the_original(name):
    data, mapping = SHAPES[name]
    close_to_the_original(trace_of(source=slowly(data), mapping=mapping))
    close_to_the_original(read_trace(data=data, mapping=mapping))


NOT_PLAIN = {
    "spaces between",
    "quoted",
    "comment lines between",
}


@pytest.mark.parametrize("name", SHAPES)
def test_long_files_are_read_quickly_to_the_same_numbers_and_words(name):
    data, _ = SHAPES[name]
    slow, quick = slowly(data), quickly(data)
    assert (quick is None) == (name in NOT_PLAIN)
    if quick is None:
        return
    assert quick.warnings == slow.warnings
    assert list(quick.lines) == list(slow.lines)
    for one, other in zip(quick.columns, slow.columns, strict=True):
        assert (one.label, one.quantity, one.unit) == (other.label, other.quantity, other.unit)
        assert one.values == pytest.approx(other.values, rel=1e-15, abs=1e-300)


@pytest.mark.parametrize(
    ("row", "cell"),
    [
        (700, "7,1"),
        (700, "nan"),
        (700, ""),
        (700, "inf"),
        (700, "1e999"),
        (700, "0x1f"),
        (1300, "7.1;9"),
        (1407, "x"),
    ],
)
def test_what_is_out_of_the_plain_is_left_to_the_slow_reader(row, cell):
    lines = [f"{t / 1000:.3f};{v:.3f};{p:.3f}" for t, v, p in ROWS]
    lines[row] = lines[row].rpartition(";")[0] + ";" + cell
    assert quickly("\n".join(lines).encode()) is None

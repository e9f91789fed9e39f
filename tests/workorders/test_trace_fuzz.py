"""Damaged logger files never do more than be refused, and any consistent way of writing is read back."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.workorders.trace_files import real
from workorders.calc.hold import evaluate_hold
from workorders.calc.trace import Trace, TraceError, read_trace
from workorders.calc.trace_units import BAR, SECONDS

SOURCES = [
    real("hold_tight")[:2500],
    real("stroke_oring_5bar")[:2500],
    b"Zeit [s];Druck [bar]\r\n" + b"".join(b"%d,5;7,%03d\r\n" % (k, 900 - k) for k in range(60)),
    b'"Time","p (kPa)"\n' + b"".join(b'"10:00:%02d","7%02d.5"\n' % (k, 99 - k) for k in range(60)),
    ("t [ms]\tp [bar]\n" + "".join(f"{k * 100}\t{7 - k / 99:.4f}\n" for k in range(60))).encode("utf-16"),
]
TRICKY = "0123456789.,;:\t\n -+eE\"'ab[]"
DAMAGE = st.tuples(
    st.sampled_from(["cut out", "insert", "overwrite", "repeat", "break off"]),
    st.integers(0, 2499),
    st.binary(min_size=1, max_size=20)
    | st.sampled_from([b'"', b";", b"\t", b"\n", b"NaN", b",", b".", b"-", b"\0"]),
)


def read_or_refusal(data: bytes) -> tuple[Trace | None, str]:
    """Read a file that has a pressure, or give the sentence by which it is refused."""
    try:
        trace = read_trace(data=data)
        return (trace, "") if trace.pressure else (None, "no pressure")
    except TraceError as error:
        return None, str(error)


def damaged(source: bytes, damages: list[tuple[str, int, bytes]]) -> bytes:
    data = source
    for kind, place, new in damages:
        at = place % max(len(data), 1)
        data = {
            "cut out": data[:at] + data[at + 5 * len(new) :],
            "insert": data[:at] + new + data[at:],
            "overwrite": data[:at] + new + data[at + len(new) :],
            "repeat": data[:at] + data[at // 2 : at] + data[at:],
            "break off": data[:at] if at > 200 else data,
        }[kind]
    return data


@settings(max_examples=300, deadline=None)
@given(source=st.sampled_from(SOURCES), damages=st.lists(DAMAGE, min_size=1, max_size=5))
def test_a_damaged_file_is_read_or_refused_and_nothing_else(source, damages):
    trace, refusal = read_or_refusal(damaged(source, damages))
    if trace is None:
        assert refusal.strip()
        return
    fit = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar)
    assert np.all(np.diff(trace.time_s) >= 0)
    assert all(np.isfinite(column.values).all() for column in trace.columns)
    assert np.isfinite([fit.decay_bar_per_min, fit.standard_error_bar_per_min]).all()


@settings(max_examples=200, deadline=None)
@given(data=st.binary(max_size=400) | st.text(alphabet=TRICKY, max_size=400).map(str.encode))
def test_any_bytes_are_read_or_refused(data):
    trace, refusal = read_or_refusal(data)
    assert refusal.strip() if trace is None else trace.rows >= 5


@settings(max_examples=200, deadline=None)
@given(
    delimiter=st.sampled_from(["\t", ";", "|", ","]),
    decimal=st.sampled_from([".", ","]),
    thousands=st.sampled_from(["", "other", " ", "'", "\u00a0"]),
    time_unit=st.sampled_from(["s", "ms", "µs", "min", "h"]),
    pressure_unit=st.sampled_from(sorted(BAR)),
    end=st.sampled_from(["\n", "\r\n"]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "latin-1"]),
    start_bar=st.floats(-0.9, 400),
    preamble=st.sampled_from(["", "Logger 4\nSerial: 12,5\n\n"]),
)
def test_what_is_written_consistently_is_read_back(
    delimiter, decimal, thousands, time_unit, pressure_unit, end, encoding, start_bar, preamble
):
    time_s = np.arange(80) * 0.25
    pressure_bar = start_bar - 0.001 * np.arange(80)
    mark = {"other": "," if decimal == "." else "."}.get(thousands, thousands)

    def write(value: float) -> str:
        text = f"{value:,.8f}".replace(",", "_").replace(".", decimal).replace("_", mark)
        return f'"{text}"' if delimiter in text else text

    rows = [
        write(time / SECONDS[time_unit]) + delimiter + write(pressure / BAR[pressure_unit])
        for time, pressure in zip(time_s, pressure_bar, strict=True)
    ]
    head = f"{preamble}Time [{time_unit}]{delimiter}Pressure [{pressure_unit}]\n"
    text = (head + "\n".join(rows) + "\n").replace("\n", end)
    trace = read_trace(data=text.encode(encoding))
    assert trace.time_s == pytest.approx(time_s, abs=1e-4)
    assert trace.pressure_bar == pytest.approx(pressure_bar, abs=1e-6)

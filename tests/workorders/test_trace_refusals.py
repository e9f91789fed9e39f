"""Bad logger files are refused with one sentence that names the line where there is one."""

import time

import pytest

from tests.workorders.trace_files import real
from workorders.calc.trace import TraceError, TraceMapping, read_trace

HOLD = ["Time [s];Pressure [bar]", *(f"{k / 10:.1f};{7 - k / 1000:.4f}" for k in range(100))]
REAL = real("hold_tight").decode().split()


def text(rows: list[str]) -> bytes:
    return "\n".join(rows).encode()


def with_line(rows: list[str], number: int, line: str) -> bytes:
    """Replace a line, counted from 1 as in the message."""
    return text([*rows[: number - 1], line, *rows[number:]])


def swapped() -> bytes:
    rows = list(REAL)
    rows[500], rows[501] = rows[501], rows[500]
    return text(rows)


BAD = [
    ("empty", b"", "The file is empty"),
    ("blank", b"\n \r\n\n", "The file is empty"),
    ("a picture", b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 20, "not text"),
    ("zero bytes", bytes(2000), "not text"),
    ("noise of bytes", bytes((k * 7919) % 251 + 1 for k in range(4000)), "not text"),
    ("a spreadsheet", b"PK\x03\x04" + b"sheet" * 100, "spreadsheet"),
    ("prose", b"The quick brown fox\njumps over\nthe lazy dog\n" * 9, "No table of readings"),
    ("headings alone", text(HOLD[:1]), "No table of readings"),
    ("one column", text([f"{k / 10:.1f}" for k in range(99)]), "one column"),
    (
        "one column with a heading",
        text(["Pressure [bar]", *(f"{k / 10:.1f}" for k in range(99))]),
        "one column",
    ),
    (
        "comma between and in numbers",
        text([f"{k // 10},{k % 10},7,{k:04d}" for k in range(99)]),
        "semicolons",
    ),
    ("one row", text(HOLD[:2]), "1 row of readings; at least 5"),
    ("three rows", text(HOLD[:4]), "3 rows of readings; at least 5"),
    ("two rows swapped", swapped(), "Line 502: time runs backwards in column 1"),
    (
        "a step back",
        with_line(HOLD, 51, "1.0;6.9"),
        r"Line 51: time runs backwards in column 1 \(Time\), from 4.8 to 1",
    ),
    ("all backwards", text(REAL[::-1]), "time in column 1 runs backwards"),
    ("all backwards with headings", text([HOLD[0], *HOLD[:0:-1]]), "Line 3: time runs backwards"),
    (
        "a minute that no clock has",
        with_line(["Clock;Pressure [bar]", *(f"10:00:{k:02d};6.9" for k in range(50))], 41, "10:61:00;6.9"),
        r"Line 41: “10:61:00” in column 1 \(Clock\) is no time",
    ),
    (
        "hour 24 of a day",
        with_line(
            ["Clock;Pressure [bar]", *(f"2024-05-01 23:59:{k:02d};6.9" for k in range(60))],
            61,
            "2024-05-01 24:00:00;6.9",
        ),
        r"Line 61: “2024-05-01 24:00:00” in column 1 \(Clock\) is no time",
    ),
    (
        "time that stands still",
        text([HOLD[0], *(f"5.0;{7 - k / 100}" for k in range(50))]),
        "does not move forward",
    ),
    ("NaN", with_line(REAL, 701, "70.000.000;3.658;NaN"), "Line 701: “NaN” in column 3 is no number"),
    ("NaN in the first row", with_line(REAL, 1, "0.000;3.658;nan"), "Line 1: “nan” in column 3"),
    ("NaN in the last row", text([*REAL[:-1], "151.303.000;nan;7.284"]), "Line 1508: “nan” in column 2"),
    ("infinity", with_line(REAL, 701, "70.000.000;inf;7.315"), "Line 701: “inf” in column 2"),
    ("a word", with_line(REAL, 701, "70.000.000;3.658;abc"), "Line 701: “abc” in column 3"),
    ("an empty cell", with_line(REAL, 701, "70.000.000;3.658;"), "Line 701: column 3 is empty"),
    ("an empty time", with_line(REAL, 701, ";3.658;7.315"), "Line 701: column 1 is empty"),
    (
        "a cell in another style",
        with_line(HOLD, 51, "4.9;6,951"),
        r"Line 51: “6,951” in column 2 \(Pressure\)",
    ),
    ("a short line", with_line(REAL, 701, "70.000.000;3.658"), "Line 701 has 2 columns; the others have 3"),
    (
        "a long line",
        with_line(REAL, 701, "70.000.000;3.658;7.3;9"),
        "Line 701 has 4 columns; the others have 3",
    ),
    ("an endless line", with_line(REAL, 701, "7" * 150_000), "Line 701 has 150000 characters"),
    ("an open quotation mark", with_line(HOLD, 51, '"4.9;6.9'), "Line 51 has 1 column"),
    ("an unknown pressure unit", text(["Time [s];Pressure [kg/cm2]", *HOLD[1:]]), "“kg/cm2” of column 2"),
    (
        "a running number alone",
        text(["No.;Pressure [bar]", *(f"{k};7.{k}" for k in range(50))]),
        "running number",
    ),
    (
        "nothing that rises",
        text([f"{k * 37 % 11};{k * 53 % 17}" for k in range(200)]),
        "No column rises steadily",
    ),
]


@pytest.mark.parametrize(("data", "words"), [row[1:] for row in BAD], ids=[row[0] for row in BAD])
def test_a_bad_file_is_refused_with_a_sentence(data, words):
    with pytest.raises(TraceError, match=words) as caught:
        read_trace(data=data)
    sentence = str(caught.value)
    assert sentence.endswith(".")
    assert "\n" not in sentence


@pytest.mark.parametrize(("columns", "taken"), [(128, True), (129, False), (10_000, False)])
def test_a_file_of_more_columns_than_loggers_have_is_refused_at_once(columns, taken):
    """Each column is compared with each: ten thousand of them took longer than anybody waits."""
    data = text([";".join([str(row), *["7.25"] * (columns - 1)]) for row in range(8)])
    if taken:
        assert len(read_trace(data=data).columns) == columns
        return
    began = time.perf_counter()
    with pytest.raises(TraceError, match=f"has {columns} columns; at most 128 are read"):
        read_trace(data=data)
    assert time.perf_counter() - began < 10


def test_a_file_over_the_size_limit_is_refused_with_both_sizes():
    with pytest.raises(TraceError, match="has 400 bytes; at most 399 bytes"):
        read_trace(data=b"1;2\n" * 100, max_bytes=399)
    with pytest.raises(TraceError, match=r"has 0\.4 MB; at most 0\.1 MB"):
        read_trace(data=b"1;2\n" * 100_000, max_bytes=100_000)


def test_a_file_at_the_size_limit_is_read():
    assert read_trace(data=text(HOLD), max_bytes=len(text(HOLD))).rows == 100


def test_five_rows_are_enough_and_four_are_not():
    assert read_trace(data=text(HOLD[:6])).rows == 5
    with pytest.raises(TraceError, match="4 rows"):
        read_trace(data=text(HOLD[:5]))


def test_a_number_that_only_fits_a_thousands_mark_is_not_read_as_something_else():
    """70.5 between 50.409.000 and 70.609.000 is no number in dotted thousands, and not 705."""
    with pytest.raises(TraceError, match=r"Line 701: “70\.5” in column 1"):
        read_trace(data=with_line(REAL, 701, "70.5;3.658;7.315"))


@pytest.mark.parametrize("cell", ["1.5", "1.0E", "12:00", "..", "--", "1;2"])
def test_no_odd_cell_slips_through_as_a_number(cell):
    with pytest.raises(TraceError, match="Line 50"):
        read_trace(data=with_line(REAL, 50, f"{cell};3.658;7.315"))


@pytest.mark.parametrize("cell", ["1.1e20", "-7e307"])
def test_a_number_too_large_for_a_reading_is_refused_by_its_line(cell):
    """Its square would be no number, and so would the slope and all that is drawn."""
    with pytest.raises(TraceError, match=r"Line 51: .* in column 2 \(Pressure\) is too large"):
        read_trace(data=with_line(HOLD, 51, f"4.9;{cell}"))


def test_a_time_that_moves_by_nothing_that_counts_does_not_move():
    rows = [f"{row}e-322;{7 - row / 1000}" for row in range(40)]
    with pytest.raises(TraceError, match="does not move forward"):
        read_trace(data=text(["Time [s];Pressure [bar]", *rows]))


def test_a_file_without_a_pressure_still_gives_its_channels():
    trace = read_trace(data=text(["Time [s];Force [N]", *HOLD[1:]]))
    assert trace.pressure is None
    assert not trace.warnings  # a flow needs none
    with pytest.raises(TraceError, match="no column that could be the pressure"):
        _ = trace.pressure_bar


def test_an_unknown_unit_is_overcome_by_choosing_one():
    data = text(["Time [s];Pressure [kg/cm2]", *HOLD[1:]])
    trace = read_trace(data=data, mapping=TraceMapping(pressure_column=1, pressure_unit="bar"))
    assert trace.pressure_bar[0] == 7.0

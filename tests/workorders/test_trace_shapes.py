"""Logger files of many shapes give the decay that they were made with, without any option."""

import pytest

from tests.workorders.trace_files import (
    DECAY_BAR_PER_MIN,
    P_BAR,
    PSI_PER_BAR,
    T_S,
    N,
    german,
    grouped,
    lines,
    stamp,
)
from workorders.calc.hold import evaluate_hold
from workorders.calc.trace import Trace, read_trace

NAMED = "Time [s];Pressure [bar]\n"


def plain(time: float, pressure: float) -> str:
    return f"{time:.3f};{pressure:.6f}"


def minutes_and_seconds(time: float) -> str:
    return f"{int(time // 60):02d}:{time % 60:06.3f}"


SHAPES = {
    "decimal comma, semicolons": lines(
        lambda t, p: f"{german(t, 3)};{german(p, 6)}", head="Zeit [s];Druck [bar]\n"
    ),
    "decimal comma, dotted thousands": lines(
        lambda t, p: f"{german(t * 1000, 1)};{german(p * 1000, 3)}", head="Zeit [ms];Druck [mbar]\n"
    ),
    "thousands commas in quotes": lines(
        lambda t, p: f'{t:.3f},"{grouped(p * 1e5, 1, ",")}"', head="Time (s),Pressure (Pa)\n"
    ),
    "tab and psi": lines(lambda t, p: f"{t:.3f}\t{p * PSI_PER_BAR:.5f}", head="t/s\tp/psi\n"),
    "kPa": lines(lambda t, p: f"{t:.3f},{p * 100:.4f}", head="time_s,Cylinder pressure (kPa)\n"),
    "minutes and MPa": lines(lambda t, p: f"{t / 60:.7f},{p / 10:.7f}", head="time_min,p_MPa\n"),
    "hours and hPa": lines(
        lambda t, p: f"{t / 3600:.9f};{p * 1000:.3f}", head="Elapsed hours;Druck in hPa\n"
    ),
    "unit row below the headings": lines(plain, head="Time;Pressure\n[s];[bar]\n"),
    "units alone": lines(plain, head="s;bar\n"),
    "ISO date-time": lines(
        lambda t, p: f"{stamp(t, '%Y-%m-%dT%H:%M:%S.%f')};{p:.6f}", head="Timestamp;Pressure [bar]\n"
    ),
    "ISO date-time with comma and zone": lines(
        lambda t, p: f"{stamp(t, '%Y-%m-%d %H:%M:%S,%f')}+02:00;{german(p, 6)}",
        head="Zeitstempel;Druck [bar]\n",
    ),
    "German date-time": lines(
        lambda t, p: f"{stamp(t, '%d.%m.%Y %H:%M:%S.%f')};{german(p, 6)}", head="Datum/Zeit;Druck bar\n"
    ),
    "month first, 12-hour clock": lines(
        lambda t, p: f"{stamp(t, '%m/%d/%Y %I:%M:%S.%f %p')},{p * PSI_PER_BAR:.5f}",
        head="Date Time,Pressure psi\n",
    ),
    "date and time of day in two columns": lines(
        lambda t, p: f"{stamp(t, '%Y-%m-%d,%H:%M:%S.%f')},{p:.6f}", head="Date,Clock,Pressure bar\n"
    ),
    "time of day over midnight, no header": lines(lambda t, p: f"{stamp(t, '%H:%M:%S.%f')} {p:.6f}"),
    "minutes:seconds": lines(
        lambda t, p: f"{minutes_and_seconds(t)},{p:.6f}", head="Elapsed,Pressure (bar)\n"
    ),
    "milliseconds since 1970": lines(
        lambda t, p: f"{1_714_600_000_000 + round(t * 1000)},{p:.6f}", head="ts,pressure_bar\n"
    ),
    "milliseconds since 1970, no header": lines(
        lambda t, p: f"{1_714_600_000_000 + round(t * 1000)},{p:.6f}"
    ),
    "running number first": lines(
        lambda t, p: f"{round(t * 10) + 1};{t * 1000:.0f};{p:.6f}", head="No.;t [ms];p [bar]\n"
    ),
    "trailing delimiter": lines(lambda t, p: plain(t, p) + ";", head="Time [s];Pressure [bar];\n"),
    "carriage returns": lines(plain, head=NAMED, end="\r\n"),
    "old line ends": lines(plain, head=NAMED, end="\r"),
    "preamble": lines(
        plain, head="Bench logger\nSerial;12345\nRate;10;Hz\nComment: hold\n\n" + "Time [s];Pressure [bar]\n"
    ),
    "headings in a comment": lines(
        lambda t, p: f"{t:.3f}, {p:.6f}", head="# run 5\n# time[s], pressure[bar]\n"
    ),
    "columns of white space": lines(
        lambda t, p: f"{t:10.3f} {p:12.6f}", head="   Time [s]    Pressure [bar]\n"
    ),
    "white space and decimal comma": lines(lambda t, p: f"{german(t, 3)} {german(p, 6)}"),
    "scientific notation": lines(lambda t, p: f"{t:.6e};{p:.7E}", head="time;pressure\n"),
    "spaces as thousands": lines(
        lambda t, p: f"{grouped(t * 1000, 0, ' ')};{grouped(p * 1000, 3, ' ')}", head="t [ms];p [mbar]\n"
    ),
    "narrow spaces as thousands": lines(
        lambda t, p: f"{grouped(t * 1000, 0, chr(0x202F))};{german(p, 6)}", head="t [ms];p [bar]\n"
    ),
    "apostrophes as thousands": lines(
        lambda t, p: f"{grouped(t * 1000, 0, chr(39))};{grouped(p * 1000, 3, chr(39))}",
        head="t [ms];p [mbar]\n",
    ),
    "two columns, nothing else": lines(plain),
    "two columns, comma": lines(lambda t, p: f"{t:.3f},{p:.6f}"),
    "bars between": lines(lambda t, p: f"{t:.3f}|{p:.6f}", head="time s|pressure bar\n"),
    "all in quotes": lines(lambda t, p: f'"{t:.3f}","{p:.6f}"', head='"Time [s]","Pressure [bar]"\n'),
    "dotted thousands without a double mark": lines(lambda t, p: f"{german(t * 1000, 0)};{german(p, 6)}"),
    "dotted thousands beside decimal dots": lines(lambda t, p: f"{german(t * 1000, 0)};{p:.6f}"),
    "temperature column first": lines(
        lambda t, p: f"{20 + t / 100:.1f},{t:.3f},{p:.6f}", head="Temp [°C],Time [s],Pressure [bar]\n"
    ),
    "sensor volts beside the pressure": lines(lambda t, p: f"{t:.3f};{p / 2:.6f};{p:.6f}"),
    "state in words": lines(lambda t, p: plain(t, p) + ";OK", head="Time [s];Pressure [bar];State\n"),
    "words at the end": lines(plain, head=NAMED) + "End of log\n",
    "cut off at the end": lines(plain, head=NAMED) + "60.0",
    "empty rows of a spreadsheet at the end": lines(plain, head=NAMED) + ";\n;\n",
    "clock coarser than the samples": lines(
        lambda t, p: f"{stamp(t, '%H:%M:%S')},{p:.6f}", head="Time,Pressure (bar)\n"
    ),
    "below atmospheric": lines(lambda t, p: f"{t:.3f};{p - 8:.6f}", head=NAMED),
    "typographic minus": lines(lambda t, p: f"{t:.3f};{p - 8:.6f}".replace("-", "\u2212"), head=NAMED),
    "UTF-16": lines(lambda t, p: f"{german(t, 3)};{german(p, 6)}", head="Zeit [s];Druck [bar]\n").encode(
        "utf-16"
    ),
    "UTF-16 without a mark": lines(plain, head=NAMED).encode("utf-16-le"),
    "UTF-8 with a mark": lines(plain, head=NAMED).encode("utf-8-sig"),
    "Latin-1": lines(
        lambda t, p: f"{t * 1e6:.0f};20,1;{german(p, 6)}", head="Zeit [µs];Temp °C;Druck [bar]\n"
    ).encode("latin-1"),
}


def read(content: str | bytes) -> Trace:
    return read_trace(data=content if isinstance(content, bytes) else content.encode())


@pytest.mark.parametrize("name", SHAPES)
def test_a_file_of_any_shape_gives_the_decay_it_was_made_with(name):
    trace = read(SHAPES[name])
    fit = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar)
    coarse = name == "clock coarser than the samples"
    assert trace.rows == N
    assert trace.duration_s == pytest.approx(T_S[-1], abs=1.0 if coarse else 2e-3)
    assert fit.decay_bar_per_min == pytest.approx(DECAY_BAR_PER_MIN, rel=5e-3 if coarse else 1e-3)
    assert fit.straight


def test_the_first_pressure_comes_out_in_bar_whatever_the_unit():
    for name in ("tab and psi", "kPa", "minutes and MPa", "hours and hPa", "thousands commas in quotes"):
        assert read(SHAPES[name]).pressure_bar[0] == pytest.approx(P_BAR[0], rel=1e-5), name


def test_a_file_that_names_everything_needs_no_warning():
    assert read(lines(plain, head=NAMED)).warnings == ()


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("two columns, nothing else", "No column is named as the time"),
        ("two columns, nothing else", "names no time unit for column 1; it is read as s"),
        ("two columns, nothing else", "No column is named as the pressure; column 2 is proposed"),
        ("two columns, nothing else", "names no pressure unit for column 2; it is read as bar"),
        ("sensor volts beside the pressure", "column 2 and column 3 are proportional; the larger"),
        (
            "decimal comma, dotted thousands",
            "The dot in column 1 (Zeit) and column 2 (Druck) is read as a thousands",
        ),
        ("preamble", "4 lines above the readings are not read"),
        ("cut off at the end", "from line 602 on is cut off"),
        ("state in words", "Column 3 (State) holds text and is not read"),
        ("clock coarser than the samples", "carry the same time as the row before"),
    ],
)
def test_what_is_guessed_or_left_out_is_said(name, words):
    said = read(SHAPES[name]).warnings
    assert any(words.casefold() in warning.casefold() for warning in said), said


def test_noise_around_a_constant_pressure_has_no_decay_to_speak_of():
    noise = [0.004, -0.004, 0.002, -0.002] * 100
    rows = "".join(f"{k / 10:.1f};{6 + extra:.3f}\n" for k, extra in enumerate(noise))
    trace = read("Time [s];Pressure [bar]\n" + rows)
    fit = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar)
    assert abs(fit.decay_bar_per_min) < 3 * fit.standard_error_bar_per_min
    assert fit.straight


def test_a_constant_pressure_is_straight_and_does_not_fall():
    trace = read("Time [s];Pressure [bar]\n" + "".join(f"{k / 10:.1f};6.125\n" for k in range(400)))
    fit = evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar)
    assert (fit.decay_bar_per_min, fit.standard_error_bar_per_min, fit.straight) == (0.0, 0.0, True)


def test_a_dot_that_could_be_either_is_a_decimal_sign_unless_something_proves_otherwise():
    """7.315 alone is 7.315; beside a proven decimal comma it is 7315."""
    rows = [(k / 10, 7315 - k) for k in range(50)]
    alone = read("t [s];p [mbar]\n" + "".join(f"{t:.1f};{p / 1000:.3f}\n" for t, p in rows))
    beside = read("t [s];p [mbar]\n" + "".join(f"{german(t, 1)};{german(p, 0)}\n" for t, p in rows))
    assert alone.pressure_bar[0] == pytest.approx(0.007315)
    assert beside.pressure_bar[0] == pytest.approx(7.315)


def test_of_two_named_pressures_the_first_is_proposed_and_said():
    trace = read(
        "t [s];p supply [bar];p cap [bar]\n"
        + "".join(f"{k / 10};{9 + k % 3 / 10};{7 - k / 1e4:.4f}\n" for k in range(90))
    )
    assert trace.mapping.pressure_column == 1
    assert any("could each be the pressure" in warning for warning in trace.warnings)


def test_all_channels_come_along_with_quantity_and_unit():
    trace = read(
        "t [ms];x [mm];p [bar];F [N];T [°C];Q [L/min];U [V];I [A];free\n"
        + "".join(
            f"{10 * k};{k};{7 - k / 1000};{k * 2};{20};{k / 9:.3f};{24};{k % 5};{k % 7}\n" for k in range(50)
        )
    )
    assert [(column.quantity, column.unit) for column in trace.columns] == [
        ("time", "ms"),
        ("position", "mm"),
        ("pressure", "bar"),
        ("force", "N"),
        ("temperature", "°C"),
        ("flow", "L/min"),
        ("voltage", "V"),
        ("current", "A"),
        ("unknown", None),
    ]
    assert trace.column(3).values[10] == 20

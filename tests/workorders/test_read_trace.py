"""`manage.py read_trace FILE`: the reading of a logger file without storing it."""

import json

import numpy as np
import pytest
from django.core.management import call_command

from tests.workorders.test_trace_refusals import BAD
from tests.workorders.test_trace_shapes import SHAPES
from tests.workorders.trace_files import DECAY_BAR_PER_MIN, REAL, N
from workorders.management.commands import read_trace as command


@pytest.fixture
def run(tmp_path, capsys):
    """Run the command on bytes; return status, what it printed and what it complained."""

    def _run(data: bytes, *options: str) -> tuple[int, str, str]:
        path = tmp_path / "logger.csv"
        path.write_bytes(data)
        try:
            call_command("read_trace", str(path), *options)
            status = 0
        except SystemExit as left:
            status = left.code
        out, err = capsys.readouterr()
        return status, out, err

    return _run


def as_bytes(content: str | bytes) -> bytes:
    return content if isinstance(content, bytes) else content.encode()


def test_json_has_exactly_the_agreed_shape(run):
    status, out, err = run((REAL / "hold_slow_leak.csv").read_bytes(), "--json")
    data = json.loads(out)
    assert (status, err) == (0, "")
    assert list(data) == ["rows", "seconds", "columns", "whole", "warnings"]
    assert list(data["whole"]) == ["decay_bar_per_min", "standard_error_bar_per_min", "straight"]
    assert (data["rows"], data["seconds"]) == (1408, pytest.approx(141.438))
    assert data["columns"] == [
        {"name": "column 1", "quantity": "time", "unit": "µs"},
        {"name": "column 2", "quantity": "unknown", "unit": None},
        {"name": "column 3", "quantity": "pressure", "unit": "bar"},
    ]
    # The figures of fixtures/traces/SOURCE.md.
    assert data["whole"]["decay_bar_per_min"] == pytest.approx(0.043344, abs=5e-7)
    assert data["whole"]["standard_error_bar_per_min"] == pytest.approx(0.000166, abs=5e-7)
    assert data["whole"]["straight"] is True
    assert all(warning.endswith(".") for warning in data["warnings"])


def test_the_fast_leak_is_reported_as_no_straight_line(run):
    _, out, _ = run((REAL / "hold_fast_leak.csv").read_bytes(), "--json")
    data = json.loads(out)
    assert data["whole"]["straight"] is False
    assert "not a straight line, so the decay is no number to trust: emptying" in data["warnings"][-1]
    _, text, _ = run((REAL / "hold_fast_leak.csv").read_bytes())
    assert "not a straight line" in text


@pytest.mark.parametrize("name", SHAPES)
def test_a_file_never_seen_is_read_without_options(run, name):
    status, out, err = run(as_bytes(SHAPES[name]), "--json")
    data = json.loads(out)
    assert (status, err, data["rows"]) == (0, "", N)
    assert data["whole"]["decay_bar_per_min"] == pytest.approx(DECAY_BAR_PER_MIN, rel=5e-3)


@pytest.mark.parametrize(("data", "words"), [row[1:] for row in BAD], ids=[row[0] for row in BAD])
def test_a_bad_file_leaves_with_status_2_and_one_sentence(run, data, words):
    status, out, err = run(data, "--json")
    assert (status, out) == (2, "")
    assert len(err.strip().splitlines()) == 1
    assert "Traceback" not in err


def test_text_for_people_says_the_same(run):
    status, out, _ = run((REAL / "hold_tight.csv").read_bytes())
    assert status == 0
    assert "1508 rows over 151.303 s" in out
    assert "column 3: pressure, bar" in out
    assert "0.0140965 bar/min, standard error 0.000116 bar/min" in out
    assert "note: The file names no pressure unit for column 3; it is read as bar." in out


def test_options_choose_columns_and_units(run):
    rows = "".join(f"{k};{7 - k / 1000:.4f};{3 - k / 500:.4f}\n" for k in range(100)).encode()
    options = ["--time-column", "1", "--time-unit", "min", "--pressure-column", "3", "--pressure-unit", "MPa"]
    status, out, _ = run(rows, "--json", *options)
    data = json.loads(out)
    assert status == 0
    assert data["seconds"] == 99 * 60
    assert data["whole"]["decay_bar_per_min"] == pytest.approx(0.02)  # 1/500 MPa per minute
    assert data["columns"][2] == {"name": "column 3", "quantity": "pressure", "unit": "MPa"}


def test_a_file_without_a_pressure_asks_for_one(run):
    rows = b"Time [s];Force [N]\n" + b"".join(b"%d;%d\n" % (k, k * k % 7) for k in range(30))
    status, _, err = run(rows)
    assert status == 2
    assert err == "The file has no column that could be the pressure; choose one.\n"
    assert run(rows, "--pressure-column", "2", "--pressure-unit", "bar")[0] == 0


def test_a_file_that_is_not_there_and_a_folder_are_refused(tmp_path, capsys):
    for path, words in ((tmp_path / "none.csv", "cannot be read: No such file"), (tmp_path, "is a folder")):
        with pytest.raises(SystemExit) as left:
            call_command("read_trace", str(path))
        assert left.value.code == 2
        assert words in capsys.readouterr().err


def test_a_file_over_the_size_limit_is_not_read_whole(run, monkeypatch):
    monkeypatch.setattr(command, "DEFAULT_MAX_BYTES", 1000)
    status, _, err = run(b"1;2\n" * 100_000)
    assert status == 2
    assert "at most 1000 bytes are taken" in err


# -- more, where it is asked for


def swinging() -> bytes:
    """A hold of 0.03 bar/min that follows its oil by 17.1 bar for each K, as the constants named say."""
    rows = []
    for sample in range(1500):
        seconds = sample / 5
        oil_c = 30 + 0.05 * np.sin(2 * np.pi * seconds / 400)
        bar = 8 - 0.03 / 60 * seconds + PER_K * (oil_c - 30)
        rows.append(f"{seconds:.1f};{bar:.5f};{oil_c:.5f}\n")
    return ("time [s];pressure [bar];oil [°C]\n" + "".join(rows)).encode()


# leeimh.com: 300000 psi and 0.00046 for each °F.
PER_K = 300_000 * 0.06894757 * 0.00046 * 1.8
OIL = ("--temperature-column", "3", "--oil", "synthetic hydrocarbon, MIL-H-83282")


def test_the_proposed_hold_is_printed_with_both_standard_errors(run):
    status, out, _ = run((REAL / "hold_tight.csv").read_bytes(), "--json", "--hold")
    hold = json.loads(out)["hold"]
    assert status == 0
    assert (hold["start_s"], hold["window"], hold["shape"]) == (0.0, "the whole file", "straight")
    assert hold["independent_error_bar_per_min"] == pytest.approx(0.000116, abs=5e-7)
    assert hold["standard_error_bar_per_min"] > 5 * hold["independent_error_bar_per_min"]
    _, text, _ = run((REAL / "hold_tight.csv").read_bytes(), "--hold")
    assert "hold: start_s 0, end_s 151.303, window the whole file" in text


def test_a_hold_is_brought_to_one_temperature_by_the_oil_that_is_named(run):
    status, out, _ = run(swinging(), "--json", "--hold", "--from", "0", *OIL)
    hold = json.loads(out)["hold"]
    assert (status, hold["window"], hold["end_s"]) == (0, "", pytest.approx(299.8))
    assert hold["shape"].startswith("temperature: the pressure follows it, 17 bar for each K")
    level = hold["at_one_temperature"]
    assert (level["oil"], level["bar_per_k"]) == (OIL[3], pytest.approx(PER_K))
    assert level["shape"] == "straight"
    assert level["decay_bar_per_min"] == pytest.approx(0.03, abs=1e-4)


def test_fahrenheit_is_the_same_temperature(run):
    rows = swinging().decode().splitlines()[1:]
    cells = [row.split(";") for row in rows]
    data = "".join(f"{t};{p};{float(c) * 9 / 5 + 32:.5f}\n" for t, p, c in cells)
    _, out, _ = run(("time [s];pressure [bar];oil [°F]\n" + data).encode(), "--json", "--hold", *OIL)
    assert json.loads(out)["hold"]["at_one_temperature"]["decay_bar_per_min"] == pytest.approx(0.03, abs=1e-4)


def test_the_strokes_of_the_shared_file_are_told_with_their_friction(run):
    """A 25 mm piston under 5 bar: fixtures/traces/SOURCE.md; position mm, pressure bar, force N."""
    options = ("--position-column", "5", "--force-column", "7", "--bore-mm", "25")
    status, out, _ = run((REAL / "stroke_oring_5bar.csv").read_bytes(), "--json", *options)
    strokes = json.loads(out)["strokes"]
    assert status == 0
    assert [one["direction"] for one in strokes] == ["extend", "retract"] * 10
    # By hand from one sample in the middle of the first stroke: 256.504 N over 490.87 mm², less 5.041 bar.
    assert strokes[0]["running_bar"] == pytest.approx(256.504 / 49.0874 - 5.041, rel=0.05)


def test_a_pressure_that_moves_the_piston_by_itself_needs_no_force(run):
    data = "time [s];pressure [bar];way [mm]\n"
    for sample in range(300):
        way = min(sample, 100) if sample < 150 else max(250 - sample, 0)
        data += f"{sample / 10:.1f};{4 + 0.001 * (sample % 2):.3f};{way}\n"
    _, out, _ = run(data.encode(), "--json", "--position-column", "3")
    found = json.loads(out)["strokes"]
    assert [(one["direction"], round(one["running_bar"], 2)) for one in found] == [
        ("extend", 4.0),
        ("retract", 4.0),
    ]


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("--hold", *OIL[:2]), "needs both the temperature's column and the oil"),
        (("--hold", "--temperature-column", "9", *OIL[2:]), "no column 9"),
        (("--position-column", "2"), "No stroke"),
        (("--position-column", "3", "--force-column", "2"), "A force needs the bore"),
    ],
)
def test_what_cannot_be_evaluated_is_one_sentence(run, options, message):
    data = "".join(f"{at};7;30\n" for at in range(50))
    status, out, err = run(("time [s];pressure [bar];oil [°C]\n" + data).encode(), *options)
    assert (status, out) == (2, "")
    assert message in err

"""Friction of a stroke: made-up strokes whose friction is known, and one logged on a real bench."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.workorders.trace_files import REAL
from workorders.calc.stroke import StrokeError, evaluate_strokes, stroke_friction

AREA_MM2 = np.pi / 4 * 25**2


def both_ways(*, break_away=6.0, running=4.0, rest=20):
    """Out and back over 100 mm, each with a rest before it in which the pressure rises from nothing."""
    standing = np.linspace(0, break_away, rest)
    way = np.concatenate([np.zeros(rest), np.arange(101.0), np.full(rest, 100.0), np.arange(100.0, -1, -1)])
    pressure = np.concatenate([standing, np.full(101, running), standing, np.full(101, running)])
    return way, pressure


def test_friction_that_was_put_in_comes_out():
    extend, retract = evaluate_strokes(position_mm=both_ways()[0], drive_bar=both_ways()[1])
    assert (extend.direction, extend.travel_mm) == ("extend", 100)
    assert (extend.break_away_bar, extend.running_bar) == (6.0, 4.0)
    assert extend.stick_slip == pytest.approx(0, abs=1e-9)
    assert (retract.direction, retract.break_away_bar, retract.running_bar) == ("retract", 6.0, 4.0)


def test_a_piston_that_bottoms_before_does_not_enter():
    way, pressure = both_ways()
    bottoming = np.concatenate([pressure[:121], np.full(10, 160.0), pressure[121:]])
    longer = np.concatenate([way[:121], np.full(10, 100.0), way[121:]])
    retract = evaluate_strokes(position_mm=longer, drive_bar=bottoming)[1]
    assert retract.break_away_bar == 6.0


def test_a_pressure_counted_from_the_bore_side_is_turned_for_the_way_back():
    way, pressure = both_ways()
    from_bore = np.where(np.arange(way.size) < 121, pressure, -pressure)
    signed = evaluate_strokes(position_mm=way, drive_bar=from_bore, signed=True)
    assert [one.running_bar for one in signed] == [4.0, 4.0]


def test_a_saw_tooth_swings_by_what_it_was_made_of():
    """A rising saw-tooth is even between its ends: 5th to 95th of a hundred are 0.9 of its height."""
    way, pressure = both_ways(running=4.0)
    pressure = pressure + 2.0 * ((np.arange(way.size) % 8) / 8 - 0.4375)
    extend = evaluate_strokes(position_mm=way, drive_bar=pressure)[0]
    assert extend.stick_slip == pytest.approx(0.9 * 2.0 / 4.0, rel=0.06)


def test_a_friction_that_rises_along_the_way_is_no_stick_slip():
    way, pressure = both_ways()
    extend = evaluate_strokes(position_mm=way, drive_bar=pressure + way / 50)[0]
    assert extend.stick_slip == pytest.approx(0, abs=1e-9)
    assert extend.running_bar == pytest.approx(5.0)


def test_short_strokes_and_trembling_are_left_out():
    way, pressure = both_ways()
    rng = np.random.default_rng(6)
    way = np.concatenate([way, np.linspace(0, 30, 40), np.linspace(30, 0, 40)]) + rng.normal(0, 0.05, 322)
    strokes = evaluate_strokes(position_mm=way, drive_bar=np.concatenate([pressure, np.full(80, 4.0)]))
    assert [one.direction for one in strokes] == ["extend", "retract"]


@given(
    shift_mm=st.floats(-1000, 1000),
    stretch=st.floats(0.1, 10),
    scale=st.floats(0.01, 100),
)
def test_where_and_how_long_the_way_is_does_not_matter(shift_mm, stretch, scale):
    way, pressure = both_ways()
    way, pressure = way**1.001, pressure + np.sin(np.arange(way.size))  # no sample on a border
    plain = evaluate_strokes(position_mm=way, drive_bar=pressure)[0]
    moved = evaluate_strokes(position_mm=stretch * way + shift_mm, drive_bar=scale * pressure)[0]
    assert moved.travel_mm == pytest.approx(stretch * plain.travel_mm)
    assert moved.running_bar == pytest.approx(scale * plain.running_bar)
    assert moved.stick_slip == pytest.approx(plain.stick_slip, rel=1e-6)


@pytest.mark.parametrize(
    ("way", "pressure", "words"),
    [
        ([0, 1, 2], [1, 1], "must be as many; got 3 and 2"),
        ([0, 1, float("nan")], [1, 1, 1], "numbers throughout"),
        ([5, 5, 5, 5], [1, 1, 1, 1], "No stroke"),
        ([0, 50, 100], [1, 1, 1], "No stroke with enough samples"),
    ],
)
def test_what_holds_no_stroke_is_refused(way, pressure, words):
    with pytest.raises(StrokeError, match=words):
        evaluate_strokes(position_mm=np.array(way), drive_bar=np.array(pressure))


# -- a stroke of a real bench: fixtures/traces/SOURCE.md, a 25 mm piston with an O-ring under 5 bar


def logged():
    """Position [mm], and force of the load cell less the pressure on the piston [bar], read here."""
    rows = [line.split() for line in (REAL / "stroke_oring_5bar.csv").read_text().splitlines()]
    position, pressure, force = (np.array([float(row[at]) for row in rows]) for at in (4, 5, 6))
    return position, 10 * force / AREA_MM2 - pressure


def test_the_logged_strokes_agree_with_the_same_sum_done_here():
    """Independent: samples 8 to 28 mm on the way out and back, told apart by the speed, median of each."""
    position, drive = logged()
    strokes = evaluate_strokes(position_mm=position, drive_bar=drive, signed=True)
    assert [one.direction for one in strokes] == ["extend", "retract"] * 10
    speed = np.gradient(np.convolve(position, np.ones(15) / 15, mode="same"))
    middle = (position > 8) & (position < 28)
    out, back = (np.median(drive[middle & moving]) for moving in (speed > 0.02, speed < -0.02))
    found = {
        way: [one.running_bar for one in strokes if one.direction == way] for way in ("extend", "retract")
    }
    assert np.median(found["extend"]) == pytest.approx(out, rel=0.02)
    assert np.median(found["retract"]) == pytest.approx(-back, rel=0.02)


def test_the_logged_piston_breaks_away_above_its_running_friction_and_slides():
    position, drive = logged()
    strokes = evaluate_strokes(position_mm=position, drive_bar=drive, signed=True)
    extend = [one for one in strokes if one.direction == "extend"]
    assert all(one.break_away_bar > one.running_bar for one in extend)
    assert all(one.stick_slip < 0.3 for one in strokes)
    assert np.ptp([one.running_bar for one in extend]) < 0.1 * extend[0].running_bar


# -- the calculation


def test_the_bench_sum_takes_the_highest_break_away_and_the_middle_running_pressure():
    way, pressure = both_ways()
    found = stroke_friction(position_mm=tuple(way), drive_bar=tuple(pressure))
    assert (found.strokes, found.extend_break_away_bar, found.retract_running_bar) == (2, 6.0, 4.0)


def test_a_way_without_its_return_has_no_figures_for_it():
    way, pressure = both_ways()
    found = stroke_friction(position_mm=tuple(way[:121]), drive_bar=tuple(pressure[:121]))
    assert (found.strokes, found.extend_running_bar, found.retract_running_bar) == (1, 4.0, None)
    assert found.retract_stick_slip is None


@pytest.mark.parametrize(
    ("way", "pressure", "message"),
    [
        ([0.0] * 12, [1.0] * 12, "must be a way with a stroke in it; got none"),
        (list(range(12)), [1.0] * 11, "as many; got 12 and 11"),
        (list(range(9)), [1.0] * 9, "a list of 10 or more"),
    ],
)
def test_a_list_without_a_stroke_is_refused(way, pressure, message):
    with pytest.raises(ValueError, match=message):
        stroke_friction(position_mm=way, drive_bar=pressure)

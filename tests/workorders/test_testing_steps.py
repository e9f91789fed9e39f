"""Results of test steps: judged from what was observed, and computed again from it."""

import datetime as dt

import pytest

from shop.errors import RuleBroken
from tests import factories
from tests.workorders import bench as at_bench
from workorders.models import Reading, StepResult
from workorders.services.readings import recomputed, recomputed_verdict, worst
from workorders.services.step_results import (
    CountEntry,
    HandHoldEntry,
    ValueEntry,
    WitnessEntry,
    record_step,
)

pytestmark = pytest.mark.django_db
PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154789c63f8ffff3f00"
    "05fe02fea735790b0000000049454e44ae426082"
)


@pytest.fixture
def test(bench):
    return at_bench.started(bench)


def step(test, place):
    return at_bench.steps_of(test)[place]


def up_to(person, test, place):
    """Record the steps before one with passing entries."""
    for each in at_bench.steps_of(test)[:place]:
        at_bench.record(person, test, each)
    return step(test, place)


def reading(result, name):
    return result.readings.get(limit__reading=name)


def hold(start, end, seconds, **gauge):
    return HandHoldEntry(
        start_bar=start, end_bar=end, duration_s=seconds, instrument=at_bench.transducer(**gauge)
    )


# -- the proof: pressure at least, hold at least, drips none


@pytest.mark.parametrize(
    ("pressure", "held", "drips", "verdict"),
    [
        # U = 2 * sqrt((0.6 / sqrt 3)^2 + (0.1 / sqrt 12)^2) = 0.695 bar, by JCGM 100 for a
        # rectangular accuracy and resolution; of the stopwatch 2 * 0.2 / sqrt 3 = 0.231 s.
        (162.0, 62.0, 0, "passes"),
        (160.70, 62.0, 0, "passes"),
        (160.69, 62.0, 0, "not_decided"),
        (159.31, 62.0, 0, "not_decided"),
        (159.30, 62.0, 0, "fails"),
        (162.0, 60.24, 0, "passes"),
        (162.0, 60.0, 0, "not_decided"),
        (162.0, 55.0, 0, "fails"),
        (162.0, 62.0, 1, "fails"),
    ],
)
def test_a_proof_passes_with_pressure_hold_and_no_drip(bench, test, pressure, held, drips, verdict):
    result = at_bench.record(
        bench,
        test,
        up_to(bench, test, 1),
        pressure=ValueEntry(value=pressure, instrument=at_bench.gauge()),
        held=ValueEntry(value=held, instrument=at_bench.stopwatch()),
        drips=CountEntry(count=drips),
    )
    assert result.verdict == verdict
    assert reading(result, "pressure").uncertainty == pytest.approx(0.6952, abs=1e-4)
    assert "at least 160 bar" in result.arithmetic


# -- the hold by hand


@pytest.mark.parametrize(
    ("entry", "verdict", "words"),
    [
        ((7.31, 7.29, 300), "passes", "from 7.31 to 7.29 bar in 300 s"),
        ((7.31, 6.0, 300), "fails", "at most 0.1 bar/min"),
        ((7.31, 6.81, 300), "not_decided", "the limit lies inside the uncertainty"),
        ((7.31, 7.305, 60), "not_decided", "held 60.0 s of the 120 s that the plan asks for"),
        ((5.00, 4.99, 300), "not_decided", "begun at 5 bar, below the 7 bar of the plan"),
        ((6.97, 6.96, 300), "passes", "from 6.97"),  # within the accuracy of 0.04 bar
    ],
)
def test_a_hold_read_by_hand_is_judged_with_its_uncertainty(bench, test, entry, verdict, words):
    result = at_bench.record(bench, test, up_to(bench, test, 2), decay=hold(*entry))
    row = reading(result, "decay")
    assert (result.verdict, row.verdict) == (verdict, verdict)
    assert words in row.arithmetic
    assert row.value == pytest.approx((entry[0] - entry[1]) / entry[2] * 60)


@pytest.mark.record_row("R25")
def test_what_was_observed_is_kept_beside_what_was_computed(bench, test):
    entry = hold(7.31, 7.29, 300)
    row = reading(at_bench.record(bench, test, up_to(bench, test, 2), decay=entry), "decay")
    raw = row.observed
    assert (raw["start_bar"], raw["end_bar"], raw["duration_s"]) == (7.31, 7.29, 300)
    assert raw["instrument"]["code"] == entry.instrument.code
    assert raw["instrument"]["accuracy"] == 0.04
    assert (raw["instrument"]["used_on"], raw["instrument"]["due_on"]) == ("2026-03-04", "2090-01-01")
    assert row.instrument == entry.instrument


def test_a_window_too_short_does_not_excuse_a_failure(bench, test):
    result = at_bench.record(bench, test, up_to(bench, test, 2), decay=hold(7.31, 6.0, 60))
    assert result.verdict == "fails"


@pytest.mark.parametrize("seconds", [0, -5])
def test_a_hold_without_time_is_refused(bench, test, seconds):
    with pytest.raises(RuleBroken, match="duration_s must be above 0"):
        at_bench.record(bench, test, up_to(bench, test, 2), decay=hold(7.3, 7.2, seconds))
    assert not test.results.filter(step__order=3).exists()


# -- instruments that do not count


@pytest.mark.parametrize(
    ("due", "verdict"),
    [(dt.date(2026, 3, 4), "passes"), (dt.date(2026, 3, 3), "invalid")],
)
def test_an_instrument_out_of_calibration_on_the_day_makes_the_step_invalid(bench, test, due, verdict):
    pressure = ValueEntry(value=165, instrument=factories.InstrumentFactory(calibration=due))
    result = at_bench.record(bench, test, up_to(bench, test, 1), pressure=pressure)
    assert result.verdict == verdict
    if verdict == "invalid":
        assert "was out of calibration: it ended on 03 Mar 2026" in result.arithmetic


def test_an_instrument_found_out_of_tolerance_makes_the_step_invalid(bench, test):
    instrument = at_bench.gauge()
    instrument.calibrations.update_or_create(
        defaults={"in_tolerance": False}, certificate_no=f"CAL-{instrument.code}"
    )
    result = at_bench.record(
        bench, test, up_to(bench, test, 1), pressure=ValueEntry(value=165, instrument=instrument)
    )
    assert result.verdict == "invalid"
    assert "out of tolerance" in result.arithmetic


def test_an_instrument_never_calibrated_makes_the_step_invalid(bench, test):
    instrument = at_bench.gauge()
    instrument.calibrations.all().delete()
    result = at_bench.record(
        bench, test, up_to(bench, test, 1), pressure=ValueEntry(value=165, instrument=instrument)
    )
    assert result.verdict == "invalid"
    assert "never calibrated" in result.arithmetic


@pytest.mark.parametrize(
    ("fields", "value", "words"),
    [
        ({"range_high": 160.0}, 165, "a range of 0 to 160 bar, which does not hold 165"),
        ({"range_low": 170.0, "range_high": 400.0}, 165, "a range of 170 to 400 bar"),
        ({"unit": "kPa"}, 165, "reads pressure in kPa, not pressure in bar"),
        ({"quantity": "flow", "unit": "L/min"}, 165, "reads flow in L/min, not pressure in bar"),
    ],
)
def test_an_instrument_that_cannot_show_the_reading_makes_the_step_invalid(bench, test, fields, value, words):
    pressure = ValueEntry(value=value, instrument=at_bench.gauge(**fields))
    result = at_bench.record(bench, test, up_to(bench, test, 1), pressure=pressure)
    row = reading(result, "pressure")
    assert (result.verdict, row.verdict) == ("invalid", "invalid")
    assert words in row.arithmetic
    assert row.value == value


def test_a_range_holds_its_own_ends(bench, test):
    pressure = ValueEntry(value=165, instrument=at_bench.gauge(range_high=165.0))
    assert at_bench.record(bench, test, up_to(bench, test, 1), pressure=pressure).verdict == "passes"


def test_a_hold_whose_end_lies_below_the_range_is_invalid(bench, test):
    result = at_bench.record(bench, test, up_to(bench, test, 2), decay=hold(7.31, 6.99, 300, range_low=7.0))
    assert result.verdict == "invalid"
    assert "does not hold 6.99" in result.arithmetic


def test_a_retired_instrument_is_refused(bench, test):
    with pytest.raises(RuleBroken, match="is retired"):
        at_bench.record(
            bench,
            test,
            up_to(bench, test, 1),
            pressure=ValueEntry(value=165, instrument=at_bench.gauge(retired=True)),
        )


def test_a_reading_without_its_instrument_is_refused(bench, test):
    with pytest.raises(RuleBroken, match="Choose the instrument"):
        at_bench.record(bench, test, up_to(bench, test, 1), pressure=ValueEntry(value=165))
    assert test.results.count() == 1


# -- witnessed and counted


@pytest.mark.parametrize(("seen", "verdict"), [(True, "passes"), (False, "fails")])
def test_a_witnessed_observation_is_as_required_or_not(bench, test, seen, verdict):
    entry = WitnessEntry(as_required=seen, count=0)
    result = at_bench.record(bench, test, step(test, 0), **{"dry outside": entry})
    assert result.verdict == verdict
    assert "0 counted" in result.arithmetic


def test_a_witnessed_observation_needs_a_count_a_photo_or_a_note(bench, test):
    bare = {"dry outside": WitnessEntry(as_required=True)}
    with pytest.raises(RuleBroken, match="Give a count, or add a photo or a note"):
        at_bench.record(bench, test, step(test, 0), **bare)
    with pytest.raises(RuleBroken, match="Give a count"):
        at_bench.record(bench, test, step(test, 0), note="  ", **bare)
    assert not StepResult.objects.exists()
    assert at_bench.record(bench, test, step(test, 0), note="wiped, stayed dry", **bare).note


def test_a_photo_is_evidence_and_is_kept_with_the_step(bench, test):
    from django.core.files.uploadedfile import SimpleUploadedFile

    photo = SimpleUploadedFile("dry.png", PNG, "image/png")
    entry = {"dry outside": WitnessEntry(as_required=True)}
    result = at_bench.record(bench, test, step(test, 0), photo=photo, **entry)
    assert result.photo.kind == "photo"


def test_what_is_no_photo_refuses_the_whole_step(bench, test):
    from django.core.files.uploadedfile import SimpleUploadedFile

    bad = SimpleUploadedFile("x.png", b"<svg/>", "image/png")
    with pytest.raises(RuleBroken, match="not a photo"):
        at_bench.record(bench, test, step(test, 0), photo=bad)
    assert not StepResult.objects.exists()


@pytest.mark.parametrize(("count", "verdict"), [(5, "passes"), (4, "fails"), (6, "passes")])
def test_a_count_is_judged_against_whole_numbers(bench, test, count, verdict):
    result = at_bench.record(bench, test, up_to(bench, test, 3), strokes=CountEntry(count=count))
    assert result.verdict == verdict
    assert result.readings.get(limit__judged="count").arithmetic == f"{count}, at least 5: {verdict}"


# -- order, completeness, once more


@pytest.mark.record_row("R33")
def test_steps_are_recorded_in_the_order_of_the_plan(bench, test):
    with pytest.raises(RuleBroken, match=r"Record step 1\. Low-pressure leak first"):
        at_bench.record(bench, test, step(test, 1))
    at_bench.record(bench, test, step(test, 0))
    with pytest.raises(RuleBroken, match="Record step 2"):
        at_bench.record(bench, test, step(test, 3))
    assert test.results.count() == 1


def test_a_failed_step_does_not_hide_the_rest(bench, test):
    at_bench.record(bench, test, step(test, 0), **{"dry outside": WitnessEntry(as_required=False, count=9)})
    assert at_bench.record(bench, test, step(test, 1)).verdict == "passes"


def test_a_step_of_another_plan_is_refused(bench, test):
    other = at_bench.started(bench)
    with pytest.raises(RuleBroken, match="not a step of the plan"):
        at_bench.record(bench, test, step(other, 0))


def test_every_reading_of_a_step_is_needed(bench, test, act):
    proof = up_to(bench, test, 1)
    entries = at_bench.good_entries(proof)
    for limit in list(entries):
        less = {each: entry for each, entry in entries.items() if each != limit}
        with pytest.raises(RuleBroken, match=f"{limit.reading}: this reading is missing"):
            record_step(act=act(bench), test=test, step=proof, entries=less)
    assert test.results.count() == 1


def test_an_entry_of_the_wrong_kind_is_refused(bench, test):
    with pytest.raises(RuleBroken, match="drips: this reading is missing"):
        at_bench.record(
            bench, test, up_to(bench, test, 1), drips=ValueEntry(value=0, instrument=at_bench.gauge())
        )


@pytest.mark.record_row("R26")
def test_a_step_is_recorded_again_with_a_reason_and_history_keeps_the_earlier(bench, lead, test):
    strokes = up_to(bench, test, 3)
    first = at_bench.record(bench, test, strokes, strokes=CountEntry(count=4))
    with pytest.raises(RuleBroken) as refused:
        at_bench.record(lead, test, strokes)
    assert list(refused.value.fields) == ["why"]
    again = at_bench.record(lead, test, strokes, why="miscounted", strokes=CountEntry(count=6))
    assert again.pk == first.pk
    assert (again.verdict, again.done_by) == ("passes", lead)
    latest, earlier = StepResult.history.filter(id=first.pk)
    assert (latest.verdict, latest.history_user, latest.history_change_reason) == (
        "passes",
        lead,
        "miscounted",
    )
    assert (earlier.verdict, earlier.history_user) == ("fails", bench)
    row = reading(again, "strokes")
    assert [each.observed["count"] for each in Reading.history.filter(id=row.pk)] == [6, 4]


# -- computed again


def test_every_stored_verdict_follows_again_from_the_stored_raw_data(bench, test):
    at_bench.record(bench, test, step(test, 0), **{"dry outside": WitnessEntry(as_required=False, count=2)})
    old = factories.InstrumentFactory(calibration=dt.date(2026, 2, 1))
    at_bench.record(bench, test, step(test, 1), pressure=ValueEntry(value=165, instrument=old))
    at_bench.record(bench, test, step(test, 2), decay=hold(7.31, 6.81, 300))
    at_bench.record(bench, test, step(test, 3))
    rows = Reading.objects.filter(result__pressure_test=test)
    assert rows.count() == 6
    assert {row.verdict for row in rows} == {"passes", "fails", "not_decided", "invalid"}
    for row in rows:
        again = recomputed(row)
        assert (again.verdict, again.value, again.uncertainty) == (row.verdict, row.value, row.uncertainty)
        assert again.arithmetic == row.arithmetic


def test_a_later_change_of_the_register_changes_no_verdict(bench, test):
    row = reading(at_bench.record(bench, test, up_to(bench, test, 1)), "pressure")
    row.instrument.accuracy = 50.0
    row.instrument.save()
    row.instrument.calibrations.all().delete()
    assert recomputed_verdict(Reading.objects.get(pk=row.pk)) == "passes"


def test_a_changed_raw_value_shows_in_the_verdict_computed_again(bench, test):
    row = reading(at_bench.record(bench, test, up_to(bench, test, 1)), "pressure")
    row.observed = {**row.observed, "value": 20.0}
    row.save()
    assert recomputed_verdict(row) == "fails"


@pytest.mark.parametrize(
    ("verdicts", "expected"),
    [
        (["passes", "passes"], "passes"),
        (["passes", "not_decided"], "not_decided"),
        (["not_decided", "fails", "passes"], "fails"),
        (["fails", "invalid", "passes"], "invalid"),
        ([], ""),
    ],
)
def test_the_worst_verdict_stands(verdicts, expected):
    assert worst(verdicts) == expected

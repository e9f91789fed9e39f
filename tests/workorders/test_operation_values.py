"""What rework records: grades and values, torque against its figure, thread locker and cure, masking."""

import datetime as dt

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from shop.errors import NotAllowed, RuleBroken
from shop.models import DimensionLimit
from tests import factories
from tests.asking import rows
from tests.workorders.journey import Journey
from workorders.models import Instrument, Operation, OperationValue, PressureTest, Rebuild
from workorders.services import build, teardown
from workorders.services.build_needs import missing_for_build
from workorders.services.certificate import deviations, instrument_rows, operation_rows
from workorders.services.instruments import is_used
from workorders.services.operation_values import GRADES, SPECS, Recorded, specs_of
from workorders.services.record.changes import changes
from workorders.services.record.unit import rebuild_record
from workorders.services.standing import standing_build
from workorders.services.testing import missing_for_test
from workorders.services.work import work_of

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def torn_down(keep):
    return keep(lambda: Journey().receive().find().close_teardown().go_ahead())


@pytest.fixture
def way(torn_down):
    return torn_down()


@pytest.fixture
def wrench():
    return factories.InstrumentFactory(
        quantity=Instrument.Quantity.TORQUE, unit="N·m", range_low=10, range_high=100, accuracy=1.6
    )


def barrel(way):
    return way.revision.components.get(code="K1")


def fresh(way):
    return Rebuild.objects.get(pk=way.rebuild.pk)


def rework(way, kind, *, why="", place="K1", **told):
    values = {name: told.pop(name) for name in [what.value for what in OperationValue.What] if name in told}
    return build.record_operation(
        act=way.act("bench", why),
        rebuild=way.rebuild,
        kind=kind,
        place=barrel(way) if place else None,
        tool="by hand",
        recorded=Recorded(values=values, **told),
    )


def figure(way, **told):
    return factories.FasteningFigureFactory(
        **{"revision": way.revision, "component": barrel(way), "what": "gland nut"} | told
    )


def wrong(call, *args, **told):
    """The fields that a refused call names; nothing may have changed."""
    before = rows()
    with pytest.raises(RuleBroken) as refused:
        call(*args, **told)
    assert rows() == before
    return refused.value.fields


def missing(way):
    return {row.name: row.sentence for row in missing_for_build(fresh(way))}


# ---------- grades and values ----------


def test_what_was_recorded_is_kept_by_name_and_unit(way):
    micrometer = way.micrometer
    row = rework(way, "honed", stone="320", bore_after_mm=25.0, crosshatch_deg=45.0, instrument=micrometer)
    assert {value.what: value.text for value in row.values.all()} == {
        "stone": "320",
        "bore_after_mm": "25 mm",
        "crosshatch_deg": "45°",
    }
    assert row.lines[-1] == f"measured with {micrometer.code}"
    assert OperationValue.history.get(what="stone").history_user == way.people["bench"]


def test_grades_are_kept_before_and_after(way):
    row = rework(way, "corrosion_removed", corrosion_before="heavy", corrosion_after="light")
    assert row.lines == ["corrosion before: heavy", "corrosion after: light"]


@pytest.mark.parametrize(
    ("kind", "told", "field"),
    [
        ("corrosion_removed", {"corrosion_before": "heavy"}, "corrosion_after"),
        (
            "corrosion_removed",
            {"corrosion_before": "rust grade Z", "corrosion_after": "none"},
            "corrosion_before",
        ),
        ("corrosion_removed", {"corrosion_before": 3.0, "corrosion_after": "none"}, "corrosion_before"),
        ("masked", {}, "masked"),
        ("masked", {"masked": "  "}, "masked"),
        ("thread_repaired", {"thread": "M8"}, "thread_method"),
        ("thread_repaired", {"thread": "M8", "thread_method": "glued"}, "thread_method"),
        ("cleaned", {"torque_nm": 3.0}, "torque_nm"),
        ("honed", {"crosshatch_deg": -1.0}, "crosshatch_deg"),
        ("honed", {"crosshatch_deg": float("nan")}, "crosshatch_deg"),
        ("honed", {"crosshatch_deg": "45"}, "crosshatch_deg"),
        ("honed", {"bore_after_mm": 25.0}, "instrument"),
        ("fastened", {}, "torque_nm"),
        ("fastened", {"locker": "medium"}, "locker_lot"),
        ("fastened", {"locker_batch": "B-7", "torque_nm": 30.0}, "locker"),
    ],
)
def test_what_a_kind_lacks_or_does_not_have_is_refused(way, wrench, kind, told, field):
    if kind == "fastened" and "torque_nm" in told:
        told = {**told, "instrument": wrench}
    assert field in wrong(rework, way, kind, **told)


def test_a_bore_that_the_type_measures_is_not_kept_twice(way):
    factories.DimensionLimitFactory(
        revision=way.revision, code="D9", quantity=DimensionLimit.Quantity.BORE, required=False
    )
    assert [spec.what.value for spec in specs_of("honed", way.revision)] == ["stone", "crosshatch_deg"]
    assert "bore_after_mm" in wrong(rework, way, "honed", bore_after_mm=25.0, instrument=way.micrometer)


def test_every_grade_has_its_words():
    scales = {spec.scale for specs in SPECS.values() for spec in specs if spec.scale}
    assert scales == set(GRADES)
    assert all(set(words) == {"none", "light", "moderate", "heavy"} for words in GRADES.values())


# ---------- instruments ----------


def test_a_torque_needs_an_instrument_for_torque(way):
    assert (
        "does not measure"
        in wrong(rework, way, "fastened", torque_nm=40.0, instrument=way.micrometer)["instrument"]
    )
    assert "measured with" in wrong(rework, way, "fastened", torque_nm=40.0)["instrument"]
    assert "leave it empty" in wrong(rework, way, "cleaned", instrument=way.micrometer)["instrument"]


def test_a_wrench_out_of_calibration_is_refused_and_on_its_last_day_it_is_not(way, wrench):
    calibration = wrench.calibrations.get()
    calibration.due_on = way.now.date()
    calibration.save()
    assert rework(way, "fastened", torque_nm=40.0, instrument=wrench).pk
    calibration.due_on = way.now.date() - dt.timedelta(days=1)
    calibration.save()
    told = wrong(rework, way, "fastened", torque_nm=40.0, instrument=wrench)
    assert "Take another one" in told["instrument"]


@pytest.mark.parametrize(("torque_nm", "kept"), [(10.0, True), (9.9, False), (100.0, True), (100.1, False)])
def test_a_wrench_is_used_inside_its_range(way, wrench, torque_nm, kept):
    if kept:
        assert rework(way, "fastened", torque_nm=torque_nm, instrument=wrench).pk
    else:
        assert (
            "outside the range"
            in wrong(rework, way, "fastened", torque_nm=torque_nm, instrument=wrench)["torque_nm"]
        )


def test_a_wrench_that_was_used_keeps_what_it_is(way, wrench):
    assert not is_used(wrench)
    rework(way, "fastened", torque_nm=40.0, instrument=wrench)
    assert is_used(wrench)


# ---------- figures ----------


@pytest.mark.parametrize(("torque_nm", "within"), [(36.0, True), (35.9, False), (44.0, True), (44.1, False)])
def test_a_torque_is_judged_by_its_figure(way, wrench, torque_nm, within):
    told = {"torque_nm": torque_nm, "figure": figure(way), "instrument": wrench}
    if within:
        row = rework(way, "fastened", **told)
        assert (row.within, row.reason) == (True, "")
        return
    assert f"{torque_nm:g} N·m is outside 40 ± 4 N·m" in wrong(rework, way, "fastened", **told)["reason"]
    row = rework(way, "fastened", reason="no room for the wrench", **told)
    assert (row.within, row.reason) == (False, "no room for the wrench")
    assert row.figure_text == "40 ± 4 N·m, threads dry"


def test_a_reason_within_the_figure_is_not_kept(way, wrench):
    row = rework(way, "fastened", torque_nm=40.0, figure=figure(way), instrument=wrench, reason="because")
    assert row.reason == ""


@pytest.mark.parametrize(
    ("asked", "given", "field"),
    [
        ({}, {"locker": "low", "locker_batch": "B-7"}, "torque_nm"),
        ({"locker": "medium"}, {"torque_nm": 40.0}, "locker"),
        ({"locker": "medium"}, {"torque_nm": 40.0, "locker": "low", "locker_batch": "B-7"}, "reason"),
    ],
)
def test_what_the_figure_asks_is_recorded(way, wrench, asked, given, field):
    instrument = wrench if "torque_nm" in given else None
    told = wrong(rework, way, "fastened", figure=figure(way, **asked), instrument=instrument, **given)
    assert field in told


def test_a_figure_belongs_to_its_place_and_its_revision(way, wrench):
    told = {"torque_nm": 40.0, "instrument": wrench}
    assert (
        "fastened at whole unit"
        in wrong(rework, way, "fastened", figure=figure(way, component=None), **told)["figure"]
    )
    other = factories.FasteningFigureFactory()
    assert "not a figure of" in wrong(rework, way, "fastened", figure=other, **told)["figure"]


def test_a_required_figure_keeps_the_build_open_until_it_is_recorded(way, wrench):
    way.fit()
    wanted = figure(way, required=True)
    assert missing(way) == {
        "gland nut, K1 barrel": "to be fastened (40 ± 4 N·m, threads dry), but nothing is recorded"
    }
    with pytest.raises(RuleBroken, match="gland nut, K1 barrel: to be fastened"):
        way.close_build()
    figure(way, what="bleed screw")  # this one need not be recorded
    rework(way, "fastened", torque_nm=40.0, figure=wanted, instrument=wrench)
    assert missing(way) == {}
    way.close_build()
    assert standing_build(fresh(way))


# ---------- thread locker ----------


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"state": "on_hold", "hold_reason": "thick"}, "on hold"),
        ({"use_by": dt.date(2026, 1, 1)}, "past its"),
    ],
)
def test_a_lot_that_may_not_be_used_is_refused(way, told, words):
    lot = factories.LotFactory(**told)
    refused = wrong(rework, way, "fastened", locker="low", locker_lot=lot)
    assert words in refused["locker_lot"]


def test_a_lot_of_thread_locker_is_named(way):
    lot = factories.LotFactory()
    row = rework(way, "fastened", locker="low", locker_lot=lot)
    assert f"lot of the thread locker: {lot.number}" in row.lines


@pytest.fixture
def cured(way, wrench):
    """A built unit whose gland nut was fastened with a thread locker that cures 24 h."""
    way.fit()
    wanted = figure(way, locker="medium", cure_h=24.0, required=True)
    way.fastened = rework(
        way,
        "fastened",
        torque_nm=40.0,
        locker="medium",
        locker_batch="B-7",
        figure=wanted,
        instrument=wrench,
    )
    return way.close_build()


def test_no_test_starts_before_the_thread_locker_has_cured(cured):
    ready = cured.fastened.fastened_at + dt.timedelta(hours=24)
    cured.now = ready - dt.timedelta(minutes=10, seconds=1)
    before = rows()
    with pytest.raises(RuleBroken, match=r"gland nut, K1 barrel cures 24 h, until .*no pressure before"):
        cured.start_test()
    assert rows() == before
    assert [row.name for row in missing_for_test(fresh(cured), at=cured.now)] == [
        "thread locker, gland nut, K1 barrel"
    ]
    cured.now = ready - dt.timedelta(minutes=10)
    cured.start_test()
    assert PressureTest.objects.get().started_at == ready


def test_the_time_of_fastening_may_be_told_and_a_correction_keeps_it(way):
    wanted = figure(way, torque_nm=None, tolerance_nm=None, locker="low", cure_h=2.0)
    earlier = way.now - dt.timedelta(hours=1)
    told = {"locker": "low", "locker_batch": "B-7", "figure": wanted}
    assert "future" in str(wrong(rework, way, "fastened", fastened_at=way.now + dt.timedelta(days=1), **told))
    assert "not here yet" in str(
        wrong(rework, way, "fastened", fastened_at=way.now - dt.timedelta(days=90), **told)
    )
    earlier = fresh(way).received_at
    row = rework(way, "fastened", fastened_at=earlier, **told)
    assert row.fastened_at == earlier
    row = correct(way, row, kind="fastened", values={"locker": "low", "locker_batch": "B-8"}, figure=wanted)
    assert row.fastened_at == earlier
    assert row.done_at > earlier


# ---------- masking ----------


def test_masking_left_on_keeps_the_build_open_by_name(way):
    way.fit()
    row = rework(way, "masked", masked="bore and port threads")
    assert missing(way) == {"K1 barrel": "masking is still on (bore and port threads)"}
    with pytest.raises(RuleBroken, match=r"K1 barrel: masking is still on \(bore and port threads\)"):
        way.close_build()
    off = build.take_masking_off(act=way.act("bench"), operation=row)
    assert (off.unmasked_by, off.is_masking_on) == (way.people["bench"], False)
    assert missing(way) == {}
    way.close_build()


def test_masking_is_taken_off_once_and_other_rework_never(way):
    row = rework(way, "masked", masked="threads")
    build.take_masking_off(act=way.act("bench"), operation=row)
    for each in (row, rework(way, "cleaned")):
        with pytest.raises(RuleBroken, match="off already"):
            build.take_masking_off(act=way.act("bench"), operation=each)
    with pytest.raises(NotAllowed):
        build.take_masking_off(act=way.act("receiving"), operation=row)


def test_a_correction_can_put_masking_back_on(way):
    row = rework(way, "masked", masked="threads")
    build.take_masking_off(act=way.act("bench"), operation=row)
    row = correct(way, row, kind="masked", values={"masked": "bore"}, unmasked=True)
    assert not row.is_masking_on
    row = correct(way, row, kind="masked", values={"masked": "bore"})
    assert row.is_masking_on


# ---------- correction, record, papers ----------


def correct(way, row, *, kind, values=None, unmasked=False, **told):
    return build.correct_operation(
        act=way.act("bench", "read wrong"),
        operation=row,
        kind=kind,
        place=row.place,
        tool="by hand",
        recorded=Recorded(values=values or {}, **told),
        unmasked=unmasked,
    )


def test_a_value_is_corrected_and_history_keeps_the_first(way, wrench):
    row = rework(way, "fastened", torque_nm=40.0, figure=figure(way), instrument=wrench)
    correct(way, row, kind="fastened", values={"torque_nm": 42.0}, figure=row.figure, instrument=wrench)
    value = row.values.get()
    assert value.number == 42.0
    first, last = value.history.order_by("history_id")
    assert (first.number, last.history_change_reason) == (40.0, "read wrong")
    correct(way, row, kind="honed", values={"stone": "320"})
    row.refresh_from_db()
    assert (row.figure, row.within, row.fastened_at, row.instrument) == (None, None, None, None)
    assert [str(each) for each in row.values.all()] == ["stone and grit: 320"]
    told = changes(way.unit)
    assert any(change["what"] == "removed" and change["why"] == "read wrong" for change in told)


def test_a_value_corrected_after_the_signature_opens_the_build(way):
    row = rework(way, "honed", stone="320")
    way.fit().close_build()
    correct(way, row, kind="honed", values={"stone": "400"})
    assert standing_build(fresh(way)) is None


def test_everything_stands_in_the_record(way, wrench):
    lot = factories.LotFactory()
    wanted = figure(way, locker="low")
    rework(
        way,
        "fastened",
        torque_nm=50.0,
        locker="low",
        locker_lot=lot,
        figure=wanted,
        instrument=wrench,
        reason="old nut",
    )
    (told,) = rebuild_record(fresh(way))["operations"]
    assert told["values"] == [
        {"what": "torque_nm", "number": 50.0, "unit": "N·m", "words": ""},
        {"what": "locker", "number": None, "unit": "", "words": "low"},
    ]
    assert told["figure"] == "40 ± 4 N·m, threads dry, thread locker, low strength"
    assert (told["within"], told["reason"], told["instrument"]) == (False, "old nut", wrench.code)
    assert (told["locker_lot"], told["unmasked_at"]) == (lot.number, None)
    assert told["fastened_at"]


def test_the_certificate_prints_values_instruments_and_what_is_outside(way, wrench):
    rework(way, "fastened", torque_nm=50.0, figure=figure(way), instrument=wrench, reason="old nut")
    work = work_of(fresh(way))
    (row,) = operation_rows(work)
    assert "torque reached: 50 N·m; measured with" in row.what
    assert wrench.code in [each.code for each in instrument_rows(work, [], on=way.now.date())]
    (told,) = deviations(fresh(way), work, "")
    assert "outside the figure (40 ± 4 N·m, threads dry). It stands because: old nut" in told


def test_rework_is_read_in_as_many_queries_for_twenty_as_for_ten(way, wrench):
    def add():
        for _ in range(10):
            rework(way, "fastened", torque_nm=40.0, figure=figure(way), instrument=wrench)

    def cost():
        with CaptureQueriesContext(connection) as asked:
            [row.lines for row in work_of(fresh(way)).operations]
            missing_for_build(fresh(way))
        return len(asked)

    add()
    few = cost()
    add()
    assert cost() == few


# ---------- the database ----------


def operation(**told):
    given = {"kind": "cleaned", "tool": "x", "done_at": dt.datetime(2026, 3, 2, tzinfo=dt.UTC)}
    way = Journey().receive()
    given |= {"rebuild": way.rebuild, "done_by": way.people["receiving"]}
    return Operation(**given | told)


def value(**told):
    row = operation()
    row.save()
    return OperationValue(**{"operation": row, "what": "stone", "words": "320"} | told)


def same_value():
    first = value()
    first.save()
    return OperationValue(operation=first.operation, what="stone", words="400")


THEN = dt.datetime(2026, 3, 2, tzinfo=dt.UTC)
RULES = {
    "fastening_without_time": (lambda: operation(kind="fastened"), "Only a fastening"),
    "time_without_fastening": (lambda: operation(fastened_at=THEN), "Only a fastening"),
    "verdict_without_figure": (
        lambda: operation(kind="fastened", fastened_at=THEN, within=True),
        "keeps the figure",
    ),
    "figure_without_text": (
        lambda: operation(kind="fastened", fastened_at=THEN, figure=factories.FasteningFigureFactory()),
        "keeps the figure",
    ),
    "outside_without_reason": (
        lambda: operation(
            kind="fastened",
            fastened_at=THEN,
            figure=factories.FasteningFigureFactory(),
            figure_text="40",
            within=False,
        ),
        "Say why it stands",
    ),
    "unmasked_by_nobody": (lambda: operation(kind="masked", unmasked_at=THEN), "names who did it"),
    "unmasked_but_not_masked": (
        lambda: operation(unmasked_at=THEN, unmasked_by=factories.person("bench")),
        "Only what was masked",
    ),
    "value_twice": (same_value, "has that value already"),
    "value_of_nothing": (lambda: value(words=""), "one of both"),
    "value_of_both": (lambda: value(number=3.0), "one of both"),
    "value_below_zero": (lambda: value(words="", number=-0.1), "0 or more"),
}


@pytest.mark.parametrize("rule", RULES)
def test_the_rule_is_said_in_words(rule):
    make, words = RULES[rule]
    with pytest.raises(ValidationError, match=words):
        make().full_clean()


@pytest.mark.parametrize("rule", RULES)
def test_the_database_enforces_the_rule(rule):
    row = RULES[rule][0]()
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


def test_rework_with_values_is_refused_whole_where_nothing_may_be_built():
    way = Journey().receive().find()
    teardown.close_teardown(act=way.act("bench"), rebuild=way.rebuild)
    before = rows()
    with pytest.raises(RuleBroken, match="No go-ahead"):
        rework(way, "honed", stone="320")
    assert rows() == before

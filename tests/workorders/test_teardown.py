"""Teardown by its services: what may be recorded when, what is refused, and what closing asks for."""

import datetime as dt

import pytest

from shop.errors import NotAllowed, RuleBroken
from shop.models import Component, DimensionLimit
from tests import factories
from tests.workorders.journey import Journey
from workorders.models import FluidFound, Measurement, Rebuild, Signature
from workorders.services import receiving, teardown
from workorders.services.signing import digest

pytestmark = pytest.mark.django_db


def made_once():
    return Journey().receive()


@pytest.fixture(scope="module")
def kept(keep):
    return keep(made_once)


@pytest.fixture
def way(kept):
    return kept()


def place(way, code):
    revision = way.revision
    for rows in (revision.positions, revision.components, revision.ports, revision.hoses):
        if found := rows.filter(code=code).first():
            return found
    raise LookupError(code)


def find(way, code="S1", role="bench", why="", **said):
    told = {"condition": "hardened", "cause": "age", "action": "renewed", **said}
    return teardown.record_finding(
        act=way.act(role, why), rebuild=way.rebuild, place=place(way, code), **told
    )


def measure(way, value, why="", **said):
    told = {"station": 1, "instrument": way.micrometer, **said}
    limit = told.pop("limit", None) or way.revision.dimension_limits.first()
    return teardown.record_measurement(
        act=way.act("bench", why), rebuild=way.rebuild, limit=limit, value=value, **told
    )


def names(rows):
    return [row.name for row in rows]


# --- findings ---


@pytest.mark.record_row("R25")
def test_a_finding_keeps_who_saw_it_and_when(way):
    row = find(way, note="  stiff as glass ")
    assert (row.condition, row.cause, row.action, row.note) == (
        "hardened",
        "age",
        "renewed",
        "stiff as glass",
    )
    assert (row.found_at, row.found_by) == (way.now, way.people["bench"])
    assert way.rebuild.findings.get() == row


@pytest.mark.record_row("R26")
def test_a_second_finding_changes_the_first_and_history_keeps_it(way):
    find(way)
    find(way, condition="cut", cause="assembly")
    row = way.rebuild.findings.get()
    assert row.condition == "cut"
    earlier = row.history.earliest()
    assert (earlier.condition, earlier.cause, earlier.history_user) == (
        "hardened",
        "age",
        way.people["bench"],
    )


@pytest.mark.record_row("R8")
def test_nothing_is_recorded_before_the_inspection_on_arrival_is_signed(way):
    bare = factories.RebuildFactory(unit=factories.UnitFactory(unit_type=way.revision.unit_type))
    way.rebuild = bare
    for write in (
        lambda: find(way),
        lambda: teardown.renew_rest(act=way.act("bench"), rebuild=bare),
        lambda: measure(way, 11.97),
        lambda: teardown.record_fluid(act=way.act("bench"), rebuild=bare, water="none"),
        lambda: teardown.record_debris(act=way.act("bench"), rebuild=bare, origin="not determined"),
        lambda: teardown.close_teardown(act=way.act("bench"), rebuild=bare),
    ):
        with pytest.raises(RuleBroken, match="inspection on arrival is not signed"):
            write()
    assert not bare.findings.exists()
    assert not bare.signatures.exists()


@pytest.mark.parametrize("role", ["receiving", "warranty desk", "stores"])
@pytest.mark.record_row("R34")
def test_other_roles_record_no_finding(way, role):
    with pytest.raises(NotAllowed, match="bench or lead"):
        find(way, role=role)
    assert not way.rebuild.findings.exists()


def test_a_place_of_another_revision_is_refused(way):
    foreign = factories.PositionFactory()
    with pytest.raises(RuleBroken, match="is not a place of"):
        teardown.record_finding(
            act=way.act("bench"),
            rebuild=way.rebuild,
            place=foreign,
            condition="cut",
            cause="age",
            action="renewed",
        )


def test_what_nobody_examined_has_no_known_cause(way):
    with pytest.raises(RuleBroken, match="cause not determined"):
        find(way, condition="not_examined", cause="wear")
    assert not way.rebuild.findings.exists()


def test_the_rest_of_the_seals_is_renewed_unexamined_and_counts_as_such(way):
    find(way, "S2")
    rows = teardown.renew_rest(act=way.act("bench"), rebuild=way.rebuild)
    assert [row.place.code for row in rows] == ["S1", "S3", "S4"]
    unseen = way.rebuild.findings.filter(condition="not_examined", cause="not_determined", action="renewed")
    assert unseen.count() == 3
    assert way.rebuild.findings.get(position__code="S2").condition == "hardened"
    assert [str(open_.code) for open_ in teardown.open_places(way.rebuild)] == ["K1", "P1", "H1"]


def test_the_rest_of_components_and_ports_is_kept_unexamined(way):
    rows = teardown.keep_rest(act=way.act("bench"), rebuild=way.rebuild)
    assert [(row.place.code, row.condition, row.cause, row.action) for row in rows] == [
        ("K1", "not_examined", "not_determined", "kept"),
        ("P1", "not_examined", "not_determined", "kept"),
        ("H1", "not_examined", "not_determined", "kept"),
    ]
    with pytest.raises(RuleBroken, match="Nothing is open there"):
        teardown.keep_rest(act=way.act("bench"), rebuild=way.rebuild)


# --- measurements ---


@pytest.mark.parametrize(
    ("value", "within"),
    # The limits 11.95 and 12.00 are both allowed; the next hundredth is not.
    [(11.94, False), (11.95, True), (12.0, True), (12.01, False)],
)
def test_both_limits_of_a_dimension_are_allowed_themselves(way, value, within):
    assert measure(way, value).within is within


def test_a_second_reading_of_a_station_changes_it(way):
    measure(way, 11.98)
    measure(way, 11.93)
    row = way.rebuild.measurements.get()
    assert row.value == 11.93
    assert [old.value for old in row.history.order_by("history_date")] == [11.98, 11.93]


def test_readings_that_stand_are_not_written_again(way):
    limit = factories.DimensionLimitFactory(
        revision=way.revision, code="D7", stations=3, quantity=DimensionLimit.Quantity.BORE
    )
    told = {"rebuild": way.rebuild, "limit": limit, "instrument": way.micrometer}
    teardown.record_readings(act=way.act("bench"), readings={1: 25.01, 2: 25.02}, **told)
    written = teardown.record_readings(act=way.act("bench"), readings={1: 25.01, 2: 25.03, 3: 25.0}, **told)
    assert [(row.station, row.value) for row in written] == [(2, 25.03), (3, 25.0)]
    assert Measurement.history.count() == 4


@pytest.mark.parametrize("station", [0, 2])
def test_a_station_that_is_not_there_is_refused(way, station):
    with pytest.raises(RuleBroken, match="has stations 1 to 1"):
        measure(way, 11.98, station=station)


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_a_reading_is_a_number(way, value):
    with pytest.raises(RuleBroken, match="Enter a number"):
        measure(way, value)


def test_a_limit_of_another_revision_is_refused(way):
    with pytest.raises(RuleBroken, match="is not a dimension of"):
        measure(way, 11.98, limit=factories.DimensionLimitFactory())


def test_an_instrument_that_measures_something_else_is_refused(way):
    with pytest.raises(RuleBroken, match="does not measure rod diameter"):
        measure(way, 11.98, instrument=way.gauge)


def test_surface_roughness_takes_a_roughness_tester(way):
    limit = factories.DimensionLimitFactory(
        revision=way.revision, code="D8", quantity="surface", unit="µm", lower=None, upper=0.3
    )
    with pytest.raises(RuleBroken, match="does not measure"):
        measure(way, 0.2, limit=limit)
    tester = factories.InstrumentFactory(quantity="roughness", unit="µm", range_high=10)
    assert measure(way, 0.2, limit=limit, instrument=tester).within


def test_an_instrument_out_of_calibration_is_refused(way):
    old = factories.InstrumentFactory(
        quantity="length", unit="mm", range_high=25, calibration=dt.date(2026, 2, 1)
    )
    with pytest.raises(RuleBroken, match=r"out of calibration.*01 Feb 2026"):
        measure(way, 11.98, instrument=old)
    assert not way.rebuild.measurements.exists()


# --- fluid and debris ---


def test_the_fluid_found_is_recorded_once_and_changed_after(way):
    fields = {"fluid": None, "kind_note": "", "colour": "black", "smell": "burnt", "water": "cloudy"}
    teardown.record_fluid(act=way.act("bench"), rebuild=way.rebuild, **fields)
    teardown.record_fluid(act=way.act("bench"), rebuild=way.rebuild, **{**fields, "water": "free"})
    row = FluidFound.objects.get()
    assert (row.colour, row.water) == ("black", "free")
    assert row.history.earliest().water == "cloudy"


def second_unit(way, work_order=None):
    return receiving.add_new_unit(
        act=way.act("receiving"),
        work_order=work_order or way.rebuild.work_order,
        unit_type=way.revision.unit_type,
        opened_before="not_before",
        arrival_condition="dirty",
    )


def test_debris_flags_the_other_open_units_of_the_work_order(way):
    other, stranger = second_unit(way), second_unit(way, factories.WorkOrderFactory())
    teardown.record_debris(act=way.act("bench"), rebuild=way.rebuild, origin="S2 piston seal: black crumbs")
    flags = {row.pk: row.circuit_flagged for row in Rebuild.objects.all()}
    assert flags == {way.rebuild.pk: False, other.pk: True, stranger.pk: False}
    way.rebuild.refresh_from_db()
    assert way.rebuild.debris_found
    assert way.rebuild.debris_origin == "S2 piston seal: black crumbs"
    assert other.history.latest().history_user == way.people["bench"]


def test_debris_asks_where_it_came_from(way):
    with pytest.raises(RuleBroken) as refused:
        teardown.record_debris(act=way.act("bench"), rebuild=way.rebuild, origin=" ")
    assert "Not determined" in refused.value.fields["origin"]
    way.rebuild.refresh_from_db()
    assert not way.rebuild.debris_found


def test_debris_on_the_wrong_unit_is_taken_back_with_a_reason_and_the_flags_go(way):
    other = second_unit(way)
    teardown.record_debris(act=way.act("bench"), rebuild=way.rebuild, origin="not determined")
    with pytest.raises(RuleBroken, match="Say why"):
        teardown.withdraw_debris(act=way.act("bench"), rebuild=way.rebuild)
    teardown.withdraw_debris(act=way.act("bench", "it was the other tray"), rebuild=way.rebuild)
    for row in (way.rebuild, other):
        row.refresh_from_db()
        assert (row.debris_found, row.circuit_flagged) == (False, False)
    assert way.rebuild.history.latest().history_change_reason == "it was the other tray"


def test_two_dirty_units_flag_each_other_until_both_are_clean(way):
    other = second_unit(way)
    for row in (way.rebuild, other):
        teardown.record_debris(act=way.act("bench"), rebuild=row, origin="not determined")
    other.refresh_from_db()
    assert other.circuit_flagged
    teardown.withdraw_debris(act=way.act("bench", "wrong tray"), rebuild=other)
    other.refresh_from_db()
    way.rebuild.refresh_from_db()
    assert (way.rebuild.circuit_flagged, other.circuit_flagged) == (False, True)


# --- closing ---


def test_closing_names_everything_that_is_open(way):
    with pytest.raises(RuleBroken) as refused:
        teardown.close_teardown(act=way.act("bench"), rebuild=way.rebuild)
    for name in ("S1 rod seal", "S2 piston seal", "S3", "S4", "K1 barrel", "P1 rod side"):
        assert f"{name}" in refused.value.message
    assert "D1 rod diameter: no reading at station 1 of 1" in refused.value.message
    assert "Fluid found: not recorded yet" in refused.value.message
    assert not way.rebuild.signatures.filter(meaning="torn_down").exists()


@pytest.mark.record_row("R33")
@pytest.mark.parametrize(
    ("left_out", "named"),
    [
        (lambda way: way.rebuild.findings.get(position__code="S3").delete(), "S3 port seal"),
        (lambda way: way.rebuild.findings.get(component__code="K1").delete(), "K1 barrel"),
        (lambda way: way.rebuild.findings.get(port__code="P1").delete(), "P1 rod side"),
        (lambda way: way.rebuild.measurements.get().delete(), "D1 rod diameter"),
        (lambda way: FluidFound.objects.get().delete(), "Fluid found"),
    ],
    ids=["seal", "component", "port", "measurement", "fluid"],
)
def test_one_thing_left_open_is_named_and_nothing_else(way, left_out, named):
    way.find()
    left_out(way)
    way.rebuild = Rebuild.objects.get(pk=way.rebuild.pk)
    assert names(teardown.missing_for_teardown(way.rebuild)) == [named]
    with pytest.raises(RuleBroken, match=named):
        way.close_teardown()


def test_every_station_of_a_required_dimension_is_read(way):
    limit = way.revision.dimension_limits.get()
    limit.stations = 3
    limit.save()
    way.find()
    (missing,) = teardown.missing_for_teardown(Rebuild.objects.get(pk=way.rebuild.pk))
    assert missing.sentence == "no reading at station 2, 3 of 3"


def test_a_dimension_that_is_not_required_may_stay_unread(way):
    way.find()
    factories.DimensionLimitFactory(revision=way.revision, code="D9", required=False)
    way.close_teardown()


@pytest.mark.parametrize(
    ("condition", "action", "needed"),
    [("missing", "kept", False), ("bent", "renewed", False), ("not_examined", "kept", True)],
)
def test_nobody_measures_a_rod_that_is_gone_but_a_kept_one_is_measured(way, condition, action, needed):
    factories.ComponentFactory(revision=way.revision, code="K2", name="rod", kind=Component.Kind.ROD)
    way.find()
    find(way, "K2", condition=condition, cause="not_determined", action=action)
    way.rebuild.measurements.get().delete()
    missing = names(teardown.missing_for_teardown(Rebuild.objects.get(pk=way.rebuild.pk)))
    assert missing == (["D1 rod diameter"] if needed else [])


@pytest.mark.record_row("R35")
def test_closing_signs_over_the_record_and_the_stage_follows(way):
    way.find()
    before = teardown.work_record(Rebuild.objects.get(pk=way.rebuild.pk))
    way.close_teardown()
    signed = way.rebuild.signatures.get(meaning="torn_down")
    assert signed.content_sha256 == digest(before)
    assert (signed.printed_name, signed.by) == (str(way.people["bench"]), way.people["bench"])
    way.rebuild.refresh_from_db()
    assert way.rebuild.stage == Rebuild.Stage.TORN_DOWN


@pytest.mark.record_row("R5")
def test_work_may_be_entered_late_and_keeps_both_times(way):
    way.find()
    done = way.now - dt.timedelta(minutes=30)
    signed = teardown.close_teardown(act=way.act("bench"), rebuild=way.rebuild, done_at=done)
    assert (signed.done_at, signed.at) == (done, way.now)


@pytest.mark.parametrize(
    ("when", "sentence"),
    [(dt.timedelta(hours=1), "in the future"), (dt.timedelta(days=-9), "not here yet")],
)
def test_work_is_completed_neither_in_the_future_nor_before_the_unit_came(way, when, sentence):
    way.find()
    with pytest.raises(RuleBroken, match=sentence):
        teardown.close_teardown(act=way.act("bench"), rebuild=way.rebuild, done_at=way.now + when)
    assert not way.rebuild.signatures.filter(meaning="torn_down").exists()


def test_a_teardown_is_signed_once(way):
    way.find().close_teardown()
    with pytest.raises(RuleBroken, match="signed already"):
        way.close_teardown()
    assert way.rebuild.signatures.filter(meaning=Signature.Meaning.TORN_DOWN).count() == 1


# --- corrections ---


@pytest.mark.record_row("R26")
def test_after_closing_a_correction_needs_a_reason_which_history_keeps(way):
    way.find().close_teardown()
    with pytest.raises(RuleBroken) as refused:
        find(way, condition="cut")
    assert set(refused.value.fields) == {"why"}
    assert way.rebuild.findings.get(position__code="S1").condition == "hardened"
    find(way, condition="cut", why="read from the wrong tray")
    row = way.rebuild.findings.get(position__code="S1")
    assert row.condition == "cut"
    assert row.history.latest().history_change_reason == "read from the wrong tray"


def test_after_closing_readings_fluid_and_debris_need_a_reason_too(way):
    way.find().close_teardown()
    for write in (
        lambda: measure(way, 11.96),
        lambda: teardown.record_fluid(act=way.act("bench"), rebuild=way.rebuild, water="free"),
        lambda: teardown.record_debris(act=way.act("bench"), rebuild=way.rebuild, origin="elsewhere"),
    ):
        with pytest.raises(RuleBroken) as refused:
            write()
        assert set(refused.value.fields) == {"why"}


def test_after_the_release_nothing_of_the_teardown_is_corrected(way):
    way.find().close_teardown().go_ahead().fit().close_build().start_test().run_steps().sign_test().release()
    with pytest.raises(RuleBroken, match="released"):
        find(way, condition="cut", why="seen again")
    with pytest.raises(RuleBroken, match="released"):
        measure(way, 11.96, why="seen again")
    assert way.rebuild.findings.get(position__code="S1").condition == "hardened"


def test_a_closed_rebuild_takes_no_finding(way):
    way.tested().release().ship()
    with pytest.raises(RuleBroken, match=r"closed \(shipped\)"):
        find(way, condition="cut", why="seen again")

"""An instrument found out of tolerance: what it touched, the verdicts with its error, the lead's review."""

import datetime as dt
import uuid

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from shop.errors import NotAllowed, RuleBroken
from tests.workorders import bench as at_bench
from tests.workorders.journey import Journey
from workorders.models import Calibration, CalibrationReview, Measurement
from workorders.services import releasing, testing
from workorders.services.calibration_reviews import review_rebuild, touched_by, window_of
from workorders.services.error_as_found import recheck_reading
from workorders.services.found_out import flags
from workorders.services.instruments import add_calibration, calibration_state, correct_calibration
from workorders.services.packing import refuse_unit

pytestmark = pytest.mark.django_db
FOUND = dt.date(2026, 3, 20)


def find_out(journey, instrument=None, **fields):
    """The calibration that finds the gauge of a journey out of tolerance, after everything so far."""
    journey.now = max(journey.now, dt.datetime(2026, 3, 20, 8, 0, tzinfo=dt.UTC))
    told = {
        "calibrated_on": FOUND,
        "due_on": dt.date(2027, 3, 20),
        "certificate_no": "NC-220",
        "done_by": "Northhaven Calibration",
        "in_tolerance": False,
        "adjusted": True,
        "error_found": 1.2,
        "error_at": 100.0,
    }
    return add_calibration(
        act=journey.act("lead"), instrument=instrument or journey.gauge, **{**told, **fields}
    )


def review(journey, calibration, decision="stands", why="5 bar of margin, 2 bar of error", role="lead"):
    return review_rebuild(
        act=journey.act(role, why), calibration=calibration, rebuild=journey.rebuild, decision=decision
    )


@pytest.fixture
def tested():
    return Journey().tested()


@pytest.fixture
def released(tested):
    return tested.release()


def sheet(calibration):
    return touched_by(window_of(calibration))


# -- what it touched


@pytest.mark.record_row("R22")
def test_every_value_since_the_last_good_calibration_is_listed_by_unit(released):
    second = Journey(revision=released.revision, people=released.people)
    second.now, second.gauge = released.now, released.gauge
    second.tested()
    rows = sheet(find_out(second))
    assert [row.rebuild.unit for row in rows] == [second.unit, released.unit]
    assert [(line.what, line.verdict) for line in rows[1].lines] == [
        ("2. Proof, both sides, pressure", "passes"),
        ("3. Pressure hold, decay", "passes"),
    ]
    assert (rows[1].release, rows[1].rests, rows[0].rests) == (released.released.number, True, False)


def test_a_measurement_is_listed_as_a_reading_is(released):
    calibration = find_out(released, released.micrometer, error_found=0.02, error_at=12.0)
    (row,) = sheet(calibration)
    taken = Measurement.objects.filter(rebuild=released.rebuild, instrument=released.micrometer)
    assert {line.row for line in row.lines} == set(taken)
    assert {line.kind for line in row.lines} == {"measurement"}


@pytest.mark.parametrize(
    ("taken", "inside"),
    [
        ((2026, 3, 1, 23, 59), False),
        ((2026, 3, 2, 0, 0), True),
        ((2026, 3, 20, 23, 59), True),
        ((2026, 3, 21, 0, 0), False),
    ],
)
def test_both_days_count_whole(tested, taken, inside):
    calibration = find_out(tested)
    tested.gauge.calibrations.exclude(pk=calibration.pk).delete()
    calibrated(tested.gauge, dt.date(2026, 3, 2))
    result = tested.test.results.get(step__title="Proof, both sides")
    result.done_at = dt.datetime(*taken, tzinfo=dt.UTC)
    result.save()
    names = [line.what for row in sheet(calibration) for line in row.lines]
    assert ("2. Proof, both sides, pressure" in names) == inside


def calibrated(instrument, on, **fields):
    return Calibration.objects.create(
        instrument=instrument,
        calibrated_on=on,
        due_on=on + dt.timedelta(days=365),
        certificate_no="NC-1",
        done_by="Northhaven Calibration",
        **fields,
    )


def test_the_window_reaches_back_over_a_calibration_that_left_it_bad(tested):
    known = Calibration.objects.filter(instrument=tested.gauge)
    first = known.get().calibrated_on
    calibrated(tested.gauge, dt.date(2026, 3, 10), in_tolerance=False)
    calibration = find_out(tested)
    assert window_of(calibration).since == first
    known.filter(calibrated_on=dt.date(2026, 3, 10)).update(adjusted=True)
    assert window_of(calibration).since == dt.date(2026, 3, 10)


def test_without_a_good_calibration_before_everything_is_in_doubt(tested):
    tested.gauge.calibrations.all().delete()
    window = window_of(find_out(tested))
    assert (window.since, window.words) == (None, "up to 20 Mar 2026")
    assert len(touched_by(window)) == 1


def test_a_good_calibration_casts_no_doubt(tested):
    good = tested.gauge.calibrations.get()
    with pytest.raises(RuleBroken, match="nothing is in doubt"):
        window_of(good)
    assert flags() == []


def test_a_superseded_test_is_listed_and_raises_no_flag(tested):
    calibration = find_out(tested)
    testing.supersede_test(act=tested.act("lead"), test=tested.test, reason="another gauge")
    (row,) = sheet(calibration)
    assert (row.flag, [line.stands for line in row.lines]) == (None, [False, False])
    assert flags() == []


# -- as found and as left


def test_adjusted_it_counts_again_from_its_day_and_left_bad_it_does_not(tested):
    find_out(tested)
    assert calibration_state(tested.gauge, FOUND).is_valid
    row = tested.gauge.calibrations.get(calibrated_on=FOUND)
    correct_calibration(act=tested.act("lead", "was not adjusted"), calibration=row, adjusted=False)
    assert calibration_state(tested.gauge, FOUND).word == "out of tolerance"


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"in_tolerance": True, "error_found": None, "error_at": None}, "found out of tolerance is adjusted"),
        ({"error_at": None}, "together with the reading"),
        ({"in_tolerance": True, "adjusted": False}, "where the instrument was found out of tolerance"),
    ],
)
def test_a_finding_that_makes_no_sense_is_refused(tested, fields, message):
    before = Calibration.objects.count()
    with pytest.raises(RuleBroken) as refused:
        find_out(tested, **fields)
    assert message in f"{refused.value} {refused.value.fields}"
    assert Calibration.objects.count() == before


@pytest.mark.parametrize("fields", [{"adjusted": True}, {"error_found": 1.0}])
def test_the_database_refuses_it_too(tested, fields):
    with pytest.raises(IntegrityError), transaction.atomic():
        calibrated(tested.gauge, dt.date(2026, 3, 10), **fields)


# -- verdicts with the error as found: error = reading minus true value (JCGM 200:2012, 2.16)


@pytest.mark.parametrize(
    ("proof_bar", "error", "at", "corrected", "widened"),
    [
        # Limit at least 160 bar, gauge ± 0.4 bar, so U = 2 × 0.4 / √3 = 0.46 bar. By hand:
        (165.0, 1.2, 100.0, "passes", "passes"),  # 165 − 1.98 = 163.02, less 0.46 is above 160
        (162.0, 1.2, 100.0, "not_decided", "not_decided"),  # 162 − 1.944 = 160.056, ± 0.46
        (161.0, 1.2, 100.0, "fails", "not_decided"),  # in proportion 161 − 1.932 = 159.07, and 0.46
        (161.0, -1.2, 100.0, "passes", "not_decided"),  # true pressure was higher; widened both ways
        (165.0, 8.0, 0.0, "fails", "not_decided"),  # found at zero: the same everywhere, 157
    ],
)
def test_a_pressure_is_judged_with_the_error(proof_bar, error, at, corrected, widened):
    journey = Journey().receive().find().close_teardown().go_ahead().fit().close_build().start_test()
    journey.run_steps(proof_bar=proof_bar)
    calibration = find_out(journey, error_found=error, error_at=at)
    (row,) = sheet(calibration)
    told = next(line for line in row.lines if "pressure" in line.what).recheck
    assert (told.corrected, told.widened) == (corrected, widened)


def test_a_decay_keeps_what_cancels_and_asks_for_the_pressure_at_the_start(bench):
    test = at_bench.started(bench)
    first, proof, hold = at_bench.steps_of(test)[:3]
    at_bench.record(bench, test, first)
    at_bench.record(bench, test, proof)
    reading = at_bench.record(bench, test, hold).readings.get()  # from 7.31 to 7.29 bar, 7 bar asked
    calibration = calibrated(reading.instrument, FOUND, in_tolerance=False, error_found=0.2, error_at=10)
    told = recheck_reading(reading, calibration)
    # 0.02 bar in 300 s is 0.004 bar/min; 2 % of it is nothing, and 7.31 − 0.2 = 7.11 is above 7 bar.
    assert (told.corrected, told.widened) == ("passes", "passes")
    calibration.error_found = 0.4
    told = recheck_reading(reading, calibration)  # 7.31 − 0.4 = 6.91, and ± 0.04 does not reach 7
    assert (told.corrected, told.widened) == ("not_decided", "not_decided")
    assert "6.91 bar, below the 7 bar" in told.remark


def test_the_recorded_verdict_stays(released):
    calibration = find_out(released, error_found=9.0)
    (row,) = sheet(calibration)
    assert {line.verdict for line in row.lines} == {"passes"}
    assert "fails" in {line.recheck.corrected for line in row.lines}
    assert set(released.test.results.values_list("verdict", flat=True)) == {"passes"}


def test_without_the_error_nothing_is_worked_out(released):
    calibration = find_out(released, error_found=None, error_at=None)
    (row,) = sheet(calibration)
    assert {(line.recheck.corrected, line.recheck.remark) for line in row.lines} == {
        ("", "the error as found is not entered")
    }


# -- the review


def test_no_release_is_signed_until_the_lead_has_reviewed(tested):
    calibration = find_out(tested)
    missing = releasing.missing_for_release(tested.rebuild)
    assert [row.name for row in missing] == [f"instrument {tested.gauge.code}"]
    with pytest.raises(RuleBroken, match="was found out of tolerance on 20 Mar 2026"):
        tested.release()
    review(tested, calibration)
    assert releasing.missing_for_release(tested.rebuild) == []
    tested.release()


def test_what_is_to_be_tested_again_waits_for_a_test_with_a_good_instrument(tested):
    calibration = find_out(tested)
    review(tested, calibration, "again", "too near to the limit")
    with pytest.raises(RuleBroken, match="to be done again"):
        tested.release()
    testing.supersede_test(act=tested.act("lead"), test=tested.test, reason="tested again")
    tested.now += dt.timedelta(days=2)
    tested.start_test().run_steps().sign_test().release()
    assert flags() == []


def test_a_released_unit_does_not_leave_before_the_review(released):
    calibration = find_out(released)
    with pytest.raises(RuleBroken, match="may not leave"):
        released.ship()
    with pytest.raises(RuleBroken, match="may not leave"):
        refuse_unit(released.rebuild, released.rebuild.work_order, None)
    review(released, calibration)
    released.ship()
    assert [flag.is_open for flag in flags()] == [False]


def test_a_shipped_release_is_flagged_until_reviewed(released):
    released.ship()
    calibration = find_out(released)
    (row,) = sheet(calibration)
    assert row.flag.is_open
    assert str(released.shipment) in row.where
    review(released, calibration, "tell", "the yard stops using it until we fetch it")
    assert not sheet(calibration)[0].flag.is_open


def test_a_review_keeps_what_was_seen(released):
    row = review(released, find_out(released))
    assert (row.error_found, row.error_at, row.by) == (1.2, 100.0, released.people["lead"])
    assert [(line["value"], line["verdict"], line["corrected"]) for line in row.seen] == [
        (165.0, "passes", "passes"),
        (pytest.approx(0.02), "passes", "passes"),  # 0.1 bar in 300 s
    ]
    assert "163.02 bar" in row.seen[0]["corrected_words"]


def test_another_error_or_another_value_asks_for_another_review(released):
    calibration = find_out(released)
    review(released, calibration)
    correct_calibration(act=released.act("lead", "misread"), calibration=calibration, error_found=2.2)
    assert [flag.is_open for flag in flags()] == [True]
    calibration.refresh_from_db()
    review(released, calibration)
    assert [flag.is_open for flag in flags()] == [False]
    early = released.gauge.calibrations.exclude(pk=calibration.pk).get()
    Measurement.objects.filter(rebuild=released.rebuild).update(instrument=early.instrument)
    assert [flag.is_open for flag in flags()] == [True]


@pytest.mark.parametrize(
    ("decision", "why", "error", "message"),
    [
        ("stands", "", 1.2, "Say why"),
        ("stands", "fine", None, "Enter the error as found"),
        ("stands", "fine", 9.0, "it does not stay valid"),
        ("tell", "told them", 1.2, "No release rests on this"),
    ],
)
def test_a_review_that_does_not_hold_is_refused(tested, decision, why, error, message):
    calibration = find_out(tested, error_found=error, error_at=None if error is None else 100.0)
    with pytest.raises(RuleBroken) as refused:
        review(tested, calibration, decision, why)
    assert message in f"{refused.value} {refused.value.fields}"
    assert not CalibrationReview.objects.exists()


def test_what_was_not_touched_is_not_reviewed(tested):
    calibration = find_out(tested)
    other = Journey().receive()
    with pytest.raises(RuleBroken, match="Nothing in this rebuild"):
        review(other, calibration)


def test_only_the_lead_reviews(tested):
    calibration = find_out(tested)
    with pytest.raises(NotAllowed, match="Ask somebody from: lead"):
        review(tested, calibration, role="bench")


@pytest.mark.parametrize(
    "change",
    ["UPDATE workorders_calibrationreview SET why = 'x'", "DELETE FROM workorders_calibrationreview"],
)
def test_a_review_is_never_changed(released, change):
    review(released, find_out(released))
    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(change)


def test_the_database_asks_for_a_reason(released):
    row = review(released, find_out(released))
    row.pk, row.why, row._state.adding = None, "", True
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


# -- pages


def pages(journey, calibration):
    return {
        "touched": reverse("workorders:calibration_touched", args=[calibration.pk]),
        "review": reverse("workorders:calibration_review", args=[calibration.pk, journey.rebuild.pk]),
        "list": reverse("workorders:instruments_to_review"),
    }


def posted(**fields):
    return {"decision": "stands", "why": "margin enough", "form_token": uuid.uuid4().hex, **fields}


def test_the_lead_reviews_by_the_page(client, released):
    calibration = find_out(released)
    address = pages(released, calibration)["review"]
    client.force_login(released.people["lead"])
    page = client.get(address).content.decode()
    assert "+1.2 bar at 100 bar" in page
    assert "163.02 bar" in page
    data = posted()
    answer = client.post(address, data)
    assert (answer.status_code, answer.url) == (302, address)
    assert client.post(address, data).url == address
    assert CalibrationReview.objects.get().why == "margin enough"
    assert "margin enough" in client.get(address).content.decode()


@pytest.mark.parametrize("wrong", [{"why": ""}, {"decision": "perhaps"}, {"decision": ""}])
def test_a_wrong_form_records_nothing(client, released, wrong):
    address = pages(released, find_out(released))["review"]
    client.force_login(released.people["lead"])
    assert client.post(address, posted(**wrong)).status_code == 422
    assert not CalibrationReview.objects.exists()


def test_a_rule_of_the_review_is_said_on_the_page(client, released):
    address = pages(released, find_out(released, error_found=9.0))["review"]
    client.force_login(released.people["lead"])
    answer = client.post(address, posted())
    assert answer.status_code == 422
    assert "it does not stay valid" in answer.content.decode()


def test_the_bench_sees_and_does_not_review(client, released, bench):
    addresses = pages(released, find_out(released))
    for address in addresses.values():
        assert client.get(address).url.startswith("/sign-in/")
    client.force_login(bench)
    for address in addresses.values():
        assert client.get(address).status_code == 200
    assert "Ask somebody from: lead" in client.get(addresses["review"]).content.decode()
    assert client.post(addresses["review"], posted()).status_code == 403
    assert client.post(addresses["touched"]).status_code == 405
    assert client.post(addresses["list"]).status_code == 405


def test_unknown_and_good_calibrations_are_not_found(client, released):
    client.force_login(released.people["lead"])
    calibration, good = find_out(released), released.gauge.calibrations.earliest("pk")
    for name, args in (
        ("calibration_touched", [99999]),
        ("calibration_touched", [good.pk]),
        ("calibration_review", [calibration.pk, 99999]),
        ("calibration_review", [good.pk, released.rebuild.pk]),
    ):
        assert client.get(reverse(f"workorders:{name}", args=args)).status_code == 404


def test_a_flag_shows_to_people_signed_in_until_the_review(client, released):
    calibration = find_out(released)
    told = "was found out of tolerance"
    unit = released.unit.get_absolute_url()
    rebuild = reverse("workorders:rebuild", args=[released.rebuild.pk])
    assert told not in client.get(unit).content.decode()
    client.force_login(released.people["lead"])
    for address in (unit, rebuild, released.released.get_absolute_url()):
        assert told in client.get(address).content.decode()
    home = reverse("workorders:home")
    assert "1 to review" in client.get(home).content.decode()
    assert released.unit.serial[:3] in client.get(pages(released, calibration)["list"]).content.decode()
    client.force_login(released.people["bench"])
    assert "1 to review" not in client.get(home).content.decode()
    review(released, calibration)
    client.force_login(released.people["lead"])
    for address in (unit, rebuild, home):
        page = client.get(address).content.decode()
        assert told not in page
        assert "1 to review" not in page
    assert "Nothing to review" in client.get(pages(released, calibration)["list"]).content.decode()


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_the_lists_come_as_files(client, released, form):
    addresses = pages(released, find_out(released))
    client.force_login(released.people["bench"])
    for name in ("touched", "list"):
        answer = client.get(addresses[name], {"format": form})
        assert answer.status_code == 200
        if form == "csv":
            assert released.unit.serial in answer.content.decode("utf-8-sig")


def test_the_page_costs_the_same_for_more_units(client, released):
    calibration = find_out(released)
    client.force_login(released.people["bench"])
    addresses = pages(released, calibration)

    def counted():
        found = []
        for name in ("touched", "list"):
            client.get(addresses[name])
            with CaptureQueriesContext(connection) as queries:
                client.get(addresses[name])
            found.append(len(queries))
        return found

    more(released, 3)
    first = counted()
    more(released, 3)
    assert counted() == first


def more(journey, units):
    for _ in range(units):
        other = Journey(revision=journey.revision, people=journey.people)
        other.now, other.gauge = dt.datetime(2026, 3, 3, 9, 0, tzinfo=dt.UTC), journey.gauge
        other.tested()

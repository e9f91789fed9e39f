"""The blanked rig checked before a hold: taken off with its uncertainty, through sums and pages."""

import uuid

import numpy as np
import pytest
from django.urls import reverse

from tests.workorders import bench as at_bench
from tests.workorders.bench_pages import confirm, send_file, shown
from workorders.calc.blank import blank_check
from workorders.calc.rig import hold_leak_rate
from workorders.calc.uncertainty import Gauge, hand_hold
from workorders.calc.verdict import judge_hand_hold
from workorders.models import LoggerFile, Reading
from workorders.services.certificate import results_of, step_rows
from workorders.services.readings import recomputed
from workorders.services.running import state_of, unused_files
from workorders.services.step_results import BlankEntry, HandHoldEntry
from workorders.services.step_start import starts_of

GAUGE = Gauge(accuracy=0.04, full_scale=16, resolution=0.001)
CHECK = {
    "start_bar": 7.1,
    "end_bar": 6.9,
    "duration_s": 300,
    "rig_ml_per_bar": 0.6,
    "together_ml_per_bar": 1.0,
}


def checked(**changes):
    return blank_check(**{**CHECK, "gauge": GAUGE, "hold_start_bar": 7.1, **changes})


# -- the sums


def test_the_share_of_the_rig_is_taken_off():
    """By hand: 0.2 bar in 5 min are 0.04 bar/min, 0.6 of it 0.024."""
    assert checked().decay_bar_per_min == pytest.approx(0.024)
    hold = hand_hold(start_bar=7.1, end_bar=6.8, duration_s=300, gauge=GAUGE)
    verdict = judge_hand_hold(hold=hold, limit_bar_per_min=0.055, blank=checked())
    assert verdict.value == pytest.approx(0.06 - 0.024)
    assert verdict.sentence.startswith(
        "0.0600 bar/min less 0.60 of the blanked rig's 0.0400 bar/min, the unit"
    )
    assert ": 0.036 bar/min, at most 0.055 bar/min" in verdict.sentence
    assert verdict.word == "passes"
    assert judge_hand_hold(hold=hold, limit_bar_per_min=0.055).word == "not decided"


def test_it_is_the_leak_of_the_unit_over_the_compliance_of_both():
    leak = hold_leak_rate(
        decay_bar_per_min=0.06,
        compliance_ml_per_bar=1.0,
        blank_decay_bar_per_min=0.04,
        blank_compliance_ml_per_bar=0.6,
    )
    assert 0.06 - checked().decay_bar_per_min == pytest.approx(leak.leak_ml_min / 1.0)


def test_what_is_left_is_a_leak_by_the_compliance_of_both():
    """By hand: 0.036 bar/min at 2 mL/bar are 0.072 mL/min; ±0.012 bar/min and 10 % of it come to ±0.025."""
    twice = checked(rig_ml_per_bar=1.2, together_ml_per_bar=2.0)
    leak, spread = twice.leak_ml_min(decay=0.036, expanded=0.012)
    assert leak == pytest.approx(0.072)
    assert spread == pytest.approx(np.sqrt(0.024**2 + 0.0072**2))
    hold = hand_hold(start_bar=7.1, end_bar=6.8, duration_s=300, gauge=GAUGE)
    words = judge_hand_hold(hold=hold, limit_bar_per_min=0.055, blank=twice).sentence
    assert "the unit leaks 0.072 mL/min ±0.02" in words


def test_the_spread_agrees_with_a_simulation():
    """A million draws: decay of the rig and both compliances normal, half their expanded uncertainties."""
    rng = np.random.default_rng(12)
    n = 1_000_000
    found = checked()
    decay = rng.normal(0.04, found.hold.uncertainty.standard, n)
    taken = decay * 0.6 * (1 + rng.normal(0, 0.05, n)) / (1 + rng.normal(0, 0.05, n))
    assert found.expanded_bar_per_min == pytest.approx(2 * taken.std(), rel=0.02)


def test_a_tight_rig_takes_nothing_off_and_leaves_its_uncertainty():
    tight = checked(end_bar=7.1)
    assert tight.decay_bar_per_min == 0
    assert tight.expanded_bar_per_min == pytest.approx(0.6 * tight.hold.uncertainty.expanded)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {"start_bar": 7.46, "end_bar": 7.3},
            "above the 7.1 bar of the hold; check it from the same pressure",
        ),
        ({"rig_ml_per_bar": 1.01}, "must be above 0 and at most that of rig and unit; got 1.01 and 1"),
        ({"rig_ml_per_bar": 0}, "must be above 0"),
        ({"duration_s": 0}, "duration_s must be above 0 s"),
    ],
)
def test_a_check_that_cannot_be_is_refused(changes, words):
    with pytest.raises(ValueError, match=words):
        checked(**changes)


def test_a_check_from_a_little_above_is_taken():
    assert checked(start_bar=7.45, end_bar=7.25).decay_bar_per_min == pytest.approx(0.024)


# -- through the services and pages


@pytest.fixture
def test(bench):
    """A test whose next step is the hold, at most 0.1 bar/min."""
    test = at_bench.started(bench)
    for step in at_bench.steps_of(test)[:2]:
        at_bench.record(bench, test, step)
    return test


@pytest.fixture
def limit(test):
    return at_bench.limits_of(at_bench.steps_of(test)[2])["decay"]


def fields_of(limit, **changes):
    return {f"r{limit.pk}-blank_{name}": value for name, value in {**CHECK, **changes}.items() if value != ""}


def by_hand(limit, **changes):
    entered = {"start_bar": 7.1, "end_bar": 6.5, "duration_s": 300, "instrument": at_bench.transducer().pk}
    return {
        "form_token": uuid.uuid4().hex,
        "note": "",
        **{f"r{limit.pk}-{name}": value for name, value in entered.items()},
        **fields_of(limit, **changes),
    }


@pytest.mark.django_db
def test_a_check_entered_with_a_hold_is_kept_and_judged_again(client, bench, test, limit):
    client.force_login(bench)
    page = reverse("workorders:test_step", args=[test.pk, 3])
    assert "the rig blanked before it, if it was checked" in client.get(page).content.decode()
    assert client.post(page, by_hand(limit)).status_code == 302
    reading = Reading.objects.get(limit=limit)
    assert reading.observed["blank"] == CHECK
    # 0.12 bar/min less 0.024.
    assert reading.value == pytest.approx(0.096)
    assert "less 0.60 of the blanked rig's 0.0400 bar/min" in reading.arithmetic
    again = recomputed(reading)
    assert (again.verdict, again.arithmetic) == (reading.verdict, reading.arithmetic)
    # Recorded again, the form starts from what was entered.
    assert f'name="r{limit.pk}-blank_rig_ml_per_bar" value="0.6"' in client.get(page).content.decode()


@pytest.mark.django_db
def test_a_check_counts_for_a_logger_file_too(client, bench, test, limit):
    client.force_login(bench)
    page = client.get(send_file(client, test, limit, "hold_slow_leak.csv").url)
    plain = shown(page).proposal.outcome.value
    data = {name: value for each in page.context["open"].files for name, value in each.hidden}
    answer = client.post(
        reverse("workorders:test_step", args=[test.pk, 3]),
        {"form_token": uuid.uuid4().hex, "note": "", **data, **fields_of(limit)},
    )
    assert answer.status_code == 302
    reading = Reading.objects.get(limit=limit)
    assert reading.value == pytest.approx(plain - 0.024)
    assert recomputed(reading).arithmetic == reading.arithmetic


@pytest.mark.django_db
def test_the_verdict_as_it_would_be_has_the_blanked_rig_taken_off(client, bench, test, limit):
    client.force_login(bench)
    page = client.get(send_file(client, test, limit, "hold_slow_leak.csv").url)
    plain = shown(page).proposal.outcome.value
    asked = dict(shown(page).hidden) | fields_of(limit)
    url = reverse("workorders:test_step", args=[test.pk, 3])
    with_it = shown(client.get(url, asked))
    assert with_it.proposal.outcome.value == pytest.approx(plain - 0.024)
    # Recording sends what is shown, the check with it.
    assert dict(with_it.hidden)[f"r{limit.pk}-blank_rig_ml_per_bar"] == "0.6"
    missing = client.get(url, asked | {f"r{limit.pk}-blank_duration_s": ""})
    assert "Give pressures, time and both compliances" in missing.content.decode()
    assert not Reading.objects.filter(limit=limit).exists()


@pytest.mark.django_db
def test_a_file_confirmed_without_a_check_has_none(client, bench, test, limit):
    client.force_login(bench)
    page = client.get(send_file(client, test, limit, "hold_tight.csv").url)
    assert confirm(client, page, test).status_code == 302
    assert "blank" not in Reading.objects.get(limit=limit).observed


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"rig_ml_per_bar": ""}, "Give pressures, time and both compliances"),
        ({"rig_ml_per_bar": 2}, "at most that of rig and unit"),
        ({"start_bar": 8, "end_bar": 7.9}, "check it from the same pressure"),
    ],
)
def test_a_check_that_does_not_fit_records_nothing(client, bench, test, limit, changes, words):
    client.force_login(bench)
    answer = client.post(reverse("workorders:test_step", args=[test.pk, 3]), by_hand(limit, **changes))
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not Reading.objects.filter(limit=limit).exists()


@pytest.mark.django_db
def test_a_check_beyond_the_range_of_the_gauge_is_not_valid(bench, test, limit):
    check = BlankEntry(**{**CHECK, "end_bar": -0.5})
    entry = HandHoldEntry(
        start_bar=7.1, end_bar=7.0, duration_s=300, instrument=at_bench.transducer(), blank=check
    )
    at_bench.record(bench, test, limit.step, decay=entry)
    assert Reading.objects.get(limit=limit).verdict == "invalid"


@pytest.mark.django_db
def test_the_certificate_says_that_the_rig_was_taken_off(bench, test, limit):
    check = BlankEntry(**CHECK)
    entry = HandHoldEntry(
        start_bar=7.1, end_bar=7.0, duration_s=300, instrument=at_bench.transducer(), blank=check
    )
    at_bench.record(bench, test, limit.step, decay=entry)
    printed = [
        reading.label for step in step_rows(results_of(test), starts_of(test)) for reading in step.readings
    ]
    assert "decay, blanked rig taken off" in printed
    assert "dry outside" in printed


# -- the check from a logger file


def with_file(client, test, limit, name="hold_tight.csv"):
    """Hand in the blanked rig, then the hold; return the page of the hold and what it is asked with."""
    rig = send_file(client, test, limit, name)
    row = LoggerFile.objects.get()
    page = client.get(send_file(client, test, limit, "hold_slow_leak.csv", instrument=row.instrument).url)
    assert rig.status_code == 302
    compliances = {"blank_rig_ml_per_bar": "0.6", "blank_together_ml_per_bar": "1.0"}
    told = {f"r{limit.pk}-{name}": value for name, value in compliances.items()}
    return page, dict(shown(page).hidden) | told | {f"r{limit.pk}-blank_file": row.pk}


@pytest.mark.django_db
def test_a_check_from_a_logger_file_is_taken_off_kept_and_judged_again(client, bench, test, limit):
    """Both slopes are in the note beside the files, by NumPy: 0.043344 less 0.6 of 0.014096 bar/min."""
    client.force_login(bench)
    _page, asked = with_file(client, test, limit)
    window = {f"r{limit.pk}-start": "0", f"r{limit.pk}-end": "141.438"}
    url = reverse("workorders:test_step", args=[test.pk, 3])
    told = shown(client.get(url, asked | window))
    assert told.proposal.outcome.value == pytest.approx(0.043344 - 0.6 * 0.014096, abs=2e-6)
    names = dict(told.proposal.outcome.budget)
    assert names["blanked rig, its decay"] > 0
    sent = {name: "" if value is None else value for name, value in told.hidden}
    assert client.post(url, {"form_token": uuid.uuid4().hex, "note": "", **sent}).status_code == 302
    reading = Reading.objects.get(limit=limit)
    rig = LoggerFile.objects.first().file
    assert reading.observed["blank"]["sha256"] == rig.sha256
    again = recomputed(reading)
    assert (again.arithmetic, again.value) == (reading.arithmetic, reading.value)
    assert "less 0.60 of the blanked rig's 0.014 bar/min" in reading.arithmetic
    assert unused_files(test, state_of(test)) == []


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("name", "changes", "words"),
    [
        ("hold_fast_leak.csv", {}, "is not a straight line"),
        ("hold_tight.csv", {"blank_start_bar": "7"}, "not both"),
        ("hold_tight.csv", {"blank_together_ml_per_bar": ""}, "both compliances"),
    ],
)
def test_a_file_that_is_no_check_is_refused(client, bench, test, limit, name, changes, words):
    client.force_login(bench)
    _page, asked = with_file(client, test, limit, name)
    asked |= {f"r{limit.pk}-{field}": value for field, value in changes.items()}
    url = reverse("workorders:test_step", args=[test.pk, 3])
    answer = client.get(url, asked)
    assert words in answer.content.decode()
    assert shown(answer).proposal is None


@pytest.mark.django_db
def test_the_blanked_rig_is_logged_with_the_instrument_of_the_hold(client, bench, test, limit):
    client.force_login(bench)
    _page, asked = with_file(client, test, limit)
    other = send_file(client, test, limit, "hold_fast_leak.csv", instrument=at_bench.transducer())
    row = LoggerFile.objects.last()
    answer = client.get(other.url, asked | {f"r{limit.pk}-file": row.pk})
    assert "the blanked rig was logged with" in answer.content.decode()

"""Readings of an earlier evaluation are judged again as they were; new ones by the present one."""

import copy

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from shop.services.writing import Act
from tests.workorders import bench as at_bench
from workorders.calc.hold import EVALUATION
from workorders.models import Reading
from workorders.services.logger_files import offer_file
from workorders.services.readings import recomputed
from workorders.services.step_results import HandHoldEntry, ValueEntry

pytestmark = pytest.mark.django_db
# What the first evaluation stored of these holds: uncertainty [bar/min], verdict, arithmetic.
FIRST = [
    (
        "hold_tight.csv",
        0.04,
        0.0157,
        0.01831760474805445,
        "not_decided",
        "1508 samples from 0.0 to 151.3 s: 0.014 bar/min, at most 0.0157 bar/min, uncertainty "
        "±0.019 bar/min: not decided: the limit lies inside the uncertainty",
    ),
    (
        "hold_slow_leak.csv",
        0.0005,
        0.045,
        0.00041313091226598064,
        "passes",
        "1408 samples from 0.0 to 141.4 s: 0.04334 bar/min, at most 0.045 bar/min, uncertainty "
        "±0.00042 bar/min: passes",
    ),
    (
        "hold_fast_leak.csv",
        0.04,
        0.1,
        0.10848714375517508,
        "fails",
        "1443 samples from 0.0 to 144.5 s: not a straight line (emptying: more than half the pressure is "
        "lost); from 7.666 to 0.030 bar in 144.5 s, on average 3.17 bar/min, at most 0.1 bar/min: fails",
    ),
]


def recorded(bench, upper, entry_of):
    """Record one hold against a limit of its own and return its reading."""
    hold, (decay,) = at_bench.STEPS[2]
    plan = ((hold, ({**decay, "upper": upper},)),)
    test = at_bench.started(bench, at_bench.ready_rebuild(steps=plan))
    step = at_bench.steps_of(test)[0]
    at_bench.record(bench, test, step, decay=entry_of(test, step))
    return Reading.objects.get(limit__step=step)


def from_file(bench, name, accuracy):
    def entry_of(test, step):
        gauge = at_bench.transducer(accuracy=accuracy, resolution=0.0)
        return at_bench.trace_entry(at_bench.hand_in(bench, test, name, gauge, step))

    return entry_of


def as_first(reading):
    """Turn a reading into one stored before evaluations had a number."""
    observed = copy.deepcopy(reading.observed)
    assert observed.pop("evaluation") == EVALUATION
    Reading.objects.filter(pk=reading.pk).update(observed=observed)
    return Reading.objects.get(pk=reading.pk)


@pytest.mark.parametrize(("name", "accuracy", "upper", "uncertainty", "verdict", "arithmetic"), FIRST)
def test_a_reading_of_the_first_evaluation_stays_as_it_was(
    bench, name, accuracy, upper, uncertainty, verdict, arithmetic
):
    old = as_first(recorded(bench, upper, from_file(bench, name, accuracy)))
    again = recomputed(old)
    assert again.uncertainty == pytest.approx(uncertainty, rel=1e-12)
    assert (again.verdict, again.arithmetic) == (verdict, arithmetic)


def test_a_hand_hold_and_a_reading_of_the_first_evaluation_keep_their_words(bench):
    def by_hand(test, step):
        return HandHoldEntry(start_bar=7.3, end_bar=7.2, duration_s=300, instrument=at_bench.transducer())

    new = recorded(bench, 0.0201, by_hand)
    old = recomputed(as_first(new))
    assert old.verdict == new.verdict == "not_decided"
    assert old.uncertainty == new.uncertainty
    assert old.arithmetic.endswith("not decided: the limit lies inside the uncertainty")
    assert new.arithmetic.startswith(old.arithmetic)


def test_a_new_reading_counts_samples_that_are_alike(bench):
    """The slow leak near its limit, on a very good gauge: the first evaluation let it pass."""
    new = recorded(bench, 0.045, from_file(bench, "hold_slow_leak.csv", 0.0005))
    assert new.verdict == "not_decided"
    assert new.observed["evaluation"] == EVALUATION
    assert "1408 samples, worth 22 independent ones, from" in new.arithmetic
    assert recomputed(new).arithmetic == new.arithmetic


def test_what_would_decide_it_stands_in_the_arithmetic(bench):
    new = recorded(bench, 0.05, from_file(bench, "hold_slow_leak.csv", 0.04))
    assert new.verdict == "not_decided"
    assert new.arithmetic.endswith(
        "the limit lies inside the uncertainty; a hold of 420 s or a gauge of ±0.012 bar would decide it, "
        "if the value stays"
    )


def test_a_value_on_its_limit_says_that_nothing_would_decide_it(bench):
    test = at_bench.started(bench)
    at_bench.record(bench, test, at_bench.steps_of(test)[0])
    step = at_bench.steps_of(test)[1]
    at_bench.record(bench, test, step, pressure=ValueEntry(value=160, instrument=at_bench.gauge()))
    reading = Reading.objects.get(limit__step=step, limit__reading="pressure")
    assert reading.verdict == "not_decided"
    assert reading.arithmetic.endswith("; too near the limit for a better gauge to decide")


def test_a_temperature_in_the_file_names_the_bend(bench):
    """A hold that follows its temperature by 12 bar for each K, from a logger with three columns."""
    time_s = np.arange(0.0, 300.0, 0.2)
    temperature = 30 + 0.05 * np.sin(2 * np.pi * time_s / 400)
    pressure = 8 - 0.03 / 60 * time_s + 12 * (temperature - 30)
    rows = "".join(
        f"{t:.1f};{p:.4f};{c:.4f}\n" for t, p, c in zip(time_s, pressure, temperature, strict=True)
    )
    data = ("time [s];pressure [bar];oil [°C]\n" + rows).encode()

    def entry_of(test, step):
        file = offer_file(
            act=Act(by=bench, at=at_bench.AT),
            test=test,
            limit=at_bench.limits_of(step)["decay"],
            instrument=at_bench.transducer(),
            upload=SimpleUploadedFile("hold.csv", data, "text/csv"),
        )
        return at_bench.trace_entry(file)

    new = recorded(bench, 0.1, entry_of)
    assert new.verdict == "not_decided"
    assert "not a straight line (temperature: the pressure follows it, 12 bar for each K" in new.arithmetic
    assert "column 3 (oil)" in new.arithmetic
    old = recomputed(as_first(new))
    assert old.verdict == "not_decided"
    assert "temperature" not in old.arithmetic

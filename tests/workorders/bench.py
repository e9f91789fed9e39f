"""A rebuild that is ready for its test, with a plan of every way of judging, for the tests of the bench."""

import datetime as dt
from pathlib import Path

from django.core.files.uploadedfile import SimpleUploadedFile

import inventory.models as inventory
import shop.models as shop
import workorders.models as workorders
from shop.services.writing import Act
from tests import factories
from workorders.services.logger_files import offer_file
from workorders.services.running import progress_of
from workorders.services.step_results import (
    CountEntry,
    HandHoldEntry,
    TraceEntry,
    ValueEntry,
    WitnessEntry,
    record_step,
)
from workorders.services.step_start import needs_start, start_step
from workorders.services.testing import start_test

TRACES = Path(__file__).parents[2] / "fixtures" / "traces"
FAR = dt.date(2090, 1, 1)  # pages ask the real clock
AT = dt.datetime(2026, 3, 4, 10, 0, tzinfo=dt.UTC)
Way = shop.StepLimit.Judged
STEPS = (
    (
        {
            "kind": "low_pressure_leak",
            "side": "both",
            "title": "Low-pressure leak",
            "pressure_bar": 10,
            "hold_s": 60,
        },
        ({"reading": "dry outside", "judged": Way.WITNESS, "basis": "shop rule"},),
    ),
    (
        {"kind": "proof", "side": "bore", "title": "Proof, bore side", "pressure_bar": 160, "hold_s": 60},
        (
            {
                "reading": "pressure",
                "judged": Way.VALUE,
                "quantity": "pressure",
                "unit": "bar",
                "lower": 160,
                "source": "type",
                "basis": "proof of the type",
            },
            {
                "reading": "held",
                "judged": Way.VALUE,
                "quantity": "time",
                "unit": "s",
                "lower": 60,
                "source": "type",
                "basis": "proof of the type",
            },
            {"reading": "drips", "judged": Way.COUNT, "unit": "drips", "upper": 0, "basis": "shop rule"},
        ),
    ),
    (
        {"kind": "hold", "side": "bore", "title": "Hold at 7 bar", "pressure_bar": 7, "hold_s": 120},
        (
            {
                "reading": "decay",
                "judged": Way.DECAY,
                "quantity": "pressure",
                "unit": "bar/min",
                "upper": 0.1,
                "source": "memory",
                "basis": "usual in the shop",
            },
        ),
    ),
    (
        {"kind": "strokes", "side": "both", "title": "Full strokes", "pressure_bar": 20},
        ({"reading": "strokes", "judged": Way.COUNT, "unit": "strokes", "lower": 5, "basis": "shop rule"},),
    ),
)


def make_plan(revision, steps=STEPS, **fields):
    """An approved plan with steps and their limits."""
    plan = factories.TestPlanFactory(revision=revision, **fields)
    for order, (step, limits) in enumerate(steps, start=1):
        row = shop.TestStep.objects.create(plan=plan, order=order, **step)
        for place, limit in enumerate(limits, start=1):
            shop.StepLimit.objects.create(step=row, order=place, **limit)
    return plan


def ready_rebuild(*polymers, service_fluid=None, steps=STEPS):
    """A rebuild whose build is signed, with one seal of each polymer fitted, and an approved plan."""
    unit = factories.UnitFactory()
    revision = unit.unit_type.current
    if service_fluid:
        revision.service_fluid = service_fluid
        revision.save()
    rebuild = factories.RebuildFactory(unit=unit)
    for polymer in polymers or ("NBR",):
        fit_seal(rebuild, polymer)
    sign_build(rebuild)
    make_plan(revision, steps)
    return rebuild


def fit_seal(rebuild, polymer, use="fitted"):
    """One piece of a seal of that polymer at a position of its own."""
    lot = factories.LotFactory(part__polymer=polymer)
    person = factories.UserFactory()
    movement = inventory.Movement.objects.create(
        lot=lot, kind="used", place="A1", quantity=-1, by=person, at=factories.NOW
    )
    return workorders.PartUsed.objects.create(
        rebuild=rebuild,
        position=factories.PositionFactory(revision=rebuild.revision),
        lot=lot,
        movement=movement,
        quantity=1,
        use=use,
        by=person,
        at=factories.NOW,
    )


def sign_build(rebuild, at=factories.NOW):
    """The signature that closes the build."""
    person = factories.UserFactory()
    return workorders.Signature.objects.create(
        rebuild=rebuild,
        meaning=workorders.Signature.Meaning.BUILT,
        printed_name=str(person),
        done_at=at,
        content_sha256="0" * 64,
        by=person,
        at=at,
    )


def gauge(**fields):
    """A gauge to 250 bar, in calibration for as long as anybody runs these tests."""
    return factories.InstrumentFactory(calibration=FAR, **fields)


def transducer(**fields):
    """A transducer to 16 bar, fine enough to decide a hold at 7 bar."""
    known = {"range_high": 16.0, "accuracy": 0.04, "resolution": 0.001, "name": "transducer"}
    return gauge(**{**known, **fields})


def stopwatch(**fields):
    """A stopwatch."""
    known = {"quantity": "time", "unit": "s", "range_high": 3600.0, "accuracy": 0.2, "resolution": 0.01}
    return gauge(**{**known, "name": "stopwatch", **fields})


def upload(name):
    """One of the shared traces, as a browser sends it."""
    return SimpleUploadedFile(name, (TRACES / name).read_bytes(), "text/csv")


def started(person, rebuild=None, at=AT, first_step=True):
    """A running test with the service fluid in the rig, its first step started unless told otherwise."""
    rebuild = rebuild or ready_rebuild()
    fluid = rebuild.revision.service_fluid
    test = start_test(act=Act(by=person, at=at), rebuild=rebuild, rig_fluid=fluid)
    if first_step:
        start_next(person, test, at=at)
    return test


def steps_of(test):
    """The steps of a test's plan, in order."""
    return list(test.plan.steps.order_by("order"))


def limits_of(step):
    """The limits of a step, by the name of the reading."""
    return {limit.reading: limit for limit in step.limits.all()}


def good_entries(step, **readings):
    """Entries that pass for a step of ``STEPS``; ``readings`` by name replace some."""
    limits = limits_of(step)
    made = {}
    for name, limit in limits.items():
        if name in readings:
            made[limit] = readings[name]
        elif limit.judged == Way.WITNESS:
            made[limit] = WitnessEntry(as_required=True, count=0)
        elif limit.judged == Way.COUNT:
            made[limit] = CountEntry(count=0 if limit.upper == 0 else 5)
        elif limit.judged == Way.DECAY:
            made[limit] = HandHoldEntry(start_bar=7.31, end_bar=7.29, duration_s=300, instrument=transducer())
        else:
            instrument = stopwatch() if limit.quantity == "time" else gauge()
            made[limit] = ValueEntry(value=limit.lower + 5, instrument=instrument)
    return made


def start(person, test, step, at=AT, **told):
    """Confirm what a step wants confirmed, with the rod port open to the tank unless told otherwise."""
    relief = {"relief_bar": step.relief_bar, "relief_by": "valve RV-1"} if step.facts.relief_required else {}
    given = {"rod_port": "open", "conditions": [each.key for each in step.facts.conditions]} | relief
    return start_step(act=Act(by=person, at=at), test=test, step=step, **given | told)


def start_next(person, test, at=AT):
    """Start the step that is in turn, where its kind wants something confirmed."""
    step = progress_of(test).next_step
    if test.state == "running" and step and needs_start(test.rebuild.revision, step):
        start(person, test, step, at=at)


def record(person, test, step, at=AT, why="", note="", photo=None, **readings):
    """Record a step with passing entries, some replaced by name, and start the one after it."""
    result = record_step(
        act=Act(by=person, at=at, why=why),
        test=test,
        step=step,
        entries=good_entries(step, **readings),
        note=note,
        photo=photo,
    )
    start_next(person, test, at=at)
    return result


def record_all(person, test, **readings):
    """Record every step in order."""
    for step in steps_of(test):
        names = limits_of(step)
        record(person, test, step, **{name: entry for name, entry in readings.items() if name in names})


def hand_in(person, test, name, instrument=None, step=None):
    """Hand in one of the shared traces for the hold."""
    step = step or steps_of(test)[2]
    return offer_file(
        act=Act(by=person, at=AT),
        test=test,
        limit=limits_of(step)["decay"],
        instrument=instrument or transducer(),
        upload=upload(name),
    )


def trace_entry(logger_file, start_s=0.0, end_s=10_000.0, mapping=None):
    """A confirmed logger file, read as proposed."""
    from shop.services.files import read_bytes
    from workorders.calc.trace import read_trace

    mapping = mapping or read_trace(data=read_bytes(logger_file.file)).mapping
    return TraceEntry(logger_file=logger_file, mapping=mapping, window_start_s=start_s, window_end_s=end_s)

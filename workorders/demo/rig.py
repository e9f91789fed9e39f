"""At the test rig of the demo: readings that hold, holds that do not, logged traces, repeats."""

from collections.abc import Generator, Iterable
from datetime import datetime
from statistics import fmean

from django.core.files.uploadedfile import SimpleUploadedFile

from shop.models import Fluid, Port, StepLimit, TestStep
from workorders.calc.uncertainty import Gauge, reading_uncertainty
from workorders.demo.assembly import fit_again
from workorders.demo.job import Job
from workorders.demo.world import SHOP_FILE, Process
from workorders.models import Instrument, PressureTest
from workorders.services import logger_files, testing
from workorders.services.step_results import (
    CleanlinessEntry,
    CountEntry,
    EfficiencyEntry,
    Entry,
    HandHoldEntry,
    SteadyEntry,
    TraceEntry,
    ValueEntry,
    WitnessEntry,
)
from workorders.services.step_start import needs_start, start_step

Judged = StepLimit.Judged
TRACES = SHOP_FILE.parent / "traces"
TRACE_NOTE = "logged trace of another bench, see fixtures/traces/SOURCE.md"
TRACE_FILES = {
    "tight": "hold_tight.csv",
    "slow": "hold_slow_leak.csv",
    "fast": "hold_fast_leak.csv",
    "stroke": "stroke_oring_5bar.csv",
}
LOGGER = "TQ-G1"
RELIEF = "relief valve of the seal-carrier fixture, TQ-F2"
# What a step with that trouble shows, and at which position the seal is renewed for it.
SPOILED = {"fails": "bypass", "drips": "proof"}
LONG_HOLD_S = 300.0
SPREAD = {"insulation": 12.0}  # how far above its limit a good reading may lie; others lie near it
READ_WITH = {"drift": "TQ-D1", "shortest brush": "TQ-M1"}


def test_unit(job: Job) -> Process:
    """Test the unit to its plan, and again where the first test did not pass."""
    fluid = yield from _rig_fluid(job)
    trouble = job.story.trouble or _trouble_on_agenda(job)
    test = yield from _run(job, fluid, trouble)
    if trouble:
        yield from job.wait_at("not passed")
        yield from _set_aside(job, test, trouble)
        yield from _run(job, fluid, "")
    yield from job.wait_at("tested")


def _trouble_on_agenda(job: Job) -> str:
    if _logged_step(job) is None:
        return ""
    decided_at = next((limit.upper for limit in _logged_limits(job)), None) or 0
    if decided_at < 0.08 and job.agenda.take("slow, not decided"):
        return "slow"
    return "fast" if job.agenda.take("fast") else ""


def _rig_fluid(job: Job) -> Generator[datetime, None, Fluid]:
    """Return the fluid in the rig; a foreign one runs only after the lead's decision."""
    service = job.kind.service_fluid
    if service.family == "mineral" or not job.agenda.take("foreign rig fluid"):
        return service
    mineral = job.world.fluids["HM 32 mineral oil"]
    testing.decide_fluid(
        act=job.lead("the ester rig waits for its pump; the seals are good in both"),
        rebuild=job.rebuild,
        rig_fluid=mineral,
        flushing="twice with 0.2 L of the service fluid, blown out, then filled",
    )
    yield job.minutes(10, 30)
    return mineral


def _run(job: Job, fluid: Fluid, trouble: str) -> Generator[datetime, None, PressureTest]:
    test = testing.start_test(act=job.bench(), rebuild=job.rebuild, rig_fluid=fluid)
    test.plan = job.kind.plan  # the same plan, read once with its steps
    yield job.minutes(5, 15)
    for step in job.kind.plan.steps.all():
        if step.order == 4:
            yield from job.wait_at("on the rig")
        _start(job, test, step)
        yield from _record(job, test, step, trouble)
        yield job.minutes(3, 9)
    test = testing.sign_test(act=job.bench(), test=test, fluid_left=job.kind.service_fluid)
    yield job.minutes(5, 30)
    return test


def _set_aside(job: Job, test: PressureTest, trouble: str) -> Process:
    """Supersede a test that did not pass, and put right what it showed."""
    reasons = {
        "fails": "bypass at the piston; the seal is renewed and the test repeated",
        "drips": "drips at the gland under proof; the seal is renewed and the test repeated",
        "fast": "empties within two minutes; the piston seal is renewed and the test repeated",
        "slow": "not decided; held again for longer with the port plug renewed",
        "not decided": "not decided; held again for longer",
    }
    testing.supersede_test(act=job.bench(), test=test, reason=reasons[trouble])
    yield job.minutes(30, 200)
    wanted = "piston_seal" if trouble in ("fails", "fast") else "static_seal" if trouble == "drips" else ""
    place = next((p for p in job.kind.revision.positions.all() if p.kind == wanted), None)
    if place:
        yield from fit_again(job, place.code, f"test {test.number}: {reasons[trouble]}")


def _start(job: Job, test: PressureTest, step: TestStep) -> None:
    """Confirm what the kind of a step wants confirmed, with the rod port open to the tank."""
    if not needs_start(job.kind.revision, step):
        return
    relieved = step.facts.relief_required
    start_step(
        act=job.bench(),
        test=test,
        step=step,
        conditions=[each.key for each in step.facts.conditions],
        rod_port="none" if _is_vented(job) else "open",
        relief_bar=step.relief_bar if relieved else None,
        relief_by=RELIEF if relieved else "",
    )


def _is_vented(job: Job) -> bool:
    """Whether the rod side of the type has a breather instead of a port."""
    return any(port.fitting == Port.Fitting.PLUGGED for port in job.kind.revision.ports.all())


def _record(job: Job, test: PressureTest, step: TestStep, trouble: str) -> Process:
    limits = list(step.limits.all())
    file = _trace_for(job, step, trouble)
    note = _note(limits)
    entries: dict[StepLimit, Entry] = {}
    for limit in limits:
        if file and limit.judged == Judged.DECAY:
            entries[limit] = _logged(job, test, limit, file)
            note = TRACE_NOTE
        elif limit.judged == Judged.EFFICIENCY:
            entries[limit] = _efficiency(job, limit, entries.values())
        else:
            entries[limit] = _entry(job, step, limit, trouble)
    testing.record_step(act=job.bench(), test=test, step=step, entries=entries, note=note)
    return
    yield


def _note(limits: list[StepLimit]) -> str:
    witnessed = [limit.reading for limit in limits if limit.judged == Judged.WITNESS]
    return f"{', '.join(witnessed)}: seen by the tech" if witnessed else ""


def _logged_step(job: Job) -> TestStep | None:
    return next((s for s in job.kind.plan.steps.all() if s.kind == "hold" and s.pressure_bar == 7), None)


def _logged_limits(job: Job) -> list[StepLimit]:
    step = _logged_step(job)
    return list(step.limits.all()) if step else []


def _trace_for(job: Job, step: TestStep, trouble: str) -> str:
    """Return the logged trace of a hold, if this is one of the few that were logged."""
    if step != _logged_step(job) or trouble in ("fails", "not decided"):
        return ""
    if trouble in ("fast", "slow"):
        return trouble
    if job.agenda.take("tight"):
        return "tight"
    upper = next((limit.upper for limit in step.limits.all()), None) or 0
    return "slow" if upper >= 0.08 and job.agenda.take("slow") else ""


def _logged(job: Job, test: PressureTest, limit: StepLimit, file: str) -> TraceEntry:
    logger = job.world.instruments[LOGGER]
    if job.agenda.take("wrong file"):
        # The file of another test, handed in by mistake: it stays beside the test, unused.
        logger_files.offer_file(
            act=job.bench(), test=test, limit=limit, instrument=logger, upload=_upload("stroke")
        )
    offered = logger_files.offer_file(
        act=job.bench(), test=test, limit=limit, instrument=logger, upload=_upload(file)
    )
    proposed = logger_files.propose(offered, logger_files.Choices(), job.bench())
    return TraceEntry(
        logger_file=offered,
        mapping=proposed.trace.mapping,
        window_start_s=0.0,
        window_end_s=proposed.trace.duration_s,
    )


def _upload(file: str) -> SimpleUploadedFile:
    path = TRACES / TRACE_FILES[file]
    return SimpleUploadedFile(path.name, path.read_bytes(), content_type="text/csv")


def _entry(job: Job, step: TestStep, limit: StepLimit, trouble: str) -> Entry:
    if limit.judged == Judged.WITNESS:
        return WitnessEntry(as_required=True)
    if limit.judged == Judged.COUNT:
        return CountEntry(count=_count(job, step, limit, trouble))
    if limit.judged == Judged.DECAY:
        return _hand_hold(job, step, limit, trouble)
    if limit.judged == Judged.CLEANLINESS:
        return _sample(job)
    instrument = _instrument_for(job, limit)
    if limit.judged == Judged.STEADY:
        return _steady(job, limit, instrument)
    if limit.judged == Judged.RECORDED:
        supply_v = job.kind.revision.supply_v or 0
        value = _shown(instrument, supply_v * job.throw.uniform(0.94, 1.02))
        return ValueEntry(value=value, instrument=instrument)
    return ValueEntry(value=_value(job, limit, instrument), instrument=instrument)


def _steady(job: Job, limit: StepLimit, instrument: Instrument) -> SteadyEntry:
    """Return three readings of a pump that delivers well over its limit."""
    mean = (limit.lower or 0) * job.throw.uniform(1.12, 1.3)
    readings = [_shown(instrument, mean * job.throw.uniform(0.99, 1.01)) for _turn in range(3)]
    return SteadyEntry(readings=tuple(readings), instrument=instrument)


def _efficiency(job: Job, limit: StepLimit, before: Iterable[Entry]) -> EfficiencyEntry:
    """Return the flow of the readings before it, and a speed that makes the pump a good one."""
    steady = next(entry for entry in before if isinstance(entry, SteadyEntry))
    rows = job.world.instruments.values()
    tachometer = next(row for row in rows if row.quantity == "speed")
    flow = _shown(steady.instrument, fmean(steady.readings))
    full_rpm = flow * 1000 / (limit.displacement_cm3 or 1)
    return EfficiencyEntry(
        flow_l_min=flow,
        speed_rpm=_shown(tachometer, full_rpm / job.throw.uniform(0.82, 0.93)),
        instrument=steady.instrument,
        speed_instrument=tachometer,
    )


def _sample(job: Job) -> CleanlinessEntry:
    """Return the counts of a sample that is clean enough, as the counter of the shop shows them."""
    small = job.throw.uniform(900, 4300)
    counts = (round(small), round(small * job.throw.uniform(0.22, 0.29)), round(job.throw.uniform(30, 140)))
    report = f"counter of the shop, sample {job.rebuild.unit.serial}-{job.rebuild.number}"
    return CleanlinessEntry(report=report, counts_per_ml=(counts[0], counts[1], counts[2]))


def _count(job: Job, step: TestStep, limit: StepLimit, trouble: str) -> int:
    if limit.lower is not None:
        return round(limit.lower)
    most = round(limit.upper or 0)
    if SPOILED.get(trouble) == step.kind:
        return most + job.throw.randint(2, 9)
    return job.throw.randint(0, most // 2)


def _hand_hold(job: Job, step: TestStep, limit: StepLimit, trouble: str) -> HandHoldEntry:
    """Return a hold read by hand: clearly within its limit, or so near to it that nobody can tell."""
    pressure_bar, hold_s, upper = step.pressure_bar or 0, step.hold_s or 0, limit.upper or 0
    instrument = _gauge_for(job, pressure_bar)
    share = 0.97 if trouble == "not decided" else job.throw.uniform(0.02, 0.3)
    duration = hold_s + job.throw.randint(1, 9)
    if not trouble and hold_s < LONG_HOLD_S and job.chance(0.3):
        duration = LONG_HOLD_S
    start = pressure_bar * job.throw.uniform(1.01, 1.04)
    start = _shown(instrument, min(start, instrument.range_high))
    end = _shown(instrument, start - upper * share * duration / 60)
    return HandHoldEntry(start_bar=start, end_bar=end, duration_s=duration, instrument=instrument)


def _gauge_for(job: Job, pressure_bar: float) -> Instrument:
    gauges = sorted(
        (row for row in job.world.instruments.values() if row.quantity == "pressure"),
        key=lambda row: row.range_high,
    )
    return next(row for row in gauges if row.range_high >= pressure_bar * 1.03)


def _instrument_for(job: Job, limit: StepLimit) -> Instrument:
    if limit.quantity == "pressure":
        return _gauge_for(job, max(limit.lower or 0, limit.upper or 0))
    if limit.reading in READ_WITH:
        return job.world.instruments[READ_WITH[limit.reading]]
    rows = job.world.instruments.values()
    return next(row for row in rows if (row.quantity, row.unit) == (limit.quantity, limit.unit))


def _value(job: Job, limit: StepLimit, instrument: Instrument) -> float:
    """Return a reading that meets its limits with all of its uncertainty."""
    gauge = Gauge(
        accuracy=instrument.accuracy, full_scale=instrument.range_high, resolution=instrument.resolution
    )
    spare = reading_uncertainty(gauge=gauge).expanded + instrument.resolution
    low = limit.lower + spare if limit.lower is not None else None
    high = limit.upper - spare if limit.upper is not None else None
    if low is not None and high is not None:
        return _shown(instrument, low + (high - low) * job.throw.uniform(0.2, 0.8))
    if low is not None:
        most = SPREAD.get(limit.quantity, 1.03)
        return _shown(instrument, low * job.throw.uniform(1.0, most) + instrument.resolution)
    assert high is not None
    return _shown(instrument, high * job.throw.uniform(0.6, 0.9))


def _shown(instrument: Instrument, value: float) -> float:
    """Return a value as the instrument shows it: a whole number of its steps."""
    step = instrument.resolution
    return round(round(value / step) * step, 6)

"""Teardown in the demo: what each place, size and fluid shows."""

from collections.abc import Mapping, Sequence

from shop.models import Component, DimensionLimit, Port, SealPosition
from workorders.demo import photos
from workorders.demo.job import Job
from workorders.demo.world import Process, pick
from workorders.models import Instrument, Rebuild
from workorders.services import teardown
from workorders.services.hoses import came_along, numbers_attached, ports_to_photograph
from workorders.services.places import Place

Seen = tuple[str, str, str, str]  # condition, cause, action, note
Quantity = DimensionLimit.Quantity

SEALS: Mapping[str, Sequence[tuple[tuple[str, str], float]]] = {
    "rod_seal": [
        (("hardened", "age"), 34),
        (("worn", "wear"), 30),
        (("worn", "contamination"), 10),
        (("extruded", "pressure"), 6),
        (("hardened", "heat"), 5),
        (("cut", "not_determined"), 5),
        (("worn", "side_load"), 6),
        (("sound", "none"), 4),
    ],
    "wiper": [
        (("hardened", "age"), 35),
        (("worn", "wear"), 25),
        (("worn", "contamination"), 20),
        (("cracked", "age"), 12),
        (("missing", "not_determined"), 3),
        (("sound", "none"), 5),
    ],
    "piston_seal": [
        (("worn", "wear"), 48),
        (("worn", "contamination"), 14),
        (("extruded", "pressure"), 7),
        (("broken_up", "not_determined"), 3),
        (("sound", "none"), 28),
    ],
    "shaft_seal": [(("hardened", "heat"), 35), (("oil_wet", "wear"), 35), (("worn", "wear"), 30)],
    "other": [
        (("compression_set", "age"), 58),
        (("hardened", "age"), 20),
        (("cut", "assembly"), 4),
        (("swollen", "fluid"), 3),
        (("sound", "none"), 15),
    ],
}
COMPONENTS: Sequence[tuple[Seen, float]] = [
    (("sound", "none", "kept", ""), 84),
    (("worn", "wear", "kept", "within limits"), 9),
    (("corroded", "water", "reworked", "light rust, polished out"), 7),
]
# What a returned unit shows, by its problem: the seal kind it sits at, condition, cause, words.
PROBLEMS: Mapping[str, tuple[str, str, str, str]] = {
    "bad lot": ("rod_seal", "cracked", "not_determined", "lip cracked all round after months"),
    "weak": ("wiper", "worn", "contamination", "grit behind the wiper, the rod scratched on one side"),
    "assembly": ("static_seal", "cut", "assembly", "nicked at the edge of the thread"),
    "declined": ("piston_seal", "swollen", "fluid", "swollen by a foreign fluid, thread marks of a wrench"),
    "age": ("rod_seal", "worn", "wear", "an even shine, nothing else"),
}


HOSES: Sequence[tuple[Seen, float]] = [
    (("sound", "none", "kept", ""), 70),
    (("chafed_cover", "wear", "kept", "rubbed at the bracket, sleeve put over it"), 20),
    (("end_corroded", "water", "kept", "surface rust, brushed"), 10),
]


def tear_down(job: Job) -> Process:
    """Take the unit apart: photos, sizes, fluid, findings, signature."""
    for hose in ports_to_photograph(job.rebuild):
        shown = photos.of_port()
        teardown.record_port_photos(act=job.bench(), rebuild=job.rebuild, hose=hose, photos=[shown])
        yield job.minutes(1, 3)
    if job.is_recent:
        yield from photos.take(job, "teardown", "as taken apart")
    yield from _measure(job)
    yield from _find(job)
    # In a set, so that the warning goes to the others of the machine.
    if job.box and len(job.box.jobs) > 1 and job.agenda.take("debris"):
        teardown.record_debris(act=job.bench(), rebuild=job.rebuild, origin=_origin(job))
        yield job.minutes(2, 6)
    teardown.close_teardown(act=job.bench(), rebuild=job.rebuild)
    yield job.minutes(5, 20)


def _measure(job: Job) -> Process:
    """Measure every dimension; one lies outside its limits, where the story says so."""
    limits = list(job.kind.revision.dimension_limits.all())
    can_wear = [limit for limit in limits if not limit.gland_figure]  # a groove does not wear
    job.worn = _worn_rod(job) or (job.throw.choice(can_wear) if can_wear and job.story.worn else None)
    for limit in limits:
        readings = {n: reading_within(job, limit) for n in range(1, limit.stations + 1)}
        if limit is job.worn:
            readings[job.throw.randint(1, limit.stations)] = _outside(job, limit)
        record_readings(job, limit, readings, "as_found")
        yield job.minutes(2, 5)


def _worn_rod(job: Job) -> DimensionLimit | None:
    """Return the diameter of the rod, where it is time for one that only a plater can put right."""
    if job.exchange or job.story.stop or job.story.exit or job.story.problem:
        return None
    rods = [row for row in job.kind.revision.dimension_limits.all() if row.quantity == Quantity.ROD_DIAMETER]
    return rods[0] if rods and job.agenda.take("worn rod") else None


def record_readings(job: Job, limit: DimensionLimit, readings: dict[int, float], moment: str) -> None:
    """Record the readings of one dimension by station, with the instrument that takes them."""
    teardown.record_readings(
        act=job.bench(),
        rebuild=job.rebuild,
        limit=limit,
        readings=readings,
        instrument=_instrument_for(job, limit),
        moment=moment,
    )


def _instrument_for(job: Job, limit: DimensionLimit) -> Instrument:
    codes = {Quantity.BORE: "TQ-M2", Quantity.SURFACE: "TQ-R1", Quantity.RUN_OUT: "TQ-D1"}
    return job.world.instruments[codes.get(Quantity(limit.quantity), "TQ-M1")]


def reading_within(job: Job, limit: DimensionLimit) -> float:
    """Return a reading well within its limits."""
    if limit.lower is not None and limit.upper is not None:
        return round(limit.lower + job.throw.uniform(0.2, 0.85) * (limit.upper - limit.lower), 3)
    if limit.upper is not None:
        return round(limit.upper * job.throw.uniform(0.25, 0.75), 2)
    assert limit.lower is not None
    return round(limit.lower * job.throw.uniform(1.08, 1.45), 1)


def _outside(job: Job, limit: DimensionLimit) -> float:
    if limit.quantity == Quantity.BORE and limit.upper is not None:
        return round(limit.upper + job.throw.uniform(0.02, 0.06), 3)
    if limit.lower is not None:
        return round(limit.lower - job.throw.uniform(0.01, 0.05) * max(1, limit.lower / 12), 3)
    assert limit.upper is not None
    return round(limit.upper * job.throw.uniform(1.2, 1.9), 2)


def _find(job: Job) -> Process:
    foreign = job.story.problem == "declined"
    fluid = job.world.fluids["HFC 46 water glycol"] if foreign else job.kind.revision.service_fluid
    teardown.record_fluid(
        act=job.bench(),
        rebuild=job.rebuild,
        fluid=fluid if foreign or job.chance(0.7) else None,
        kind_note="" if foreign else "oil, by its smell",
        colour=job.throw.choice(["brown", "straw", "dark brown", "grey"]),
        smell=job.throw.choice(["", "burnt", "none"]),
        water=pick(job.throw, [("none", 70), ("cloudy", 20), ("free", 5), ("not_examined", 5)]),
    )
    yield job.minutes(2, 4)
    for place in _looked_at(job):
        condition, cause, action, note = _seen(job, place)
        finding = job.findings[place.code] = teardown.record_finding(
            act=job.bench(),
            rebuild=job.rebuild,
            place=place,
            condition=condition,
            cause=cause,
            action=action,
            note=note,
        )
        if job.is_recent and condition not in ("sound", "not_examined") and job.chance(0.2):
            yield from photos.take(job, "teardown", str(place), finding)
        yield job.minutes(1, 4)
    yield from _find_hoses(job)
    if job.story.rest:
        for answer in (teardown.renew_rest, teardown.keep_rest):
            rest = answer(act=job.bench(), rebuild=job.rebuild)
            job.findings |= {finding.place.code: finding for finding in rest if finding.place}
            yield job.minutes(1, 2)


def _find_hoses(job: Job) -> Process:
    """Look at the hoses that came along; the others stayed with the machine."""
    numbers = numbers_attached(job.rebuild)
    away = False
    for hose in job.kind.revision.hoses.all():
        if not came_along(hose, numbers):
            away = True
            continue
        condition, cause, action, note = pick(job.throw, HOSES)
        told = {"condition": condition, "cause": cause, "action": action, "note": note}
        finding = teardown.record_finding(act=job.bench(), rebuild=job.rebuild, place=hose, **told)
        job.findings[hose.code] = finding
        yield job.minutes(1, 3)
    if away:
        for finding in teardown.hoses_not_here(act=job.bench(), rebuild=job.rebuild):
            assert finding.place
            job.findings[finding.place.code] = finding
        yield job.minutes(1, 2)


def _looked_at(job: Job) -> list[Place]:
    """Return the places that get a look of their own; the others are answered together."""
    revision = job.kind.revision
    seals = list(revision.positions.all())
    others: list[Component | Port] = [*revision.components.all(), *revision.ports.all()]
    if not job.story.rest:
        return [*seals, *others]
    telling = [place for place in others if carries(place, job.worn) or _is_crimped(place)]
    return [seals[0], *telling]


def carries(place: Place, worn: DimensionLimit | None) -> bool:
    """Whether a place is the component that carries a dimension."""
    if worn is None or not isinstance(place, Component):
        return False
    carrier = {Quantity.BORE: "barrel", Quantity.LENGTH: "brushes"}.get(Quantity(worn.quantity), "rod")
    return place.kind == carrier


def _is_crimped(place: Place) -> bool:
    return isinstance(place, Port) and place.fitting == Port.Fitting.CRIMPED


def _seen(job: Job, place: Place) -> Seen:
    if isinstance(place, Port):
        if not _is_crimped(place):
            return ("sound", "none", "kept", "")
        if job.rebuild.number > 1:
            return ("sound", "none", "renewed", "our clip, renewed as a matter of course")
        return ("sound", "none", "reworked", "crimp out, clip on")
    if isinstance(place, Component):
        return _component_seen(job, place)
    assert isinstance(place, SealPosition)
    at, condition, cause, words = PROBLEMS.get(job.story.problem, ("", "", "", ""))
    if place.kind == at:
        return (condition, cause, "renewed", words)
    weak = place.code == job.kind.data.get("weak_position") and job.chance(0.45)
    if weak:
        return ("worn", "contamination", "renewed", "grit behind the wiper")
    found = pick(job.throw, SEALS.get(place.kind, SEALS["other"]))
    note = job.throw.choice(job.world.words["notes"]) if job.chance(0.15) else ""
    if job.chance(0.06):
        return (found[0] if found[0] != "sound" else "worn", "not_determined", "renewed", note)
    return (*found, "renewed", note)


def _component_seen(job: Job, place: Component) -> Seen:
    if job.story.exit in (Rebuild.Stage.SCRAPPED, Rebuild.Stage.EXCHANGE_CORE) and place.order == 1:
        return ("scored", "contamination", "rejected", "beyond what a sleeve can save")
    if carries(place, job.worn):
        if place.kind == Component.Kind.BRUSHES:
            return ("worn", "wear", "renewed", "below the mark")
        return ("scored", "side_load", "reworked", "see the sizes")
    if place.kind in (Component.Kind.BRUSHES, Component.Kind.SCREEN) and job.chance(0.3):
        worn_out = place.kind == Component.Kind.BRUSHES
        return ("worn", "wear", "renewed", "") if worn_out else ("blocked", "contamination", "renewed", "")
    if place.kind in (Component.Kind.ROD, Component.Kind.BARREL, Component.Kind.PUMPING_ELEMENT):
        seen: Seen = pick(job.throw, COMPONENTS)
        return seen
    if job.chance(0.05):
        return ("not_examined", "not_determined", "kept", "")
    return ("sound", "none", "kept", "")


def _origin(job: Job) -> str:
    pistons = [p for p in job.kind.revision.positions.all() if p.kind == SealPosition.Kind.PISTON_SEAL]
    if pistons:
        return f"{pistons[0]}: black crumbs and white threads"
    return "from elsewhere in the circuit: black rubber crumbs"

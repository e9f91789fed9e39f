"""Teardown: what each place, dimension and the fluid showed, and the signature that closes it."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from math import isfinite
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.urls import reverse
from django.utils import timezone

from shop.errors import RuleBroken
from shop.models import DimensionLimit, Hose
from shop.services.writing import Act, keep, locked, service
from workorders.models import Finding, FluidFound, Instrument, Measurement, Photo, Rebuild, Signature
from workorders.services.dimensions import dimensions
from workorders.services.draft_places import missing_places
from workorders.services.hoses import (
    add_port_photos,
    came_along,
    check_hose_finding,
    numbers_attached,
    ports_to_photograph,
)
from workorders.services.inside_leaks import set_evidence
from workorders.services.instruments import calibration_state
from workorders.services.missing import Missing, require_nothing_missing
from workorders.services.photos import add_photo
from workorders.services.places import Place, at, key_of, kind_of, places, require_place_of, row_key
from workorders.services.reading_sums import Judge, judge_of
from workorders.services.record.work import work_record
from workorders.services.signing import sign
from workorders.services.stages import refresh_stage
from workorders.services.standing import Meaning, begin_build, check_done_at, hold_open
from workorders.services.work import Work, work_of


def _begin(act: Act, rebuild: Rebuild) -> Rebuild:
    """Hold a rebuild whose teardown may be written to; after its signature only with a reason."""
    row, facts = hold_open(rebuild)
    if not facts.signed_received:
        raise RuleBroken(
            "The preliminary inspection on arrival is not signed yet. "
            "Receiving signs it before anything is taken apart."
        )
    if facts.signed_torn_down and not act.why.strip():
        raise RuleBroken(fields={"why": "The teardown is signed already. Say why it is corrected."})
    return row


@service("teardown")
def record_finding(
    *,
    act: Act,
    rebuild: Rebuild,
    place: Place,
    condition: str,
    cause: str,
    action: str,
    note: str = "",
    photos: Iterable["UploadedFile[Any]"] = (),
    evidence: str = "",
    corrosion: str = "",
    pitting: str = "",
    **of_hose: Any,
) -> Finding:
    """Record what one place showed; a second call changes it, and history keeps the first.

    ``corrosion`` and ``pitting`` are the grades of what is corroded. ``evidence`` shows a leak past a
    piston. ``of_hose``: ``length_mm`` as found, ``kept_reason`` of the lead for a hose kept in a state in
    which it is replaced, ``no_photo_reason`` where its port has no photo from before.
    Raises RuleBroken before the inspection on arrival is signed, for a place of another revision,
    after the release, once the teardown is signed without a reason in ``act.why``, and for a hose
    as ``check_hose_finding`` does.
    """
    row = _begin(act, rebuild)
    require_place_of(row.revision, place)
    earlier = row.findings.filter(**at(place)).order_by("pk").first()
    finding = earlier or Finding(rebuild=row, **at(place))
    if isinstance(place, Hose):
        _set_of_hose(act, finding, place, condition, action, of_hose)
    elif any(of_hose.values()):
        raise RuleBroken(f"{place} is not a hose: only a hose has a length and a photo of its port.")
    finding.condition, finding.corrosion, finding.pitting = condition, corrosion, pitting
    set_evidence(finding, place, evidence, note)
    _keep_finding(act, finding, condition, cause, action, note)
    for upload in photos:
        told: dict[str, Any] = {"caption": str(place)[:160], "finding": finding}
        add_photo(act=act, rebuild=row, upload=upload, moment=Photo.Moment.TEARDOWN, **told)
    return finding


def _set_of_hose(
    act: Act, finding: Finding, hose: Hose, condition: str, action: str, told: Mapping[str, Any]
) -> None:
    kept_before = finding.kept_reason
    finding.condition, finding.action = condition, action
    finding.length_mm = float(told["length_mm"]) if told.get("length_mm") else None
    finding.kept_reason = told.get("kept_reason", "").strip()
    finding.no_photo_reason = told.get("no_photo_reason", "").strip()
    check_hose_finding(act, finding.rebuild, hose, finding, kept_before)


def _keep_finding(
    act: Act, finding: Finding, condition: str, cause: str, action: str, note: str = ""
) -> Finding:
    finding.condition, finding.cause, finding.action = condition, cause, action
    finding.note = note.strip()
    finding.found_at, finding.found_by = act.at, act.by
    return keep(finding)


@service("teardown")
def renew_rest(*, act: Act, rebuild: Rebuild) -> list[Finding]:
    """Answer every open seal position with: renewed, not examined, cause not determined.

    Raises RuleBroken where nothing is open.
    """
    return _answer_rest(act, rebuild, ("position",), Finding.Action.RENEWED)


@service("teardown")
def keep_rest(*, act: Act, rebuild: Rebuild) -> list[Finding]:
    """Answer every open component, port and hose with: kept, not examined, cause not determined.

    A hose that did not come with the unit is answered with: not here. Raises RuleBroken where
    nothing is open.
    """
    return _answer_rest(act, rebuild, ("component", "port", "hose"), Finding.Action.KEPT)


@service("teardown")
def hoses_not_here(*, act: Act, rebuild: Rebuild) -> list[Finding]:
    """Answer every open hose that did not come with the unit with: not here, stayed with the machine.

    Raises RuleBroken where none is open.
    """
    row = _begin(act, rebuild)
    numbers = numbers_attached(row)
    rest = [place for place in open_places(row) if isinstance(place, Hose) and not came_along(place, numbers)]
    if not rest:
        raise RuleBroken("No hose is open that did not come with the unit.")
    return [_not_here(act, row, hose) for hose in rest]


def _not_here(act: Act, rebuild: Rebuild, hose: Hose) -> Finding:
    Condition, Cause, Action = Finding.Condition, Finding.Cause, Finding.Action
    finding = Finding(rebuild=rebuild, hose=hose)
    return _keep_finding(act, finding, Condition.NOT_HERE, Cause.NOT_DETERMINED, Action.NONE)


@service("teardown")
def record_port_photos(
    *, act: Act, rebuild: Rebuild, hose: Hose, photos: Iterable["UploadedFile[Any]"]
) -> list[Photo]:
    """Add photos of the port of a hose from before the hose comes off.

    Raises RuleBroken without a photo, and as ``record_finding`` does.
    """
    row = _begin(act, rebuild)
    require_place_of(row.revision, hose)
    return add_port_photos(act, row, hose, list(photos))


def _answer_rest(act: Act, rebuild: Rebuild, kinds: tuple[str, ...], action: str) -> list[Finding]:
    row = _begin(act, rebuild)
    rest = [place for place in open_places(row) if kind_of(place) in kinds]
    if not rest:
        raise RuleBroken("Nothing is open there any more.")
    numbers = numbers_attached(row) if any(isinstance(place, Hose) for place in rest) else []
    unseen, unknown = Finding.Condition.NOT_EXAMINED, Finding.Cause.NOT_DETERMINED
    return [
        _not_here(act, row, place)
        if isinstance(place, Hose) and not came_along(place, numbers)
        else _keep_finding(act, Finding(rebuild=row, **at(place)), unseen, unknown, action)
        for place in rest
    ]


def open_places(rebuild: Rebuild, findings: Iterable[Finding] | None = None) -> list[Place]:
    """Return the places that have no finding yet, in the order of the unit type."""
    rows = rebuild.findings.order_by() if findings is None else findings
    judged = {row_key(finding) for finding in rows}
    return [place for place in places(rebuild.revision) if key_of(place) not in judged]


@service("teardown")
def record_measurement(
    *,
    act: Act,
    rebuild: Rebuild,
    limit: DimensionLimit,
    station: int,
    value: float,
    instrument: Instrument | None = None,
    moment: str = Measurement.Moment.AS_FOUND,
) -> Measurement:
    """Record one reading of a dimension, in the unit of its limit; a second call changes it.

    What the sum of its gland or of its length says is kept with it, as of now.
    Raises RuleBroken for a limit of another revision, a station that is not there, an instrument
    that cannot take it or is out of calibration, and as ``record_finding`` does.
    """
    row = _begin_reading(act, rebuild, limit, {station: value}, instrument, moment)
    same = {"limit": limit, "station": station, "moment": moment}
    reading = row.measurements.filter(**same).order_by("pk").first()
    judge = judge_of(limit)
    return _keep_reading(act, reading or Measurement(rebuild=row, **same), value, instrument, judge)


@service("teardown")
def record_readings(
    *,
    act: Act,
    rebuild: Rebuild,
    limit: DimensionLimit,
    readings: Mapping[int, float],
    instrument: Instrument | None,
    moment: str = Measurement.Moment.AS_FOUND,
) -> list[Measurement]:
    """Record the readings of one dimension by station, leaving those that stand as they are.

    Raises RuleBroken as ``record_measurement`` does.
    """
    row = _begin_reading(act, rebuild, limit, readings, instrument, moment)
    same = {"limit": limit, "moment": moment}
    stands = {reading.station: reading for reading in row.measurements.filter(**same).order_by()}
    judge = judge_of(limit)
    made = []
    for station, value in sorted(readings.items()):
        reading = stands.get(station) or Measurement(rebuild=row, station=station, **same)
        if reading.pk and (reading.value, reading.instrument_id) == (value, instrument and instrument.pk):
            continue
        made.append(_keep_reading(act, reading, value, instrument, judge))
    return made


def _begin_reading(
    act: Act,
    rebuild: Rebuild,
    limit: DimensionLimit,
    readings: Mapping[int, float],
    instrument: Instrument | None,
    moment: str,
) -> Rebuild:
    """Hold a rebuild for readings of one dimension; refuse those that cannot be."""
    after = moment == Measurement.Moment.AFTER
    row = begin_build(act, rebuild) if after else _begin(act, rebuild)
    if limit.revision_id != row.revision_id:
        raise RuleBroken(f"{limit} is not a dimension of {row.revision}.")
    for station, value in readings.items():
        if not 1 <= station <= limit.stations:
            raise RuleBroken(fields={"station": f"{limit} has stations 1 to {limit.stations}."})
        if not isfinite(value):
            raise RuleBroken(fields={"value": "Enter a number."})
    if instrument:
        _check_instrument(act, limit, instrument)
    return row


def _keep_reading(
    act: Act, reading: Measurement, value: float, instrument: Instrument | None, judge: Judge
) -> Measurement:
    reading.value, reading.instrument = value, instrument
    judged = judge(value)
    reading.sum_within, reading.sum_sentence = judged.within, judged.sentence
    reading.measured_at, reading.measured_by = act.at, act.by
    return keep(reading)


def quantities_for(limit: DimensionLimit) -> tuple[str, ...]:
    """Return what an instrument must measure to read a dimension."""
    if limit.quantity == DimensionLimit.Quantity.SURFACE:
        return (Instrument.Quantity.ROUGHNESS,)
    return (Instrument.Quantity.LENGTH,)


def _check_instrument(act: Act, limit: DimensionLimit, instrument: Instrument) -> None:
    if instrument.quantity not in quantities_for(limit):
        raise RuleBroken(fields={"instrument": f"{instrument} does not measure {limit.name}."})
    state = calibration_state(instrument, timezone.localdate(act.at))
    if not state.is_valid:
        message = f"{instrument} is {state.word}. {state.sentence} Take another one."
        raise RuleBroken(fields={"instrument": message})


@service("teardown")
def record_fluid(*, act: Act, rebuild: Rebuild, **fields: Any) -> FluidFound:
    """Record the fluid found; fields: fluid, kind_note, colour, smell, water.

    A second call changes it. Raises RuleBroken as ``record_finding`` does.
    """
    row = _begin(act, rebuild)
    found = FluidFound.objects.filter(rebuild=row).first() or FluidFound(rebuild=row)
    for name, value in fields.items():
        setattr(found, name, value)
    return keep(found)


@service("teardown")
def record_debris(*, act: Act, rebuild: Rebuild, origin: str) -> Rebuild:
    """Record debris with where it came from, and flag the other open units of the work order.

    Fragments travel through the circuit (common practice, no source). Raises RuleBroken without
    an origin, and as ``record_finding`` does.
    """
    locked(rebuild.work_order)
    row = _begin(act, rebuild)
    if not origin.strip():
        message = "Say where the debris came from. “Not determined” is an answer."
        raise RuleBroken(fields={"origin": message})
    row.debris_found, row.debris_origin = True, origin.strip()
    keep(row)
    _flag_circuit(row)
    return row


@service("teardown")
def withdraw_debris(*, act: Act, rebuild: Rebuild) -> Rebuild:
    """Take back debris that was recorded on the wrong unit; ``act.why`` is the reason.

    Raises RuleBroken without a reason, and where no debris is recorded.
    """
    locked(rebuild.work_order)
    row = _begin(act, rebuild)
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the debris is taken back."})
    if not row.debris_found:
        raise RuleBroken("No debris is recorded on this unit.")
    row.debris_found, row.debris_origin = False, ""
    keep(row)
    _flag_circuit(row)
    return row


def _flag_circuit(rebuild: Rebuild) -> None:
    """Set the flag of each open unit of the work order: debris in any of the others.

    The caller holds the work order: two who find debris at once do not wait for each other's unit.
    """
    rows = list(Rebuild.objects.filter(work_order=rebuild.work_order_id).order_by("pk"))
    dirty = {row.pk for row in rows if row.debris_found}
    for row in rows:
        flag = bool(dirty - {row.pk})
        if row.is_open and row.circuit_flagged != flag:
            other = locked(row)
            other.circuit_flagged = flag
            keep(other)


def missing_for_teardown(rebuild: Rebuild, *, work: Work | None = None) -> list[Missing]:
    """Return by name what is open: places, photos of ports, readings not taken, the fluid."""
    findings = work.findings if work else list(rebuild.findings.select_related("component").order_by())
    found = [
        Missing(str(place), "no finding yet", _url("finding", rebuild, kind_of(place), place.pk))
        for place in open_places(rebuild, findings)
    ]
    found += _missing_photos(rebuild, findings)
    found = missing_places(rebuild) or found
    for dimension in dimensions(rebuild, findings, work.measurements if work else None):
        if dimension.limit.required and dimension.missing and not dimension.replaced:
            numbers = ", ".join(str(number) for number in dimension.missing)
            sentence = f"no reading at station {numbers} of {dimension.limit.stations}"
            url = _url("measurement", rebuild, dimension.limit.pk, Measurement.Moment.AS_FOUND)
            found.append(Missing(str(dimension.limit), sentence, url))
    if not FluidFound.objects.filter(rebuild=rebuild).exists():
        found.append(Missing("Fluid found", "not recorded yet", _url("fluid_found", rebuild)))
    return found


def _missing_photos(rebuild: Rebuild, findings: Iterable[Finding]) -> list[Missing]:
    """Name the ports without a photo from before their hose came off, unless a reason is given."""
    excused = {row.hose_id for row in findings if row.hose_id and row.no_photo_reason}
    sentence = "no photo from before hose {} came off; take it, or say at the hose why there is none"
    return [
        Missing(str(hose.port), sentence.format(hose.code), _url("port_photo", rebuild, hose.pk))
        for hose in ports_to_photograph(rebuild)
        if hose.pk not in excused
    ]


def _url(name: str, rebuild: Rebuild, *args: Any) -> str:
    return reverse(f"workorders:{name}", args=[rebuild.pk, *args])


@service("teardown")
def close_teardown(*, act: Act, rebuild: Rebuild, done_at: datetime | None = None) -> Signature:
    """Sign the teardown over the record as it stands; ``done_at`` may lie before now.

    Raises RuleBroken that names everything still open, and where it is signed already.
    """
    row, facts = hold_open(rebuild)
    if not facts.signed_received:
        raise RuleBroken("The preliminary inspection on arrival is not signed yet.")
    if facts.signed_torn_down:
        raise RuleBroken("The teardown is signed already; correct single entries with a reason.")
    work = work_of(row, facts)
    require_nothing_missing(missing_for_teardown(row, work=work), "The teardown is not complete.")
    check_done_at(act, row, done_at)
    signed = sign(
        act=act, rebuild=row, meaning=Meaning.TORN_DOWN, content=work_record(row, work), done_at=done_at
    )
    refresh_stage(row)
    return signed

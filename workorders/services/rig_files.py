"""Logger files that rigs send: taken once, handed in or kept aside, given to a step, dismissed."""

import hashlib
from datetime import datetime, timedelta

from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils import timezone

from shop.errors import RuleBroken
from shop.models import StepLimit
from shop.services.files import read_bytes
from shop.services.writing import Act, keep, locked, service
from workorders.calc.trace import TraceMapping
from workorders.models import (
    Instrument,
    LoggerFile,
    PressureTest,
    Rig,
    RigFile,
    RigRefusal,
    RigToken,
    Trace,
    Unit,
)
from workorders.services.instruments import day
from workorders.services.logger_files import hand_in, read_file, takes_file
from workorders.services.rig_sends import (
    Meant,
    Read,
    Refused,
    Sent,
    column_mapping,
    fits,
    meaning_of,
    read_sent,
)
from workorders.services.rigs import stands_for
from workorders.services.running import progress_of
from workorders.services.trace_sources import source_from, store_upload

# A logger that tries again every few seconds is listed once in this time with the same refusal.
SAME_REFUSAL = timedelta(minutes=10)
USED_AGAIN = timedelta(minutes=1)  # how far "last used" may lag behind
SHOWN = 8  # on the page of a test or a rig
MOST_TESTS = 50  # offered for a file of which nobody knows the unit


def receive_file(*, token: RigToken, sent: Sent, at: datetime | None = None) -> tuple[RigFile, bool]:
    """Take a file that a rig sent; return its row, and whether it is new.

    The same bytes, sent again with the same words or for the same reading, are the row there is.
    The act is that of the person who made the token; history and the file say which rig sent it.
    Raises Refused, and keeps nothing, for what is wrong; the refusal itself is listed.
    """
    at = at or timezone.now()
    try:
        if not stands_for(token):
            raise Refused(
                403,
                "token_without_person",
                f"{token.made_by} made this token and may no longer hand in files; the lead makes a new one.",
            )
        if token.last_day and token.has_ended(timezone.localdate(at)):
            raise Refused(
                403,
                "token_ended",
                f"The {token} was taken until {day(token.last_day)}; the lead makes a new one on the page of "
                "the rig.",
            )
        act = Act(by=token.made_by, at=at, why=f"sent by rig {token.rig.code}, {token}")
        row = _known(token.rig, sent)
        if row is not None:
            return row, False
        _refuse_retired(token.rig)
        read = read_sent(token.rig, sent)
        try:
            return _take(act=act, token=token, sent=sent, read=read)
        except RuleBroken as error:
            raise Refused(422, "refused", str(error)) from error
    except Refused as error:
        note_refusal(token=token, error=error, sent=sent, at=at)
        raise
    finally:
        _note_use(token, at)


def _refuse_retired(rig: Rig) -> None:
    if rig.retired:
        raise Refused(409, "rig_retired", f"Rig {rig.code} is retired; the lead takes it back into use.")


def _known(rig: Rig, sent: Sent) -> RigFile | None:
    rows = RigFile.objects.select_related(*WITH)
    return rows.filter(rig=rig, sha256=_sha256(sent), told=sent.told).first()


def _sha256(sent: Sent) -> str:
    return hashlib.sha256(sent.data).hexdigest()


@service("test")
def _take(*, act: Act, token: RigToken, sent: Sent, read: Read) -> tuple[RigFile, bool]:
    """Take a file once: the rig is held, so that a second request waits and finds the row of the first.

    A rig retired and a token revoked while the file was on its way, or read, count at once.
    """
    rig = locked(token.rig)
    if locked(token).revoked_at:
        raise Refused(401, "no_good_token", f"The {token} was revoked while the file came.")
    if row := _known(rig, sent):
        return row, False
    _refuse_retired(rig)
    meant = meaning_of(sent, read)
    if meant.limit and (row := _for_same_reading(rig, sent, meant)):
        return row, False
    name = sent.name or f"{rig.code} {timezone.localtime(act.at):%Y-%m-%d %H%M%S}.csv"
    handed = None if meant.because else _handed_in(act, sent, meant, name)
    row = RigFile(
        rig=rig,
        token=token,
        sha256=_sha256(sent),
        told=sent.told,
        asked=sent.asked,
        file=handed.file if handed else store_upload(act=act, upload=SimpleUploadedFile(name, sent.data)),
        arrived_at=act.at,
        by=act.by,
        unit=meant.unit,
        instrument=meant.instrument,
        pressure_column=meant.mapping.pressure_column if meant.mapping else None,
        aside_because=meant.because[:300],
        logger_file=handed,
    )
    return keep(row), True


def _handed_in(act: Act, sent: Sent, meant: Meant, name: str) -> LoggerFile:
    assert meant.test is not None
    assert meant.limit is not None
    assert meant.instrument is not None
    return hand_in(
        act=act,
        test=meant.test,
        limit=meant.limit,
        instrument=meant.instrument,
        upload=SimpleUploadedFile(name, sent.data),
        mapping=meant.mapping,
    )


def _for_same_reading(rig: Rig, sent: Sent, meant: Meant) -> RigFile | None:
    """Return the same bytes of the same instrument for the same reading, told in other words."""
    rows = RigFile.objects.select_related(*WITH).filter(rig=rig, sha256=_sha256(sent))
    return rows.filter(
        logger_file__pressure_test=meant.test,
        logger_file__limit=meant.limit,
        logger_file__instrument=meant.instrument,
    ).first()


def note_refusal(
    *, token: RigToken, error: Refused, sent: Sent | None = None, at: datetime | None = None
) -> None:
    """List a refused attempt; one that repeats itself is listed once in a while."""
    at, says, asked = at or timezone.now(), error.says[:300], sent.asked if sent else {}
    with transaction.atomic():
        same = RigRefusal.objects.filter(token=token, status=error.status, why=says, asked=asked)
        if same.filter(at__gt=at - SAME_REFUSAL).exists():
            return
        keep(
            RigRefusal(
                rig=token.rig,
                token=token,
                status=error.status,
                asked=asked,
                size_bytes=len(sent.data) if sent else 0,
                by=token.made_by,
                at=at,
                why=says,
            )
        )


def _note_use(token: RigToken, at: datetime) -> None:
    if token.last_used_at is None or at - token.last_used_at > USED_AGAIN:
        token.last_used_at = at
        token.save(update_fields=["last_used_at"])


@service("test")
def give_to_step(
    *, act: Act, rig_file: RigFile, test: PressureTest, limit: StepLimit, instrument: Instrument
) -> RigFile:
    """Hand in a file that was kept aside for a reading of a running test.

    Raises RuleBroken where it was handed in or dismissed, the step is not in turn, and without a
    reason where the rig named another unit.
    """
    row = locked(rig_file)
    _refuse_unless_aside(row)
    if not fits(instrument, limit):
        raise RuleBroken(fields={"instrument": f"{instrument.code} is no instrument for {limit.reading}."})
    if row.unit_id and row.unit_id != test.rebuild.unit_id and not act.why.strip():
        message = f"The rig said it is of {row.unit}. Say why it belongs to {test.rebuild.unit}."
        raise RuleBroken(fields={"why": message})
    data = read_bytes(row.file)
    mapping = _mapping_for(row.rig, instrument, data)
    row.logger_file = hand_in(
        act=act,
        test=test,
        limit=limit,
        instrument=instrument,
        upload=SimpleUploadedFile(row.file.name, data),
        mapping=mapping,
        stored=row.file,
    )
    row.unit, row.instrument = test.rebuild.unit, instrument
    row.pressure_column = mapping.pressure_column if mapping else None
    return keep(row)


def _mapping_for(rig: Rig, instrument: Instrument, data: bytes) -> TraceMapping | None:
    trace, _remembered = read_file(instrument, source_from(data))
    channel = rig.channels.select_related("instrument").filter(instrument=instrument).first()
    return column_mapping(channel, trace)[0]


@service("test")
def dismiss_file(*, act: Act, rig_file: RigFile) -> RigFile:
    """Say with a reason that a file kept aside is not wanted; it stays in the list of dismissed ones."""
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why it is not wanted."})
    row = locked(rig_file)
    _refuse_unless_aside(row)
    row.dismissed_at, row.dismissed_by, row.dismissed_reason = act.at, act.by, act.why.strip()
    return keep(row)


@service("test")
def take_up_file(*, act: Act, rig_file: RigFile) -> RigFile:
    """Take a dismissed file up again; history keeps that it was dismissed, and why."""
    row = locked(rig_file)
    if row.state != "dismissed":
        raise RuleBroken("This file is not dismissed.")
    row.dismissed_at, row.dismissed_by, row.dismissed_reason = None, None, ""
    return keep(row)


def _refuse_unless_aside(row: RigFile) -> None:
    if row.state == "kept":
        raise RuleBroken("This file was handed in for a step already.")
    if row.state == "dismissed":
        raise RuleBroken("This file was dismissed; take it up again first.")


WITH = (
    "rig",
    "token",
    "file",
    "unit",
    "by",
    "instrument",
    "dismissed_by",
    "logger_file__limit__step",
    "logger_file__instrument",
    "logger_file__pressure_test__rebuild__unit",
)
_RESTS = Exists(Trace.objects.filter(file=OuterRef("logger_file__file")))


def files_with_use() -> "QuerySet[RigFile]":
    """Return the files of rigs with ``recorded``: whether a reading rests on them; the latest first."""
    return RigFile.objects.select_related(*WITH).annotate(recorded=_RESTS)


def files_for_test(test: PressureTest) -> list[RigFile]:
    """Return what rigs sent for a test: handed in for it, or kept aside for its unit or for nobody named."""
    unit = test.rebuild.unit_id
    aside = Q(logger_file__isnull=True, dismissed_at__isnull=True)
    meant = Q(logger_file__pressure_test=test) | (aside & (Q(unit=unit) | Q(unit__isnull=True)))
    return list(files_with_use().filter(meant)[:SHOWN])


def running_readings(unit: Unit | None = None) -> list[tuple[PressureTest, StepLimit]]:
    """Return every reading that a file may be handed in for now: of one unit, or of all on test."""
    tests = PressureTest.objects.filter(state=PressureTest.State.RUNNING).select_related(
        "plan", "rebuild__unit__unit_type", "rebuild__work_order"
    )
    if unit:
        tests = tests.filter(rebuild__unit=unit)
    return [
        (test, limit)
        for test in tests.order_by("-started_at")[:MOST_TESTS]
        for each in progress_of(test).steps
        if each.can_be_recorded
        for limit in each.step.limits.all()
        if takes_file(limit)
    ]

"""The test sheets, blank and filled, from rows to plain data."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from io import BytesIO
from typing import Any, TypeVar

from django.conf import settings
from django.db import models
from PIL import Image

from shop.models import ShopProfile, StepLimit, TestPlan, TestStep, TypeRevision
from shop.services.files import read_bytes
from workorders.calc.verdict import DECISION_RULE
from workorders.documents import certificate_data as paper
from workorders.documents.blank_sheet import BlankSheet, BlankStep, StepBoxes, blank_sheet_pdf
from workorders.documents.cautions import TESTING
from workorders.documents.filled_sheet import FilledSheet, SheetReading, SheetStep, filled_sheet_pdf
from workorders.documents.printed import day
from workorders.models import (
    LoggerFile,
    PressureTest,
    Reading,
    Rebuild,
    StepConfirmation,
    StepResult,
    Verdict,
)
from workorders.services.certificate import charts_of, confirmed_words, reading_row
from workorders.services.papers import local, shop_data, unit_data
from workorders.services.running import StepState, TestState, state_of, unused_files
from workorders.services.step_start import asks_rod_port, raised_sentence, start_of, starts_of
from workorders.services.ways import way_of
from workorders.services.ways.base import accuracy_words

State = PressureTest.State
Row = TypeVar("Row", bound=models.Model)
PHOTO_PIXELS = (720, 540)
STATEMENT = "The unit named here was tested to the plan named here, with the results named here."


def test_address(base: str, told: str) -> str:
    """Return the web address that the symbol of a sheet says, in upper case.

    ``told`` is the key of a rebuild, a rebuild with the number of its test (``41-2``), or a plan (``P7``).
    """
    return f"{base}/t/{told}".upper()


test_address.__test__ = False  # type: ignore[attr-defined]  # not a pytest function


def scanned_sheet(text: str) -> str | None:
    """Return what a scanned address of a sheet says after its ``/t/``; None for any other text."""
    found = re.search(r"/t/(p?\d+(?:-\d+)?)/?\s*$", text, re.ASCII | re.IGNORECASE)
    return found[1] if found else None


def read_sheet(told: str) -> re.Match[str] | None:
    """Read what the symbol of a sheet says: ``pk``, and ``plan`` or ``number`` where they are there."""
    pattern = r"p(?P<plan>\d{1,18})|(?P<pk>\d{1,18})(?:-(?P<number>\d{1,9}))?"
    return re.fullmatch(pattern, told, re.ASCII | re.IGNORECASE)


def blank_paper(
    *,
    plan: TestPlan,
    boxes: Mapping[int, StepBoxes],
    rebuild: Rebuild | None = None,
    test: PressureTest | None = None,
) -> bytes:
    """Print the blank sheet of a plan: for a running test, for a rebuild, or for any unit of the type.

    ``boxes`` are those that each step asks for, by the key of the step.
    """
    profile = ShopProfile.objects.first() or ShopProfile(name="Rebuild shop")
    revision = plan.revision
    steps = plan.steps.prefetch_related("limits")
    told = (
        f"{rebuild.pk}-{test.number}" if rebuild and test else str(rebuild.pk) if rebuild else f"P{plan.pk}"
    )
    data = BlankSheet(
        shop=shop_data(profile),
        address=test_address(settings.PUBLIC_ADDRESS, told),
        type_name=revision.unit_type.name,
        catalogue_code=revision.unit_type.code,
        revision=str(revision.number),
        plan=plan.title,
        plan_version=str(plan.version),
        plan_state=plan.get_state_display(),
        plan_note=plan.note,
        conditioning=plan.conditioning,
        service_fluid=str(revision.service_fluid or ""),
        proof=proof_of(revision),
        steps=tuple(_blank_step(step, revision, boxes[step.pk]) for step in steps),
        cautions=TESTING,
        unit=unit_data(rebuild) if rebuild else None,
        work_order=rebuild.work_order.number if rebuild else "",
        test_number=str(test.number) if test else "",
        rig_fluid=str(test.rig_fluid) if test else "",
    )
    return blank_sheet_pdf(data, page_size=profile.paper_size)


def _blank_step(step: TestStep, revision: TypeRevision, boxes: StepBoxes) -> BlankStep:
    return BlankStep(
        number=step.order,
        title=step.title,
        what=StepState(step=step, result=None, is_next=False).what,
        instruction=step.instruction,
        raised=raised_words(step, revision),
        confirm=tuple(each.sentence for each in step.facts.conditions),
        cautions=step.facts.cautions,
        boxes=boxes,
    )


def proof_of(revision: TypeRevision) -> str:
    """Return the proof of a type with its basis, as printed; empty where it has none."""
    if not revision.proof_pressure_bar:
        return ""
    held = f" for {revision.proof_hold_s:g} s" if revision.proof_hold_s else ""
    return f"{revision.proof_pressure_bar:g} bar{held}: {revision.proof_basis}"


def raised_words(step: TestStep, revision: TypeRevision) -> str:
    """Say what a plugged rod port would see at a step, and what to do; empty where it cannot come to that."""
    if not asks_rod_port(revision, step):
        return ""
    return f"{raised_sentence(revision, step)}. Leave the rod port open to the tank, or relieve it."


def limit_words(limit: StepLimit) -> str:
    """Return a limit as printed, with how far it can be trusted."""
    memory = " (from memory, not verified)" if limit.source == StepLimit.Source.MEMORY else ""
    return f"{limit.limit_text}{memory}"


def basis_words(limit: StepLimit) -> str:
    """Return how a reading is judged, and where its limit comes from."""
    judged, source = str(limit.get_judged_display()), str(limit.get_source_display())
    told = limit.basis.casefold().startswith(source.casefold())
    where = limit.basis if told else ": ".join(filter(None, (source, limit.basis)))
    return f"{judged[:1].upper()}{judged[1:]}. Limit: {where}"


def filled_paper(test: PressureTest) -> bytes:
    """Print the sheet of a test from what is stored.

    A signed test prints names, shop and paper as they were when it was signed, so that it gives the
    same bytes whatever is renamed later; what has set it aside is added. Raises RuleBroken where a
    stored file is missing or changed.
    """
    then = _Then(test.signature.at if test.signature else None)
    profile = then.row(ShopProfile.objects.first() or ShopProfile(name="Rebuild shop"))
    rebuild, state, starts = test.rebuild, state_of(test), starts_of(test)
    # Of the plan: a rebuild whose type turns out to be another one changes its revision.
    revision = test.plan.revision
    data = FilledSheet(
        shop=shop_data(profile),
        unit=_unit(rebuild, revision, then),
        address=test_address(settings.PUBLIC_ADDRESS, f"{rebuild.pk}-{test.number}"),
        work_order=rebuild.work_order.number,
        rebuild_number=rebuild.number,
        test_number=test.number,
        plan=test.plan.title,
        plan_version=str(test.plan.version),
        conditioning=test.plan.conditioning,
        service_fluid=then.name(revision.service_fluid),
        rig_fluid=then.name(test.rig_fluid),
        fluid_left=then.name(test.fluid_left),
        proof=proof_of(revision),
        started_at=local(test.started_at),
        started_by=then.name(test.started_by),
        state=_state_words(test),
        standing=_standing(test, state),
        verdict=test.get_verdict_display() if test.verdict else "",
        decision_rule=DECISION_RULE,
        steps=tuple(_filled_step(each, revision, then, starts) for each in state.steps),
        instruments=_instruments(state),
        cautions=TESTING,
        unused_files=tuple(_unused(row, then) for row in unused_files(test, state)),
        signature=_signature(test),
        digest=test.signature.content_sha256 if test.signature else "",
    )
    return filled_sheet_pdf(data, page_size=profile.paper_size)


class _Then:
    """Rows and their names as they were at a time, each read once; None for as they are."""

    def __init__(self, at: datetime | None) -> None:
        self.at = at
        self.names: dict[tuple[type[models.Model], Any], str] = {}

    def row(self, row: Row) -> Row:
        """Return a row as it was then: as the first that is known of it where that is later."""
        if self.at is None or row.pk is None:
            return row
        history = type(row).history.filter(id=row.pk).order_by("history_date", "history_id")  # type: ignore[attr-defined]
        found = history.filter(history_date__lte=self.at).last() or history.first()
        then: Row = found.instance if found else row
        return then

    def name(self, row: models.Model | None) -> str:
        """Return the name of a row as it was then; empty for none."""
        if row is None:
            return ""
        key = (type(row), row.pk)
        if key not in self.names:
            self.names[key] = str(self.row(row))
        return self.names[key]


def _unit(rebuild: Rebuild, revision: TypeRevision, then: _Then) -> paper.UnitIdentity:
    unit_type = then.row(revision.unit_type)
    return replace(
        unit_data(rebuild),
        type_name=unit_type.name,
        catalogue_code=unit_type.code,
        revision=str(revision.number),
        maker_serial=then.row(rebuild.unit).maker_serial,
    )


def _state_words(test: PressureTest) -> str:
    if test.state == State.RUNNING:
        return "running, not signed"
    signed = "signed" if test.signature else "never signed"
    return f"set aside, {signed}" if test.state == State.SUPERSEDED else signed


def _standing(test: PressureTest, state: TestState) -> str:
    """Say whether the test counts; while it runs, how far it has come."""
    if test.state == State.SUPERSEDED:
        return f"Set aside: this test does not count. Reason: {test.superseded_reason}"
    if test.state == State.SIGNED:
        return "Signed. A test is as its worst step."
    to_go = len(state.missing)
    worst = f" So far: {Verdict(state.verdict).label}." if state.verdict else ""
    far = f"{to_go} of {len(state.steps)} steps {'is' if to_go == 1 else 'are'} not recorded yet"
    return f"Running, not signed: {far if to_go else 'every step is recorded'}.{worst}"


def _signature(test: PressureTest) -> paper.Signature | None:
    row = test.signature
    if row is None:
        return None
    at = local(row.at)
    done = "" if row.done_at == row.at else f" The work was completed on {_moment(row.done_at)}."
    return paper.Signature(
        statement=STATEMENT + done, name=row.printed_name, authority=row.authority_no, at=at
    )


def _moment(at: datetime) -> str:
    return f"{day(local(at).date())}, {local(at):%H:%M}"


def _filled_step(
    each: StepState, revision: TypeRevision, then: _Then, starts: Sequence[StepConfirmation]
) -> SheetStep:
    step, result = each.step, each.result
    head: dict[str, Any] = {
        "number": step.order,
        "title": step.title,
        "what": each.what,
    }
    if result is None:
        return SheetStep(**head, raised=raised_words(step, revision))
    start = start_of(result, starts)
    confirmed = confirmed_words(start, then.name(start.by) if start else "")
    readings = list(result.readings.all())
    return SheetStep(
        **head,
        raised="" if start else raised_words(step, revision),
        confirmed=confirmed,
        verdict=result.get_verdict_display(),
        readings=tuple(_reading(reading) for reading in readings),
        charts=charts_of(result),
        note=result.note,
        photo=_thumbnail(result),
        photo_words=f"Photo {result.photo.name}, SHA-256 {result.photo.sha256[:16]}" if result.photo else "",
        done_by=then.name(result.done_by),
        done_at=local(result.done_at),
    )


def _reading(reading: Reading) -> SheetReading:
    due = [facts["due_on"] for facts in _read_with(reading) if facts.get("due_on")]
    return SheetReading(
        row=reading_row(reading),
        arithmetic=reading.arithmetic,
        basis=basis_words(reading.limit),
        due=f"due {', '.join(day(date.fromisoformat(each)) for each in due)}" if due else "",
    )


def _read_with(reading: Reading) -> list[Mapping[str, Any]]:
    """Return the facts of each instrument of a reading, as they were kept with it."""
    parts = way_of(reading.limit).instruments(reading.limit)
    return [reading.observed[part] for part in parts if reading.observed.get(part)]


def _instruments(state: TestState) -> tuple[paper.InstrumentRow, ...]:
    """Return the instruments as they were kept with the readings, each once for each calibration."""
    found: dict[tuple[str, str], paper.InstrumentRow] = {}
    for each in state.steps:
        for reading in each.result.readings.all() if each.result else ():
            for facts in _read_with(reading):
                found.setdefault((facts["code"], facts["calibrated_on"] or ""), _instrument(facts))
    return tuple(found[key] for key in sorted(found))


def _instrument(facts: Mapping[str, Any]) -> paper.InstrumentRow:
    def date_of(name: str) -> date | None:
        return date.fromisoformat(facts[name]) if facts.get(name) else None

    return paper.InstrumentRow(
        code=facts["code"],
        what=", ".join(filter(None, (facts["name"], facts["serial"], facts["certificate_no"]))),
        range=f"{facts['range_low']:g} to {facts['range_high']:g} {facts['unit']}",
        accuracy=accuracy_words(facts),
        calibrated_on=date_of("calibrated_on"),
        due_on=date_of("due_on"),
    )


def _thumbnail(result: StepResult) -> bytes:
    """Return a step's photo small enough for a sheet; empty without one."""
    if result.photo is None:
        return b""
    out = BytesIO()
    with Image.open(BytesIO(read_bytes(result.photo))) as image:
        image.thumbnail(PHOTO_PIXELS)
        image.convert("RGB").save(out, "JPEG", quality=80)
    return out.getvalue()


def _unused(row: LoggerFile, then: _Then) -> str:
    return (
        f"{row.file.name}, for {row.limit.step.title}: {row.limit.reading}, handed in by "
        f"{then.name(row.by)} on {_moment(row.at)}, SHA-256 {row.file.sha256[:16]}"
    )

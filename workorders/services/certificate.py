"""The content of a release: everything its papers print, frozen as JSON when it is signed."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import Any

from cattrs.preconf.json import make_converter
from django.db.models import prefetch_related_objects
from django.utils.translation import ngettext

from shop.models import ShopProfile
from workorders.calc.verdict import DECISION_RULE
from workorders.documents import certificate_data as paper
from workorders.documents.certificate import certificate_pdf
from workorders.documents.fitter_page import FitterPage, fitter_page_pdf
from workorders.documents.printed import day
from workorders.models import (
    Instrument,
    Operation,
    OutsideWork,
    PressureTest,
    Rebuild,
    Release,
    StepConfirmation,
    StepResult,
)
from workorders.services import papers
from workorders.services.claims import carried_warranty
from workorders.services.hose_checks import port_rows
from workorders.services.step_start import start_of, starts_of
from workorders.services.traces import stored_chart
from workorders.services.ways import way_of
from workorders.services.work import Work

STATEMENT = (
    "The work named here was done and the unit met every step of the test plan named here, "
    "on instruments in calibration."
)
LIMITATIONS = (
    "What is marked 'not examined' was not judged.",
    "Limits marked 'from memory' are this shop's settings and no published figure.",
    "Verdicts hold for the fluid, pressures and temperatures of the test bench.",
)
_json = make_converter()


def certificate_data(
    rebuild: Rebuild,
    test: PressureTest,
    work: Work,
    *,
    number: str,
    status: str,
    remarks: str,
    issued_at: datetime,
    signer: paper.Signature,
    replaces: paper.Replaces | None,
    digest: str,
) -> paper.Certificate:
    """Return everything printed on the certificate of a rebuild, from its rows."""
    profile = ShopProfile.objects.get(pk=1)
    released = paper.Act(meaning="released", name=signer.name, done_at=signer.at, entered_at=signer.at)
    acts = (*(act for act in papers.act_rows(rebuild) if act.meaning != "released"), released)
    done = {act.meaning: act.done_at.date() for act in acts}
    results = results_of(test)
    positions, components = papers.finding_rows(work)
    return paper.Certificate(
        number=number,
        status=status,
        shop=papers.shop_data(profile),
        customer=papers.customer_data(rebuild.work_order.customer),
        customer_order=rebuild.work_order.customer_order,
        work_order=rebuild.work_order.number,
        unit=papers.unit_data(rebuild),
        method=paper.Method(
            plan_name=test.plan.title,
            plan_version=str(test.plan.version),
            decision_rule=DECISION_RULE,
            teardown_procedure=rebuild.revision.teardown_procedure,
        ),
        condition_on_arrival=f"{rebuild.get_opened_before_display()}; {rebuild.arrival_condition}",
        received_on=papers.local(rebuild.received_at).date(),
        torn_down_on=done.get("disassembled, cleaned and inspected"),
        built_on=done.get("repaired as necessary and reassembled"),
        tested_on=papers.local(test.signature.done_at if test.signature else test.started_at).date(),
        issued_on=papers.local(issued_at).date(),
        positions=positions,
        components=components,
        measurements=papers.measurement_rows(work),
        operations=operation_rows(work),
        steps=step_rows(results, starts_of(test)),
        test_verdict=test.get_verdict_display(),
        charts=chart_rows(results),
        instruments=instrument_rows(work, results, on=papers.local(test.started_at).date()),
        fluids=paper.Fluids(
            service=str(rebuild.revision.service_fluid),
            rig="; ".join(part for part in (str(test.rig_fluid), test.plan.conditioning) if part),
            left_inside=str(test.fluid_left),
        ),
        acts=acts,
        signature=signer,
        deviations=deviations(rebuild, work, remarks),
        external_results=outside_rows(work),
        limitations=LIMITATIONS,
        warranty_terms=warranty_terms(profile, rebuild, papers.local(issued_at).date()),
        replaces=replaces,
        digest=digest,
        family=rebuild.revision.unit_type.get_family_display(),
        ports=port_rows(rebuild, work),
        upgrades=upgrade_rows(work),
    )


def upgrade_rows(work: Work) -> tuple[tuple[str, str], ...]:
    """Return what the shop stated of the materials fitted, each place and statement once."""
    fitted = [row for row in work.parts if row.use == "fitted" and row.upgrade]
    return tuple(dict.fromkeys((str(row.place or "whole unit"), row.upgrade) for row in fitted))


def warranty_terms(profile: ShopProfile, rebuild: Rebuild, issued_on: date) -> tuple[str, ...]:
    """Return the warranty as printed: when it starts and ends, and the shop's terms."""
    carried = carried_warranty(rebuild)
    if carried is None:
        months = ngettext("%d month", "%d months", profile.warranty_months) % profile.warranty_months
        start = (
            f"{months} from the day the unit ships, for {_holder(rebuild)}; "
            "free repair or replacement for the remaining term."
        )
    elif carried.ends_on <= issued_on:
        return (
            f"Rebuilt under a claim; the first warranty ended on {day(carried.ends_on)}. No new one starts.",
        )
    else:
        start = f"Rebuilt under a claim: the first warranty goes on, until {day(carried.ends_on)}."
    return (start, *[line for line in profile.warranty_terms.splitlines() if line.strip()])


def _holder(rebuild: Rebuild) -> str:
    """Name who will hold the warranty, or say how that is known where nobody is named yet."""
    if rebuild.destination == Rebuild.Destination.EXCHANGE:
        return "the holder named on its packing list"
    holder = rebuild.work_order.holder
    return holder.name if holder else "the owner of the machine"


def results_of(test: PressureTest) -> Sequence[StepResult]:
    """Read the results of a test in order, with their readings, instruments and traces."""
    return list(
        test.results.select_related("step").prefetch_related(
            "readings__limit", "readings__instrument", "readings__second_instrument", "readings__trace__file"
        )
    )


def operation_rows(work: Work) -> tuple[paper.OperationRow, ...]:
    """Return rework operations with who, tool and the parts that belong to each."""
    parts: dict[int, list[str]] = {}
    for row in work.parts:
        if row.operation_id and row.use == "fitted":
            text = f"{row.quantity} × {row.lot.part.number}, lot {row.lot.number}"
            parts.setdefault(row.operation_id, []).append(text)
    return tuple(
        paper.OperationRow(
            what=_words_of(operation),
            who=str(operation.done_by),
            tool=operation.tool,
            parts="; ".join(parts.get(operation.pk, [])),
        )
        for operation in work.operations
    )


def _words_of(operation: Operation) -> str:
    """Return what was done, what was recorded and the note, as sentences without their stops."""
    parts = (str(operation), "; ".join(operation.lines), operation.note)
    return ". ".join(part.strip(". ") for part in parts if part)


def outside_rows(work: Work) -> tuple[str, ...]:
    """Return what was done by others, a line for each outside work that was accepted."""
    return tuple(_outside_row(row) for row in work.outside if row.accepted)


def _outside_row(row: OutsideWork) -> str:
    assert row.returned_at
    assert row.inspected_at
    bake = f" Bake after plating: {row.bake_sentence}." if row.is_plating else ""
    paper_kept = "on file" if row.certificate_id else "none"
    return (
        f"{row} by {row.supplier}: {row.asked.rstrip('.')}. Sent {_day(row.sent_at)}, back "
        f"{_day(row.returned_at)}, accepted {_day(row.inspected_at)} by {row.inspected_by}.{bake} "
        f"Supplier's certificate: {paper_kept}."
    )


def _day(at: datetime) -> str:
    return day(papers.local(at).date())


def step_rows(results: Sequence[StepResult], starts: Sequence[StepConfirmation]) -> tuple[paper.StepRow, ...]:
    """Return the steps of a test with their readings as stored."""
    return tuple(
        paper.StepRow(
            title=result.step.title,
            note=result.note,
            confirmed=confirmed_words(start_of(result, starts)),
            readings=tuple(reading_row(reading) for reading in result.readings.all()),
        )
        for result in results
    )


def confirmed_words(start: StepConfirmation | None, by: str = "") -> str:
    """Say what was confirmed before a step, by whom and when; empty where nothing was asked.

    ``by`` is the name of that person as it was then, where it is not to be the present one.
    """
    if start is None:
        return ""
    at = papers.local(start.at)
    return f"{' '.join(start.lines)} Confirmed by {by or start.by}, {day(at.date())}, {at:%H:%M}."


def reading_row(reading: Any) -> paper.Reading:
    """Return one reading with limit, uncertainty and instrument, as printed."""
    value = way_of(reading.limit).shown(reading.limit, reading.value, reading.observed)
    used = [row.code for row in (reading.instrument, reading.second_instrument) if row]
    limit = reading.limit.limit_text
    if reading.limit.source == reading.limit.Source.MEMORY:
        limit += " (from memory)"
    return paper.Reading(
        label=reading.limit.reading + (", blanked rig taken off" if reading.observed.get("blank") else ""),
        value=value,
        unit=reading.unit,
        limit=limit,
        verdict=reading.get_verdict_display(),
        uncertainty=reading.expanded_text,
        instrument=", ".join(used),
        budget="; ".join(f"{name} {part}" for name, part in reading.budget_rows),
        combined=reading.combined_text,
    )


def chart_rows(results: Sequence[StepResult]) -> tuple[paper.HoldChart, ...]:
    """Return the charts of the holds that were logged."""
    return tuple(chart for result in results for chart in charts_of(result))


def charts_of(result: StepResult) -> tuple[paper.HoldChart, ...]:
    """Return the charts of one step, each with its window and what the line of a hold gave.

    Readings that rest on the same window of the same file, as the figures of a stroke do, share one.
    """
    charts: list[paper.HoldChart] = []
    for reading in result.readings.all():
        trace = getattr(reading, "trace", None)
        if trace is None:
            continue
        caption = (
            f"{result.step.title}: window {trace.window_start_s:g} s to {trace.window_end_s:g} s, "
            f"{_line_words(trace)}file {trace.file.name}, SHA-256 {trace.file.sha256[:16]}"
        )
        charts.append(paper.HoldChart(caption=caption, trace=stored_chart(trace)))
    return tuple(dict.fromkeys(charts))


def _line_words(trace: Any) -> str:
    """Say the decay with the standard error that it was judged with; a bent trace has none to trust."""
    if trace.straight is None:
        return ""
    if not trace.straight:
        return "not a straight line, so no decay to trust; "
    words = f"{trace.decay_bar_per_min:.4f} bar/min, standard error of the line"
    budget = dict(trace.reading.budget)
    if "regression" not in budget:  # judged before uncertainties were kept by name
        return f"{words}, samples as independent, {trace.standard_error_bar_per_min:.4f} bar/min; "
    return f"{words}, raised for samples that are alike, {budget['regression']:.4f} bar/min; "


def instrument_rows(
    work: Work, results: Sequence[StepResult], *, on: date
) -> tuple[paper.InstrumentRow, ...]:
    """Return the instruments used, each with its calibration on the day; ``on`` is that of the test."""
    used: dict[int, tuple[Instrument, date]] = {}
    for row in work.measurements:
        if row.instrument:
            used[row.instrument.pk] = (row.instrument, papers.local(row.measured_at).date())
    for operation in work.operations:
        if operation.instrument:
            day_of = papers.local(operation.fastened_at or operation.done_at).date()
            used[operation.instrument.pk] = (operation.instrument, day_of)
    used |= {instrument.pk: (instrument, on) for instrument in _read_with(results)}
    prefetch_related_objects([instrument for instrument, _day in used.values()], "calibrations")
    rows = []
    for instrument, on in sorted(used.values(), key=lambda pair: pair[0].code):
        calibration = instrument.calibration_on(on)
        if calibration is None:
            continue
        rows.append(
            paper.InstrumentRow(
                code=instrument.code,
                what=instrument.name,
                range=f"{instrument.range_low:g} to {instrument.range_high:g} {instrument.unit}",
                accuracy=instrument.accuracy_text,
                calibrated_on=calibration.calibrated_on,
                due_on=calibration.due_on,
            )
        )
    return tuple(rows)


def _read_with(results: Sequence[StepResult]) -> Iterator[Instrument]:
    """Yield the instruments of the readings of a test."""
    for result in results:
        for reading in result.readings.all():
            yield from (row for row in (reading.instrument, reading.second_instrument) if row)


def deviations(rebuild: Rebuild, work: Work, remarks: str) -> tuple[str, ...]:
    """Return remarks, fluid decisions, fastenings outside their figure and parts that do not fit."""
    found = [line for line in remarks.splitlines() if line.strip()]
    for row in rebuild.fluid_decisions.select_related("rig_fluid", "by"):
        found.append(
            f"Rig fluid {row.rig_fluid} accepted by {row.by}: {row.why}. {row.concerns} "
            f"Flushing: {row.flushing}"
        )
    for operation in work.operations:
        if operation.within is False:
            values = ", ".join(str(value) for value in operation.values.all())
            found.append(
                f"{operation}: {values}, outside the figure ({operation.figure_text}). "
                f"It stands because: {operation.reason}"
            )
    for part in work.parts:
        if part.fit_reason:
            where = part.place or "whole unit"
            found.append(f"{where}: {part.fit_warning} It went in because: {part.fit_reason}")
    return tuple(found)


def fitter_data(rebuild: Rebuild, test: PressureTest, certificate: paper.Certificate) -> FitterPage:
    """Return what the person who fits the unit needs."""
    revision = rebuild.revision
    notes = (
        ["Debris was found in this unit: flush the circuit before fitting it."]
        if rebuild.debris_found
        else []
    )
    if rebuild.circuit_flagged:
        notes.append(
            "Debris was found in another unit of the same machine: flush the circuit before fitting."
        )
    return FitterPage(
        certificate_number=certificate.number,
        issued_on=certificate.issued_on,
        shop=certificate.shop,
        unit=certificate.unit,
        family=revision.unit_type.get_family_display(),
        fluid_inside=str(test.fluid_left),
        fluid_to_fill=str(revision.service_fluid),
        ports=certificate.ports,
        filling=tuple(line for line in revision.filling_note.splitlines() if line.strip()),
        notes=tuple(notes),
    )


def frozen(certificate: paper.Certificate, fitter: FitterPage, page_size: str) -> dict[str, Any]:
    """Return the content that is stored and signed: plain JSON."""
    return {
        "certificate": _json.unstructure(certificate),
        "fitter_page": _json.unstructure(fitter),
        "page_size": page_size,
    }


def printed(content: dict[str, Any]) -> tuple[bytes, bytes]:
    """Print certificate and fitter's page from stored content; the same content, the same bytes."""
    size = content["page_size"]
    certificate = _json.structure(content["certificate"], paper.Certificate)
    fitter = _json.structure(content["fitter_page"], FitterPage)
    return certificate_pdf(certificate, page_size=size), fitter_page_pdf(fitter, page_size=size)


def printed_again(release: Release) -> tuple[bytes, bytes]:
    """Print the papers of a release again from its stored content."""
    return printed(release.content)

"""The content of a release: everything its papers print, frozen as JSON when it is signed."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from cattrs.preconf.json import make_converter
from django.db.models import prefetch_related_objects

from shop.models import ShopProfile
from workorders.documents import certificate_data as paper
from workorders.documents.certificate import certificate_pdf
from workorders.documents.fitter_page import FitterPage, fitter_page_pdf
from workorders.documents.port_drawing import PortRow
from workorders.documents.printed import day
from workorders.models import Instrument, OutsideWork, PressureTest, Rebuild, Release, StepResult
from workorders.services import papers
from workorders.services.claims import carried_warranty
from workorders.services.traces import hold_trace
from workorders.services.work import Work

DECISION_RULE = (
    "a reading passes when the limit is met with its whole expanded uncertainty (k = 2), fails when the "
    "limit is missed with it, and is not decided in between"
)
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
        steps=step_rows(results),
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
    )


def warranty_terms(profile: ShopProfile, rebuild: Rebuild, issued_on: date) -> tuple[str, ...]:
    """Return the warranty as printed: when it starts and ends, and the shop's terms."""
    carried = carried_warranty(rebuild)
    if carried is None:
        start = (
            f"{profile.warranty_months} months from the day the unit ships, for the recipient of the "
            "shipment; free repair or replacement for the remaining term."
        )
    elif carried.ends_on <= issued_on:
        return (
            f"Rebuilt under a claim; the first warranty ended on {day(carried.ends_on)}. No new one starts.",
        )
    else:
        start = f"Rebuilt under a claim: the first warranty goes on, until {day(carried.ends_on)}."
    return (start, *[line for line in profile.warranty_terms.splitlines() if line.strip()])


def results_of(test: PressureTest) -> Sequence[StepResult]:
    """Read the results of a test in order, with their readings, instruments and traces."""
    return list(
        test.results.select_related("step").prefetch_related(
            "readings__limit", "readings__instrument", "readings__trace__file"
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
            what=f"{operation}. {operation.note}".strip(". "),
            who=str(operation.done_by),
            tool=operation.tool,
            parts="; ".join(parts.get(operation.pk, [])),
        )
        for operation in work.operations
    )


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


def step_rows(results: Sequence[StepResult]) -> tuple[paper.StepRow, ...]:
    """Return the steps of a test with their readings as stored."""
    return tuple(
        paper.StepRow(
            title=result.step.title,
            note=result.note,
            readings=tuple(reading_row(reading) for reading in result.readings.all()),
        )
        for result in results
    )


def reading_row(reading: Any) -> paper.Reading:
    """Return one reading with limit, uncertainty and instrument, as printed."""
    witness = reading.limit.judged == reading.limit.Judged.WITNESS
    value = f"{reading.value:.4g}" if reading.value is not None else "N/A"
    if witness:
        value = "as required" if reading.value else "not as required"
    limit = reading.limit.limit_text
    if reading.limit.source == reading.limit.Source.MEMORY:
        limit += " (from memory)"
    return paper.Reading(
        label=reading.limit.reading,
        value=value,
        unit=reading.unit,
        limit=limit,
        verdict=reading.get_verdict_display(),
        uncertainty=f"±{reading.uncertainty:.2g} {reading.unit}".strip() if reading.uncertainty else "",
        instrument=reading.instrument.code if reading.instrument else "",
    )


def chart_rows(results: Sequence[StepResult]) -> tuple[paper.HoldChart, ...]:
    """Return the charts of the holds that were logged."""
    charts = []
    for result in results:
        for reading in result.readings.all():
            trace = getattr(reading, "trace", None)
            if trace is None:
                continue
            caption = (
                f"{result.step.title}: window {trace.window_start_s:g} s to {trace.window_end_s:g} s, "
                f"{trace.decay_bar_per_min:.4f} bar/min, standard error "
                f"{trace.standard_error_bar_per_min:.4f} bar/min; file {trace.file.name}, "
                f"SHA-256 {trace.file.sha256[:16]}"
            )
            charts.append(paper.HoldChart(caption=caption, trace=hold_trace(trace)))
    return tuple(charts)


def instrument_rows(
    work: Work, results: Sequence[StepResult], *, on: date
) -> tuple[paper.InstrumentRow, ...]:
    """Return the instruments used, each with its calibration on the day; ``on`` is that of the test."""
    used: dict[int, tuple[Instrument, date]] = {}
    for row in work.measurements:
        if row.instrument:
            used[row.instrument.pk] = (row.instrument, papers.local(row.measured_at).date())
    for result in results:
        for reading in result.readings.all():
            if reading.instrument:
                used[reading.instrument.pk] = (reading.instrument, on)
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
                accuracy=f"±{instrument.accuracy:g} {instrument.unit}",
                calibrated_on=calibration.calibrated_on,
                due_on=calibration.due_on,
            )
        )
    return tuple(rows)


def deviations(rebuild: Rebuild, work: Work, remarks: str) -> tuple[str, ...]:
    """Return remarks, fluid decisions, and parts that do not fit with their reasons."""
    found = [line for line in remarks.splitlines() if line.strip()]
    for row in rebuild.fluid_decisions.select_related("rig_fluid", "by"):
        found.append(
            f"Rig fluid {row.rig_fluid} accepted by {row.by}: {row.why}. {row.concerns} "
            f"Flushing: {row.flushing}"
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
        ports=tuple(
            PortRow(
                code=port.code,
                name=port.name,
                fitting=f"{port.get_fitting_display()} {port.thread}".strip(),
                hose=port.hose,
                cap="" if port.fitting == port.Fitting.PLUGGED else "yes",
            )
            for port in revision.ports.all()
        ),
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

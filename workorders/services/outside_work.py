"""Outside work: sent out, back, inspected against the limits, and what it keeps from being closed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.urls import reverse
from django.utils import timezone

from inventory.models import Supplier
from shop.errors import RuleBroken
from shop.models import Component
from shop.services.files import store_paper
from shop.services.writing import Act, keep, locked, service
from workorders.models import Finding, OutsideWork, Rebuild
from workorders.services.dimensions import Dimension, dimensions
from workorders.services.missing import Missing, require_nothing_missing
from workorders.services.places import require_place_of
from workorders.services.stages import refresh_stage
from workorders.services.standing import begin_build


@dataclass(frozen=True, kw_only=True)
class Papers:
    """What came with the part: the answer about the bake, and the certificate as a file."""

    bake: str = OutsideWork.Bake.NOT_ASKED
    bake_h: float | None = None
    bake_temperature_c: float | None = None
    bake_basis: str = ""
    certificate: "UploadedFile[Any] | None" = None


@service("build")
def send_out(
    *,
    act: Act,
    rebuild: Rebuild,
    component: Component | None,
    kind: str,
    supplier: Supplier,
    asked: str,
    due: date,
    note: str = "",
) -> OutsideWork:
    """Record that a component, or the whole unit (None), goes to a supplier, and until when.

    Raises RuleBroken for a day that is past, for what is out already, and as ``use_part`` does:
    the teardown is signed and a go-ahead is recorded first.
    """
    row = begin_build(act, rebuild)
    if component:
        require_place_of(row.revision, component)
    _check_due(act, due)
    work = keep(
        OutsideWork(
            rebuild=row,
            component=component,
            kind=kind,
            supplier=supplier,
            asked=asked.strip(),
            due=due,
            note=note.strip(),
            sent_at=act.at,
            sent_by=act.by,
        )
    )
    refresh_stage(row)
    return work


def _check_due(act: Act, due: date) -> None:
    if due < timezone.localdate(act.at):
        raise RuleBroken(fields={"due": "This day is past. Enter the day it is due back."})


def _begin(act: Act, work: OutsideWork, *, out: bool) -> OutsideWork:
    """Hold an outside work and its rebuild; refuse one that is not out (or not back)."""
    rebuild = begin_build(act, work.rebuild)
    row = locked(work, fixed=("component", "supplier"))
    row.rebuild = rebuild
    if row.cancelled_at:
        raise RuleBroken("This outside work is cancelled; send the part out anew.")
    if row.inspected_at:
        raise RuleBroken("This outside work is inspected; its record stays. Send the part out anew.")
    if out and row.returned_at:
        raise RuleBroken("This is back already; inspect it.")
    if not out and not row.returned_at:
        raise RuleBroken("This is not back yet; record its return first.")
    return row


@service("build")
def change_due(*, act: Act, work: OutsideWork, due: date) -> OutsideWork:
    """Set another day on which it is due back, for the reason in ``act.why``.

    Raises RuleBroken without a reason, for a day that is past, and for what is not out.
    """
    row = _begin(act, work, out=True)
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the day changes."})
    _check_due(act, due)
    row.due = due
    return keep(row)


@service("build")
def cancel_outside_work(*, act: Act, work: OutsideWork) -> OutsideWork:
    """Cancel a sending that never left or came back undone, for the reason in ``act.why``.

    Raises RuleBroken without a reason, and for what is back.
    """
    row = _begin(act, work, out=True)
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why it is cancelled."})
    row.cancelled_at, row.cancelled_by, row.cancel_reason = act.at, act.by, act.why.strip()
    keep(row)
    refresh_stage(row.rebuild)
    return row


@service("build")
def record_return(
    *, act: Act, work: OutsideWork, papers: Papers | None = None, note: str = ""
) -> OutsideWork:
    """Record that a part is back, with what came with it; it is still to be inspected.

    Raises RuleBroken for what is not out, and for a certificate that is neither PDF nor photo.
    """
    row = _begin(act, work, out=True)
    row.returned_at, row.returned_by = act.at, act.by
    row.note = note.strip() or row.note
    _take_papers(act, row, papers or Papers())
    return keep(row)


@service("build")
def inspect_return(
    *, act: Act, work: OutsideWork, accepted: bool, reject_reason: str = "", papers: Papers | None = None
) -> OutsideWork:
    """Accept or reject what came back.

    Plated steel is accepted only when the question of the bake is answered with its basis: hydrogen
    makes hard steel brittle, and which steel needs the bake is for the plater and the drawing to say
    (common practice, no source). A component is accepted only when every required dimension that it
    carries was read after its return, and within its limits.
    Raises RuleBroken that names what is missing, and without a reason for a rejection.
    """
    row = _begin(act, work, out=False)
    if papers:
        _take_papers(act, row, papers)
    if accepted and row.is_plating and row.bake == OutsideWork.Bake.NOT_ASKED:
        raise RuleBroken(fields={"bake": "Answer the question of the bake before this is accepted."})
    if accepted:
        require_nothing_missing(missing_readings(row), "The work cannot be accepted.")
    elif not reject_reason.strip():
        raise RuleBroken(fields={"reject_reason": "Say why the work is rejected."})
    row.inspected_at, row.inspected_by, row.accepted = act.at, act.by, accepted
    row.reject_reason = "" if accepted else reject_reason.strip()
    return keep(row)


def _take_papers(act: Act, row: OutsideWork, papers: Papers) -> None:
    """Put the answers onto the row; one that cannot be is told beside its field."""
    Bake = OutsideWork.Bake
    baked = papers.bake == Bake.BAKED
    if row.kind == OutsideWork.Kind.RECHROMING and papers.bake == Bake.NOT_PLATING:
        raise RuleBroken(
            fields={"bake": "Re-chroming is plating: say whether it was baked, or on what basis not."}
        )
    if baked and not (papers.bake_h and papers.bake_temperature_c):
        raise RuleBroken(fields={"bake_h": "Enter the hours and the temperature of the bake."})
    if not baked and (papers.bake_h or papers.bake_temperature_c):
        raise RuleBroken(fields={"bake": "Hours and temperature belong to a bake: choose “baked”."})
    if papers.bake in (Bake.BAKED, Bake.NOT_NEEDED) and not papers.bake_basis.strip():
        message = "Say who baked it, or on what basis the steel does not need it."
        raise RuleBroken(fields={"bake_basis": message})
    row.bake, row.bake_basis = papers.bake, papers.bake_basis.strip()
    row.bake_h = papers.bake_h if baked else None
    row.bake_temperature_c = papers.bake_temperature_c if baked else None
    if papers.certificate:
        row.certificate = store_paper(act=act, upload=papers.certificate, field="certificate")


@dataclass(frozen=True)
class Shown:
    """An outside work with its state in a word and a mark, as of a day."""

    work: OutsideWork
    word: str
    mark: str


def shown_on(works: Iterable[OutsideWork], on: date) -> list[Shown]:
    """Return outside works with their state on a day, in the order given."""
    return [Shown(work, *_state(work, on)) for work in works]


def _state(work: OutsideWork, on: date) -> tuple[str, str]:
    if work.cancelled_at:
        return "cancelled", "plain"
    if work.is_out:
        late = (on - work.due).days
        if late > 0:
            return f"overdue by {late} day{'' if late == 1 else 's'}", "bad"
        return "out", "wait"
    if work.inspected_at is None:
        return "to be inspected", "todo"
    return ("accepted", "good") if work.accepted else ("rejected", "bad")


def carried_dimensions(work: OutsideWork) -> list[Dimension]:
    """Return the dimensions that the part out carries; all of the unit where the whole unit is out."""
    rows = dimensions(work.rebuild)
    if work.component_id is None:
        return rows
    return [row for row in rows if any(carrier.component_id == work.component_id for carrier in row.carriers)]


def missing_readings(work: OutsideWork) -> list[Missing]:
    """Return the required dimensions of a component that were not read within limits after its return."""
    if work.component_id is None or work.returned_at is None:
        return []
    return [
        missing
        for dimension in carried_dimensions(work)
        if dimension.limit.required
        for missing in _missing_reading(work, dimension)
    ]


def _missing_reading(work: OutsideWork, dimension: Dimension) -> Iterable[Missing]:
    assert work.returned_at
    url = reverse("workorders:measurement", args=[work.rebuild_id, dimension.limit.pk, "after"])
    url += f"?inspect={work.pk}"  # the page of the readings then leads back to the inspection
    name = str(dimension.limit)
    late = [s.number for s in dimension.stations if not s.after or s.after.measured_at < work.returned_at]
    if late:
        stations = ", ".join(map(str, late))
        yield Missing(name, f"not read after the return, station {stations}", url)
    elif dimension.outside:
        stations = ", ".join(map(str, dimension.outside))
        yield Missing(name, f"outside its limits, station {stations}", url)


def latest_by_place(works: Iterable[OutsideWork]) -> list[OutsideWork]:
    """Return the latest sending of each place that was not cancelled: that one decides."""
    found: dict[int | None, OutsideWork] = {}
    for work in works:
        if not work.cancelled_at:
            found[work.component_id] = work
    return list(found.values())


def missing_outside_work(works: Iterable[OutsideWork], findings: Iterable[Finding]) -> list[Missing]:
    """Return what outside work keeps a build from being closed: out, not inspected, or rejected.

    A rejected part is settled by sending it out anew, or by renewing the component.
    """
    renewed = {row.component_id for row in findings if row.action == Finding.Action.RENEWED}
    return [
        Missing(f"outside work: {work}", sentence, work.get_absolute_url())
        for work in latest_by_place(works)
        if (sentence := _in_the_way(work, renewed))
    ]


def _in_the_way(work: OutsideWork, renewed: set[int | None]) -> str:
    if work.is_out:
        return f"not back from {work.supplier}, due {work.due:%d %b %Y}"
    if work.inspected_at is None:
        return "back, but not inspected"
    settled = work.component_id is not None and work.component_id in renewed
    if not work.accepted and not settled:
        return "rejected; send it out anew, or record the component as renewed"
    return ""


def require_nothing_out(rebuild: Rebuild) -> None:
    """Raise RuleBroken while a part of the rebuild is at a supplier's."""
    rows = rebuild.outside_works.out().select_related("component", "supplier")
    require_nothing_missing(missing_outside_work(rows, ()), "A part is not here.")

"""What was found, measured, reworked and fitted in a rebuild, read once for everybody who asks."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from workorders.models import Finding, HoseCheck, Measurement, Operation, OutsideWork, PartUsed, Rebuild
from workorders.services.facts import Facts, facts_of

RELATED_TO_OUTSIDE_WORK = (
    *("component", "supplier", "certificate"),
    *("sent_by", "returned_by", "inspected_by", "cancelled_by"),
)


@dataclass(frozen=True, kw_only=True)
class Work:
    """The rows of a rebuild from the bench: each with its place, its person and what it was done with."""

    findings: Sequence[Finding]
    measurements: Sequence[Measurement]
    operations: Sequence[Operation]
    parts: Sequence[PartUsed]
    outside: Sequence[OutsideWork] = ()
    hose_checks: Sequence[HoseCheck] = ()


def work_of(rebuild: Rebuild, facts: Facts | None = None) -> Work:
    """Read the work of a rebuild in seven queries, or fewer where the facts say that there is none."""
    facts = facts or facts_of(rebuild)
    measured = rebuild.measurements.select_related("limit", "instrument", "measured_by")
    return Work(
        findings=list(placed(rebuild.findings).select_related("found_by")),
        measurements=list(measured),
        operations=list(operations_of(rebuild)) if facts.has_operation else [],
        parts=list(standing_parts(rebuild)) if facts.has_part else [],
        outside=list(outside_works(rebuild)) if facts.has_outside_work else [],
        hose_checks=list(hose_checks(rebuild)) if facts.has_hose_check else [],
    )


def placed(rows: Any) -> Any:
    """Read rows with the place that each is about, in one query."""
    return rows.select_related("position", "component", "port", "hose")


def standing_parts(rebuild: Rebuild) -> Iterable[Any]:
    """Return the parts used that were not taken back."""
    rows = placed(rebuild.parts_used).filter(taken_back__isnull=True)
    return rows.select_related("lot__part", "by")  # type: ignore[no-any-return]


def operations_of(rebuild: Rebuild) -> Any:
    """Read the rework of a rebuild with all that it records, in two queries."""
    rows = placed(rebuild.operations).select_related("done_by", "unmasked_by", "instrument", "locker_lot")
    return rows.prefetch_related("values")


def hose_checks(rebuild: Rebuild) -> Any:
    """Read the numbers of hoses read at the build, with hose, port and person, in one query."""
    return rebuild.hose_checks.select_related("hose__port", "by")


def outside_works(rebuild: Rebuild) -> Any:
    """Read the outside work of a rebuild with what every reader names, in one query."""
    return rebuild.outside_works.select_related(*RELATED_TO_OUTSIDE_WORK)

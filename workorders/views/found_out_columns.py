"""The columns of what a bad instrument touched, as files."""

from typing import Any

from shop.views.tables import Column, Table
from workorders.services.calibration_reviews import Line, Touched

Pair = tuple[Touched, Line]


def _review(row: Pair, name: str) -> Any:
    """Return a fact of the review that covers the rebuild of a line; empty while there is none."""
    review = row[0].flag.review if row[0].flag else None
    value = getattr(review, name) if review else ""
    return value() if callable(value) else value


# Each row is a rebuild with one of its values.
TOUCHED = Table(
    "touched",
    (
        Column("Unit", lambda row: row[0].rebuild.unit.serial),
        Column("Unit type", lambda row: row[0].rebuild.unit.unit_type.name),
        Column("Work order", lambda row: row[0].rebuild.work_order.number),
        Column("Customer", lambda row: row[0].rebuild.work_order.customer.name),
        Column("Rebuild", lambda row: row[0].rebuild.number),
        Column("Where", lambda row: row[0].where),
        Column("Warranty", lambda row: row[0].warranty),
        Column("Release", lambda row: row[0].release),
        Column("Kind", lambda row: row[1].kind),
        Column("What", lambda row: row[1].what),
        Column("Stands", lambda row: "yes" if row[1].stands else "superseded"),
        Column("Taken", lambda row: row[1].at),
        Column("Value", lambda row: row[1].value),
        Column("In", lambda row: row[1].unit),
        Column("Uncertainty, ±", lambda row: row[1].uncertainty),
        Column("As recorded", lambda row: row[1].verdict),
        Column("Corrected by the error", lambda row: row[1].recheck.corrected),
        Column("Corrected, the sum", lambda row: row[1].recheck.corrected_words),
        Column("Uncertainty widened by it", lambda row: row[1].recheck.widened),
        Column("Widened, the sum", lambda row: row[1].recheck.widened_words),
        Column("Remark", lambda row: row[1].recheck.remark),
        Column("Review", lambda row: row[0].flag.state if row[0].flag else ""),
        Column("Reviewed by", lambda row: _review(row, "by")),
        Column("Reviewed at", lambda row: _review(row, "at")),
        Column("Reason", lambda row: _review(row, "why")),
    ),
)
TO_REVIEW = Table(
    "instruments-to-review",
    (
        Column("Unit", "rebuild.unit.serial"),
        Column("Rebuild", "rebuild.number"),
        Column("Work order", "rebuild.work_order.number"),
        Column("Customer", "rebuild.work_order.customer.name"),
        Column("Stage", "rebuild.get_stage_display"),
        Column("Instrument", "calibration.instrument.code"),
        Column("Found out of tolerance", "calibration.calibrated_on"),
        Column("Values", "count"),
        Column("Latest value", "latest_at"),
    ),
)

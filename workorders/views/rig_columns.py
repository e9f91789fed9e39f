"""The columns of the lists of rigs and of what they sent, as files."""

from typing import Any

from shop.views.sorting import by_text
from shop.views.tables import Column, Table
from workorders.models import RigFile

STATES = {"kept": "handed in", "aside": "kept aside", "dismissed": "dismissed"}


def _handed(row: RigFile, path: str) -> Any:
    """Return a fact of the reading that a file was handed in for; empty where it was not."""
    value: Any = row.logger_file
    for name in path.split("."):
        value = getattr(value, name) if value else ""
    return value


RIGS = Table(
    "rigs",
    (
        Column("Code", "code", sort=by_text("code")),
        Column("What it is", "name", sort=by_text("name")),
        Column("Where it stands", "place", sort=by_text("place")),
        Column("Fluid in it", "fluid", sort=by_text("fluid__name")),
        Column("Kept aside", "waiting", sort="waiting"),
        Column("Sent last", "last_at", sort="last_at"),
        Column("Note", "note"),
    ),
)
RIG_FILES = Table(
    "files-from-rigs",
    (
        Column("Came", "arrived_at", sort="arrived_at"),
        Column("Rig", "rig.code", sort=by_text("rig__code")),
        Column("File", "file.name", sort=by_text("file__name")),
        Column("Unit", lambda row: row.unit and row.unit.serial, sort=by_text("unit__serial")),
        Column("State", lambda row: STATES[row.state]),
        Column("Recorded", lambda row: row.recorded),
        Column("Test", lambda row: _handed(row, "pressure_test.number")),
        Column("Step", lambda row: _handed(row, "limit.step.order")),
        Column("Reading", lambda row: _handed(row, "limit.reading")),
        Column("Instrument", lambda row: row.instrument and row.instrument.code),
        Column("Why aside", "aside_because"),
        Column("Why dismissed", "dismissed_reason"),
        Column("Dismissed by", lambda row: row.dismissed_by),
        Column("Token of", "by"),
        Column("SHA-256", "sha256"),
    ),
)

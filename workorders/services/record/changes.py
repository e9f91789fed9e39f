"""Every recorded change of a unit's rows."""

from collections.abc import Iterable
from typing import Any

from django.db import models

from workorders.models import Unit
from workorders.services.record.plain import Plain, plain


def tracked_rows(unit: Unit) -> Iterable[models.Manager[Any]]:
    """Return the histories of the unit and of every tracked row below its rebuilds."""
    from workorders import models as rows

    yield Unit.history.filter(id=unit.pk)
    paths = {
        rows.Rebuild: "unit_id",
        rows.ArrivalItem: "rebuild__unit_id",
        rows.FluidFound: "rebuild__unit_id",
        rows.Finding: "rebuild__unit_id",
        rows.Measurement: "rebuild__unit_id",
        rows.SealFound: "rebuild__unit_id",
        rows.Operation: "rebuild__unit_id",
        rows.OperationValue: "operation__rebuild__unit_id",
        rows.OutsideWork: "rebuild__unit_id",
        rows.PressureTest: "rebuild__unit_id",
        rows.StepResult: "pressure_test__rebuild__unit_id",
        rows.Reading: "result__pressure_test__rebuild__unit_id",
        rows.Trace: "reading__result__pressure_test__rebuild__unit_id",
        rows.PackingUnit: "rebuild__unit_id",
        rows.PackingLine: "packing_unit__rebuild__unit_id",
        rows.Exchange: "packed__rebuild__unit_id",
        rows.Warranty: "rebuild__unit_id",
        rows.Claim: "warranty__rebuild__unit_id",
    }
    for model, path in paths.items():
        yield model.history.filter(**{path: unit.pk})


def changes(unit: Unit) -> list[Plain]:
    """Return every recorded change of the unit's rows: what, who, when, why, from and to."""
    found: list[Plain] = []
    for history in tracked_rows(unit):
        earlier: dict[Any, Any] = {}
        for row in history.select_related("history_user").order_by("id", "history_date", "history_id"):
            found.append(change_record(row, earlier.get(row.id)))
            earlier[row.id] = row
    return sorted(found, key=lambda change: (change["at"], change["row"]))


# What outside work cost is for the lead and stores; a record goes to whoever asks for it.
NOT_TOLD = frozenset({"price"})


def change_record(row: Any, before: Any) -> Plain:
    """Return one history row as plain data, with the fields that differ from the one before."""
    kinds = {"+": "entered", "~": "changed", "-": "removed"}
    changed = {}
    if before is not None and row.history_type == "~":
        for name in (f.attname for f in row.tracked_fields if f.attname not in NOT_TOLD):
            old, new = getattr(before, name), getattr(row, name)
            if old != new:
                changed[name] = {"from": plain(old), "to": plain(new)}
    return {
        "row": f"{row.instance_type._meta.verbose_name} {row.id}",
        "what": kinds[row.history_type],
        "by": str(row.history_user) if row.history_user else None,
        "at": plain(row.history_date),
        "why": row.history_change_reason,
        "changed": changed,
    }

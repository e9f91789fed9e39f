"""Hose numbers that stood at the ports become hoses, with the history of each number."""

from django.db import migrations

REASON = "hose number of the port became a hose"


def make_hoses(apps, _schema_editor):
    """Make a hose of each number at a port, and history rows of every number that stood there."""
    Port, Hose = apps.get_model("shop", "Port"), apps.get_model("shop", "Hose")
    made = {}
    for port in Port.objects.exclude(hose_number="").order_by("pk"):
        made[port.pk] = Hose.objects.create(port_id=port.pk, **_hose(port, port.revision_id))
    _write_history(apps, made)


def _hose(port, revision_id):
    return {
        "revision_id": revision_id,
        "code": port.hose_number,
        "name": f"hose, {port.name}"[:80],
        "order": port.order,
        "attachment": "not_known",
    }


def _write_history(apps, made):
    """Repeat who set, changed and took out each number; history without it starts with the first row."""
    rows = apps.get_model("shop", "HistoricalPort").objects.order_by("id", "history_date", "history_id")
    stood = {}
    for row in rows:
        before, gone = stood.get(row.id), row.history_type == "-"
        stood[row.id] = None if gone or not row.hose_number else row
        if row.hose_number and before and not gone and _hose(before, 0) == _hose(row, 0):
            continue
        if not (row.hose_number or before) or (gone and not before):
            continue
        kept = row if row.hose_number and not gone else before
        kind = "-" if kept is before else ("~" if before else "+")
        _write_row(apps, made, kept, row, kind)


def _write_row(apps, made, kept, row, kind):
    # A number that stands at no port any more has no hose: its history keeps a number of its own below zero.
    pk = made[row.id].pk if row.id in made else -row.id
    apps.get_model("shop", "HistoricalHose").objects.create(
        id=pk,
        port_id=row.id,
        history_date=row.history_date,
        history_type=kind,
        history_user_id=row.history_user_id,
        history_change_reason=row.history_change_reason or REASON,
        **_hose(kept, kept.revision_id),
    )


def write_back(apps, _schema_editor):
    """Put the numbers back at their ports."""
    Port, Hose = apps.get_model("shop", "Port"), apps.get_model("shop", "Hose")
    for hose in Hose.objects.all():
        Port.objects.filter(pk=hose.port_id).update(hose_number=hose.code)


class Migration(migrations.Migration):
    dependencies = [("shop", "0009_hoses")]

    operations = [migrations.RunPython(make_hoses, write_back)]

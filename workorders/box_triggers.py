"""Database triggers that keep the boxes of two customers apart, whoever writes past the services.

A unit received from a box belongs to the box's work order; a box whose sender is named goes to a
work order of that customer only. Both rules span tables, so that no constraint can hold them.
"""

from typing import Any

from django.db import connections
from django.db.models.signals import post_migrate, pre_migrate
from django.dispatch import receiver

FOREIGN_UNIT = "a unit in the box belongs to the work order of another box"
FOREIGN_ORDER = "the work order belongs to another customer than the box"
LEFT_BEHIND = "units of this box were received in its work order"

# name, table, what fires it, when it refuses (SQL, NEW and OLD are the rows), what it says
_LINE = """NEW.rebuild_id IS NOT NULL AND NOT EXISTS (
  SELECT 1 FROM workorders_rebuild r JOIN workorders_box b ON b.work_order_id = r.work_order_id
  WHERE r.id = NEW.rebuild_id AND b.id = NEW.box_id)"""
_ORDER = """NEW.work_order_id IS NOT NULL AND EXISTS (
  SELECT 1 FROM workorders_workorder w WHERE w.id = NEW.work_order_id AND w.customer_id <> COALESCE(
    OLD.customer_id, (SELECT o.customer_id FROM workorders_workorder o WHERE o.id = OLD.work_order_id)))"""
_LEFT = """EXISTS (
  SELECT 1 FROM workorders_boxline l JOIN workorders_rebuild r ON r.id = l.rebuild_id
  WHERE l.box_id = NEW.id AND (NEW.work_order_id IS NULL OR r.work_order_id <> NEW.work_order_id))"""
_MOVED = """NEW.work_order_id <> OLD.work_order_id AND EXISTS (
  SELECT 1 FROM workorders_boxline l JOIN workorders_box b ON b.id = l.box_id
  WHERE l.rebuild_id = NEW.id AND b.work_order_id <> NEW.work_order_id)"""
RULES = (
    ("box_line_added", "workorders_boxline", "INSERT", _LINE, FOREIGN_UNIT),
    ("box_line_changed", "workorders_boxline", "UPDATE OF rebuild_id, box_id", _LINE, FOREIGN_UNIT),
    ("box_order", "workorders_box", "UPDATE OF work_order_id, customer_id", _ORDER, FOREIGN_ORDER),
    ("box_left", "workorders_box", "UPDATE OF work_order_id", _LEFT, LEFT_BEHIND),
    ("box_rebuild_moved", "workorders_rebuild", "UPDATE OF work_order_id", _MOVED, FOREIGN_UNIT),
)


def _statements(vendor: str) -> list[str]:
    made = []
    for name, table, event, refused, words in RULES:
        if vendor == "postgresql":
            made.append(
                f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger AS $$ BEGIN IF {refused} THEN "
                f"RAISE EXCEPTION '{words}' USING ERRCODE = 'integrity_constraint_violation'; "
                "END IF; RETURN NEW; END $$ LANGUAGE plpgsql"
            )
            made.append(
                f"CREATE OR REPLACE TRIGGER {name} BEFORE {event} ON {table} "
                f"FOR EACH ROW EXECUTE FUNCTION {name}()"
            )
        else:
            made.append(
                f"CREATE TRIGGER IF NOT EXISTS {name} BEFORE {event} ON {table} WHEN {refused} "
                f"BEGIN SELECT RAISE(ABORT, '{words}'); END"
            )
    return made


def _tables(connection: Any, cursor: Any) -> set[str]:
    return set(connection.introspection.table_names(cursor))


@receiver(pre_migrate)
def take_away(app_config: Any, using: str, **_kwargs: Any) -> None:
    """Take the triggers away while tables change: SQLite renames no table that a trigger reads."""
    if app_config.name != "workorders":
        return
    connection = connections[using]
    with connection.cursor() as cursor:
        present = _tables(connection, cursor)
        for name, table, *_rest in RULES:
            if table in present:
                on = f" ON {table}" if connection.vendor == "postgresql" else ""
                cursor.execute(f"DROP TRIGGER IF EXISTS {name}{on}")


@receiver(post_migrate)
def install(app_config: Any, using: str, **_kwargs: Any) -> None:
    """Put the triggers in place after every migrate."""
    if app_config.name != "workorders":
        return
    connection = connections[using]
    with connection.cursor() as cursor:
        if {table for _name, table, *_rest in RULES} <= _tables(connection, cursor):
            for statement in _statements(connection.vendor):
                cursor.execute(statement)

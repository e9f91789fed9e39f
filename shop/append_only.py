"""Database triggers that refuse UPDATE and DELETE on append-only and history tables."""

from typing import Any

from django.db import connections, models
from django.db.models.signals import post_migrate
from django.dispatch import receiver

POSTGRES_FUNCTION = """
CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger AS $$
BEGIN
  RAISE EXCEPTION '% is append-only', TG_TABLE_NAME USING ERRCODE = 'integrity_constraint_violation';
END $$ LANGUAGE plpgsql
"""
POSTGRES_TRIGGER = """
CREATE OR REPLACE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE ON {table}
FOR EACH ROW EXECUTE FUNCTION refuse_change()
"""
SQLITE_TRIGGER = """
CREATE TRIGGER IF NOT EXISTS {table}_no_{verb} BEFORE {verb} ON {table}
BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END
"""


def append_only_models(app_config: Any) -> list[type[models.Model]]:
    """Return an app's models whose rows are never changed: AppendOnly ones and histories."""
    from shop.models import AppendOnly

    return [
        model
        for model in app_config.get_models(include_auto_created=True)
        if issubclass(model, AppendOnly) or hasattr(model, "instance_type")
    ]


@receiver(post_migrate)
def install_triggers(app_config: Any, using: str, **_kwargs: Any) -> None:
    """Install the triggers after every migrate: a table rebuilt by AlterField loses them on SQLite."""
    if app_config.name not in ("shop", "inventory", "workorders"):
        return
    connection = connections[using]
    postgres = connection.vendor == "postgresql"
    with connection.cursor() as cursor:
        present = set(connection.introspection.table_names(cursor))
        if postgres:
            cursor.execute(POSTGRES_FUNCTION)
        for model in append_only_models(app_config):
            table = model._meta.db_table
            if table not in present:
                continue
            if postgres:
                cursor.execute(POSTGRES_TRIGGER.format(table=table))
            else:
                for verb in ("UPDATE", "DELETE"):
                    cursor.execute(SQLITE_TRIGGER.format(table=table, verb=verb))

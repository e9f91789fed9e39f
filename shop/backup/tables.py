"""What a backup reads of a database: its tables, rows, migrations and the files it names."""

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from shop.models import StoredFile


@contextmanager
def passing_connection(database: dict[str, Any]) -> Iterator[BaseDatabaseWrapper]:
    """Connect to a database, given as in the settings, for the length of the block."""
    alias = f"backup_{uuid.uuid4().hex}"
    connections.databases[alias] = database
    try:
        yield connections[alias]
    finally:
        connections[alias].close()
        del connections[alias]
        del connections.databases[alias]


def row_counts(connection: BaseDatabaseWrapper) -> dict[str, int]:
    """Return how many rows each table has."""
    counts = {}
    with connection.cursor() as cursor:
        for table in sorted(connection.introspection.table_names(cursor)):
            cursor.execute(f"SELECT COUNT(*) FROM {connection.ops.quote_name(table)}")  # noqa: S608 quoted
            counts[table] = cursor.fetchone()[0]
    return counts


def applied_migrations(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the migrations that a database has had."""
    return sorted(f"{app}.{name}" for app, name in MigrationRecorder(connection).applied_migrations())


def known_migrations() -> set[str]:
    """Return the migrations that this version of the program knows."""
    return {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}


def stored_files(connection: BaseDatabaseWrapper) -> list[StoredFile]:
    """Return the files that the database names, one row for each digest."""
    rows = StoredFile.objects.using(connection.alias).only("sha256", "name").order_by("sha256", "pk")
    return list({row.sha256: row for row in rows}.values())

"""PostgreSQL: dumped by pg_dump from one snapshot, restored by pg_restore in one transaction."""

import os
import shutil
import subprocess
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import transaction
from django.db.backends.base.base import BaseDatabaseWrapper

from shop.backup.engine import Engine
from shop.backup.manifest import BackupError
from shop.backup.tables import passing_connection

# Connection parameters as libpq reads them from the environment; a password never stands in a
# command line, where everybody on the machine can read it.
VARIABLES = {
    "host": "PGHOST",
    "port": "PGPORT",
    "user": "PGUSER",
    "password": "PGPASSWORD",
    "dbname": "PGDATABASE",
    "passfile": "PGPASSFILE",
    "service": "PGSERVICE",
    "options": "PGOPTIONS",
    "sslmode": "PGSSLMODE",
    "sslrootcert": "PGSSLROOTCERT",
    "sslcert": "PGSSLCERT",
    "sslkey": "PGSSLKEY",
}
# Functions of the schema, such as those of triggers, without what an extension brought.
ROUTINES = """
SELECT p.oid::regprocedure::text FROM pg_proc p
WHERE p.pronamespace = current_schema()::regnamespace
AND NOT EXISTS (SELECT 1 FROM pg_depend d WHERE d.objid = p.oid AND d.deptype = 'e') ORDER BY 1
"""


class Postgresql(Engine):
    """A database on a server."""

    name = "postgresql"
    compression = zipfile.ZIP_STORED  # the dump is compressed already

    @property
    def work_folder(self) -> Path:
        """The system's own folder: the dump is only read from there."""
        return Path(tempfile.gettempdir())

    @contextmanager
    def snapshot(self, copy: Path) -> Iterator[BaseDatabaseWrapper]:
        """Dump the very snapshot that the connection sees, so that both tell of the same rows."""
        with passing_connection(self.database) as connection, transaction.atomic(using=connection.alias):
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
                cursor.execute("SELECT pg_export_snapshot()")
                (snapshot,) = cursor.fetchone()
            self._run(connection, "pg_dump", "--format=custom", f"--snapshot={snapshot}", f"--file={copy}")
            yield connection

    def faults(self, connection: BaseDatabaseWrapper) -> list[str]:
        """Return nothing: pg_dump reads every row and fails where it cannot."""
        return []

    def refuse_unless_empty(self) -> None:
        """Refuse a database with tables or functions."""
        with passing_connection(self.database) as connection:
            if found := [*self._tables(connection), *self._routines(connection)]:
                raise BackupError(
                    f"The database {self.database['NAME']} is not empty (it has {found[0]}); "
                    "restore into a new database, and before migrate."
                )

    @contextmanager
    def restoring(self, copy: Path) -> Iterator[BaseDatabaseWrapper]:
        """Fill the empty database in one transaction; drop it all again where the block fails."""
        with passing_connection(self.database) as connection:
            target = f"--dbname={self.database['NAME']}"
            self._run(connection, "pg_restore", "--single-transaction", "--exit-on-error", target, str(copy))
            try:
                yield connection
            except BaseException:
                self._empty(connection)
                raise

    def _tables(self, connection: BaseDatabaseWrapper) -> list[str]:
        with connection.cursor() as cursor:
            return sorted(connection.introspection.table_names(cursor))

    def _routines(self, connection: BaseDatabaseWrapper) -> list[str]:
        with connection.cursor() as cursor:
            cursor.execute(ROUTINES)
            return [row[0] for row in cursor.fetchall()]

    def _empty(self, connection: BaseDatabaseWrapper) -> None:
        """Drop what a failed restore made: the database was empty before it."""
        connection.close()  # whatever the failed block left open
        with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
            for table in self._tables(connection):
                cursor.execute(f"DROP TABLE {connection.ops.quote_name(table)} CASCADE")
            for routine in self._routines(connection):  # the database quotes these names itself
                cursor.execute(f"DROP ROUTINE {routine} CASCADE")

    def _run(self, connection: BaseDatabaseWrapper, program: str, *arguments: str) -> None:
        found = shutil.which(program)
        if found is None:
            raise BackupError(
                f"{program} is not installed on this machine: install PostgreSQL's client programs, "
                "of the server's version or newer."
            )
        given = connection.get_connection_params()
        variables = {VARIABLES[key]: str(value) for key, value in given.items() if key in VARIABLES and value}
        command = [found, "--no-password", "--no-owner", "--no-privileges", *arguments]
        done = subprocess.run(  # noqa: S603 no shell, and no argument from outside
            command, env={**os.environ, **variables}, capture_output=True, text=True, check=False
        )
        if done.returncode:
            raise BackupError(f"{program} failed, and nothing was kept: {done.stderr.strip()}")

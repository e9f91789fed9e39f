"""SQLite: copied by its online backup, restored as a file that is moved into place."""

import os
import sqlite3
import zipfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from django.db.backends.base.base import BaseDatabaseWrapper

from shop.backup.archive import sync_folder
from shop.backup.engine import Engine
from shop.backup.manifest import BackupError
from shop.backup.tables import passing_connection

WAIT_S = 20
BESIDE = ("-wal", "-shm", "-journal")


class Sqlite(Engine):
    """A database in one file."""

    name = "sqlite"
    compression = zipfile.ZIP_DEFLATED

    @property
    def path(self) -> Path:
        """Where the database lies."""
        return Path(self.database["NAME"]).absolute()

    @property
    def work_folder(self) -> Path:
        """Beside the database, so that a move into place is one rename."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        return self.path.parent

    def _open(self) -> sqlite3.Connection:
        return sqlite3.connect(f"{self.path.as_uri()}?mode=rw", uri=True, timeout=WAIT_S)

    @contextmanager
    def snapshot(self, copy: Path) -> Iterator[BaseDatabaseWrapper]:
        """Copy by the online backup: a copy of the file alone would miss what stands in the WAL."""
        if not self.path.is_file():
            raise BackupError(f"There is no database at {self.path}.")
        try:
            with closing(self._open()) as source, closing(sqlite3.connect(copy)) as target:
                source.backup(target)
        except sqlite3.Error as error:
            raise BackupError(f"The database {self.path} cannot be copied: {error}.") from error
        with passing_connection({**self.database, "NAME": str(copy)}) as connection:
            yield connection

    def faults(self, connection: BaseDatabaseWrapper) -> list[str]:
        """Let SQLite check its pages, indexes and constraints, and every foreign key."""
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA integrity_check")
            said = [row[0] for row in cursor.fetchall() if row[0] != "ok"]
            cursor.execute("PRAGMA foreign_key_check")
            said += [f"{row[0]} row {row[1]} points to no row of {row[2]}" for row in cursor.fetchall()]
        return [f"The database is damaged: {sentence}." for sentence in said]

    def refuse_unless_empty(self) -> None:
        """Refuse a database with tables, and what a removed or a running database left beside."""
        if self.path.exists():
            try:
                with closing(self._open()) as connection:
                    (count,) = connection.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()
            except sqlite3.Error as error:
                raise BackupError(f"{self.path} is in the way of a restore: {error}.") from error
            if count:
                message = "restore into a new data folder, and before migrate"
                raise BackupError(f"The database {self.path} is not empty; {message}.")
        for beside in (Path(f"{self.path}{suffix}") for suffix in BESIDE):
            if beside.exists():
                raise BackupError(f"{beside} belongs to a database in use, or to a removed one.")

    @contextmanager
    def restoring(self, copy: Path) -> Iterator[BaseDatabaseWrapper]:
        """Work on the unpacked file, then move it into place."""
        with passing_connection({**self.database, "NAME": str(copy)}) as connection:
            yield connection
        os.replace(copy, self.path)
        sync_folder(self.path.parent)

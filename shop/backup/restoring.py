"""Restoring an archive into an empty place: all of it, checked, or nothing."""

import os
import shutil
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.base.base import BaseDatabaseWrapper

from shop.backup.archive import check_archive, extract, opened, sync_folder
from shop.backup.engine import Engine
from shop.backup.making import engine_of
from shop.backup.manifest import BackupError, Manifest
from shop.backup.tables import applied_migrations, known_migrations, row_counts


@dataclass(frozen=True)
class Restored:
    """What a restore did."""

    manifest: Manifest
    new_migrations: list[str]


class FilesInWaiting:
    """A folder inside the files folder, filled first; placed, it is kept only if the block ends well."""

    def __init__(self, files_dir: Path) -> None:
        self.files_dir = files_dir
        self.placed: list[Path] = []

    def __enter__(self) -> Self:
        self.files_dir.mkdir(parents=True, exist_ok=True)
        self.folder = Path(tempfile.mkdtemp(prefix=".restoring-", dir=self.files_dir))
        return self

    def place(self) -> None:
        """Move the filled subfolders to where the program looks for them."""
        for folder in sorted((self.folder / "files").glob("*")):
            target = self.files_dir / folder.name
            if target.exists():
                target.rmdir()
            os.rename(folder, target)
            self.placed.append(target)
        sync_folder(self.files_dir)

    def __exit__(
        self, kind: type[BaseException] | None, _error: BaseException | None, _trace: TracebackType | None
    ) -> None:
        shutil.rmtree(self.folder)
        if kind:
            for folder in self.placed:
                shutil.rmtree(folder)


def restore_archive(*, source: Path, database: dict[str, Any], files_dir: Path) -> Restored:
    """Restore an archive into an empty database and an empty files folder.

    Every digest is checked before anything is touched; rows are counted and files checked before
    they are moved into place. Raises BackupError; after any error both places are empty again.
    """
    manifest = check_archive(source)
    engine = engine_of(database)
    refuse_unfit(manifest, engine)
    engine.refuse_unless_empty()
    _refuse_files(files_dir)
    with (
        opened(source) as (archive, again),
        FilesInWaiting(files_dir) as files,
        tempfile.TemporaryDirectory(prefix=".restoring-", dir=engine.work_folder) as work,
    ):
        if again != manifest:
            raise BackupError(f"{source} was changed while it was read.")
        copy = _unpack(archive, manifest, files=files.folder, work=Path(work))
        with engine.restoring(copy) as connection:
            _compare_rows(connection, manifest)
            new_migrations = _migrate(connection, manifest)
            files.place()
    return Restored(manifest=manifest, new_migrations=new_migrations)


def refuse_unfit(manifest: Manifest, engine: Engine) -> None:
    """Refuse an archive of the other kind of database, and one of a newer program."""
    if manifest.engine != engine.name:
        raise BackupError(
            f"The archive holds a database of the kind {manifest.engine}, and DATABASE_URL names one of "
            f"the kind {engine.name}: restore it into its own kind."
        )
    if unknown := sorted(set(manifest.migrations) - known_migrations()):
        raise BackupError(
            f"The archive was made by a newer version of the program ({manifest.program_version}), with "
            f"changes that this one does not know ({unknown[0]}): install that version first."
        )


def _refuse_files(files_dir: Path) -> None:
    found = next((path for path in files_dir.rglob("*") if not path.is_dir()), None)
    if found:
        raise BackupError(f"The files folder is not empty ({found}); restore into a new data folder.")


def _unpack(archive: zipfile.ZipFile, manifest: Manifest, *, files: Path, work: Path) -> Path:
    """Write the stored files and the database to where they wait; return the database's path."""
    for name in manifest.file_members:
        extract(archive=archive, name=name, member=manifest.members[name], target=files / name)
    (name,) = manifest.database_members
    extract(archive=archive, name=name, member=manifest.members[name], target=work / name)
    return work / name


@contextmanager
def _as_default(connection: BaseDatabaseWrapper) -> Iterator[None]:
    """Let code that names no database, such as what writes the history, write to this one."""
    before = connections[DEFAULT_DB_ALIAS]
    connections[DEFAULT_DB_ALIAS] = connection
    try:
        yield
    finally:
        connections[DEFAULT_DB_ALIAS] = before


def _compare_rows(connection: BaseDatabaseWrapper, manifest: Manifest) -> None:
    found = row_counts(connection)
    tables = sorted(found.keys() | manifest.rows.keys())
    wrong = [table for table in tables if found.get(table) != manifest.rows.get(table)]
    if wrong:
        counts = f"{found.get(wrong[0])} instead of {manifest.rows.get(wrong[0])}"
        raise BackupError(f"The restored rows are not those of the archive: {wrong[0]} has {counts}.")


def _migrate(connection: BaseDatabaseWrapper, manifest: Manifest) -> list[str]:
    """Bring an older database up to date; also puts the triggers in place where one is missing."""
    with _as_default(connection):
        call_command("migrate", database=connection.alias, interactive=False, verbosity=0)
    return sorted(set(applied_migrations(connection)) - set(manifest.migrations))

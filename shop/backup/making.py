"""Making an archive while the program is in use."""

import datetime as dt
import hashlib
import io
import os
import re
import tempfile
import tomllib
import zipfile
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings

from shop.backup.archive import CHUNK_BYTES, DATABASES, add, file_member, sync_folder
from shop.backup.engine import Engine
from shop.backup.manifest import FORMAT, MANIFEST, BackupError, Manifest, Member
from shop.backup.postgresql import Postgresql
from shop.backup.sqlite import Sqlite
from shop.backup.tables import applied_migrations, row_counts, stored_files
from shop.errors import RuleBroken
from shop.models import StoredFile
from shop.services.files import read_bytes

DATED_NAME = re.compile(r"sealwright-\d{8}T\d{6}Z\.zip")


@dataclass(frozen=True)
class Made:
    """A finished archive."""

    path: Path
    sha256: str
    manifest: Manifest


@dataclass(frozen=True)
class Copied:
    """What a snapshot of the database says about itself."""

    rows: dict[str, int]
    migrations: list[str]
    files: list[StoredFile]
    faults: list[str]


def engine_of(database: dict[str, Any]) -> Engine:
    """Return the engine of a database given as in the settings."""
    kinds: dict[str, type[Engine]] = {
        "django.db.backends.sqlite3": Sqlite,
        "django.db.backends.postgresql": Postgresql,
    }
    if database["ENGINE"] not in kinds:
        raise BackupError(f"Backups know SQLite and PostgreSQL, not {database['ENGINE']}.")
    return kinds[database["ENGINE"]](database)


def program_version() -> str:
    """Return the version of this program."""
    with (settings.BASE_DIR / "pyproject.toml").open("rb") as file:
        return str(tomllib.load(file)["project"]["version"])


def make_archive(*, database: dict[str, Any], dest: Path, now: dt.datetime) -> Made:
    """Write one archive of the database and the stored files; never over another file.

    ``dest`` is a folder, which gets a file with a dated name, or the name of a new file. Files are
    copied after the database: they come into place at the commit that names them and never change,
    so each one that the copy names is there. One that is missing or damaged all the same is a
    problem in the manifest, and the archive is written without it.
    """
    path = dest / f"sealwright-{now.astimezone(dt.UTC):%Y%m%dT%H%M%SZ}.zip" if dest.is_dir() else dest
    if path.exists():
        raise BackupError(f"{path} exists already, and a backup never replaces another.")
    if not path.parent.is_dir():
        raise BackupError(f"There is no folder {path.parent}.")
    engine = engine_of(database)
    with tempfile.TemporaryDirectory(prefix=".backup-", dir=path.parent) as name:
        folder = Path(name)
        copy = folder / DATABASES[engine.name]
        copied = _copy_database(engine, copy)
        part = folder / "archive"
        manifest = _write_archive(part=part, engine=engine, copy=copy, copied=copied, now=now)
        sha256 = _digest(part)
        _move_into_place(part, path)
    return Made(path=path, sha256=sha256, manifest=manifest)


def thin_out(*, folder: Path, keep: int) -> list[Path]:
    """Remove the oldest archives with a dated name in a folder, and return them."""
    dated = sorted(path for path in folder.iterdir() if DATED_NAME.fullmatch(path.name))
    gone = dated[: max(len(dated) - keep, 0)]
    for path in gone:
        path.unlink()
    return gone


def _copy_database(engine: Engine, copy: Path) -> Copied:
    with engine.snapshot(copy) as connection:
        rows = row_counts(connection)
        if StoredFile._meta.db_table not in rows:
            raise BackupError("The database holds no shop yet: there is nothing to back up.")
        return Copied(
            rows=rows,
            migrations=applied_migrations(connection),
            files=stored_files(connection),
            faults=engine.faults(connection),
        )


def _write_archive(*, part: Path, engine: Engine, copy: Path, copied: Copied, now: dt.datetime) -> Manifest:
    problems = list(copied.faults)
    members: dict[str, Member] = {}
    with (
        open(part, "xb", opener=_private) as file,
        zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        with copy.open("rb") as source:
            members[copy.name] = add(
                archive=archive, name=copy.name, source=source, compression=engine.compression
            )
        problems += _add_files(archive, copied.files, members)
        manifest = Manifest(
            format=FORMAT,
            program_version=program_version(),
            made_at=now.astimezone(dt.UTC).isoformat(timespec="seconds"),
            engine=engine.name,
            migrations=copied.migrations,
            rows=copied.rows,
            problems=problems,
            members=members,
        )
        archive.writestr(MANIFEST, manifest.as_json())
        archive.close()
        file.flush()
        os.fsync(file.fileno())
    return manifest


def _add_files(archive: zipfile.ZipFile, files: list[StoredFile], members: dict[str, Member]) -> list[str]:
    """Add the stored files and return a sentence for each that is missing or damaged."""
    problems = []
    for row in files:
        try:
            data = _read(row)
        except RuleBroken as error:
            problems.append(f"{error.message} (SHA-256 {row.sha256})")
            continue
        name = file_member(row.sha256)
        members[name] = add(
            archive=archive, name=name, source=io.BytesIO(data), compression=zipfile.ZIP_STORED
        )
    return problems


def _read(row: StoredFile) -> bytes:
    """Read a stored file; once more, since it may move from staged to its place between two looks."""
    with suppress(RuleBroken):
        return read_bytes(row)
    return read_bytes(row)


def _private(path: str, flags: int) -> int:
    """Open for the owner alone: an archive holds customers' data and password digests."""
    return os.open(path, flags, 0o600)


def _digest(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while chunk := file.read(CHUNK_BYTES):
            digest.update(chunk)
    return digest.hexdigest()


def _move_into_place(part: Path, path: Path) -> None:
    """Give the archive its name, unless another file took it in the meantime."""
    try:
        os.link(part, path)  # unlike a rename, never over another file
    except OSError as error:
        if path.exists():
            raise BackupError(f"{path} exists already, and a backup never replaces another.") from error
        os.rename(part, path)  # a file system without links, such as that of many memory sticks
    sync_folder(path.parent)

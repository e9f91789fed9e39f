"""The archive: a zip whose members are all listed with their digests, and checked when read."""

import hashlib
import os
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from shop.backup.manifest import FILE_MEMBER, MANIFEST, BackupError, Manifest, Member, read_manifest_text

CHUNK_BYTES = 1024 * 1024
MANIFEST_LIMIT_BYTES = 256 * 1024 * 1024  # about a million stored files
DATABASES = {"sqlite": "database.sqlite3", "postgresql": "database.dump"}
UNREADABLE = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError)


def file_member(sha256: str) -> str:
    """Return the name in the archive of a stored file."""
    return f"files/{sha256[:2]}/{sha256}"


def add(*, archive: zipfile.ZipFile, name: str, source: IO[bytes], compression: int) -> Member:
    """Write one member and return its digest and size."""
    info = zipfile.ZipInfo(name)
    info.compress_type = compression
    digest = hashlib.sha256()
    size_bytes = 0
    with archive.open(info, "w", force_zip64=True) as out:
        while chunk := source.read(CHUNK_BYTES):
            digest.update(chunk)
            size_bytes += len(chunk)
            out.write(chunk)
    return Member(sha256=digest.hexdigest(), size_bytes=size_bytes)


@contextmanager
def opened(path: Path) -> Iterator[tuple[zipfile.ZipFile, Manifest]]:
    """Open an archive and check its list of contents against its members, not yet their bytes."""
    if not path.is_file():
        raise BackupError(f"There is no archive at {path}.")
    try:
        archive = zipfile.ZipFile(path)
    except UNREADABLE as error:
        raise BackupError(f"{path} is no archive, or was cut short; use another copy.") from error
    with archive:
        yield archive, _manifest(archive)


def check_archive(path: Path) -> Manifest:
    """Read every member against its digest and return the manifest; writes nothing."""
    with opened(path) as (archive, manifest):
        for name, member in manifest.members.items():
            _copy(archive=archive, name=name, member=member, out=None)
        return manifest


def extract(*, archive: zipfile.ZipFile, name: str, member: Member, target: Path) -> None:
    """Write one member to a new file, checked on the way and safe on the disk afterwards."""
    target.parent.mkdir(parents=True, exist_ok=True)
    with target.open("xb") as out:
        _copy(archive=archive, name=name, member=member, out=out)
        out.flush()
        os.fsync(out.fileno())


def sync_folder(folder: Path) -> None:
    """Make renames in a folder survive a power cut, where the system can open folders."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _manifest(archive: zipfile.ZipFile) -> Manifest:
    try:
        if archive.getinfo(MANIFEST).file_size > MANIFEST_LIMIT_BYTES:
            raise BackupError("The archive's list of contents is too long to be one.")
        manifest = read_manifest_text(archive.read(MANIFEST))
    except KeyError:
        raise BackupError("The archive has no list of contents: it was not made by this program.") from None
    except UNREADABLE as error:
        raise BackupError("The archive's list of contents is damaged; use another copy.") from error
    _refuse_other_names(archive, manifest)
    return manifest


def _refuse_other_names(archive: zipfile.ZipFile, manifest: Manifest) -> None:
    """Refuse members that are not listed, listed ones that are missing, and names of another shape."""
    names = archive.namelist()
    listed = {MANIFEST, *manifest.members}
    if strange := sorted(set(names) - listed):
        raise BackupError(f"The archive has a member that is not in its list of contents: {strange[0]!r}.")
    if missing := sorted(listed - set(names)):
        raise BackupError(f"The archive lacks {missing[0]!r}, which its list of contents names.")
    if len(names) != len(listed):
        raise BackupError("The archive has two members of the same name.")
    if manifest.database_members != [DATABASES.get(manifest.engine)]:
        raise BackupError(f"The archive has members of no known kind: {manifest.database_members!r}.")
    for name, member in manifest.members.items():
        if (match := FILE_MEMBER.fullmatch(name)) and match["sha256"] != member.sha256:
            raise BackupError(f"The archive's list of contents gives {name} another digest than its name.")


def _copy(*, archive: zipfile.ZipFile, name: str, member: Member, out: IO[bytes] | None) -> None:
    changed = f"{name} in the archive is not as it was written: use another copy of the archive."
    digest = hashlib.sha256()
    size_bytes = 0
    try:
        with archive.open(name) as source:
            while chunk := source.read(CHUNK_BYTES):
                size_bytes += len(chunk)
                if size_bytes > member.size_bytes:
                    raise BackupError(changed)
                digest.update(chunk)
                if out:
                    out.write(chunk)
    except UNREADABLE as error:
        raise BackupError(changed) from error
    if digest.hexdigest() != member.sha256 or size_bytes != member.size_bytes:
        raise BackupError(changed)

"""The columns of logger files: read once, kept while they are of use, and always possible to read again."""

import hashlib
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile

from shop.models import StoredFile
from shop.services.files import checked_path, digest_of, read_bytes, store_bytes, store_path
from shop.services.writing import Act
from workorders.calc.trace import Source, Trace, TraceMapping, read_source, trace_of
from workorders.services.trace_kept import drop_unused, keep_source, kept_folder, kept_source

LONG_BYTES = 4_000_000  # what takes longer to read than a page may take; its columns are kept on disk
MOST_KEPT_BYTES = 1024**3


def columns_folder() -> Path:
    """Return where columns of long files are kept: beside the files, in no backup, free to be deleted."""
    return Path(settings.FILES_DIR).parent / "trace-columns"


def stored_trace(file: StoredFile, mapping: TraceMapping) -> Trace:
    """Return a stored logger file as a mapping reads it.

    Raises RuleBroken where the file is missing or changed, TraceError where it cannot be read.
    """
    return trace_of(source=stored_source(file), mapping=mapping)


def stored_source(file: StoredFile, *, checked: bool = True) -> Source:
    """Return the columns of a stored logger file.

    Parameters
    ----------
    file : StoredFile
        The file as uploaded.
    checked : bool
        Compare the digests of file and kept columns first; only a drawing may leave it out.

    Returns
    -------
    Source
        Every sample of every column.

    Raises
    ------
    RuleBroken
        The file is missing or no longer has its bytes.
    TraceError
        It cannot be read.
    """
    if not checked and is_long(file.size_bytes):
        found = kept_source(kept_folder(columns_folder(), file.sha256), checked=False)
        if found:
            return found
    if not is_long(file.size_bytes):
        return source_of(read_bytes(file))
    return _long_source(checked_path(file).read_bytes, file.sha256)


def source_from(data: bytes) -> Source:
    """Read a file held in memory; the columns of a long one are kept on disk. Raises TraceError."""
    if not is_long(len(data)):
        return source_of(data)
    return _long_source(lambda: data, hashlib.sha256(data).hexdigest())


def _long_source(read: Callable[[], bytes], sha256: str) -> Source:
    folder = kept_folder(columns_folder(), sha256)
    found = kept_source(folder, checked=True)
    if found is None:
        data = read()
        found = read_source(data=data, max_bytes=max(len(data), 1))
        keep_source(folder, found)
        drop_unused(columns_folder(), most_bytes=MOST_KEPT_BYTES)
    return found


@lru_cache(maxsize=8)
def source_of(data: bytes) -> Source:
    """Read a file of the usual size once: it is proposed, confirmed, judged and drawn in a row."""
    source = read_source(data=data, max_bytes=max(len(data), 1))
    for column in source.columns:
        column.values.setflags(write=False)
    return source


def is_long(size_bytes: int) -> bool:
    """Whether a file takes longer to read than a page may take."""
    return size_bytes >= LONG_BYTES


def read_ahead(upload: "UploadedFile[Any]") -> Source:
    """Read an uploaded file, so that a write after it need not; raises TraceError."""
    path = path_of(upload)
    if path and is_long(path.stat().st_size):
        return _long_source(path.read_bytes, digest_of(path))
    upload.seek(0)
    data = upload.read()
    upload.seek(0)
    return source_from(data)


def store_upload(*, act: Act, upload: "UploadedFile[Any]") -> StoredFile:
    """Store an uploaded logger file byte for byte; call inside a service."""
    told: dict[str, str] = {
        "name": upload.name or "trace.csv",
        "kind": StoredFile.Kind.TRACE,
        "content_type": "text/plain",
    }
    path = path_of(upload)
    if path:
        return store_path(act=act, path=path, **told)
    upload.seek(0)
    return store_bytes(act=act, data=upload.read(), **told)


def path_of(upload: "UploadedFile[Any]") -> Path | None:
    """Return where an upload lies on disk; None where it is held in memory."""
    place = getattr(upload, "temporary_file_path", None)
    return Path(place()) if place else None

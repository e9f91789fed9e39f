"""The columns of a long logger file kept on disk once they are read, and the process that reads them."""

import hashlib
import json
import os
import shutil
import sys
import uuid
from contextlib import suppress
from pathlib import Path

import numpy as np

from workorders.calc.trace import Source, read_source
from workorders.calc.trace_columns import TraceColumn
from workorders.calc.trace_error import TraceError

# Raise it whenever a file may be read otherwise than before: what older readers kept is left alone.
READER = 2
_COLUMNS, _LINES, _FACTS = "columns.npy", "lines.npy", "facts.json"


def kept_folder(place: Path, sha256: str) -> Path:
    """Return the folder for the columns of a file, by its digest and the reader's number."""
    return place / f"{sha256}-{READER}"


def refusal_file(path: Path) -> Path:
    """Return where the sentence stands by which the file at a path was refused."""
    return path.with_name(f"{path.name}.refused")


def keep_source(folder: Path, source: Source) -> None:
    """Write the columns of a file to a folder; all of it is there, or nothing.

    Two who write the same do no harm: the first one stays.
    """
    work = folder.with_name(f"{folder.name}.{uuid.uuid4().hex}")
    work.mkdir(parents=True)
    try:
        np.save(work / _COLUMNS, np.stack([column.values for column in source.columns]))
        lines = source.lines
        if not isinstance(lines, range):
            np.save(work / _LINES, np.asarray(lines, dtype=np.int64))
        names = ("index", "header", "quantity", "unit", "strange_unit")
        facts = {
            "columns": [{name: getattr(column, name) for name in names} for column in source.columns],
            "lines": [lines.start, lines.stop] if isinstance(lines, range) else None,
            "warnings": list(source.warnings),
            "sha256": _digest(work / _COLUMNS),
        }
        (work / _FACTS).write_text(json.dumps(facts), encoding="utf-8")
        with suppress(OSError):  # another one was quicker
            os.replace(work, folder)
    finally:
        shutil.rmtree(work, ignore_errors=True)


def kept_source(folder: Path, *, checked: bool) -> Source | None:
    """Return the columns kept in a folder, read from the disk as they are asked for.

    ``checked`` compares their digest first, as whatever is judged needs. None where nothing is
    kept, or what is kept is damaged; then it is deleted.
    """
    try:
        facts = json.loads((folder / _FACTS).read_text(encoding="utf-8"))
        if checked and _digest(folder / _COLUMNS) != facts["sha256"]:
            raise ValueError("the columns are not those that were written")
        values = np.load(folder / _COLUMNS, mmap_mode="r").view(np.ndarray)
        span = facts["lines"]
        lines = range(*span) if span else np.load(folder / _LINES, mmap_mode="r")
        columns = tuple(
            TraceColumn(values=row, **told) for row, told in zip(values, facts["columns"], strict=True)
        )
        os.utime(folder / _FACTS)  # used just now: others are dropped first
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError):
        shutil.rmtree(folder, ignore_errors=True)
        return None
    return Source(columns=columns, lines=lines, warnings=tuple(facts["warnings"]))


def drop_unused(place: Path, *, most_bytes: int) -> None:
    """Delete what was longest not used until the rest is no more than so many bytes."""
    found = []
    for folder in place.glob("*"):
        with suppress(OSError):
            size = sum(path.stat().st_size for path in folder.iterdir())
            found.append(((folder / _FACTS).stat().st_mtime, size, folder))
    total = sum(size for _, size, _ in found)
    for _, size, folder in sorted(found, key=lambda each: each[0]):
        if total <= most_bytes:
            return
        shutil.rmtree(folder, ignore_errors=True)
        total -= size


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def main(path: Path, folder: Path) -> None:
    """Read the file at a path and keep its columns, or the sentence by which it is refused."""
    data = path.read_bytes()
    try:
        keep_source(folder, read_source(data=data, max_bytes=max(len(data), 1)))
    except TraceError as error:
        work = path.with_name(f"{path.name}.{uuid.uuid4().hex}")
        work.write_text(str(error), encoding="utf-8")
        os.replace(work, refusal_file(path))


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))

"""Long logger files between their arrival and their reading: on disk, read by a process of their own."""

import json
import os
import shutil
import subprocess
import sys
import threading
import time
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile

from shop.services.files import digest_of
from workorders.services.trace_kept import drop_unused, kept_folder, kept_source, refusal_file
from workorders.services.trace_sources import MOST_KEPT_BYTES, columns_folder

FORGOTTEN_S = 24 * 3600.0


class Progress(StrEnum):
    """How far the reading of a file is."""

    READING = "reading"
    READ = "read"
    REFUSED = "refused"


@dataclass(frozen=True, kw_only=True)
class Waiting:
    """A file that arrived and is not recorded yet: nothing in the database names it.

    ``facts`` is plain data of whoever handed it in: the form, the address to go on at.
    """

    folder: Path
    facts: Mapping[str, Any]

    @property
    def path(self) -> Path:
        """Where the bytes lie, as they came."""
        return self.folder / "file"

    @property
    def refusal(self) -> str:
        """The sentence by which the file was refused; empty where it was not."""
        place = refusal_file(self.path)
        return place.read_text(encoding="utf-8") if place.exists() else ""


class WaitingUpload(UploadedFile):  # type: ignore[type-arg]
    """A waiting file as a form takes it."""

    def __init__(self, waiting: Waiting) -> None:
        self.waiting = waiting
        super().__init__(
            file=waiting.path.open("rb"), name=waiting.facts["name"], size=waiting.path.stat().st_size
        )

    def temporary_file_path(self) -> str:
        """Where the bytes lie."""
        return str(self.waiting.path)


def _place() -> Path:
    return Path(settings.FILES_DIR).parent / "waiting"


def keep_waiting(*, key: uuid.UUID, upload: "UploadedFile[Any]", facts: Mapping[str, Any]) -> Waiting:
    """Keep an upload until it is read; the same key again gives the file that waits already."""
    _drop_forgotten()
    folder = _place() / key.hex
    found = waiting_of(key)
    if found:
        return found
    work = folder.with_name(f"{key.hex}.{uuid.uuid4().hex}")
    work.mkdir(parents=True)
    try:
        with (work / "file").open("wb") as out:
            for piece in upload.chunks():
                out.write(piece)
        told = {**facts, "name": upload.name, "sha256": digest_of(work / "file")}
        (work / "facts.json").write_text(json.dumps(told), encoding="utf-8")
        os.replace(work, folder)
    finally:
        shutil.rmtree(work, ignore_errors=True)
    return Waiting(folder=folder, facts=told)


def waiting_of(key: uuid.UUID) -> Waiting | None:
    """Return what waits under a key; None where nothing does. A key cannot be guessed."""
    folder = _place() / key.hex
    try:
        facts = json.loads((folder / "facts.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return Waiting(folder=folder, facts=facts)


def drop_waiting(waiting: Waiting) -> None:
    """Delete a waiting file: it is recorded, or refused."""
    shutil.rmtree(waiting.folder, ignore_errors=True)


def progress_of(waiting: Waiting) -> Progress:
    """Say how far the reading is, and begin it where nobody reads.

    Whoever reads is another process, so that neither the page nor the database waits for it. When it
    or this process dies nothing is lost: the next question begins again.
    """
    if waiting.refusal:
        return Progress.REFUSED
    folder = kept_folder(columns_folder(), waiting.facts["sha256"])
    if kept_source(folder, checked=False):
        return Progress.READ
    _READERS.begin(waiting.path, folder)
    return Progress.READING


class _Readers:
    """The reading processes of this server, by what they read; one at a time for each file."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._running: dict[Path, subprocess.Popen[bytes]] = {}

    def begin(self, path: Path, folder: Path) -> None:
        """Start to read unless somebody does, or has just ended."""
        with self._lock:
            running = self._running.get(folder)
            if running and running.poll() is None:
                return
            self._running = {place: each for place, each in self._running.items() if each.poll() is None}
            if folder.exists() or refusal_file(path).exists():
                return
            drop_unused(folder.parent, most_bytes=MOST_KEPT_BYTES)
            self._running[folder] = subprocess.Popen(  # noqa: S603 no shell, and no argument from outside
                [sys.executable, "-m", "workorders.services.trace_kept", str(path), str(folder)],
                cwd=settings.BASE_DIR,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
            )


_READERS = _Readers()


def _drop_forgotten() -> None:
    """Delete what was left waiting longer than a day."""
    for folder in _place().glob("*"):
        try:
            old = time.time() - folder.stat().st_mtime > FORGOTTEN_S
        except FileNotFoundError:
            continue
        if old:
            shutil.rmtree(folder, ignore_errors=True)

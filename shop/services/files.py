"""Files: checked, staged, and moved into place after the commit."""

import hashlib
import io
import os
import uuid
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from PIL import Image, ImageOps, UnidentifiedImageError

from shop.errors import RuleBroken
from shop.models import StoredFile
from shop.services.writing import Act, keep, note_staged

PDF_MAGIC = b"%PDF-"
PHOTO_FORMATS = ("JPEG", "PNG", "WEBP")


def place_of(sha256: str) -> Path:
    """Return the final path of a stored file."""
    return Path(settings.FILES_DIR) / sha256[:2] / sha256


def staged(sha256: str) -> list[Path]:
    """Return copies that wait for a commit, or that a crash right after one left behind."""
    return sorted((Path(settings.FILES_DIR) / "incoming").glob(f"{sha256}.*"))


def read_bytes(row: StoredFile) -> bytes:
    """Return the bytes of a stored file and check them against their digest.

    Raises RuleBroken where the file is missing or its bytes were changed.
    """
    found = False
    for path in _places(row):
        with suppress(FileNotFoundError):
            data = path.read_bytes()
            if hashlib.sha256(data).hexdigest() == row.sha256:
                return data
            found = True
    raise _changed(row) if found else _missing(row)


def checked_path(row: StoredFile) -> Path:
    """Return where a stored file lies, once its bytes are checked against their digest.

    Raises RuleBroken where the file is missing or its bytes were changed.
    """
    found = False
    for path in _places(row):
        with suppress(FileNotFoundError):
            if digest_of(path) == row.sha256:
                return path
            found = True
    raise _changed(row) if found else _missing(row)


def _places(row: StoredFile) -> tuple[Path, ...]:
    """Return where the bytes may lie; of copies in waiting, a crash may have left a part of one."""
    return (place_of(row.sha256), *staged(row.sha256))


def _changed(row: StoredFile) -> RuleBroken:
    return RuleBroken(f"The stored file {row.name} no longer has the bytes it was stored with.")


def _missing(row: StoredFile) -> RuleBroken:
    return RuleBroken(f"The stored file {row.name} is missing from the files folder.")


def digest_of(path: Path) -> str:
    """Return the SHA-256 of a file, read piece by piece."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def store_bytes(*, act: Act, data: bytes, name: str, kind: str, content_type: str) -> StoredFile:
    """Stage bytes and add their row; call inside a service.

    The file goes to its place when the transaction commits; a refused write deletes it.
    """
    sha256 = hashlib.sha256(data).hexdigest()
    _stage(sha256, [data])
    return _keep_row(act, sha256, len(data), name, kind, content_type)


def store_path(*, act: Act, path: Path, name: str, kind: str, content_type: str) -> StoredFile:
    """Stage a copy of a file on disk, piece by piece, and add its row; else as `store_bytes`."""
    sha256 = digest_of(path)
    with path.open("rb") as file:
        _stage(sha256, iter(lambda: file.read(1024 * 1024), b""))
    return _keep_row(act, sha256, path.stat().st_size, name, kind, content_type)


def _stage(sha256: str, pieces: Iterable[bytes]) -> None:
    if place_of(sha256).exists():
        return
    path = Path(settings.FILES_DIR) / "incoming" / f"{sha256}.{uuid.uuid4().hex}"
    path.parent.mkdir(parents=True, exist_ok=True)
    note_staged(path)
    with path.open("wb") as out:
        out.writelines(pieces)
        out.flush()
        os.fsync(out.fileno())
    # The row stands by now: a disk that is full lets the file wait where it is, and be read there.
    transaction.on_commit(lambda: _move_into_place(path, sha256), robust=True)


def _keep_row(act: Act, sha256: str, size: int, name: str, kind: str, content_type: str) -> StoredFile:
    row = StoredFile(
        sha256=sha256,
        kind=kind,
        name=name[:200],
        content_type=content_type,
        size_bytes=size,
        by=act.by,
        at=act.at,
    )
    return keep(row)


def _move_into_place(path: Path, sha256: str) -> None:
    place_of(sha256).parent.mkdir(parents=True, exist_ok=True)
    os.replace(path, place_of(sha256))


def store_photo(*, act: Act, upload: "UploadedFile[Any]") -> StoredFile:
    """Check and re-encode a photo as JPEG without its metadata, and store it.

    Raises RuleBroken for anything that is not a photo, or is too large.
    """
    if (upload.size or 0) > settings.UPLOAD_LIMIT_BYTES:
        raise RuleBroken(fields={"photo": "The photo is larger than the shop's upload limit."})
    try:
        with Image.open(upload, formats=PHOTO_FORMATS) as image:
            if image.width * image.height > settings.PHOTO_LIMIT_PIXELS:
                raise RuleBroken(fields={"photo": "The photo has more pixels than the shop allows."})
            upright = ImageOps.exif_transpose(image).convert("RGB")
    except (UnidentifiedImageError, OSError, Image.DecompressionBombError, ValueError) as error:
        message = "This file is not a photo that can be read (JPEG, PNG or WebP)."
        if _is_heic(upload):
            message = (
                "A photo in HEIC cannot be read here. Set the camera to JPEG, or save the photo as JPEG."
            )
        raise RuleBroken(fields={"photo": message}) from error
    upright.thumbnail((2400, 2400))
    out = io.BytesIO()
    upright.save(out, "JPEG", quality=85)
    name = Path(upload.name or "photo").stem + ".jpg"
    return store_bytes(act=act, data=out.getvalue(), name=name, kind="photo", content_type="image/jpeg")


def _is_heic(upload: "UploadedFile[Any]") -> bool:
    """Whether a file begins as one of the HEIF family does (ISO/IEC 23008-12, brands of its ``ftyp`` box)."""
    upload.seek(0)
    head = upload.read(12)
    return head[4:8] == b"ftyp" and head[8:12] in (b"heic", b"heix", b"hevc", b"hevx", b"mif1", b"msf1")


def store_paper(*, act: Act, upload: "UploadedFile[Any]", field: str) -> StoredFile:
    """Store a supplier's paper: a PDF as it is, or a photo of the paper.

    Raises RuleBroken, at ``field``, for anything else, or what is too large.
    """
    try:
        if (upload.size or 0) > settings.UPLOAD_LIMIT_BYTES:
            raise RuleBroken("The file is larger than the shop's upload limit.")
        data = upload.read()
        if data.startswith(PDF_MAGIC):
            name = upload.name or "certificate.pdf"
            return store_bytes(
                act=act, data=data, name=name, kind=StoredFile.Kind.PAPER, content_type="application/pdf"
            )
        upload.seek(0)
        return store_photo(act=act, upload=upload)
    except RuleBroken as error:
        told = " ".join((error.message, *error.fields.values())).strip()
        message = f"{upload.name}: this is no certificate that can be kept (PDF or photo). {told}"
        raise RuleBroken(fields={field: message}) from error

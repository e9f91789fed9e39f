"""The first sheet of an XLSX file as rows of text, without trust in the file."""

import io
import zipfile
from collections.abc import Iterator
from datetime import date, datetime
from typing import Any

from openpyxl import load_workbook

from shop.tables.faults import TableError

MAX_UNPACKED_BYTES = 100 * 2**20
MAX_PARTS = 2_000
MAX_SHEET_ROWS = 100_000  # empty ones too: a lone cell far down makes a million of them
DAMAGED = "The file is damaged, or not an XLSX workbook. Open it in its program and save it again as XLSX."


def is_workbook(data: bytes) -> bool:
    """Whether the bytes are a packed file, which no text is; older workbooks are refused.

    Raises TableError for a workbook of the binary format before XLSX, and for one with a password.
    """
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise TableError("This is an old or a locked workbook: save it as XLSX without a password.")
    return data.startswith(b"PK")


def workbook_rows(data: bytes, *, columns: int) -> Iterator[list[str]]:
    """Yield the rows of the first sheet, up to one cell more than ``columns``.

    Of a formula the value that was saved with it counts. Raises TableError for a file that is
    damaged, unpacks to too much, or holds macros.
    """
    _check_package(data)
    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
        sheet = book.worksheets[0]
        sheet.reset_dimensions()  # the size that a file claims for its sheet need not be true
        for number, cells in enumerate(sheet.iter_rows(max_col=columns + 1, values_only=True)):
            if number == MAX_SHEET_ROWS:
                raise TableError(f"The sheet has more than {MAX_SHEET_ROWS} rows, empty ones too: split it.")
            yield [_text(cell) for cell in cells]
    except TableError:
        raise
    # The library lets out whatever a broken part makes of it: KeyError, ParseError, BadZipFile...
    except Exception as error:
        raise TableError(DAMAGED) from error


def _check_package(data: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            parts = package.infolist()
    except (zipfile.BadZipFile, ValueError, OSError) as error:
        raise TableError(DAMAGED) from error
    if len(parts) > MAX_PARTS or sum(part.file_size for part in parts) > MAX_UNPACKED_BYTES:
        raise TableError(f"The workbook unpacks to more than {MAX_UNPACKED_BYTES // 2**20} MB: split it.")
    if any(part.filename.lower().endswith("vbaproject.bin") for part in parts):
        raise TableError("The workbook holds macros: save it as XLSX, which cannot hold any.")


def _text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return format(value, ".15g")
    if isinstance(value, datetime):
        at_midnight = value.time() == datetime.min.time()
        return value.date().isoformat() if at_midnight else value.isoformat(sep=" ", timespec="minutes")
    return value.isoformat() if isinstance(value, date) else str(value).strip()

"""Tables written as CSV and XLSX, so that no text in them can act as a formula."""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import datetime
from enum import Enum
from typing import IO, Any

from django.utils import timezone
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font

# What a spreadsheet may take for the start of a formula: OWASP, "CSV Injection".
DANGEROUS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
CONTENT_TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
Row = Sequence[Any]


def harmless(text: str) -> str:
    """Return a text that no spreadsheet reads as a formula: an apostrophe goes before it."""
    return f"'{text}" if text.startswith(DANGEROUS) else text


def as_written(text: str) -> str:
    """Undo `harmless`: what the text was before it went into a CSV."""
    return text[1:] if text.startswith("'") and text[1:].startswith(DANGEROUS) else text


def write_table(*, file: IO[bytes], form: str, titles: Sequence[str], rows: Iterable[Row]) -> None:
    """Write a heading and rows to a binary file as ``form``, csv or xlsx."""
    {"csv": _write_csv, "xlsx": _write_xlsx}[form](file, titles, rows)


def _write_csv(file: IO[bytes], titles: Sequence[str], rows: Iterable[Row]) -> None:
    # Without the mark, spreadsheets on some systems take UTF-8 for the system's own code page.
    text = io.TextIOWrapper(file, encoding="utf-8-sig", newline="", write_through=True)
    writer = csv.writer(text)
    writer.writerow([harmless(title) for title in titles])
    for row in rows:
        writer.writerow([_csv_value(value) for value in row])
    text.detach()


def _csv_value(value: Any) -> Any:
    if isinstance(value, datetime):
        return _local(value).strftime("%Y-%m-%d %H:%M")
    if isinstance(value, bool):
        return "yes" if value else "no"
    return harmless(str(value)) if isinstance(value, str) else value


def _write_xlsx(file: IO[bytes], titles: Sequence[str], rows: Iterable[Row]) -> None:
    book = Workbook(write_only=True)
    sheet = book.create_sheet("List")
    sheet.freeze_panes = "A2"
    sheet.append([_xlsx_cell(sheet, title, bold=True) for title in titles])
    for row in rows:
        sheet.append([_xlsx_cell(sheet, value) for value in row])
    book.save(file)


def _xlsx_cell(sheet: Any, value: Any, *, bold: bool = False) -> Any:
    if isinstance(value, datetime):
        return _local(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, str | Enum):
        return value
    text = ILLEGAL_CHARACTERS_RE.sub(" ", str(value))
    if not bold and not text.startswith(DANGEROUS):
        return text
    cell = WriteOnlyCell(sheet, value=text)
    cell.data_type = "s"  # the library would make a formula of "=..."
    cell.quotePrefix = True  # and the spreadsheet, when somebody edits the cell
    if bold:
        cell.font = Font(bold=True)
    return cell


def _local(moment: datetime) -> datetime:
    """Return the moment by the shop's clock; neither kind of file knows time zones."""
    return timezone.make_naive(moment) if timezone.is_aware(moment) else moment

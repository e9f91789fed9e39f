"""Files entered as a whole: checked by entering and taking back, entered, undone."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path
from typing import Any

from django.apps import apps
from django.core.files.uploadedfile import UploadedFile
from django.db import models, transaction
from django.db.models import ProtectedError

from shop.errors import RuleBroken
from shop.importers import Importer, Values, importer_of
from shop.models import Import, ImportedRow, StoredFile
from shop.services.files import read_bytes, store_bytes
from shop.services.numbering import one_at_a_time
from shop.services.writing import Act, acting, keep, locked, require, service, staging
from shop.tables.faults import TableError
from shop.tables.reading import MAX_BYTES, ReadRow, ReadTable, plain_title, read_table

# What a spreadsheet shows for a formula that went wrong.
FORMULA_ERRORS = frozenset({"#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!"})
ROWS_AT_ONCE = 500
NAMED = 20  # so many rows in use are named; the rest is counted


@dataclass(frozen=True)
class Fault:
    """What is wrong with one cell, or with a row as a whole."""

    row: int
    column: str
    reason: str


@dataclass
class Check:
    """What a file would become, or becomes."""

    rows: int
    examples: int
    read_as: str
    there: int = 0
    faults: list[Fault] = field(default_factory=list)
    made: list[tuple[int, models.Model]] = field(default_factory=list)

    @property
    def new(self) -> int:
        """Rows of the file that are not there yet and can be entered."""
        return len({number for number, _row in self.made})

    @property
    def wrong(self) -> int:
        """Rows of the file with something wrong."""
        return len({fault.row for fault in self.faults})


@service("import")
def store_file(*, act: Act, upload: "UploadedFile[Any]") -> StoredFile:
    """Store a file as it came; nothing is entered."""
    if (upload.size or 0) > MAX_BYTES:
        raise RuleBroken(fields={"file": f"The file is larger than {MAX_BYTES // 2**20} MB: split it."})
    data = upload.read()
    # Told by the bytes, not by what the browser says.
    kind = "application/zip" if data.startswith(b"PK") else "application/octet-stream"
    name = Path(upload.name or "list").name
    return store_bytes(act=act, data=data, name=name, kind=StoredFile.Kind.LIST, content_type=kind)


def check_file(*, act: Act, importer: Importer, file: StoredFile) -> Check:
    """Enter a stored file and take everything back: what is wrong is found by the services themselves.

    Raises TableError for a file that cannot be read as a table, NotAllowed.
    """
    require(act, "import")
    table = _read(importer, file)
    with staging(), transaction.atomic(), acting(act):
        check = _enter(act, importer, file, table)
        transaction.set_rollback(True)
    return check


@service("import")
def enter_file(*, act: Act, importer: Importer, file: StoredFile) -> Import:
    """Enter every row of a stored file, or none.

    Raises RuleBroken where a row is wrong, and where every row is there already.
    """
    one_at_a_time("imports")  # the same file, sent from two pages, is there already for the second
    try:
        check = _enter(act, importer, file, _read(importer, file))
    except TableError as error:
        raise RuleBroken(str(error)) from error
    if check.faults:
        raise RuleBroken(f"{check.wrong} of {check.rows} rows cannot be entered, so none was.")
    if not check.made:
        raise RuleBroken("Every row of this file is there already: nothing was entered.")
    entered = keep(
        Import(
            kind=importer.kind,
            file=file,
            rows_entered=check.new,
            rows_there=check.there,
            by=act.by,
            at=act.at,
        )
    )
    # Rows that are never changed have no history to write, and there may be ten thousand of them.
    ImportedRow.objects.bulk_create(
        [
            ImportedRow(
                made_by=entered,
                row_number=number,
                model=row._meta.label,
                row_pk=row.pk,
                name=str(row)[:200],
                by=act.by,
                at=act.at,
            )
            for number, row in check.made
        ],
        batch_size=100,
    )
    return entered


@service("import")
def undo_import(*, act: Act, entered: Import) -> Import:
    """Take back every row that an import made, the last first, or none.

    ``act.why`` is the reason. Raises RuleBroken with the names of rows that are in use.
    """
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the import is undone; the reason stays in the history."})
    entered = locked(entered)
    importer = importer_of(entered.kind)
    if entered.undone_at or importer is None:
        raise RuleBroken("This import was undone already." if importer else "Nothing knows how to undo it.")
    why = f"undo of import {entered.pk}: {act.why}"[:200]
    in_use: list[str] = []
    for made, row in _made(entered):
        try:
            with transaction.atomic():
                importer.take_back(replace(act, why=why), row)
        except RuleBroken as error:
            in_use.append(f"row {made.row_number}: {error}")
    if in_use:
        raise RuleBroken(_in_use(in_use[::-1]))
    entered.undone_by, entered.undone_at, entered.undone_why = act.by, act.at, act.why[:200]
    return keep(entered)


def _made(entered: Import) -> Iterator[tuple[ImportedRow, models.Model]]:
    """Yield what an import made and is still there, the last first."""
    for batch in _batches(entered.rows.order_by("-pk")):
        keys: dict[str, list[int]] = {}
        for made in batch:
            keys.setdefault(made.model, []).append(made.row_pk)
        found = {name: apps.get_model(name)._default_manager.in_bulk(pks) for name, pks in keys.items()}
        for made in batch:
            if row := found[made.model].get(made.row_pk):
                yield made, row


def _batches(rows: Iterable[ImportedRow]) -> Iterator[list[ImportedRow]]:
    each = iter(rows)
    while batch := list(islice(each, ROWS_AT_ONCE)):
        yield batch


def _in_use(found: list[str]) -> str:
    more = f" And {len(found) - NAMED} more." if len(found) > NAMED else ""
    count = "1 row is" if len(found) == 1 else f"{len(found)} rows are"
    return f"{count} in use, so nothing was undone. {' '.join(found[:NAMED])}{more}"


@service("import")
def remove_row(*, act: Act, row: models.Model) -> None:
    """Take out a row that nothing uses and nobody changed; its history stays."""
    history = row.history  # type: ignore[attr-defined]
    if history.count() > 1:
        raise RuleBroken(f"{row} was changed since.")
    name = str(row)
    try:
        row.delete()
    except ProtectedError as error:
        users = sorted({f"{each._meta.verbose_name} {each}" for each in list(error.protected_objects)[:3]})
        raise RuleBroken(f"{name} is used by {', '.join(users)}.") from error


def take_back(act: Act, row: models.Model) -> None:
    """Take back one imported row by taking it out."""
    remove_row(act=act, row=row)


def _read(importer: Importer, file: StoredFile) -> ReadTable:
    table = read_table(data=read_bytes(file), known=[each.title for each in importer.fields])
    known = {plain_title(each.title): each for each in importer.fields}
    passed = {plain_title(title) for title in importer.passed}
    titles = {plain_title(title): title for title in table.titles}
    if strange := [title for plain, title in titles.items() if plain not in known and plain not in passed]:
        expected = ", ".join(each.title for each in importer.fields)
        raise TableError(f"No such column: {', '.join(strange)}. The columns are: {expected}.")
    if missing := [each.title for plain, each in known.items() if each.required and plain not in titles]:
        raise TableError(f"The first row must be the headings; these are missing: {', '.join(missing)}.")
    return table


def _enter(act: Act, importer: Importer, file: StoredFile, table: ReadTable) -> Check:
    check = Check(rows=len(table.rows), examples=table.examples, read_as=table.read_as)
    fields = {plain_title(each.title): each for each in importer.fields}
    memory: dict[str, Any] = {}
    for row in table.rows:
        texts = {
            fields[plain].name: text
            for title, text in row.cells.items()
            if (plain := plain_title(title)) in fields
        }
        told = replace(act, why=f"imported from {file.name[:120]}, row {row.number}")
        values = Values(texts, {each.name: each for each in importer.fields}, memory)
        if before := _faults_before(row):
            check.faults += before
            continue
        try:
            with transaction.atomic(), acting(told):
                made = importer.enter(told, values)
        except RuleBroken as error:
            check.faults += _faults(row.number, error, values.fields)
            continue
        check.made += [(row.number, each) for each in made]
        check.there += not made
    return check


def _faults_before(row: ReadRow) -> list[Fault]:
    """Return what is wrong with a row before anybody asks what it means."""
    found = [
        Fault(row.number, title, f"“{text}” is the error of a formula.")
        for title, text in row.cells.items()
        if text in FORMULA_ERRORS
    ]
    if row.beyond:
        extra = ", ".join(row.beyond)[:80]
        found.append(Fault(row.number, "", f"More cells than headings: {extra}."))
    return found


def _faults(number: int, error: RuleBroken, fields: Mapping[str, Any]) -> list[Fault]:
    found = [
        Fault(number, fields[name].title if name in fields else "", reason)
        for name, reason in error.fields.items()
    ]
    return [*found, Fault(number, "", error.message)] if error.message or not found else found

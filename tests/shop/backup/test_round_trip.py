"""Every row and every file comes back, from a database in use.

Each check compares two databases and two folders with each other.
"""

import os
import threading
from collections import Counter
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction

from shop.backup.archive import check_archive
from shop.backup.making import make_archive
from shop.backup.tables import passing_connection
from shop.models import Customer, StoredFile
from tests.shop.backup import archives
from tests.shop.backup.archives import NOW, Place, first_file, source, without_a_file
from tests.world import World

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def fill_shop():
    """Units in every state, with photos, traces, issued papers and what rigs sent."""
    return World


def test_every_row_and_every_file_comes_back(archive, place, shop_files):
    done = place.restore(archive)
    rows = archives.every_row(source())
    restored = archives.every_row(place.database)
    assert rows.keys() == restored.keys()
    for table in rows:
        assert restored[table] == rows[table], table
    assert sum(map(len, rows.values())) == sum(done.manifest.rows.values()) > 1000
    files = archives.every_file(shop_files)
    assert archives.every_file(place.files_dir) == files
    assert {Path(name).name for name in files} == set(StoredFile.objects.values_list("sha256", flat=True))
    for table in ("rig", "rigchannel", "rigtoken", "rigfile", "rigrefusal", "historicalrigfile"):
        assert restored[f"workorders_{table}"], table
    assert set(StoredFile.objects.values_list("kind", flat=True)) >= {"photo", "trace", "paper"}
    assert done.manifest.problems == done.new_migrations == []
    # and a row that is lost after all would have been seen
    archives.run(place.database, "DELETE FROM django_migrations WHERE app = 'axes' AND name = '0001_initial'")
    restored = archives.every_row(place.database)
    assert [table for table in rows if restored[table] != rows[table]] == ["django_migrations"]


def test_constraints_triggers_and_counters_come_back(archive, place):
    place.restore(archive)
    for before, after in zip(archives.schema(source()), archives.schema(place.database), strict=True):
        assert before
        assert sorted(set(before) ^ set(after)) == []
    with passing_connection(place.database) as restored:
        history = Customer.history.using(restored.alias)
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic(using=restored.alias):
            history.update(name="never was")
        last = StoredFile.objects.using(restored.alias).order_by("pk").last()
        new = StoredFile(sha256="0" * 64, kind="photo", size_bytes=1, by_id=last.by_id, at=NOW)
        new.save(using=restored.alias)
        assert new.pk > last.pk


def test_a_backup_during_writes_holds_whole_transactions_and_all_that_were_acknowledged(
    archive, place, empty_database, tmp_path
):
    """A unit is ten rows in one transaction; half of one, or a missing acknowledged one, would show."""
    place.restore(archive)
    stop, acknowledged = threading.Event(), []

    def write():
        with passing_connection(place.database) as writer:
            while not stop.is_set():
                with transaction.atomic(using=writer.alias), writer.cursor() as cursor:
                    for row in range(10):
                        values = [f"busy-{len(acknowledged)}-{row}", "x" * 500, NOW]
                        cursor.execute("INSERT INTO django_session VALUES (%s, %s, %s)", values)
                acknowledged.append(len(acknowledged))

    thread = threading.Thread(target=write)
    thread.start()
    try:
        for number in range(4):
            before = len(acknowledged)
            made = make_archive(database=place.database, dest=tmp_path / f"{number}.zip", now=NOW)
            after = len(acknowledged)
            rows = made.manifest.rows["django_session"]
            assert rows % 10 == 0
            assert before * 10 <= rows <= (after + 1) * 10
            assert after > before
    finally:
        stop.set()
        thread.join()
    back = Place(empty_database(), tmp_path / "back")
    back.restore(made.path)
    (keys,) = archives.read(back.database, "SELECT session_key FROM django_session")
    units = Counter(key.split("-")[1] for key in keys)
    assert set(units.values()) == {10}
    assert {str(number) for number in range(before)} <= units.keys()


def test_an_older_archive_is_brought_up_to_date(archive, place, empty_database, tmp_path):
    place.restore(archive)
    table = Customer.history.model._meta.db_table
    if connection.vendor == "sqlite":
        drop = [f"DROP TRIGGER {table}_no_UPDATE"]
    else:
        drop = [f"DROP TRIGGER {table}_append_only ON {table}"]
    archives.run(
        place.database,
        "DROP TABLE django_session",
        "DELETE FROM django_migrations WHERE app = 'sessions'",
        f"DELETE FROM shop_limitsetting WHERE {connection.ops.quote_name('key')} = 'rod-run-out'",
        *drop,
    )
    older = make_archive(database=place.database, dest=tmp_path / "older.zip", now=NOW)
    newer = Place(empty_database(), tmp_path / "newer")
    assert newer.restore(older.path).new_migrations == ["sessions.0001_initial"]
    assert archives.schema(newer.database)[0] == archives.schema(source())[0]
    counted = [
        "SELECT COUNT(*) FROM shop_limitsetting",
        "SELECT COUNT(*) FROM shop_historicallimitsetting WHERE history_type = '+'",
    ]
    (limits, entered), (limits_now, entered_now) = (
        archives.read(database, *counted) for database in (source(), newer.database)
    )
    assert limits_now == limits
    assert number_in(entered_now) == number_in(entered) + 1  # the limit came back, with its history


def number_in(rows):
    return int(rows[0].strip("(,)"))


def test_a_file_still_waiting_for_its_move_is_taken_along(shop_files, tmp_path):
    path = next(path for path in shop_files.rglob("*") if path.is_file())
    waiting = shop_files / "incoming" / f"{path.name}.0123"
    waiting.parent.mkdir(exist_ok=True)
    os.rename(path, waiting)
    try:
        made = make_archive(database=source(), dest=tmp_path, now=NOW)
    finally:
        os.rename(waiting, path)
    assert made.manifest.problems == []
    assert f"files/{path.name[:2]}/{path.name}" in made.manifest.file_members


@pytest.mark.parametrize(
    ("fault", "said"), [("missing", "is missing"), ("changed", "no longer has the bytes")]
)
def test_a_missing_or_changed_file_is_told_and_the_rest_is_kept(fault, said, shop_files, tmp_path):
    path = next(path for path in shop_files.rglob("*") if path.is_file())
    data = path.read_bytes()
    path.unlink() if fault == "missing" else path.write_bytes(data + b"x")
    try:
        with pytest.raises(CommandError, match=said) as refused:
            call_command("backup", tmp_path / "part.zip", stdout=StringIO())
    finally:
        path.write_bytes(data)
    assert refused.value.returncode == 1
    assert path.name in str(refused.value)
    kept = set(check_archive(tmp_path / "part.zip").file_members)
    every = {f"files/{name}" for name in archives.every_file(shop_files)}
    assert every - kept == {f"files/{path.name[:2]}/{path.name}"}
    with pytest.raises(CommandError, match=f"(?s)was not whole.*{said}") as told:
        call_command("restore", tmp_path / "part.zip", "--check", stdout=StringIO())
    assert told.value.returncode == 1


def test_a_backup_that_is_not_whole_can_be_restored(archive, place, tmp_path):
    def lose(found):
        found["members"].pop(first_file(found["members"]))
        found["problems"].append("One file is missing.")

    part = archives.rewritten(archive, tmp_path / "part.zip", names=without_a_file, manifest=lose)
    done = place.restore(part)
    assert done.manifest.problems == ["One file is missing."]
    assert len(archives.every_file(place.files_dir)) == len(check_archive(archive).file_members) - 1

"""Where an archive goes, what the commands say, and PostgreSQL's own programs."""

import hashlib
import os
import shutil
import stat
import subprocess
import sys
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from shop.backup import making, postgresql
from shop.backup.archive import check_archive, opened
from shop.backup.making import make_archive, thin_out
from shop.backup.manifest import BackupError
from shop.backup.tables import passing_connection
from tests.guards.source import ROOT
from tests.shop.backup import archives
from tests.shop.backup.archives import NOW, source

pytestmark = pytest.mark.django_db


def test_a_backup_never_replaces_a_file(tmp_path, monkeypatch):
    taken = tmp_path / "taken.zip"
    taken.write_text("kept")
    with pytest.raises(BackupError, match="never replaces another"):
        make_archive(database=source(), dest=taken, now=NOW)
    write = making._write_archive

    def another_comes(**given):  # while the archive is written
        taken.write_text("kept")
        return write(**given)

    taken.unlink()
    monkeypatch.setattr(making, "_write_archive", another_comes)
    with pytest.raises(BackupError, match="never replaces another"):
        make_archive(database=source(), dest=taken, now=NOW)
    assert archives.every_file(tmp_path) == {"taken.zip": b"kept"}


def test_a_file_system_without_links_takes_an_archive_too(tmp_path, monkeypatch):
    def refuse(*_args):
        raise PermissionError("no links here")

    monkeypatch.setattr(os, "link", refuse)
    made = make_archive(database=source(), dest=tmp_path, now=NOW)
    assert [path.name for path in tmp_path.iterdir()] == [made.path.name]
    assert check_archive(made.path) == made.manifest


def test_a_backup_needs_a_folder_that_is_there(tmp_path):
    with pytest.raises(BackupError, match="There is no folder"):
        make_archive(database=source(), dest=tmp_path / "none" / "a.zip", now=NOW)


def test_an_archive_has_a_dated_name_and_is_readable_by_its_owner_alone(archive):
    assert archive.name == "sealwright-20260506T070809Z.zip"
    assert [path.name for path in archive.parent.iterdir()] == [archive.name]
    assert stat.S_IMODE(archive.stat().st_mode) == 0o600


def test_a_backup_that_fails_leaves_nothing_behind(tmp_path, monkeypatch):
    monkeypatch.setattr(making, "_add_files", lambda *_args: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        make_archive(database=source(), dest=tmp_path, now=NOW)
    assert list(tmp_path.iterdir()) == []


def test_a_database_without_a_shop_is_not_backed_up(empty_database, tmp_path):
    database = empty_database()
    archives.run(database, "CREATE TABLE something (a integer)")
    with pytest.raises(BackupError, match="nothing to back up"):
        make_archive(database=database, dest=tmp_path / "a.zip", now=NOW)
    assert not (tmp_path / "a.zip").exists()


def test_only_dated_archives_are_thinned_out(tmp_path):
    names = [f"sealwright-2026050{day}T000000Z.zip" for day in range(1, 6)]
    for name in [*names, "sealwright-before-the-move.zip", "other.zip"]:
        (tmp_path / name).write_text("")
    assert [path.name for path in thin_out(folder=tmp_path, keep=2)] == names[:3]
    assert {path.name for path in tmp_path.iterdir()} == {
        *names[3:],
        "sealwright-before-the-move.zip",
        "other.zip",
    }
    assert thin_out(folder=tmp_path, keep=2) == []


def test_the_commands_say_what_they_did(tmp_path):
    old = tmp_path / "sealwright-20200101T000000Z.zip"
    old.write_text("")
    out = StringIO()
    call_command("backup", tmp_path, "--keep", "1", stdout=out)
    (made,) = tmp_path.iterdir()
    assert f"SHA-256 {hashlib.sha256(made.read_bytes()).hexdigest()}" in out.getvalue()
    assert f"Removed {old}" in out.getvalue()
    assert "Not in it: the secret key" in out.getvalue()
    manifest = check_archive(made)
    assert f"{sum(manifest.rows.values())} rows" in out.getvalue()
    out = StringIO()
    call_command("restore", made, "--check", stdout=out)
    assert f"Sound: {sum(manifest.rows.values())} rows" in out.getvalue()


def test_the_commands_refuse_in_a_sentence(archive, tmp_path):
    for command, arguments, said in [
        ("backup", [archive], "Nothing was backed up. .* exists already"),
        ("backup", [tmp_path / "a.zip", "--keep", "2"], "--keep needs a folder"),
        ("backup", [tmp_path, "--keep", "0"], "must be 1 or more"),
        ("restore", [archive], "Nothing was restored. The database .* is not empty"),
        ("restore", [tmp_path / "none.zip"], "Nothing was restored. There is no archive"),
    ]:
        with pytest.raises(CommandError, match=said) as refused:
            call_command(command, *map(str, arguments), stdout=StringIO())
        assert refused.value.returncode == 2 or "must be" in said
    assert list(tmp_path.iterdir()) == []


def test_the_secret_key_is_neither_in_the_archive_nor_lost_without_a_word(archive, settings):
    with opened(archive) as (found, manifest):
        assert set(manifest.members) == {*manifest.database_members, *manifest.file_members}
        for name in found.namelist():
            assert settings.SECRET_KEY.encode() not in found.read(name)


def test_a_new_place_is_filled_by_the_command_alone(archive, empty_database, tmp_path):
    """As after a fire: a fresh process, an empty data folder, one archive."""
    database, data = empty_database(), tmp_path / "data"
    if connection.vendor == "sqlite":
        database = {**database, "NAME": str(data / "sealwright.sqlite3")}
        url = ""
    else:
        url = "postgres://{USER}:{PASSWORD}@{HOST}:{PORT}/{NAME}".format(**database)
    environment = {**os.environ, "SEALWRIGHT_DATA": str(data), "DATABASE_URL": url}
    command = [sys.executable, str(ROOT / "manage.py"), "restore", str(archive)]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "Restored and checked" in done.stdout
    assert archives.every_row(database) == archives.every_row(source())
    assert len(archives.every_file(data / "files")) == len(check_archive(archive).file_members)
    assert stat.S_IMODE((data / "secret_key").stat().st_mode) == 0o600


POSTGRES = {
    "ENGINE": "django.db.backends.postgresql",
    "NAME": "shop",
    "USER": "clerk",
    "PASSWORD": "not shown",
}


@pytest.fixture
def on_postgres():
    with passing_connection({**source(), **POSTGRES, "OPTIONS": {"sslmode": "require"}}) as found:
        yield found


def test_a_missing_program_is_told_with_what_to_install(on_postgres, monkeypatch):
    monkeypatch.setattr(shutil, "which", lambda _program: None)
    with pytest.raises(
        BackupError, match=r"pg_dump is not installed .* install PostgreSQL's client programs"
    ):
        postgresql.Postgresql(POSTGRES)._run(on_postgres, "pg_dump")


def test_the_password_stands_in_no_command_line(on_postgres, monkeypatch):
    calls = []

    def failing(command, *, env, **_kwargs):
        calls.append((command, env))
        return subprocess.CompletedProcess(command, 1, "", "server says no\n")

    monkeypatch.setattr(shutil, "which", lambda program: f"/usr/bin/{program}")
    monkeypatch.setattr(subprocess, "run", failing)
    with pytest.raises(BackupError, match="pg_dump failed, and nothing was kept: server says no"):
        postgresql.Postgresql(POSTGRES)._run(on_postgres, "pg_dump", "--format=custom")
    ((command, env),) = calls
    assert "not shown" not in " ".join(command)
    given = {name: env[name] for name in ("PGPASSWORD", "PGUSER", "PGDATABASE", "PGSSLMODE")}
    assert given == {
        "PGPASSWORD": "not shown",
        "PGUSER": "clerk",
        "PGDATABASE": "shop",
        "PGSSLMODE": "require",
    }

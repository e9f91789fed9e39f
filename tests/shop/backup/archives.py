"""What the tests of backups compare and break: rows, files, archives made wrong on purpose."""

import datetime as dt
import json
import re
import shutil
import uuid
import zipfile
from pathlib import Path

from django.db import connection, connections

from shop.backup.restoring import restore_archive
from shop.backup.tables import passing_connection

NOW = dt.datetime(2026, 5, 6, 7, 8, 9, tzinfo=dt.UTC)
FUNCTIONS = "SELECT proname FROM pg_proc WHERE pronamespace = 'public'::regnamespace"
SCHEMA = {
    "sqlite": ["SELECT type, name, tbl_name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'"],
    "postgresql": [
        "SELECT tgname, pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal",
        "SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = 'public'",
        "SELECT conname, conrelid::regclass::text, pg_get_constraintdef(oid) FROM pg_constraint "
        "WHERE connamespace = 'public'::regnamespace",
        "SELECT table_name, column_name, data_type, is_nullable, column_default, is_identity "
        "FROM information_schema.columns WHERE table_schema = 'public'",
        FUNCTIONS,
        "SELECT sequencename, last_value FROM pg_sequences",
    ],
}


def source():
    """The database that the tests use, as in the settings."""
    return connections["default"].settings_dict


def read(database, *statements):
    """The rows that each statement finds, as texts in order."""
    with passing_connection(database) as connection, connection.cursor() as cursor:
        found = []
        for statement in statements:
            cursor.execute(statement)
            found.append(sorted(map(repr, cursor.fetchall())))
    return found


def tables(database):
    """The names of all tables."""
    with passing_connection(database) as connection, connection.cursor() as cursor:
        return sorted(connection.introspection.table_names(cursor))


def every_row(database):
    """Every row of every table."""
    names = tables(database)
    return dict(zip(names, read(database, *(f'SELECT * FROM "{name}"' for name in names)), strict=True))


def schema(database):
    """Tables, columns, indexes, constraints, triggers and counters, as the database tells them.

    PostgreSQL writes the casts of a condition otherwise once it has read its own dump, so casts and
    brackets are left out.
    """
    found = read(database, *SCHEMA[connection.vendor])
    return [sorted(re.sub(r"::[a-z ]+(\[\])?|[()]", "", line) for line in lines) for lines in found]


def every_file(folder):
    """The bytes of every file below a folder."""
    found = {}
    for path in Path(folder).rglob("*"):
        if path.is_file():
            found[path.relative_to(folder).as_posix()] = path.read_bytes()
    return found


def run(database, *statements):
    """Run statements, each in its own transaction."""
    with passing_connection(database) as connection, connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


class EmptyDatabases:
    """Makes empty databases of the kind under test, and removes them; one that stayed empty serves again."""

    def __init__(self, folder):
        self.folder = folder
        self.default = source()
        self.sqlite = connection.vendor == "sqlite"
        self.free, self.used = [], []

    def __call__(self):
        name = f"scratch_{uuid.uuid4().hex}"
        if self.sqlite:
            folder = self.folder / name
            folder.mkdir()
            return {**self.default, "NAME": str(folder / "shop.sqlite3")}
        if not self.free:
            run(self.default, f"CREATE DATABASE {name}")
            self.free.append({**self.default, "NAME": name})
        self.used.append(self.free.pop())
        return self.used[-1]

    def take_back(self):
        """Call after each test."""
        for database in self.used:
            if tables(database) or read(database, FUNCTIONS) != [[]]:
                self.drop(database)
            else:
                self.free.append(database)
        self.used.clear()

    def remove(self):
        for database in self.free:
            self.drop(database)

    def drop(self, database):
        run(self.default, f"DROP DATABASE {database['NAME']} WITH (FORCE)")


class Place:
    """Where a restore goes."""

    def __init__(self, database, files_dir):
        self.database = database
        self.files_dir = files_dir

    def restore(self, path):
        return restore_archive(source=path, database=self.database, files_dir=self.files_dir)

    def untouched(self):
        """Fail when anything is there."""
        if connection.vendor == "sqlite":
            path = Path(self.database["NAME"])
            assert not path.exists()
            assert [each for each in path.parent.iterdir() if each.name.startswith(".")] == []
        else:
            assert tables(self.database) == []
            assert read(self.database, FUNCTIONS) == [[]]
        assert not self.files_dir.exists() or list(self.files_dir.iterdir()) == []
        return True


def first_file(names):
    return next(name for name in names if name.startswith("files/"))


def without_a_file(members):
    lost = first_file(name for name, _data in members)
    return [pair for pair in members if pair[0] != lost]


def rewritten(source, target, *, contents=None, names=None, manifest=None):
    """Copy an archive with changes: bytes of members, the list of members, the manifest."""
    with zipfile.ZipFile(source) as old:
        members = [(name, old.read(name)) for name in old.namelist()]
    members = names(members) if names else members
    with zipfile.ZipFile(target, "w") as new:
        for name, data in members:
            if name == "manifest.json" and manifest:
                found = json.loads(data)
                data = json.dumps(manifest(found) or found).encode()
            elif contents:
                data = contents(name, data)
            new.writestr(name, data)
    return target


def shortened(source, target, *, bytes_left):
    """Copy the start of an archive."""
    target.write_bytes(source.read_bytes()[:bytes_left])
    return target


def flipped(source, target, *, member):
    """Copy an archive with one bit of a member's bytes turned over on the medium."""
    shutil.copy(source, target)
    with zipfile.ZipFile(source) as archive:
        info = archive.getinfo(member)
    data = bytearray(target.read_bytes())
    data[info.header_offset + 30 + len(info.filename) + 40] ^= 1
    target.write_bytes(data)
    return target

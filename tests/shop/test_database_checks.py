"""The start-up checks of the database."""

import sqlite3
import sys

import pytest
from django.conf import settings
from django.db import connection

from shop.database_checks import check_database, sqlite_warnings

SOUND = {
    "OPTIONS": {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;",
    }
}


def ids(messages):
    return [message.id for message in messages]


def test_our_settings_raise_no_warning():
    assert sqlite_warnings(SOUND, (3, 53, 4)) == []


@pytest.mark.parametrize(
    ("change", "warning"),
    [
        ({"transaction_mode": "DEFERRED"}, "shop.W001"),
        ({"init_command": "PRAGMA synchronous=FULL;"}, "shop.W002"),
        ({"init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=NORMAL;"}, "shop.W003"),
        ({"timeout": 1}, "shop.W004"),
    ],
)
def test_each_weaker_setting_is_named(change, warning):
    assert ids(sqlite_warnings({"OPTIONS": {**SOUND["OPTIONS"], **change}}, (3, 53, 4))) == [warning]


@pytest.mark.parametrize(("version", "warned"), [((3, 51, 2), True), ((3, 51, 3), False), ((3, 40, 1), True)])
def test_a_library_with_the_wal_fault_is_named(version, warned):
    assert ids(sqlite_warnings(SOUND, version)) == (["shop.W005"] if warned else [])


def test_atomic_requests_are_named(settings):
    settings.DATABASES["default"]["ATOMIC_REQUESTS"] = True
    try:
        assert "shop.W006" in ids(check_database())
    finally:
        settings.DATABASES["default"]["ATOMIC_REQUESTS"] = False


@pytest.mark.django_db
def test_the_connection_really_runs_with_these_settings():
    if connection.vendor != "sqlite":
        assert (
            "ATOMIC_REQUESTS" not in settings.DATABASES["default"]
            or not settings.DATABASES["default"]["ATOMIC_REQUESTS"]
        )
        return
    with connection.cursor() as cursor:
        assert cursor.execute("PRAGMA synchronous").fetchone()[0] == 2
        assert cursor.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
    if "pysqlite3" in sys.modules:
        assert sqlite3.sqlite_version_info >= (3, 51, 3)

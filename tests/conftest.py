"""What every test gets: files in a folder of its own, quick passwords, triggers that survive a flush."""

import datetime as dt

import hypothesis
import pytest
from django.db import connection
from django.test import TransactionTestCase

from shop import roles
from shop.services.writing import Act
from tests import factories

# How long one random case takes says more about the machine than about the code.
hypothesis.settings.register_profile("shop", deadline=None)
hypothesis.settings.load_profile("shop")

NOW = dt.datetime(2026, 3, 4, 10, 0, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def _own_files(settings, tmp_path):
    settings.FILES_DIR = tmp_path / "files"
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.PUBLIC_ADDRESS = "https://svc.example"


_plain_teardown = TransactionTestCase._fixture_teardown


def _teardown_without_triggers(self):
    """The flush after a transactional test deletes rows; append-only tables refuse that on SQLite."""
    if connection.vendor != "sqlite":
        return _plain_teardown(self)
    with connection.cursor() as cursor:
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        triggers = cursor.fetchall()
        for name, _sql in triggers:
            cursor.execute(f"DROP TRIGGER {name}")
    try:
        return _plain_teardown(self)
    finally:
        with connection.cursor() as cursor:
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
            present = {row[0] for row in cursor.fetchall()}
            for name, sql in triggers:
                if name not in present:
                    cursor.execute(sql)


TransactionTestCase._fixture_teardown = _teardown_without_triggers


def _person(role):
    @pytest.fixture(name=role.replace(" ", "_"))
    def fixture(db):
        return factories.person(role)

    return fixture


receiving, bench, warranty_desk, stores, lead = (_person(role) for role in roles.ROLES)


@pytest.fixture
def act():
    """Make an act: ``act(user)``, at a fixed time unless told otherwise."""

    def make(by, at=NOW, why=""):
        return Act(by=by, at=at, why=why)

    return make


def pytest_addoption(parser):
    parser.addoption(
        "--database-only",
        action="store_true",
        help="leave out the tests that ask no database: for a second run on another database",
    )


def pytest_collection_modifyitems(config, items):
    """With --database-only keep what asks the database, and say how many tests were left out."""
    if not config.getoption("--database-only"):
        return
    asks = [item for item in items if asks_the_database(item)]
    config.hook.pytest_deselected(items=[item for item in items if not asks_the_database(item)])
    items[:] = asks


def asks_the_database(item):
    """Whether a test is marked for the database, or a fixture of it opens one."""
    fixtures = set(getattr(item, "fixturenames", ()))
    opening = {"db", "transactional_db", "django_db_setup", "live_server"}
    return item.get_closest_marker("django_db") is not None or bool(fixtures & opening)

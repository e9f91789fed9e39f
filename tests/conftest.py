"""What every test gets: files in a folder of its own, quick passwords, triggers that survive a flush."""

import datetime as dt
import gc
import itertools

import hypothesis
import pytest
from django.db import connection, transaction
from django.test import TransactionTestCase

from shop import roles
from shop.services.writing import Act
from tests import factories
from tests.keeping import Kept, settings_of_tests

# How long one random case takes says more about the machine than about the code.
hypothesis.settings.register_profile("shop", deadline=None)
hypothesis.settings.load_profile("shop")

# Rows and pages make few cycles, and a search for them over all that is loaded takes long.
gc.set_threshold(20_000, 50, 50)

NOW = dt.datetime(2026, 3, 4, 10, 0, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def _own_files(settings, tmp_path):
    for name, value in settings_of_tests(tmp_path / "files").items():
        setattr(settings, name, value)


@pytest.fixture(scope="module")
def keep(django_db_setup, django_db_blocker, tmp_path_factory):
    """Make rows once for a module: ``keep(make)`` gives a function that hands out what ``make`` gave.

    The rows stay in a transaction that is open as long as the module, each test works in a savepoint
    inside it, and what it is handed is a copy. Tests of the module that ask for no kept rows come
    first and do not meet them. A test with ``transaction=True`` cannot ask for them.
    """
    folder = tmp_path_factory.mktemp("kept") / "files"
    with django_db_blocker.unblock():
        outer = transaction.atomic()
        outer.__enter__()

    def make_once(make):
        with django_db_blocker.unblock():
            return Kept(make, folder)

    yield make_once
    with django_db_blocker.unblock():
        transaction.set_rollback(True)
        outer.__exit__(None, None, None)


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
        help="leave out what asks no database, and the pages and papers but for the guard that opens each "
        "address: for a second run on another database",
    )


def pytest_collection_modifyitems(config, items):
    """With --database-only keep what is about the database, and say how many tests were left out."""
    items[:] = kept_rows_last(items)
    if not config.getoption("--database-only"):
        return
    sorted_out: dict[bool, list] = {True: [], False: []}
    for item in items:
        sorted_out[differs_by_database(item)].append(item)
    config.hook.pytest_deselected(items=sorted_out[False])
    items[:] = sorted_out[True]


def differs_by_database(item):
    """Whether a test says more when it runs on another database too."""
    alone = item.get_closest_marker("one_database") is not None
    return asks_the_database(item) and not alone and not is_of_pages(item.path)


def kept_rows_last(items):
    """Inside a module put what asks for kept rows behind the rest, which then meets an empty database."""
    return [
        item
        for _module, together in itertools.groupby(items, key=lambda item: item.path)
        for item in sorted(together, key=lambda item: "keep" in getattr(item, "fixturenames", ()))
    ]


def asks_the_database(item):
    """Whether a test is marked for the database, or a fixture of it opens one."""
    fixtures = set(getattr(item, "fixturenames", ()))
    opening = {"db", "transactional_db", "django_db_setup", "live_server"}
    return item.get_closest_marker("django_db") is not None or bool(fixtures & opening)


def is_of_pages(path):
    """Whether a file is about what pages and papers show; the guards open every address all the same."""
    words = set(path.stem.split("_"))
    return "guards" not in path.parts and bool(words & {"pages", "papers", "paper", "pdf", "label", "labels"})

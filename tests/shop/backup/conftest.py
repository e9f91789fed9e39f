"""A shop to back up, committed so that other connections see it, its archive, and empty places."""

import pytest
from django.db import transaction
from django.test import TransactionTestCase, override_settings

from shop.backup.making import make_archive
from shop.services.files import store_bytes
from shop.services.writing import Act
from tests import factories
from tests.shop.backup.archives import NOW, EmptyDatabases, Place, source


@pytest.fixture(scope="module")
def fill_shop():
    """What the shop of a module holds; a module that needs more than this gives its own."""

    def fill():
        act = Act(by=factories.person("lead"), at=NOW, why="")
        for number in range(3):
            data = f"photo {number}".encode() * 100
            store_bytes(act=act, data=data, name=f"{number}.jpg", kind="photo", content_type="image/jpeg")
            factories.CustomerFactory()

    return fill


@pytest.fixture(scope="module")
def shop_files(fill_shop, django_db_setup, django_db_blocker, tmp_path_factory):
    folder = tmp_path_factory.mktemp("shop") / "files"
    with django_db_blocker.unblock():
        try:
            with override_settings(FILES_DIR=folder), transaction.atomic():
                fill_shop()
            yield folder
        finally:
            TransactionTestCase()._fixture_teardown()


@pytest.fixture(autouse=True)
def _files(shop_files, db, django_db_blocker, settings):
    """Let a test connect to databases that its mark cannot name, since they are made on the way."""
    settings.FILES_DIR = shop_files
    with django_db_blocker.unblock():
        yield


@pytest.fixture(scope="module")
def archive(shop_files, tmp_path_factory):
    with override_settings(FILES_DIR=shop_files):
        return make_archive(database=source(), dest=tmp_path_factory.mktemp("archive"), now=NOW).path


@pytest.fixture(scope="module")
def empty_databases(shop_files, tmp_path_factory):
    made = EmptyDatabases(tmp_path_factory.mktemp("databases"))
    yield made
    made.remove()


@pytest.fixture
def empty_database(empty_databases, _files):
    yield empty_databases
    empty_databases.take_back()


@pytest.fixture
def place(empty_database, tmp_path):
    return Place(empty_database(), tmp_path / "restored" / "files")

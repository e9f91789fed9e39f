"""What the tests of lists from files share."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from shop.importers import importer_of
from shop.services import imports


@pytest.fixture
def stored(act, lead):
    """Store the bytes of a list, as the page does."""

    def store(data, name="list.csv"):
        data = data.encode() if isinstance(data, str) else data
        return imports.store_file(act=act(lead), upload=SimpleUploadedFile(name, data))

    return store


@pytest.fixture
def check(act, lead, stored):
    def run(kind, data, name="list.csv"):
        return imports.check_file(act=act(lead), importer=importer_of(kind), file=stored(data, name))

    return run


@pytest.fixture
def enter(act, lead, stored):
    def run(kind, data, name="list.csv"):
        return imports.enter_file(act=act(lead), importer=importer_of(kind), file=stored(data, name))

    return run


@pytest.fixture
def undo(act, lead):
    return lambda entered, why="wrong file": imports.undo_import(act=act(lead, why=why), entered=entered)

"""Rows kept for a module: each test starts from them as they were made, and others do not meet them."""

import pytest
from django.conf import settings

from shop.models import Customer, StoredFile
from shop.services.files import read_bytes, store_bytes
from shop.services.writing import Act
from tests import factories
from tests.conftest import NOW

pytestmark = pytest.mark.django_db
ORDER = []


def a_shop():
    customer = factories.CustomerFactory(name="Harrow Lift Hire")
    act = Act(by=factories.person("lead"), at=NOW, why="")
    told = {"name": "a.txt", "kind": "photo", "content_type": "text/plain"}
    return {"customer": customer, "files": [store_bytes(act=act, data=b"as it was", **told)], "act": act}


@pytest.fixture(scope="module")
def kept(keep):
    return keep(a_shop)


@pytest.fixture
def shop(kept):
    return kept()


@pytest.mark.parametrize("time", [1, 2])
def test_every_test_starts_from_the_rows_as_they_were_made(shop, time):
    ORDER.append("asks for them")
    customer, [file] = shop["customer"], shop["files"]
    assert customer.name == Customer.objects.get().name == "Harrow Lift Hire"
    assert read_bytes(file) == b"as it was"
    assert StoredFile.objects.count() == 1
    assert not hasattr(customer, "marked")
    customer.name, customer.marked = "Changed by this test", True
    customer.save()
    told = {"name": "b.txt", "kind": "photo", "content_type": "text/plain"}
    shop["files"].append(store_bytes(act=shop["act"], data=b"more", **told))
    for path in files_of_the_test():
        path.write_bytes(b"spoilt")


def files_of_the_test():
    return [path for path in settings.FILES_DIR.rglob("*") if path.is_file()]


def test_a_test_that_asks_for_no_kept_rows_comes_first_and_meets_none():
    assert ORDER == []
    assert not Customer.objects.exists()
    assert files_of_the_test() == []

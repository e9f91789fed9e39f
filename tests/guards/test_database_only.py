"""The second run of the tests, on another database, leaves out only what asks no database."""

import pytest

from tests.conftest import asks_the_database


def test_what_asks_no_database_is_known(request):
    assert not asks_the_database(request.node)


@pytest.mark.django_db
def test_a_mark_is_seen(request):
    assert asks_the_database(request.node)


def test_a_fixture_is_seen(request, db):
    assert asks_the_database(request.node)

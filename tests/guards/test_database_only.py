"""The second run of the tests, on another database, leaves out what asks none, and pages and papers."""

from pathlib import Path

import pytest

from tests.conftest import asks_the_database, differs_by_database, is_of_pages


def test_what_asks_no_database_is_known(request):
    assert not asks_the_database(request.node)


@pytest.mark.django_db
def test_a_mark_is_seen(request):
    assert asks_the_database(request.node)


def test_a_fixture_is_seen(request, db):
    assert asks_the_database(request.node)


@pytest.mark.django_db
def test_what_asks_a_database_runs_on_each(request):
    assert differs_by_database(request.node)


@pytest.mark.django_db
@pytest.mark.one_database
def test_what_is_the_same_on_any_runs_once(request):
    assert not differs_by_database(request.node)


@pytest.mark.parametrize(
    ("file", "left_out"),
    [
        ("tests/workorders/test_recall_pages.py", True),
        ("tests/workorders/test_release_papers.py", True),
        ("tests/workorders/test_recalls.py", False),
        ("tests/inventory/test_lists.py", False),
        ("tests/guards/test_pages.py", False),
    ],
)
def test_pages_and_papers_are_left_out_but_for_the_guards(file, left_out):
    path = Path(__file__).parents[2] / file
    assert path.exists()
    assert is_of_pages(path) is left_out

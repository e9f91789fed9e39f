"""The browser of the browser tests, and a served shop that several tests share."""

from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

from tests.browser import browsers
from tests.browser.pages_site import Site
from tests.browser.serving import serving
from tests.world import World

HERE = Path(__file__).parent


def pytest_collection_modifyitems(items):
    """Everything in this folder is a browser test."""
    for item in items:
        if HERE in Path(item.fspath).parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="package")
def browser():
    """One Chromium for all browser tests; without one they fail and say what to do."""
    # Playwright keeps an event loop in this thread, which Django takes for asynchronous code; so
    # it goes when the last test of this folder is done.
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        try:
            started = browsers.launch(playwright)
        except RuntimeError as error:
            pytest.fail(str(error), pytrace=False)
        yield started
        started.close()


@pytest.fixture
def transactional_db(django_db_setup):
    """Ask for the database and for a place among the transactional tests; `serving` empties it."""


@pytest.fixture(autouse=True)
def _own_files(transactional_db):
    """The shop of `serving` has one folder for all its tests; see there."""


@pytest.fixture(scope="module")
def site(django_db_setup, django_db_blocker, browser, tmp_path_factory):
    """The world of every page, served, with a browser page for each role."""
    with django_db_blocker.unblock(), serving(tmp_path_factory.mktemp("files")) as server:
        told = Site(browser, server, World())
        yield told
        told.close()

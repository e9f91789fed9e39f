"""How a browser is found, and what is said where there is none."""

import subprocess
from types import SimpleNamespace

import pytest

from tests.browser import browsers


def playwright_with(path):
    return SimpleNamespace(chromium=SimpleNamespace(executable_path=str(path)))


@pytest.fixture
def bare(monkeypatch):
    """A machine without any browser."""
    monkeypatch.delenv("SEALWRIGHT_BROWSER", raising=False)
    monkeypatch.setattr(browsers.shutil, "which", lambda _name: None)
    monkeypatch.setattr(browsers, "PROGRAMS", ())


def test_a_browser_that_is_named_is_taken(monkeypatch):
    monkeypatch.setenv("SEALWRIGHT_BROWSER", "/opt/mine")
    assert browsers.installed(playwright_with("/nowhere")) == "/opt/mine"


def test_playwrights_own_browser_is_taken_where_there_is_no_other(bare, tmp_path):
    own = tmp_path / "chrome"
    own.touch()
    assert browsers.installed(playwright_with(own)) == str(own)


def test_without_a_browser_one_is_fetched(bare, monkeypatch, tmp_path):
    own = tmp_path / "chrome"
    asked = []

    def run(command, **_options):
        asked.append(command[1:])
        own.touch()
        return subprocess.CompletedProcess(command, 0, "", "")

    monkeypatch.setattr(browsers.subprocess, "run", run)
    assert browsers.installed(playwright_with(own)) is None
    assert browsers.fetched(playwright_with(own)) == str(own)
    assert asked == [["-m", "playwright", "install", "chromium"]]


def test_where_none_can_be_fetched_the_words_say_what_to_do(bare, monkeypatch):
    def run(command, **_options):
        return subprocess.CompletedProcess(command, 1, "", "no network")

    monkeypatch.setattr(browsers.subprocess, "run", run)
    with pytest.raises(RuntimeError, match=r"install Chromium or Chrome[\s\S]*no network"):
        browsers.fetched(playwright_with("/nowhere"))

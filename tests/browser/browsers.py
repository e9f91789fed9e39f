"""Finding a Chromium to test with, or saying loudly what to do."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

from playwright.sync_api import Browser, Playwright

ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
COMMANDS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
PROGRAMS = (
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
)
ADVICE = """
No browser for the browser tests, and none could be fetched. Do one of these, then run the tests again:
  - install Chromium or Chrome (Debian, Ubuntu: apt-get install chromium);
  - name one: SEALWRIGHT_BROWSER=/path/to/chromium;
  - fetch one for Playwright: python -m playwright install chromium.
"""


def installed(playwright: Playwright) -> str | None:
    """Return the path of a browser on this machine: the one named, a system's, or Playwright's own."""
    named = os.environ.get("SEALWRIGHT_BROWSER")
    if named:
        return named
    found = [path for command in COMMANDS if (path := shutil.which(command))]
    candidates = [*found, *PROGRAMS, playwright.chromium.executable_path]
    return next((path for path in candidates if Path(path).exists()), None)


def fetched(playwright: Playwright) -> str:
    """Let Playwright fetch its Chromium and return the path; RuntimeError says what to do instead."""
    told = subprocess.run(
        [sys.executable, "-m", "playwright", "install", "chromium"], capture_output=True, text=True
    )
    path = playwright.chromium.executable_path
    if told.returncode or not Path(path).exists():
        raise RuntimeError(f"{ADVICE}\n{told.stdout[-500:]}{told.stderr[-500:]}")
    return path


def launch(playwright: Playwright) -> Browser:
    """Start a browser without a window; RuntimeError says what to do where there is none."""
    path = installed(playwright) or fetched(playwright)
    return playwright.chromium.launch(executable_path=path, args=ARGS)

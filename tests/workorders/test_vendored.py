"""The library that draws traces is the published one, byte for byte."""

import hashlib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "workorders" / "static" / "workorders" / "uplot"


@pytest.mark.parametrize("name", ["uPlot.iife.min.js", "uPlot.min.css"])
def test_a_copied_library_has_the_digest_that_is_written_down(name):
    digest = hashlib.sha256((FOLDER / name).read_bytes()).hexdigest()
    (line,) = [
        row for row in (ROOT / "docs" / "dependencies.md").read_text().splitlines() if f"`{name}`" in row
    ]
    assert digest in line
    assert (FOLDER / "LICENSE").exists()

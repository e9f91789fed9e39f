"""Run-out of rods against the published limits."""

import csv
import inspect
from pathlib import Path

import pytest

import shop.calc
from shop.calc.rod import rod_runout_limit


def test_the_published_rod():
    # hydraulic-ram-repairs.com: 0.5 L/1000 at the middle, 0.65 mm for 1300 mm between rollers.
    assert rod_runout_limit(length_mm=1300).limit_mm == pytest.approx(0.65)


def test_the_other_published_limit_is_named():
    # A machine maker's workshop manual, p. 195: 1 mm in 1 m.
    found = rod_runout_limit(length_mm=1000)
    assert (found.limit_mm, found.other_limit_mm) == (0.5, 1.0)
    assert "1 mm in 1 m" in found.warnings[0]
    assert rod_runout_limit(length_mm=1000, limit_mm_per_m=1).limit_mm == found.other_limit_mm


def test_the_default_is_the_shops_limit():
    table = Path(shop.calc.__path__[0]) / "data" / "limit_settings.csv"
    with table.open(encoding="utf-8", newline="") as file:
        values = {row["key"]: float(row["value"]) for row in csv.DictReader(file)}
    default = inspect.signature(rod_runout_limit).parameters["limit_mm_per_m"].default
    assert values["rod-run-out"] == default


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"length_mm": 0}, "length_mm must be above 0 mm and at most 50000 mm; got 0 mm"),
        ({"length_mm": 50001}, "got 50001 mm"),
        ({"limit_mm_per_m": 0}, "limit_mm_per_m must be above 0 mm/m"),
        ({"limit_mm_per_m": 10.1}, "at most 10 mm/m; got 10.1 mm/m"),
    ],
)
def test_what_lies_outside_is_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        rod_runout_limit(**{"length_mm": 1300, **fields})


def test_the_ends_are_allowed():
    assert rod_runout_limit(length_mm=50000, limit_mm_per_m=10).limit_mm == 500

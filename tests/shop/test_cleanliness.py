"""Codes of ISO 4406 from counts, by the table and never by powers of two."""

import csv
import math
from itertools import pairwise

import pytest

from shop.calc.cleanliness import TABLE, cleanliness_code

RAW = {"counted_4um": 500, "counted_6um": 100, "counted_14um": 20}


def number_of(count):
    """The scale number of one count; nothing larger was there."""
    return cleanliness_code(count_4um=count, count_6um=0, count_14um=0).scale_4um


# A laboratory report in AWEA RP 508, figure A: counts at 4, 6 and 14 µm(c).
@pytest.mark.parametrize(("counts", "code"), [((1008, 392, 29), "17/16/12"), ((2178, 847, 63), "18/17/13")])
def test_published_reports(counts, code):
    found = cleanliness_code(count_4um=counts[0], count_6um=counts[1], count_14um=counts[2])
    assert found.code == code
    assert f"{found.scale_4um}/{found.scale_6um}/{found.scale_14um}" == code


# cbmconnect.com (43900), gpmhydraulic.com (50); the others lie at printed limits of the table (a filter
# maker's appendix, p. 128; a fluid-control manual, p. 98; Machinery Lubrication India, Nov-Dec 2019, p. 30).
@pytest.mark.parametrize(
    ("count", "number"),
    [
        (43_900, 23),
        (50, 13),
        (0.64, 6),
        (80, 13),
        (160, 14),
        (160.01, 15),
        (1300, 17),
        (1300.01, 18),
        (5000, 19),
        (2_500_000, 28),
        (0, 0),
        (0.01, 0),
        (0.011, 1),
    ],
)
def test_published_counts_and_limits(count, number):
    assert number_of(count) == number


# Printed ranges, both ends in counts per mL: 19, 16, 13 (a filter maker's manual, p. 14); 17 and 10
# (constructionequipment.com 10750527); 15 and 20 per 100 mL (the fluid-control manual).
@pytest.mark.parametrize(
    ("number", "above", "up_to"),
    [
        (19, 2500, 5000),
        (16, 320, 640),
        (13, 40, 80),
        (17, 640, 1300),
        (10, 5, 10),
        (15, 160, 320),
        (20, 5_000, 10_000),
    ],
)
def test_published_ranges_at_both_ends(number, above, up_to):
    assert number_of(above) == number - 1
    assert number_of(math.nextafter(above, math.inf)) == number
    assert number_of(up_to) == number
    assert number_of(math.nextafter(up_to, math.inf)) == number + 1


@pytest.mark.parametrize(
    ("count", "number", "by_powers"), [(1305, 18, 17), (2550, 19, 18), (161, 15, 14), (640.01, 17, 16)]
)
def test_powers_of_two_would_be_wrong(count, number, by_powers):
    """The printed limits are rounded doublings; the common formula fails beside them."""
    assert math.ceil(math.log2(count / 0.01)) == by_powers
    assert number_of(count) == number


def test_the_table_has_no_gap_and_each_limit_about_doubles():
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["scale_number"] for row in rows] == [str(number) for number in range(29)]
    for below, row in pairwise(rows):
        assert row["more_than_per_ml"] == below["up_to_per_ml"]
        ratio = float(row["up_to_per_ml"]) / float(below["up_to_per_ml"])
        assert 1.9 < ratio < 2.1
    assert all(row["source"].startswith("READ") for row in rows)


def test_few_counted_particles_get_a_mark():
    """A filter maker's appendix, p. 130: fewer than 20 counted in a size, example 14/12/>=7."""
    found = cleanliness_code(
        count_4um=150, count_6um=40, count_14um=1.2, counted_4um=1500, counted_6um=400, counted_14um=12
    )
    assert found.code == "14/12/>=7"
    assert found.warnings == (
        "Fewer than 20 particles were counted where >= stands: that number is uncertain.",
    )


@pytest.mark.parametrize(("counted", "code"), [(19, "14/12/>=7"), (20, "14/12/7"), (0, "14/12/>=7")])
def test_twenty_counted_particles_are_enough(counted, code):
    raw = {**RAW, "counted_14um": counted}
    assert cleanliness_code(count_4um=150, count_6um=40, count_14um=1.2, **raw).code == code


def test_every_size_can_carry_the_mark():
    raw = {"counted_4um": 19, "counted_6um": 12, "counted_14um": 3}
    assert cleanliness_code(count_4um=1.9, count_6um=1.2, count_14um=0.3, **raw).code == ">=8/>=7/>=5"


def test_without_the_number_counted_it_says_what_it_cannot_tell():
    found = cleanliness_code(count_4um=150, count_6um=40, count_14um=1.2)
    assert found.code == "14/12/7"
    assert "cannot be told" in found.warnings[0]
    assert cleanliness_code(count_4um=150, count_6um=40, count_14um=1.2, **RAW).warnings == ()


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        # 18/20/22 is printed as impossible (a filter maker's manual, p. 14): counts are cumulative,
        # and a page that speaks of particles "between 4 and 6 µm" is wrong.
        ({"count_4um": 2000, "count_6um": 8000, "count_14um": 30000}, "count_6um must be at most count_4um"),
        ({"count_14um": 301}, r"count_14um must be at most count_6um \(300 1/mL\).*got 301 1/mL"),
        ({"count_4um": 2_500_000.1}, "count_4um must be at most 2500000 1/mL, where the table ends"),
        ({"count_14um": -1}, "count_14um must be at least 0 1/mL; got -1 1/mL"),
        ({"count_4um": math.nan}, "count_4um must be at least 0"),
        ({"count_4um": math.inf}, "count_4um must be at least 0"),
        ({"counted_6um": -1}, "counted_6um must be a whole number at least 0; got -1"),
        ({"counted_6um": 1.5}, "counted_6um must be a whole number"),
    ],
)
def test_impossible_counts_are_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        cleanliness_code(**{"count_4um": 1000, "count_6um": 300, "count_14um": 20, **fields})


def test_equal_counts_are_possible():
    assert cleanliness_code(count_4um=50, count_6um=50, count_14um=50).code == "13/13/13"

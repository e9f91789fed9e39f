"""Storage life against the worked rule of the published tables."""

import datetime as dt

import pytest

from inventory.calc.storage_life import _table, cure_quarter_end, storage_life
from shop.calc.materials import POLYMERS
from shop.models import Polymer

# Groups: "Extracted from BS ISO 2230:2002" (studylib.net 25379531) and prepol.com rubber-shelf-life-storage;
# AS5316: globaloring.com, o-rings.com and daemar.com; counting from the last day of the quarter:
# fairwayseals.co.uk polymer-shelf-life. The dates are those rules applied by hand.
WORKED = [
    ("NBR", "3Q24", "ISO2230", "2024-09-30", "2031-09-30", "2034-09-30"),
    ("NBR", "3Q24", "AS5316", "2024-09-30", "2039-09-30", None),
    ("AU", "1Q20", "ISO2230", "2020-03-31", "2025-03-31", "2027-03-31"),
    ("AU", "1Q20", "AS5316", "2020-03-31", "2025-03-31", None),
    ("FKM", "4Q23", "ISO2230", "2023-12-31", "2033-12-31", "2038-12-31"),
    ("FKM", "4Q23", "AS5316", "2023-12-31", None, None),
]


@pytest.mark.parametrize(("polymer", "cure", "standard", "counted", "use_by", "after"), WORKED)
def test_dates_follow_the_published_groups(polymer, cure, standard, counted, use_by, after):
    life = storage_life(polymer=polymer, cure=cure, standard=standard)
    dates = (life.counted_from, life.use_by, life.use_by_after_inspection)
    assert dates == tuple(text and dt.date.fromisoformat(text) for text in (counted, use_by, after))


# Group membership as printed by the two pages named above; the later groups start at 5, 7 and 10 years.
GROUPS = {
    "A": ("NR IR BR SBR AU EU", 5, 2),
    "B": ("ACM ECO CR HNBR IIR NBR", 7, 3),
    "C": ("CSM EPDM FKM FFKM VMQ FVMQ", 10, 5),
}


@pytest.mark.parametrize("group", GROUPS)
def test_every_polymer_of_an_iso_group_has_its_years(group):
    polymers, years, extension = GROUPS[group]
    for polymer in polymers.split():
        life = storage_life(polymer=polymer, cure="4Q20", standard="ISO2230")
        assert life.use_by == dt.date(2020 + years, 12, 31)
        assert life.use_by_after_inspection == dt.date(2020 + years + extension, 12, 31)
        assert f"group {group}" in life.basis


# ISO 2230 clause 5.3 prints "July to September 1994 = 3/94"; the other spellings name the same quarter.
@pytest.mark.parametrize("cure", ["3/94", "3Q94", "3Q1994", "3q94", " 3Q94 "])
def test_spellings_of_one_quarter_agree(cure):
    assert cure_quarter_end(cure=cure) == dt.date(1994, 9, 30)


@pytest.mark.parametrize(
    ("cure", "last_day"), [("1Q24", (3, 31)), ("2Q24", (6, 30)), ("3Q24", (9, 30)), ("4Q24", (12, 31))]
)
def test_a_quarter_ends_on_its_last_day(cure, last_day):
    assert cure_quarter_end(cure=cure) == dt.date(2024, *last_day)


def test_two_digit_years_turn_over_as_in_posix():
    """POSIX strptime, %y: 69-99 are 1969-1999, 00-68 are 2000-2068."""
    for year in (68, 69):
        assert cure_quarter_end(cure=f"4Q{year}").year == dt.datetime.strptime(str(year), "%y").year


@pytest.mark.parametrize("cure", ["", "Q3 24", "5Q24", "0Q24", "3Q", "3Q124", "9/94", "3/2024", "2024-09-30"])
def test_another_spelling_is_refused(cure):
    with pytest.raises(ValueError, match="cure must be a quarter and a year"):
        storage_life(polymer="NBR", cure=cure, standard="ISO2230")


def test_an_unknown_polymer_or_standard_is_refused():
    with pytest.raises(ValueError, match=r"polymer must be one of NBR, .*, IR, BR; got 'XYZ'"):
        storage_life(polymer="XYZ", cure="3Q24", standard="ISO2230")
    with pytest.raises(ValueError, match="standard must be one of ISO2230, AS5316; got 'DIN7716'"):
        storage_life(polymer="NBR", cure="3Q24", standard="DIN7716")


@pytest.mark.parametrize(("year", "fits"), [(1899, False), (1900, True), (2100, True), (2101, False)])
def test_a_year_of_cure_outside_the_range_is_refused(year, fits):
    if fits:
        assert storage_life(polymer="NBR", cure=f"1Q{year}", standard="ISO2230").counted_from.year == year
        return
    with pytest.raises(ValueError, match=f"cure must have a year from 1900 to 2100; got {year}"):
        storage_life(polymer="NBR", cure=f"1Q{year}", standard="ISO2230")


@pytest.mark.parametrize(("polymer", "standard"), [("AEM", "ISO2230"), ("POM", "ISO2230"), ("CSM", "AS5316")])
def test_a_polymer_outside_the_tables_gets_no_date_and_says_why(polymer, standard):
    life = storage_life(polymer=polymer, cure="3Q24", standard=standard)
    assert life.use_by is None
    assert life.rule == "not listed"
    assert "not in the tables" in life.warnings[0]


def test_unlimited_is_told_apart_from_unknown():
    assert storage_life(polymer="EPDM", cure="3Q24", standard="AS5316").rule == "unlimited"
    assert storage_life(polymer="ECO", cure="3Q24", standard="AS5316").rule == "not given"


def test_disagreeing_sources_are_said():
    """daemar.com prints 15 years for SBR where globaloring.com and o-rings.com print 3."""
    life = storage_life(polymer="SBR", cure="4Q20", standard="AS5316")
    assert life.use_by == dt.date(2023, 12, 31)
    assert "15 years" in life.warnings[0]


def test_every_row_has_a_source_and_every_polymer_of_a_part_is_known():
    assert all(row["source"].startswith("READ") for row in _table().values())
    assert set(POLYMERS) == set(Polymer.values)
    for standard, polymer in _table():
        assert storage_life(polymer=polymer, cure="1Q20", standard=standard).rule != "not listed"

"""The table of fluids and materials: labels kept, conflicts and gaps said."""

import pytest

from shop.calc.compatibility import _table, fluid_compatibility
from shop.calc.materials import FLUIDS
from shop.models import FluidFamily
from shop.models.fluid import Polymer

# oringsupplyco.com: hydraulic-system-o-ring-selection and nbr-vs-epdm-o-rings, cells read and uncontested.
PUBLISHED = [
    ("NBR", "mineral", "good"),
    ("EPDM", "mineral", "not suitable"),
    ("EPDM", "DOT 3/4", "good"),
    ("NBR", "DOT 3/4", "not suitable"),
    ("EPDM", "HFDR", "good"),
    ("NBR", "HFDR", "not suitable"),
    ("NBR", "HFC", "good"),
    ("EPDM", "HFC", "good"),
    ("FKM", "HEES", "good"),
    ("NBR", "HEES", "limited"),
]


@pytest.mark.parametrize(("polymer", "fluid", "rating"), PUBLISHED)
def test_published_cells(polymer, fluid, rating):
    found = fluid_compatibility(polymer=polymer, fluid=fluid)
    assert (found.rating, found.basis) == (rating, "READ")
    assert "oringsupplyco.com" in found.source
    assert found.sources == (found.source,)
    # systemseals.com: more than 25 % of pairs that passed 28 days failed by 60 to 90 days.
    assert len(found.warnings) == 1
    assert "no guarantee" in found.warnings[0]


def test_a_conflict_of_sources_is_an_answer():
    """oringsupplyco.com asks for a special grade of FKM in phosphate ester, detroitsealing says avoid."""
    found = fluid_compatibility(polymer="FKM", fluid="HFDR")
    assert (found.rating, found.basis) == ("ask the maker", "CONFLICT")
    assert " vs " in found.source
    assert "sources disagree" in found.warnings[0]
    assert not found.known_suitable
    assert not found.known_unsuitable


def test_memory_says_so_and_decides_nothing():
    found = fluid_compatibility(polymer="AU", fluid="HFC")
    assert found.basis == "MEMORY"
    assert "from memory" in found.warnings[0]
    assert not found.known_unsuitable


@pytest.mark.parametrize("polymer", ["POM", "CR", "FFKM"])
def test_a_pair_that_is_not_listed_asks_the_maker(polymer):
    found = fluid_compatibility(polymer=polymer, fluid="mineral")
    assert (found.rating, found.basis) == ("ask the maker", "NOT LISTED")
    assert "not listed" in found.warnings[0]


def test_only_a_read_cell_forbids():
    assert fluid_compatibility(polymer="EPDM", fluid="mineral HV").known_unsuitable
    assert not fluid_compatibility(polymer="EPDM", fluid="ATF").known_unsuitable  # from memory


@pytest.mark.parametrize(
    ("polymer", "fluid", "message"),
    [
        ("XYZ", "mineral", "polymer must be one of NBR, .*; got 'XYZ'"),
        ("NBR", "olive oil", "fluid must be one of mineral, .*; got 'olive oil'"),
    ],
)
def test_unknown_names_are_refused(polymer, fluid, message):
    with pytest.raises(ValueError, match=message):
        fluid_compatibility(polymer=polymer, fluid=fluid)


def test_the_table_uses_the_words_of_the_shop():
    assert set(FLUIDS) == set(FluidFamily.values)
    for (_polymer, fluid), row in _table().items():
        assert fluid in FLUIDS
        assert row["rating"] in ("good", "limited", "not suitable", "ask the maker")
        assert row["basis"] in ("READ", "MEMORY", "CONFLICT")
        assert row["source"] or row["basis"] == "MEMORY"


def test_a_material_is_named_by_its_symbol():
    assert all(word == symbol for symbol, word in Polymer.choices)

"""Identification: the order of candidates, what agrees and differs, and what supersedes what."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.identify import Entry, Measured, Observed, identify
from shop.calc.maker_number import bare_number
from shop.calc.measured import measured_against_known
from shop.calc.parameters import InputError
from shop.calc.superseded import KnownNumber, NumberRow, known_numbers

FIGURES = ("bore_mm", "rod_mm", "stroke_mm", "closed_length_mm")
FAMILIES = ("cylinder", "power_unit", "valve_block")


def known(*numbers):
    return tuple(KnownNumber(number=each, bare=bare_number(each)) for each in numbers)


def entry(code="A", **facts):
    return Entry(**{"key": ord(code[0]), "code": code, "family": "cylinder"} | facts)


def measured(value, uncertainty=0.5):
    return Measured(value=value, uncertainty=uncertainty)


def codes(observed, *entries):
    return [one.entry.code for one in identify(observed=observed, catalogue=entries)]


def only(observed, one):
    [found] = identify(observed=observed, catalogue=[one])
    return found


# ---------- what agrees, differs, and is not known ----------


@pytest.mark.parametrize(
    ("value", "status"), [(24.5, "agrees"), (25.5, "agrees"), (24.4999, "differs"), (25.5001, "differs")]
)
def test_a_figure_agrees_up_to_its_uncertainty(value, status):
    [fact] = only(Observed(bore_mm=measured(value)), entry(bore_mm=25.0)).facts
    assert fact.status == status
    assert f"known 25 mm: {abs(value - 25):.3g} apart" in fact.sentence
    assert measured_against_known(measured_mm=value, known_mm=25.0).status == status


def test_what_the_catalogue_does_not_know_is_said_and_counts_nothing():
    found = only(
        Observed(bore_mm=measured(25), ports=2, threads=("G 1/4",), year=1999, numbers=("X-77",)), entry()
    )
    assert [fact.name for fact in found.unknown] == ["number", "bore_mm", "year", "ports", "threads"]
    assert found.score == (0, 0, 0, 0, 0)
    assert "does not know it" in found.unknown[1].sentence


@pytest.mark.parametrize(
    ("seen", "threads", "status"),
    [
        (("g1/4",), ("G 1/4", "G 1/4"), "agrees"),
        (("G 1/4", "G 1/4"), ("G 1/4", "G 3/8"), "differs"),
        (("M14",), ("G 1/4", ""), "not known"),
        (("M14", "M14"), ("G 1/4", ""), "differs"),
        (("M14",), ("", ""), "not known"),
    ],
)
def test_each_thread_seen_must_be_one_of_the_ports(seen, threads, status):
    assert only(Observed(threads=seen), entry(threads=threads)).facts[0].status == status


@pytest.mark.parametrize(
    ("year", "built", "status"),
    [
        (2004, (2004, 2008), "agrees"),
        (2009, (2004, 2008), "differs"),
        (2009, (2004, None), "agrees"),
        (2003, (None, 2008), "agrees"),
        (2003, (None, None), "not known"),
    ],
)
def test_the_year_of_the_plate_tells_variants_apart(year, built, status):
    row = entry(built_from=built[0], built_to=built[1])
    assert only(Observed(year=year), row).facts[0].status == status


def test_supply_and_displacement_have_their_stated_margins():
    row = entry(family="power_unit", supply_v=12.0, displacement_cm3=0.25)
    agree = Observed(supply_v=12.5, displacement_cm3=0.2625)
    differ = Observed(supply_v=12.6, displacement_cm3=0.2626)
    assert [fact.status for fact in only(agree, row).facts] == ["agrees", "agrees"]
    assert [fact.status for fact in only(differ, row).facts] == ["differs", "differs"]


def test_the_number_of_ports_is_counted():
    two = entry(threads=("", ""))
    assert only(Observed(ports=2), two).agreeing
    assert only(Observed(ports=3), two).differing


# ---------- the order ----------


def test_a_number_decides_whatever_else_differs():
    observed = Observed(bore_mm=measured(25), rod_mm=measured(12), numbers=("BD 4410",))
    fits = entry("A", bore_mm=25.0, rod_mm=12.0)
    named = entry("B", bore_mm=40.0, rod_mm=22.0, numbers=known("BD-4410"))
    assert codes(observed, fits, named) == ["B", "A"]


def test_a_near_number_is_named_and_counts_as_one_fact():
    observed = Observed(bore_mm=measured(25), rod_mm=measured(12), numbers=("BD-441O",))
    fits = entry("A", bore_mm=25.0, rod_mm=12.0)
    near = entry("B", bore_mm=40.0, numbers=known("BD-4410"))
    found = identify(observed=observed, catalogue=[near, fits])
    assert [one.entry.code for one in found] == ["A", "B"]
    assert "BD-441O is near BD-4410: look at the stamp again" in found[1].agreeing[0].sentence
    assert (found[1].same_numbers, found[1].near_numbers) == (0, 1)


def test_another_family_is_named_as_contradicting_and_stands_below():
    observed = Observed(family="power_unit", supply_v=12.0)
    other = entry("A", family="cylinder", supply_v=12.0)
    fits = entry("B", family="power_unit", supply_v=24.0)
    found = identify(observed=observed, catalogue=[other, fits])
    assert [(one.entry.code, one.contradicts) for one in found] == [("B", False), ("A", True)]
    assert found[1].differing[0].sentence.startswith("Contradicts")


def test_a_number_of_another_family_stays_first_and_is_named_as_contradicting():
    observed = Observed(family="power_unit", numbers=("BD-4410",))
    found = identify(observed=observed, catalogue=[entry("A", numbers=known("BD-4410")), entry("B")])
    assert (found[0].entry.code, found[0].contradicts) == ("A", True)


def test_five_of_six_stand_above_one_of_one():
    observed = Observed(**{name: measured(100) for name in FIGURES}, family="cylinder", ports=2)
    much = entry("B", **dict.fromkeys(FIGURES, 100.0), threads=("", "", ""))
    little = entry("A")
    assert codes(observed, little, much) == ["B", "A"]


def test_those_that_tie_share_a_rank_and_the_closer_stands_first():
    observed = Observed(bore_mm=measured(25.2))
    found = identify(observed=observed, catalogue=[entry("A", bore_mm=25.6), entry("B", bore_mm=25.2)])
    assert [(one.entry.code, one.rank) for one in found] == [("B", 1), ("A", 1)]


# ---------- superseded numbers ----------


def number_row(key, entry_key, number, superseded_by=None):
    return NumberRow(
        key=key,
        entry=entry_key,
        code=f"T{entry_key}",
        number=number,
        bare=bare_number(number),
        superseded_by=superseded_by,
    )


def test_a_superseded_number_leads_to_its_own_type_and_to_the_one_after_and_says_so():
    numbers = known_numbers(
        rows=[number_row(1, 1, "OLD-1", 2), number_row(2, 2, "MID-2", 3), number_row(3, 3, "NEW-3")]
    )
    assert {key: [one.number for one in found] for key, found in numbers.items()} == {
        1: ["OLD-1"],
        2: ["MID-2", "OLD-1"],
        3: ["NEW-3", "OLD-1", "MID-2"],
    }
    catalogue = [entry(f"T{key}", numbers=found) for key, found in numbers.items()]
    found = identify(observed=Observed(numbers=("OLD 1",)), catalogue=catalogue)
    assert [(one.entry.code, one.rank) for one in found] == [("T1", 1), ("T2", 1), ("T3", 1)]
    told = [one.agreeing[0].sentence for one in found]
    assert told == [
        "Number OLD-1 is a number of this type; it was superseded by NEW-3 of T3.",
        "Number OLD-1 of T1 was superseded by MID-2 of this type.",
        "Number OLD-1 of T1 was superseded by NEW-3 of this type.",
    ]


def test_a_circle_of_numbers_ends():
    numbers = known_numbers(rows=[number_row(1, 1, "A-1", 2), number_row(2, 2, "B-2", 1)])
    assert [one.number for one in numbers[1]] == ["A-1", "B-2"]


# ---------- properties ----------

figure = st.one_of(st.none(), st.sampled_from([10.0, 10.3, 10.6, 12.0, 20.0]))
number_texts = st.lists(st.sampled_from(["BD-4410", "BD-4401", "FL-77", "ST-220"]), max_size=2, unique=True)
entry_facts = st.fixed_dictionaries(
    {
        **dict.fromkeys(FIGURES, figure),
        "family": st.sampled_from(FAMILIES),
        "threads": st.lists(st.sampled_from(["", "G 1/4", "M14"]), max_size=3).map(tuple),
        "built_from": st.one_of(st.none(), st.sampled_from([1990, 2000])),
        "numbers": number_texts.map(lambda texts: known(*texts)),
    }
)
catalogues = st.lists(entry_facts, min_size=1, max_size=6).map(
    lambda rows: [Entry(key=at, code=f"T{at}", **facts) for at, facts in enumerate(rows)]
)
observations = st.fixed_dictionaries(
    {
        **dict.fromkeys(FIGURES, figure),
        "family": st.sampled_from(("", *FAMILIES)),
        "ports": st.one_of(st.none(), st.integers(1, 3)),
        "year": st.one_of(st.none(), st.sampled_from([1985, 1995, 2005])),
        "numbers": number_texts.map(tuple),
    }
)


def as_observed(facts):
    told = {name: measured(facts[name]) for name in FIGURES if facts.get(name)}
    return Observed(**{**facts, **dict.fromkeys(FIGURES), **told})


@given(observations, catalogues, st.randoms())
def test_the_order_of_the_catalogue_makes_no_difference(facts, catalogue, random):
    before = identify(observed=as_observed(facts), catalogue=catalogue)
    shuffled = random.sample(catalogue, len(catalogue))
    assert identify(observed=as_observed(facts), catalogue=shuffled) == before


@given(observations, catalogues, st.data())
def test_an_agreeing_fact_never_lowers_the_rank(facts, catalogue, data):
    chosen = data.draw(st.sampled_from(catalogue))
    offered = [name for name in FIGURES if not facts[name] and getattr(chosen, name)]
    offered += [] if facts["family"] else ["family"]
    offered += ["numbers"] * any(one.number not in facts["numbers"] for one in chosen.numbers)
    if not offered:
        return
    name = data.draw(st.sampled_from(offered))
    if name == "numbers":
        new = next(one.number for one in chosen.numbers if one.number not in facts["numbers"])
        more = facts | {"numbers": (*facts["numbers"], new)}
    else:
        more = facts | {name: getattr(chosen, name)}

    def rank(told):
        found = identify(observed=as_observed(told), catalogue=catalogue)
        return next(one.rank for one in found if one.entry == chosen)

    assert rank(more) <= rank(facts)


@given(catalogues, st.data())
def test_an_exact_copy_of_a_type_ranks_first(catalogue, data):
    copied = data.draw(st.sampled_from(catalogue))
    observed = Observed(
        family=copied.family,
        ports=len(copied.threads) or None,
        threads=tuple(filter(None, copied.threads)),
        year=copied.built_from,
        numbers=tuple(one.number for one in copied.numbers),
        **{name: measured(getattr(copied, name)) for name in FIGURES if getattr(copied, name)},
    )
    found = identify(observed=observed, catalogue=catalogue)
    place, mine = next((at, one) for at, one in enumerate(found) if one.entry == copied)
    assert mine.rank == 1
    assert not mine.differing
    # Only one that cannot be told from it by what was seen stands before it.
    assert all(sum(fact.apart for fact in one.facts) == 0 for one in found[:place])


@pytest.mark.parametrize("name", ["measured_mm", "known_mm", "uncertainty_mm"])
def test_a_figure_that_is_none_is_refused(name):
    told = {"measured_mm": 25.0, "known_mm": 25.0, "uncertainty_mm": 0.5} | {name: 0.0}
    with pytest.raises(InputError, match=f"{name} must be above 0 mm"):
        measured_against_known(**told)

"""Lists in the order that a person asks for: querysets by the database, lists by what they show."""

from types import SimpleNamespace

import pytest
from django.template import Context, Template
from django.test import RequestFactory

from inventory.models import Part
from shop.views.sorting import by_choice, by_text, in_order, sorting_of
from shop.views.tables import Column, Table
from tests.factories import PartFactory

TABLE = Table(
    "parts",
    (
        Column("Part number", "number", sort="number"),
        Column("Hardness", "hardness_shore_a", sort="hardness_shore_a"),
        Column("Note", "note"),
    ),
)


def asked(**query):
    return RequestFactory().get("/parts/", query)


@pytest.fixture
def parts(db):
    for number, hardness in (("b", 90), ("a", None), ("c", 70), ("d", 90)):
        PartFactory(number=number, hardness_shore_a=hardness)
    return Part.objects.order_by("-number")


def numbers(rows):
    return "".join(row.number for row in rows)


@pytest.mark.parametrize(
    ("sort", "told"),
    [
        ("", "dcba"),
        ("part-number", "abcd"),
        ("-part-number", "dcba"),
        ("hardness", "cbda"),
        ("-hardness", "bdca"),
        ("note", "dcba"),  # no column to sort by
        ("nonsense", "dcba"),
        ("--hardness", "dcba"),
    ],
)
def test_a_queryset_and_a_list_take_the_same_order_with_the_empty_ones_last(parts, sort, told):
    assert numbers(in_order(asked(sort=sort), TABLE, parts)) == told
    if sort.strip("-") in ("part-number", "hardness") and not sort.startswith("--"):
        rows = sorted(parts, key=lambda row: row.pk)
        assert numbers(in_order(asked(sort=sort), TABLE, rows)) == told


def test_small_and_large_letters_are_the_same_in_a_list():
    rows = [SimpleNamespace(number=text, hardness_shore_a=1) for text in ("B", "a", "C")]
    assert numbers(in_order(asked(sort="part-number"), TABLE, rows)) == "aBC"


@pytest.mark.parametrize(
    ("sort", "told"),
    [("name", "cab"), ("-name", "acb"), ("kind", "bca"), ("-kind", "acb")],
)
def test_texts_go_without_regard_to_capitals_and_choices_as_they_are_declared(db, sort, told):
    table = Table(
        "parts",
        (
            Column("Name", "name", sort=by_text("note")),
            Column("Kind", "kind", sort=by_choice("kind", Part.Kind.values)),
        ),
    )
    kinds = Part.Kind.values
    for number, text, kind in (("a", "Wiper", kinds[3]), ("b", "", kinds[0]), ("c", "rod seal", kinds[1])):
        PartFactory(number=number, note=text, kind=kind)
    assert numbers(in_order(asked(sort=sort), table, Part.objects.all())) == told


def drawn(text, **query):
    request = asked(**query)
    context = Context({"request": request, "sorting": sorting_of(request, TABLE)})
    return Template("{% load shop_tags %}" + text).render(context)


def test_a_head_says_how_the_list_is_sorted_and_asks_for_the_other_way():
    head = '{% sort_head "Number" "part-number" "num" %}'
    plain = drawn(head, q="x", page="3")
    assert "aria-sort" not in plain
    assert 'class="num"' in plain
    assert '<a href="?q=x&amp;sort=part-number">Number</a>' in plain
    rising = drawn(head, sort="part-number")
    assert 'aria-sort="ascending"' in rising
    assert "?sort=-part-number" in rising
    falling = drawn(head, sort="-part-number")
    assert 'aria-sort="descending"' in falling
    assert "?sort=part-number" in falling


def test_a_head_of_a_column_that_cannot_be_sorted_is_a_fault():
    with pytest.raises(KeyError, match="no column 'note'"):
        drawn('{% sort_head "Note" "note" %}')


def test_what_stands_in_the_address_is_not_taken_for_markup():
    told = drawn('{% sort_head "Number" "part-number" %}', q='"><script>')
    assert "<script>" not in told


def test_the_select_offers_every_order_and_knows_the_chosen_one():
    told = drawn('{% include "shop/_sort.html" %}', sort="-hardness")
    assert '<option value="-hardness" selected>Hardness, falling</option>' in told
    assert told.count("<option") == 5

"""The walking order of the stores: places as people count, or as the shop sets them."""

import pytest
from django.urls import reverse

from inventory.models import Balance, WalkingOrder
from inventory.services.walking import (
    places_in_use,
    set_walking_order,
    undo_walking_order,
    walking_key,
    walking_lines,
)
from shop.errors import NotAllowed, RuleBroken
from tests.asking import rows, send
from tests.factories import LotFactory, person

pytestmark = pytest.mark.django_db
PLACES = ["B10", "A10", "cold store", "A2", "b2", "A1 left", "A1"]


def walked(*lines):
    return sorted(PLACES, key=walking_key(lines))


def test_places_are_walked_as_people_count():
    assert walked() == ["A1", "A1 left", "A2", "A10", "b2", "B10", "cold store"]


def test_a_line_stands_for_every_place_whose_name_begins_with_it():
    assert walked("cold store", "B") == ["cold store", "b2", "B10", "A1", "A1 left", "A2", "A10"]


def test_a_number_is_whole_and_the_longer_line_counts():
    assert walked("A", "B", "A1") == ["A2", "A10", "b2", "B10", "A1", "A1 left", "cold store"]


def test_dashes_and_blanks_make_no_difference():
    assert sorted(["R-10", "R 2", "r1"], key=walking_key([])) == ["r1", "R 2", "R-10"]


def test_the_order_is_set_shown_and_put_back(act, stores):
    lot = LotFactory()
    Balance.objects.create(lot=lot, place="B3", quantity=2)
    set_walking_order(act=act(stores, why="new rack"), lines=[" B ", "", "A"])
    assert walking_lines() == ["B", "A"]
    assert places_in_use() == [("B3", True), ("A1", True)]
    set_walking_order(act=act(stores), lines=["A"])
    assert places_in_use() == [("A1", True), ("B3", False)]
    undo_walking_order(act=act(stores))
    assert walking_lines() == ["B", "A"]
    row = WalkingOrder.objects.get()
    assert [old.lines for old in row.history.all()] == ["B\nA", "A", "B\nA"]
    assert row.history.last().history_change_reason == "new rack"


def test_the_first_order_can_be_put_back_to_none(act, stores):
    with pytest.raises(RuleBroken, match="no change"):
        undo_walking_order(act=act(stores))
    set_walking_order(act=act(stores), lines=["B"])
    undo_walking_order(act=act(stores))
    assert walking_lines() == []


@pytest.mark.parametrize(("lines", "words"), [(["A1", "a-1"], "stands there twice"), (["--"], "no name")])
def test_a_wrong_line_is_refused_and_nothing_changed(act, stores, lines, words):
    before = rows()
    with pytest.raises(RuleBroken) as refused:
        set_walking_order(act=act(stores), lines=lines)
    assert words in refused.value.fields["lines"]
    assert rows() == before


def test_the_bench_may_not_set_it(act, bench):
    with pytest.raises(NotAllowed):
        set_walking_order(act=act(bench), lines=["A"])


def test_there_is_one_walking_order_only(act, stores):
    from django.db import IntegrityError, transaction

    with pytest.raises(IntegrityError), transaction.atomic():
        WalkingOrder.objects.create(pk=2, lines="A")


def test_the_page_sets_and_undoes_it_once(client):
    url = reverse("inventory:walking_order")
    undo = reverse("inventory:walking_order_undo")
    assert client.get(url).status_code == 302
    client.force_login(person("bench"))
    assert client.get(url).status_code == 403
    client.force_login(person("stores"))
    assert client.get(undo).status_code == 405
    assert send(client, url, {"lines": "A\na", "why": ""}).status_code == 422
    answer = send(client, url, {"lines": "B\r\nA", "why": "new rack"}, follow=True)
    assert "pick lists follow it" in answer.content.decode()
    assert walking_lines() == ["B", "A"]
    token = "5b0f8fd2-6f0e-4d4f-8a5e-0d8a6b8f3c11"
    for _press in range(2):
        assert send(client, undo, token=token).status_code == 302
    assert walking_lines() == []

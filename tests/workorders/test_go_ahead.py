"""Quotes and go-aheads: who allowed what up to which price, by services and by pages."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from shop.errors import NotAllowed, RuleBroken
from tests.asking import rows, send
from tests.factories import person
from tests.workorders.journey import Journey
from workorders.models import GoAhead, Quote, Rebuild
from workorders.services.go_ahead import record_go_ahead, record_quote

pytestmark = pytest.mark.django_db
Stage = Rebuild.Stage
FORM = {
    "how": "telephone",
    "given_by": "R. Holm",
    "given_at": "2026-03-03T09:30",
    "scope": "all seals renewed, tested",
    "price_ceiling": "240.00",
}


@pytest.fixture(scope="module")
def kept(keep):
    return keep(lambda: Journey().receive())


@pytest.fixture
def way(kept):
    return kept()


def allow(way, role="receiving", **said):
    told = {
        "given_by": "R. Holm",
        "given_at": way.now,
        "how": "telephone",
        "scope": "all seals",
        "price_ceiling": Decimal("240"),
        **said,
    }
    return record_go_ahead(act=way.act(role), rebuild=way.rebuild, **told)


def stage_of(way):
    way.rebuild.refresh_from_db()
    return way.rebuild.stage


def exchange(way):
    way.rebuild.destination = Rebuild.Destination.EXCHANGE
    way.rebuild.save()
    return way


# --- the services ---


def test_a_go_ahead_keeps_who_when_how_scope_and_ceiling(way):
    row = allow(way, given_at=way.now - dt.timedelta(days=1))
    assert (row.given_by, row.how, row.scope, row.price_ceiling) == (
        "R. Holm",
        "telephone",
        "all seals",
        Decimal(240),
    )
    assert (row.by, row.at, row.given_at) == (
        way.people["receiving"],
        way.now,
        way.now - dt.timedelta(minutes=10, days=1),
    )


def test_a_go_ahead_may_come_before_the_teardown_and_counts_once_that_is_signed(way):
    allow(way)
    assert stage_of(way) == Stage.RECEIVED
    way.find().close_teardown()
    assert stage_of(way) == Stage.GO_AHEAD


def test_a_quote_after_the_teardown_makes_the_stage_quoted_and_the_go_ahead_follows(way):
    way.find().close_teardown()
    record_quote(
        act=way.act("warranty desk"),
        rebuild=way.rebuild,
        amount=Decimal("180.50"),
        scope="seals",
        told_to="R. Holm",
    )
    assert stage_of(way) == Stage.QUOTED
    allow(way)
    assert stage_of(way) == Stage.GO_AHEAD


def test_a_wider_go_ahead_stands_beside_the_first(way):
    allow(way)
    allow(way, scope="rod as well", price_ceiling=Decimal(400))
    assert list(way.rebuild.go_aheads.values_list("price_ceiling", flat=True)) == [Decimal(240), Decimal(400)]


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"price_ceiling": None}, "price_ceiling"),
        ({"price_ceiling": Decimal(-1)}, "price_ceiling"),
        ({"given_by": " "}, "given_by"),
        ({"scope": " "}, "scope"),
        ({"how": "by pigeon"}, "how"),
    ],
)
def test_a_go_ahead_that_is_not_whole_is_refused(way, said, field):
    before = rows()
    with pytest.raises(RuleBroken) as refused:
        allow(way, **said)
    assert field in refused.value.fields
    assert rows() == before


def test_a_go_ahead_is_not_given_in_the_future(way):
    with pytest.raises(RuleBroken, match="in the future"):
        allow(way, given_at=way.now + dt.timedelta(days=1))


def test_the_lead_gives_the_word_for_exchange_stock_without_a_ceiling(way):
    row = allow(exchange(way), "lead", how="lead", given_by="the lead", price_ceiling=None)
    assert row.price_ceiling is None


@pytest.mark.parametrize("role", ["receiving", "warranty desk"])
def test_nobody_else_gives_the_leads_word(way, role):
    with pytest.raises(RuleBroken, match="Only the lead"):
        allow(exchange(way), role, how="lead", price_ceiling=None)
    assert not GoAhead.objects.exists()


def test_the_leads_word_is_not_enough_for_a_customers_unit(way):
    with pytest.raises(RuleBroken, match="goes back to its customer"):
        allow(way, "lead", how="lead", price_ceiling=None)
    assert not GoAhead.objects.exists()


@pytest.mark.parametrize("role", ["bench", "stores"])
def test_bench_and_stores_record_neither_quote_nor_go_ahead(way, role):
    with pytest.raises(NotAllowed, match="receiving or warranty desk or lead"):
        allow(way, role)
    with pytest.raises(NotAllowed):
        record_quote(act=way.act(role), rebuild=way.rebuild, amount=Decimal(1), scope="seals")


@pytest.mark.parametrize("amount", [Decimal(0), Decimal(-5)])
def test_a_quote_is_an_amount_above_zero(way, amount):
    with pytest.raises(RuleBroken, match="above zero"):
        record_quote(act=way.act("lead"), rebuild=way.rebuild, amount=amount, scope="seals")
    assert not Quote.objects.exists()


def test_a_released_rebuild_takes_neither(way):
    way.find().close_teardown().go_ahead().fit().close_build().start_test().run_steps().sign_test().release()
    with pytest.raises(RuleBroken, match="released"):
        allow(way)
    with pytest.raises(RuleBroken, match="released"):
        record_quote(act=way.act("lead"), rebuild=way.rebuild, amount=Decimal(9), scope="seals")


# --- the pages ---


def url(way, name="go_ahead"):
    return reverse(f"workorders:{name}", args=[way.rebuild.pk])


@pytest.fixture
def desk(client, way):
    client.force_login(person("warranty desk"))
    return client


def test_the_page_records_a_go_ahead_and_returns_to_the_rebuild(desk, way):
    answer = send(desk, url(way), FORM)
    assert answer.status_code == 302
    assert answer.url == way.rebuild.get_absolute_url()
    row = GoAhead.objects.get()
    assert (row.price_ceiling, row.given_at) == (
        Decimal("240.00"),
        dt.datetime(2026, 3, 3, 9, 30, tzinfo=dt.UTC),
    )


def test_the_page_records_a_quote(desk, way):
    answer = send(desk, url(way, "quote"), {"amount": "180.50", "scope": "seals", "told_to": "R. Holm"})
    assert answer.url == way.rebuild.get_absolute_url()
    assert Quote.objects.get().amount == Decimal("180.50")


def test_the_go_ahead_starts_from_the_last_quote(desk, way):
    record_quote(act=way.act("lead"), rebuild=way.rebuild, amount=Decimal("180.50"), scope="seals and clip")
    page = desk.get(url(way)).content.decode()
    assert "seals and clip" in page
    assert 'value="180.50"' in page


@pytest.mark.parametrize(
    ("name", "form"), [("go_ahead", FORM), ("quote", {"amount": "180.50", "scope": "seals"})]
)
def test_a_double_tap_makes_one_record_and_gives_the_same_answer(desk, way, name, form):
    token = uuid.uuid4().hex
    first, second = (send(desk, url(way, name), form, token=token) for _ in range(2))
    assert (first.status_code, first.url) == (second.status_code, second.url)
    assert (GoAhead if name == "go_ahead" else Quote).objects.count() == 1


@pytest.mark.parametrize(
    ("name", "form", "words"),
    [
        ("go_ahead", {**FORM, "price_ceiling": ""}, "needs a price ceiling"),
        ("go_ahead", {**FORM, "given_at": "2099-01-01T09:00"}, "in the future"),
        ("go_ahead", {**FORM, "how": "lead"}, "Select a valid choice"),
        ("go_ahead", {**FORM, "scope": ""}, "still empty"),
        ("quote", {"amount": "", "scope": "seals"}, "still empty"),
        ("quote", {"amount": "0", "scope": "seals"}, "at least 0.01"),
    ],
)
def test_a_refused_form_keeps_its_values_and_changes_nothing(desk, way, name, form, words):
    before = rows()
    answer = send(desk, url(way, name), form)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert words in page
    assert "Nothing was saved" in page
    assert form["scope"] in page
    assert rows() == before


def test_the_leads_word_is_offered_to_the_lead_for_exchange_stock_only(client, way):
    offered = {}
    for role, unit in (("lead", "customer"), ("receiving", "exchange"), ("lead", "exchange")):
        way.rebuild.destination = unit
        way.rebuild.save()
        client.force_login(person(role))
        offered[role, unit] = 'value="lead"' in client.get(url(way)).content.decode()
    assert offered == {
        ("lead", "customer"): False,
        ("receiving", "exchange"): False,
        ("lead", "exchange"): True,
    }


@pytest.mark.parametrize("name", ["go_ahead", "quote"])
def test_strangers_sign_in_first_and_other_roles_are_told_whom_to_ask(client, way, name):
    assert client.get(url(way, name)).url.startswith(reverse("shop:sign_in"))
    client.force_login(person("bench"))
    for answer in (client.get(url(way, name)), send(client, url(way, name), FORM)):
        assert answer.status_code == 403
        assert "receiving or warranty desk or lead" in answer.content.decode()
    assert not GoAhead.objects.exists()


@pytest.mark.parametrize("name", ["go_ahead", "quote"])
def test_an_unknown_rebuild_is_404(desk, name):
    assert desk.get(reverse(f"workorders:{name}", args=[99999])).status_code == 404

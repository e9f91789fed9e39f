"""Exchange units from the shelf: for which core, the cores still owed, and both ends on every page."""

import datetime as dt

import pytest

from shop.errors import RuleBroken
from shop.services import interchange
from shop.services.files import read_bytes
from tests import factories
from tests.workorders.packing_bench import Bench
from tests.workorders.pdf_reading import text_of
from workorders.calc.serial import grouped
from workorders.forms.packing import core_choices
from workorders.models import Exchange, Rebuild
from workorders.services import claims, exchanges, lookup, packing, shipping
from workorders.services.dispatch_papers import core_reminder
from workorders.services.record.unit import unit_record

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def begun(keep):
    return keep(Bench)


@pytest.fixture
def bench(begun):
    return begun()


@pytest.fixture
def shelf(bench):
    return bench.unit(destination="exchange")


def due(bench, days=30):
    return bench.way.now.date() + dt.timedelta(days=days)


def owed(bench, shelf):
    bench.full(shelf, core_due=due(bench))
    return bench.send().parcels.get().units.get().exchange


def kept(bench):
    return bench.another(stage="exchange_core")


def test_a_unit_from_the_shelf_needs_a_core_or_a_day(bench, shelf):
    with pytest.raises(RuleBroken) as refused:
        bench.put_in(shelf)
    assert "say which core it is given for" in refused.value.fields["core"]
    with pytest.raises(RuleBroken) as refused:
        bench.put_in(shelf, core_due=due(bench, -1))
    assert "This day is past" in refused.value.fields["due"]


def test_both_ends_of_an_exchange_are_told(bench, shelf):
    core = kept(bench)
    bench.full(shelf, replaces=core)
    shipment = bench.send()
    exchange = Exchange.objects.get()
    assert (exchange.core, exchange.due, exchange.came_at) == (core, None, bench.way.now)
    given, back = grouped(shelf.unit.serial), grouped(core.unit.serial)
    assert f"exchange unit, given for core {back}" in text_of(read_bytes(shipment.packing_list))

    def told(unit):
        passes = lookup.history_of(unit)
        return " ".join(lookup.answer(unit, passes, on=bench.way.now.date()).sentences)

    shelf.refresh_from_db()
    until = shelf.warranty.ends_on.strftime("%d %b %Y")
    assert f"It was given in exchange for core {back}." in told(shelf.unit)
    assert f"the customer was given unit {given} ({shipment}), in warranty until {until}." in told(core.unit)
    assert unit_record(core.unit)["rebuilds"][0]["exchanged_for"] == shelf.unit.serial
    assert unit_record(shelf.unit)["rebuilds"][0]["shipment"]["given_for"]["core"] == core.unit.serial


def test_the_core_is_kept_before_the_exchange_unit_leaves(bench, shelf):
    core = bench.another(stage="received")
    bench.full(shelf, replaces=core)
    with pytest.raises(RuleBroken, match="the lead takes it out of its rebuild as exchange core"):
        bench.send()
    shipping.exit_rebuild(act=bench.way.act("lead"), rebuild=core, exit="exchange_core", reason="worn")
    assert bench.send()


@pytest.mark.parametrize(
    ("which", "words"),
    [
        ("foreign", "came from another customer"),
        ("other type", "cannot stand in for core"),
        ("left", "has left"),
        ("taken", "Another exchange unit goes out for this core"),
        ("given for", "an exchange unit was given already"),
    ],
)
def test_a_core_that_does_not_fit_is_refused(bench, shelf, which, words):
    if which == "foreign":
        core = bench.unit(stage="exchange_core")
    elif which == "other type":
        core = kept(bench)
        core.unit.unit_type = factories.UnitTypeFactory()
        core.unit.save()
    elif which == "left":
        core = bench.one
        bench.full()
        bench.send()
        bench.packing = packing.begin_packing(act=bench.clerk(), work_order=bench.order)
        bench.parcel = bench.packing.parcels.get()
    else:
        core = kept(bench)
        bench.full(bench.unit(destination="exchange"), replaces=core)
    if which == "given for":
        bench.send()
        bench.packing = packing.begin_packing(act=bench.clerk(), work_order=bench.order)
        bench.parcel = bench.packing.parcels.get()
    shelf.refresh_from_db()
    with pytest.raises(RuleBroken, match=words):
        bench.put_in(shelf, replaces=Rebuild.objects.get(pk=core.pk))


def test_cores_offered_are_the_customers_own_of_a_type_that_fits(bench, shelf):
    core, other = kept(bench), bench.unit(stage="exchange_core")
    waiting = bench.another(stage="received")
    found = list(exchanges.cores_for(shelf, bench.order.customer))
    assert found == [waiting, core]
    assert other not in found


@pytest.mark.parametrize("both_ways", [True, False])
@pytest.mark.parametrize("shelf_stands_in", [True, False])
def test_another_type_goes_in_where_the_catalogue_says_so(bench, shelf, both_ways, shelf_stands_in):
    core = kept(bench)
    given, other = shelf.unit.unit_type, factories.UnitTypeFactory(family=shelf.unit.unit_type.family)
    core.unit.unit_type = other
    core.unit.save()
    stand_in, replaced = (given, other) if shelf_stands_in else (other, given)
    interchange.save_interchange(
        act=bench.way.act("lead"),
        stand_in=stand_in,
        replaced=replaced,
        both_ways=both_ways,
        basis="measured side by side",
        condition="with the longer hose",
    )
    core = Rebuild.objects.get(pk=core.pk)
    fits = shelf_stands_in or both_ways
    assert (core in exchanges.cores_for(shelf, bench.order.customer)) is fits
    assert (given.pk in exchanges.types_for([other])) is fits
    if not fits:
        with pytest.raises(RuleBroken, match="cannot stand in for core"):
            bench.put_in(shelf, replaces=core)
        return
    ((_key, words),) = core_choices([core], exchanges.fitting_types(given))
    assert "with the longer hose" in words
    assert bench.put_in(shelf, replaces=core)


def test_a_core_owed_comes_later(bench, shelf):
    exchange = owed(bench, shelf)
    assert list(Exchange.objects.owed()) == [exchange]
    core = bench.another(stage="received")
    with pytest.raises(RuleBroken, match="goes back to the customer"):
        exchanges.core_came(act=bench.clerk(), exchange=exchange, core=core)
    came = bench.another(stage="received", destination="exchange")
    row = exchanges.core_came(act=bench.clerk(), exchange=exchange, core=came)
    assert (row.core, row.came_by, row.is_owed) == (came, bench.way.people["receiving"], False)
    assert not Exchange.objects.owed().exists()
    with pytest.raises(RuleBroken, match="is here already"):
        exchanges.waive_core(act=bench.clerk("paid"), exchange=exchange)


def test_a_core_owed_gets_another_day_or_is_given_up(bench, shelf):
    exchange = owed(bench, shelf)
    with pytest.raises(RuleBroken) as refused:
        exchanges.change_core_due(act=bench.clerk(), exchange=exchange, due=due(bench, 60))
    assert "why" in refused.value.fields
    with pytest.raises(RuleBroken) as refused:
        exchanges.change_core_due(act=bench.clerk("ferry late"), exchange=exchange, due=due(bench, -5))
    assert "due" in refused.value.fields
    row = exchanges.change_core_due(act=bench.clerk("ferry late"), exchange=exchange, due=due(bench, 60))
    assert row.due == due(bench, 60)
    assert row.history.latest().history_change_reason == "ferry late"
    with pytest.raises(RuleBroken) as refused:
        exchanges.waive_core(act=bench.clerk(), exchange=exchange)
    assert "why" in refused.value.fields
    gone = exchanges.waive_core(act=bench.clerk("lost at sea; paid"), exchange=exchange)
    assert (gone.is_owed, gone.waive_reason) == (False, "lost at sea; paid")
    shelf.refresh_from_db()
    told = lookup.answer(shelf.unit, lookup.history_of(shelf.unit), on=bench.way.now.date()).sentences
    assert "It was given in exchange; no core came: lost at sea; paid" in told
    with pytest.raises(RuleBroken, match="was waived: lost at sea"):
        exchanges.core_came(act=bench.clerk(), exchange=exchange, core=kept(bench))


def test_the_reminder_says_what_was_sent_and_until_when(bench, shelf):
    exchange = owed(bench, shelf)
    early = text_of(core_reminder(exchange, on=bench.way.now.date()))
    assert f"is due by {exchange.due:%d %b %Y}" in early
    assert grouped(shelf.unit.serial) in early
    assert bench.order.customer.name in early
    late = text_of(core_reminder(exchange, on=exchange.due + dt.timedelta(days=1)))
    assert f"was due on {exchange.due:%d %b %Y} and is not here yet" in late
    again = core_reminder(exchange, on=bench.way.now.date())
    assert again == core_reminder(exchange, on=bench.way.now.date())


def test_an_exchange_unit_carries_on_the_warranty_that_its_core_came_under(bench):
    bench.full()
    bench.send()
    bench.one.refresh_from_db()
    first = bench.one.warranty
    claim = claims.open_claim(
        act=bench.way.act("warranty desk"), warranty=first, claimant=first.holder, reported="wet"
    )
    claims.judge_claim(
        act=bench.way.act("warranty desk"), claim=claim, judgement="accepted", reason="our seal"
    )
    bench.way.now += dt.timedelta(days=200)
    core = bench.unit(stage="exchange_core", unit=bench.one.unit, customer=bench.order.customer)
    shelf = bench.unit(destination="exchange")
    second = packing.begin_packing(act=bench.clerk(), work_order=core.work_order)
    bench.full(shelf, parcel=second.parcels.get(), replaces=core)
    bench.send(second)
    shelf.refresh_from_db()
    assert shelf.warranty.ends_on == first.ends_on
    assert shelf.warranty.starts_on > first.starts_on

"""Shortages before the work starts: what open units need by their kits, every piece promised once."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import KitLine
from inventory.services import kits, purchasing, stock
from inventory.services.order_plan import order_plans
from inventory.services.purchasing import Wanted
from shop.models import TypeRevision
from tests.factories import LotFactory, PartFactory, SupplierFactory, person
from tests.workorders.journey import Journey, make_type
from workorders.models import Rebuild
from workorders.services import build, teardown, work_orders
from workorders.services.open_work import units_of
from workorders.services.shortages import shortages

pytestmark = pytest.mark.django_db
ON = dt.date(2026, 3, 4)


@pytest.fixture
def way():
    return Journey()


@pytest.fixture
def line(way):
    return way.revision.kit.lines.get(position__code="S1")


def leave(way, line, pieces):
    """Take pieces of the only lot off the ledger until so many are left."""
    lot = line.part.lots.get()
    held = lot.balances.get(place="A1").quantity
    stock.adjust(act=way.act("stores", "counted"), lot=lot, change=pieces - held, place="A1")


def of(part, **told):
    rows, _units = shortages(on=ON, **told)
    return next((row for row in rows if row.part == part), None)


def state(rebuild):
    return units_of([rebuild], on=ON)[rebuild.pk].state


def another(way):
    """Another unit of the same type, received later."""
    return Journey(revision=way.revision, people=way.people, now=way.now + dt.timedelta(days=1))


def test_a_unit_that_just_came_needs_what_its_kit_requires(way, line):
    way.receive()
    row = of(line.part)
    assert (row.needed, row.shelf, row.short, row.state[0]) == (1, 20, 0, "all there")
    assert state(way.rebuild) == ("all there", "good")


def test_two_work_orders_do_not_both_count_the_same_pieces(way, line):
    leave(way, line, 1)
    first, second = way.receive().rebuild, another(way).receive().rebuild
    row = of(line.part)
    assert (row.needed, row.shelf, row.short) == (2, 1, 1)
    assert [each.rebuild for each in row.short_at] == [second]
    assert (state(first)[0], state(second)[0]) == ("all there", "short of 1")


def test_a_rush_is_served_before_what_came_earlier(way, line):
    leave(way, line, 1)
    first, second = way.receive().rebuild, another(way).receive().rebuild
    work_orders.set_rush(
        act=way.act("lead"),
        work_order=second.work_order,
        wanted_by=dt.date(2026, 4, 2),
        agreed_by="the lead",
        why="the ramp is out",
    )
    assert (state(first)[0], state(second)[0]) == ("short of 1", "all there")


def test_a_work_order_is_told_what_is_promised_before(way, line):
    leave(way, line, 1)
    way.receive()
    second = another(way).receive().rebuild
    row = of(line.part, of={second.pk})
    assert (row.needed, row.shelf, row.before, row.short) == (1, 1, 1, 1)


@pytest.mark.parametrize(("action", "needed"), [("renewed", 1), ("kept", 0), ("reworked", 1)])
def test_the_finding_says_whether_a_part_is_needed(way, line, action, needed):
    way.receive()
    teardown.record_finding(
        act=way.act("bench"),
        rebuild=way.rebuild,
        place=line.position,
        condition="sound",
        cause="none",
        action=action,
    )
    row = of(line.part)
    assert (row.needed if row else 0) == needed


def test_a_place_that_is_filled_needs_nothing_more(way, line):
    way.receive().find().close_teardown().go_ahead()
    build.use_part(
        act=way.act("bench"), rebuild=way.rebuild, place=line.position, lot=line.part.lots.get(), quantity=1
    )
    assert of(line.part) is None
    build.take_back_part(act=way.act("bench"), part_used=way.rebuild.parts_used.get())
    assert of(line.part).needed == 1


def test_a_part_that_is_wanted_only_when_renewed_waits_for_its_finding(way, line):
    KitLine.objects.filter(pk=line.pk).update(required=False)
    way.receive()
    assert of(line.part) is None
    way.find()
    assert of(line.part).needed == 1


def test_a_rejected_unit_is_not_built_and_needs_nothing(way, line):
    way.receive()
    place = way.revision.components.get()
    teardown.record_finding(
        act=way.act("bench"),
        rebuild=way.rebuild,
        place=place,
        condition="worn",
        cause="age",
        action="rejected",
    )
    assert of(line.part) is None
    assert state(way.rebuild)[0] == "rejected, not built"


def test_a_unit_that_is_released_or_gone_needs_nothing(way, line):
    way.tested().release()
    Rebuild.objects.get(pk=way.rebuild.pk)
    assert shortages(on=ON) == ([], [])


@pytest.mark.parametrize("fault", ["on hold", "expired"])
def test_a_lot_that_may_not_be_used_is_not_counted(way, line, fault):
    lot = line.part.lots.get()
    if fault == "expired":
        lot.use_by = dt.date(2026, 3, 3)
    else:
        lot.state, lot.hold_reason = "on_hold", "hardness differs"
    lot.save()
    way.receive()
    assert (of(line.part).shelf, of(line.part).short) == (0, 1)


def test_a_packed_kit_waits_for_the_first_unit_that_needs_all_of_it(way, line):
    chosen = {each: each.part.lots.get() for each in way.revision.kit.lines.all()}
    packed = kits.pack_kit(act=way.act("stores"), kit=way.revision.kit, lots=chosen)
    leave(way, line, 0)
    first, second = way.receive().rebuild, another(way).receive().rebuild
    row = of(line.part)
    assert (row.needed, row.in_packed, row.shelf, row.short) == (2, 1, 0, 1)
    assert units_of([first], on=ON)[first.pk].packed == packed
    assert state(second)[0] == "short of 1"


def test_a_packed_kit_with_a_lot_on_hold_is_not_counted(way, line):
    chosen = {each: each.part.lots.get() for each in way.revision.kit.lines.all()}
    kits.pack_kit(act=way.act("stores"), kit=way.revision.kit, lots=chosen)
    lot = line.part.lots.get()
    lot.state, lot.hold_reason = "on_hold", "hardness differs"
    lot.save()
    way.receive()
    assert (of(line.part).in_packed, of(line.part).short) == (0, 1)


@pytest.fixture
def alternative(line):
    """A second choice for the place, of which one piece lies there."""
    part = PartFactory(kind="lip_seal")
    LotFactory(part=part, quantity_received=1)
    return KitLine.objects.create(
        kit=line.kit, position=line.position, part=part, preference=2, reason="same lip, other maker"
    )


def test_an_alternative_stands_in_once_and_the_preferred_part_is_still_wanted(way, line, alternative):
    leave(way, line, 0)
    first, second = way.receive().rebuild, another(way).receive().rebuild
    row = of(line.part)
    assert (row.needed, row.stood_in, row.short, row.to_order) == (2, 1, 1, 2)
    assert [each.rebuild for each in row.replaced] == [first]
    assert [each.rebuild for each in row.short_at] == [second]
    assert row.others == [alternative.part]
    assert state(first) == ("all there, 1 by an alternative", "warn")
    assert of(alternative.part).needed == 1


def test_parts_that_go_in_together_stand_in_together_or_not_at_all(way, line, alternative):
    ring = PartFactory(kind="backup_ring")
    KitLine.objects.create(kit=line.kit, position=line.position, part=ring, preference=2)
    leave(way, line, 0)
    way.receive()
    assert (of(line.part).stood_in, of(line.part).short) == (0, 1)
    LotFactory(part=ring)
    row = of(line.part)
    assert (row.stood_in, row.short, len(row.replaced)) == (1, 0, 1)


def test_a_part_short_of_some_pieces_takes_those_that_are_there(way, line):
    KitLine.objects.filter(pk=line.pk).update(quantity=3)
    leave(way, line, 2)
    way.receive()
    assert (of(line.part).needed, of(line.part).short) == (3, 1)


def test_what_is_on_order_is_told_and_promised_to_nobody(way, line):
    leave(way, line, 0)
    way.receive()
    order = purchasing.draft_order(
        act=way.act("stores"), supplier=SupplierFactory(), wanted=[Wanted(part=line.part, quantity=5)]
    )
    assert (of(line.part).drafted, of(line.part).on_order, of(line.part).to_order) == (5, 0, 0)
    assert of(line.part).state == ("short of 1", "bad")
    purchasing.send_order(act=way.act("stores"), order=order)
    assert of(line.part).state == ("short of 1, on order", "wait")


def test_a_renewed_place_without_a_part_and_a_type_without_a_kit_say_so(way, line):
    way.receive()
    line.delete()
    way.find()
    assert state(way.rebuild) == ("the kit names no part for S1", "ask")
    for row in way.revision.kit.lines.all():
        row.delete()
    way.revision.kit.delete()
    way.revision = TypeRevision.objects.get(pk=way.revision.pk)
    assert state(way.rebuild) == ("no kit", "ask")


def test_what_open_work_wants_is_ordered_although_nothing_was_used_yet(way, line):
    leave(way, line, 1)
    for _unit in range(4):
        way.receive()
    (plan,) = order_plans(on=ON, parts=[line.part.pk])
    # None was used in 52 weeks, so by its use all of it would expire; open work still takes the one.
    assert (plan.usage, plan.open_work, plan.cover, plan.missing) == (None, 4, 0, 3)
    assert plan.is_short
    assert plan.quantity == 3


def test_the_number_of_queries_does_not_grow(way, line):
    costs = []
    for count in (3, 9):
        for _unit in range(count):
            other = Journey(revision=make_type(), people=way.people, now=way.now)
            other.receive().find()
            leave(other, other.revision.kit.lines.get(position__code="S2"), 0)
        with CaptureQueriesContext(connection) as queries:
            rows, units = shortages(on=ON)
        costs.append(len(queries))
    assert len(units) == 12
    assert sum(row.short for row in rows) == 12
    assert costs[0] == costs[1] <= 10


@pytest.fixture
def page(client):
    client.force_login(person("stores"))
    return lambda name, *args, **asked: client.get(reverse(f"workorders:{name}", args=args), asked)


def test_the_page_lists_what_is_short_and_leads_to_what_to_order(page, way, line):
    leave(way, line, 0)
    way.receive()
    text = page("shortages").content.decode()
    assert "short of 1" in text
    assert f"{reverse('inventory:what_to_order')}?show=all&amp;q={line.part.number}" in text
    other = way.revision.kit.lines.get(position__code="S2").part.number
    assert other not in text
    assert other in page("shortages", show="all").content.decode()
    assert "No part matches" in page("shortages", q="nothing like it").content.decode()
    assert page("shortages", order="W00-0000").status_code == 404
    assert "Wanted by open work" not in page("shortages").content.decode()


def test_a_list_can_be_narrowed_to_what_is_to_be_ordered_and_to_a_unit(page, way, line):
    leave(way, line, 0)
    first, second = way.receive().rebuild, another(way).receive().rebuild
    order = purchasing.draft_order(
        act=way.act("stores"), supplier=SupplierFactory(), wanted=[Wanted(part=line.part, quantity=1)]
    )
    assert "order 1<" in page("shortages", show="order").content.decode()
    purchasing.save_order_line(
        act=way.act("stores"), order=order, part=line.part, quantity=2, line=order.lines.get()
    )
    assert "No part matches" in page("shortages", show="order").content.decode()
    text = page("shortages_by_unit", q=first.unit.serial).content.decode()
    assert first.get_absolute_url() in text
    assert second.get_absolute_url() not in text
    of_one = page("shortages_by_unit", order=second.work_order.number, show="all").content.decode()
    assert first.get_absolute_url() not in of_one


def test_the_lists_are_sorted_and_given_as_files(page, way, line):
    leave(way, line, 0)
    way.receive()
    text = page("shortages", show="all", sort="-short", format="csv").content.decode("utf-8-sig")
    rows = [row.split(",") for row in text.splitlines()]
    assert rows[0][:3] == ["Part number", "Part name", "Needed"]
    assert rows[1][0] == line.part.number
    assert len(rows) == 5
    units = page("shortages_by_unit", format="csv").content.decode()
    assert f"S1 {line.part.number} (1)" in units
    assert page("shortages_by_unit", show="ready", format="csv").content.decode().count("\n") == 1
    assert page("shortages", format="xlsx")["Content-Type"].endswith("sheet")


def test_the_state_stands_where_work_is_allowed_and_begun(client, page, way, line):
    leave(way, line, 0)
    rebuild = way.receive().find().close_teardown().rebuild
    assert "short of 1" in page("work_order", rebuild.work_order.number).content.decode()
    assert "Parts by the kit" in page("build", rebuild.pk).content.decode()
    client.force_login(person("lead"))
    assert "short of 1" in page("go_ahead", rebuild.pk).content.decode()
    way.go_ahead()
    other = way.revision.kit.lines.get(position__code="S2")
    build.use_part(
        act=way.act("bench"), rebuild=rebuild, place=other.position, lot=other.part.lots.get(), quantity=1
    )
    assert "Parts by the kit" not in page("build", rebuild.pk).content.decode()


def test_signed_out_people_are_sent_to_sign_in(client):
    for name in ("shortages", "shortages_by_unit"):
        assert client.get(reverse(f"workorders:{name}")).status_code == 302


def test_a_set_that_is_begun_is_finished(way, line, alternative):
    """One piece of two of the alternative is fitted: the second is wanted, and nothing of the preferred."""
    KitLine.objects.filter(pk=alternative.pk).update(quantity=2)
    way.receive().find().close_teardown().go_ahead()
    build.use_part(
        act=way.act("bench"),
        rebuild=way.rebuild,
        place=line.position,
        lot=alternative.part.lots.get(),
        quantity=1,
    )
    assert of(line.part) is None
    assert (of(alternative.part).needed, of(alternative.part).short) == (1, 1)

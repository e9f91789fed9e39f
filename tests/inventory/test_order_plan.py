"""Use from the ledger, cover, reorder points and what to order, against counting it out by hand."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from inventory.models import Lot, Movement
from inventory.services import kits, lot_state, purchasing, stock, supplier_parts
from inventory.services.order_facts import LeadTime
from inventory.services.order_plan import OrderPlan, order_plans, reorder_points
from inventory.services.purchasing import Wanted
from inventory.services.stores_settings import stores_settings
from inventory.services.usage import Usage, weekly_usage
from shop.errors import RuleBroken
from shop.models import LimitSetting
from tests.conftest import NOW
from tests.factories import (
    LotFactory,
    PartFactory,
    PositionFactory,
    SupplierFactory,
    TypeRevisionFactory,
)

pytestmark = pytest.mark.django_db
TODAY = NOW.date()


@pytest.fixture
def part():
    return PartFactory()


@pytest.fixture
def used(act, bench):
    """Use so many pieces of a lot so many days ago."""

    def run(lot, pieces, days_ago, back=False):
        at = NOW - dt.timedelta(days=days_ago)
        taken = stock.take(act=act(bench, at=at), lot=lot, quantity=pieces, document="W")
        if back:
            stock.put_back(act=act(bench, at=at + dt.timedelta(days=1)), movement=taken, document="W")
        return taken

    return run


def usage_of(part, weeks=52):
    return weekly_usage(on=TODAY, weeks=weeks).get(part.pk)


def plan_of(part):
    (plan,) = order_plans(on=TODAY, parts=[part.pk])
    return plan


def sell(act, stores, part, **fields):
    fields = {"supplier": SupplierFactory(), "lead_days": 14} | fields
    return supplier_parts.save_supplier_part(act=act(stores), part=part, **fields)


def test_use_is_counted_by_week_and_what_came_back_is_not_used(part, used):
    lot = LotFactory(part=part, quantity_received=50, received_on=dt.date(2024, 1, 1))
    used(lot, 3, 1)
    used(lot, 2, 7)
    used(lot, 4, 8)
    used(lot, 9, 20, back=True)
    used(lot, 1, 52 * 7)
    found = usage_of(part)
    assert len(found.weekly) == 52
    assert (found.weekly[-1], found.weekly[-2], found.weekly[0]) == (5, 4, 1)
    assert found.used == 10


def test_today_and_what_lies_before_the_window_are_not_counted(part, used):
    lot = LotFactory(part=part, quantity_received=50, received_on=dt.date(2024, 1, 1))
    used(lot, 3, 0)
    used(lot, 2, 52 * 7 + 1)
    assert usage_of(part) is None
    assert usage_of(part, weeks=60).used == 2


def test_the_week_begins_and_ends_at_midnight_of_the_shop(part, used):
    lot = LotFactory(part=part, quantity_received=50, received_on=dt.date(2024, 1, 1))
    midnight = timezone.make_aware(dt.datetime.combine(TODAY, dt.time.min))
    to_midnight = (NOW - midnight).total_seconds() / 86400
    used(lot, 1, to_midnight)  # the first moment of today
    used(lot, 2, to_midnight + 1e-4)
    used(lot, 4, to_midnight + 7)  # the first moment of the last week
    used(lot, 8, to_midnight + 7 + 1e-4)
    found = usage_of(part)
    assert (found.weekly[-1], found.weekly[-2]) == (6, 8)


def test_scrapped_moved_and_miscounted_pieces_are_no_use(act, stores, part):
    lot = LotFactory(part=part)
    before = act(stores, at=NOW - dt.timedelta(days=9), why="nicked")
    stock.scrap(act=before, lot=lot, quantity=2, place="A1")
    stock.move(act=before, lot=lot, quantity=2, place="A1", to_place="B1")
    stock.adjust(act=before, lot=lot, change=-1, place="A1")
    assert usage_of(part) is None


@pytest.mark.parametrize(("days_known", "weeks"), [(400, 52), (100, 15), (10, 8)])
def test_a_new_part_is_looked_at_from_its_first_lot_on(part, used, days_known, weeks):
    lot = LotFactory(part=part, received_on=TODAY - dt.timedelta(days=days_known))
    used(lot, 3, 5)
    assert len(usage_of(part).weekly) == weeks


def test_the_ledger_of_every_part_is_read_by_two_queries(used):
    costs = []
    for _ in range(2):
        for _ in range(10):
            used(LotFactory(), 1, 3)
        with CaptureQueriesContext(connection) as queries:
            weekly_usage(on=TODAY, weeks=52)
        costs.append(len(queries))
    assert costs == [2, 2]


def points(weekly, days=14, sd_days=0.0):
    from inventory.calc.demand import intermittent_demand

    usage = Usage(weekly=tuple(weekly))
    return reorder_points(
        usage=usage,
        demand=intermittent_demand(demands=usage.weekly, alpha=0.1),
        lead=LeadTime(days=days, sd_days=sd_days),
        settings=stores_settings(),
    )


def test_steady_use_takes_the_normal_distribution():
    found = points([20, 24, 22, 18, 21, 23, 19, 25] * 6)
    assert (found.used, found.reorder_point) == ("normal", found.normal)
    # By hand: 21.5 a week, so 43 until the delivery; standard deviation 2.315 a week.
    assert found.normal == 49  # 43 + 1.645 x 2.315 x sqrt(2) = 48.4


def test_steady_use_of_few_takes_the_poisson_distribution():
    found = points([1, 2, 1, 2] * 13)
    assert (found.used, found.poisson) == ("Poisson", 6)  # mean 3: F(5) 0.916, F(6) 0.966
    assert "3.0 pieces until the delivery" in found.why


def test_use_now_and_then_takes_the_corrected_rate():
    found = points(([0] * 3 + [4]) * 13)
    assert found.used == "corrected rate"
    assert found.mean_daily == pytest.approx(0.95 * 1 / 7)
    assert found.corrected < found.normal
    assert "intermittent" in found.why


def test_a_delivery_that_varies_raises_the_point():
    weekly = [20, 24, 22, 18] * 13
    assert points(weekly, sd_days=5).normal > points(weekly).normal


def test_a_part_that_nobody_uses_is_not_ordered(part):
    plan = plan_of(part)
    assert (plan.is_short, plan.quantity, plan.points.used) == (False, 0, "no use")


def busy(part, used, pieces=3, **lot):
    """A part of which so many are used each week, for twenty weeks."""
    fields = {"quantity_received": 1000, "received_on": dt.date(2025, 1, 1)} | lot
    row = LotFactory(part=part, **fields)
    for week in range(20):
        used(row, pieces, 3 + 7 * week)
    return row


def leave(act, stores, lot, pieces):
    held = lot.balances.get(place="A1")
    stock.adjust(act=act(stores, why="test"), lot=lot, change=pieces - held.quantity, place="A1")


def test_cover_is_what_can_be_used_and_what_comes(act, stores, bench, part, used):
    lot = busy(part, used)
    leave(act, stores, lot, 12)
    LotFactory(part=part, use_by=TODAY - dt.timedelta(days=1), quantity_received=7)
    held = LotFactory(part=part, quantity_received=9)
    lot_state.hold_lot(act=act(stores), lot=held, reason="swollen")
    row = sell(act, stores, part)
    order = purchasing.draft_order(
        act=act(stores), supplier=row.supplier, wanted=[Wanted(part=part, quantity=10)]
    )
    assert (plan_of(part).stock.shelf, plan_of(part).stock.drafted, plan_of(part).cover) == (12, 10, 22)
    purchasing.send_order(act=act(stores), order=order)
    stock.receive_lot(
        act=act(stores),
        part=part,
        supplier=row.supplier,
        number="",
        quantity=4,
        place="A1",
        received_on=TODAY,
        cure_date="3Q25",
        order_line=order.lines.get(),
    )
    plan = plan_of(part)
    assert (plan.stock.shelf, plan.stock.ordered, plan.stock.drafted, plan.cover) == (16, 6, 0, 22)
    purchasing.close_order(act=act(stores, why="sold out"), order=order)
    assert plan_of(part).stock.ordered == 0


def test_pieces_in_packed_kits_are_promised_and_no_cover(act, stores, part, used):
    revision = TypeRevisionFactory()
    lot = busy(part, used)
    leave(act, stores, lot, 12)
    from inventory.models import Kit, KitLine

    kit = Kit.objects.create(revision=revision, name="seal set")
    line = KitLine.objects.create(kit=kit, position=PositionFactory(revision=revision), part=part, quantity=2)
    kits.pack_kit(act=act(stores), kit=kit, lots={line: lot})
    plan = plan_of(part)
    assert (plan.stock.shelf, plan.stock.promised, plan.cover) == (10, 2, 10)


def test_what_expires_before_its_use_is_kept_out_of_the_cover(act, stores, part, used):
    lot = busy(part, used, use_by=TODAY + dt.timedelta(days=14))
    leave(act, stores, lot, 50)
    plan = plan_of(part)
    in_time = int(plan.points.mean_daily * 14)
    assert 0 < in_time < 50
    assert (plan.stock.shelf, plan.expiring, plan.cover) == (50, 50 - in_time, in_time)


def test_a_part_is_short_when_its_cover_is_down_to_the_reorder_point(act, stores, part, used):
    lot = busy(part, used)
    sell(act, stores, part)
    at = plan_of(part).points.reorder_point
    leave(act, stores, lot, at + 1)
    assert not plan_of(part).is_short
    leave(act, stores, lot, at)
    assert plan_of(part).is_short


def test_the_quantity_follows_the_price_breaks_and_the_pack(act, stores, part, used):
    lot = busy(part, used)
    leave(act, stores, lot, 0)
    row = sell(act, stores, part, pack_size=6)
    prices = [(1, Decimal("4")), (40, Decimal("1")), (5000, Decimal("0.99"))]
    supplier_parts.save_prices(
        act=act(stores), supplier_part=row, valid_from=dt.date(2026, 1, 1), prices=prices
    )
    plan = plan_of(part)
    assert plan.unit_price == Decimal("1")
    assert plan.quantity % 6 == 0
    assert plan.quantity >= 40
    assert plan.value == plan.quantity
    # No more than twelve months of use, however cheap: 5000 are never bought.
    assert plan.quantity <= plan.yearly + 6


def test_the_least_that_is_sold_is_ordered_even_where_it_lasts_for_years(act, stores, part, used):
    lot = LotFactory(part=part, quantity_received=10, received_on=dt.date(2025, 1, 1))
    used(lot, 1, 30)
    leave(act, stores, lot, 0)
    row = sell(act, stores, part, pack_size=100, minimum=250)
    assert plan_of(part).quantity == 300
    supplier_parts.save_prices(
        act=act(stores),
        supplier_part=row,
        valid_from=TODAY,
        prices=[(500, Decimal("0.02"))],
    )
    assert plan_of(part).quantity == 500


@pytest.mark.parametrize(
    ("days", "words"), [(None, ""), (0, "0 days"), (1, "1 day"), (729, "729 days"), (3604, "10 years")]
)
def test_what_lasts_long_is_told_in_years(part, monkeypatch, days, words):
    monkeypatch.setattr(OrderPlan, "lasts_days", days)
    assert plan_of(part).lasts == words


def test_without_a_supplier_the_need_and_one_delivery_are_proposed(act, stores, part, used):
    lot = busy(part, used)
    leave(act, stores, lot, 0)
    plan = plan_of(part)
    assert plan.sold is None
    assert plan.lead.days == 14
    assert plan.quantity >= plan.points.reorder_point + 1
    assert plan.value is None


def test_the_lead_time_is_that_of_the_shops_own_orders_where_there_are_enough(act, stores, part):
    row = sell(act, stores, part, lead_days=30)
    for number, days in enumerate((5, 9, 7)):
        deliver(act, stores, part, row.supplier, days)
        assert plan_of(part).lead.days == 30, number
    deliver(act, stores, part, row.supplier, 11)
    lead = plan_of(part).lead
    assert (lead.days, lead.basis) == (8, "4 deliveries of this supplier")
    assert lead.sd_days == pytest.approx((20 / 3) ** 0.5)


def deliver(act, stores, part, supplier, days):
    at = NOW - dt.timedelta(days=40)
    order = purchasing.draft_order(
        act=act(stores, at=at), supplier=supplier, wanted=[Wanted(part=part, quantity=5)]
    )
    purchasing.send_order(act=act(stores, at=at), order=order)
    for later in (0, 3):  # the first lot of a line counts
        stock.receive_lot(
            act=act(stores),
            part=part,
            supplier=supplier,
            number="",
            quantity=1,
            place="A1",
            received_on=at.date() + dt.timedelta(days=days + later),
            cure_date="3Q25",
            order_line=order.lines.get(),
        )


def test_a_setting_that_no_sum_can_work_with_is_named():
    LimitSetting.objects.filter(key="stores-service").update(value=95)
    with pytest.raises(RuleBroken, match="stands at 95"):
        stores_settings()


def test_what_to_order_costs_the_same_for_10_and_for_20_parts(act, stores, used):
    costs = []
    for _ in range(2):
        for _ in range(10):
            part = PartFactory()
            used(LotFactory(part=part), 15, 3)
            sell(act, stores, part)
        with CaptureQueriesContext(connection) as queries:
            plans = order_plans(on=TODAY)
            assert sum(plan.quantity for plan in plans)
        costs.append(len(queries))
    assert costs[0] == costs[1] <= 10  # one of them asks for open work


def test_the_use_of_the_ledger_is_that_of_its_movements(part, used):
    """Independent of the database's sums: the movements added up one by one."""
    lot = busy(part, used)
    used(lot, 5, 2, back=True)
    rows = Movement.objects.filter(lot__in=Lot.objects.filter(part=part), kind__in=["used", "returned"])
    assert usage_of(part).used == -sum(row.quantity for row in rows)

"""What is recorded of money: rules, constraints, and the pages that write."""

import datetime as dt
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal as D
from threading import Barrier

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.urls import reverse

from inventory.models import Lot
from inventory.services.lot_cost import correct_cost
from shop.errors import NotAllowed, RuleBroken
from shop.models import LabourRate, ShopProfile
from shop.services.profile import set_labour_rate
from shop.services.writing import Act
from tests import factories, writes
from tests.conftest import NOW
from tests.factories import person
from tests.workorders.test_margins import agreed, invoice, made_from, rate, send_out, spoil, way, work
from workorders.models import InvoicedPrice, OutsideWork, WorkTime
from workorders.services import outside_work, prices

__all__ = ["way"]
pytestmark = pytest.mark.django_db


# --- rules ---


def test_an_invoice_is_corrected_with_a_reason_and_both_stay(way):
    agreed(way)
    first = invoice(way, "200")
    with pytest.raises(RuleBroken) as told:
        invoice(way, "210")
    assert "why" in told.value.fields
    second = invoice(way, "210", why="the rod was forgotten")
    assert second.replaces == first
    assert prices.standing_price(way.rebuild) == second
    assert way.rebuild.invoiced_prices.count() == 2
    with pytest.raises(RuleBroken, match="not negative"):
        invoice(way, "-1", why="typing")


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"day": dt.date(2026, 3, 1)}, "worked_on"),  # the day before the receipt
        ({"day": dt.date(2026, 4, 1)}, "worked_on"),
        ({"minutes": 0}, "minutes"),
        ({"minutes": 1441}, "minutes"),
    ],
)
def test_minutes_of_no_day_or_no_length_are_refused(way, change, field):
    agreed(way)
    with pytest.raises(RuleBroken) as told:
        work(way, **{"minutes": 30, **change})
    assert field in told.value.fields
    assert not WorkTime.objects.exists()


def test_minutes_are_corrected_once_and_with_a_reason(way):
    agreed(way)
    entry = work(way, 30)
    told = {"kind": "build", "done_by": entry.done_by, "worked_on": entry.worked_on, "minutes": 40}
    with pytest.raises(RuleBroken):
        prices.correct_work_time(act=way.act("bench"), entry=entry, **told)
    prices.correct_work_time(act=way.act("bench", "misread"), entry=entry, **told)
    with pytest.raises(RuleBroken, match="corrected already"):
        prices.correct_work_time(act=way.act("bench", "again"), entry=entry, **told)


def test_what_outside_work_cost_changes_with_a_reason_and_not_when_cancelled(way):
    agreed(way)
    row = send_out(way, price="40")
    with pytest.raises(RuleBroken):
        prices.set_outside_price(act=way.act("stores"), work=row, price=D(50))
    row = prices.set_outside_price(act=way.act("stores", "invoice"), work=row, price=D(50))
    assert (row.price, row.history.first().history_change_reason) == (50, "invoice")
    outside_work.cancel_outside_work(act=way.act("bench", "never left"), work=row)
    with pytest.raises(RuleBroken, match="costs nothing"):
        prices.set_outside_price(act=way.act("stores", "invoice"), work=row, price=D(60))
    from workorders.services.margins import account

    assert account(way.rebuild).outside == 0


def test_a_rate_needs_a_reason_where_its_day_has_one(way):
    act = Act(by=person("lead"), at=NOW)
    day = dt.date(2026, 1, 1)
    set_labour_rate(act=act, valid_from=day, per_hour=D(40))
    with pytest.raises(RuleBroken) as told:
        set_labour_rate(act=act, valid_from=day, per_hour=D(41))
    assert "why" in told.value.fields
    with pytest.raises(RuleBroken):
        set_labour_rate(act=act, valid_from=day, per_hour=D(0))
    assert rate(way, "41", day) == LabourRate.objects.holding(on=dt.date(2026, 2, 1)).first()
    assert not LabourRate.objects.holding(on=dt.date(2025, 12, 31)).exists()


def test_a_cost_is_corrected_with_a_reason_to_another_and_not_of_what_was_made(way):
    lot = factories.LotFactory(unit_cost=D("1.5"))
    for why, cost in (("", "2"), ("invoice", "1.5000")):
        with pytest.raises(RuleBroken):
            correct_cost(act=way.act("stores", why), lot=lot, unit_cost=D(cost))
    made = made_from(way, (lot, 1), pieces=1)
    with pytest.raises(RuleBroken) as told:
        correct_cost(act=way.act("stores", "invoice"), lot=made, unit_cost=D(2))
    assert "cost is that of what went in" in told.value.fields["unit_cost"]
    work_only = made_from(way, pieces=1)
    assert correct_cost(act=way.act("stores", "filed here"), lot=work_only, unit_cost=D(2)).unit_cost == 2


@pytest.mark.parametrize("role", ["bench", "receiving", "warranty desk"])
def test_costs_and_prices_are_not_for_everybody(way, role):
    agreed(way)
    act = way.act(role, "curious")
    with pytest.raises(NotAllowed):
        prices.record_price(act=act, rebuild=way.rebuild, amount=D(1))
    with pytest.raises(NotAllowed):
        correct_cost(act=act, lot=factories.LotFactory(), unit_cost=D(1))


@pytest.mark.django_db(transaction=True)
def test_two_who_record_an_invoice_at_once_leave_one_standing(settings, tmp_path):
    rebuild = factories.RebuildFactory()
    leads, start = [person("lead") for _ in range(8)], Barrier(8)

    def record(lead):
        start.wait(timeout=60)
        try:
            prices.record_price(act=Act(by=lead, at=NOW), rebuild=rebuild, amount=D(100))
        except RuleBroken:
            return "refused"
        finally:
            connection.close()
        return "recorded"

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(record, leads))
    assert answers.count("recorded") == 1
    assert InvoicedPrice.objects.count() == 1


# --- what the database itself refuses ---


def refused(row, message):
    with pytest.raises(ValidationError, match=message):
        row.validate_constraints()
    with pytest.raises(IntegrityError), transaction.atomic():
        type(row).objects.bulk_create([row])


def a_price(**fields):
    rebuild = fields.pop("rebuild", None) or factories.RebuildFactory()
    return InvoicedPrice(
        **{"rebuild": rebuild, "amount": 1, "by": factories.UserFactory(), "at": NOW, **fields}
    )


def a_time(**fields):
    user = factories.UserFactory()
    told = {"kind": "build", "done_by": user, "worked_on": NOW.date(), "minutes": 5, "by": user, "at": NOW}
    return WorkTime(**{"rebuild": factories.RebuildFactory(), **told, **fields})


def test_the_database_refuses_a_wrong_price():
    refused(a_price(amount=-1), "not negative")
    first = a_price()
    first.save()
    refused(a_price(rebuild=first.rebuild), "correct that one")
    refused(a_price(rebuild=first.rebuild, replaces=first), "says why")
    a_price(rebuild=first.rebuild, replaces=first, why="typing").save()


def test_the_database_refuses_wrong_minutes():
    refused(a_time(minutes=0), "1 to 1440")
    refused(a_time(minutes=1441), "1 to 1440")
    first = a_time()
    first.save()
    refused(a_time(replaces=first), "says why")
    a_time(replaces=first, why="none at all", minutes=0).save()


def test_the_database_refuses_a_rate_of_nothing_and_costs_below_it(way):
    refused(LabourRate(valid_from=NOW, per_hour=0, by=factories.UserFactory(), at=NOW), "more than nothing")
    lot = factories.LotFactory()
    with pytest.raises(IntegrityError, match="inventory_lot_cost_not_negative"), transaction.atomic():
        Lot.objects.filter(pk=lot.pk).update(unit_cost=-1)
    lot.unit_cost = -1
    with pytest.raises(ValidationError, match="not negative"):
        lot.validate_constraints()
    agreed(way)
    row = send_out(way)
    with pytest.raises(IntegrityError), transaction.atomic():
        OutsideWork.objects.filter(pk=row.pk).update(price=-1)
    row.price = -1
    with pytest.raises(ValidationError, match="not negative"):
        row.validate_constraints()


@pytest.mark.parametrize("model", [InvoicedPrice, WorkTime, LabourRate])
def test_rows_of_money_are_never_changed(model):
    user = factories.UserFactory()
    row = {
        InvoicedPrice: a_price,
        WorkTime: a_time,
        LabourRate: lambda: LabourRate(valid_from=NOW, per_hour=9, by=user, at=NOW),
    }[model]()
    row.save()
    for change in (lambda: model.objects.update(at=NOW), lambda: model.objects.all().delete()):
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            change()


# --- pages ---

PAGES = ["rebuild_price", "work_time", "work_time_correct", "outside_price", "lot_cost", "labour_rate"]
BREAKS = {
    "work_time": {"worked_on": "2001-01-01"},
    "work_time_correct": {"worked_on": "2001-01-01"},
    "outside_price": {"price": "50", "why": ""},
    "lot_cost": {"unit_cost": "1.5"},
    "labour_rate": {"valid_from": "2026-01-01", "why": ""},
}


def write_of(way, name):
    """One page of money, ready to be sent."""
    ShopProfile.objects.update(currency="EUR")
    agreed(way)
    spoil(way, 1)
    told = {"role": "lead", "refused_role": "receiving"}
    if name == "rebuild_price":
        invoice(way, "100")
        at, data, bad = way.rebuild.pk, {"amount": "120", "invoice": "R7", "why": "typing"}, {"why": ""}
    elif name == "lot_cost":
        lot = factories.LotFactory(unit_cost=D("1.5"))
        return writes.Write(
            url=reverse("inventory:lot_cost", args=[lot.number]),
            unknown=reverse("inventory:lot_cost", args=["nothing"]),
            data={"unit_cost": "1.6250", "why": "invoice"},
            bad={"unit_cost": "1.62505"},
            history=Lot.history,
            why="invoice",
            role="stores",
            refused_role="bench",
        )
    elif name == "labour_rate":
        rate(way, "40", dt.date(2026, 1, 1))
        data = {"valid_from": "2026-02-01", "per_hour": "42.50", "why": ""}
        return writes.Write(
            url=reverse("shop:labour_rate"),
            data=data,
            bad={"per_hour": "0"},
            role="lead",
            refused_role="stores",
        )
    elif name == "outside_price":
        at, data, bad = send_out(way, price="40").pk, {"price": "45.50", "why": "invoice"}, {"price": "-1"}
        told |= {"history": OutsideWork.history, "why": "invoice", "role": "stores", "refused_role": "bench"}
    else:
        entry = work(way, 30)
        data = {"kind": "test", "minutes": "25", "done_by": entry.done_by_id, "worked_on": "2026-03-02"}
        at, bad = way.rebuild.pk, {"minutes": "some"}
        told |= {"role": "bench", "refused_role": "stores"}
        if name == "work_time_correct":
            at, bad, data = entry.pk, {"why": ""}, {**data, "why": "misread"}
    address = f"workorders:{name}"
    return writes.Write(
        url=reverse(address, args=[at]), unknown=reverse(address, args=[9999]), data=data, bad=bad, **told
    )


@pytest.fixture(params=PAGES)
def write(request, way):
    return write_of(way, request.param)


def test_each_is_written(client, write):
    writes.check_works(client, write)


def test_each_shows_its_form(client, write):
    writes.check_get(client, write)


def test_nobody_signed_out_writes(client, write):
    writes.check_signed_out(client, write)


def test_another_role_writes_nothing(client, write):
    writes.check_wrong_role(client, write)


def test_what_is_not_there_is_not_found(client, write):
    if write.unknown:
        writes.check_unknown(client, write)


def test_a_wrong_form_comes_back(client, write):
    writes.check_refused(client, write, write.bad)


@pytest.mark.parametrize("name", BREAKS)
def test_a_broken_rule_comes_back(client, way, name):
    writes.check_refused(client, write_of(way, name), BREAKS[name])


def test_each_is_written_once(client, write):
    writes.check_twice(client, write)


def test_the_settings_tell_the_rates_to_those_who_may_see_costs(client, way):
    rate(way, "41.50", dt.date(2026, 1, 1))
    for role, shown in (("lead", True), ("stores", True), ("bench", False)):
        client.force_login(person(role))
        assert ("41.50" in client.get(reverse("shop:settings")).content.decode()) is shown

"""A warranty that goes to another holder: service and pages."""

import datetime as dt

import pytest
from django.urls import reverse

from shop.errors import NotAllowed, RuleBroken
from shop.models import Customer
from tests import writes
from tests.asking import rows, send
from tests.factories import CustomerFactory, person
from tests.workorders.journey import Journey
from workorders.models import Warranty
from workorders.services.record.unit import unit_record
from workorders.services.warranties import give_warranty

pytestmark = pytest.mark.django_db
WHY = "the boat was sold"


@pytest.fixture
def way():
    return Journey().tested().release().ship()


def give(way, holder, role="warranty desk", why=WHY):
    return give_warranty(act=way.act(role, why), warranty=way.rebuild.warranty, holder=holder)


def test_the_rest_of_the_term_goes_to_the_new_holder(way):
    first, before = way.rebuild.warranty, way.rebuild.warranty.holder
    buyer = CustomerFactory(name="Runa Selwick")
    row = give(way, buyer)
    assert (row.holder, row.starts_on, row.ends_on) == (buyer, first.starts_on, first.ends_on)
    latest, earliest = row.history.order_by("-history_id")
    assert (latest.history_change_reason, earliest.holder) == (WHY, before)
    record = unit_record(way.unit)
    assert record["rebuilds"][0]["warranty"]["holder"] == "Runa Selwick"


def test_a_merged_customer_is_refused_naming_the_one_that_stays(way):
    stays = CustomerFactory()
    with pytest.raises(RuleBroken, match=f"merged into {stays}"):
        give(way, CustomerFactory(merged_into=stays))


@pytest.mark.parametrize("role", ["receiving", "bench", "stores"])
def test_only_the_warranty_desk_and_the_lead_give_it(way, role):
    with pytest.raises(NotAllowed):
        give(way, CustomerFactory(), role=role)


def test_it_needs_a_reason_somebody_else_and_time_left(way):
    with pytest.raises(RuleBroken, match="Say why"):
        give(way, CustomerFactory(), why=" ")
    with pytest.raises(RuleBroken, match="holds this warranty already"):
        give(way, way.rebuild.warranty.holder)
    last = way.rebuild.warranty.ends_on
    way.now = dt.datetime.combine(last, dt.time(12), tzinfo=dt.UTC)
    give(way, CustomerFactory())
    way.now += dt.timedelta(days=1)
    with pytest.raises(RuleBroken, match="nothing left to hold"):
        give(way, CustomerFactory())


# ---------- the pages ----------


def address(name, *args):
    return reverse(f"workorders:warranty_{name}", args=args)


@pytest.fixture
def write(way):
    """The warranty still runs on the day of the test, whatever the clock says."""
    warranty = way.rebuild.warranty
    warranty.ends_on = dt.date(2999, 1, 1)
    warranty.save()
    buyer = CustomerFactory(name="Runa Selwick")
    return writes.Write(
        url=address("holder_named", warranty.pk, buyer.pk),
        data={"why": WHY},
        role="warranty desk",
        refused_role="bench",
        unknown=address("holder_named", warranty.pk, 0),
        bad={"why": ""},
        history=Warranty.history,
        why=WHY,
    )


@pytest.mark.parametrize(
    "asks",
    [
        writes.check_works,
        writes.check_get,
        writes.check_signed_out,
        writes.check_wrong_role,
        writes.check_unknown,
        writes.check_twice,
    ],
)
def test_a_holder_is_named_on_its_page(client, write, asks):
    asks(client, write)


def test_a_form_without_the_reason_comes_back(client, write):
    writes.check_refused(client, write, {"why": ""})


def test_the_holder_is_found_or_entered(client, way):
    client.force_login(person("warranty desk"))
    warranty, buyer = way.rebuild.warranty, CustomerFactory(name="Runa Selwick")
    page = client.get(address("holder", warranty.pk), {"q": "selwick"}).content.decode()
    assert address("holder_named", warranty.pk, buyer.pk) in page
    none = client.get(address("holder", warranty.pk), {"q": "nobody of that name"}).content.decode()
    assert "Nobody in the books matches" in none
    before = rows()
    answer = send(client, address("holder_new", warranty.pk), {"name": "Fenna Oak", "kind": "owner"})
    entered = Customer.objects.latest("pk")
    assert (answer.status_code, answer.url) == (302, address("holder_named", warranty.pk, entered.pk))
    assert rows()["Warranty"] == before["Warranty"]


def test_the_unit_page_offers_it_while_the_warranty_runs(client, way):
    warranty = way.rebuild.warranty
    link = address("holder", warranty.pk)
    for role, ends, offered in (
        ("warranty desk", dt.date(2999, 1, 1), True),
        ("bench", dt.date(2999, 1, 1), False),
        ("warranty desk", warranty.starts_on + dt.timedelta(days=1), False),
    ):
        warranty.ends_on = ends
        warranty.save()
        client.force_login(person(role))
        assert (link in client.get(way.unit.get_absolute_url()).content.decode()) is offered

"""Work orders: the list with its filters, one of them, corrections of its head."""

import datetime as dt
import uuid

import pytest
from django.urls import reverse

from tests.asking import rows, send
from tests.conftest import NOW
from tests.factories import (
    CustomerFactory,
    RebuildFactory,
    UnitFactory,
    UserFactory,
    WorkOrderFactory,
    person,
)
from tests.workorders.journey import Journey
from workorders.models import Rebuild, WorkOrder
from workorders.services.claims import open_claim

pytestmark = pytest.mark.django_db
LIST = reverse("workorders:work_orders")


@pytest.fixture
def clerk(client, receiving):
    client.force_login(receiving)
    return client


def listed(client, **query):
    """Numbers of the work orders that the list shows."""
    return [order.number for order in client.get(LIST, query).context["page"]]


def page_of(client, url):
    return client.get(url).content.decode()


def test_the_list_shows_what_is_in_the_shop_unless_all_is_asked(clerk):
    here = RebuildFactory().work_order
    gone = RebuildFactory(stage=Rebuild.Stage.SHIPPED).work_order
    expected = WorkOrderFactory()
    half = RebuildFactory(stage=Rebuild.Stage.SHIPPED).work_order
    RebuildFactory(work_order=half)
    assert set(listed(clerk)) == {here.number, expected.number, half.number}
    assert set(listed(clerk, show="all")) == {here.number, expected.number, half.number, gone.number}
    shown = {order.number: (order.units, order.units_here) for order in clerk.get(LIST).context["page"]}
    assert (shown[half.number], shown[expected.number]) == ((2, 1), (0, 0))


def test_the_latest_work_orders_come_first_on_every_page(clerk):
    customer = CustomerFactory()
    opened = [NOW + dt.timedelta(days=days) for days in (2, 5, 1, 4, 3)]
    orders = [WorkOrderFactory(customer=customer, opened_at=at) for at in opened]
    wanted = [order.number for order in sorted(orders, key=lambda order: order.opened_at, reverse=True)]
    assert listed(clerk) == wanted
    panel = clerk.get(customer.get_absolute_url()).context["panels"][0]
    assert [order.number for order in panel["orders"]] == wanted
    offered = clerk.get(reverse("workorders:receive_for", args=[customer.pk])).context["waiting"]
    assert [order.number for order in offered] == wanted


def test_the_list_is_narrowed_to_one_customer(clerk):
    wanted = WorkOrderFactory()
    WorkOrderFactory()
    assert listed(clerk, customer=wanted.customer_id) == [wanted.number]
    assert clerk.get(LIST, {"customer": "4711"}).status_code == 404


def test_the_list_is_narrowed_by_number_order_customer_telephone_and_serial(clerk):
    customer = CustomerFactory(name="Harrow Lift Hire", phone_digits="01632960017")
    unit = UnitFactory(maker_serial="MX 77")
    wanted = WorkOrderFactory(customer=customer, customer_order="PO-2231")
    RebuildFactory(unit=unit, work_order=wanted)
    RebuildFactory()
    serial = unit.serial
    for text in (
        wanted.number,
        "po-22",
        "harrow",
        "960017",
        serial,
        serial[2:7].lower(),
        f"/U/{serial}",
        "mx 77",
    ):
        assert listed(clerk, q=text) == [wanted.number], text
    assert listed(clerk, q="nothing like it") == []
    assert listed(clerk, q=f"\0{serial}\0") == [wanted.number]  # framed by a scanner
    assert "No work order matches" in clerk.get(LIST, {"q": "zzz"}).content.decode()


def test_the_list_pages_and_costs_the_same_for_few_and_many(clerk, django_assert_max_num_queries):
    RebuildFactory.create_batch(10)
    clerk.get(LIST)
    with django_assert_max_num_queries(30) as few:
        clerk.get(LIST)
    RebuildFactory.create_batch(10)
    with django_assert_max_num_queries(len(few)):
        clerk.get(LIST)
    WorkOrderFactory.create_batch(35)
    assert len(listed(clerk)) == 50
    assert len(listed(clerk, page=2)) == 5


def test_the_page_of_a_work_order_costs_the_same_for_few_and_many_units(clerk, django_assert_max_num_queries):
    order = WorkOrderFactory()
    RebuildFactory.create_batch(5, work_order=order)
    page_of(clerk, order.get_absolute_url())
    with django_assert_max_num_queries(40) as few:
        page_of(clerk, order.get_absolute_url())
    RebuildFactory.create_batch(10, work_order=order)
    with django_assert_max_num_queries(len(few)):
        page_of(clerk, order.get_absolute_url())


def test_the_page_of_a_customer_costs_the_same_for_few_and_many(clerk, django_assert_max_num_queries):
    customer = CustomerFactory()
    RebuildFactory.create_batch(5, work_order__customer=customer)
    page_of(clerk, customer.get_absolute_url())
    with django_assert_max_num_queries(40) as few:
        page_of(clerk, customer.get_absolute_url())
    RebuildFactory.create_batch(10, work_order__customer=customer)
    with django_assert_max_num_queries(len(few)):
        page_of(clerk, customer.get_absolute_url())


def test_the_history_of_a_unit_costs_the_same_for_few_and_many_rebuilds(clerk, django_assert_max_num_queries):
    unit = UnitFactory()
    gone = {"unit": unit, "stage": Rebuild.Stage.SHIPPED}
    for number in (1, 2):
        RebuildFactory(number=number, **gone)
    url = reverse("workorders:add_known", args=[WorkOrderFactory().number, unit.serial])
    page_of(clerk, url)
    with django_assert_max_num_queries(60) as few:
        page_of(clerk, url)
    for number in (3, 4, 5):
        RebuildFactory(number=number, **gone)
    with django_assert_max_num_queries(len(few)):
        page_of(clerk, url)


def test_the_page_shows_units_with_their_stage_and_the_field_that_adds_one(clerk):
    rebuild = RebuildFactory(stage=Rebuild.Stage.TORN_DOWN, shelf="B2")
    page = page_of(clerk, rebuild.work_order.get_absolute_url())
    for wanted in (
        f'data-serial="{rebuild.unit.serial}"',
        "torn down",
        "B2",
        "Add another unit",
        "data-scan",
    ):
        assert wanted in page
    assert "No unit yet" in page_of(clerk, WorkOrderFactory().get_absolute_url())


def test_a_serial_in_the_address_waits_in_the_field(clerk):
    order = WorkOrderFactory()
    serial = UnitFactory().serial
    assert f'value="{serial}"' in page_of(clerk, f"{order.get_absolute_url()}?serial={serial}")


def test_others_see_the_page_and_who_may_receive(client):
    client.force_login(person("bench"))
    page = page_of(client, WorkOrderFactory().get_absolute_url())
    assert "Ask somebody from: receiving or lead" in page
    assert "data-scan" not in page.split("<main", 1)[1]


@pytest.fixture
def claimed():
    """A unit that left with a warranty, and the open claim on it."""
    journey = Journey().tested().release().ship()
    warranty = journey.rebuild.warranty
    claim = open_claim(
        act=journey.act("warranty desk"),
        warranty=warranty,
        claimant=warranty.holder,
        reported="leaks at the rod",
    )
    return journey.unit, claim


TOLD = {
    "opened_before": "by_us",
    "arrival_condition": "oily",
    "reported": "",
    "other_hoses": "",
    "missing": "",
    "extra": "",
    "destination": "customer",
    "shelf": "",
}


def test_the_desk_goes_on_from_a_claim_to_the_box_that_brings_the_unit_back(client, claimed):
    _unit, claim = claimed
    on = [
        f"{reverse(name)}?customer={claim.claimant_id}"
        for name in ("workorders:box_announce", "workorders:box_links")
    ]
    client.force_login(person("warranty desk"))
    page = page_of(client, claim.get_absolute_url())
    assert all(address in page for address in on)
    assert str(claim.claimant) in page_of(client, on[0])
    client.force_login(person("bench"))
    assert not any(address in page_of(client, claim.get_absolute_url()) for address in on)


def test_a_unit_that_comes_back_is_tied_to_its_claim_at_the_receipt(clerk, claimed):
    unit, claim = claimed
    url = reverse("workorders:add_known", args=[WorkOrderFactory().number, unit.serial])
    page = page_of(clerk, url)
    assert f"Under claim {claim.number}: leaks at the rod" in page
    assert "In warranty until" in page
    assert "hardened (age)" in page  # what was found last time
    assert claim.get_absolute_url() in page
    assert send(clerk, url, {**TOLD, "claim": claim.number}).status_code == 302
    claim.refresh_from_db()
    assert claim.rebuild == unit.rebuilds.get(number=2)


def test_a_unit_that_comes_for_another_reason_leaves_the_claim_open_and_shown(clerk, claimed):
    unit, claim = claimed
    order = WorkOrderFactory()
    send(clerk, reverse("workorders:add_known", args=[order.number, unit.serial]), {**TOLD, "claim": ""})
    claim.refresh_from_db()
    assert claim.rebuild is None
    page = page_of(clerk, order.get_absolute_url())
    assert claim.number in page
    assert "not tied to this rebuild" in page


# ---------- corrections of the head ----------


def test_the_head_is_corrected_with_a_reason_that_the_page_shows(clerk, receiving):
    order = WorkOrderFactory(customer_order="PO 1")
    url = reverse("workorders:work_order_change", args=[order.number])
    assert 'value="PO 1"' in page_of(clerk, url)
    answer = send(clerk, url, {"customer_order": "PO 2", "note": "", "why": "read wrong"})
    assert answer["Location"] == order.get_absolute_url()
    page = page_of(clerk, order.get_absolute_url())
    for wanted in ("was “PO 1”, now “PO 2”", "Read wrong", str(receiving)):
        assert wanted in page


def test_a_correction_without_a_reason_is_refused(clerk):
    order = WorkOrderFactory(customer_order="PO 1")
    before = rows()
    url = reverse("workorders:work_order_change", args=[order.number])
    assert send(clerk, url, {"customer_order": "PO 2", "note": "", "why": ""}).status_code == 422
    assert rows() == before


def test_a_work_order_goes_to_the_right_customer_once(clerk, receiving):
    order, right = WorkOrderFactory(), CustomerFactory(name="Harrow Lift Hire")
    search = reverse("workorders:work_order_customer", args=[order.number])
    url = reverse("workorders:work_order_move", args=[order.number, right.pk])
    assert url in clerk.get(search, {"q": "harrow"}).content.decode()
    assert "Nobody in the books matches" in clerk.get(search, {"q": "zzz"}).content.decode()
    assert "Harrow Lift Hire" in page_of(clerk, url)
    token = uuid.uuid4().hex
    for _ in range(2):
        assert (
            send(clerk, url, {"why": "sender read wrong"}, token=token)["Location"]
            == order.get_absolute_url()
        )
    order.refresh_from_db()
    assert order.customer == right
    assert order.history.count() == 2
    latest = order.history.order_by("-history_id").first()
    assert (latest.history_user, latest.history_change_reason) == (receiving, "sender read wrong")


def test_a_work_order_with_a_signed_release_stays_with_its_customer(clerk):
    order, other = Journey().tested().release().rebuild.work_order, CustomerFactory()
    before = rows()
    url = reverse("workorders:work_order_move", args=[order.number, other.pk])
    answer = send(clerk, url, {"why": "sender read wrong"})
    assert answer.status_code == 422
    assert "names" in answer.content.decode()
    assert rows() == before
    assert WorkOrder.objects.get(pk=order.pk).customer != other


def addresses():
    order = WorkOrderFactory()
    return {
        "work_orders": [],
        "work_order": [order.number],
        "work_order_change": [order.number],
        "work_order_customer": [order.number],
        "work_order_move": [order.number, order.customer_id],
    }


NAMES = ("work_orders", "work_order", "work_order_change", "work_order_customer", "work_order_move")


@pytest.mark.parametrize("name", NAMES)
def test_signed_out_visitors_are_sent_to_sign_in(client, name):
    answer = client.get(reverse(f"workorders:{name}", args=addresses()[name]))
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("shop:sign_in"))


@pytest.mark.parametrize("name", NAMES[1:])
def test_an_unknown_work_order_is_not_found(clerk, name):
    args = ["W99-9999" if isinstance(arg, str) else arg for arg in addresses()[name]]
    assert clerk.get(reverse(f"workorders:{name}", args=args)).status_code == 404


@pytest.mark.parametrize("role", ["bench", "warranty desk", "stores"])
@pytest.mark.parametrize("name", NAMES[2:])
def test_other_roles_do_not_correct_a_head(client, role, name):
    client.force_login(person(role))
    url = reverse(f"workorders:{name}", args=addresses()[name])
    before = rows()
    assert client.get(url).status_code == 403
    assert send(client, url, {"why": "x"}).status_code in (403, 405)
    assert rows() == before


def test_somebody_without_a_role_sees_no_work_orders(client):
    client.force_login(UserFactory())
    assert client.get(LIST).status_code == 403

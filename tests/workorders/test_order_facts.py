"""What a work order has beside its units: rush, addresses, order number, owner, who holds the warranty."""

import datetime as dt
from io import BytesIO

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from pypdf import PdfReader

from shop.errors import NotAllowed, RuleBroken
from shop.models import Customer
from shop.services.customers import save_customer, save_ship_to
from shop.services.files import read_bytes
from shop.services.merging import merge_customers, take_back_merge
from tests.asking import rows, send
from tests.factories import CustomerFactory, RebuildFactory, TypeRevisionFactory, UnitFactory, person
from tests.workorders.journey import Journey
from tests.writes import (
    Write,
    check_get,
    check_refused,
    check_signed_out,
    check_twice,
    check_unknown,
    check_works,
    check_wrong_role,
)
from workorders.forms.packing import SendForm
from workorders.models import WorkOrder
from workorders.services import boxes, claims
from workorders.services.packing import begin_packing
from workorders.services.receiving import change_work_order, open_work_order
from workorders.services.record.unit import unit_record
from workorders.services.work_orders import end_rush, set_rush, settle_holder

pytestmark = pytest.mark.django_db
RUSH = {"wanted_by": dt.date(2026, 4, 2), "agreed_by": "Robin Lead", "why": "the ferry sails"}


@pytest.fixture
def account(receiving, act):
    """A trade account with two ship-to addresses, bills to an office, warranties to owners."""
    row = save_customer(
        act=act(receiving),
        name="Harrow Lift Hire",
        kind="trade",
        street="7 Ropewalk",
        postcode="TQ1 1AA",
        town="Southhaven",
        bill_name="Harrow Accounts",
        bill_address="PO 7\nSouthhaven",
        payment_days=30,
        needs_order_number=True,
        warranty_holder="owner",
    )
    for label, default in (("yard", False), ("pier", True)):
        save_ship_to(
            act=act(receiving),
            customer=row,
            label=label,
            name=f"Harrow {label}",
            address="Gate 2",
            is_default=default,
        )
    return row


@pytest.fixture
def order(account, receiving, act):
    return open_work_order(act=act(receiving), customer=account, customer_order="PO 7")


# ---------- opened and changed ----------


def test_an_order_takes_over_what_the_account_says_and_keeps_it(order, account, receiving, act):
    assert order.bill_to == "Harrow Accounts\nPO 7\nSouthhaven"
    assert order.ship_to == "Harrow pier\nGate 2"
    assert order.warranty_holder == "owner"
    save_customer(act=act(receiving, why="moved"), customer=account, bill_name="Other")
    order.refresh_from_db()
    assert order.bill_to.startswith("Harrow Accounts")


def test_an_owner_without_other_addresses_gets_bills_and_parcels_at_home(receiving, act):
    row = open_work_order(act=act(receiving), customer=CustomerFactory(name="Ann"))
    assert row.bill_to == row.ship_to == "Ann\n1 Quay\nNorthhaven"
    assert row.holder == row.customer


def test_an_account_that_requires_its_order_number_is_asked_for_it(account, receiving, warranty_desk, act):
    with pytest.raises(RuleBroken) as refused:
        open_work_order(act=act(receiving), customer=account)
    assert "requires an order number of theirs" in refused.value.fields["customer_order"]
    assert open_work_order(act=act(receiving), customer=account, under_claim=True).customer_order == ""
    box = boxes.announce_box(
        act=act(warranty_desk), how="email", customer=account, expected=[boxes.Expected(what="x")]
    )
    boxes.receive_box(act=act(receiving), box=box)
    with pytest.raises(RuleBroken) as refused:
        boxes.put_into_work_order(act=act(receiving), box=box)
    assert "customer_order" in refused.value.fields


def test_the_order_number_of_such_an_account_is_not_taken_out(order, account, receiving, act):
    told = {"act": act(receiving, why="x"), "work_order": order, "customer": account, "note": ""}
    with pytest.raises(RuleBroken):
        change_work_order(customer_order="", **told)
    assert change_work_order(customer_order="PO 8", **told).customer_order == "PO 8"


def test_the_right_customer_brings_its_own_addresses(order, receiving, act):
    ann = CustomerFactory(name="Ann")
    row = change_work_order(
        act=act(receiving, why="Ann's"), work_order=order, customer=ann, customer_order="", note=""
    )
    assert (row.ship_to, row.warranty_holder) == ("Ann\n1 Quay\nNorthhaven", "customer")


def test_nothing_is_opened_for_a_row_that_was_merged(account, receiving, lead, act):
    stays = CustomerFactory(name="Stays")
    merge_customers(act=act(lead, why="x"), gone=account, stays=stays, values={})
    for write in (
        lambda: open_work_order(act=act(receiving), customer=account, customer_order="1"),
        lambda: boxes.announce_box(
            act=act(lead), how="email", customer=account, expected=[boxes.Expected(what="x")]
        ),
    ):
        with pytest.raises(RuleBroken, match="was merged into Stays"):
            write()
    assert not WorkOrder.objects.exists()


# ---------- rush ----------


def test_a_rush_is_promised_changed_and_ended_with_history(order, warranty_desk, act):
    set_rush(act=act(warranty_desk), work_order=order, **RUSH)
    set_rush(act=act(warranty_desk), work_order=order, **{**RUSH, "wanted_by": dt.date(2026, 4, 9)})
    with pytest.raises(RuleBroken, match="Say why"):
        end_rush(act=act(warranty_desk), work_order=order)
    row = end_rush(act=act(warranty_desk, why="ferry sold"), work_order=order)
    assert (row.rush_wanted_by, row.rush_agreed_by) == (None, "")
    days = [past.rush_wanted_by for past in row.history.order_by("history_id")]
    assert days == [None, dt.date(2026, 4, 2), dt.date(2026, 4, 9), None]
    with pytest.raises(RuleBroken, match="is no rush"):
        end_rush(act=act(warranty_desk, why="again"), work_order=order)


@pytest.mark.parametrize("without", ["agreed_by", "why"])
def test_a_rush_is_told_whole(order, lead, act, without):
    told = {**RUSH, without: " "}
    with pytest.raises(RuleBroken, match="needs the day"):
        set_rush(act=act(lead), work_order=order, **told)
    with pytest.raises(IntegrityError), transaction.atomic():
        WorkOrder.objects.filter(pk=order.pk).update(rush_wanted_by=RUSH["wanted_by"], rush_agreed_by="A")
    order.rush_agreed_by = "A"
    with pytest.raises(Exception, match="needs the day"):
        order.full_clean()


def test_the_bench_promises_no_rush(order, bench, act):
    with pytest.raises(NotAllowed, match="receiving or warranty desk or lead"):
        set_rush(act=act(bench), work_order=order, **RUSH)


def test_a_rush_comes_first_in_both_lists_and_costs_no_query(
    client, lead, act, django_assert_max_num_queries
):
    client.force_login(lead)
    unit_type = TypeRevisionFactory().unit_type
    made = [RebuildFactory(unit=UnitFactory(unit_type=unit_type)) for _ in range(10)]
    for url in (reverse("workorders:home"), reverse("workorders:work_orders")):
        client.get(url)
    with django_assert_max_num_queries(60) as few:
        for url in (reverse("workorders:home"), reverse("workorders:work_orders")):
            client.get(url)
    made += [RebuildFactory(unit=UnitFactory(unit_type=unit_type)) for _ in range(10)]
    for row in (made[14], made[15]):
        set_rush(act=act(lead), work_order=row.work_order, **RUSH)
    with django_assert_max_num_queries(len(few)):
        for url in (reverse("workorders:home"), reverse("workorders:work_orders")):
            page = client.get(url).content.decode()
            places = [page.index(made[n].work_order.number) for n in (0, 14)]
            assert places[1] < places[0]
            assert page.count("rush, wanted by 02 Apr 2026") == 2
    file = client.get(reverse("workorders:home"), {"format": "csv"}).content.decode()
    assert file.splitlines()[1].count("2026-04-02") == 1
    bench = client.get(reverse("workorders:teardown", args=[made[14].pk])).content.decode()
    assert "rush, wanted by 02 Apr 2026" in bench


# ---------- the owner, and the warranty ----------


@pytest.fixture
def owner():
    return CustomerFactory(name="Ann Skipper", phone="01632 960741")


def released(account, holder="customer", owner=None):
    """A unit of an order of that account, tested and ready for its release."""
    journey = Journey().tested_for(account)
    order = journey.rebuild.work_order
    settle_holder(act=journey.act("lead", "told"), work_order=order, holder=holder, end_owner=owner)
    order.refresh_from_db()
    return journey


def test_the_warranty_starts_for_the_owner_and_the_papers_name_it(client, account, owner, lead):
    journey = released(account, "owner", owner).release().ship()
    warranty = journey.rebuild.warranty
    assert warranty.holder == owner
    assert journey.shipment.recipient == account
    printed = journey.released.content["certificate"]["warranty_terms"][0]
    assert "for Ann Skipper;" in printed
    paper = PdfReader(BytesIO(read_bytes(journey.shipment.packing_list)))
    text = " ".join(page.extract_text() for page in paper.pages)
    assert "Ann Skipper" in text
    assert "Harrow Accounts" in text
    told = unit_record(journey.rebuild.unit)["rebuilds"][0]
    assert told["warranty"]["holder"] == "Ann Skipper"
    assert told["warranty"]["recipient"] == "Harrow Lift Hire"
    assert (told["end_owner"], told["rush"]) == ("Ann Skipper", None)
    client.force_login(lead)
    for customer in (owner, account):  # the desk finds it by both
        page = client.get(reverse("workorders:find"), {"q": customer.name}, follow=True).content.decode()
        assert journey.rebuild.unit.get_absolute_url() in page
    assert owner.get_absolute_url() == client.get(reverse("workorders:find"), {"q": "960741"}).url


def test_nothing_released_leaves_before_the_owner_is_named(account, owner):
    journey = released(account, "owner").release()
    assert "for the owner of the machine;" in journey.released.content["certificate"]["warranty_terms"][0]
    before = rows()
    with pytest.raises(RuleBroken, match="owner of the machine, who is not named yet"):
        journey.ship()
    assert rows()["Shipment"] == before["Shipment"]
    settle_holder(
        act=journey.act("warranty desk"),
        work_order=journey.rebuild.work_order,
        holder="owner",
        end_owner=owner,
    )
    journey.rebuild.work_order.refresh_from_db()
    assert journey.ship().rebuild.warranty.holder == owner


def test_a_holder_whom_papers_name_stays(account, owner):
    journey = released(account).release()
    told = {"work_order": journey.rebuild.work_order, "act": journey.act("lead", "sold")}
    with pytest.raises(RuleBroken, match="names Harrow Lift Hire as the holder"):
        settle_holder(holder="owner", end_owner=owner, **told)
    row = settle_holder(holder="customer", end_owner=owner, **told)  # named, and holding nothing
    assert (row.holder, row.end_owner) == (account, owner)


def test_a_change_of_owner_or_holder_needs_a_reason(order, owner, lead, act):
    told = {"work_order": order, "holder": "owner"}
    settle_holder(act=act(lead), end_owner=owner, **told)
    with pytest.raises(RuleBroken, match="Say why"):
        settle_holder(act=act(lead), end_owner=CustomerFactory(), **told)
    with pytest.raises(RuleBroken, match="Say why"):
        settle_holder(act=act(lead), end_owner=owner, work_order=order, holder="customer")
    with pytest.raises(RuleBroken, match="is the customer of"):
        settle_holder(act=act(lead, why="x"), end_owner=order.customer, **told)
    with pytest.raises(RuleBroken) as refused:
        settle_holder(act=act(lead, why="x"), end_owner=owner, work_order=order, holder="x")
    assert "holder" in refused.value.fields


def test_the_warranty_that_goes_on_stays_with_its_holder(account, owner):
    journey = released(account, "owner", owner).release().ship()
    first = journey.rebuild.warranty
    claim = claims.open_claim(
        act=journey.act("warranty desk"), warranty=first, claimant=account, reported="drips"
    )
    claims.judge_claim(act=journey.act("warranty desk"), claim=claim, judgement="accepted", reason="our seal")
    journey.receive(customer=CustomerFactory(), unit=journey.rebuild.unit)
    journey.find().close_teardown().go_ahead().fit().close_build()
    journey.start_test().run_steps().sign_test().release().ship()
    assert journey.rebuild.warranty.holder == owner


def test_addresses_on_a_packing_list_stay(account):
    journey = released(account).release().ship()
    row = journey.rebuild.work_order
    told = {"act": journey.act("lead", "x"), "work_order": row, "customer": account}
    for name in ("bill_to", "ship_to"):
        with pytest.raises(RuleBroken) as refused:
            change_work_order(customer_order="PO 9", note="", **{name: "Elsewhere"}, **told)
        assert "is issued" in refused.value.fields[name]
    same = change_work_order(customer_order="PO 9", note="", bill_to=row.bill_to, **told)
    assert same.customer_order == "PO 9"


def test_a_merge_is_kept_once_papers_name_the_one_that_stays(account):
    stays = CustomerFactory(name="Stays")
    journey = released(account)
    merge = merge_customers(act=journey.act("lead", "same"), gone=account, stays=stays, values={})
    journey.rebuild.work_order.refresh_from_db()
    journey.release().ship()
    with pytest.raises(RuleBroken) as refused:
        take_back_merge(act=journey.act("lead", "two"), merge=merge)
    assert f"Certificate {journey.released}" in str(refused.value)
    assert f"Shipment {journey.shipment}" in str(refused.value)


def test_shipments_go_on_naming_the_merged_row_and_are_found_from_the_other(client, account, lead):
    stays = CustomerFactory(name="Stays")
    journey = released(account).release().ship()
    merge_customers(act=journey.act("lead", "same"), gone=account, stays=stays, values={})
    journey.shipment.refresh_from_db()
    assert journey.shipment.recipient == account
    journey.rebuild.warranty.refresh_from_db()
    assert journey.rebuild.warranty.holder == stays
    client.force_login(lead)
    for row in (account, stays):
        assert journey.shipment.number in client.get(row.get_absolute_url()).content.decode()
    listed = client.get(reverse("workorders:work_orders"), {"show": "all", "customer": stays.pk})
    assert journey.rebuild.work_order.number in listed.content.decode()


# ---------- pages ----------


def test_the_page_that_sends_off_offers_the_addresses_that_are_known(client, account, owner, receiving):
    journey = released(account, owner=owner).release()
    account.shipping_note = "ring first"
    account.save()
    packing = begin_packing(act=journey.act("receiving"), work_order=journey.rebuild.work_order)
    client.force_login(receiving)
    page = client.get(reverse("workorders:packing_send", args=[packing.pk])).content.decode()
    for words in ("Harrow pier, Gate 2", "Harrow yard, Gate 2", "7 Ropewalk", "1 Quay", "ring first"):
        assert words in page
    assert "held by Harrow Lift Hire" in page
    data = {"recipient": account.pk, "carrier": "", "address": "Elsewhere"}
    yard = account.ship_tos.get(label="yard")
    for chosen, address in ((f"s{yard.pk}", yard.lines), ("written", "Elsewhere"), ("", "Elsewhere")):
        form = SendForm({**data, "goes_to": chosen}, packing=packing)
        assert form.is_valid()
        assert form.cleaned_data["address"] == address
    assert set(form.fields["recipient"].queryset) == {account, owner}
    url = reverse("workorders:packing_send", args=[packing.pk])
    answer = send(client, url, {**data, "goes_to": "written", "address": ""})
    assert answer.status_code == 422


def test_an_order_is_opened_for_one_of_the_addresses(client, account, receiving):
    client.force_login(receiving)
    url = reverse("workorders:receive_for", args=[account.pk])
    page = client.get(url).content.decode()
    assert "This account requires one" in page
    yard = account.ship_tos.get(label="yard")
    bad = send(client, url, {"customer_order": "", "goes_to": f"s{yard.pk}", "note": ""})
    assert bad.status_code == 422
    assert "requires an order number of theirs" in bad.content.decode()
    assert send(client, url, {"customer_order": "7", "goes_to": f"s{yard.pk}", "note": ""}).status_code == 302
    assert WorkOrder.objects.get().ship_to == yard.lines


def test_a_new_owner_is_entered_in_place_and_named(client, order, warranty_desk):
    client.force_login(warranty_desk)
    url = reverse("workorders:order_owner_new", args=[order.number])
    answer = send(client, url, {"name": "Ann Skipper", "kind": "owner", "phone": "01632 960741"})
    row = Customer.objects.get(name="Ann Skipper")
    assert answer.url == reverse("workorders:order_owner_named", args=[order.number, row.pk])
    assert send(client, answer.url, {"holder": "owner", "why": ""}).status_code == 302
    order.refresh_from_db()
    assert order.holder == row
    page = client.get(order.get_absolute_url()).content.decode()
    assert "Ann Skipper" in page
    wrong = reverse("workorders:order_owner", args=[order.number])
    sent = {"holder": "customer", "no_owner": "on", "why": "she sold it"}
    assert send(client, wrong, sent).status_code == 302
    order.refresh_from_db()
    assert (order.end_owner, order.holder) == (None, order.customer)


@pytest.fixture(params=["rush", "rush_end", "owner", "owner_named"])
def write(request, order, owner, lead, act):
    """Each page that writes, with what it takes."""
    kind = request.param
    more = [owner.pk] if kind == "owner_named" else []
    if kind == "rush_end":
        set_rush(act=act(lead), work_order=order, **RUSH)
    data = {
        "rush": {"wanted_by": "2026-04-02", "agreed_by": "Robin", "why": "the ferry sails"},
        "rush_end": {"why": "ferry sold"},
        "owner": {"holder": "customer", "why": "the yard asks for it"},
        "owner_named": {"holder": "owner", "why": "she called"},
    }[kind]
    return Write(
        url=reverse(f"workorders:order_{kind}", args=[order.number, *more]),
        data=data,
        role="warranty desk",
        refused_role="bench",
        unknown=reverse(f"workorders:order_{kind}", args=["W00-0000", *more]),
        bad={"holder": "x", "wanted_by": "03/04/26 or so", "why": " " if kind == "rush_end" else "x"},
        history=order.history,
        why=data["why"],
    )


def test_a_page_does_its_work(client, write):
    check_works(client, write)


def test_a_page_shows_its_form(client, write):
    check_get(client, write)


def test_a_page_is_closed_to_visitors(client, write):
    check_signed_out(client, write)


def test_a_page_is_closed_to_other_roles(client, write):
    check_wrong_role(client, write)


def test_a_page_of_nothing_is_not_found(client, write):
    check_unknown(client, write)


def test_a_bad_form_changes_nothing(client, write):
    check_refused(client, write, write.bad)


def test_a_double_tap_writes_once(client, write):
    check_twice(client, write)


def test_a_person_of_receiving_may_promise_too(client, order):
    client.force_login(person("receiving"))
    assert client.get(reverse("workorders:order_rush", args=[order.number])).status_code == 200

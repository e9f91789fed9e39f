"""Customers entered twice: pairs found, recorded as two, merged with all that names them, taken back."""

import datetime as dt
import threading

import pytest
from django.db import IntegrityError, connection, transaction
from django.urls import reverse

from shop.errors import NotAllowed, RuleBroken
from shop.models import Customer, CustomerKey, CustomerMerge, DifferentCustomers, MergeTakenBack, ShipTo
from shop.services.customers import find_customers, likely_duplicates, save_customer, save_ship_to
from shop.services.duplicates import LikelyPairs, perhaps_the_same
from shop.services.merging import (
    lasting_references,
    merge_customers,
    record_different,
    references,
    take_back_merge,
)
from tests.asking import rows, send
from tests.conftest import NOW
from tests.factories import CustomerFactory, WorkOrderFactory, person
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

pytestmark = pytest.mark.django_db
LATER = NOW + dt.timedelta(hours=1)
LIST = reverse("shop:duplicates")


@pytest.fixture
def pair():
    """A customer and the same one again, each with a work order."""
    one = CustomerFactory(name="Harrow Lift Hire", phone="01632 960701", email="yard@example.com")
    other = CustomerFactory(name="Harrow Lifthire", phone="+44 1632 960701", email="")
    for row in (one, other):
        WorkOrderFactory(customer=row)
    return one, other


def found():
    return [(pair.first, pair.second) for pair in LikelyPairs()]


# ---------- pairs ----------


@pytest.mark.parametrize(
    ("fields", "same"),
    [
        ({"name": "HARROW, Lift-Hire"}, ("name",)),
        ({"name": "Härrow Lift Hire"}, ("name",)),
        ({"name": "Ann", "phone": "+44 1632 960 017"}, ("telephone",)),
        ({"name": "Ann", "email": "Yard@Example.com"}, ("e-mail",)),
        ({"name": "Ann", "street": "7, ropewalk", "postcode": "tq11aa"}, ("address",)),
    ],
)
def test_a_pair_is_found_by_each_thing_that_tells_a_customer(receiving, act, fields, same):
    save_customer(
        act=act(receiving),
        name="Harrow Lift Hire",
        phone="01632 960017",
        email="yard@example.com",
        street="7 Ropewalk",
        postcode="TQ1 1AA",
    )
    save_customer(act=act(receiving), **fields)
    assert [pair.same for pair in LikelyPairs()] == [same]


def test_customers_with_nothing_in_common_are_no_pair(receiving, act):
    for name in ("Ann", "Bea"):  # the street alone, and a number of four digits, tell nobody
        save_customer(act=act(receiving), name=name, phone="1234", street="1 Quay")
    assert found() == []


def test_a_change_of_the_telephone_makes_and_ends_a_pair(receiving, act):
    one = save_customer(act=act(receiving), name="Ann", phone="01632 960017")
    other = save_customer(act=act(receiving), name="Bea", phone="01632 960018")
    save_customer(act=act(receiving, LATER, "read out wrongly"), customer=other, phone="01632 960017")
    assert found() == [(one, other)]
    save_customer(act=act(receiving, LATER, "no longer theirs"), customer=other, phone="")
    assert found() == []


def test_a_name_that_very_many_share_fills_no_list(receiving):
    CustomerFactory.create_batch(31, name="Boats", phone="")
    assert len(LikelyPairs()) == 0
    Customer.objects.order_by("-pk").first().delete()
    assert len(LikelyPairs()) == 30 * 29 / 2


def test_pairs_with_most_in_common_come_first_and_pages_cost_the_same(
    receiving, act, django_assert_num_queries
):
    for number in range(10):
        CustomerFactory.create_batch(2, name=f"Twin {number}")
    both = [CustomerFactory(name="Both", phone="01632 960999") for _ in range(2)]
    with django_assert_num_queries(3) as few:
        first = LikelyPairs()[:5]
    assert (first[0].first, first[0].second) == tuple(both)
    for number in range(10, 20):
        CustomerFactory.create_batch(2, name=f"Twin {number}")
    with django_assert_num_queries(len(few)):
        assert len(LikelyPairs()[:20]) == 20
    assert len(LikelyPairs()) == 21
    assert len(LikelyPairs()[20:30]) == 1


def test_pairs_are_ordered_by_either_name_and_narrowed_by_the_words_of_both():
    for name, number in (("Bea", "01632 960001"), ("al", "01632 960002"), ("Cy_d", "01632 960003")):
        CustomerFactory(name=name, phone=number)
        CustomerFactory(name=f"Late {name}", phone=number)

    def names(*told, **more):
        return [pair.first.name for pair in LikelyPairs(*told, **more)]

    assert names(order="first-name") == ["al", "Bea", "Cy_d"]
    assert names(order="second-name", falling=True) == ["Cy_d", "Bea", "al"]
    assert names("LATE be") == ["Bea"]
    assert (names("y_d"), names("_"), names("%"), names("e_a")) == (["Cy_d"], ["Cy_d"], [], [])
    assert len(LikelyPairs("late")) == 3


def test_a_pair_recorded_as_two_stays_away(receiving, act, pair):
    one, other = pair
    assert list(perhaps_the_same(other)) == [one]
    told = record_different(act=act(receiving, why="father and son"), one=other, other=one)
    assert (told.first, told.second, told.why) == (one, other, "father and son")
    assert found() == []
    assert not perhaps_the_same(one).exists()
    assert not perhaps_the_same(other).exists()
    with pytest.raises(RuleBroken, match="recorded as not the same already"):
        record_different(act=act(receiving, why="again"), one=one, other=other)


def test_two_are_recorded_as_two_with_a_reason_only(receiving, act, pair):
    with pytest.raises(RuleBroken, match="Say how you know"):
        record_different(act=act(receiving), one=pair[0], other=pair[1])
    with pytest.raises(RuleBroken, match="same as itself"):
        record_different(act=act(receiving, why="x"), one=pair[0], other=pair[0])


# ---------- the merge ----------


def test_every_table_that_names_a_customer_is_known():
    moving = {f"{each.model.__name__}.{each.field}" for each in references()}
    lasting = {f"{each.model.__name__}.{each.field}" for each in lasting_references()}
    assert {"WorkOrder.customer", "Box.customer", "BoxLink.customer", "Claim.claimant"} <= moving
    assert {"ShipTo.customer", "Customer.merged_into"} <= moving
    titles = {each.title for each in references()}
    assert {"work orders", "boxes", "warranties: holder"} <= titles
    told = {"RecallCall.customer", "RecallLetter.customer", "RecallUnit.customer"}
    assert lasting == {"Shipment.recipient", *told}


def test_a_merge_moves_every_row_with_its_history_and_keeps_the_other_row(lead, act, pair):
    stays, gone = pair
    order = gone.work_orders.get()
    merge = merge_customers(
        act=act(lead, why="same telephone"), gone=gone, stays=stays, values={"name": "Harrow Lifts"}
    )
    gone.refresh_from_db()
    stays.refresh_from_db()
    assert (gone.merged_into, gone.name, stays.name) == (stays, "Harrow Lifthire", "Harrow Lifts")
    assert stays.work_orders.count() == 2
    last = order.history.latest("history_id")
    assert (last.customer_id, last.history_user) == (stays.pk, lead)
    assert last.history_change_reason.startswith("Harrow Lifthire merged into Harrow Lift Hire: same tele")
    assert merge.values == {"name": {"was": "Harrow Lift Hire", "is": "Harrow Lifts"}}
    assert found() == []


def test_what_was_merged_is_found_as_the_one_that_stays_and_offered_nowhere(lead, act, pair):
    stays, gone = pair
    merge_customers(act=act(lead, why="same"), gone=gone, stays=stays, values={"phone": "01632 960888"})
    assert list(find_customers("Lifthire")) == [stays]
    assert list(find_customers("960701")) == [stays]
    assert list(Customer.objects.standing()) == [stays]
    assert list(likely_duplicates(name="B", phone="01632 960701")) == [stays]
    with pytest.raises(RuleBroken, match="was merged into Harrow Lift Hire; use that one"):
        save_customer(act=act(lead, LATER, "x"), customer=gone, town="X")


def test_a_merge_needs_a_reason_two_rows_and_both_standing(lead, act, pair):
    one, other = pair
    third = CustomerFactory()
    told = {"values": {}}
    with pytest.raises(RuleBroken, match="Say how you know"):
        merge_customers(act=act(lead), gone=one, stays=other, **told)
    with pytest.raises(RuleBroken, match="into itself"):
        merge_customers(act=act(lead, why="x"), gone=one, stays=one, **told)
    merge_customers(act=act(lead, why="x"), gone=one, stays=other, **told)
    for gone, stays in ((one, third), (third, one), (other, one)):
        with pytest.raises(RuleBroken, match="already"):
            merge_customers(act=act(lead, why="x"), gone=gone, stays=stays, **told)
    assert CustomerMerge.objects.count() == 1


def test_a_value_against_a_rule_refuses_the_whole_merge(lead, act, pair):
    one, other = pair
    with pytest.raises(RuleBroken, match="Only a trade account has terms"):
        merge_customers(act=act(lead, why="x"), gone=other, stays=one, values={"payment_days": 30})
    assert other.work_orders.count() == 1
    with pytest.raises(TypeError, match="customers have no colour"):
        merge_customers(act=act(lead, why="x"), gone=other, stays=one, values={"colour": "red"})


@pytest.mark.parametrize("role", ["bench", "stores", "receiving"])
def test_the_desk_and_the_lead_merge_and_nobody_else(act, role, pair):
    with pytest.raises(NotAllowed, match="warranty desk or lead"):
        merge_customers(act=act(person(role), why="x"), gone=pair[0], stays=pair[1], values={})


def test_earlier_merges_move_along_so_that_no_chain_grows(lead, act, pair):
    one, other = pair
    third = CustomerFactory()
    merge_customers(act=act(lead, why="x"), gone=third, stays=other, values={})
    merge_customers(act=act(lead, LATER, "y"), gone=other, stays=one, values={})
    assert set(one.merged_from.all()) == {other, third}
    assert list(find_customers(third.name)) == [one]


def test_one_default_address_is_left_and_comes_back(lead, act, pair):
    one, other = pair
    for row in pair:
        save_ship_to(
            act=act(lead), customer=row, label="yard", name=row.name, address="1 Quay", is_default=True
        )
    merge = merge_customers(act=act(lead, why="x"), gone=other, stays=one, values={})
    assert one.ship_tos.count() == 2
    assert one.ship_tos.filter(is_default=True).get().name == one.name
    take_back_merge(act=act(lead, LATER, "two after all"), merge=merge)
    assert other.ship_tos.get().is_default


# ---------- taken back ----------


def test_a_merge_is_taken_back_whole(lead, act, pair):
    one, other = pair
    before = {row.pk: row.work_orders.get() for row in pair}
    merge = merge_customers(
        act=act(lead, why="x"), gone=other, stays=one, values={"name": "Harrow", "email": ""}
    )
    new = WorkOrderFactory(customer=one)
    take_back_merge(act=act(lead, LATER, "father and son"), merge=merge)
    for row in pair:
        row.refresh_from_db()
    assert (one.name, one.email, other.merged_into) == ("Harrow Lift Hire", "yard@example.com", None)
    assert list(other.work_orders.all()) == [before[other.pk]]
    assert set(one.work_orders.all()) == {before[one.pk], new}
    assert (
        "taken back: father and son"
        in other.work_orders.get().history.latest("history_id").history_change_reason
    )
    assert found() == [(one, other)]
    with pytest.raises(RuleBroken, match="taken back already"):
        take_back_merge(act=act(lead, LATER, "again"), merge=merge)
    merge_customers(act=act(lead, LATER, "one after all"), gone=other, stays=one, values={})


def test_what_changed_meanwhile_keeps_a_merge(lead, act, pair):
    one, other = pair
    third = CustomerFactory(name="Third")
    merge = merge_customers(act=act(lead, why="x"), gone=other, stays=one, values={"name": "Harrow"})
    order = one.work_orders.order_by("-pk").first()
    order.customer = third
    order.save()
    one.refresh_from_db()
    one.name = "Harrow and Son"
    one.save()
    before = rows()
    with pytest.raises(RuleBroken) as refused:
        take_back_merge(act=act(lead, LATER, "y"), merge=merge)
    assert f"{order} was given to another customer since." in str(refused.value)
    assert "The name of Harrow and Son was changed since." in str(refused.value)
    assert rows() == before
    assert MergeTakenBack.objects.count() == 0


def test_merges_are_taken_back_from_the_last_one(lead, act, pair):
    one, other = pair
    third = CustomerFactory(name="Third")
    first = merge_customers(act=act(lead, why="x"), gone=third, stays=other, values={})
    second = merge_customers(act=act(lead, LATER, "y"), gone=other, stays=one, values={})
    with pytest.raises(RuleBroken, match="since; take that back first"):
        take_back_merge(act=act(lead, LATER, "z"), merge=first)
    take_back_merge(act=act(lead, LATER, "z"), merge=second)
    take_back_merge(act=act(lead, LATER, "z"), merge=first)
    third.refresh_from_db()
    assert third.merged_into is None


def test_a_merge_is_taken_back_with_a_reason_only(lead, act, pair):
    merge = merge_customers(act=act(lead, why="x"), gone=pair[1], stays=pair[0], values={})
    with pytest.raises(RuleBroken, match="Say why"):
        take_back_merge(act=act(lead), merge=merge)


# ---------- two people at once ----------


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("crossed", [False, True])
def test_two_who_merge_the_same_pair_at_once_make_one_merge(act, pair, crossed):
    one, other = pair
    people = [person("lead"), person("warranty desk")]
    start, told = threading.Barrier(2), []

    def merge(by, gone, stays):
        try:
            start.wait(10)
            merge_customers(act=act(by, why="same"), gone=gone, stays=stays, values={})
            told.append("merged")
        except RuleBroken as error:
            told.append(str(error))
        finally:
            connection.close()

    pairs = [(one, other), (other, one) if crossed else (one, other)]
    threads = [threading.Thread(target=merge, args=(by, *two)) for by, two in zip(people, pairs, strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert sorted("already" in text for text in told) == [False, True], told
    merge = CustomerMerge.objects.get()
    assert merge.stays.work_orders.count() == 2
    assert merge.gone.merged_into == merge.stays
    assert merge.stays.merged_into is None


# ---------- constraints ----------


@pytest.mark.parametrize(
    ("make", "name"),
    [
        (lambda c: Customer(name="A", payment_days=30), "shop_customer_terms_for_trade"),
        (lambda c: Customer(name="A", needs_order_number=True), "shop_customer_order_number_for_trade"),
        (lambda c: Customer(name="A", warranty_holder="owner"), "shop_customer_holder_for_trade"),
        (
            lambda c: Customer(name="A", kind="trade", payment_days=366),
            "shop_customer_days_within_a_year",
        ),
        (lambda c: Customer(name="A", bill_name="B"), "shop_customer_bill_whole"),
        (lambda c: Customer(name="A", bill_address="B"), "shop_customer_bill_whole"),
        (
            lambda c: ShipTo(customer=c, label="a", name="b", address="c", is_default=True, retired=True),
            "shop_shipto_default_in_use",
        ),
        (lambda c: ShipTo(customer=c, label="a", name="b", address=""), "shop_shipto_whole"),
        (
            lambda c: CustomerMerge(gone=c, stays=c, why="x", at=NOW, by=person("lead")),
            "shop_customermerge_two",
        ),
        (
            lambda c: CustomerMerge(gone=c, stays=CustomerFactory(), at=NOW, by=person("lead")),
            "shop_customermerge_reason",
        ),
        (
            lambda c: DifferentCustomers(first=c, second=c, why="x", at=NOW, by=person("lead")),
            "shop_differentcustomers_ordered",
        ),
        (
            lambda c: DifferentCustomers(first=c, second=CustomerFactory(), at=NOW, by=person("lead")),
            "shop_differentcustomers_reason",
        ),
        (lambda c: CustomerKey(customer=c, kind="email", value=""), "shop_customerkey_told"),
        (lambda c: CustomerKey(customer=c, kind="name", value="x"), "shop_customerkey_once"),
    ],
)
def test_the_database_refuses_what_must_never_be(make, name):
    row = make(CustomerFactory())
    constraint = next(each for each in row._meta.constraints if each.name == name)
    with pytest.raises(Exception, match=constraint.violation_error_message.split(";")[0][:40]):
        constraint.validate(type(row), row)
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


def test_a_customer_is_never_merged_into_itself():
    row = CustomerFactory()
    row.merged_into = row
    with pytest.raises(Exception, match="cannot be merged into itself"):
        row.full_clean()
    with pytest.raises(IntegrityError), transaction.atomic():
        Customer.objects.filter(pk=row.pk).update(merged_into=row)


def test_there_is_one_default_address(receiving, act):
    row = CustomerFactory()
    told = {"customer": row, "name": "A", "address": "1 Quay", "is_default": True}
    first = save_ship_to(act=act(receiving), label="yard", **told)
    second = save_ship_to(act=act(receiving), label="pier", **told)
    first.refresh_from_db()
    assert (first.is_default, second.is_default) == (False, True)
    with pytest.raises(IntegrityError), transaction.atomic():
        ShipTo.objects.create(label="third", **told)
    third = ShipTo(label="third", **told)
    with pytest.raises(Exception, match="is the default already"):
        third.full_clean()


# ---------- pages ----------


def merge_page(pair):
    return reverse("shop:customer_merge", args=[pair[0].pk, pair[1].pk])


def merge_form(pair, **changes):
    told = {"stays": pair[0].pk, "why": "same telephone"}
    return {**told, "take_name": "first", "take_phone": "second", "take_email": "first", **changes}


@pytest.fixture(params=["merge", "different", "take_back", "ship_to", "ship_to_change"])
def write(request, pair, lead, act):
    """Each page that writes, with what it takes."""
    one, other = pair
    if request.param == "merge":
        return Write(
            url=merge_page(pair),
            data=merge_form(pair),
            role="warranty desk",
            refused_role="receiving",
            unknown=reverse("shop:customer_merge", args=[one.pk, 4711]),
            bad={"stays": ""},
            broken={"take_name": "first", "stays": "x"},
            history=other.history,
        )
    if request.param == "different":
        return Write(
            url=reverse("shop:customers_different", args=[one.pk, other.pk]),
            data={"why": "father and son"},
            role="receiving",
            refused_role="bench",
            unknown=reverse("shop:customers_different", args=[one.pk, one.pk]),
            bad={"why": " "},
        )
    if request.param == "take_back":
        merge = merge_customers(act=act(lead, why="x"), gone=other, stays=one, values={})
        return Write(
            url=reverse("shop:merge_take_back", args=[merge.pk]),
            data={"why": "two after all"},
            role="lead",
            refused_role="receiving",
            unknown=reverse("shop:merge_take_back", args=[4711]),
            bad={"why": ""},
            history=other.history,
        )
    data = {"label": "pier", "name": "Harrow", "address": "Pier 2\nSallow Bay", "is_default": "on"}
    if request.param == "ship_to":
        return Write(
            url=reverse("shop:ship_to_new", args=[one.pk]),
            data=data,
            role="receiving",
            refused_role="stores",
            unknown=reverse("shop:ship_to_new", args=[4711]),
            bad={"address": ""},
            history=ShipTo.history,
        )
    row = save_ship_to(act=act(lead), customer=one, label="yard", name="H", address="1 Quay")
    return Write(
        url=reverse("shop:ship_to_change", args=[row.pk]),
        data={**data, "retired": "on", "why": "the yard is sold"},
        role="warranty desk",
        refused_role="bench",
        unknown=reverse("shop:ship_to_change", args=[4711]),
        bad={"why": ""},
        history=row.history,
        why="the yard is sold",
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


def test_the_list_offers_both_ways_to_those_who_may(client, receiving, warranty_desk, pair):
    client.force_login(receiving)
    page = client.get(LIST).content.decode()
    assert "1 pair" in page
    assert "telephone" in page
    assert merge_page(pair) not in page
    client.force_login(warranty_desk)
    assert merge_page(pair) in client.get(LIST).content.decode()
    file = client.get(LIST, {"format": "csv"}).content.decode("utf-8-sig")
    assert "Harrow Lift Hire" in file
    assert "telephone" in file


def test_the_list_of_those_recorded_as_two(client, receiving, act, pair):
    client.force_login(receiving)
    assert "No pair was recorded as two" in client.get(LIST, {"show": "different"}).content.decode()
    record_different(act=act(receiving, why="father and son"), one=pair[0], other=pair[1])
    assert "father and son" in client.get(LIST, {"show": "different"}).content.decode()
    assert "Nobody seems to be entered twice" in client.get(LIST).content.decode()
    assert "father and son" in client.get(LIST, {"show": "different", "format": "csv"}).content.decode()


def test_the_page_shows_both_and_what_moves(client, lead, pair):
    client.force_login(lead)
    WorkOrderFactory(customer=pair[1])
    page = client.get(merge_page(pair)).content.decode()
    assert "Work orders" in page
    assert '<td class="num">1</td><td class="num">2</td>' in page
    answer = send(client, merge_page(pair), merge_form(pair, stays=pair[1].pk))
    assert answer.url == pair[1].get_absolute_url()
    pair[1].refresh_from_db()
    assert (pair[1].name, pair[1].email) == ("Harrow Lift Hire", "yard@example.com")


def test_notes_can_be_kept_both(client, lead, pair):
    client.force_login(lead)
    for row in pair:
        row.note = f"note {row.pk}"
        row.save()
    send(client, merge_page(pair), merge_form(pair, take_note="both"))
    pair[0].refresh_from_db()
    assert pair[0].note == f"note {pair[0].pk}\nnote {pair[1].pk}"


def test_a_pair_that_was_merged_meanwhile_leads_on(client, lead, act, pair):
    client.force_login(lead)
    merge_customers(act=act(lead, why="x"), gone=pair[1], stays=pair[0], values={})
    assert client.get(merge_page(pair)).url == pair[0].get_absolute_url()
    before = rows()
    answer = send(client, merge_page(pair), merge_form(pair))
    assert answer.status_code == 422
    assert "was merged into Harrow Lift Hire already" in answer.content.decode()
    assert rows() == before


def test_the_pages_of_both_point_to_each_other(client, lead, act, pair):
    client.force_login(lead)
    merge_customers(act=act(lead, why="same telephone"), gone=pair[1], stays=pair[0], values={})
    gone = client.get(pair[1].get_absolute_url()).content.decode()
    assert f'Merged into <a href="{pair[0].get_absolute_url()}">' in gone
    assert reverse("shop:customer_change", args=[pair[1].pk]) not in gone
    stays = client.get(pair[0].get_absolute_url()).content.decode()
    assert pair[1].get_absolute_url() in stays
    assert "same telephone" in stays
    assert "Harrow Lifthire: entered" in stays  # the history of the other row too


def test_the_other_row_is_searched_for(client, lead, pair):
    client.force_login(lead)
    url = reverse("shop:customer_merge_with", args=[pair[0].pk])
    page = client.get(url, {"q": "Lifthire"}).content.decode()
    assert merge_page(pair) in page
    assert "Nobody else matches" in client.get(url, {"q": "Harrow Lift Hire"}).content.decode()
    client.force_login(person("receiving"))
    assert client.get(url).status_code == 403


def test_an_address_that_is_retired_is_kept_and_not_offered(client, receiving, act, pair):
    row = save_ship_to(
        act=act(receiving), customer=pair[0], label="yard", name="H", address="1 Quay", is_default=True
    )
    save_ship_to(act=act(receiving, LATER, "sold"), ship_to=row, retired=True)
    row.refresh_from_db()
    assert (row.retired, row.is_default) == (True, False)
    assert not pair[0].ship_tos.in_use().exists()
    client.force_login(receiving)
    assert "no longer used" in client.get(pair[0].get_absolute_url()).content.decode()
    with pytest.raises(RuleBroken, match="Say why"):
        save_ship_to(act=act(receiving), ship_to=row, retired=False)

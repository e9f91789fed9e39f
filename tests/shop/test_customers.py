"""Customers: entered, found, told from their doubles, changed with a reason."""

import datetime as dt
import uuid

import pytest
from django.urls import reverse

from shop.changes import changes
from shop.errors import NotAllowed, RuleBroken
from shop.models import Customer
from shop.services.customers import find_customers, likely_duplicates, save_customer
from tests.asking import rows, send
from tests.conftest import NOW
from tests.factories import CustomerFactory, WorkOrderFactory, person

pytestmark = pytest.mark.django_db

LATER = NOW + dt.timedelta(days=1)
NEW = reverse("shop:customer_new")
LIST = reverse("shop:customers")
FULL = {
    "name": "Harrow Lift Hire",
    "kind": "trade",
    "phone": "+44 1632 960 017",
    "email": "yard@example.com",
    "street": "7 Ropewalk",
    "postcode": "TQ1 1AA",
    "town": "Southhaven",
    "country": "Ternland",
    "note": "",
    "seen": "",
}


def changed(customer, **fields):
    """The form of the change page as it stands, with some fields changed."""
    stands = {
        name: getattr(customer, name) for name in ("name", "kind", "phone", "email", "street", "postcode")
    }
    stands |= {name: getattr(customer, name) for name in ("town", "country", "note")}
    return {**stands, "why": "called and told us", **fields}


# ---------- the service ----------


def test_a_customer_is_entered_with_the_digits_of_the_telephone(receiving, act):
    row = save_customer(
        act=act(receiving), name=" Harrow Lift Hire ", phone="+44 (0)1632 960 017", town="Southhaven"
    )
    assert (row.name, row.phone_digits) == ("Harrow Lift Hire", "4401632960017")
    entered = row.history.get()
    assert (entered.history_user, entered.history_type) == (receiving, "+")


@pytest.mark.parametrize(
    ("fields", "wrong"),
    [({"name": " "}, "name"), ({"name": "A", "email": "no"}, "email"), ({"name": "A", "kind": "x"}, "kind")],
)
def test_a_wrong_customer_is_refused_field_by_field(receiving, act, fields, wrong):
    with pytest.raises(RuleBroken) as refused:
        save_customer(act=act(receiving), **fields)
    assert wrong in refused.value.fields
    assert not Customer.objects.exists()


def test_a_field_that_customers_lack_is_a_mistake_of_the_caller(receiving, act):
    with pytest.raises(TypeError, match="customers have no colour"):
        save_customer(act=act(receiving), name="A", colour="red")


def test_a_change_needs_a_reason_and_keeps_what_stood_before(receiving, act):
    row = save_customer(act=act(receiving), name="Harrow Lift Hire", town="Northhaven")
    with pytest.raises(RuleBroken, match="Say why"):
        save_customer(act=act(receiving), customer=row, town="Southhaven")
    save_customer(act=act(receiving, LATER, "moved house"), customer=row, town="Southhaven")
    change = changes(Customer.history.filter(id=row.pk))[0]
    assert (change.by, change.why) == (str(receiving), "moved house")
    assert change.lines == ("Town: was “Northhaven”, now “Southhaven”",)


@pytest.mark.parametrize("role", ["bench", "stores"])
def test_only_those_who_talk_to_customers_may_enter_one(role, act):
    with pytest.raises(NotAllowed, match="receiving or warranty desk or lead"):
        save_customer(act=act(person(role)), name="A")


# ---------- finding ----------


@pytest.mark.parametrize(
    "text", ["harrow", "Southh", "YARD@example", "960017", "1632 960 017", "harrow southhaven", "hire yard@"]
)
def test_a_customer_is_found_by_name_town_email_telephone_and_by_several_words(receiving, act, text):
    wanted = save_customer(act=act(receiving), **{k: v for k, v in FULL.items() if k != "seen"})
    CustomerFactory(name="Dock Office", town="Northhaven", phone="", phone_digits="")
    assert list(find_customers(text)) == [wanted]


@pytest.mark.parametrize("text", ["harrow northhaven", "960018", "017"])
def test_a_search_finds_nobody_who_does_not_match_every_word(receiving, act, text):
    save_customer(act=act(receiving), **{k: v for k, v in FULL.items() if k != "seen"})
    assert not find_customers(text).exists()


@pytest.mark.parametrize(
    "entry",
    [
        {"name": "harrow lift hire"},
        {"name": "J. Harrow", "phone": "01632 960017"},  # the same number without the country code
        {"name": "J. Harrow", "email": "Yard@Example.com"},
    ],
)
def test_the_same_name_telephone_or_email_is_a_likely_double(receiving, act, entry):
    wanted = save_customer(act=act(receiving), **{k: v for k, v in FULL.items() if k != "seen"})
    assert list(likely_duplicates(**entry)) == [wanted]


@pytest.mark.parametrize(
    "entry",
    [
        {"name": "Harrow"},
        {"name": "B", "phone": "01632 960018"},
        {"name": "B", "phone": "17"},
        {"name": "B", "phone": "", "email": ""},
    ],
)
def test_less_than_that_is_no_double(receiving, act, entry):
    save_customer(act=act(receiving), **{k: v for k, v in FULL.items() if k != "seen"})
    CustomerFactory(phone="", phone_digits="")
    assert not likely_duplicates(**entry).exists()


# ---------- pages ----------


def test_the_list_finds_and_pages_with_the_same_number_of_queries(
    client, receiving, django_assert_max_num_queries
):
    client.force_login(receiving)
    CustomerFactory.create_batch(10)
    client.get(LIST)
    with django_assert_max_num_queries(50) as few:
        client.get(LIST)
    CustomerFactory.create_batch(10)
    with django_assert_max_num_queries(len(few)):
        page = client.get(LIST).content.decode()
    assert "20 customers" in page
    CustomerFactory.create_batch(40)
    assert "Page 1 of 2" in client.get(LIST).content.decode()
    assert "No customer matches" in client.get(LIST, {"q": "zzz"}).content.decode()


def test_an_empty_list_says_so(client, receiving):
    client.force_login(receiving)
    assert "No customer yet" in client.get(LIST).content.decode()


def test_a_customer_is_entered_from_the_page(client, warranty_desk):
    client.force_login(warranty_desk)
    answer = send(client, NEW, FULL)
    row = Customer.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, row.get_absolute_url())
    assert row.history.get().history_user == warranty_desk


def test_a_double_tap_enters_one_customer_and_gives_the_same_answer(client, receiving):
    client.force_login(receiving)
    token = uuid.uuid4().hex
    first, second = send(client, NEW, FULL, token=token), send(client, NEW, FULL, token=token)
    assert (first.status_code, second.status_code) == (302, 302)
    assert first["Location"] == second["Location"]
    assert Customer.objects.count() == 1


def test_a_likely_double_is_shown_before_it_is_entered(client, receiving):
    client.force_login(receiving)
    there = CustomerFactory(name="Harrow Lift Hire")
    before, token = rows(), uuid.uuid4().hex
    answer = send(client, NEW, FULL, token=token)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert rows() == before
    assert "Perhaps in the books already" in page
    assert f'href="{there.get_absolute_url()}"' in page
    assert 'value="7 Ropewalk"' in page  # what was typed is kept
    anyway = send(client, NEW, {**FULL, "seen": str(there.pk)}, token=token)
    assert anyway.status_code == 302
    assert Customer.objects.filter(name="Harrow Lift Hire").count() == 2


def test_another_double_than_those_shown_is_shown_too(client, receiving):
    client.force_login(receiving)
    first = CustomerFactory(name="Harrow Lift Hire")
    second = CustomerFactory(email="yard@example.com")
    answer = send(client, NEW, {**FULL, "seen": str(first.pk)})
    assert answer.status_code == 422
    assert f'href="{second.get_absolute_url()}"' in answer.content.decode()


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("name", "", "This is still empty"),
        ("phone", "none", "This is not a telephone number"),
        ("email", "yard", "valid email address"),
        ("kind", "x", "Select a valid choice"),
    ],
)
def test_a_wrong_field_is_named_and_nothing_is_entered(client, receiving, field, value, sentence):
    client.force_login(receiving)
    before = rows()
    answer = send(client, NEW, {**FULL, field: value})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert rows() == before


def test_a_customer_is_changed_with_a_reason_that_the_page_shows(client, receiving):
    client.force_login(receiving)
    row = CustomerFactory(town="Northhaven")
    url = reverse("shop:customer_change", args=[row.pk])
    assert 'value="Northhaven"' in client.get(url).content.decode()
    answer = send(client, url, changed(row, town="Southhaven"))
    assert answer["Location"] == row.get_absolute_url()
    page = client.get(row.get_absolute_url()).content.decode()
    assert "Called and told us" in page
    assert "Town: was “Northhaven”, now “Southhaven”" in page
    assert row.history.latest().history_user == receiving


def test_a_change_without_a_reason_is_refused(client, receiving):
    client.force_login(receiving)
    row = CustomerFactory(town="Northhaven")
    before = rows()
    answer = send(client, reverse("shop:customer_change", args=[row.pk]), changed(row, town="X", why=" "))
    assert answer.status_code == 422
    row.refresh_from_db()
    assert row.town == "Northhaven"
    assert rows() == before


def test_the_page_of_a_customer_shows_work_orders_units_and_warranties(client, receiving):
    client.force_login(receiving)
    row = CustomerFactory()
    page = client.get(row.get_absolute_url()).content.decode()
    assert "Nothing was received from this customer yet" in page
    order = WorkOrderFactory(customer=row)
    assert order.number in client.get(row.get_absolute_url()).content.decode()


@pytest.mark.parametrize("name", ["customers", "customer", "customer_new", "customer_change"])
def test_signed_out_visitors_are_sent_to_sign_in(client, name):
    url = reverse(
        f"shop:{name}", args=[CustomerFactory().pk] if name in ("customer", "customer_change") else []
    )
    for answer in (client.get(url), send(client, url)):
        assert answer.status_code == 302
        assert answer["Location"].startswith(reverse("shop:sign_in"))


@pytest.mark.parametrize("role", ["bench", "stores"])
@pytest.mark.parametrize("name", ["customer_new", "customer_change"])
def test_roles_that_may_not_enter_customers_are_told_who_may(client, role, name):
    client.force_login(person(role))
    url = reverse(f"shop:{name}", args=[CustomerFactory().pk] if name == "customer_change" else [])
    before = rows()
    for answer in (client.get(url), send(client, url, FULL)):
        assert answer.status_code == 403
        assert "receiving or warranty desk or lead" in answer.content.decode()
    assert rows() == before


@pytest.mark.parametrize("name", ["customer", "customer_change"])
def test_an_unknown_customer_is_not_found(client, receiving, name):
    client.force_login(receiving)
    assert client.get(reverse(f"shop:{name}", args=[4711])).status_code == 404

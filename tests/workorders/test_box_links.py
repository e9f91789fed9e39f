"""The customer's link: one box, no sign-in, nothing of the shop's records."""

import datetime as dt
import re
import uuid
from html import unescape
from urllib.parse import parse_qsl, unquote, urlsplit

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.errors import RuleBroken
from shop.services.writing import Act
from tests.asking import rows, send
from tests.factories import CustomerFactory, ShopProfileFactory, person
from workorders.models import Box, BoxLink
from workorders.services import box_links, boxes
from workorders.services.boxes import Expected

pytestmark = pytest.mark.django_db
LINKS = reverse("workorders:box_links")
FORM = {
    "sender_as_written": "Sallow Bay Ferry",
    "what_1": "lift cylinder",
    "symptoms_1": "drips",
    "return_address": "Pier 2",
    "contact": "01632 960188",
    "customer_order": "PO 9",
}


@pytest.fixture
def link(receiving):
    """A link of today: the page asks the real clock whether it is good."""
    return box_links.make_link(act=Act(by=receiving), for_whom="the ferry", days=30)


def public(link):
    return reverse("workorders:announce", args=[link.token])


def slip(link):
    return reverse("workorders:announce_slip", args=[link.token])


def text_of(answer):
    return answer.content.decode()


def over(client, address):
    answer = client.get(address)
    return answer.status_code == 404 and "leads to nothing any more" in text_of(answer)


def test_a_stranger_announces_a_box_and_prints_its_slip(client, link, receiving):
    ShopProfileFactory()
    assert "Announce your box" in text_of(client.get(public(link)))
    assert over(client, slip(link))
    answer = send(client, public(link), FORM)
    assert (answer.status_code, answer["Location"]) == (302, public(link))
    row = Box.objects.get()
    assert (row.announced_how, row.announced_by, row.sender_as_written) == ("link", None, "Sallow Bay Ferry")
    assert (row.return_address, row.contact, row.customer_order) == ("Pier 2", "01632 960188", "PO 9")
    written = row.history.get()
    assert written.history_user == receiving
    assert written.history_change_reason == "filled in by the customer, by link"
    shown = text_of(client.get(public(link)))
    assert row.number in shown
    assert "Drain the unit" in shown
    paper = client.get(slip(link))
    assert paper["Content-Type"] == "application/pdf"
    assert "no-store" in paper["Cache-Control"]


def test_a_link_is_sent_by_an_e_mail_that_is_ready_to_read(client, receiving, settings):
    settings.PUBLIC_ADDRESS = "https://svc.example"
    client.force_login(receiving)
    customer = CustomerFactory(email="yard+1@example.com")
    address = f"{reverse('workorders:box_links')}?customer={customer.pk}"
    answer = send(client, address, {"for_whom": "their yard", "days": "7"})
    page = unescape(text_of(client.get(answer.url)))
    assert "The link for their yard is made." in page
    letter = urlsplit(re.search(r'href="(mailto:[^"]+)"', page)[1])
    assert (letter.scheme, unquote(letter.path)) == ("mailto", "yard+1@example.com")
    body = dict(parse_qsl(letter.query))["body"]
    assert f"https://svc.example{public(BoxLink.objects.get())}" in body


def test_a_double_tap_announces_one_box(client, link):
    token = uuid.uuid4().hex
    first, second = (send(client, public(link), FORM, token=token) for _ in range(2))
    assert first["Location"] == second["Location"]
    assert Box.objects.count() == 1


def test_a_link_is_good_for_one_box(client, link):
    send(client, public(link), FORM)
    before = rows()
    again = send(client, public(link), FORM)
    assert again.status_code == 422
    assert "announced by this address already" in text_of(again)
    assert rows() == before


def test_a_link_of_a_customer_makes_the_box_theirs_and_shows_nothing_of_them(client, receiving):
    customer = CustomerFactory(name="Marram Boat Lifts", street="3 Groyne Lane")
    link = box_links.make_link(act=Act(by=receiving), for_whom="their office", days=7, customer=customer)
    pages = text_of(client.get(public(link)))
    send(client, public(link), FORM)
    pages += text_of(client.get(public(link)))
    assert Box.objects.get().sender == customer
    for secret in ("Marram", "Groyne", "their office", receiving.printed_name, "/customers/", "/boxes/"):
        assert secret not in pages


def test_the_page_is_over_once_the_box_is_here(client, act, receiving, link):
    send(client, public(link), FORM)
    boxes.receive_box(act=act(receiving), box=Box.objects.get())
    assert over(client, public(link))
    assert over(client, slip(link))


def test_a_revoked_an_expired_and_an_unknown_link_look_the_same(client, receiving, link):
    answers = [text_of(client.get(reverse("workorders:announce", args=["x" * 43])))]
    box_links.revoke_link(act=Act(by=receiving), link=link)
    answers.append(text_of(client.get(public(link))))
    old = box_links.make_link(
        act=Act(by=receiving, at=timezone.now() - dt.timedelta(days=8)), for_whom="x", days=7
    )
    answers.append(text_of(client.get(public(old))))
    assert len(set(answers)) == 1
    assert "leads to nothing any more" in answers[0]
    before = rows()
    assert send(client, public(link), FORM).status_code == send(client, public(old), FORM).status_code == 404
    assert rows() == before


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"what_1": "", "symptoms_1": ""}, "Name at least one unit"),
        ({"what_1": "", "symptoms_1": "", "sender_as_written": ""}, "Name at least one unit"),
        ({"what_1": ""}, "Name at least one unit"),
        ({"further": "x" * 121}, "longer than 120 characters"),
        ({"sender_as_written": ""}, "This is still empty"),
        ({"sender_as_written": "x" * 201}, "at most 200"),
        ({"what_1": "x" * 121}, "at most 120"),
        ({"return_address": "x" * 401}, "at most 400"),
        ({"further": "x\n" * 21}, "more than 20 lines"),
        ({"website": "https://spam.example"}, "not filled in by hand"),
    ],
)
def test_a_form_that_is_wrong_is_shown_again_and_writes_nothing(client, link, change, message):
    before = rows()
    answer = send(client, public(link), {**FORM, **change})
    assert answer.status_code == 422
    assert message in text_of(answer)
    assert rows() == before


def test_a_form_without_its_token_is_refused(client, link):
    assert client.post(public(link), FORM).status_code == 400
    assert not Box.objects.exists()


def test_what_a_stranger_writes_is_shown_as_text(client, link, receiving):
    send(client, public(link), {**FORM, "what_1": "<script>alert(1)</script>"})
    client.force_login(receiving)
    assert "<script>alert(1)" not in text_of(client.get(Box.objects.get().get_absolute_url()))


def test_a_link_dies_with_the_right_of_its_maker(client, link, receiving):
    receiving.groups.clear()
    before = rows()
    answer = send(client, public(link), FORM)
    assert answer.status_code == 422
    assert "no longer good" in text_of(answer)
    assert rows() == before


def test_the_desk_makes_and_revokes_links(client):
    desk = person("warranty desk")
    client.force_login(desk)
    send(client, LINKS, {"for_whom": "the ferry", "days": "14"})
    row = BoxLink.objects.get()
    assert (row.made_by, row.expires_at - row.made_at, len(row.token)) == (desk, dt.timedelta(days=14), 43)
    assert f"https://svc.example{public(row)}" in text_of(client.get(LINKS))
    revoke = reverse("workorders:box_link_revoke", args=[row.pk])
    assert client.get(revoke).status_code == 405
    send(client, revoke)
    row.refresh_from_db()
    assert row.revoked_at
    assert row.history.first().history_user == desk
    assert public(row) not in text_of(client.get(LINKS))
    again = send(client, revoke)
    assert again.status_code == 422


def test_two_links_are_never_alike(receiving):
    made = [box_links.make_link(act=Act(by=receiving), for_whom="x", days=7).token for _ in range(20)]
    assert len(set(made)) == 20


def test_a_link_for_any_other_time_is_refused(client, receiving):
    client.force_login(receiving)
    before = rows()
    assert send(client, LINKS, {"for_whom": "x", "days": "3650"}).status_code == 422
    assert rows() == before
    with pytest.raises(RuleBroken) as error:
        box_links.make_link(act=Act(by=receiving), for_whom="x", days=3650)
    assert "days" in error.value.fields


def test_links_are_no_business_of_the_bench(client, link):
    client.force_login(person("bench"))
    assert client.get(LINKS).status_code == 403
    assert send(client, reverse("workorders:box_link_revoke", args=[link.pk])).status_code == 403


def test_a_service_refuses_a_used_link(act, receiving, link):
    told = {"expected": [Expected(what="x")], "sender_as_written": "y"}
    box_links.announce_by_link(act=Act(by=receiving), link=link, **told)
    with pytest.raises(RuleBroken, match="already"):
        box_links.announce_by_link(act=Act(by=receiving), link=link, **told)

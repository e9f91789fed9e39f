"""People, roles, sign-in and its slowing down."""

import pytest
from axes.models import AccessAttempt
from django.core.management import CommandError, call_command
from django.urls import reverse

from shop.errors import NotAllowed, RuleBroken
from shop.models import User
from shop.roles import ACTIONS, ROLES, may, refusal
from shop.services.people import change_person
from shop.services.writing import Act
from tests import factories
from tests.factories import PASSWORD
from tests.overtaking import meanwhile

pytestmark = pytest.mark.django_db
TOKEN = "b" * 32


@pytest.fixture
def as_lead(client, lead):
    client.force_login(lead)
    return client


def new_person(client, **data):
    given = {
        "username": "nils",
        "printed_name": "Nils Arden",
        "authority_no": "",
        "roles": ["bench"],
        "password": "a long enough one",
        "form_token": TOKEN,
        **data,
    }
    return client.post(reverse("shop:person_new"), given)


def test_the_lead_enters_a_person_who_can_then_sign_in(as_lead, client):
    assert new_person(as_lead).status_code == 302
    person = User.objects.get(username="nils")
    assert may(person, "teardown")
    assert not may(person, "release")
    as_lead.logout()
    data = {"username": "nils", "password": "a long enough one"}
    assert client.post(reverse("shop:sign_in"), data).status_code == 302


@pytest.mark.parametrize(
    "wrong",
    [{"password": "12345678"}, {"password": "short"}, {"roles": []}, {"username": ""}, {"printed_name": ""}],
    ids=["digits", "short", "no role", "no name", "no printed name"],
)
def test_a_person_entered_wrongly_is_refused_and_nothing_is_kept(as_lead, wrong):
    before = User.objects.count()
    assert new_person(as_lead, **wrong).status_code == 422
    assert User.objects.count() == before


def test_a_name_in_use_is_refused_in_words(as_lead, lead):
    response = new_person(as_lead, username=lead.username)
    assert response.status_code == 422
    assert "already exists" in response.content.decode()


@pytest.mark.parametrize("role", [role for role in ROLES if role != "lead"])
def test_other_roles_see_people_and_change_nobody(client, role):
    client.force_login(factories.person(role))
    assert client.get(reverse("shop:people")).status_code == 200
    assert new_person(client).status_code == 403
    assert not User.objects.filter(username="nils").exists()


def test_a_change_keeps_history_with_person_and_reason(as_lead, lead):
    person = factories.person("bench")
    data = {
        "printed_name": "New Name",
        "authority_no": "X1",
        "roles": ["stores"],
        "is_active": "on",
        "inch_units": "on",
        "why": "married",
        "form_token": TOKEN,
    }
    as_lead.post(reverse("shop:person", args=[person.pk]), data)
    latest = person.history.latest()
    assert (latest.printed_name, latest.history_user, latest.history_change_reason) == (
        "New Name",
        lead,
        "roles: stores, before: bench; married",
    )
    person = User.objects.get(pk=person.pk)
    assert may(person, "stores")
    assert not may(person, "teardown")
    assert person.inch_units
    shown = as_lead.get(reverse("shop:person", args=[person.pk])).context["form"]
    assert shown["inch_units"].value() is True


def test_the_last_lead_cannot_be_signed_out_for_good(as_lead, lead):
    data = {"printed_name": "L", "roles": ["lead"], "why": "leaves", "form_token": TOKEN}
    response = as_lead.post(reverse("shop:person", args=[lead.pk]), data)
    assert response.status_code == 422
    assert "at least one lead" in response.content.decode()
    lead.refresh_from_db()
    assert lead.is_active


@pytest.mark.django_db(transaction=True)
def test_two_leads_who_take_the_role_from_each_other_leave_one_lead():
    leads = [factories.person("lead"), factories.person("lead")]

    def bench_only(number):
        act = Act(by=leads[1 - number], why="helps at the bench")
        told = {"printed_name": "Robin Bench", "roles": ["bench"]}
        return lambda: change_person(act=act, person=leads[number], **told)

    _changed, refused = meanwhile(bench_only(0), bench_only(1))
    # Who waits finds the role gone from the other; who comes later finds it gone from themselves.
    assert isinstance(refused, RuleBroken | NotAllowed)
    assert User.objects.filter(groups__name="lead").count() == 1


def test_a_person_who_left_can_no_longer_do_anything(client, lead):
    person = factories.person("bench")
    client.force_login(person)
    person.is_active = False
    person.save()
    assert client.get("/").status_code == 302
    assert not may(person, "see")


def test_a_new_password_replaces_the_old_one(as_lead, client):
    person = factories.person("bench")
    address = reverse("shop:person_password", args=[person.pk])
    assert as_lead.post(address, {"password": "short", "form_token": TOKEN}).status_code == 422
    assert as_lead.post(address, {"password": "quite another one", "form_token": TOKEN}).status_code == 302
    person.refresh_from_db()
    assert person.check_password("quite another one")


def sign_in(client, username, password, address="10.0.0.5"):
    data = {"username": username, "password": password}
    return client.post(reverse("shop:sign_in"), data, REMOTE_ADDR=address)


def test_signing_in_leaves_no_history_row(client):
    person = factories.person("bench")
    before = person.history.count()
    assert sign_in(client, person.username, PASSWORD).status_code == 302
    assert person.history.count() == before


def test_failed_sign_ins_slow_one_name_at_one_address_and_nobody_else(client):
    clumsy, other = factories.person("bench"), factories.person("bench")
    for _ in range(5):
        sign_in(client, clumsy.username, "wrong")
    locked = sign_in(client, clumsy.username, PASSWORD)
    assert locked.status_code == 429
    assert sign_in(client, other.username, PASSWORD).status_code == 302
    client.logout()
    assert sign_in(client, clumsy.username, PASSWORD, address="10.0.0.6").status_code == 302


def test_the_slowing_ends_by_itself(client):
    import datetime as dt

    clumsy = factories.person("bench")
    for _ in range(5):
        sign_in(client, clumsy.username, "wrong")
    assert sign_in(client, clumsy.username, PASSWORD).status_code == 429
    for attempt in AccessAttempt.objects.all():
        attempt.attempt_time -= dt.timedelta(minutes=16)
        attempt.save()
        if hasattr(attempt, "expiration"):
            attempt.expiration.expires_at -= dt.timedelta(minutes=16)
            attempt.expiration.save()
    assert sign_in(client, clumsy.username, PASSWORD).status_code == 302


@pytest.mark.record_row("R34")
@pytest.mark.parametrize("action", ACTIONS)
def test_each_action_names_its_roles_in_the_refusal(action):
    allowed = ACTIONS[action][1]
    for role in ROLES:
        person = factories.person(role)
        assert may(person, action) == (role in allowed)
    nobody = factories.UserFactory()
    assert all(role in refusal(nobody, action) for role in allowed)


def test_the_first_lead_is_entered_once(monkeypatch):
    monkeypatch.setattr("getpass.getpass", lambda _prompt: "a long enough one")
    call_command("first_lead", username="first", printed_name="First Lead")
    assert may(User.objects.get(username="first"), "people")
    with pytest.raises(CommandError, match="entered already"):
        call_command("first_lead", username="second", printed_name="Second")

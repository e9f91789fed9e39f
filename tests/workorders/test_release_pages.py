"""The pages of release, reissue, side exit and shipping."""

import re

import pytest
from django.urls import reverse

from tests.factories import PASSWORD
from tests.workorders.journey import Journey
from tests.workorders.pdf_reading import text_of
from workorders.models import Parcel, Rebuild, Release

pytestmark = pytest.mark.django_db
TOKEN = "a" * 32


@pytest.fixture(scope="module")
def kept(keep):
    return keep(lambda: Journey().tested())


@pytest.fixture
def ready(kept):
    return kept()


@pytest.fixture
def as_lead(client, lead):
    client.force_login(lead)
    return client


@pytest.fixture
def as_clerk(client, receiving):
    client.force_login(receiving)
    return client


def sign(client, journey, **data):
    address = reverse("workorders:release_rebuild", args=[journey.rebuild.pk])
    return client.post(
        address, {"status": "overhauled", "remarks": "", "password": PASSWORD, "form_token": TOKEN, **data}
    )


@pytest.mark.record_row("R37")
def test_the_lead_signs_with_the_password_and_gets_the_certificate(as_lead, ready):
    response = sign(as_lead, ready)
    release = Release.objects.get()
    assert response.url == release.get_absolute_url()
    page = as_lead.get(response.url)
    assert release.signature.printed_name in page.content.decode()
    pdf = as_lead.get(release.certificate.get_absolute_url())
    assert (pdf["Content-Type"], pdf.content[:5]) == ("application/pdf", b"%PDF-")


@pytest.mark.record_row("R37")
def test_a_wrong_password_signs_nothing(as_lead, ready):
    response = sign(as_lead, ready, password="not mine")
    assert response.status_code == 422
    assert "nothing was signed" in response.content.decode()
    assert not Release.objects.exists()


def test_a_double_tap_signs_once(as_lead, ready):
    assert sign(as_lead, ready).url == sign(as_lead, ready).url
    assert Release.objects.count() == 1


@pytest.mark.record_row("R9")
@pytest.mark.parametrize("role", ["receiving", "bench", "warranty_desk", "stores"])
def test_nobody_else_can_sign_by_the_address(client, request, ready, role):
    client.force_login(request.getfixturevalue(role))
    response = sign(client, ready)
    assert response.status_code == 403
    assert not Release.objects.exists()


def test_the_page_lists_what_is_missing_with_links(as_lead):
    journey = Journey().receive().find()
    page = as_lead.get(reverse("workorders:release_rebuild", args=[journey.rebuild.pk])).content.decode()
    for name in ("teardown", "build", "go-ahead", "pressure test"):
        assert f"<b>{name}</b> is not" in page
    response = sign(as_lead, journey)
    assert response.status_code == 422
    assert "Not ready for release" in response.content.decode()


def test_signed_out_is_sent_to_sign_in(client, ready):
    assert sign(client, ready).url.startswith("/sign-in/")


@pytest.mark.parametrize(
    "address",
    ["/rebuilds/999/release/", "/releases/C99-0001/", "/shipments/S99-0001/", "/rebuilds/999/exit/"],
)
def test_an_unknown_thing_is_404(as_lead, address):
    assert as_lead.get(address).status_code == 404


@pytest.mark.record_row("R29")
def test_a_reissue_by_the_page_marks_the_old_one(as_lead, ready):
    ready.release()
    first = ready.released
    address = reverse("workorders:reissue", args=[first.number])
    data = {
        "status": "overhauled",
        "remarks": "",
        "why": "address corrected",
        "password": PASSWORD,
        "form_token": TOKEN,
    }
    assert as_lead.post(address, {**data, "why": ""}).status_code == 422
    assert as_lead.post(address, data).status_code == 302
    page = as_lead.get(first.get_absolute_url()).content.decode()
    assert "Replaced by" in page
    assert "address corrected" in page


@pytest.mark.record_row("R11")
def test_no_page_of_a_release_takes_a_change(as_lead, ready):
    ready.release()
    address = ready.released.get_absolute_url()
    for method in (as_lead.post, as_lead.put, as_lead.patch, as_lead.delete):
        assert method(address).status_code == 405


def test_the_tracking_number_can_come_later(as_clerk, ready):
    ready.release().ship()
    parcel = Parcel.objects.get()
    address = reverse("workorders:tracking", args=[parcel.pk])
    assert as_clerk.get(address).status_code == 405
    assert as_clerk.post(address, {"tracking": "", "form_token": TOKEN}).status_code == 422
    as_clerk.post(address, {"tracking": "CP 0042", "form_token": TOKEN})
    parcel.refresh_from_db()
    assert (parcel.tracking, parcel.carrier, parcel.taken_by) == ("CP 0042", "", "Coast Post")
    other = {"tracking": "QF 7", "carrier": "Quay Freight", "form_token": "b" * 32}
    as_clerk.post(address, other)
    parcel.refresh_from_db()
    assert (parcel.tracking, parcel.taken_by) == ("QF 7", "Quay Freight")


def test_a_side_exit_needs_a_reason_and_the_lead(client, lead, bench):
    journey = Journey().receive().find()
    address = reverse("workorders:side_exit", args=[journey.rebuild.pk])
    data = {"exit": "returned_as_found", "reason": "too worn", "form_token": TOKEN}
    client.force_login(bench)
    assert client.post(address, data).status_code == 403
    client.force_login(lead)
    assert client.post(address, {**data, "reason": ""}).status_code == 422
    assert client.get(reverse("workorders:as_found", args=[journey.rebuild.pk])).status_code == 404
    client.post(address, data)
    journey.rebuild.refresh_from_db()
    assert journey.rebuild.stage == Rebuild.Stage.RETURNED_AS_FOUND
    paper = client.get(reverse("workorders:as_found", args=[journey.rebuild.pk]))
    told = text_of(paper.content)
    assert "It would need" in told
    assert "to be renewed" in told
    assert not re.search("(?<!to be )(?<!was )renewed", told)


@pytest.mark.parametrize("name", ["shipments", "claims", "home"])
def test_lists_say_what_to_do_when_there_is_nothing(as_lead, name):
    page = as_lead.get(reverse(f"workorders:{name}"))
    assert page.status_code == 200
    assert 'class="empty"' in page.content.decode() or "No unit waits" in page.content.decode()

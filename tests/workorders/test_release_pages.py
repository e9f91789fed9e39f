"""The pages of release, reissue, side exit and shipping."""

from html import unescape

import pytest
from django.urls import reverse

from tests.factories import PASSWORD
from tests.workorders.journey import Journey
from workorders.models import Parcel, Rebuild, Release, Shipment
from workorders.services import shipping

pytestmark = pytest.mark.django_db
TOKEN = "a" * 32


@pytest.fixture
def ready():
    return Journey().tested()


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
    for name in ("teardown closed", "build closed", "go-ahead", "pressure test"):
        assert name in page
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


def ship_data(rebuild, **data):
    key = rebuild.pk
    return {
        "recipient": rebuild.work_order.customer_id,
        "address": "1 Quay",
        "carrier": "Coast Post",
        "parcels": "1",
        f"parcel_{key}": "1",
        f"packed_{key}": shipping.packing_items(rebuild),
        f"kept_{key}": "",
        f"caps_{key}": "on",
        "form_token": TOKEN,
        **data,
    }


@pytest.mark.record_row("R21")
def test_the_clerk_packs_against_the_intake_list(as_clerk, ready):
    ready.release()
    rebuild = ready.rebuild
    address = reverse("workorders:ship", args=[rebuild.work_order.number])
    page = unescape(as_clerk.get(address).content.decode())
    for item in shipping.packing_items(rebuild):
        assert item in page
    refused = as_clerk.post(address, ship_data(rebuild, **{f"packed_{rebuild.pk}": []}))
    assert refused.status_code == 422
    assert not Shipment.objects.exists()
    response = as_clerk.post(address, ship_data(rebuild))
    shipment = Shipment.objects.get()
    assert response.url == shipment.get_absolute_url()
    assert as_clerk.post(address, ship_data(rebuild)).url == response.url
    assert Shipment.objects.count() == 1
    assert "Warranty" in as_clerk.get(response.url).content.decode()


def test_a_parcel_that_the_shipment_does_not_have_is_refused(as_clerk, ready):
    ready.release()
    rebuild = ready.rebuild
    address = reverse("workorders:ship", args=[rebuild.work_order.number])
    response = as_clerk.post(address, ship_data(rebuild, **{f"parcel_{rebuild.pk}": "2"}))
    assert response.status_code == 422
    assert "has 1 parcels" in response.content.decode()


def test_the_tracking_number_can_come_later(as_clerk, ready):
    ready.release().ship()
    parcel = Parcel.objects.get()
    address = reverse("workorders:tracking", args=[parcel.pk])
    assert as_clerk.get(address).status_code == 405
    assert as_clerk.post(address, {"tracking": "", "form_token": TOKEN}).status_code == 422
    as_clerk.post(address, {"tracking": "CP 0042", "form_token": TOKEN})
    parcel.refresh_from_db()
    assert parcel.tracking == "CP 0042"


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
    assert paper.content[:5] == b"%PDF-"


@pytest.mark.parametrize("name", ["shipments", "claims", "home"])
def test_lists_say_what_to_do_when_there_is_nothing(as_lead, name):
    page = as_lead.get(reverse(f"workorders:{name}"))
    assert page.status_code == 200
    assert 'class="empty"' in page.content.decode() or "No unit waits" in page.content.decode()

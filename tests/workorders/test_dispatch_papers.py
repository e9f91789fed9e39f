"""Address labels of parcels and port tags of units: what they say, and that they fit."""

import pytest
from django.urls import reverse

from shop.documents.paper import POINTS_PER_MM
from tests.factories import ShopProfileFactory, person
from tests.workorders.journey import Journey
from tests.workorders.pdf_reading import character_boxes, pages_of, symbols_of, text_of
from workorders.documents.address_label import SIZE_MM, AddressLabel, address_labels_pdf
from workorders.documents.port_tag import CAUTION, PortTag
from workorders.services.dispatch_papers import address_labels, port_tags
from workorders.services.shipping import exit_rebuild

SHORT = {
    "sender": ("Tern Quay Rebuild Works", "4 Groyne Lane", "Sallow Bay"),
    "recipient": ("Marsh & Sons, workshop", "1 Quay", "Northhaven"),
    "shipment": "S26-0007",
    "parcel": 2,
    "parcels": 3,
    "carrier": "Coast Post",
    "tracking": "CP 4711",
}


def label(**changes):
    return AddressLabel(**{**SHORT, **changes})


def test_a_label_says_where_it_goes_and_which_parcel_it_is():
    (text,) = pages_of(address_labels_pdf([label()]))
    for part in ("Marsh & Sons, workshop", "Northhaven", "S26-0007, parcel 2 of 3", "Coast Post, CP 4711"):
        assert part in text
    assert "From: Tern Quay Rebuild Works, 4 Groyne Lane, Sallow Bay" in text


@pytest.mark.parametrize(
    "changes",
    [
        {"recipient": ("A" * 120, "Street " * 20, "Town")},
        {"recipient": ("Name", *(f"line {n}" for n in range(14)))},
        {"sender": ("Works " * 30,), "carrier": "Carrier " * 20, "tracking": "9" * 60},
    ],
    ids=["long", "many lines", "long sender"],
)
def test_long_texts_are_made_smaller_and_stay_on_the_label(changes):
    pdf = address_labels_pdf([label(**changes)])
    width = SIZE_MM[0] * POINTS_PER_MM
    assert all(left >= 0 and right <= width for left, right in character_boxes(pdf))
    told = text_of(pdf)
    assert all(line.split()[0] in told for line in label(**changes).recipient)


def test_the_same_labels_give_the_same_bytes_and_none_is_refused():
    assert address_labels_pdf([label()]) == address_labels_pdf([label()])
    with pytest.raises(ValueError, match="labels must be one or more"):
        address_labels_pdf([])


def test_a_tag_without_caps_says_so():
    tag = PortTag(serial="7F3K9QXM2", address="x", fluid_inside="HM 15", fluid_to_fill="HM 15")
    assert tag.as_label().lines == ("No caps", "Inside: HM 15", "Fill: HM 15", CAUTION)


def shipped_once():
    ShopProfileFactory()
    return Journey().tested().release().ship()


@pytest.fixture(scope="module")
def kept(keep):
    return keep(shipped_once)


@pytest.fixture
def shipped(db, kept):
    return kept()


def test_a_shipment_gives_its_labels_and_tags_from_the_stored_facts(shipped):
    (one,) = address_labels(shipped.shipment)
    assert one.recipient == (shipped.shipment.recipient.name, "1 Quay", "Northhaven")
    assert (one.parcel, one.parcels, one.shipment) == (1, 1, shipped.shipment.number)
    (tag,) = port_tags(shipped.shipment)
    revision = shipped.rebuild.revision
    assert tag.serial == shipped.unit.serial
    assert tag.fluid_to_fill == str(revision.service_fluid)
    assert set(tag.capped) == {port.code for port in revision.ports.exclude(fitting="plugged")}


def test_the_pages_serve_both_and_the_tag_leads_to_the_unit(client, shipped):
    client.force_login(person("receiving"))
    number = shipped.shipment.number
    page = client.get(shipped.shipment.get_absolute_url()).content.decode()
    labels, tags = (reverse(f"workorders:{name}", args=[number]) for name in ("address_labels", "port_tags"))
    assert labels in page
    assert tags in page
    assert f"{number}, parcel 1 of 1" in text_of(client.get(labels).content)
    answer = client.get(tags)
    assert answer["Content-Type"] == "application/pdf"
    (address,) = symbols_of(answer.content, dpi=300)
    assert address.endswith(f"/U/{shipped.unit.serial}")


def test_what_goes_back_as_found_gets_a_tag_that_says_so(client, db):
    journey = Journey().receive().find()
    exit_rebuild(
        act=journey.act("lead"), rebuild=journey.rebuild, exit="returned_as_found", reason="customer declined"
    )
    journey.ship()
    (tag,) = port_tags(journey.shipment)
    caps, inside, last, _caution = tag.as_label().lines
    assert caps == "Take off caps: P1"
    assert inside == f"Inside: {journey.rebuild.fluid_found}"
    assert last == "AS FOUND: not tested, do not fit"
    client.force_login(person("receiving"))
    tags = client.get(reverse("workorders:port_tags", args=[journey.shipment.number]))
    assert symbols_of(tags.content, dpi=300)[0].endswith(f"/U/{journey.unit.serial}")


def test_only_those_who_print_labels_and_only_by_get(client, shipped):
    labels = reverse("workorders:address_labels", args=[shipped.shipment.number])
    assert client.get(labels).status_code == 302
    client.force_login(person("receiving"))
    assert client.post(labels).status_code == 405
    assert client.get(reverse("workorders:port_tags", args=["S00-0000"])).status_code == 404
    client.force_login(person("stores"))
    assert client.get(labels).status_code == 403

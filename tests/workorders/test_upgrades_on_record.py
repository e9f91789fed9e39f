"""An upgraded material on the record, the page and the certificate: as the shop stated it that day."""

import dataclasses

import pytest
from django.urls import reverse

from inventory.services import kit_lines, kits
from inventory.services.upgrades import Upgrade
from tests.factories import person
from tests.workorders.journey import Journey
from tests.workorders.paper_samples import CERTIFICATE
from tests.workorders.pdf_reading import text_of
from workorders.documents.certificate import certificate_pdf
from workorders.services import build
from workorders.services.certificate import printed_again
from workorders.services.record.unit import unit_record
from workorders.services.releasing import signature_holds

pytestmark = pytest.mark.django_db
BETTER = Upgrade(reasons=("upgrade_heat",), original_polymer="CR")
SENTENCE = "NBR in place of CR: resists heat (stated by the shop)"


@pytest.fixture
def way():
    return Journey()


def state(way, upgrade):
    line = way.revision.kit.lines.get(position__code="S1")
    kit_lines.save_kit_line(
        act=way.act("lead", "new compound"),
        kit=line.kit,
        line=line,
        place=line.position,
        part=line.part,
        upgrade=upgrade,
    )


def parts(way):
    return unit_record(way.unit)["rebuilds"][0]["parts_used"]


def test_the_record_keeps_what_was_stated_that_day(client, way):
    state(way, BETTER)
    way.tested()
    state(way, Upgrade())
    way.release()
    assert [row.get("upgrade") for row in parts(way)] == [SENTENCE, None, None, None]
    text = text_of(way.released.certificate and printed_again(way.released)[0])
    assert f"S1 rod seal: {SENTENCE}" in text
    assert "statements of this shop and no result of the test" in text
    assert signature_holds(way.released)
    client.force_login(person("bench"))
    page = client.get(reverse("workorders:build", args=[way.rebuild.pk])).content.decode()
    assert f"Upgrade: {SENTENCE}" in page


def test_a_packed_kit_brings_it_along(way):
    state(way, BETTER)
    chosen = {line: line.part.lots.get() for line in way.revision.kit.lines.all()}
    packed = kits.pack_kit(act=way.act("stores"), kit=way.revision.kit, lots=chosen)
    way.receive().find().close_teardown().go_ahead()
    build.use_packed_kit(act=way.act("bench"), rebuild=way.rebuild, packed_kit=packed)
    assert [row.get("upgrade") for row in parts(way)] == [SENTENCE, None, None, None]


def test_spoiled_pieces_carry_none(way):
    state(way, BETTER)
    way.receive().find().close_teardown().go_ahead()
    line = way.revision.kit.lines.get(position__code="S1")
    used = build.use_part(
        act=way.act("bench"),
        rebuild=way.rebuild,
        place=line.position,
        lot=line.part.lots.get(),
        quantity=1,
        use="spoiled",
    )
    assert used.upgrade == ""


def test_without_an_upgrade_record_and_content_are_as_they_were(way):
    """A release of before: its content has no such key, holds, and prints the same bytes."""
    way.tested().release()
    assert all("upgrade" not in row for row in parts(way))
    before = printed_again(way.released)
    way.released.content["certificate"].pop("upgrades")
    assert printed_again(way.released) == before
    assert "Upgraded material" not in text_of(before[0])


def test_the_certificate_names_each_place_once():
    told = (
        ("S1 rod seal", SENTENCE),
        ("S3 port seal", "FKM in place of NBR: resists heat (stated by the shop)"),
    )
    pdf = certificate_pdf(dataclasses.replace(CERTIFICATE, upgrades=told))
    text = text_of(pdf)
    assert all(text.count(f"{place}: {words}") == 1 for place, words in told)

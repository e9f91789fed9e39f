"""The pages of the hoses: their findings, the photo of a port, and the number read at the build."""

import pytest
from django.urls import reverse

from shop.models import Hose
from tests import factories, writes
from tests.asking import picture, rows, send
from tests.factories import person
from tests.workorders.journey import Journey
from tests.workorders.test_hoses import building, hose, take_photo, torn_down, two_hoses
from workorders.models import Finding, HoseCheck, Photo
from workorders.services import hose_checks

pytestmark = pytest.mark.django_db
SOUND = {"condition": "sound", "cause": "none", "action": "kept", "note": ""}


@pytest.fixture(scope="module")
def kept(keep):
    return keep(two_hoses)


@pytest.fixture
def way(kept):
    return kept()


def url(way, name, *args):
    return reverse(f"workorders:{name}", args=[way.rebuild.pk, *args])


def write_of(way, name):
    """One act at a hose, ready to be sent."""
    common = {"role": "bench", "refused_role": "stores"}
    if name == "check_hose":
        building(way)
        data = {"number": "h1", "way": "on_port"}
        bad, broken = {"number": ""}, {"number": "H2"}
    elif name == "port_photo":
        data, bad, broken = {"photo": picture()}, {"photo": ""}, None
    else:
        data, bad, broken = SOUND, {"condition": "worn"}, {"condition": "cracked"}
        common["history"] = Finding.history
    args = ["hose"] if name == "finding" else []
    return writes.Write(
        url=url(way, name, *args, hose(way).pk),
        unknown=url(way, name, *args, 9999),
        data=data,
        bad=bad,
        broken=broken,
        **common,
    )


@pytest.fixture(params=["finding", "port_photo", "check_hose"])
def write(request, way):
    return write_of(way, request.param)


def test_each_act_is_written(client, write):
    writes.check_works(client, write)


def test_each_act_shows_its_form(client, write):
    writes.check_get(client, write)


def test_nobody_signed_out_writes(client, write):
    writes.check_signed_out(client, write)


def test_another_role_writes_nothing(client, write):
    writes.check_wrong_role(client, write)


def test_what_is_not_there_is_not_found(client, write):
    writes.check_unknown(client, write)


def test_a_bad_form_changes_nothing(client, write):
    writes.check_refused(client, write, write.bad)


def test_a_broken_rule_changes_nothing(client, write):
    if write.broken:
        writes.check_refused(client, write, write.broken)


@pytest.mark.parametrize("name", ["finding", "check_hose"])
def test_the_same_form_twice_is_one_record(client, way, name):
    writes.check_twice(client, write_of(way, name))


@pytest.fixture
def tech(client):
    client.force_login(person("bench"))
    return client


def page(client, address):
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def test_a_hose_that_stayed_away_starts_as_not_here(tech, way):
    text = page(tech, url(way, "finding", "hose", hose(way, "H2").pk))
    assert "This hose did not come with the unit, by the intake." in text
    assert 'value="not_here" ' in text
    assert text.count("checked") == 3  # condition, action and cause
    told = {**SOUND, "condition": "not_here", "action": "kept", "cause": "not_determined"}
    answer = send(tech, url(way, "finding", "hose", hose(way, "H2").pk), told)
    assert answer.status_code == 422
    assert "choose “nothing, not here”" in answer.content.decode()


def test_the_form_of_a_hose_asks_what_fits_a_hose(tech, way):
    text = page(tech, url(way, "finding", "hose", hose(way).pk))
    for words in ("chafed to the reinforcement", "leaking at the crimp", "Length as found", "end fitting"):
        assert words in text
    assert "rolled or spiralled" not in text
    assert "Why the lead keeps it" not in text
    assert "Never feel for a leak with a hand" in " ".join(text.split())
    other = page(tech, url(way, "finding", "port", way.revision.ports.first().pk))
    assert "chafed" not in other


def test_the_lead_keeps_a_swollen_hose_by_a_reason(client, way):
    client.force_login(person("lead"))
    address = url(way, "finding", "hose", hose(way).pk)
    told = {**SOUND, "condition": "swollen", "cause": "fluid"}
    assert "Why the lead keeps it" in page(client, address)
    assert send(client, address, told).status_code == 422
    assert send(client, address, {**told, "kept_reason": "test piece"}).status_code == 302
    assert Finding.objects.get().kept_reason == "test piece"


def test_the_teardown_asks_for_the_photo_first_and_then_no_more(tech, way):
    ask = url(way, "port_photo", hose(way).pk)
    text = page(tech, url(way, "teardown"))
    assert ask in text
    assert "Photo of port P1 with hose H1" in text
    assert send(tech, ask, {"photo": picture()}).url == url(way, "teardown") + "#hoses"
    assert Photo.objects.get(moment="port").port.code == "P1"
    assert ask not in page(tech, url(way, "teardown"))


def test_why_there_is_no_photo_is_said_at_the_hose(tech, way):
    address = url(way, "finding", "hose", hose(way).pk)
    assert "Why its port has no photo" in page(tech, address)
    send(tech, address, {**SOUND, "no_photo_reason": "came off in transport"})
    assert Finding.objects.get().no_photo_reason == "came off in transport"
    take_photo(way)
    assert "Why its port has no photo" in page(tech, address)  # what was said can be taken back


def test_a_photo_added_after_the_signature_says_why(tech, way):
    torn_down(way)
    ask = url(way, "port_photo", hose(way).pk)
    assert "Why it is added late" in page(tech, ask)
    before = rows()
    assert send(tech, ask, {"photo": picture()}).status_code == 422
    assert rows() == before
    assert send(tech, ask, {"photo": picture(), "why": "found on the other tablet"}).status_code == 302


def test_the_build_shows_which_hose_goes_where_and_what_is_to_be_read(tech, way):
    building(way)
    text = page(tech, url(way, "build"))
    assert "Hoses to ports" in text
    assert "number to be read" in text
    assert "banjo, to pump" in text
    assert "not with this unit" in text
    answer = send(tech, url(way, "check_hose", hose(way).pk), {"number": "H1", "way": "on_port"})
    assert answer.url == url(way, "build") + "#hoses"
    text = page(tech, url(way, "build"))
    assert "number H1 read" in text
    assert "number to be read" not in text


def test_a_wrong_hose_is_named_with_its_port(tech, way):
    building(way)
    answer = send(tech, url(way, "check_hose", hose(way).pk), {"number": "H2", "way": "on_port"})
    assert "This is hose H2, which belongs on port P2 bore side" in answer.content.decode()
    assert not HoseCheck.objects.exists()


def test_a_fixed_hose_is_not_asked_how_it_goes_out(tech, way):
    building(way)
    Hose.objects.filter(pk=hose(way).pk).update(attachment="fixed")
    assert "How it goes out" not in page(tech, url(way, "check_hose", hose(way).pk))
    send(tech, url(way, "check_hose", hose(way).pk), {"number": "H1"})
    assert HoseCheck.objects.get().way == "on_port"


def test_a_unit_without_hoses_shows_no_table_of_them(tech):
    way = Journey(revision=bare()).receive(hoses=[])
    assert "Hoses to ports" not in page(tech, url(way, "build"))
    assert not any(row.hose for row in hose_checks.port_hoses(way.rebuild))


def bare():
    revision = factories.TypeRevisionFactory()
    factories.PortFactory(revision=revision, code="P1")
    return revision

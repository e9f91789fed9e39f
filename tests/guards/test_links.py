"""Every link and every form that a page offers is one that its reader may use."""

import re
from html import unescape
from urllib.parse import urljoin

import pytest
from django.urls import resolve

from shop.roles import ROLES, may
from tests import every_address, factories
from tests.every_address import PAGE
from tests.world import World

OFFERED = re.compile(r'<(?:a|form)\b[^>]*?\s(?:href|action)="([^"#?]*)[^"]*"')


def refused_offers(client, person, address):
    """Return what a page offers to a person who may not use it."""
    answer = client.get(address, follow=True)
    if answer.status_code == 403:
        return []
    page = answer.request["PATH_INFO"]
    found = {urljoin(page, unescape(link)) for link in OFFERED.findall(answer.content.decode()) if link}
    return [link for link in sorted(found) if not _may_use(person, link)]


def _may_use(person, link):
    if not link.startswith("/") or link.startswith("/static/"):
        return True
    action = getattr(resolve(link).func, "action", None)
    return action is None or may(person, action)


@pytest.mark.django_db
def test_no_page_offers_what_its_reader_may_not_do(client):
    world = World()
    examples = [each for each in every_address.addresses(world) if each.kind == PAGE]
    wrong = set()
    for role in ROLES:
        client.force_login(world.people[role])
        for example in examples:
            for link in refused_offers(client, world.people[role], example.address):
                wrong.add(f"{role}: {example.name} offers {resolve(link).view_name}")
    assert not wrong, "\n".join(sorted(wrong))


@pytest.mark.parametrize(("role", "found"), [("lead", []), ("stores", ["/receive/"])])
def test_an_offer_that_is_refused_is_found(db, role, found):
    """A page that offers receiving is wrong for stores and right for the lead."""

    class Served:
        status_code, request = 200, {"PATH_INFO": "/"}
        content = b'<a class="act" href="/receive/?q=x">In</a><a href="#top">Up</a><a href="/lots/">Lots</a>'

    class Client:
        def get(self, _address, follow):
            return Served()

    assert refused_offers(Client(), factories.person(role), "/") == found

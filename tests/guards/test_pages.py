"""Guards over every address of the project: answers, headings, roles, signed-out, methods.

One world of rows is made for the whole module; each address comes from tests/every_address.py, where a
new URL pattern must be added before anything here passes. The marker ``django_db`` stays on the tests:
without one in the run the test database is not made, and the world would land in the real one.
"""

import re
from html import unescape
from http import HTTPStatus
from urllib.parse import urljoin

import pytest
from django.db import transaction
from django.test import Client, override_settings
from django.urls import resolve

from shop.roles import ROLES, may
from tests import factories
from tests.every_address import (
    IMAGE,
    JSON,
    PAGE,
    PDF,
    POST_ONLY,
    REDIRECT,
    SIGNED_OUT,
    TABLE_FILE,
    ZIP,
    addresses,
)
from tests.world import World

OPEN_TO_STRANGERS = (
    "workorders:announce",
    "workorders:announce_slip",
    "workorders:rig_traces",  # asks for the token of a rig
    "workorders:unit",
    "workorders:unit_scanned",
    "shop:sign_in",
)
ANSWERS = {
    PAGE: (HTTPStatus.OK, "text/html"),
    SIGNED_OUT: (HTTPStatus.OK, "text/html"),
    PDF: (HTTPStatus.OK, "application/pdf"),
    ZIP: (HTTPStatus.OK, "application/zip"),
    IMAGE: (HTTPStatus.OK, "image/"),
    JSON: (HTTPStatus.OK, "application/json"),
    TABLE_FILE: (HTTPStatus.OK, "text/csv"),
    POST_ONLY: (HTTPStatus.METHOD_NOT_ALLOWED, ""),
    REDIRECT: (HTTPStatus.FOUND, ""),
}
OFFERED = re.compile(r'<(?:a|form)\b[^>]*?\s(?:href|action)="([^"#?]*)[^"]*"')


@pytest.fixture(scope="module")
def world(django_db_setup, django_db_blocker, tmp_path_factory):
    folder = tmp_path_factory.mktemp("files")
    with (
        django_db_blocker.unblock(),
        override_settings(
            FILES_DIR=folder, PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"]
        ),
        transaction.atomic(),
    ):
        made = World()
        made.folder = folder
        made.examples = list(addresses(made))
        made.answers = {}
        yield made
        transaction.set_rollback(True)


@pytest.fixture
def visit(world, settings):
    """Ask for an address as a role, or as a stranger; a page is asked for once in the module."""
    settings.FILES_DIR = world.folder
    clients = {}

    def ask(address, role=None, method="get"):
        if (address, role, method) in world.answers:
            return world.answers[address, role, method]
        if role not in clients:
            clients[role] = Client(raise_request_exception=True)
            if role:
                clients[role].force_login(world.people[role])
        answer = getattr(clients[role], method)(address)
        if method == "get" and not answer.streaming:
            world.answers[address, role, method] = answer
        return answer

    return ask


def heading_faults(html):
    """What is wrong with the headings and the code of a page."""
    faults = []
    count = len(re.findall(r"<h1[\s>]", html))
    if count != 1:
        faults.append(f"{count} h1")
    if re.search(r"<[^>]+\sstyle=", html):
        faults.append("inline style")
    if re.search(r"<script(?![^>]*\ssrc=)[^>]*>\s*\S", html):
        faults.append("inline script")
    if re.search(r"<[^>]+\son(click|load|submit|change)=", html):
        faults.append("inline handler")
    if re.search(r"""(src|href)=["'](https?:)?//(?!www\.w3\.org)""", html):
        faults.append("content of another host")
    ids = re.findall(r'\sid="([^"]+)"', html)
    twice = {name for name in ids if ids.count(name) > 1}
    if twice:
        faults.append(f"ids twice: {sorted(twice)}")
    return faults


@pytest.mark.django_db
def test_every_page_answers_with_one_heading_and_no_inline_code(world, visit):
    faults = {}
    for example in world.examples:
        response = visit(example.address, None if example.kind == SIGNED_OUT else "lead")
        status, content = ANSWERS[example.kind]
        found = [] if response.status_code == status else [f"status {response.status_code}"]
        if not response.get("Content-Type", "").startswith(content):
            found.append(response["Content-Type"])
        if example.kind == PAGE:
            found += heading_faults(response.content.decode())
            if "Content-Security-Policy" not in response:
                found.append("no content security policy")
        if found:
            faults[example.address] = found
    assert faults == {}


@pytest.mark.parametrize(
    ("html", "fault"),
    [
        ("<p>no heading</p>", "0 h1"),
        ("<h1>a</h1><h1>b</h1>", "2 h1"),
        ("<h1>a</h1><p style='x'>", "inline style"),
        ("<h1>a</h1><script>alert(1)</script>", "inline script"),
        ("<h1>a</h1><p onclick='x'>", "inline handler"),
        ('<h1>a</h1><img src="//cdn.example/x.png">', "content of another host"),
        ('<h1>a</h1><p id="a"><p id="a">', "ids twice: ['a']"),
    ],
)
def test_a_faulty_page_is_seen(html, fault):
    assert heading_faults(html) == [fault]


@pytest.mark.django_db
def test_a_stranger_is_sent_to_sign_in_from_everywhere_else(world, visit):
    wrong = {}
    for example in world.examples:
        if example.name in OPEN_TO_STRANGERS:
            continue
        method = "post" if example.kind == POST_ONLY else "get"
        response = visit(example.address, method=method)
        sent = response.status_code == 302 and response.url.startswith("/sign-in/")
        if not sent and example.name != "shop:sign_out":
            wrong[example.address] = response.status_code
    assert wrong == {}


@pytest.mark.record_row("R34")
@pytest.mark.django_db
@pytest.mark.one_database
def test_every_address_keeps_to_the_table_of_roles(world, visit):
    wrong = []
    for example in world.examples:
        if example.kind in (SIGNED_OUT, REDIRECT) or example.name in (*OPEN_TO_STRANGERS, "shop:sign_out"):
            continue
        action = getattr(resolve(example.address.split("?")[0]).func, "action", None)
        if action is None:
            wrong.append(f"{example.name} names no action")
            continue
        method = "post" if example.kind == POST_ONLY else "get"
        for role in ROLES:
            refused = visit(example.address, role, method).status_code == 403
            if refused == may(world.people[role], action):
                wrong.append(f"{example.address} as {role}")
    assert wrong == []


def refused_offers(person, address, html):
    """Return what a page offers to a person who may not use it."""
    found = {urljoin(address, unescape(link)) for link in OFFERED.findall(html) if link}
    return [link for link in sorted(found) if not _may_use(person, link)]


def _may_use(person, link):
    if not link.startswith("/") or link.startswith("/static/"):
        return True
    action = getattr(resolve(link).func, "action", None)
    return action is None or may(person, action)


@pytest.mark.django_db
@pytest.mark.one_database
def test_no_page_offers_what_its_reader_may_not_do(world, visit):
    wrong = set()
    for example in world.examples:
        for role in ROLES if example.kind == PAGE else ():
            answer = visit(example.address, role)
            if answer.status_code == 200:
                for link in refused_offers(world.people[role], example.address, answer.content.decode()):
                    wrong.add(f"{role}: {example.name} offers {resolve(link).view_name}")
    assert not wrong, "\n".join(sorted(wrong))


@pytest.mark.parametrize(("role", "found"), [("lead", []), ("stores", ["/receive/"])])
def test_an_offer_that_is_refused_is_found(db, role, found):
    """A page that offers receiving is wrong for stores and right for the lead."""
    html = '<a class="act" href="/receive/?q=x">In</a><a href="#top">Up</a><a href="/lots/">Lots</a>'
    assert refused_offers(factories.person(role), "/", html) == found


@pytest.mark.django_db
def test_an_unknown_address_has_a_page_of_its_own(visit):
    response = visit("/no-such-page/", "lead")
    assert response.status_code == 404
    assert heading_faults(response.content.decode()) == []


def test_the_500_page_needs_no_database():
    from django.test import RequestFactory
    from django.views.defaults import server_error

    # No database access is allowed in this test: a query would raise.
    response = server_error(RequestFactory().get("/"))
    assert response.status_code == 500
    assert heading_faults(response.content.decode()) == []

"""What every page that writes is asked, for tests that only say which page and with what."""

import uuid
from dataclasses import dataclass, field
from typing import Any

from tests.asking import rows, send
from tests.factories import person


@dataclass(kw_only=True)
class Write:
    """One page that writes: what it takes, what it refuses, and who may not use it."""

    url: str
    data: dict[str, Any] = field(default_factory=dict)
    role: str
    refused_role: str
    unknown: str = ""  # the same page of a thing that does not exist
    bad: dict[str, Any] | None = None  # None where the page is a single button
    broken: dict[str, Any] | None = None  # passes the form, breaks a rule of the shop
    history: Any = None  # the queryset of history rows to which this write adds
    why: str | None = None  # the reason that the history row carries, where the page asks for one


def check_works(client, write):
    """The write is made, leads on, and names the person and the reason."""
    user = person(write.role)
    client.force_login(user)
    before = rows()
    answer = send(client, write.url, write.data)
    assert answer.status_code == 302, answer.content.decode()
    assert client.get(answer.url).status_code == 200
    assert rows() != before
    if write.history is not None:
        row = write.history.latest("history_id")
        assert row.history_user == user
        assert row.history_change_reason
        if write.why is not None:
            assert row.history_change_reason == write.why


def check_get(client, write):
    """A page with a form shows it; a single button refuses GET."""
    client.force_login(person(write.role))
    before = rows()
    assert client.get(write.url).status_code == (405 if write.bad is None else 200)
    assert rows() == before


def check_signed_out(client, write):
    """Nobody who is signed out writes anything."""
    before = rows()
    answer = send(client, write.url, write.data)
    assert answer.status_code == 302
    assert answer.url.startswith("/sign-in/")
    assert rows() == before


def check_wrong_role(client, write):
    """Another role is told who may, and nothing changes."""
    client.force_login(person(write.refused_role))
    before = rows()
    answer = send(client, write.url, write.data)
    assert answer.status_code == 403
    assert "Ask somebody from" in answer.content.decode()
    assert rows() == before


def check_unknown(client, write):
    """A thing that does not exist is not found."""
    client.force_login(person(write.role))
    before = rows()
    assert send(client, write.unknown, write.data).status_code == 404
    assert rows() == before


def check_refused(client, write, changes):
    """A form with these changes comes back with 422 and the values kept; nothing changes."""
    client.force_login(person(write.role))
    before = rows()
    answer = send(client, write.url, {**write.data, **changes})
    assert answer.status_code == 422
    assert "Nothing was saved" in answer.content.decode()
    assert rows() == before


def check_twice(client, write):
    """The same form sent twice makes one record and gives the same answer."""
    client.force_login(person(write.role))
    token = uuid.uuid4().hex
    first = send(client, write.url, write.data, token=token)
    after = rows()
    second = send(client, write.url, write.data, token=token)
    assert (first.status_code, second.status_code) == (302, 302)
    assert second.url == first.url
    assert rows() == after

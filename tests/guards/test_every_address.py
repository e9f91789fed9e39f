"""Every URL pattern has an example address that answers as the table says."""

from http import HTTPStatus

import pytest
from django.urls import path

from tests import every_address
from tests.every_address import IMAGE, JSON, PAGE, PDF, POST_ONLY, REDIRECT, SIGNED_OUT, TABLE_FILE
from tests.world import World

ANSWERS = {
    PAGE: (HTTPStatus.OK, "text/html"),
    SIGNED_OUT: (HTTPStatus.OK, "text/html"),
    PDF: (HTTPStatus.OK, "application/pdf"),
    IMAGE: (HTTPStatus.OK, "image/"),
    JSON: (HTTPStatus.OK, "application/json"),
    TABLE_FILE: (HTTPStatus.OK, "text/csv"),
    POST_ONLY: (HTTPStatus.METHOD_NOT_ALLOWED, ""),
    REDIRECT: (HTTPStatus.FOUND, ""),
}


@pytest.mark.django_db
def test_every_address_answers_as_its_kind_says(client):
    world = World()
    wrong = []
    for example in every_address.addresses(world):
        client.logout()
        if example.kind != SIGNED_OUT:
            client.force_login(world.people["lead"])
        answer = client.get(example.address)
        status, content = ANSWERS[example.kind]
        if answer.status_code != status or not answer.get("Content-Type", "").startswith(content):
            wrong.append(f"{example} gave {answer.status_code} {answer.get('Content-Type')}")
    assert not wrong


def test_a_pattern_without_an_example_is_named():
    class NoRows:
        """Stands for a world: it is not asked before the names are compared."""

    patterns = [path("a-new-page/", lambda request: None, name="a_new_page")]
    with pytest.raises(LookupError, match="a_new_page"):
        every_address.addresses(NoRows(), patterns)

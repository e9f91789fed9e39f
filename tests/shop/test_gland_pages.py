"""Glands in the catalogue: where the groove is, and the dimensions that read one."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.asking import send
from tests.factories import DimensionLimitFactory, PositionFactory, TypeRevisionFactory

pytestmark = pytest.mark.django_db
POSITION = {"code": "S7", "name": "rod seal", "order": 7, "kind": "rod_seal", "motion": "reciprocating"}


def page(name, *args):
    return reverse(f"shop:{name}", args=args)


@pytest.fixture
def draft():
    return TypeRevisionFactory(state="draft")


@pytest.fixture
def seat(draft):
    return PositionFactory(revision=draft, code="S1")


def test_a_dimension_reads_a_gland_of_its_own_revision_only(client, lead, draft, seat):
    client.force_login(lead)
    stray = PositionFactory(code="X9", name="stray")
    url = page("place_new", draft.pk, "dimension")
    text = client.get(url).content.decode()
    assert f">{seat}</option>" in text
    assert str(stray) not in text
    told = {"code": "D7", "name": "groove", "order": 1, "quantity": "groove", "unit": "mm", "stations": 1}
    told |= {"basis": "drawing 12", "gland_figure": "depth", "required": "on"}
    assert send(client, url, {**told, "position": stray.pk}).status_code == 422
    assert send(client, url, told).status_code == 422  # a figure of which gland?
    assert send(client, url, {**told, "position": seat.pk}).status_code == 302
    (row,) = draft.dimension_limits.all()
    assert (row.position, row.gland_figure, row.lower) == (seat, "depth", None)
    shown = client.get(draft.unit_type.get_absolute_url()).content.decode()
    assert "gland depth of S1, judged by the sum of the gland" in shown


def test_dimensions_of_glands_cost_the_page_nothing_more(client, lead, draft, seat):
    client.force_login(lead)
    url, costs = draft.unit_type.get_absolute_url(), []
    for _ in range(2):
        for _ in range(3):
            DimensionLimitFactory(revision=draft, quantity="groove", position=seat, gland_figure="depth")
        with CaptureQueriesContext(connection) as queries:
            client.get(url)
        costs.append(len(queries))
    assert costs[0] == costs[1]


def test_a_position_shows_where_its_groove_is(client, lead, draft, seat):
    client.force_login(lead)
    url = page("place_change", draft.pk, "position", seat.pk)
    told = {**POSITION, "arrangement": "rod", "clearance_max_mm": "0.1"}
    assert send(client, url, told).status_code == 302
    text = client.get(draft.unit_type.get_absolute_url()).content.decode()
    assert "groove in the outer part" in text

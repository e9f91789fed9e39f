"""How far a place is corroded and pitted: graded at teardown, by the grades of rework."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse

from shop.errors import RuleBroken
from tests.asking import rows, send
from tests.workorders.journey import Journey
from workorders.forms.finding import FindingForm
from workorders.models import Finding
from workorders.services import teardown
from workorders.services.record.unit import rebuild_record

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def kept(keep):
    return keep(lambda: Journey().receive())


@pytest.fixture
def way(kept, client):
    made = kept()
    client.force_login(made.act("bench").by)
    return made


def barrel(way):
    return way.revision.components.get(code="K1")


def find(way, why="", **told):
    row = {"condition": "corroded", "cause": "corrosion", "action": "reworked", **told}
    return teardown.record_finding(act=way.act("bench", why), rebuild=way.rebuild, place=barrel(way), **row)


def page_of(way, place=None):
    place = place or barrel(way)
    kind = "position" if hasattr(place, "motion") else "component"
    return reverse("workorders:finding", args=[way.rebuild.pk, kind, place.pk])


FORM = {"condition": "corroded", "cause": "corrosion", "action": "reworked", "note": ""}


def test_grades_stand_on_the_page_on_papers_and_in_the_record(client, way):
    answer = send(client, page_of(way), {**FORM, "corrosion": "moderate", "pitting": "light"})
    assert answer.status_code == 302
    row = Finding.objects.get()
    assert (row.corrosion, row.pitting) == ("moderate", "light")
    assert row.grades == "Corrosion moderate, pitting light."
    assert row.history.get().history_user == way.people["bench"]
    assert "Corrosion moderate, pitting light." in client.get(answer.url).content.decode()
    told = rebuild_record(way.rebuild)["findings"][0]
    assert (told["corrosion"], told["pitting"]) == ("moderate", "light")
    assert row.note_in_full == "Corrosion moderate, pitting light."


def test_not_graded_is_an_answer_and_leaves_the_record_as_it_was(client, way):
    assert send(client, page_of(way), FORM).status_code == 302
    assert Finding.objects.get().grades == ""
    assert "corrosion" not in rebuild_record(way.rebuild)["findings"][0]


@pytest.mark.parametrize("grades", [{"corrosion": "none"}, {"corrosion": "none", "pitting": "none"}])
def test_what_is_corroded_has_more_than_none_of_one(client, way, grades):
    before = rows()
    answer = send(client, page_of(way), {**FORM, **grades})
    assert answer.status_code == 422
    assert "one of the two is more than none" in answer.content.decode()
    assert rows() == before


def test_a_grade_of_its_own_scale_only(client, way):
    answer = send(client, page_of(way), {**FORM, "pitting": "gone"})
    assert answer.status_code == 422
    assert not Finding.objects.exists()


def test_another_condition_takes_the_grades_along(client, way):
    find(way, corrosion="heavy")
    told = {**FORM, "condition": "worn", "cause": "wear", "corrosion": "heavy"}
    assert send(client, page_of(way), told).status_code == 302
    row = Finding.objects.get()
    assert (row.condition, row.grades) == ("worn", "")
    assert [each.corrosion for each in row.history.order_by("history_id")] == ["heavy", ""]


def test_a_seal_is_not_graded(client, way):
    seal = client.get(page_of(way, way.revision.positions.first())).content.decode()
    assert 'name="corrosion"' not in seal
    assert 'name="corrosion"' in client.get(page_of(way)).content.decode()


def test_rework_at_that_place_starts_from_the_grades_found(client, way):
    find(way, corrosion="moderate", pitting="light")
    address = reverse("workorders:operation", args=[way.rebuild.pk])
    place = f"component-{barrel(way).pk}"
    form = client.get(address, {"kind": "corrosion_removed", "place": place}).context["form"]
    assert (form["corrosion_before"].value(), form["pitting_before"].value()) == ("moderate", "light")
    for other in ("component-0", "component-x", "pk-1", "unit", "component-" + "9" * 30):
        form = client.get(address, {"kind": "corrosion_removed", "place": other}).context["form"]
        assert not form["corrosion_before"].value()


@pytest.mark.parametrize(
    "told",
    [
        {"condition": "worn", "corrosion": "light"},
        {"corrosion": "none", "pitting": "none"},
        {"pitting": "none"},
    ],
)
def test_the_service_and_the_database_refuse_a_grade_that_contradicts(way, told):
    with pytest.raises(RuleBroken, match="Only what is corroded or pitted is graded"):
        find(way, **told)
    row = Finding(
        rebuild=way.rebuild,
        component=barrel(way),
        found_at=way.now,
        found_by=way.people["bench"],
        **{"condition": "corroded", "cause": "corrosion", "action": "reworked", **told},
    )
    with pytest.raises(ValidationError, match="is graded"):
        row.full_clean()
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


def test_a_form_hides_nothing_that_stands(way):
    row = find(way, corrosion="heavy")
    form = FindingForm(place=barrel(way), finding=row, signed=False)
    assert form["corrosion"].value() == "heavy"

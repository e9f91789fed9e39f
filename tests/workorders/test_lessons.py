"""Lessons from the bench: written in one field, seen at once at their place, reviewed by the lead."""

import datetime as dt

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from shop.errors import NotAllowed, RuleBroken
from shop.services import catalogue
from tests import factories, writes
from tests.asking import picture, rows, send
from tests.workorders.journey import Journey
from tests.writes import Write
from workorders.models import Lesson, LessonReview
from workorders.services import lessons
from workorders.services.bench_technique import bench_technique
from workorders.services.record.unit import rebuild_record

pytestmark = pytest.mark.django_db
WORDS = "Turn the gland nut left: it is left-hand."
THEN = dt.datetime(2026, 3, 2, tzinfo=dt.UTC)


@pytest.fixture(scope="module")
def kept(keep):
    return keep(lambda: Journey().receive())


@pytest.fixture
def way(kept):
    return kept()


def seal(way, code="S1"):
    return way.revision.positions.get(code=code)


def write(way, role="bench", step="teardown", text=WORDS, **told):
    return lessons.write_lesson(act=way.act(role), rebuild=way.rebuild, step=step, text=text, **told)


def shown(way, step="teardown", place=None):
    (known,) = bench_technique([way.rebuild], step=step, place=place)
    return [row.text for row in known.lessons]


# ---------- written ----------


def test_a_lesson_keeps_who_when_where_and_the_photo(way):
    row = write(way, place=seal(way), photo=picture())
    assert (row.by, row.at, row.place, row.rebuild) == (way.people["bench"], way.now, seal(way), way.rebuild)
    assert row.photo.content_type == "image/jpeg"
    assert row.state == "not reviewed"


@pytest.mark.parametrize(
    ("told", "words"),
    [({"text": "  "}, "Write what was learned"), ({"step": "polishing"}, "is not a valid choice")],
)
def test_a_wrong_lesson_is_refused(way, told, words):
    with pytest.raises(RuleBroken) as refused:
        write(way, **told)
    assert words in " ".join(refused.value.fields.values())
    assert not Lesson.objects.exists()


def test_a_lesson_is_about_a_place_of_the_revision_it_was_learned_at(way):
    with pytest.raises(RuleBroken, match="is not a place of"):
        write(way, place=factories.PositionFactory())


def test_a_lesson_is_written_at_any_time_and_changes_nothing_of_the_record(way):
    way.find().close_teardown().go_ahead().fit().close_build().start_test().run_steps().sign_test().release()
    way.rebuild.refresh_from_db()
    before = way.rebuild.stage
    write(way, role="receiving", step="packing")
    way.rebuild.refresh_from_db()
    assert way.rebuild.stage == before
    with pytest.raises(NotAllowed):
        write(way, role="stores")


def test_the_record_names_its_lessons(way):
    row = write(way, place=seal(way))
    (told,) = rebuild_record(way.rebuild)["lessons"]
    assert (told["position"], told["text"], told["state"]) == ("S1", WORDS, "not reviewed")
    lessons.decline_lesson(act=way.act("lead", "known"), lesson=row)
    assert rebuild_record(way.rebuild)["lessons"][0]["state"] == "declined"


# ---------- seen ----------


def test_everybody_sees_it_at_once_on_that_type_step_and_place(way):
    write(way, place=seal(way))
    other = Journey(revision=way.revision).receive()
    assert shown(other, place=seal(way)) == [WORDS]
    assert shown(other) == [WORDS]  # the page of all places
    assert shown(other, place=seal(way, "S2")) == []
    assert shown(other, step="building") == []
    assert shown(Journey().receive()) == []  # another type
    write(way, text="For all of it.")
    assert shown(other, place=seal(way, "S2")) == ["For all of it."]


def test_it_is_seen_at_the_same_place_of_the_next_revision(way):
    row = write(way, place=seal(way))
    draft = catalogue.draft_revision(act=way.act("lead"), unit_type=way.revision.unit_type)
    catalogue.approve_revision(act=way.act("lead", "new seal"), revision=draft)
    later = Journey(revision=draft, people=way.people).receive()
    assert later.rebuild.revision == draft
    assert shown(later, place=draft.positions.get(code="S1")) == [WORDS]
    assert shown(later, place=draft.positions.get(code="S2")) == []
    assert row.rebuild.revision != draft


@pytest.mark.parametrize("end", ["declined", "withdrawn"])
def test_what_is_declined_or_withdrawn_is_kept_and_no_longer_shown(way, end):
    row = write(way)
    if end == "declined":
        lessons.decline_lesson(act=way.act("lead", "it is not"), lesson=row)
    else:
        lessons.withdraw_lesson(act=way.act("bench", "it is not"), lesson=row)
    assert shown(way) == []
    assert (row.review.why, row.state) == ("it is not", LessonReview.Outcome(end).label)


# ---------- reviewed ----------


def test_a_lesson_is_taken_over_into_the_draft_with_its_reference(way):
    row = write(way, place=seal(way))
    review = lessons.take_over_lesson(
        act=way.act("lead"), lesson=row, text="Left-hand thread.", step="teardown"
    )
    draft = review.revision
    assert (draft.state, draft.number) == ("draft", 2)
    note = draft.technique_notes.get()
    assert (note.text, note.step, note.position) == (
        "Left-hand thread.",
        "teardown",
        draft.positions.get(code="S1"),
    )
    assert note.basis.startswith(f"Lesson {row.pk} of {row.by}, ")
    assert way.unit.serial in note.basis
    # Revision 1 does not show the note: there the lesson stays in sight; with revision 2 the note is.
    assert shown(way, place=seal(way)) == [WORDS]
    catalogue.approve_revision(act=way.act("lead", "lesson"), revision=draft)
    assert shown(way, place=seal(way)) == [WORDS]
    later = Journey(revision=draft, people=way.people).receive()
    assert shown(later) == []
    (known,) = bench_technique([later.rebuild], step="teardown")
    assert [each.text for each in known.notes] == ["Left-hand thread."]


def test_the_next_lesson_goes_into_the_draft_that_is_open(way):
    first, second = write(way), write(way, text="And wear gloves.")
    for row in (first, second):
        lessons.take_over_lesson(act=way.act("lead"), lesson=row, text=row.text, step=row.step)
    assert way.revision.unit_type.revisions.count() == 2
    assert second.review.revision.technique_notes.count() == 2


def test_a_place_that_the_draft_no_longer_has_is_named(way):
    row = write(way, place=seal(way))
    draft = catalogue.draft_revision(act=way.act("lead"), unit_type=way.revision.unit_type)
    catalogue.remove_place(act=way.act("lead"), row=draft.positions.get(code="S1"))
    before = rows()
    with pytest.raises(RuleBroken, match="has no S1"):
        lessons.take_over_lesson(act=way.act("lead"), lesson=row, text="x", step="teardown")
    assert rows() == before


def test_a_lesson_is_reviewed_once_and_with_a_reason(way):
    row = write(way)
    for act in (lessons.decline_lesson, lessons.withdraw_lesson):
        role = "lead" if act is lessons.decline_lesson else "bench"
        with pytest.raises(RuleBroken) as refused:
            act(act=way.act(role), lesson=row)
        assert "why" in refused.value.fields
    with pytest.raises(RuleBroken) as refused:
        lessons.take_over_lesson(act=way.act("lead"), lesson=row, text=" ", step="teardown")
    assert "text" in refused.value.fields
    lessons.decline_lesson(act=way.act("lead", "known"), lesson=row)
    before = rows()
    for again in (
        lambda: lessons.decline_lesson(act=way.act("lead", "x"), lesson=row),
        lambda: lessons.withdraw_lesson(act=way.act("bench", "x"), lesson=row),
        lambda: lessons.take_over_lesson(act=way.act("lead"), lesson=row, text="x", step="teardown"),
    ):
        with pytest.raises(RuleBroken, match="already"):
            again()
    assert rows() == before


def test_only_its_writer_withdraws_and_only_the_lead_reviews(way):
    row = write(way)
    with pytest.raises(RuleBroken, match="Only who wrote"):
        lessons.withdraw_lesson(act=way.act("lead", "x"), lesson=row)
    with pytest.raises(NotAllowed):
        lessons.decline_lesson(act=way.act("bench", "x"), lesson=row)
    with pytest.raises(NotAllowed):
        lessons.take_over_lesson(act=way.act("bench"), lesson=row, text="x", step="teardown")


# ---------- the database ----------


def lesson(**told):
    way = Journey().receive()
    given = {"rebuild": way.rebuild, "step": "teardown", "text": "x", "by": way.people["receiving"]}
    return Lesson(**{**given, "at": THEN, **told})


def two_places():
    position = factories.PositionFactory()
    component = factories.ComponentFactory(revision=position.revision)
    return lesson(position=position, component=component)


def review(**told):
    row = lesson()
    row.save()
    return LessonReview(
        **{"lesson": row, "by": row.by, "at": THEN, "outcome": "declined", "why": "x", **told}
    )


def second_review():
    first = review()
    first.save()
    return LessonReview(lesson=first.lesson, by=first.by, at=THEN, outcome="declined", why="x")


RULES = {
    "lesson_one_place": (two_places, "about one place"),
    "lesson_has_text": (lambda: lesson(text=""), "Write what was learned"),
    "review_once": (second_review, "already exists"),
    "review_has_reason": (lambda: review(why=""), "Say why"),
    "review_into_no_revision": (lambda: review(outcome="taken_over"), "into a revision"),
    "review_declined_into_a_revision": (
        lambda: review(revision=factories.TypeRevisionFactory()),
        "into a revision",
    ),
}


@pytest.mark.parametrize("rule", RULES)
def test_the_rule_is_said_in_words(rule):
    make, words = RULES[rule]
    row = make()
    with pytest.raises(ValidationError, match=words):
        row.validate_constraints() if rule != "review_once" else row.full_clean()


@pytest.mark.parametrize("rule", RULES)
def test_the_database_enforces_the_rule(rule):
    row = RULES[rule][0]()
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


@pytest.mark.parametrize("make", [lesson, review])
def test_a_lesson_and_its_review_are_never_changed(make):
    row = make()
    row.save()
    for change in (row.save, row.delete):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            change()


# ---------- pages ----------


def url(name, *args):
    return reverse(f"workorders:{name}", args=args)


WRITES = {
    "write": lambda w: Write(
        url=f"{url('lesson_new', w.rebuild.pk)}?step=teardown&place=position-{seal(w).pk}",
        data={"lesson-text": WORDS},
        role="bench",
        refused_role="stores",
        unknown=f"{url('lesson_new', 10**6)}?step=teardown",
        bad={"lesson-text": ""},
    ),
    "take_over": lambda w: Write(
        url=url("lesson_take_over", write(w).pk),
        data={"text": WORDS, "step": "teardown"},
        role="lead",
        refused_role="bench",
        unknown=url("lesson_take_over", 10**6),
        bad={"step": "polishing"},
    ),
    "decline": lambda w: Write(
        url=url("lesson_decline", write(w).pk),
        data={"why": "known"},
        role="lead",
        refused_role="bench",
        unknown=url("lesson_decline", 10**6),
        bad={"why": ""},
    ),
}


@pytest.fixture(params=WRITES)
def asked(request, way):
    return WRITES[request.param](way)


def test_it_works(client, asked):
    writes.check_works(client, asked)


def test_asking_writes_nothing(client, asked):
    writes.check_get(client, asked)


def test_signed_out_people_sign_in_first(client, asked):
    writes.check_signed_out(client, asked)


def test_another_role_is_refused(client, asked):
    writes.check_wrong_role(client, asked)


def test_what_does_not_exist_is_not_found(client, asked):
    writes.check_unknown(client, asked)


def test_a_wrong_form_is_refused(client, asked):
    writes.check_refused(client, asked, asked.bad)


def test_a_form_sent_twice_is_written_once(client, asked):
    writes.check_twice(client, asked)


def test_its_writer_withdraws_it_by_the_page_and_nobody_else(client, way):
    row = write(way)
    address = url("lesson_withdraw", row.pk)
    client.force_login(factories.person("bench"))
    assert send(client, address, {"why": "wrong"}).status_code == 422
    assert address not in client.get(row.get_absolute_url()).content.decode()
    client.force_login(way.people["bench"])
    assert address in client.get(row.get_absolute_url()).content.decode()
    assert client.get(address).status_code == 200
    assert send(client, address, {"why": ""}).status_code == 422
    assert send(client, address, {"why": "wrong"}).status_code == 302
    assert row.review.outcome == "withdrawn"
    assert send(client, url("lesson_withdraw", 10**6), {"why": "wrong"}).status_code == 404


@pytest.mark.parametrize(
    "query", ["", "?step=polishing", "?step=teardown&place=hinge-1", "?step=rework&kind=x"]
)
def test_a_step_or_place_that_is_not_there_is_not_found(client, way, query):
    client.force_login(factories.person("bench"))
    assert client.get(url("lesson_new", way.rebuild.pk) + query).status_code == 404


def test_the_button_stands_on_every_page_of_the_bench_and_leads_back(client):
    way = Journey().receive().find().close_teardown().go_ahead().fit().close_build().start_test()
    client.force_login(factories.person("lead"))
    kind, pk = "position", seal(way).pk
    pages = [
        url("teardown", way.rebuild.pk),
        url("finding", way.rebuild.pk, kind, pk),
        url("build", way.rebuild.pk),
        url("use_part", way.rebuild.pk, kind, pk),
        f"{url('operation', way.rebuild.pk)}?kind=honed&place={kind}-{pk}",
        way.test.get_absolute_url(),
    ]
    for page in pages:
        (panel,) = client.get(page).context["panels"]
        answer = send(client, panel.url, {"lesson-text": f"learned at {page}"})
        assert answer.status_code == 302
        assert answer.url.split("#")[0] == page
        assert f"learned at {page}" in client.get(answer.url).content.decode().replace("&amp;", "&")
        assert 'id="' + answer.url.split("#")[1] in client.get(answer.url).content.decode()


def test_the_packing_page_shows_what_is_known_of_each_type(client):
    way = Journey().tested().release()
    factories.TechniqueNoteFactory(revision=way.revision, step="packing", text="Caps on both ports.")
    client.force_login(factories.person("receiving"))
    page = client.get(url("pack", way.rebuild.work_order.number))
    assert "Caps on both ports." in page.content.decode()
    answer = send(client, page.context["panels"][0].url, {"lesson-text": WORDS})
    assert answer.url.split("#")[0] == url("pack", way.rebuild.work_order.number)


def test_the_panel_shows_notes_torque_and_tools_of_the_place(client, way):
    place = seal(way)
    place.hint = "tight lip"
    place.save()
    note = factories.TechniqueNoteFactory(revision=way.revision, position=place, step="building")
    other = factories.TechniqueNoteFactory(
        revision=way.revision, position=seal(way, "S2"), step="building", text="only elsewhere"
    )
    figure = factories.FasteningFigureFactory(revision=way.revision)
    need = factories.ToolNeedFactory(revision=way.revision, position=place, step="building")
    client.force_login(factories.person("bench"))
    page = client.get(url("use_part", way.rebuild.pk, "position", place.pk)).content.decode()
    for words in ("tight lip", note.text, figure.text, figure.basis, need.tool.number, need.tool.kept_at):
        assert words in page
    assert other.text not in page
    page = client.get(url("finding", way.rebuild.pk, "position", place.pk)).content.decode()
    assert note.text not in page  # it belongs to building
    assert "tight lip" in page


@pytest.mark.parametrize("page", ["teardown", "build"])
def test_a_page_of_the_bench_costs_the_same_for_ten_and_for_twenty_places(client, page):
    way = Journey().receive().find().close_teardown().go_ahead()
    client.force_login(factories.person("lead"))

    def add():
        for _ in range(10):
            place = factories.PositionFactory(revision=way.revision)
            for step in ("teardown", "building"):
                factories.TechniqueNoteFactory(revision=way.revision, position=place, step=step)
                write(way, step=step, place=place)
            factories.FasteningFigureFactory(revision=way.revision, position=place)
            factories.ToolNeedFactory(revision=way.revision, position=place)

    def cost():
        with CaptureQueriesContext(connection) as queries:
            assert client.get(url(page, way.rebuild.pk)).status_code == 200
        return len(queries)

    add()
    cost()
    few = cost()
    add()
    assert cost() == few


def test_lessons_are_listed_by_state_step_and_type_and_given_as_a_file(client, way):
    open_one, other = write(way, place=seal(way)), write(way, text="Nobody knows this.", step="packing")
    lessons.decline_lesson(act=way.act("lead", "known"), lesson=other)
    client.force_login(factories.person("bench"))

    def found(**query):
        return {row.pk for row in client.get(url("lessons"), query).context["page"]}

    assert found() == {open_one.pk}
    assert found(show="declined") == {other.pk}
    assert found(show="all", q="nobody") == {other.pk}
    assert found(show="all", step="teardown") == {open_one.pk}
    assert found(show="all", type=way.unit.unit_type_id) == {open_one.pk, other.pk}
    assert found(show="all", type=10**6) == set()
    table = client.get(url("lessons"), {"show": "all", "format": "csv"}).content.decode("utf-8-sig")
    assert WORDS in table
    assert "declined" in table
    assert "known" in table
    assert client.get(url("lessons"), {"show": "all", "format": "xlsx"}).status_code == 200


def test_the_list_of_lessons_costs_the_same_for_ten_and_for_twenty(client, way):
    client.force_login(factories.person("lead"))
    costs = []
    for _turn in range(2):
        for _ in range(10):
            lessons.decline_lesson(act=way.act("lead", "known"), lesson=write(way, place=seal(way)))
            write(Journey(revision=way.revision, people=way.people).receive(), place=seal(way))
        with CaptureQueriesContext(connection) as queries:
            assert client.get(url("lessons"), {"show": "all"}).status_code == 200
        costs.append(len(queries))
    assert costs[0] == costs[1]


def test_the_lead_sees_how_many_wait_and_the_rebuild_page_names_them(client, way):
    row = write(way)
    client.force_login(factories.person("lead"))
    assert "<b>1 to review</b>" in client.get(url("home")).content.decode()
    assert row.get_absolute_url() in client.get(way.rebuild.get_absolute_url()).content.decode()
    lessons.decline_lesson(act=way.act("lead", "known"), lesson=row)
    assert "to review</b>" not in client.get(url("home")).content.decode()
    client.force_login(factories.person("bench"))
    write(way)
    assert "to review</b>" not in client.get(url("home")).content.decode()


def test_a_lesson_of_the_page_carries_its_photo(client, way):
    client.force_login(factories.person("bench"))
    page = url("lesson_new", way.rebuild.pk) + "?step=teardown"
    two = {"lesson-text": WORDS, "lesson-photo": [picture("a.png"), picture("b.png", colour=(1, 2, 3))]}
    answer = send(client, page, two)
    assert answer.status_code == 422
    assert "One photo" in answer.content.decode()
    assert send(client, page, {"lesson-text": WORDS, "lesson-photo": picture()}).status_code == 302
    row = Lesson.objects.get()
    assert row.photo.get_absolute_url() in client.get(row.get_absolute_url()).content.decode()

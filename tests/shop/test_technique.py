"""Technique of a unit type: notes, fastening figures and special tools, in drafts and copied with them."""

from types import SimpleNamespace

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from shop.errors import RuleBroken
from shop.models import FasteningFigure, SpecialTool, Step, TechniqueNote, ToolNeed
from shop.services import catalogue
from shop.services.technique import save_tool, technique_of
from tests import writes
from tests.asking import send
from tests.factories import (
    ComponentFactory,
    FasteningFigureFactory,
    PositionFactory,
    SpecialToolFactory,
    TechniqueNoteFactory,
    ToolNeedFactory,
    TypeRevisionFactory,
    person,
)
from tests.writes import Write

pytestmark = pytest.mark.django_db
LEAD = {"role": "lead", "refused_role": "bench"}


def page(name, *args):
    return reverse(f"shop:{name}", args=args)


# ---------- what the database keeps ----------


def note(**fields):
    revision = TypeRevisionFactory()
    return TechniqueNote(**{"revision": revision, "step": "building", "text": "Oil the lip."} | fields)


def figure(**fields):
    given = {"what": "gland nut", "torque_nm": 40.0, "tolerance_nm": 4.0, "basis": "drawing 7"}
    return FasteningFigure(**{"revision": TypeRevisionFactory(), **given} | fields)


def span(low, high):
    return figure(torque_nm=None, tolerance_nm=None, least_nm=low, most_nm=high)


def need(**fields):
    return ToolNeed(**{"revision": TypeRevisionFactory(), "tool": SpecialToolFactory()} | fields)


def two_places():
    seal = PositionFactory()
    return {"position": seal, "component": ComponentFactory(revision=seal.revision)}


RULES = {
    "note_one_place": (lambda: note(**two_places()), "Name one position"),
    "note_has_text": (lambda: note(text=""), "Write what is to be done"),
    "note_has_basis": (lambda: note(basis=""), "where the note comes from"),
    "figure_one_place": (lambda: figure(**two_places()), "Name one position"),
    "figure_has_basis": (lambda: figure(basis=""), "needs its written basis"),
    "figure_torque_without_tolerance": (lambda: figure(tolerance_nm=None), "torque with its"),
    "figure_tolerance_without_torque": (lambda: figure(torque_nm=None, locker="low"), "torque with its"),
    "figure_tolerance_eats_torque": (lambda: figure(tolerance_nm=40.0), "torque with its"),
    "figure_tolerance_below_zero": (lambda: figure(tolerance_nm=-1.0), "torque with its"),
    "figure_both_ways": (lambda: figure(least_nm=30.0, most_nm=50.0), "not both ways"),
    "figure_span_half": (lambda: span(30.0, None), "go together"),
    "figure_span_order": (lambda: span(50.0, 30.0), "go together"),
    "figure_span_zero": (lambda: span(0.0, 30.0), "go together"),
    "figure_says_nothing": (
        lambda: figure(torque_nm=None, tolerance_nm=None),
        "Give a torque, or a thread locker",
    ),
    "figure_cure_without_locker": (lambda: figure(cure_h=24.0), "belongs to a thread locker"),
    "figure_cure_zero": (lambda: figure(locker="medium", cure_h=0.0), "belongs to a thread locker"),
    "figure_of_nothing": (lambda: figure(pieces=0), "At least one"),
    "tool_number_once": (
        lambda: SpecialTool(number=SpecialToolFactory().number, name="x", kept_at="x"),
        "already exists",
    ),
    "tool_is_named": (lambda: SpecialTool(number="F-9", name="puller", kept_at=""), "where it is kept"),
    "need_one_place": (lambda: need(**two_places()), "Name one position"),
}


@pytest.mark.parametrize("rule", RULES)
def test_the_rule_is_said_in_words(rule):
    make, words = RULES[rule]
    row = make()
    with pytest.raises(ValidationError, match=words):
        row.validate_constraints() if rule != "tool_number_once" else row.full_clean()


@pytest.mark.parametrize("rule", RULES)
def test_the_database_enforces_the_rule(rule):
    row = RULES[rule][0]()
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


@pytest.mark.parametrize(
    "make",
    [
        note,
        figure,
        lambda: figure(tolerance_nm=0.0),
        lambda: span(30.0, 30.0),
        lambda: figure(torque_nm=None, tolerance_nm=None, locker="high", cure_h=0.5),
        need,
    ],
)
def test_the_other_side_of_each_rule_is_kept(make):
    row = make()
    row.full_clean()
    row.save()
    assert row.pk


@pytest.mark.parametrize(
    ("row", "torque_nm", "within"),
    [
        (FasteningFigure(torque_nm=40.0, tolerance_nm=4.0), 36.0, True),
        (FasteningFigure(torque_nm=40.0, tolerance_nm=4.0), 35.99, False),
        (FasteningFigure(torque_nm=40.0, tolerance_nm=4.0), 44.0, True),
        (FasteningFigure(torque_nm=40.0, tolerance_nm=4.0), 44.01, False),
        (FasteningFigure(torque_nm=0.3, tolerance_nm=0.1), 0.2, True),  # 0.3 - 0.1 is not 0.2 in binary
        (FasteningFigure(least_nm=8.0, most_nm=10.0), 8.0, True),
        (FasteningFigure(least_nm=8.0, most_nm=10.0), 7.9, False),
        (FasteningFigure(least_nm=8.0, most_nm=10.0), 10.0, True),
        (FasteningFigure(least_nm=8.0, most_nm=10.0), 10.1, False),
    ],
)
def test_both_ends_of_a_torque_belong_to_it(row, torque_nm, within):
    assert row.within(torque_nm) is within


def test_a_figure_is_read_out_in_one_line():
    row = FasteningFigure(torque_nm=40.0, tolerance_nm=4.0, threads="oiled", locker="medium", cure_h=24.0)
    assert row.text == "40 ± 4 N·m, threads oiled, thread locker, medium strength, 24 h to cure"
    assert FasteningFigure(least_nm=8.0, most_nm=10.0).text == "8 to 10 N·m, threads dry"


# ---------- drafts ----------


@pytest.fixture
def approved():
    revision = TypeRevisionFactory()
    seal = PositionFactory(revision=revision, code="S1")
    TechniqueNoteFactory(revision=revision, position=seal)
    TechniqueNoteFactory(revision=revision, step=Step.PACKING)
    FasteningFigureFactory(revision=revision, component=ComponentFactory(revision=revision, code="K1"))
    ToolNeedFactory(revision=revision, position=seal)
    return revision


def told(revision):
    """The technique of a revision without keys: each row with the code of its place."""
    found = technique_of([revision])[revision.pk]
    return [
        (type(row).__name__, row.place.code if row.place else None, str(row), row.order)
        for row in (*found.notes, *found.figures, *found.tools)
    ]


def test_a_draft_copies_the_technique_and_points_to_its_own_places(act, lead, approved):
    draft = catalogue.draft_revision(act=act(lead), unit_type=approved.unit_type)
    assert told(draft) == told(approved)
    assert len(told(draft)) == 4
    copy = draft.technique_notes.get(position__isnull=False)
    assert copy.position == draft.positions.get()
    catalogue.save_place(act=act(lead), revision=draft, place="note", row=copy, text="Warm the seal first.")
    assert "Warm" not in str(told(approved))


@pytest.mark.parametrize("kind", catalogue.TECHNIQUE)
def test_an_approved_revision_keeps_its_technique(act, lead, approved, kind):
    row = catalogue.TECHNIQUE[kind].objects.first()
    with pytest.raises(RuleBroken, match="no longer changes"):
        catalogue.save_place(act=act(lead), revision=approved, place=kind, row=row, order=9)
    with pytest.raises(RuleBroken, match="no longer changes"):
        catalogue.remove_place(act=act(lead), row=row)


@pytest.mark.parametrize("pointer", ["position", "component"])
def test_technique_points_to_no_place_of_another_revision(act, lead, approved, pointer):
    draft = TypeRevisionFactory(state="draft")
    other = getattr(approved, f"{pointer}s").get()
    with pytest.raises(RuleBroken) as told:
        catalogue.save_place(
            act=act(lead), revision=draft, place="note", step="building", text="x", **{pointer: other}
        )
    assert "another revision" in told.value.fields[pointer]


def test_a_place_that_a_note_names_stays(act, lead):
    draft = TypeRevisionFactory(state="draft")
    seal = PositionFactory(revision=draft)
    TechniqueNoteFactory(revision=draft, position=seal)
    with pytest.raises(RuleBroken, match=r"technique note\): take that out first"):
        catalogue.remove_place(act=act(lead), row=seal)


def test_each_step_is_told_what_belongs_to_it(approved):
    def count(step):
        found = technique_of([approved], step=step)[approved.pk]
        return len(found.notes), len(found.figures), len(found.tools)

    assert count("building") == (1, 1, 1)
    assert count("packing") == (1, 0, 1)
    ToolNeed.objects.update(step="teardown")
    assert count("packing") == (1, 0, 0)
    assert count("teardown") == (0, 0, 1)


def test_technique_is_read_in_three_queries_for_any_number_of_rows(approved, django_assert_num_queries):
    for _ in range(10):
        seal = PositionFactory(revision=approved)
        TechniqueNoteFactory(revision=approved, position=seal)
        FasteningFigureFactory(revision=approved, position=seal)
        ToolNeedFactory(revision=approved, position=seal)
    with django_assert_num_queries(3):
        assert len(told(approved)) == 34


def test_a_tool_changes_only_with_a_reason(act, lead):
    tool = SpecialToolFactory()
    with pytest.raises(RuleBroken) as refused:
        save_tool(act=act(lead), tool=tool, kept_at="wall C")
    assert "why" in refused.value.fields
    save_tool(act=act(lead, why="new rack"), tool=tool, kept_at="wall C")
    assert tool.history.latest("history_id").history_change_reason == "new rack"


# ---------- pages ----------


@pytest.fixture
def world():
    draft = TypeRevisionFactory(state="draft")
    seal = PositionFactory(revision=draft, code="S1")
    return SimpleNamespace(
        draft=draft,
        where=f"position-{seal.pk}",
        note=TechniqueNoteFactory(revision=draft, position=seal),
        figure=FasteningFigureFactory(revision=draft),
        tool=SpecialToolFactory(),
    )


def new(world, kind, data, **told):
    return Write(
        url=page("place_new", world.draft.pk, kind),
        data={"where": world.where, "order": 1, **data},
        unknown=page("place_new", 10**6, kind),
        history=catalogue.TECHNIQUE[kind].history,
        **told,
        **LEAD,
    )


FIGURE = {
    "what": "gland nut",
    "pieces": 1,
    "torque_nm": "40",
    "tolerance_nm": "4",
    "threads": "oiled",
    "sequence": "crosswise in two stages",
    "locker": "medium",
    "cure_h": "24",
    "basis": "drawing 7",
    "required": "on",
}
WRITES = {
    "note": lambda w: new(
        w, "note", {"step": "building", "text": "Oil the lip.", "basis": "common practice"}, bad={"text": ""}
    ),
    "fastening": lambda w: new(w, "fastening", FIGURE, bad={"basis": ""}, broken={"tolerance_nm": "41"}),
    "tool": lambda w: new(
        w, "tool", {"tool": w.tool.pk, "step": "", "note": "keeps the lip off the thread"}, bad={"tool": ""}
    ),
    "note_change": lambda w: Write(
        url=page("place_change", w.draft.pk, "note", w.note.pk),
        data={"where": "", "order": 3, "step": "test", "text": "Bleed twice.", "basis": "lesson"},
        unknown=page("place_change", w.draft.pk, "note", 10**6),
        bad={"where": "position-999999"},
        history=TechniqueNote.history,
        **LEAD,
    ),
    "figure_remove": lambda w: Write(
        url=page("place_remove", w.draft.pk, "fastening", w.figure.pk),
        unknown=page("place_remove", w.draft.pk, "fastening", 10**6),
        history=FasteningFigure.history,
        **LEAD,
    ),
    "tool_new": lambda w: Write(
        url=page("tool_new"),
        data={"number": "F-77", "name": "seal sleeve", "kept_at": "wall B, hook 14"},
        bad={"kept_at": ""},
        broken={"number": w.tool.number},
        history=SpecialTool.history,
        **LEAD,
    ),
    "tool_change": lambda w: Write(
        url=page("tool_change", w.tool.pk),
        data={"number": "F-78", "name": "sleeve", "kept_at": "wall C", "gone": "on", "why": "worn out"},
        unknown=page("tool_change", 10**6),
        bad={"why": ""},
        history=SpecialTool.history,
        why="worn out",
        **LEAD,
    ),
}


@pytest.fixture(params=WRITES)
def write(request, world):
    return WRITES[request.param](world)


def test_it_works_and_names_who(client, write):
    writes.check_works(client, write)


def test_asking_writes_nothing(client, write):
    writes.check_get(client, write)


def test_signed_out_people_sign_in_first(client, write):
    writes.check_signed_out(client, write)


def test_another_role_is_refused(client, write):
    writes.check_wrong_role(client, write)


def test_a_form_sent_twice_is_written_once(client, write):
    writes.check_twice(client, write)


@pytest.mark.parametrize("name", [name for name in WRITES if name != "tool_new"])
def test_what_does_not_exist_is_not_found(client, world, name):
    writes.check_unknown(client, WRITES[name](world))


@pytest.mark.parametrize("name", [name for name in WRITES if name != "figure_remove"])
def test_a_wrong_form_is_refused(client, world, name):
    write = WRITES[name](world)
    writes.check_refused(client, write, write.bad)


@pytest.mark.parametrize("name", ["fastening", "tool_new"])
def test_a_broken_rule_is_refused(client, world, name):
    write = WRITES[name](world)
    writes.check_refused(client, write, write.broken)


def test_the_page_of_a_type_shows_its_technique(client, bench, world):
    client.force_login(bench)
    ToolNeedFactory(revision=world.draft, tool=world.tool, note="guards the lip")
    page_text = client.get(f"{world.draft.unit_type.get_absolute_url()}?revision=1").content.decode()
    for words in (world.note.text, world.figure.torque_text, world.figure.basis, world.tool.kept_at):
        assert words in page_text


def test_a_figure_is_entered_with_its_place(client, lead, world):
    client.force_login(lead)
    send(client, page("place_new", world.draft.pk, "fastening"), {"where": world.where, "order": 1, **FIGURE})
    row = world.draft.fastening_figures.get(what="gland nut", position__isnull=False)
    assert (row.position.code, row.torque_nm, row.cure_h, row.required) == ("S1", 40.0, 24.0, True)


def test_tools_are_found_and_given_as_a_file(client, bench, world):
    client.force_login(bench)
    SpecialToolFactory(number="F-500", kept_at="drawer 9")
    assert "F-500" in client.get(page("tools"), {"q": "drawer"}).content.decode()
    assert world.tool.number not in client.get(page("tools"), {"q": "drawer"}).content.decode()
    assert "F-500" in client.get(page("tools"), {"format": "csv"}).content.decode()


def test_an_empty_list_of_tools_says_what_it_is_for(client, bench):
    client.force_login(bench)
    assert 'class="empty"' in client.get(page("tools")).content.decode()


def test_the_list_of_tools_costs_the_same_for_10_and_for_20(client, bench):
    client.force_login(bench)
    costs = []
    for _turn in range(2):
        for _ in range(10):
            ToolNeedFactory(tool=SpecialToolFactory())
        with CaptureQueriesContext(connection) as queries:
            assert client.get(page("tools")).status_code == 200
        costs.append(len(queries))
    assert costs[0] == costs[1]


def test_the_page_of_a_type_costs_the_same_for_10_and_for_20_rows(client, lead):
    client.force_login(person("lead"))
    revision = TypeRevisionFactory()
    costs = []
    for _turn in range(2):
        for _ in range(10):
            seal = PositionFactory(revision=revision)
            TechniqueNoteFactory(revision=revision, position=seal)
            FasteningFigureFactory(revision=revision, position=seal)
            ToolNeedFactory(revision=revision, position=seal)
        with CaptureQueriesContext(connection) as queries:
            assert client.get(revision.unit_type.get_absolute_url()).status_code == 200
        costs.append(len(queries))
    assert costs[0] == costs[1]

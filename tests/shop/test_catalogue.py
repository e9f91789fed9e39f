"""The catalogue as a service: drafts change, approved revisions do not, one is approved at a time."""

import pytest
from django.db import IntegrityError, transaction

from shop.errors import NotAllowed, RuleBroken
from shop.models import TypeRevision, UnitType
from shop.services import catalogue
from tests.factories import (
    ComponentFactory,
    DimensionLimitFactory,
    FluidFactory,
    HoseFactory,
    PortFactory,
    PositionFactory,
    TypeRevisionFactory,
    UnitTypeFactory,
)
from tests.factories import TestPlanFactory as PlanFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def approved():
    """An approved revision with one place of each kind."""
    revision = TypeRevisionFactory()
    PositionFactory(
        revision=revision, code="S1", kind="rod_seal", motion="reciprocating", gland_depth_min_mm=3.0
    )
    ComponentFactory(revision=revision, code="K1")
    HoseFactory(port=PortFactory(revision=revision, code="P1"), code="3")
    DimensionLimitFactory(revision=revision, code="D1")
    return revision


@pytest.fixture
def draft():
    revision = TypeRevisionFactory(state="draft")
    PositionFactory(revision=revision, code="S1")
    return revision


def places(revision):
    """Everything that hangs on a revision, without keys."""
    return [
        {k: v for k, v in row.items() if k not in ("id", "revision_id", "port_id")}
        for name in ("positions", "components", "ports", "hoses", "dimension_limits")
        for row in getattr(revision, name).order_by("code").values()
    ]


def test_a_unit_type_starts_with_a_draft(act, lead):
    row = catalogue.save_unit_type(act=act(lead), code="LC-9", name="Lift cylinder", family="cylinder")
    draft = catalogue.draft_revision(
        act=act(lead), unit_type=row, service_fluid=FluidFactory(), bore_mm=32.0, rod_mm=16.0
    )
    assert (draft.number, draft.state, draft.bore_mm) == (1, "draft", 32.0)
    assert row.history.get().history_user == lead
    with pytest.raises(TypeRevision.DoesNotExist):
        _ = row.current


def test_a_draft_copies_the_approved_revision_and_leaves_it_alone(act, lead, approved):
    before = places(approved)
    draft = catalogue.draft_revision(act=act(lead), unit_type=approved.unit_type)
    assert (draft.number, draft.state, draft.proof_basis) == (2, "draft", approved.proof_basis)
    assert places(draft) == before
    assert draft.hoses.get().port == draft.ports.get()
    catalogue.save_place(
        act=act(lead), revision=draft, place="position", row=draft.positions.get(), name="rod seal, new"
    )
    assert places(approved) == before
    assert draft.positions.get().name == "rod seal, new"


def test_there_is_one_draft_at_a_time(act, lead, draft):
    with pytest.raises(RuleBroken, match="is a draft already"):
        catalogue.draft_revision(act=act(lead), unit_type=draft.unit_type)


def test_the_test_plan_goes_along_as_a_draft(act, lead, approved):
    plan = PlanFactory(revision=approved)
    plan.steps.create(order=1, kind="dryness", title="dry outside").limits.create(
        reading="outside", judged="witness", basis="common practice, no source"
    )
    draft = catalogue.draft_revision(act=act(lead), unit_type=approved.unit_type)
    copy = draft.test_plans.get()
    assert (copy.state, copy.version, copy.title) == ("draft", 1, plan.title)
    assert copy.steps.get().limits.get().reading == "outside"


def test_approving_supersedes_the_earlier_revision(act, lead, approved):
    draft = catalogue.draft_revision(act=act(lead), unit_type=approved.unit_type)
    catalogue.approve_revision(act=act(lead, why="deeper rod groove"), revision=draft)
    approved.refresh_from_db()
    assert approved.state == "superseded"
    assert approved.unit_type.current == draft
    assert draft.history.latest("history_id").history_change_reason == "deeper rod groove"


def test_approving_needs_a_reason_and_something_to_look_at(act, lead, draft):
    with pytest.raises(RuleBroken, match="Say what this revision changes"):
        catalogue.approve_revision(act=act(lead), revision=draft)
    draft.positions.all().delete()
    with pytest.raises(RuleBroken, match="at least one seal position or component"):
        catalogue.approve_revision(act=act(lead, why="first"), revision=draft)
    draft.refresh_from_db()
    assert draft.state == "draft"


@pytest.mark.parametrize("state", ["approved", "superseded"])
def test_only_a_draft_changes(act, lead, state):
    revision = TypeRevisionFactory(state=state)
    row = PositionFactory(revision=revision)
    for change in (
        lambda: catalogue.change_revision(act=act(lead), revision=revision, bore_mm=99.0),
        lambda: catalogue.save_place(act=act(lead), revision=revision, place="port", code="P9", name="port"),
        lambda: catalogue.save_place(act=act(lead), revision=revision, place="position", row=row, name="x"),
        lambda: catalogue.remove_place(act=act(lead), row=row),
        lambda: catalogue.approve_revision(act=act(lead, why="x"), revision=revision),
    ):
        with pytest.raises(RuleBroken, match="no longer changes"):
            change()
    assert places(revision)[0]["name"] == row.name


@pytest.mark.parametrize(
    "fields",
    [
        {"proof_pressure_bar": 160.0, "proof_hold_s": 60.0, "proof_basis": ""},
        {"proof_pressure_bar": 160.0, "proof_hold_s": None, "proof_basis": "drawing"},
        {"proof_pressure_bar": 0.0, "proof_hold_s": 60.0, "proof_basis": "drawing"},
    ],
)
def test_a_proof_pressure_needs_its_hold_and_its_basis(act, lead, draft, fields):
    with pytest.raises(RuleBroken, match="no general default"):
        catalogue.change_revision(act=act(lead), revision=draft, **fields)
    draft.refresh_from_db()
    with pytest.raises(IntegrityError), transaction.atomic():
        TypeRevision.objects.filter(pk=draft.pk).update(**fields)


def test_a_rod_is_thinner_than_its_bore(act, lead, draft):
    with pytest.raises(RuleBroken, match="thinner"):
        catalogue.change_revision(act=act(lead), revision=draft, bore_mm=20.0, rod_mm=20.0)


def test_a_place_belongs_to_its_revision_and_has_its_code_once(act, lead, draft):
    with pytest.raises(RuleBroken, match="another revision"):
        catalogue.save_place(act=act(lead), revision=draft, place="position", row=PositionFactory(), name="x")
    again = {"code": "P1", "name": "port", "fitting": "crimped"}
    port = catalogue.save_place(act=act(lead), revision=draft, place="port", **again)
    with pytest.raises(RuleBroken, match="port of that number already"):
        catalogue.save_place(act=act(lead), revision=draft, place="port", **again)
    hose = {"code": "H1", "name": "hose", "attachment": "not_known", "port": port}
    catalogue.save_place(act=act(lead), revision=draft, place="hose", **hose)
    with pytest.raises(RuleBroken, match="hose already; change that one"):
        catalogue.save_place(act=act(lead), revision=draft, place="hose", **{**hose, "code": "H2"})
    other = {**hose, "code": "H2", "port": PortFactory()}
    with pytest.raises(RuleBroken, match="belongs to another revision"):
        catalogue.save_place(act=act(lead), revision=draft, place="hose", **other)
    with pytest.raises(RuleBroken, match=r"\(hose\): take that out first"):
        catalogue.remove_place(act=act(lead), row=port)


def test_a_hose_rated_below_its_unit_needs_a_reason(act, lead, draft):
    hose = HoseFactory(port=PortFactory(revision=draft), code="H1", rated_pressure_bar=119.0)
    told = "below the 120 bar of the unit: H1 .*: 119 bar"
    with pytest.raises(RuleBroken, match=told):
        catalogue.approve_revision(act=act(lead, why="first"), revision=draft)
    draft.refresh_from_db()
    assert draft.state == "draft"
    catalogue.save_place(
        act=act(lead), revision=draft, place="hose", row=hose, rating_reason="return line, no pressure"
    )
    assert catalogue.approve_revision(act=act(lead, why="first"), revision=draft).state == "approved"


@pytest.mark.parametrize("rated_bar", [None, 120.0])
def test_a_hose_rated_for_its_unit_or_not_known_asks_nothing(act, lead, draft, rated_bar):
    HoseFactory(port=PortFactory(revision=draft), rated_pressure_bar=rated_bar)
    assert catalogue.approve_revision(act=act(lead, why="first"), revision=draft).state == "approved"


def test_the_family_stays_once_a_revision_was_approved(act, lead, approved):
    with pytest.raises(RuleBroken, match="it stays"):
        catalogue.save_unit_type(act=act(lead, why="x"), unit_type=approved.unit_type, family="power_unit")
    with pytest.raises(RuleBroken, match="Say why"):
        catalogue.save_unit_type(act=act(lead), unit_type=approved.unit_type, name="x")
    row = catalogue.save_unit_type(
        act=act(lead, why="maker found"), unit_type=approved.unit_type, maker="Arnside"
    )
    assert UnitType.objects.get(pk=row.pk).maker == "Arnside"


def test_a_code_is_used_once(act, lead):
    UnitTypeFactory(code="LC-9")
    with pytest.raises(RuleBroken):
        catalogue.save_unit_type(act=act(lead), code="LC-9", name="x", family="cylinder")


@pytest.mark.parametrize("role", ["bench", "stores", "receiving", "warranty_desk"])
def test_only_the_lead_changes_the_catalogue(request, act, role, draft):
    user = request.getfixturevalue(role)
    for change in (
        lambda: catalogue.save_unit_type(act=act(user), code="X", name="x", family="cylinder"),
        lambda: catalogue.change_revision(act=act(user), revision=draft, bore_mm=1.0),
        lambda: catalogue.approve_revision(act=act(user, why="x"), revision=draft),
        lambda: catalogue.save_fluid(act=act(user), name="HM 46", family="mineral"),
    ):
        with pytest.raises(NotAllowed, match="lead"):
            change()


def test_a_fluid_changes_with_a_reason(act, lead):
    row = catalogue.save_fluid(act=act(lead), name="HM 46", family="mineral")
    with pytest.raises(RuleBroken, match="Say why"):
        catalogue.save_fluid(act=act(lead), fluid=row, name="HM 68")
    catalogue.save_fluid(act=act(lead, why="label read wrong"), fluid=row, name="HM 68")
    row.refresh_from_db()
    assert row.name == "HM 68"


def test_a_dimension_that_reads_a_gland_follows_its_position_into_the_next_revision(act, lead, approved):
    seat = approved.positions.get(code="S1")
    DimensionLimitFactory(
        revision=approved, code="D2", quantity="groove", position=seat, gland_figure="depth", upper=None
    )
    draft = catalogue.draft_revision(act=act(lead), unit_type=approved.unit_type)
    copy = draft.dimension_limits.get(code="D2")
    assert copy.position == draft.positions.get(code="S1")
    assert copy.position != seat
    assert copy.gland_figure == "depth"


def test_a_dimension_reads_only_a_gland_of_its_own_revision(act, lead, draft):
    told = {"code": "D9", "name": "groove", "quantity": "groove", "basis": "drawing", "gland_figure": "width"}
    with pytest.raises(RuleBroken, match="belongs to another revision") as refused:
        catalogue.save_place(
            act=act(lead), revision=draft, place="dimension", position=PositionFactory(), **told
        )
    assert "position" in refused.value.fields
    seat = draft.positions.get()
    row = catalogue.save_place(act=act(lead), revision=draft, place="dimension", position=seat, **told)
    assert (row.position, row.is_judged_by_sum) == (seat, True)


def test_a_position_that_a_dimension_reads_is_not_taken_out(act, lead, draft):
    seat = draft.positions.get()
    DimensionLimitFactory(revision=draft, quantity="groove", position=seat, gland_figure="width")
    with pytest.raises(RuleBroken, match="dimension limit"):
        catalogue.remove_place(act=act(lead), row=seat)
    assert draft.positions.exists()


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"gland_figure": "depth"}, "go together"),
        ({"length_mm": 200.0}, "Only a run-out has a length"),
        ({}, "something must judge the reading"),
    ],
)
def test_the_service_says_what_a_dimension_lacks(act, lead, draft, fields, words):
    told = {"code": "D9", "name": "bore", "quantity": "bore", "basis": "drawing"}
    with pytest.raises(RuleBroken, match=words):
        catalogue.save_place(act=act(lead), revision=draft, place="dimension", **told, **fields)


def test_the_service_refuses_a_negative_clearance(act, lead, draft):
    with pytest.raises(RuleBroken, match="0 mm or more"):
        catalogue.save_place(
            act=act(lead), revision=draft, place="position", row=draft.positions.get(), clearance_max_mm=-0.1
        )


@pytest.mark.parametrize(
    ("kind", "motion", "told"),
    [
        ("static_seal", "static", "static seal"),
        ("static_seal", "rotary", "static seal, rotary"),
        ("rod_seal", "static", "rod seal, static"),
    ],
)
def test_a_motion_that_the_kind_tells_is_told_once(kind, motion, told):
    assert PositionFactory.build(kind=kind, motion=motion).kind_and_motion == told

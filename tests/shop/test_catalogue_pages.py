"""The pages of the catalogue: the lead changes drafts, everybody else reads."""

from types import SimpleNamespace

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import Kit, KitLine
from shop.models import (
    Application,
    Fluid,
    Hose,
    MountingPlace,
    Port,
    SealPosition,
    StepLimit,
    TestPlan,
    TestStep,
    TypeRevision,
    UnitType,
)
from shop.services import test_plans as plans
from shop.services.writing import Act
from tests import writes
from tests.asking import rows, send
from tests.conftest import NOW
from tests.factories import (
    ComponentFactory,
    DimensionLimitFactory,
    FluidFactory,
    HoseFactory,
    MakerNumberFactory,
    PartFactory,
    PortFactory,
    PositionFactory,
    TypeRevisionFactory,
    UnitTypeFactory,
    person,
)
from tests.factories import TestPlanFactory as PlanFactory
from tests.writes import Write

pytestmark = pytest.mark.django_db
LEAD = {"role": "lead", "refused_role": "bench"}
WITNESS = {"reading": "outside dry", "judged": "witness", "basis": "common practice, no source"}
POSITION = {"code": "S7", "name": "rod seal", "order": 7, "kind": "rod_seal", "motion": "reciprocating"}


def page(name, *args):
    return reverse(f"shop:{name}", args=args)


def limits(*wanted):
    """The fields of the formset of limits."""
    data = {"limits-TOTAL_FORMS": len(wanted), "limits-INITIAL_FORMS": 0}
    for at, limit in enumerate(wanted):
        data |= {f"limits-{at}-{name}": value for name, value in {"source": "shop", **limit}.items()}
    return data


def made_once():
    """A draft with one place of each kind and a draft plan; an approved type; an application."""
    lead = Act(by=person("lead"), at=NOW, why="for the test")
    draft = TypeRevisionFactory(state="draft")
    plan = PlanFactory(revision=draft, state="draft")
    step = plans.save_step(act=lead, plan=plan, kind="dryness", title="dry outside", limits=[WITNESS])
    ramp = Application.objects.create(name="Access ramp AR")
    return SimpleNamespace(
        draft=draft,
        position=PositionFactory(revision=draft, code="S1"),
        other=PositionFactory(revision=draft, code="S2"),
        plan=plan,
        empty_plan=PlanFactory(revision=TypeRevisionFactory(), state="draft"),
        step=step,
        approved=TypeRevisionFactory(),
        fluid=FluidFactory(),
        application=ramp,
        place=MountingPlace.objects.create(application=ramp, unit_type=draft.unit_type, name="left"),
    )


@pytest.fixture(scope="module")
def kept(keep):
    return keep(made_once)


@pytest.fixture
def world(kept):
    return kept()


STEP = {"order": 2, "kind": "hold", "title": "hold", "pressure_bar": 120, "hold_s": 300}
DECAY = {"reading": "decay", "judged": "decay", "unit": "bar/min", "upper": 0.5, "basis": "trials"}
WRITES = {
    "unit_type_new": lambda w: Write(
        url=page("unit_type_new"),
        data={"code": "LC-9", "name": "Lift cylinder", "family": "cylinder", "service_fluid": w.fluid.pk},
        bad={"service_fluid": ""},
        broken={"code": w.approved.unit_type.code},
        history=UnitType.history,
        **LEAD,
    ),
    "unit_type_change": lambda w: Write(
        url=page("unit_type_change", w.approved.unit_type.pk),
        data={"code": "LC-9", "name": "Lift cylinder", "family": "cylinder", "why": "maker found"},
        unknown=page("unit_type_change", 10**6),
        bad={"why": ""},
        broken={"family": "power_unit"},
        history=UnitType.history,
        why="maker found",
        **LEAD,
    ),
    "revision_draft": lambda w: Write(
        url=page("revision_draft", w.approved.unit_type.pk),
        unknown=page("revision_draft", 10**6),
        history=TypeRevision.history,
        **LEAD,
    ),
    "revision_change": lambda w: Write(
        url=page("revision_change", w.draft.pk),
        data={"service_fluid": w.fluid.pk, "bore_mm": "32.5", "rod_mm": "16"},
        unknown=page("revision_change", 10**6),
        bad={"bore_mm": "wide"},
        broken={"proof_pressure_bar": "160", "proof_hold_s": "60"},
        history=TypeRevision.history,
        **LEAD,
    ),
    "revision_approve": lambda w: Write(
        url=page("revision_approve", w.draft.pk),
        data={"why": "first drawing"},
        unknown=page("revision_approve", 10**6),
        bad={"why": ""},
        history=TypeRevision.history,
        why="first drawing",
        **LEAD,
    ),
    "place_new": lambda w: Write(
        url=page("place_new", w.draft.pk, "position"),
        data=POSITION,
        unknown=page("place_new", w.draft.pk, "engine"),
        bad={"kind": "engine"},
        broken={"code": "S1"},
        history=SealPosition.history,
        **LEAD,
    ),
    "port_new": lambda w: Write(
        url=page("place_new", w.draft.pk, "port"),
        data={"code": "P1", "name": "rod side", "order": 1, "fitting": "crimped", "along": "0.2"},
        unknown=page("place_new", 10**6, "port"),
        bad={"fitting": ""},
        history=Port.history,
        **LEAD,
    ),
    "hose_new": lambda w: Write(
        url=page("place_new", w.draft.pk, "hose"),
        data={
            **{"code": "H1", "name": "hose, rod side", "order": 1, "attachment": "removable"},
            "port": PortFactory(revision=w.draft).pk,
            **{"length_mm": "620", "end_fitting": "banjo", "end_thread": "M10 x 1"},
        },
        unknown=page("place_new", 10**6, "hose"),
        bad={"port": PortFactory().pk},
        history=Hose.history,
        **LEAD,
    ),
    "component_new": lambda w: Write(
        url=page("place_new", w.draft.pk, "component"),
        data={"code": "K1", "name": "brushes", "order": 1, "kind": "brushes"},
        unknown=page("place_new", 10**6, "component"),
        bad={"name": ""},
        **LEAD,
    ),
    "dimension_new": lambda w: Write(
        url=page("place_new", w.draft.pk, "dimension"),
        data={
            "code": "D1",
            "name": "rod",
            "order": 1,
            "quantity": "rod_diameter",
            "unit": "mm",
            "stations": 3,
            "lower": "11.95",
            "basis": "drawing 12",
        },
        unknown=page("place_new", 10**6, "dimension"),
        bad={"basis": ""},
        broken={"lower": ""},
        **LEAD,
    ),
    "place_change": lambda w: Write(
        url=page("place_change", w.draft.pk, "position", w.position.pk),
        data=POSITION,
        unknown=page("place_change", w.draft.pk, "position", 10**6),
        bad={"motion": ""},
        broken={"gland_depth_min_mm": "3", "gland_depth_max_mm": "2"},
        history=SealPosition.history,
        **LEAD,
    ),
    "place_remove": lambda w: Write(
        url=page("place_remove", w.draft.pk, "position", w.position.pk),
        unknown=page("place_remove", w.draft.pk, "position", 10**6),
        history=SealPosition.history,
        **LEAD,
    ),
    "plan_draft": lambda w: Write(
        url=page("plan_draft", w.approved.pk),
        unknown=page("plan_draft", 10**6),
        history=TestPlan.history,
        **LEAD,
    ),
    "plan_change": lambda w: Write(
        url=page("plan_change", w.plan.pk),
        data={"title": "Cylinder test, oil at 40 °C"},
        unknown=page("plan_change", 10**6),
        bad={"title": ""},
        history=TestPlan.history,
        **LEAD,
    ),
    "plan_approve": lambda w: Write(
        url=page("plan_approve", w.plan.pk),
        data={"why": "first plan"},
        unknown=page("plan_approve", 10**6),
        bad={"why": ""},
        history=TestPlan.history,
        why="first plan",
        **LEAD,
    ),
    "plan_propose": lambda w: Write(
        url=page("plan_propose", w.empty_plan.pk),
        unknown=page("plan_propose", 10**6),
        history=TestStep.history,
        **LEAD,
    ),
    "step_new": lambda w: Write(
        url=page("step_new", w.plan.pk),
        data={**STEP, **limits(DECAY)},
        unknown=page("step_new", 10**6),
        bad={"limits-0-basis": ""},
        broken={"limits-0-unit": "bar"},
        history=StepLimit.history,
        **LEAD,
    ),
    "step_change": lambda w: Write(
        url=page("step_change", w.plan.pk, w.step.pk),
        data={**STEP, "order": 1, **limits(DECAY, WITNESS)},
        unknown=page("step_change", w.plan.pk, 10**6),
        bad={"title": ""},
        broken={"hold_s": ""},
        history=TestStep.history,
        **LEAD,
    ),
    "step_remove": lambda w: Write(
        url=page("step_remove", w.plan.pk, w.step.pk),
        unknown=page("step_remove", w.plan.pk, 10**6),
        history=TestStep.history,
        **LEAD,
    ),
    "application_new": lambda w: Write(
        url=page("application_new"),
        data={"name": "Van tail-lift VT"},
        bad={"name": ""},
        broken={"name": w.application.name},
        history=Application.history,
        **LEAD,
    ),
    "application_change": lambda w: Write(
        url=page("application_change", w.application.pk),
        data={"name": "Access ramp, long"},
        unknown=page("application_change", 10**6),
        bad={"name": ""},
        history=Application.history,
        **LEAD,
    ),
    "mounting_place_new": lambda w: Write(
        url=page("mounting_place_new", w.application.pk),
        data={
            "name": "right",
            "unit_type": w.draft.unit_type.pk,
            "access_labour_h": "2.5",
            "twin_of": w.place.pk,
        },
        unknown=page("mounting_place_new", 10**6),
        bad={"unit_type": ""},
        broken={"access_labour_h": "-1"},
        history=MountingPlace.history,
        **LEAD,
    ),
    "mounting_place_change": lambda w: Write(
        url=page("mounting_place_change", w.application.pk, w.place.pk),
        data={"name": "left, aft", "unit_type": w.draft.unit_type.pk, "access_labour_h": "3"},
        unknown=page("mounting_place_change", w.application.pk, 10**6),
        bad={"access_labour_h": ""},
        history=MountingPlace.history,
        **LEAD,
    ),
    "mounting_place_remove": lambda w: Write(
        url=page("mounting_place_remove", w.application.pk, w.place.pk),
        unknown=page("mounting_place_remove", w.application.pk, 10**6),
        history=MountingPlace.history,
        **LEAD,
    ),
    "fluid_new": lambda w: Write(
        url=page("fluid_new"),
        data={"name": "HEES 46", "family": "HEES"},
        bad={"family": "water"},
        broken={"name": w.fluid.name},
        history=Fluid.history,
        **LEAD,
    ),
    "fluid_change": lambda w: Write(
        url=page("fluid_change", w.fluid.pk),
        data={"name": "HM 46", "family": "mineral", "why": "label read wrong"},
        unknown=page("fluid_change", 10**6),
        bad={"why": ""},
        history=Fluid.history,
        why="label read wrong",
        **LEAD,
    ),
}
BUTTONS = (
    "revision_draft",
    "place_remove",
    "plan_draft",
    "plan_propose",
    "step_remove",
    "mounting_place_remove",
)
WITHOUT_ID = ("unit_type_new", "application_new", "fluid_new")
RULED = (
    "unit_type_new",
    "unit_type_change",
    "revision_change",
    "place_new",
    "dimension_new",
    "place_change",
    "step_new",
    "step_change",
    "application_new",
    "mounting_place_new",
    "fluid_new",
)


@pytest.fixture(params=WRITES)
def write(request, world):
    return WRITES[request.param](world)


def test_it_works_and_names_who_and_why(client, write):
    writes.check_works(client, write)


def test_asking_writes_nothing(client, write):
    writes.check_get(client, write)


def test_signed_out_people_sign_in_first(client, write):
    writes.check_signed_out(client, write)


def test_another_role_is_refused(client, write):
    writes.check_wrong_role(client, write)


def test_a_form_sent_twice_is_written_once(client, write):
    writes.check_twice(client, write)


@pytest.mark.parametrize("name", [name for name in WRITES if name not in WITHOUT_ID])
def test_what_does_not_exist_is_not_found(client, world, name):
    writes.check_unknown(client, WRITES[name](world))


@pytest.mark.parametrize("name", [name for name in WRITES if name not in BUTTONS])
def test_a_wrong_form_is_refused(client, world, name):
    write = WRITES[name](world)
    writes.check_refused(client, write, write.bad)


@pytest.mark.parametrize("name", RULED)
def test_a_broken_rule_is_refused(client, world, name):
    write = WRITES[name](world)
    writes.check_refused(client, write, write.broken)


@pytest.mark.parametrize(
    "name", ["revision_change", "revision_approve", "place_new", "place_change", "place_remove"]
)
def test_an_approved_revision_cannot_be_changed_by_any_page(client, world, name):
    world.draft.state = "approved"
    world.draft.save()
    write = WRITES[name](world)
    client.force_login(person("lead"))
    before = rows()
    answer = send(client, write.url, write.data)
    assert answer.status_code == 422
    assert "no longer changes" in answer.content.decode()
    assert rows() == before


@pytest.mark.parametrize("name", ["plan_change", "plan_approve", "step_new", "step_change", "step_remove"])
def test_an_approved_plan_cannot_be_changed_by_any_page(client, world, name):
    world.plan.state = "approved"
    world.plan.save()
    write = WRITES[name](world)
    client.force_login(person("lead"))
    before = rows()
    answer = send(client, write.url, write.data)
    assert answer.status_code == 422
    assert "no longer changes" in answer.content.decode()
    assert rows() == before


def test_a_place_that_the_kit_names_stays(client, world):
    kit = Kit.objects.create(revision=world.draft, name="seal set")
    KitLine.objects.create(kit=kit, position=world.position, part=PartFactory())
    client.force_login(person("lead"))
    answer = send(client, page("place_remove", world.draft.pk, "position", world.position.pk))
    assert answer.status_code == 422
    assert "kit line" in answer.content.decode()


def test_a_limit_marked_for_removal_goes(client, world):
    client.force_login(person("lead"))
    data = {**STEP, "order": 1, **limits({**WITNESS, "DELETE": "on"}, DECAY), "limits-INITIAL_FORMS": 1}
    assert send(client, page("step_change", world.plan.pk, world.step.pk), data).status_code == 302
    assert [row.reading for row in world.step.limits.all()] == ["decay"]


# ---------- what the pages show ----------


@pytest.mark.parametrize("name", ["unit_types", "applications", "fluids"])
def test_an_empty_list_says_what_it_is_for(client, bench, name):
    client.force_login(bench)
    assert 'class="empty"' in client.get(page(name)).content.decode()


@pytest.mark.parametrize("name", ["unit_types", "applications", "fluids"])
def test_a_list_costs_the_same_for_10_and_for_20_rows(client, bench, name):
    client.force_login(bench)
    costs = []
    for turn in range(2):
        for at in range(10):
            row = TypeRevisionFactory(service_fluid=FluidFactory(name=f"HM {turn}{at}"))
            ramp = Application.objects.create(name=f"Ramp {turn}{at}")
            MountingPlace.objects.create(application=ramp, unit_type=row.unit_type, name="left")
        with CaptureQueriesContext(connection) as queries:
            assert client.get(page(name)).status_code == 200
        costs.append(len(queries))
    assert costs[0] == costs[1]


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({"q": "lift"}, {"LC-1"}),
        ({"q": "arnside 77-"}, {"PU-2"}),
        ({"q": "7.7/1"}, {"PU-2"}),
        ({"q": "77-3"}, set()),
        ({"family": "power_unit"}, {"PU-2"}),
        ({"family": "engine"}, {"LC-1", "PU-2"}),
        ({"q": "valve"}, set()),
    ],
)
def test_unit_types_are_found_by_words_and_family(client, bench, query, found):
    client.force_login(bench)
    UnitTypeFactory(code="LC-1", name="Lift cylinder")
    power_unit = UnitTypeFactory(code="PU-2", name="Power unit", family="power_unit", maker="Arnside")
    for number in ("77-1", "77-2"):
        MakerNumberFactory(unit_type=power_unit, number=number)
    text = client.get(page("unit_types"), query).content.decode()
    assert {code for code in ("LC-1", "PU-2") if code in text} == found


def test_a_unit_type_shows_everything_about_its_revision(client, bench, world):
    client.force_login(bench)
    revision = world.approved
    PositionFactory(revision=revision, code="S1", gland_depth_min_mm=3.0, gland_depth_max_mm=3.1)
    HoseFactory(port=PortFactory(revision=revision, code="P1"), code="7")
    ComponentFactory(revision=revision, code="K1", name="barrel tube")
    DimensionLimitFactory(revision=revision, code="D1")
    plan = PlanFactory(revision=revision)
    step = plan.steps.create(order=1, kind="proof", title="proof", pressure_bar=160, hold_s=60)
    step.limits.create(
        reading="leak", judged="value", quantity="flow", unit="mL/min", upper=1, source="memory", basis="x"
    )
    kit = Kit.objects.create(revision=revision, name="seal set")
    KitLine.objects.create(kit=kit, port=revision.ports.get(), part=PartFactory(number="PN-77"))
    MountingPlace.objects.create(
        application=world.application, unit_type=revision.unit_type, name="port side"
    )
    text = client.get(revision.unit_type.get_absolute_url()).content.decode()
    for words in (
        "Wall calculation of this shop",
        "3 to 3.1",
        '<td data-label="Hose">7</td>',
        "barrel tube",
        "11.95 to 12",
        "at most 1 mL/min",
        "from memory, not verified",
        "PN-77",
        "port side",
        "Ask somebody from: lead",
    ):
        assert words in text, words
    assert "/unit-types/revisions/" not in text  # nothing to change for the bench


def test_the_approved_revision_is_shown_unless_another_is_asked_for(client, lead, world):
    client.force_login(lead)
    unit_type = world.approved.unit_type
    TypeRevisionFactory(unit_type=unit_type, number=2, state="draft", bore_mm=99.0)
    url = unit_type.get_absolute_url()
    assert "is a draft" not in client.get(url).content.decode()
    text = client.get(url, {"revision": 2}).content.decode()
    assert "is a draft" in text
    assert "Approve this draft" in text
    assert client.get(url, {"revision": 3}).status_code == 404
    assert client.get(url, {"revision": "x"}).status_code == 404


@pytest.mark.parametrize(
    ("name", "args"), [("unit_type", [10**6]), ("test_plan", [10**6]), ("application", [10**6])]
)
def test_an_unknown_page_is_not_found(client, bench, name, args):
    client.force_login(bench)
    assert client.get(page(name, *args)).status_code == 404


def test_a_unit_type_without_revision_says_what_it_waits_for(client, bench):
    client.force_login(bench)
    text = client.get(UnitTypeFactory().get_absolute_url()).content.decode()
    assert "No revision yet" in text


def test_a_plan_shows_its_steps_and_changes(client, bench, world):
    client.force_login(bench)
    text = client.get(page("test_plan", world.plan.pk)).content.decode()
    assert "outside dry: <strong>as required</strong>" in text
    assert "For the test" in text
    assert "Approve this version" not in text


def test_the_step_page_shows_the_limits_of_the_shop_with_their_source(client, lead, world):
    client.force_login(lead)
    text = client.get(page("step_new", world.plan.pk), {"kind": "low_pressure_leak"}).content.decode()
    assert "ISO 10100 as remembered" in text
    assert "from memory, not verified" in text


def test_a_refused_step_keeps_what_was_typed(client, lead, world):
    client.force_login(lead)
    data = {**STEP, **limits({**DECAY, "unit": "bar"})}
    text = send(client, page("step_new", world.plan.pk), data).content.decode()
    assert "decay: A decay is limited by" in text
    assert 'value="trials"' in text

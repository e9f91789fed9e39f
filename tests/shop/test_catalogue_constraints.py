"""The rules that the database keeps for the catalogue: said in words, and enforced below the program."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from shop.models import (
    Application,
    Component,
    DimensionLimit,
    Hose,
    LimitSetting,
    MountingPlace,
    Port,
    SealPosition,
    ShopProfile,
    StepLimit,
    TestPlan,
    TestStep,
    TypeRevision,
)
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


def revision(**fields):
    fields = {"unit_type": UnitTypeFactory(), "number": 1, "service_fluid": FluidFactory()} | fields
    return TypeRevision(**fields)


def proof(**fields):
    given = {"proof_pressure_bar": 160.0, "proof_hold_s": 60.0, "proof_basis": "drawing 7"}
    return revision(**given | fields)


def again(factory, model, **fields):
    """A second row of the same code."""
    first = factory(**fields)
    kept = ("kind", "motion", "fitting", "quantity", "lower", "basis")
    same = {name: getattr(first, name) for name in kept if hasattr(first, name)}
    return model(revision=first.revision, code=first.code, name="another", **same)


def position(**fields):
    return SealPosition(
        revision=TypeRevisionFactory(), code="S", name="s", kind="wiper", motion="static", **fields
    )


def hose(port=None, **fields):
    port = port or PortFactory()
    given = {"code": "H", "name": "h", "attachment": "not_known"}
    return Hose(port=port, **{"revision": port.revision, **given, **fields})


def same_hose():
    first = HoseFactory()
    return hose(PortFactory(revision=first.revision), code=first.code)


def port_along(along):
    return Port(revision=TypeRevisionFactory(), code="P", name="p", fitting="crimped", along=along)


def dimension(**fields):
    given = {"code": "D", "name": "d", "quantity": "bore", "basis": "drawing"}
    return DimensionLimit(revision=TypeRevisionFactory(), **given | fields)


def gland_dimension(**fields):
    seat = PositionFactory()
    given = {"code": "D", "name": "d", "quantity": "groove", "basis": "drawing", "gland_figure": "depth"}
    return DimensionLimit(revision=seat.revision, position=seat, **given | fields)


def step(plan=None, order=1):
    return TestStep(plan=plan or PlanFactory(), order=order, kind="hold", title="hold")


def same_order():
    first = step()
    first.save()
    return step(plan=first.plan)


def limit(**fields):
    owner = step()
    owner.save()
    given = {"reading": "leak", "judged": "value", "unit": "bar", "basis": "drawing"}
    return StepLimit(step=owner, **given | fields)


def same_reading():
    first = limit(upper=1.0)
    first.save()
    return StepLimit(step=first.step, reading="leak", judged="value", upper=1.0, basis="x")


def place(name="left", **fields):
    ramp, _made = Application.objects.get_or_create(name="Ramp")
    return MountingPlace(application=ramp, unit_type=UnitTypeFactory(), name=name, **fields)


def same_place():
    place().save()
    return place()


def second(state, model=TypeRevision):
    first = TypeRevisionFactory()
    if model is TestPlan:
        PlanFactory(revision=first)
        return TestPlan(revision=first, version=2 if state else 1, state=state or "draft", title="x")
    number = 2 if state else 1
    return revision(unit_type=first.unit_type, number=number, state=state or "draft")


RULES = {
    "typerevision_number_once": (lambda: second(""), "number exists already"),
    "typerevision_one_approved": (lambda: second("approved"), "Another revision is approved"),
    "typerevision_proof_without_basis": (lambda: proof(proof_basis=""), "no general default"),
    "typerevision_proof_without_hold": (lambda: proof(proof_hold_s=None), "no general default"),
    "typerevision_proof_zero": (lambda: proof(proof_pressure_bar=0.0), "no general default"),
    "typerevision_rod_in_bore": (lambda: revision(bore_mm=20.0, rod_mm=20.0), "thinner than the bore"),
    "sealposition_code_once": (lambda: again(PositionFactory, SealPosition), "position of that code"),
    "sealposition_depth_order": (
        lambda: position(gland_depth_min_mm=3.0, gland_depth_max_mm=2.9),
        "least gland depth is larger",
    ),
    "sealposition_width_order": (
        lambda: position(gland_width_min_mm=3.0, gland_width_max_mm=2.9),
        "least groove width is larger",
    ),
    "component_code_once": (lambda: again(ComponentFactory, Component), "component of that code"),
    "port_code_once": (lambda: again(PortFactory, Port), "port of that number"),
    "port_along_the_body": (lambda: port_along(1.01), "from 0 .end cap. to 1"),
    "port_along_below": (lambda: port_along(-0.01), "from 0 .end cap. to 1"),
    "hose_code_once": (same_hose, "hose of that number already"),
    "hose_port_once": (lambda: hose(HoseFactory().port), "has its hose already"),
    "hose_length_positive": (lambda: hose(length_mm=0.0), "length of a hose is above 0 mm"),
    "hose_inside_positive": (lambda: hose(inside_diameter_mm=0.0), "inside diameter of a hose is above"),
    "hose_rating_positive": (lambda: hose(rated_pressure_bar=0.0), "rated pressure of a hose is above"),
    "dimensionlimit_code_once": (lambda: again(DimensionLimitFactory, DimensionLimit), "dimension of that"),
    "dimensionlimit_has_limit": (dimension, "Give a lower or an upper"),
    "dimensionlimit_figure_without_position": (
        lambda: dimension(lower=1.0, gland_figure="depth"),
        "go together",
    ),
    "dimensionlimit_position_without_figure": (
        lambda: gland_dimension(lower=1.0, gland_figure=""),
        "go together",
    ),
    "dimensionlimit_length_of_a_bore": (lambda: dimension(length_mm=300.0), "Only a run-out has a length"),
    "dimensionlimit_length_zero": (
        lambda: dimension(quantity="run_out", length_mm=0.0),
        "Only a run-out has a length",
    ),
    "dimensionlimit_length_of_a_gland": (
        lambda: gland_dimension(quantity="run_out", length_mm=300.0),
        "no figure of a gland",
    ),
    "dimensionlimit_sum_in_mm": (lambda: gland_dimension(unit="µm"), "read in mm"),
    "sealposition_clearance_not_negative": (lambda: position(clearance_max_mm=-0.1), "0 mm or more"),
    "dimensionlimit_order": (lambda: dimension(lower=2.0, upper=1.0), "above the upper limit"),
    "testplan_version_once": (lambda: second("", TestPlan), "version exists already"),
    "testplan_one_approved": (lambda: second("approved", TestPlan), "Another version is approved"),
    "teststep_order_once": (same_order, "same place in the order"),
    "steplimit_reading_once": (same_reading, "reading of that name already"),
    "steplimit_has_limit": (limit, "Give a lower or an upper"),
    "steplimit_order": (lambda: limit(lower=2.0, upper=1.0), "above the upper limit"),
    "steplimit_recorded_open": (lambda: limit(judged="recorded", upper=1.0), "kept beside has no limit"),
    "steplimit_stroke_figure": (lambda: limit(judged="stroke", upper=1.0), "needs its figure"),
    "steplimit_stroke_figure_unit": (
        lambda: limit(judged="stroke", upper=1.0, figure="stick_slip"),
        "needs its figure",
    ),
    "steplimit_stroke_figure_elsewhere": (
        lambda: limit(upper=1.0, figure="running"),
        "needs its figure",
    ),
    "steplimit_efficiency_whole": (
        lambda: limit(judged="efficiency", unit="%", lower=80.0, displacement_cm3=24.58),
        "needs the displacement",
    ),
    "steplimit_efficiency_whole_zero": (
        lambda: limit(
            judged="efficiency", unit="%", lower=80.0, displacement_cm3=0.0, displacement_error_pct=1.0
        ),
        "needs the displacement",
    ),
    "steplimit_efficiency_whole_elsewhere": (
        lambda: limit(upper=1.0, displacement_cm3=1.0),
        "needs the displacement",
    ),
    "steplimit_cleanliness_code": (lambda: limit(judged="cleanliness"), "needs its code at most"),
    "steplimit_cleanliness_code_alone": (
        lambda: limit(judged="cleanliness", code_at_most="18/16/13", upper=1.0),
        "no other limit",
    ),
    "steplimit_cleanliness_code_elsewhere": (
        lambda: limit(upper=1.0, code_at_most="18/16/13"),
        "no other limit",
    ),
    "mountingplace_name_once": (same_place, "place of that name already"),
    "mountingplace_labour_positive": (lambda: place(access_labour_h=-1.0), "cannot be negative"),
    "shopprofile_one_row": (lambda: ShopProfile(pk=2, name="x"), "one shop profile only"),
    "limitsetting_key_once": (
        lambda: LimitSetting(key="rod-run-out", title="x", value=1, source="shop", basis="x"),
        "already exists",
    ),
}


@pytest.mark.parametrize("rule", RULES)
def test_the_rule_is_said_in_words(rule):
    make, words = RULES[rule]
    with pytest.raises(ValidationError, match=words):
        make().full_clean()


@pytest.mark.parametrize("rule", RULES)
def test_the_database_enforces_the_rule(rule):
    make, _words = RULES[rule]
    row = make()
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


@pytest.mark.parametrize(
    "make",
    [
        lambda: proof(proof_pressure_bar=None, proof_hold_s=None, proof_basis=""),
        lambda: revision(bore_mm=20.0, rod_mm=19.9),
        lambda: position(gland_depth_min_mm=3.0, gland_depth_max_mm=3.0),
        lambda: position(gland_depth_min_mm=3.0),
        lambda: dimension(lower=1.0, upper=1.0),
        lambda: position(clearance_max_mm=0.0),
        gland_dimension,
        lambda: dimension(quantity="run_out", length_mm=300.0),
        lambda: limit(judged="witness"),
        lambda: port_along(0.0),
        lambda: port_along(1.0),
        lambda: hose(length_mm=0.1, inside_diameter_mm=0.1, rated_pressure_bar=0.1),
        place,
    ],
)
def test_the_other_side_of_each_limit_is_kept(make):
    row = make()
    row.full_clean()
    row.save()
    assert row.pk

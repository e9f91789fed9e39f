"""Rig fluid against the fitted seals and the service fluid of the type."""

import pytest

from shop.errors import NotAllowed, RuleBroken
from shop.models import Fluid, FluidFamily
from tests import factories
from tests.workorders import bench as at_bench
from workorders.models import FluidDecision, PressureTest
from workorders.services.rig_fluid import MUST_NOT, NEEDS_LEAD, RUNS, check_fluid, decide_fluid
from workorders.services.testing import start_test

pytestmark = pytest.mark.django_db


def fluid(family, name="rig oil"):
    return Fluid.objects.create(name=name, family=family)


def test_a_pair_read_as_good_runs_at_once():
    # NBR in mineral oil, good: compatibility.csv, READ (oringsupplyco.com, hydraulic O-ring selection).
    rebuild = at_bench.ready_rebuild("NBR")
    check = check_fluid(rebuild, rebuild.revision.service_fluid)
    assert check.word == RUNS
    assert not check.concerns


@pytest.mark.parametrize(
    ("polymer", "family"),
    # compatibility.csv, READ: EPDM swells 30 to 80 % in mineral oil; NBR in HFDR and DOT 3/4.
    [("EPDM", FluidFamily.MINERAL), ("NBR", FluidFamily.HFDR), ("NBR", FluidFamily.DOT)],
)
def test_a_pair_that_a_source_forbids_never_runs(bench, lead, act, polymer, family):
    rebuild = at_bench.ready_rebuild(polymer)
    bad = fluid(family)
    check = check_fluid(rebuild, bad)
    assert check.word == MUST_NOT
    assert polymer in check.forbidden[0]
    with pytest.raises(RuleBroken, match="nobody may override"):
        decide_fluid(
            act=act(lead, why="just this once"), rebuild=rebuild, rig_fluid=bad, flushing="HM 32, twice"
        )
    with pytest.raises(RuleBroken, match="nobody may override"):
        start_test(act=act(bench), rebuild=rebuild, rig_fluid=bad)
    assert not FluidDecision.objects.exists()
    assert not PressureTest.objects.exists()


@pytest.mark.parametrize(
    ("polymer", "family", "word"),
    # compatibility.csv: AU in mineral MEMORY, FKM in HFDR CONFLICT, POM in no row, NBR in HEES limited.
    [
        ("AU", FluidFamily.MINERAL, "from memory only"),
        ("FKM", FluidFamily.HFDR, "sources disagree"),
        ("POM", FluidFamily.MINERAL, "not listed"),
        ("NBR", FluidFamily.HEES, "limited (high-ACN grade only)"),
    ],
)
def test_a_pair_that_no_source_clears_waits_for_the_lead(bench, lead, act, polymer, family, word):
    doubtful = fluid(family)
    rebuild = at_bench.ready_rebuild(polymer, service_fluid=doubtful)
    check = check_fluid(rebuild, doubtful)
    assert check.word == NEEDS_LEAD
    assert word in check.concerns[0]
    with pytest.raises(RuleBroken, match="Ask the lead"):
        start_test(act=act(bench), rebuild=rebuild, rig_fluid=doubtful)
    decide_fluid(act=act(lead, why="maker agrees"), rebuild=rebuild, rig_fluid=doubtful, flushing="none")
    assert check_fluid(rebuild, doubtful).may_run
    assert start_test(act=act(bench), rebuild=rebuild, rig_fluid=doubtful).rig_fluid == doubtful


def test_a_fluid_foreign_to_the_service_fluid_waits_for_the_lead(bench, lead, act):
    # NBR is good in HFC by a source that was read, but the type runs on mineral oil.
    rebuild = at_bench.ready_rebuild("NBR")
    glycol = fluid(FluidFamily.HFC)
    assert [line for line in check_fluid(rebuild, glycol).concerns if "foreign" in line]
    with pytest.raises(RuleBroken, match="foreign to the service fluid"):
        start_test(act=act(bench), rebuild=rebuild, rig_fluid=glycol)
    decision = decide_fluid(
        act=act(lead, why="only rig free today"), rebuild=rebuild, rig_fluid=glycol, flushing="HM 32, 3 fills"
    )
    assert (decision.by, decision.why, decision.flushing) == (lead, "only rig free today", "HM 32, 3 fills")
    assert start_test(act=act(bench), rebuild=rebuild, rig_fluid=glycol)


def test_a_decision_holds_only_for_what_was_known_when_it_was_made(lead, act):
    rebuild = at_bench.ready_rebuild("AU")
    oil = rebuild.revision.service_fluid
    decide_fluid(act=act(lead, why="ok"), rebuild=rebuild, rig_fluid=oil, flushing="none")
    assert check_fluid(rebuild, oil).may_run
    at_bench.fit_seal(rebuild, "POM")
    assert check_fluid(rebuild, oil).word == NEEDS_LEAD


def test_a_decision_is_for_one_fluid_and_one_rebuild(lead, act):
    rebuild = at_bench.ready_rebuild("AU")
    oil = rebuild.revision.service_fluid
    decide_fluid(act=act(lead, why="ok"), rebuild=rebuild, rig_fluid=oil, flushing="none")
    other_fluid = fluid(FluidFamily.MINERAL, "HM 46")
    assert check_fluid(rebuild, other_fluid).word == NEEDS_LEAD
    assert check_fluid(at_bench.ready_rebuild("AU"), oil).word == NEEDS_LEAD


def test_spoiled_seals_and_those_taken_back_do_not_count(bench):
    rebuild = at_bench.ready_rebuild("NBR")
    at_bench.fit_seal(rebuild, "EPDM", use="spoiled")
    assert check_fluid(rebuild, rebuild.revision.service_fluid).word == RUNS


def test_only_the_lead_decides(bench, act):
    rebuild = at_bench.ready_rebuild("AU")
    with pytest.raises(NotAllowed, match="Ask somebody from: lead"):
        decide_fluid(
            act=act(bench, why="x"), rebuild=rebuild, rig_fluid=rebuild.revision.service_fluid, flushing="y"
        )
    assert not FluidDecision.objects.exists()


@pytest.mark.parametrize(("why", "flushing", "field"), [("", "flush", "reason"), ("why", " ", "flushing")])
def test_a_decision_needs_reason_and_flushing(lead, act, why, flushing, field):
    rebuild = at_bench.ready_rebuild("AU")
    with pytest.raises(RuleBroken) as refused:
        decide_fluid(
            act=act(lead, why=why),
            rebuild=rebuild,
            rig_fluid=rebuild.revision.service_fluid,
            flushing=flushing,
        )
    assert list(refused.value.fields) == [field]
    assert not FluidDecision.objects.exists()


def test_there_is_nothing_to_decide_about_a_fluid_that_may_run(lead, act):
    rebuild = at_bench.ready_rebuild("NBR")
    with pytest.raises(RuleBroken, match="nothing to decide"):
        decide_fluid(
            act=act(lead, why="x"), rebuild=rebuild, rig_fluid=rebuild.revision.service_fluid, flushing="y"
        )


def test_checking_all_fluids_costs_the_same_for_ten_as_for_one(django_assert_num_queries):
    from workorders.services.rig_fluid import check_fluids

    rebuild = at_bench.ready_rebuild("NBR", "FKM")
    for n in range(10):
        factories.FluidFactory(name=f"oil {n}")
    fluids = list(Fluid.objects.all())
    rebuild.refresh_from_db()
    rebuild.revision.service_fluid  # noqa: B018 - fetched before counting
    with django_assert_num_queries(2):
        check_fluids(rebuild, fluids)

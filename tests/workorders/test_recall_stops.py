"""A recalled lot stops a unit in the shop at its stage, until the part is renewed or the lead decides."""

import pytest
from django.urls import reverse

from inventory.services import making
from shop.errors import NotAllowed, RuleBroken
from tests import factories
from tests.workorders.journey import Journey
from tests.workorders.packing_bench import Bench
from workorders.models import Rebuild
from workorders.services import build, packing, recalls, releasing, shipping, teardown, testing
from workorders.services.next_step import next_step
from workorders.services.recall_state import carried, stopped

pytestmark = pytest.mark.django_db
WORDS = {"reason": "lips crack within months", "instructions": "Call us."}


def lot_at(journey, code="S1"):
    return journey.revision.kit.lines.get(position__code=code).part.lots.get()


def recall_lot(journey, *lots, advice="stop"):
    return recalls.open_recall(
        act=journey.act("stores"), lots=lots or [lot_at(journey)], advice=advice, **WORDS
    )


def ready():
    return Journey().receive().find().close_teardown().go_ahead()


def renew(journey):
    """Take the recalled seal back and fit one of another lot."""
    old = journey.rebuild.parts_used.get(position__code="S1", taken_back__isnull=True)
    build.take_back_part(act=journey.act("bench", "recalled"), part_used=old)
    build.use_part(
        act=journey.act("bench", "recalled"),
        rebuild=journey.rebuild,
        place=old.position,
        lot=factories.LotFactory(part=old.lot.part),
        quantity=1,
    )


def let_go(journey, recall, may_go=True):
    recalls.decide(
        act=journey.act("lead", "tried at 160 bar for an hour"),
        recall=recall,
        rebuild=journey.rebuild,
        may_go=may_go,
    )


def on_test():
    return ready().fit().close_build().start_test().run_steps()


STOPPED = "holds recalled lot"


@pytest.mark.record_row("R24")
def test_no_build_is_signed_until_the_part_is_renewed():
    journey = ready().fit()
    recall_lot(journey)
    with pytest.raises(RuleBroken, match=STOPPED):
        journey.close_build()
    renew(journey)
    assert stopped(journey.rebuild) == []
    journey.close_build()


def test_no_test_is_started_on_a_signed_build():
    journey = ready().fit().close_build()
    recall = recall_lot(journey)
    with pytest.raises(RuleBroken, match=STOPPED):
        journey.start_test()
    let_go(journey, recall)
    journey.start_test()


def test_a_running_test_is_not_signed():
    journey = on_test()
    recall = recall_lot(journey)
    with pytest.raises(RuleBroken, match=STOPPED):
        journey.sign_test()
    let_go(journey, recall)
    journey.sign_test()


def test_nothing_is_released():
    journey = on_test().sign_test()
    recall = recall_lot(journey)
    assert "recall" in {row.name for row in releasing.missing_for_release(journey.rebuild)}
    with pytest.raises(RuleBroken, match=STOPPED):
        journey.release()
    let_go(journey, recall)
    journey.release()


def test_a_renewed_part_is_built_tested_and_released_anew():
    journey = on_test().sign_test()
    recall_lot(journey)
    testing.supersede_test(act=journey.act("bench"), test=journey.test, reason="recalled seal")
    renew(journey)
    journey.close_build().start_test().run_steps().sign_test().release().ship()
    assert carried([journey.unit.pk]) == {}


def test_nothing_is_put_into_a_parcel_and_nothing_leaves():
    bench = Bench()
    lot = bench.one.parts_used.get(position__code="S1").lot
    other = bench.another()
    bench.full()
    recall = recall_lot(bench.way, lot)
    with pytest.raises(RuleBroken, match=STOPPED):
        bench.put_in(other)
    with pytest.raises(RuleBroken, match=STOPPED):
        bench.send()
    bench.way.rebuild = bench.one
    let_go(bench.way, recall)
    bench.send()
    (row,) = carried([bench.one.unit_id])[bench.one.unit_id]
    assert (row.let_go, row.stops) == (True, False)


def test_shipping_past_the_packing_bench_is_refused_too():
    journey = on_test().sign_test().release()
    recall_lot(journey)
    with pytest.raises(RuleBroken, match=STOPPED):
        journey.ship()


def test_a_unit_going_back_as_found_is_stopped_too():
    journey = Journey().tested().release().ship()
    recall = recall_lot(journey)
    journey.receive(unit=journey.unit).find()
    shipping.exit_rebuild(
        act=journey.act("lead"), rebuild=journey.rebuild, exit="returned_as_found", reason="price refused"
    )
    journey.rebuild.refresh_from_db()
    assert "Stopped" in next_step(journey.rebuild).sentence
    assert next_step(journey.rebuild).action == "recall_decide"
    with pytest.raises(RuleBroken, match=STOPPED):
        journey.ship()
    let_go(journey, recall)
    journey.ship()


def test_a_unit_that_comes_back_is_stopped_until_the_place_is_renewed():
    journey = Journey().tested().release().ship()
    recall_lot(journey)
    journey.receive(unit=journey.unit).find().close_teardown().go_ahead()
    for line in journey.revision.kit.lines.all():
        build.use_part(
            act=journey.act("bench"),
            rebuild=journey.rebuild,
            place=line.position,
            lot=factories.LotFactory(part=line.part) if line.position.code == "S1" else line.part.lots.get(),
            quantity=1,
        )
    assert stopped(journey.rebuild) == []
    journey.close_build()


def test_a_place_that_is_kept_stays_stopped():
    journey = Journey().tested().release().ship()
    recall_lot(journey)
    journey.receive(unit=journey.unit).find()
    teardown.record_finding(
        act=journey.act("bench"),
        rebuild=journey.rebuild,
        place=journey.revision.positions.get(code="S1"),
        condition="sound",
        cause="none",
        action="kept",
    )
    journey.close_teardown().go_ahead()
    assert stopped(journey.rebuild)


def test_a_lot_inside_a_made_part_stops_the_unit_by_its_path():
    journey = ready().fit()
    root = factories.LotFactory()
    part = factories.PartFactory(kind="component", polymer="")
    made = making.make_lot(
        act=journey.act("stores"),
        part=part,
        quantity=1,
        place="D1",
        inputs=[making.Input(lot=root, quantity=1)],
    )
    build.use_part(
        act=journey.act("bench"),
        rebuild=journey.rebuild,
        place=journey.revision.components.get(),
        lot=made,
        quantity=1,
        fit_reason="as the drawing says",
    )
    recall_lot(journey, root)
    with pytest.raises(RuleBroken, match=f"K1 barrel holds recalled lot {root} > {made}"):
        journey.close_build()


def test_the_lead_may_stop_a_unit_again_and_a_later_lot_is_another_question():
    journey = ready().fit()
    recall = recall_lot(journey)
    let_go(journey, recall)
    assert stopped(journey.rebuild) == []
    let_go(journey, recall, may_go=False)
    assert stopped(journey.rebuild)
    let_go(journey, recall)
    recalls.add_lots(act=journey.act("stores", "same batch"), recall=recall, lots=[lot_at(journey, "S2")])
    assert stopped(journey.rebuild)


def test_the_word_of_the_lead_holds_for_one_rebuild():
    journey = ready().fit()
    recall = recall_lot(journey)
    let_go(journey, recall)
    journey.close_build().start_test().run_steps().sign_test().release().ship()
    journey.receive(unit=journey.unit)
    assert stopped(journey.rebuild)


@pytest.mark.record_row("R24")
def test_only_the_lead_decides_with_a_reason_while_the_unit_is_here():
    journey = ready().fit()
    recall = recall_lot(journey)
    told = {"recall": recall, "rebuild": journey.rebuild, "may_go": True}
    with pytest.raises(NotAllowed):
        recalls.decide(act=journey.act("bench", "looks good"), **told)
    with pytest.raises(RuleBroken):
        recalls.decide(act=journey.act("lead"), **told)
    left = Journey(revision=journey.revision).receive()
    Rebuild.objects.filter(pk=left.rebuild.pk).update(stage="scrapped", exit_reason="broken")
    with pytest.raises(RuleBroken, match="not in the shop"):
        recalls.decide(act=journey.act("lead", "why not"), recall=recall, rebuild=left.rebuild, may_go=True)


@pytest.mark.parametrize("stage", ["building", "built", "tested", "released"])
def test_what_comes_next_says_that_it_is_stopped_and_leads_on(stage):
    journey = ready().fit()
    if stage != "building":
        journey.close_build()
    if stage in ("tested", "released"):
        journey.start_test().run_steps().sign_test()
    if stage == "released":
        journey.release()
    recall_lot(journey)
    journey.rebuild.refresh_from_db()
    step = next_step(journey.rebuild)
    assert step.sentence.startswith("Stopped: S1")
    to_test = stage in ("tested", "released")
    assert step.url == (
        journey.test.get_absolute_url() if to_test else reverse("workorders:build", args=[journey.rebuild.pk])
    )


def test_before_building_the_usual_steps_come_first():
    journey = Journey().tested().release().ship()
    recall_lot(journey)
    journey.receive(unit=journey.unit)
    assert "torn down" in next_step(journey.rebuild).sentence


def test_a_certificate_of_a_unit_that_left_is_still_issued_anew():
    journey = Journey().tested().release().ship()
    recall_lot(journey)
    again = releasing.reissue_release(act=journey.act("lead", "name misspelt"), release=journey.released)
    assert again.replaces == journey.released


def test_a_withdrawn_recall_stops_nothing_and_a_closed_one_does():
    journey = ready().fit()
    recall = recall_lot(journey)
    recalls.close_recall(act=journey.act("lead", "all called"), recall=recall)
    assert stopped(journey.rebuild)
    recalls.withdraw_recall(act=journey.act("lead", "another batch"), recall=recall)
    assert stopped(journey.rebuild) == []
    journey.close_build()


def test_taking_a_unit_out_of_a_parcel_is_still_possible():
    bench = Bench()
    unit = bench.full()
    recall_lot(bench.way, bench.one.parts_used.get(position__code="S1").lot)
    packing.take_out(act=bench.clerk(), unit=unit)

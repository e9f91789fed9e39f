"""Release, reissue, shipping, warranty and claim by their services.

The record rows R1, R2, R9 and so on are those of docs/record.md: modelled on the sources named
there, no compliance claimed.
"""

import datetime as dt

import pytest
from django.db import IntegrityError, connection, transaction

from shop.errors import NotAllowed, RuleBroken
from shop.models import TestPlan
from tests import factories
from tests.workorders.journey import Journey
from workorders.documents.printed import day
from workorders.models import (
    Finding,
    GoAhead,
    Measurement,
    PartUsed,
    PressureTest,
    Reading,
    Rebuild,
    Release,
    Signature,
    StepResult,
)
from workorders.services import claims, go_ahead, receiving, releasing, shipping, teardown, testing
from workorders.services.certificate import printed_again
from workorders.services.next_step import next_step
from workorders.services.stages import derived_stage

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def tested(keep):
    return keep(lambda: Journey().tested())


@pytest.fixture
def journey(tested):
    """A unit whose test is signed."""
    return tested()


def erase(rows):
    """Remove rows as only an administrator with the database in hand could: past the triggers."""
    table = rows.model._meta.db_table
    keys = list(rows.values_list("pk", flat=True))
    assert keys, f"nothing to erase in {table}"
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(f"DROP TRIGGER IF EXISTS {table}_no_DELETE")
        else:
            cursor.execute(f"DROP TRIGGER IF EXISTS {table}_append_only ON {table}")
        for key in keys:
            cursor.execute(f"DELETE FROM {table} WHERE id = %s", [key])


def signature(meaning):
    return lambda j: erase(Signature.objects.filter(rebuild=j.rebuild, meaning=meaning))


def finding(code):
    def remove(journey):
        rows = Finding.objects.filter(rebuild=journey.rebuild)
        found = [row.pk for row in rows if row.place.code == code]
        erase(Finding.objects.filter(pk__in=found))

    return remove


def part(code):
    return lambda j: erase(PartUsed.objects.filter(rebuild=j.rebuild, position__code=code))


def step(order):
    def remove(journey):
        results = StepResult.objects.filter(pressure_test__rebuild=journey.rebuild, step__order=order)
        erase(Reading.objects.filter(result__in=results))
        erase(results)

    return remove


def verdict(order, word):
    def change(journey):
        result = StepResult.objects.get(pressure_test__rebuild=journey.rebuild, step__order=order)
        result.verdict = word
        result.save()

    return change


def plan_superseded(journey):
    plan = journey.test.plan
    plan.state = TestPlan.State.SUPERSEDED
    plan.save()


def rejected(journey):
    row = Finding.objects.filter(rebuild=journey.rebuild, position__code="S1").get()
    row.action = Finding.Action.REJECTED
    row.save()


def debris_unexplained(journey):
    journey.rebuild.debris_found = True
    journey.rebuild.save()


def part_after_test(journey):
    row = PartUsed.objects.filter(rebuild=journey.rebuild).first()
    with connection.cursor() as cursor:
        name = "workorders_partused"
        drop = f"{name}_no_UPDATE" if connection.vendor == "sqlite" else f"{name}_append_only ON {name}"
        cursor.execute(f"DROP TRIGGER IF EXISTS {drop}")
        cursor.execute(
            f"UPDATE {name} SET at = %s WHERE id = %s", [journey.now + dt.timedelta(days=1), row.pk]
        )


def rod_out_of_limits(journey):
    row = Measurement.objects.get(rebuild=journey.rebuild)
    row.value = 11.5
    row.save()


STEPS = ["Low-pressure leak", "Proof", "Pressure hold", "Piston bypass", "Outside dry"]
REMOVED = [
    ("receipt", signature("received"), "received and inspected on arrival"),
    ("teardown", signature("torn_down"), "teardown is not signed"),
    ("build", signature("built"), "build is not signed"),
    ("go-ahead", lambda j: erase(GoAhead.objects.filter(rebuild=j.rebuild)), "go-ahead"),
    *[(f"finding {code}", finding(code), code) for code in ("S1", "S2", "S3", "S4", "K1", "P1")],
    *[(f"part at {code}", part(code), code) for code in ("S1", "S2", "S3", "S4")],
    ("measurement", lambda j: erase(Measurement.objects.filter(rebuild=j.rebuild)), "D1"),
    ("measurement out of limits", rod_out_of_limits, "D1"),
    *[(f"step {n}", step(n), title) for n, title in enumerate(STEPS, 1)],
    ("failed step", verdict(3, "fails"), "Pressure hold fails"),
    ("undecided step", verdict(3, "not_decided"), "Pressure hold not decided"),
    ("instrument out of calibration", verdict(2, "invalid"), "Proof, both sides invalid"),
    ("plan no longer approved", plan_superseded, "no longer the approved one"),
    ("rejected place", rejected, "rejected"),
    ("debris unexplained", debris_unexplained, "debris"),
    ("parts changed after the test", part_after_test, "parts were changed after it"),
]


@pytest.mark.record_row("R1")
@pytest.mark.record_row("R2")
@pytest.mark.record_row("R3")
@pytest.mark.record_row("R33")
@pytest.mark.parametrize(("name", "remove", "named"), REMOVED, ids=[row[0] for row in REMOVED])
def test_a_release_with_one_step_missing_is_refused_by_name(name, remove, named, journey):
    remove(journey)
    assert any(
        named in f"{row.name} {row.sentence}" for row in releasing.missing_for_release(journey.rebuild)
    )
    with pytest.raises(RuleBroken, match=named):
        journey.release()
    assert not Release.objects.exists()


@pytest.mark.parametrize("made", ["none", "running", "superseded"])
def test_a_release_needs_a_signed_test_that_stands(made):
    journey = Journey().receive().find().close_teardown().go_ahead().fit().close_build()
    if made != "none":
        journey.start_test().run_steps()
    if made == "superseded":
        journey.sign_test()
        testing.supersede_test(act=journey.act("lead"), test=journey.test, reason="wrong hose fitted")
    with pytest.raises(RuleBroken, match="pressure test is not"):
        journey.release()


@pytest.mark.record_row("R13")
@pytest.mark.record_row("R20")
def test_a_unit_goes_from_the_box_to_a_warranty(journey):
    journey.release().ship()
    rebuild = journey.rebuild
    assert rebuild.stage == Rebuild.Stage.SHIPPED == derived_stage(rebuild)
    assert rebuild.warranty.holder == rebuild.work_order.customer
    starts = rebuild.warranty.starts_on
    assert rebuild.warranty.ends_on == starts.replace(year=starts.year + 3)  # 36 months in the profile
    assert releasing.signature_holds(journey.released)


@pytest.mark.record_row("R9")
@pytest.mark.record_row("R23")
@pytest.mark.record_row("R34")
@pytest.mark.parametrize("role", ["receiving", "bench", "warranty desk", "stores"])
def test_only_the_lead_signs_a_release(role, journey):
    with pytest.raises(NotAllowed, match="lead"):
        releasing.release_rebuild(act=journey.act(role), rebuild=journey.rebuild, status="overhauled")
    assert not Release.objects.exists()


@pytest.mark.record_row("R15")
def test_the_status_word_must_be_one_that_the_record_supports(journey):
    assert releasing.allowed_statuses(journey.rebuild) == ["overhauled", "repaired"]
    with pytest.raises(RuleBroken, match="overhauled, repaired"):
        journey.release(status="tested_only")
    with pytest.raises(RuleBroken):
        journey.release(status="as new")


@pytest.mark.record_row("R36")
def test_a_signature_moved_to_another_record_does_not_hold():
    one, other = Journey().tested().release(), Journey().tested().release()
    assert releasing.signature_holds(one.released)
    one.released.signature = other.released.signature
    assert not releasing.signature_holds(one.released)


def test_content_changed_behind_the_signature_is_seen(journey):
    release = journey.release().released
    release.content["certificate"]["positions"][0]["lot"] = "L-OTHER"
    assert not releasing.signature_holds(release)


@pytest.mark.record_row("R12")
def test_the_papers_print_again_to_the_issued_bytes(journey):
    from shop.services.files import read_bytes

    release = journey.release().released
    certificate, fitter = printed_again(Release.objects.get(pk=release.pk))
    assert certificate == read_bytes(release.certificate)
    assert fitter == read_bytes(release.fitter_page)


@pytest.mark.record_row("R29")
def test_a_reissue_has_its_own_number_and_both_stay(journey):
    journey.release()
    first = journey.released
    again = releasing.reissue_release(
        act=journey.act("lead", "customer's order number was wrong"), release=first
    )
    assert again.number != first.number
    assert again.replaces == first
    assert again.content["certificate"]["replaces"] == {
        "number": first.number,
        "reason": "customer's order number was wrong",
    }
    assert Release.objects.filter(pk=first.pk).exists()
    with pytest.raises(RuleBroken, match="replaced already"):
        releasing.reissue_release(act=journey.act("lead", "again"), release=first)


def test_a_reissue_needs_a_reason(journey):
    journey.release()
    with pytest.raises(RuleBroken) as caught:
        releasing.reissue_release(act=journey.act("lead"), release=journey.released)
    assert "why" in caught.value.fields


@pytest.mark.record_row("R11")
@pytest.mark.parametrize("verb", ["update", "delete"])
def test_a_release_cannot_be_changed_or_deleted_even_past_the_services(verb, journey):
    release = journey.release().released
    rows = Release.objects.filter(pk=release.pk)
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        rows.update(remarks="better") if verb == "update" else rows._raw_delete(rows.db)
    assert Release.objects.get(pk=release.pk).remarks == ""


def test_superseding_the_test_takes_the_release_down_and_a_new_one_can_follow(journey):
    journey.release()
    testing.supersede_test(act=journey.act("lead"), test=journey.test, reason="gauge was found wrong")
    journey.rebuild.refresh_from_db()
    assert journey.rebuild.stage == Rebuild.Stage.ON_TEST
    assert releasing.standing_release(journey.rebuild) is None
    journey.start_test().run_steps().sign_test()
    journey.rebuild.refresh_from_db()
    assert releasing.standing_release(journey.rebuild) is None, "nobody has signed for the new test yet"
    assert journey.rebuild.stage == Rebuild.Stage.ON_TEST
    step = next_step(journey.rebuild)
    assert (step.label, journey.released.number in step.url) == ("Release anew", True)
    again = releasing.reissue_release(act=journey.act("lead", "tested again"), release=journey.released)
    journey.rebuild.refresh_from_db()
    assert journey.rebuild.stage == Rebuild.Stage.RELEASED
    assert releasing.standing_release(journey.rebuild) == again


def test_a_shipment_needs_every_item_packed_or_kept_back_with_a_reason(journey):
    journey.release()
    order = journey.rebuild.work_order
    items = shipping.packing_items(journey.rebuild)
    assert any("H1" in item for item in items)
    assert any(journey.released.number in item for item in items)

    def ship(packed, kept=None, caps_on=True):
        pack = shipping.UnitPack(
            rebuild=journey.rebuild, packed=packed, caps_on=caps_on, kept_back=kept or {}
        )
        return shipping.ship(
            act=journey.act("receiving"),
            work_order=order,
            recipient=order.customer,
            address="1 Quay",
            carrier="",
            parcels=[shipping.ParcelPlan(units=[pack])],
        )

    with pytest.raises(RuleBroken, match="neither packed nor kept back"):
        ship(items[1:])
    with pytest.raises(RuleBroken, match="cap every open port"):
        ship(items, caps_on=False)
    journey.rebuild.refresh_from_db()
    assert journey.rebuild.stage == Rebuild.Stage.RELEASED
    shipment = ship(items[1:], {items[0]: "hose replaced, old one scrapped"})
    line = journey.rebuild.packed.checked[0]
    assert line == {
        "item": items[0],
        "packed": False,
        "reason": "hose replaced, old one scrapped",
        "kind": "hose",
        "code": "H1",
    }
    assert shipment.number.startswith("S26-")


def test_a_unit_that_is_not_released_does_not_leave(journey):
    with pytest.raises(RuleBroken, match="may not leave"):
        journey.ship()


@pytest.mark.record_row("R7")
def test_a_unit_goes_back_as_found_signed_and_without_warranty():
    journey = Journey().receive().find().close_teardown()
    row = shipping.exit_rebuild(
        act=journey.act("lead"), rebuild=journey.rebuild, exit="returned_as_found", reason="customer declined"
    )
    assert row.signatures.filter(meaning="returned").count() == 1
    journey.ship()
    assert journey.rebuild.packed.as_found
    assert not hasattr(journey.rebuild, "warranty")
    assert journey.rebuild.stage == Rebuild.Stage.RETURNED_AS_FOUND


@pytest.mark.parametrize("exit_", ["shipped", "released", "nonsense"])
def test_only_side_exits_can_be_chosen(exit_):
    journey = Journey().receive()
    with pytest.raises(RuleBroken):
        shipping.exit_rebuild(act=journey.act("lead"), rebuild=journey.rebuild, exit=exit_, reason="x")


def test_an_exchange_unit_waits_on_the_shelf_and_ships_to_another_customer():
    stock = Journey()
    stock.receive(destination="exchange").find().close_teardown()
    go_ahead.record_go_ahead(
        act=stock.act("lead"),
        rebuild=stock.rebuild,
        given_by="lead",
        given_at=stock.now,
        how="lead",
        scope="stock",
    )
    stock.fit().close_build().start_test().run_steps().sign_test().release()
    buyer = factories.CustomerFactory()
    order = receiving.open_work_order(act=stock.act("receiving"), customer=buyer)
    assert shipping.shippable(order) == [stock.rebuild]

    def ship(**told):
        pack = shipping.UnitPack(
            rebuild=stock.rebuild, packed=shipping.packing_items(stock.rebuild), caps_on=True, **told
        )
        return shipping.ship(
            act=stock.act("receiving"),
            work_order=order,
            recipient=buyer,
            address="2 Quay",
            carrier="",
            parcels=[shipping.ParcelPlan(units=[pack])],
        )

    with pytest.raises(RuleBroken, match="comes from the shelf: say which core"):
        ship()
    ship(core_due=stock.now.date())
    stock.rebuild.refresh_from_db()
    assert stock.rebuild.warranty.holder == buyer


def test_a_claim_leads_to_a_second_rebuild_of_the_same_unit(journey):
    journey.release().ship()
    first = journey.rebuild
    claim = claims.open_claim(
        act=journey.act("warranty desk"),
        warranty=first.warranty,
        claimant=first.warranty.holder,
        reported="drips",
    )
    with pytest.raises(RuleBroken, match="still open"):
        claims.open_claim(
            act=journey.act("warranty desk"),
            warranty=first.warranty,
            claimant=claim.claimant,
            reported="drips",
        )
    claims.judge_claim(
        act=journey.act("warranty desk"),
        claim=claim,
        judgement="accepted",
        reason="rod seal lip cut at fitting",
    )
    journey.receive(customer=claim.claimant, unit=first.unit)
    claim.refresh_from_db()
    second = journey.rebuild
    assert claim.rebuild == second
    assert (second.number, second.unit) == (2, first.unit)
    # The remaining term: the second shipment does not lengthen the first warranty.
    journey.find().close_teardown().go_ahead()
    for line in journey.revision.kit.lines.all():
        assert line.part.lots.get().balances.get().quantity > 0
    journey.fit().close_build().start_test().run_steps().sign_test().release().ship()
    assert journey.rebuild.warranty.ends_on == first.warranty.ends_on
    printed = journey.released.content["certificate"]["warranty_terms"][0]
    assert printed.endswith(f"the first warranty goes on, until {day(first.warranty.ends_on)}.")


def test_a_judgement_needs_a_reason_and_the_first_one_stays_in_history(journey):
    journey.release().ship()
    claim = claims.open_claim(
        act=journey.act("warranty desk"),
        warranty=journey.rebuild.warranty,
        claimant=journey.rebuild.warranty.holder,
        reported="drips",
    )
    with pytest.raises(RuleBroken):
        claims.judge_claim(act=journey.act("lead"), claim=claim, judgement="declined", reason=" ")
    claims.judge_claim(
        act=journey.act("lead", "first look"), claim=claim, judgement="declined", reason="worn rod"
    )
    claims.judge_claim(
        act=journey.act("lead", "second look"), claim=claim, judgement="goodwill", reason="good customer"
    )
    past = list(claim.history.order_by("history_id").values_list("judgement", "history_change_reason"))
    assert [word for word, _why in past] == ["", "declined", "goodwill"]
    assert past[2][1] == "second look"


@pytest.mark.record_row("R26")
def test_a_correction_keeps_the_earlier_value_with_who_when_and_why():
    from workorders.services.record.unit import unit_record

    journey = Journey().receive().find()
    teardown.record_finding(
        act=journey.act("lead", "looked again under the lamp"),
        rebuild=journey.rebuild,
        place=journey.revision.positions.get(code="S1"),
        condition="cut",
        cause="assembly",
        action="renewed",
    )
    changes = [c for c in unit_record(journey.unit)["changes"] if "condition" in c["changed"]]
    assert changes[0]["changed"]["condition"] == {"from": "hardened", "to": "cut"}
    assert changes[0]["why"] == "looked again under the lamp"
    assert changes[0]["by"] == str(journey.people["lead"])


def test_every_stage_of_the_way_follows_from_the_facts():
    journey = Journey()
    seen = []
    for move in (
        "receive",
        "find",
        "close_teardown",
        "go_ahead",
        "fit",
        "close_build",
        "start_test",
        "run_steps",
    ):
        getattr(journey, move)()
        journey.rebuild.refresh_from_db()
        assert journey.rebuild.stage == derived_stage(journey.rebuild)
        seen.append(journey.rebuild.stage)
    assert seen == [
        "received",
        "received",
        "torn_down",
        "go_ahead",
        "building",
        "building",
        "on_test",
        "on_test",
    ]
    assert PressureTest.objects.get().state == PressureTest.State.RUNNING

"""Building by its services: parts against the ledger, rework, and what closing asks for."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Balance, KitLine, Lot, Movement, PackedKit, Part
from inventory.services.kits import pack_kit
from inventory.services.lot_state import hold_lot
from inventory.services.stock import ledger_differences
from shop.errors import NotAllowed, RuleBroken
from shop.models import Component, FluidFamily, SealPosition
from tests import factories
from tests.asking import rows
from tests.workorders.journey import Journey
from workorders.models import Operation, PartTakenBack, PartUsed, Rebuild
from workorders.services import build, go_ahead, teardown
from workorders.services.build_needs import build_needs, missing_for_build
from workorders.services.record.unit import rebuild_record
from workorders.services.standing import standing_build
from workorders.services.testing import supersede_test

pytestmark = pytest.mark.django_db


def made_once():
    """A cylinder that is torn down and allowed, with a kit of four seals in the stores."""
    return Journey().receive().find().close_teardown().go_ahead()


@pytest.fixture(scope="module")
def kept(keep):
    return keep(made_once)


@pytest.fixture
def way(kept):
    return kept()


def place(way, code):
    revision = way.revision
    for kind in (revision.positions, revision.components, revision.ports, revision.hoses):
        if found := kind.filter(code=code).first():
            return found
    raise LookupError(code)


def lot_for(way, code="S1"):
    line = KitLine.objects.filter(kit__revision=way.revision, position__code=code).earliest("pk")
    return line.part.lots.earliest("pk")


def use(way, code="S1", lot=None, quantity=1, role="bench", why="", **said):
    return build.use_part(
        act=way.act(role, why),
        rebuild=way.rebuild,
        place=place(way, code) if code else None,
        lot=lot or lot_for(way, code),
        quantity=quantity,
        **said,
    )


def on_shelf(lot):
    return sum(lot.balances.values_list("quantity", flat=True))


def missing(way):
    return {row.name: row.sentence for row in missing_for_build(Rebuild.objects.get(pk=way.rebuild.pk))}


def judge(way, code, action, why="looked again"):
    return teardown.record_finding(
        act=way.act("bench", why),
        rebuild=way.rebuild,
        place=place(way, code),
        condition="worn",
        cause="wear",
        action=action,
    )


def fill(way, *codes):
    for code in codes or ("S1", "S2", "S3", "S4"):
        use(way, code)


# --- a part at a place ---


def test_a_part_used_and_its_movement_are_one_write(way):
    lot = lot_for(way)
    row = use(way, quantity=1)
    assert (row.lot, row.quantity, row.use, row.place) == (lot, 1, "fitted", place(way, "S1"))
    assert (row.movement.kind, row.movement.quantity, row.movement.lot) == ("used", -1, lot)
    assert row.movement.document == f"{way.rebuild.work_order.number} {way.unit.serial}"
    assert on_shelf(lot) == 19
    assert ledger_differences() == []
    way.rebuild.refresh_from_db()
    assert way.rebuild.stage == Rebuild.Stage.BUILDING


@pytest.mark.record_row("R33")
def test_building_needs_the_teardown_signed_and_a_go_ahead():
    way = Journey().receive().find()
    with pytest.raises(RuleBroken, match="teardown is not signed"):
        use(way)
    way.close_teardown()
    with pytest.raises(RuleBroken, match="No go-ahead is recorded"):
        use(way)
    way.go_ahead()
    assert use(way)


def test_a_go_ahead_before_the_teardown_is_enough():
    way = Journey().receive().go_ahead().find().close_teardown()
    assert use(way)


@pytest.mark.parametrize("role", ["receiving", "warranty desk", "stores"])
@pytest.mark.record_row("R34")
def test_other_roles_record_no_part(way, role):
    before = rows()
    with pytest.raises(NotAllowed, match="bench or lead"):
        use(way, role=role)
    assert rows()["PartUsed"] == before["PartUsed"]


def test_a_place_of_another_revision_is_refused(way):
    with pytest.raises(RuleBroken, match="is not a place of"):
        build.use_part(
            act=way.act("bench"),
            rebuild=way.rebuild,
            place=factories.PositionFactory(),
            lot=lot_for(way),
            quantity=1,
        )


def test_a_part_goes_to_a_place_or_to_an_operation(way):
    with pytest.raises(RuleBroken, match="at which place"):
        use(way, code="", lot=lot_for(way))


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda lot, act: Lot.objects.filter(pk=lot.pk).update(use_by=dt.date(2026, 3, 1)), "use-by date"),
        (lambda lot, act: hold_lot(act=act, lot=lot, reason="cracked pieces"), "cracked pieces"),
    ],
    ids=["expired", "on hold"],
)
def test_a_lot_past_its_date_or_on_hold_is_refused_with_the_reason(way, spoil, words):
    lot = lot_for(way)
    spoil(lot, way.act("stores"))
    with pytest.raises(RuleBroken, match=words):
        use(way)
    with pytest.raises(RuleBroken, match=words):
        use(way, found_in_bin=True)
    assert on_shelf(lot) == 20
    assert not PartUsed.objects.exists()


def test_a_lot_is_used_on_its_last_day_and_not_on_the_next(way):
    lot = lot_for(way)
    Lot.objects.filter(pk=lot.pk).update(use_by=way.now.date())
    assert use(way)
    Lot.objects.filter(pk=lot.pk).update(use_by=way.now.date() - dt.timedelta(days=1))
    with pytest.raises(RuleBroken, match="use-by date"):
        use(way)


def test_more_than_the_ledger_holds_is_refused_and_nothing_is_taken(way):
    lot = lot_for(way)
    with pytest.raises(RuleBroken) as refused:
        use(way, quantity=21)
    assert "does not hold 21" in refused.value.fields["quantity"]
    assert on_shelf(lot) == 20
    assert not PartUsed.objects.exists()


def test_a_piece_in_the_hand_that_the_ledger_does_not_know_goes_in_as_found(way):
    lot = factories.LotFactory(part=lot_for(way).part, quantity_received=1)
    use(way, lot=lot)
    with pytest.raises(RuleBroken, match="does not hold"):
        use(way, lot=lot)
    row = use(way, lot=lot, found_in_bin=True)
    assert row.found_in_bin
    kinds = list(Movement.objects.filter(lot=lot).values_list("kind", "quantity"))
    assert kinds == [("received", 1), ("used", -1), ("found", 1), ("used", -1)]
    assert ledger_differences() == []


def test_spoiled_pieces_are_recorded_and_do_not_fill_the_place(way):
    lot = lot_for(way)
    row = use(way, use="spoiled")
    assert row.use == "spoiled"
    assert on_shelf(lot) == 19
    assert missing(way)["S1 rod seal"] == "to be renewed, but no part is fitted"


# --- a static profile in a moving place ---


def o_ring(way):
    part = factories.PartFactory(kind=Part.Kind.O_RING, name="O-ring")
    return factories.LotFactory(part=part)


def test_a_static_profile_in_a_moving_place_asks_for_a_reason_that_stays(way):
    with pytest.raises(RuleBroken) as refused:
        use(way, "S1", lot=o_ring(way))
    assert "rolls and wears" in refused.value.fields["fit_reason"]
    assert not PartUsed.objects.exists()
    row = use(way, "S1", lot=o_ring(way), fit_reason="customer asked for it in writing")
    assert row.fit_reason == "customer asked for it in writing"


@pytest.mark.parametrize("motion", ["reciprocating", "rotary", "static"])
def test_only_moving_places_ask(way, motion):
    SealPosition.objects.filter(pk=place(way, "S1").pk).update(motion=motion)
    if motion == "static":
        assert use(way, "S1", lot=o_ring(way), fit_reason="not asked for").fit_reason == ""
    else:
        with pytest.raises(RuleBroken, match="rolls and wears"):
            use(way, "S1", lot=o_ring(way))


def test_a_spoiled_static_profile_needs_no_reason(way):
    assert use(way, "S1", lot=o_ring(way), use="spoiled")


# --- seal and service fluid ---


def lot_of(polymer):
    return factories.LotFactory(part=factories.PartFactory(polymer=polymer))


@pytest.mark.parametrize(
    ("polymer", "family"),
    # Both READ as not suitable: shop/calc/data/compatibility.csv names the source of each cell.
    [("EPDM", FluidFamily.MINERAL), ("NBR", FluidFamily.DOT)],
)
def test_a_seal_known_to_be_unsuitable_for_the_service_fluid_is_refused(way, polymer, family):
    way.revision.service_fluid = factories.FluidFactory(name=f"fluid {family}", family=family)
    way.revision.save()
    way.rebuild.refresh_from_db()
    lot = lot_of(polymer)
    with pytest.raises(RuleBroken, match=r"not suitable for the service fluid .* \(source: "):
        use(way, lot=lot)
    assert on_shelf(lot) == 20


def test_a_pair_that_a_source_calls_good_carries_no_warning(way):
    assert use(way, lot=lot_of("NBR")).fit_warning == ""


@pytest.mark.parametrize(
    ("polymer", "words", "asks"),
    [("AU", "from memory, not verified", False), ("FFKM", "not listed in any source read", True)],
    ids=["good from memory", "not listed"],
)
def test_what_no_source_clears_goes_in_with_a_warning_that_stays_on_the_record(way, polymer, words, asks):
    row = use(way, lot=lot_of(polymer), fit_reason="the customer sent the seals")
    assert row.fit_reason == ("the customer sent the seals" if asks else "")
    assert polymer in row.fit_warning
    assert words in row.fit_warning
    record = rebuild_record(Rebuild.objects.get(pk=way.rebuild.pk))
    assert record["parts_used"][0]["fit_warning"] == row.fit_warning


def test_a_part_without_polymer_meets_no_fluid_rule(way):
    clip = factories.PartFactory(kind=Part.Kind.CLIP, polymer="", hardness_shore_a=None)
    assert use(way, "P1", lot=factories.LotFactory(part=clip)).fit_warning == ""


# --- taken back ---


@pytest.mark.record_row("R26")
def test_a_wrong_entry_is_taken_back_and_both_rows_stay(way):
    lot = lot_for(way)
    row = use(way)
    taken = build.take_back_part(act=way.act("bench", "wrong bag"), part_used=row)
    assert on_shelf(lot) == 20
    assert (taken.by, taken.why) == (way.people["bench"], "wrong bag")
    assert PartUsed.objects.get() == row
    assert taken.movement.kind == "returned"
    assert ledger_differences() == []
    assert missing(way)["S1 rod seal"] == "to be renewed, but no part is fitted"
    with pytest.raises(RuleBroken, match="taken back already"):
        build.take_back_part(act=way.act("bench"), part_used=row)
    assert PartTakenBack.objects.count() == 1


def test_a_part_is_not_taken_back_while_a_test_stands(way):
    fill(way)
    way.close_build().start_test()
    with pytest.raises(RuleBroken, match="Test 1 is running"):
        build.take_back_part(act=way.act("bench", "wrong"), part_used=PartUsed.objects.first())
    with pytest.raises(RuleBroken, match="Supersede it with a reason"):
        use(way, why="one more")


# --- a packed kit ---


def packed(way, code="PK-1"):
    kit = way.revision.kit
    lots = {line: line.part.lots.first() for line in kit.lines.all()}
    return pack_kit(act=way.act("stores"), kit=kit, lots=lots, code=code)


def scan(way, kit):
    return build.use_packed_kit(act=way.act("bench"), rebuild=way.rebuild, packed_kit=kit)


def test_one_scan_of_a_packed_kit_fills_every_open_place(way):
    kit = packed(way)
    used = scan(way, kit)
    assert sorted(row.place.code for row in used) == ["S1", "S2", "S3", "S4"]
    kit.refresh_from_db()
    assert (kit.state, kit.document) == (
        PackedKit.State.USED,
        f"{way.rebuild.work_order.number} {way.unit.serial}",
    )
    assert missing(way) == {}
    assert not Balance.objects.filter(place="kit PK-1", quantity__gt=0).exists()
    assert ledger_differences() == []


def test_what_is_filled_already_or_was_kept_goes_back_to_the_shelf(way):
    kit = packed(way)
    use(way, "S1")
    judge(way, "S2", "kept")
    used = scan(way, kit)
    assert sorted(row.place.code for row in used) == ["S3", "S4"]
    assert on_shelf(lot_for(way, "S1")) == 19
    assert lot_for(way, "S2").balances.get(place="A1").quantity == 20
    assert not Balance.objects.filter(place="kit PK-1", quantity__gt=0).exists()
    assert ledger_differences() == []


def test_a_kit_is_used_once(way):
    kit = packed(way)
    scan(way, kit)
    with pytest.raises(RuleBroken, match="scan another one"):
        scan(way, kit)
    with pytest.raises(RuleBroken, match="No place is open"):
        scan(way, packed(way, "PK-2"))
    assert PackedKit.objects.get(code="PK-2").state == PackedKit.State.PACKED
    assert PartUsed.objects.count() == 4


def test_a_kit_of_another_revision_is_refused(way):
    kit = packed(way)
    kit.kit.revision = factories.TypeRevisionFactory()
    with pytest.raises(RuleBroken, match="this unit is"):
        scan(way, kit)
    assert not PartUsed.objects.exists()


def test_a_kit_with_a_lot_put_on_hold_since_is_refused_whole(way):
    kit = packed(way)
    hold_lot(act=way.act("stores"), lot=lot_for(way, "S3"), reason="cracked pieces")
    before = rows()
    with pytest.raises(RuleBroken, match="cracked pieces"):
        scan(way, kit)
    assert rows() == before
    kit.refresh_from_db()
    assert kit.state == PackedKit.State.PACKED


def test_a_static_profile_of_a_kit_takes_the_kits_reason(way):
    SealPosition.objects.filter(revision=way.revision, code="S3").update(motion="reciprocating")
    kit = packed(way)
    with pytest.raises(RuleBroken, match="rolls and wears"):
        scan(way, kit)
    way.revision.kit.lines.filter(position__code="S3").update(reason="travel under 1 mm")
    used = scan(way, PackedKit.objects.get(pk=kit.pk))
    assert {row.place.code: row.fit_reason for row in used}["S3"] == "travel under 1 mm"


# --- rework ---


def rework(way, code="P1", kind="crimp_removed", why="", **said):
    told = {"tool": "lathe 2", "note": "", **said}
    return build.record_operation(
        act=way.act("bench", why),
        rebuild=way.rebuild,
        kind=kind,
        place=place(way, code) if code else None,
        **told,
    )


def test_rework_keeps_what_where_tool_parts_and_who(way):
    seal, clip = lot_of("NBR"), factories.LotFactory()
    row = rework(way, kind="hose_clipped", parts=[(seal, 1), build.Pieces(clip, 2)])
    assert (row.kind, row.place, row.tool, row.done_by) == (
        "hose_clipped",
        place(way, "P1"),
        "lathe 2",
        way.people["bench"],
    )
    assert [(part.lot, part.quantity, part.place) for part in row.parts_used.all()] == [
        (seal, 1, row.place),
        (clip, 2, row.place),
    ]
    assert (on_shelf(seal), on_shelf(clip)) == (19, 18)


def test_rework_without_its_tool_is_refused_with_its_parts(way):
    lot, before = lot_of("NBR"), rows()
    with pytest.raises(RuleBroken) as refused:
        rework(way, tool=" ", parts=[(lot, 1)])
    assert "tool" in refused.value.fields
    assert rows() == before
    assert on_shelf(lot) == 20


def test_rework_with_parts_that_are_not_there_is_refused_whole(way):
    with pytest.raises(RuleBroken, match="does not hold 99"):
        rework(way, parts=[(lot_of("NBR"), 99)])
    assert not Operation.objects.exists()


def test_rework_may_be_about_the_whole_unit(way):
    assert rework(way, code="", kind="cleaned").place is None


def test_rework_is_corrected_with_a_reason_and_history_keeps_it(way):
    row = rework(way)
    told = {"operation": row, "kind": "polished", "place": place(way, "K1"), "tool": "felt wheel"}
    with pytest.raises(RuleBroken, match="Say why"):
        build.correct_operation(act=way.act("bench"), **told)
    build.correct_operation(act=way.act("bench", "wrong place"), **told)
    row.refresh_from_db()
    assert (row.kind, row.place, row.tool) == ("polished", place(way, "K1"), "felt wheel")
    assert row.history.earliest().tool == "lathe 2"
    assert row.history.latest().history_change_reason == "wrong place"


def test_rework_with_parts_stays_at_its_place(way):
    row = rework(way, parts=[(lot_of("NBR"), 1)])
    with pytest.raises(RuleBroken, match="take those back first"):
        build.correct_operation(
            act=way.act("bench", "wrong"),
            operation=row,
            kind="polished",
            place=place(way, "K1"),
            tool="felt wheel",
        )


# --- what the kit proposes ---


def needs(way, on=dt.date(2026, 3, 4)):
    rebuild = Rebuild.objects.get(pk=way.rebuild.pk)
    return {need.place.code: need for need in build_needs(rebuild, on=on)}


def test_the_lot_that_expires_first_is_proposed_and_expired_or_held_ones_are_not(way):
    part = lot_for(way).part
    soon = factories.LotFactory(part=part, use_by=dt.date(2026, 9, 1))
    factories.LotFactory(part=part, use_by=dt.date(2026, 3, 3))
    held = factories.LotFactory(part=part, use_by=dt.date(2026, 8, 1))
    hold_lot(act=way.act("stores"), lot=held, reason="cracked pieces")
    ((_line, lot, pieces),) = needs(way)["S1"].proposed
    assert (lot, pieces) == (soon, 1)


def test_the_rest_of_a_line_is_proposed(way):
    way.revision.kit.lines.filter(position__code="S1").update(quantity=3)
    use(way, "S1", quantity=2)
    ((_line, _lot, pieces),) = needs(way)["S1"].proposed
    assert pieces == 1


def kit_line(way, code, part=None, **said):
    line = KitLine.objects.create(
        kit=way.revision.kit, position=place(way, code), part=part or factories.PartFactory(), **said
    )
    factories.LotFactory(part=line.part)
    return line


def test_parts_of_one_set_are_wanted_together(way):
    ring = kit_line(way, "S1")
    use(way, "S1")
    assert not needs(way)["S1"].is_filled
    assert [line for line, _lot, _n in needs(way)["S1"].proposed] == [ring]
    use(way, "S1", lot=ring.part.lots.get())
    assert needs(way)["S1"].is_filled


def test_an_alternative_of_the_kit_fills_the_place_too(way):
    other = kit_line(way, "S1", preference=2)
    use(way, "S1", lot=other.part.lots.get())
    assert needs(way)["S1"].is_filled


def test_a_part_that_the_kit_does_not_name_fills_the_place_in_the_same_number(way):
    way.revision.kit.lines.filter(position__code="S1").update(quantity=2)
    use(way, "S1", lot=lot_of("NBR"))
    assert missing(way)["S1 rod seal"] == "to be renewed, but only 1 of 2 pieces fitted"
    use(way, "S1", lot=lot_of("NBR"))
    assert needs(way)["S1"].is_filled


def test_needs_cost_the_same_whatever_the_number_of_places(way):
    def count():
        with CaptureQueriesContext(connection) as asked:
            missing_for_build(Rebuild.objects.get(pk=way.rebuild.pk))
        return len(asked)

    few = count()
    for _ in range(10):
        position = factories.PositionFactory(revision=way.revision)
        kit_line(way, position.code)
    assert count() == few


# --- closing ---


@pytest.mark.record_row("R33")
@pytest.mark.parametrize("code", ["S1", "S2", "S3", "S4"])
def test_closing_names_the_place_that_has_no_part(way, code):
    fill(way, *({"S1", "S2", "S3", "S4"} - {code}))
    with pytest.raises(RuleBroken, match=f"{place(way, code)}: to be renewed, but no part is fitted"):
        way.close_build()
    assert missing(way).keys() == {str(place(way, code))}
    assert not way.rebuild.signatures.filter(meaning="built").exists()


def test_a_renewed_component_needs_a_part_too(way):
    fill(way)
    judge(way, "K1", "renewed")
    assert missing(way) == {"K1 barrel": "to be renewed, but no part is fitted"}
    use(way, "K1", lot=lot_of("NBR"))
    assert missing(way) == {}


def test_a_reworked_place_needs_its_operation(way):
    fill(way)
    judge(way, "P1", "reworked")
    assert missing(way) == {"P1 rod side": "to be reworked, but no operation is recorded"}
    with pytest.raises(RuleBroken, match="no operation is recorded"):
        way.close_build()
    rework(way)
    assert missing(way) == {}


def test_a_reworked_port_needs_the_parts_that_the_kit_requires(way):
    fill(way)
    clip = factories.PartFactory(kind=Part.Kind.CLIP, polymer="", hardness_shore_a=None)
    KitLine.objects.create(kit=way.revision.kit, port=place(way, "P1"), part=clip)
    judge(way, "P1", "reworked")
    rework(way)
    assert missing(way) == {"P1 rod side": "the kit requires a part here, but no part is fitted"}
    use(way, "P1", lot=factories.LotFactory(part=clip))
    assert missing(way) == {}


def test_a_rejected_place_forbids_the_build(way):
    fill(way)
    judge(way, "K1", "rejected")
    assert "cannot be built" in missing(way)["K1 barrel"]
    with pytest.raises(RuleBroken, match="K1 barrel: rejected"):
        way.close_build()


def test_only_the_lead_leaves_out_a_required_part_at_a_kept_place_and_says_why(way):
    fill(way, "S2", "S3", "S4")
    judge(way, "S1", "kept")
    assert missing(way) == {"S1 rod seal": "the kit requires a part here, but no part is fitted"}
    for role, why in (("bench", "looks new"), ("lead", "")):
        with pytest.raises(RuleBroken, match="the kit requires"):
            build.close_build(act=way.act(role, why), rebuild=way.rebuild)
    signed = build.close_build(act=way.act("lead", "customer's wish, in writing"), rebuild=way.rebuild)
    assert signed.why == "customer's wish, in writing"
    assert missing(way) == {}


def test_a_line_that_is_not_required_may_stay_out_at_a_kept_place(way):
    way.revision.kit.lines.filter(position__code="S1").update(required=False)
    fill(way, "S2", "S3", "S4")
    judge(way, "S1", "kept")
    assert missing(way) == {}


def with_rod(value, action, after=None):
    """A cylinder whose rod was read ``value`` mm against 11.95 to 12.00, with every seal fitted."""
    way = Journey().receive()
    factories.ComponentFactory(revision=way.revision, code="K2", name="rod", kind=Component.Kind.ROD)
    way.find()
    judge(way, "K2", action, why="")
    limit = way.revision.dimension_limits.get()
    told = {"rebuild": way.rebuild, "limit": limit, "station": 1, "instrument": way.micrometer}
    teardown.record_measurement(act=way.act("bench"), value=value, **told)
    way.close_teardown().go_ahead()
    fill(way)
    if action == "reworked":
        rework(way, "K2", "polished")
    if action == "renewed":
        use(way, "K2", lot=lot_of("NBR"))
    if after is not None:
        teardown.record_measurement(act=way.act("bench"), value=after, moment="after", **told)
    return way


@pytest.mark.parametrize(
    ("value", "action", "after", "words"),
    [
        (11.97, "kept", None, None),
        (11.90, "reworked", None, "not read within them after the work"),
        (11.90, "reworked", 11.94, "not read within them after the work"),
        (11.90, "reworked", 11.95, None),
        (11.90, "renewed", 11.99, None),
        (11.90, "renewed", None, "not read within them after the work"),
        (11.90, "kept", 11.97, "is recorded as kept"),
    ],
)
def test_a_reading_out_of_limits_is_put_right_and_read_again(value, action, after, words):
    way = with_rod(value, action, after)
    if words is None:
        assert missing(way) == {}
        way.close_build()
    else:
        assert words in missing(way)["D1 rod diameter"]
        with pytest.raises(RuleBroken, match="D1 rod diameter"):
            way.close_build()


def test_a_reading_after_the_work_waits_for_teardown_and_go_ahead():
    way = Journey().receive().find()
    told = {
        "rebuild": way.rebuild,
        "limit": way.revision.dimension_limits.get(),
        "station": 1,
        "value": 11.97,
    }
    with pytest.raises(RuleBroken, match="teardown is not signed"):
        teardown.record_measurement(act=way.act("bench"), moment="after", **told)
    way.close_teardown()
    with pytest.raises(RuleBroken, match="No go-ahead"):
        teardown.record_measurement(act=way.act("bench"), moment="after", **told)
    way.go_ahead()
    assert teardown.record_measurement(act=way.act("bench"), moment="after", **told).moment == "after"


@pytest.mark.record_row("R35")
def test_closing_signs_and_the_signature_stands_until_something_changes(way):
    fill(way)
    way.close_build()
    signed = standing_build(way.rebuild)
    assert (signed.printed_name, signed.get_meaning_display()) == (
        str(way.people["bench"]),
        "repaired as necessary and reassembled",
    )
    with pytest.raises(RuleBroken, match="signed already"):
        way.close_build()
    with pytest.raises(RuleBroken) as refused:
        use(way, "S1")
    assert set(refused.value.fields) == {"why"}
    use(way, "S1", why="nicked at the port", use="spoiled")
    assert standing_build(way.rebuild) is None
    way.close_build()
    assert standing_build(way.rebuild).pk > signed.pk


@pytest.mark.parametrize(
    "change",
    [
        lambda way: judge(way, "S1", "renewed", why="looked again"),
        lambda way: rework(way, why="forgotten"),
        lambda way: build.take_back_part(
            act=way.act("bench", "wrong bag"), part_used=PartUsed.objects.first()
        ),
        lambda way: teardown.record_measurement(
            act=way.act("bench", "read again"),
            rebuild=way.rebuild,
            limit=way.revision.dimension_limits.get(),
            station=1,
            value=11.99,
            instrument=way.micrometer,
        ),
    ],
    ids=["finding", "rework", "taken back", "reading"],
)
def test_every_later_change_wants_the_build_signed_again(way, change):
    fill(way)
    way.close_build()
    change(way)
    assert standing_build(way.rebuild) is None


def test_after_a_superseded_test_the_unit_is_built_and_signed_again(way):
    fill(way)
    way.close_build().start_test()
    supersede_test(act=way.act("lead"), test=way.test, reason="leaks at the rod")
    use(way, "S1", why="nicked lip renewed")
    way.close_build()
    assert standing_build(way.rebuild)


def test_two_people_at_one_unit_are_told_apart(way):
    fill(way, "S1")
    use(way, "S2", role="lead")
    people = {row.place.code: row.by for row in PartUsed.objects.all()}
    assert people == {"S1": way.people["bench"], "S2": way.people["lead"]}


def test_a_second_go_ahead_does_not_stop_the_work(way):
    go_ahead.record_go_ahead(
        act=way.act("receiving"),
        rebuild=way.rebuild,
        given_by="R. Holm",
        given_at=way.now,
        how="written",
        scope="rod as well",
        price_ceiling=400,
    )
    assert use(way)

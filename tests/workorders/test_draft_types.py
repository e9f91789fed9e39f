"""A draft type is built at teardown: places, glands, seals and their sizes, until the lead approves it."""

import pytest
from django.db import IntegrityError, transaction

from shop.errors import NotAllowed, RuleBroken
from shop.models import DimensionLimit, SealPosition, TypeRevision, UnitType
from shop.services import catalogue, draft_types
from tests import factories
from tests.asking import rows
from tests.workorders.draft_journey import DraftJourney
from tests.workorders.journey import Journey
from workorders.models import Finding, Measurement, Rebuild, SealFound
from workorders.services import build, draft_glands, draft_places, seals_found, teardown
from workorders.services.build_needs import missing_for_build
from workorders.services.draft_approval import approve_draft, bench_drafts, draft_state
from workorders.services.next_step import next_step
from workorders.services.papers import discrepancies
from workorders.services.record.unit import unit_record
from workorders.services.shipping import exit_rebuild

pytestmark = pytest.mark.django_db


@pytest.fixture
def way():
    return DraftJourney().receive_unknown()


# ---------- the whole way ----------


def test_a_unit_nobody_knew_becomes_revision_1_and_is_released(way):
    """From the box to a release: opened at the bench, approved by the lead, built, tested."""
    way.add_all()
    way.gland(way.places[0])
    way.seal(way.places[0])
    seals_found.choose_size(
        act=way.act("bench"), rebuild=way.rebuild, position=way.places[0], designation="AS568-214"
    )
    way.find_all().close_teardown()
    way.rebuild.refresh_from_db()
    assert way.rebuild.stage == "torn_down"
    assert next_step(way.rebuild).action == "catalogue"
    way.give_limits().approve()
    assert (way.rebuild.revision.number, way.rebuild.revision.state) == (1, "approved")
    assert way.rebuild.unit.unit_type.code == "RC-32"
    way.prepare().go_ahead().fit().close_build().start_test().run_steps().sign_test().release()
    way.rebuild.refresh_from_db()
    assert way.rebuild.stage == "released"
    record = unit_record(way.rebuild.unit)
    assert record["unit_type"] == "RC-32 Ramp cylinder 32"
    [told] = record["rebuilds"]
    assert (told["revision_of"], told["revision_state"]) == ("RC-32", "approved")
    assert told["seals_found"][0]["section_mm"] == 3.45
    assert {row["dimension"] for row in told["measurements"]} >= {"D1", "D2"}


# ---------- places as they are found ----------


def test_what_the_bench_leaves_empty_is_proposed(way):
    way.add_all()
    seal, piston, barrel, port, dimension = way.places
    assert [row.code for row in way.places] == ["S1", "S2", "K1", "P1", "D1"]
    assert (seal.name, seal.motion, seal.order) == ("rod seal", "reciprocating", 1)
    assert (piston.name, piston.order) == ("piston seal", 2)
    assert (barrel.name, port.name) == ("barrel", "port")
    assert (dimension.limits_open, dimension.required, dimension.stations) == (True, False, 2)
    assert seal.history.get().history_user == way.people["bench"]
    assert way.add("position", kind="static_seal").motion == "static"


def test_a_hose_is_added_with_its_port(way):
    port = way.add("port", fitting="screwed")
    hose = way.add("hose", port=port)
    assert (hose.code, hose.port, hose.attachment) == ("H1", port, "not_known")
    with pytest.raises(RuleBroken, match="has its hose already"):
        way.add("hose", port=port)


def test_the_next_code_is_after_the_highest_number_and_words_do_not_count(way):
    way.add("position", kind="wiper", code="S7")
    way.add("position", kind="wiper", code="SX")
    assert way.add("position", kind="wiper").code == "S8"


def test_a_code_is_there_once(way):
    way.add("position", kind="wiper")
    before = rows()
    with pytest.raises(RuleBroken, match="position of that code"):
        way.add("position", kind="wiper", code="S1")
    assert rows() == before


def test_a_place_is_changed_and_taken_out_while_nothing_depends_on_it(way):
    seal = way.add("position", kind="wiper")
    told = {"act": way.act("bench"), "rebuild": way.rebuild}
    changed = draft_places.save_found_place(**told, place="position", row=seal, name="outer wiper")
    assert changed.name == "outer wiper"
    draft_places.remove_found_place(**told, row=seal)
    assert not SealPosition.objects.exists()
    assert SealPosition.history.filter(history_type="-").get().history_user == way.people["bench"]


def test_a_place_with_a_finding_stays(way):
    way.add_all().find_all()
    before = rows()
    with pytest.raises(RuleBroken, match="finding"):
        draft_places.remove_found_place(act=way.act("bench"), rebuild=way.rebuild, row=way.places[0])
    assert rows() == before


def test_a_place_in_a_signed_teardown_is_changed_by_the_lead_alone(way):
    way.add_all().find_all().close_teardown()
    told = {"place": "position", "row": way.places[0], "name": "other"}
    with pytest.raises(RuleBroken, match="signed teardown"):
        draft_places.save_found_place(act=way.act("bench"), rebuild=way.rebuild, **told)
    catalogue.save_place(act=way.act("lead"), revision=way.revision, **told)


def test_the_bench_changes_no_other_revision(way):
    known = Journey(people=way.people).receive()
    before = rows()
    with pytest.raises(RuleBroken, match="no longer changes"):
        draft_places.save_found_place(
            act=way.act("bench"), rebuild=known.rebuild, place="position", kind="wiper"
        )
    lead_draft = catalogue.draft_revision(act=way.act("lead"), unit_type=known.revision.unit_type)
    after = rows()
    assert after != before
    with pytest.raises(RuleBroken, match="not opened at the bench"):
        draft_types.save_found_place(
            act=way.act("bench"), revision=lead_draft, place="position", kind="wiper"
        )
    with pytest.raises(NotAllowed):
        catalogue.save_place(act=way.act("bench"), revision=way.revision, place="position", kind="wiper")
    assert rows() == after


@pytest.mark.parametrize("role", ["receiving", "stores", "warranty desk"])
def test_others_do_not_add_to_a_draft(way, role):
    act = way.act(role)
    before = rows()
    with pytest.raises(NotAllowed, match="draft unit type"):
        draft_places.save_found_place(act=act, rebuild=way.rebuild, place="position", kind="wiper")
    assert rows() == before


def test_a_place_of_another_draft_is_not_taken_out_here(way):
    other = DraftJourney(people=way.people, now=way.now).receive_unknown()
    row = other.add("component", kind="rod")
    with pytest.raises(RuleBroken, match="not a place of"):
        draft_places.remove_found_place(act=way.act("bench"), rebuild=way.rebuild, row=row)


def test_nothing_is_added_once_the_unit_has_left(way):
    exit_rebuild(act=way.act("lead"), rebuild=way.rebuild, exit="scrapped", reason="cracked")
    with pytest.raises(RuleBroken, match="closed"):
        way.add("component", kind="rod")


# ---------- the teardown ----------


def test_a_teardown_without_a_place_is_not_signed(way):
    teardown.record_fluid(act=way.act("bench"), rebuild=way.rebuild, water="none")
    with pytest.raises(RuleBroken, match="none is entered on the draft type yet"):
        way.close_teardown()


def test_a_place_added_after_the_signature_is_named_as_open(way):
    way.add_all().find_all().close_teardown()
    late = way.add("position", kind="static_seal")
    assert [row.name for row in teardown.missing_for_teardown(way.rebuild)] == [str(late)]
    named = {row.name: row.sentence for row in missing_for_build(way.rebuild)}
    assert named[str(late)] == "no finding"


def test_building_waits_for_the_lead(way):
    way.add_all().find_all().close_teardown().go_ahead()
    lot = factories.LotFactory()
    before = rows()
    with pytest.raises(RuleBroken, match="nothing is built to it until the lead has approved it"):
        build.use_part(act=way.act("bench"), rebuild=way.rebuild, place=way.places[0], lot=lot, quantity=1)
    with pytest.raises(RuleBroken, match="nothing is built"):
        way.close_build()
    assert rows() == before
    first = missing_for_build(way.rebuild)[0]
    assert first.name == "Unit type"
    assert first.url.endswith(f"/drafts/{way.revision.pk}/")


def test_a_dimension_without_limits_is_not_decided_and_no_discrepancy(way):
    way.add_all().find_all()
    reading = Measurement.objects.filter(limit__limits_open=True).first()
    assert reading.verdict == "not decided"
    assert not any("11.99" in line for line in discrepancies(way.rebuild))


# ---------- glands ----------


@pytest.mark.parametrize(
    ("figure", "values", "given"),
    [
        ("depth", [2.9, 2.85, 2.87], {"gland_depth_min_mm": 2.85, "gland_depth_max_mm": 2.9}),
        ("width", [4.9], {"gland_width_min_mm": 4.9, "gland_width_max_mm": 4.9}),
        ("diameter", [25.4, 25.5], {"gland_diameter_mm": 25.45, "gland_diameter_tol_mm": 0.05}),
        ("clearance", [0.05, 0.09], {"clearance_max_mm": 0.09}),
        ("depth", [], {}),
    ],
)
def test_readings_become_figures_in_the_stated_way(figure, values, given):
    assert draft_glands.figures_of(figure, values) == given


def test_a_gland_is_read_and_fills_the_draft(way):
    seal = way.add("position", kind="rod_seal")
    way.gland(seal)
    seal.refresh_from_db()
    assert (seal.gland_depth_min_mm, seal.gland_depth_max_mm) == (2.85, 2.9)
    assert (seal.gland_diameter_mm, seal.gland_diameter_tol_mm) == (25.4, 0)
    assert (seal.arrangement, seal.clearance_max_mm) == ("piston", None)
    read = Measurement.objects.filter(limit__position=seal, limit__gland_figure="depth")
    assert [(row.station, row.value, row.instrument) for row in read.order_by("station")] == [
        (1, 2.85, way.micrometer),
        (2, 2.9, way.micrometer),
    ]
    assert way.places[0].history.count() == 2


def test_a_twin_reads_the_same_gland_and_overwrites_nothing_silently(way):
    seal = way.add("position", kind="rod_seal")
    way.gland(seal, depth={1: 2.85})
    twin = way.twin()
    twin.gland(seal, depth={1: 2.95})
    seal.refresh_from_db()
    assert seal.gland_depth_max_mm == 2.85
    row = next(each for each in draft_glands.gland_rows(seal) if each.figure == "depth")
    assert row.differs
    assert row.gives == {"gland_depth_min_mm": 2.85, "gland_depth_max_mm": 2.95}
    assert len(row.readings) == 2
    told = {"rebuild": twin.rebuild, "position": seal}
    with pytest.raises(RuleBroken, match="Say why"):
        draft_glands.take_over_gland(act=way.act("bench"), **told)
    draft_glands.take_over_gland(act=way.act("bench", "the twin is deeper"), **told)
    seal.refresh_from_db()
    assert seal.gland_depth_max_mm == 2.95
    assert seal.history.first().history_change_reason == "the twin is deeper"
    with pytest.raises(RuleBroken, match="are those that the readings give"):
        draft_glands.take_over_gland(act=way.act("bench", "again"), **told)


def test_a_gland_needs_a_reading_and_an_instrument_in_calibration(way):
    seal = way.add("position", kind="rod_seal")
    told = {"act": way.act("bench"), "rebuild": way.rebuild, "position": seal}
    before = rows()
    with pytest.raises(RuleBroken, match="No reading"):
        draft_glands.record_gland(**told, readings={"depth": {}}, instrument=way.micrometer)
    with pytest.raises(RuleBroken) as broken:
        draft_glands.record_gland(**told, readings={"depth": {1: 2.0}}, instrument=None)
    assert "instrument" in broken.value.fields
    with pytest.raises(RuleBroken) as broken:
        draft_glands.record_gland(**told, readings={"depth": {1: 2.0}}, instrument=way.gauge)
    assert "instrument" in broken.value.fields
    assert rows() == before


def test_the_gland_of_a_known_type_is_the_leads(way):
    known = Journey(people=way.people).receive()
    with pytest.raises(RuleBroken, match="no longer changes"):
        draft_glands.record_gland(
            act=way.act("bench"),
            rebuild=known.rebuild,
            position=known.revision.positions.first(),
            readings={"depth": {1: 2.0}},
            instrument=way.micrometer,
        )


# ---------- the seal that came out, and the size ----------


def test_a_seal_is_measured_once_and_corrected(way):
    seal = way.add("position", kind="rod_seal")
    way.seal(seal)
    way.seal(seal, profile="lip_seal", inside_mm=20.0, outside_mm=30.0, height_mm=7.0)
    row = SealFound.objects.get()
    assert (str(row), row.section_mm, row.history.count()) == ("20 x 30 x 7 mm", None, 2)


@pytest.mark.parametrize(
    ("sizes", "field"),
    [
        ({"profile": "o_ring", "inside_mm": 20.0, "section_mm": None}, "section_mm"),
        ({"profile": "lip_seal", "inside_mm": 20.0, "outside_mm": 30.0}, "height_mm"),
        ({"profile": "lip_seal", "inside_mm": 20.0, "outside_mm": 20.0, "height_mm": 5.0}, "outside_mm"),
    ],
)
def test_a_seal_needs_the_sizes_of_its_profile(way, sizes, field):
    seal = way.add("position", kind="rod_seal")
    before = rows()
    with pytest.raises(RuleBroken) as broken:
        way.seal(seal, **sizes)
    assert field in broken.value.fields
    assert rows() == before


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"section_mm": None}, "workorders_sealfound_sizes_of_profile"),
        ({"height_mm": 3.0}, "workorders_sealfound_sizes_of_profile"),
        ({"profile": "lip_seal"}, "workorders_sealfound_sizes_of_profile"),
        ({"inside_mm": 0}, "workorders_sealfound_inside_above_nothing"),
        ({"set_most_pct": 100}, "workorders_sealfound_allowances"),
        ({"swell_most_pct": -1}, "workorders_sealfound_allowances"),
    ],
)
def test_the_database_holds_the_sizes_of_a_seal(way, change, name):
    row = way.seal(way.add("position", kind="rod_seal"))
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        SealFound.objects.filter(pk=row.pk).update(**change)


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        ({"inside_mm": -1.0, "section_mm": 2.0}, "above 0 mm"),
        ({"inside_mm": 20.0, "section_mm": 2.0, "set_most_pct": 100.0}, "below 100 %"),
        ({"inside_mm": 20.0, "section_mm": -2.0}, "inside diameter and a section"),
    ],
)
def test_what_the_database_refuses_is_said_in_words(way, sizes, words):
    with pytest.raises(RuleBroken, match=words):
        way.seal(way.add("position", kind="rod_seal"), profile="o_ring", **sizes)


def test_one_seal_for_each_position_of_a_rebuild(way):
    row = way.seal(way.add("position", kind="rod_seal"))
    values = {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}
    del values["id"]
    with pytest.raises(IntegrityError), transaction.atomic():
        SealFound.objects.create(**values)
    with pytest.raises(Exception, match="measured already"):
        SealFound(**values).validate_constraints()


def test_another_size_needs_a_reason(way):
    seal = way.add("position", kind="rod_seal")
    told = {"rebuild": way.rebuild, "position": seal}
    seals_found.choose_size(act=way.act("bench"), **told, designation=" AS568-214 ")
    seals_found.choose_size(act=way.act("bench"), **told, designation="AS568-214")
    with pytest.raises(RuleBroken) as broken:
        seals_found.choose_size(act=way.act("bench"), **told, designation="25 x 3.5")
    assert "why" in broken.value.fields
    with pytest.raises(RuleBroken) as broken:
        seals_found.choose_size(act=way.act("bench"), **told, designation=" ")
    assert "designation" in broken.value.fields
    seals_found.choose_size(act=way.act("bench", "metric after all"), **told, designation="25 x 3.5")
    seal.refresh_from_db()
    assert seal.size_designation == "25 x 3.5"


def verdicts(way):
    rows = way.rebuild.measurements.filter(limit__gland_figure="depth").order_by("station")
    return [(row.sum_within, row.sum_sentence.split(":")[0]) for row in rows]


def test_readings_of_a_gland_are_judged_once_the_draft_has_the_size(way):
    """A draft is read before anybody knows its size, and the sum needs it."""
    seal = way.add("position", kind="static_seal")
    way.gland(seal)
    assert verdicts(way) == [(None, "Not checked")] * 2
    told = {"rebuild": way.rebuild, "position": seal}
    seals_found.choose_size(act=way.act("bench"), **told, designation="AS568-214")
    assert all(within is not None for within, _words in verdicts(way))
    reading = way.rebuild.measurements.filter(limit__gland_figure="depth").first()
    assert reading.history.count() == 2
    latest = reading.history.latest("history_id")
    assert latest.history_change_reason == "judged with what the draft has of S1 now"
    assert latest.history_user == way.people["bench"]
    seals_found.choose_size(act=way.act("bench", "misread"), **told, designation="AS568-211")
    assert reading.history.latest("history_id").history_change_reason == (
        "misread; judged with what the draft has of S1 now"
    )


def test_a_size_that_is_chosen_first_judges_the_whole_gland_at_once(way):
    seal = way.add("position", kind="static_seal")
    told = {"rebuild": way.rebuild, "position": seal}
    seals_found.choose_size(act=way.act("bench"), **told, designation="AS568-214")
    way.gland(seal)
    assert all(within is not None for within, _words in verdicts(way))


def test_a_signed_teardown_keeps_what_its_readings_said(way):
    seal = way.add("position", kind="static_seal")
    way.gland(seal)
    way.find_all().close_teardown()
    told = {"rebuild": way.rebuild, "position": seal}
    seals_found.choose_size(act=way.act("bench"), **told, designation="AS568-214")
    assert verdicts(way) == [(None, "Not checked")] * 2


# ---------- the lead ----------


def test_the_state_of_a_draft_names_what_is_there_and_what_lacks(way):
    way.add_all()
    state = draft_state(way.revision)
    assert [row.pk for row in state.rebuilds] == [way.rebuild.pk]
    assert [row.name for row in state.must] == ["D1 rod diameter"]
    lacks = {row.name: row.sentence for row in state.lacks}
    assert lacks["S1 rod seal"] == "no size is chosen, its gland is not measured, the kit names no part"
    assert {"Proof pressure", "Permanent mark", "Test plan"} <= set(lacks)
    assert lacks[f"Unit {way.rebuild.unit.serial}"] == "no finding yet at S1, S2, K1, P1"
    way.find_all()
    told = {row.name: row.sentence for row in draft_state(way.revision).lacks}
    assert told[f"Unit {way.rebuild.unit.serial}"] == "its teardown is not signed"


@pytest.mark.parametrize(
    ("told", "field"),
    [({"code": "D26-0001"}, "code"), ({"service_fluid": None}, "service_fluid"), ({"name": ""}, "name")],
)
def test_an_approval_without_its_names_or_fluid_changes_nothing(way, told, field):
    way.torn_down() if not way.rebuild else way.add_all().find_all()
    way.give_limits()
    factories.FluidFactory()
    way.act("lead")
    before = rows()
    with pytest.raises(RuleBroken) as broken:
        approve_draft(
            **{
                "act": way.act("lead", "why"),
                "revision": way.revision,
                "code": "X",
                "name": "Y",
                "service_fluid": factories.FluidFactory(),
                **told,
            }
        )
    assert field in broken.value.fields
    assert {**rows(), "Fluid": 0, "HistoricalFluid": 0} == {**before, "Fluid": 0, "HistoricalFluid": 0}


def test_limits_left_to_the_lead_stop_the_approval(way):
    way.add_all()
    with pytest.raises(RuleBroken, match="Limits were left to the lead: D1 rod diameter"):
        way.approve()
    assert UnitType.objects.get(pk=way.revision.unit_type_id).provisional


def test_the_code_of_another_type_is_refused(way):
    way.add("position", kind="wiper")
    factories.UnitTypeFactory(code="RC-32")
    with pytest.raises(RuleBroken) as broken:
        way.approve()
    assert "code" in broken.value.fields


@pytest.mark.parametrize("role", ["bench", "receiving"])
def test_only_the_lead_approves(way, role):
    way.add("position", kind="wiper")
    with pytest.raises(NotAllowed):
        approve_draft(act=way.act(role, "x"), revision=way.revision, code="X", name="Y", service_fluid=None)


def test_once_approved_the_bench_adds_nothing_more(way):
    way.add("position", kind="wiper")
    way.approve()
    with pytest.raises(RuleBroken, match="no longer changes"):
        way.add("position", kind="wiper")


def test_drafts_are_listed_also_when_their_unit_is_gone(way):
    other = DraftJourney(people=way.people, now=way.now).receive_unknown()
    exit_rebuild(act=way.act("lead"), rebuild=way.rebuild, exit="scrapped", reason="cracked")
    listed = {row.pk: (row.units_here, row.unit_count) for row in bench_drafts()}
    assert listed == {way.revision.unit_type_id: (0, 1), other.revision.unit_type_id: (1, 1)}
    other.add("position", kind="wiper")
    other.approve()
    assert [row.pk for row in bench_drafts()] == [way.revision.unit_type_id]


# ---------- the rules in the database ----------


def test_a_dimension_is_judged_by_something_or_left_to_the_lead(way):
    row = way.add("dimension", quantity="bore")
    with pytest.raises(IntegrityError, match="shop_dimensionlimit_has_limit"), transaction.atomic():
        DimensionLimit.objects.filter(pk=row.pk).update(limits_open=False)
    with pytest.raises(RuleBroken, match="something must judge"):
        catalogue.save_place(
            act=way.act("lead"), revision=way.revision, place="dimension", row=row, limits_open=False
        )


def test_the_paper_of_a_unit_returned_as_found_from_a_draft(way):
    way.add_all().find_all()
    way.gland(way.places[0])
    exit_rebuild(act=way.act("lead"), rebuild=way.rebuild, exit="returned_as_found", reason="too dear")
    way.rebuild.refresh_from_db()
    assert way.rebuild.stage == "returned_as_found"
    assert way.rebuild.revision.state == TypeRevision.State.DRAFT
    assert Finding.objects.filter(rebuild=way.rebuild).count() == 4
    assert Rebuild.objects.open().count() == 0

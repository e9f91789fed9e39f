"""Hoses of a unit: findings, photos of their ports, and the number read when they go on again."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction

from shop.errors import NotAllowed, RuleBroken
from shop.models import Hose
from tests import factories
from tests.asking import picture
from tests.workorders.journey import Journey, make_type
from workorders.forms.receiving import IntakeForm
from workorders.models import Finding, HoseCheck, Photo
from workorders.services import build, hose_checks, teardown
from workorders.services.build_needs import missing_for_build
from workorders.services.hoses import can_be_mixed_up, ports_to_photograph, same_number
from workorders.services.record.unit import rebuild_record
from workorders.services.testing import supersede_test
from workorders.services.work import work_of

pytestmark = pytest.mark.django_db
KEPT = {"condition": "sound", "cause": "none", "action": "kept"}
AWAY = {"condition": "not_here", "cause": "not_determined", "action": "none"}


def two_hoses():
    """A cylinder with two ports and two hoses, of which H1 came along."""
    revision = make_type()
    second = factories.PortFactory(revision=revision, code="P2", name="bore side", along=0.1)
    factories.HoseFactory(port=second, code="H2", name="hose, bore side", attachment="removable")
    revision.hoses.filter(code="H1").update(length_mm=620.0, end_fitting="banjo", connects_to="pump")
    return Journey(revision=revision).receive()


@pytest.fixture(scope="module")
def kept(keep):
    return keep(two_hoses)


@pytest.fixture
def way(kept):
    return kept()


def hose(way, code="H1"):
    return way.revision.hoses.get(code=code)


def find(way, code="H1", role="bench", why="", **said):
    told = {"condition": "sound", "cause": "none", "action": "kept", **said}
    return teardown.record_finding(act=way.act(role, why), rebuild=way.rebuild, place=hose(way, code), **told)


def take_photo(way, code="H1"):
    return teardown.record_port_photos(
        act=way.act("bench"), rebuild=way.rebuild, hose=hose(way, code), photos=[picture()]
    )


def torn_down(way):
    """Every place judged: H1 is kept, H2 stayed with the machine."""
    take_photo(way)
    teardown.hoses_not_here(act=way.act("bench"), rebuild=way.rebuild)
    find(way)
    teardown.renew_rest(act=way.act("bench"), rebuild=way.rebuild)
    teardown.keep_rest(act=way.act("bench"), rebuild=way.rebuild)
    for station in range(1, way.revision.dimension_limits.get().stations + 1):
        teardown.record_measurement(
            act=way.act("bench"),
            rebuild=way.rebuild,
            limit=way.revision.dimension_limits.get(),
            station=station,
            value=11.98,
            instrument=way.micrometer,
        )
    teardown.record_fluid(
        act=way.act("bench"), rebuild=way.rebuild, fluid=way.revision.service_fluid, water="none"
    )
    return way.close_teardown()


def building(way):
    return torn_down(way).go_ahead().fit()


def check(journey, code="H1", number="H1", **more):
    return hose_checks.check_hose(
        act=journey.act("bench", more.pop("why", "")),
        rebuild=journey.rebuild,
        hose=hose(journey, code),
        number=number,
        **more,
    )


def named(rows):
    return {f"{row.name}: {row.sentence}" for row in rows}


# ---- findings


def test_a_hose_has_a_finding_of_its_own_with_its_length(way):
    row = find(way, condition="chafed_cover", cause="wear", length_mm=612.5, note="at the bracket")
    assert (row.place, row.length_mm) == (hose(way), 612.5)
    told = rebuild_record(way.rebuild)["findings"][0]
    assert (told["position"], told["condition"], told["length_mm"]) == ("H1", "chafed_cover", 612.5)
    assert row.history.get().history_user == way.people["bench"]
    assert row.note_in_full == "at the bracket Length as found 612.5 mm."


def test_a_seal_has_no_length(way):
    with pytest.raises(RuleBroken, match="only a hose has a length"):
        teardown.record_finding(
            act=way.act("bench"),
            rebuild=way.rebuild,
            place=way.revision.positions.first(),
            length_mm=3.0,
            **KEPT,
        )
    assert not Finding.objects.exists()


def test_hoses_that_did_not_come_are_answered_as_not_here_and_others_stay_open(way):
    rows = teardown.hoses_not_here(act=way.act("bench"), rebuild=way.rebuild)
    assert [(row.place.code, row.condition, row.cause, row.action) for row in rows] == [
        ("H2", "not_here", "not_determined", "none")
    ]
    assert "H1" in [place.code for place in teardown.open_places(way.rebuild)]
    with pytest.raises(RuleBroken, match="No hose is open that did not come"):
        teardown.hoses_not_here(act=way.act("bench"), rebuild=way.rebuild)


def test_the_rest_is_kept_where_it_came_and_not_here_where_it_did_not(way):
    rows = teardown.keep_rest(act=way.act("bench"), rebuild=way.rebuild)
    told = {row.place.code: (row.condition, row.action) for row in rows}
    assert told["H1"] == ("not_examined", "kept")
    assert told["H2"] == ("not_here", "none")


def test_a_hose_on_the_intake_is_not_elsewhere(way):
    with pytest.raises(RuleBroken, match="lists hose H1 as attached"):
        find(way, **AWAY)
    Hose.objects.filter(pk=hose(way, "H2").pk).update(attachment="fixed")
    with pytest.raises(RuleBroken, match="H2 is fixed to the unit"):
        find(way, "H2", **AWAY)
    assert not Finding.objects.exists()


def test_the_number_on_the_intake_may_be_written_in_any_way(way):
    assert same_number(" h 1", "H1")
    assert not same_number("H1", "H11")


@pytest.mark.parametrize("condition", ["chafed_through", "swollen", "blistered", "cracked", "leaking_crimp"])
def test_a_hose_that_can_burst_is_kept_only_by_a_reason_of_the_lead(way, condition):
    with pytest.raises(RuleBroken, match="under pressure goes through skin"):
        find(way, condition=condition)
    with pytest.raises(RuleBroken, match="The lead alone"):
        find(way, condition=condition, kept_reason="it is fine")
    with pytest.raises(RuleBroken) as refused:
        find(way, condition=condition, role="lead")
    assert "kept_reason" in refused.value.fields
    assert not Finding.objects.exists()
    row = find(way, condition=condition, role="lead", kept_reason="for the test only, then scrapped")
    assert "Kept by the lead's word: for the test only" in row.note_in_full
    # The bench may add to the finding, and leaves the lead's word as it is.
    again = find(way, condition=condition, kept_reason=row.kept_reason, note="tagged red")
    assert again.kept_reason == row.kept_reason


def test_a_reason_goes_with_the_state_that_needed_it(way):
    find(way, condition="cracked", role="lead", kept_reason="test only")
    assert find(way, condition="cracked", action="renewed").kept_reason == ""


@pytest.mark.parametrize("condition", ["chafed_cover", "kinked", "hardened", "end_corroded"])
def test_a_hose_that_is_only_worn_is_kept_by_the_bench(way, condition):
    assert find(way, condition=condition).action == "kept"


# ---- what the database keeps


def finding(way, **fields):
    given = {**KEPT, "found_at": way.now, "found_by": way.people["receiving"], "hose": hose(way)}
    return Finding(rebuild=way.rebuild, **{**given, **fields})


RULES = {
    "one_place": (
        lambda way: finding(way, port=way.revision.ports.first()),
        "one position, component, port or hose",
    ),
    "not_here_of_a_port": (
        lambda way: finding(way, **AWAY, hose=None, port=way.revision.ports.first()),
        "Only a hose can be not here",
    ),
    "not_here_with_a_cause": (lambda way: finding(way, **{**AWAY, "cause": "age"}), "Only a hose can be not"),
    "not_here_kept": (lambda way: finding(way, **{**AWAY, "action": "kept"}), "Only a hose can be not here"),
    "nothing_done_to_what_is_here": (lambda way: finding(way, action="none"), "Only a hose can be not here"),
    "unsafe_kept": (lambda way: finding(way, condition="swollen"), "The lead alone may keep it"),
    "length_zero": (lambda way: finding(way, length_mm=0.0), "above 0 mm"),
    "length_of_a_port": (
        lambda way: finding(way, length_mm=5.0, hose=None, port=way.revision.ports.first()),
        "Only a hose has its length taken",
    ),
    "photo_without_port": (lambda way: photo(way, moment="port"), "names its port"),
    "photo_of_a_port_later": (
        lambda way: photo(way, moment="teardown", port=way.revision.ports.first()),
        "names its port",
    ),
    "check_without_number": (lambda way: hose_check(way, number_read=""), "cannot be blank"),
}


def photo(way, **fields):
    stored = take_photo(way)[0].file
    return Photo(rebuild=way.rebuild, file=stored, by=way.people["bench"], at=way.now, **fields)


def hose_check(way, **fields):
    return HoseCheck(rebuild=way.rebuild, hose=hose(way), by=way.people["receiving"], at=way.now, **fields)


@pytest.mark.parametrize("rule", RULES)
def test_the_rule_is_said_in_words_and_kept_by_the_database(way, rule):
    make, words = RULES[rule]
    row = make(way)
    with pytest.raises(ValidationError, match=words):
        row.full_clean()
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


def test_a_hose_has_one_finding_in_a_rebuild(way):
    find(way)
    second = finding(way)
    with pytest.raises(ValidationError, match="has its finding already"):
        second.full_clean()
    with pytest.raises(IntegrityError), transaction.atomic():
        second.save(force_insert=True)


def test_a_check_is_never_changed(way):
    row = check(building(way))
    table = HoseCheck._meta.db_table
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"UPDATE {table} SET number_read = 'H2' WHERE id = %s", [row.pk])
    with pytest.raises(IntegrityError), transaction.atomic():
        row.delete()


# ---- the photo of the port


def test_a_photo_of_the_port_is_asked_before_its_hose_comes_off(way):
    assert [row.code for row in ports_to_photograph(way.rebuild)] == ["H1"]
    wanted = "P1 rod side: no photo from before hose H1 came off"
    assert any(text.startswith(wanted) for text in named(teardown.missing_for_teardown(way.rebuild)))
    kept = take_photo(way)[0]
    assert (kept.moment, kept.port.code, kept.caption) == ("port", "P1", "port P1, before hose H1 comes off")
    assert not ports_to_photograph(way.rebuild)
    told = rebuild_record(way.rebuild)["photos"][-1]
    assert (told["moment"], told["position"]) == ("port", "P1")


def test_teardown_is_not_signed_without_the_photo_or_a_reason(way):
    way.find()
    with pytest.raises(RuleBroken, match="no photo from before hose H1 came off"):
        way.close_teardown()
    find(way, no_photo_reason="came off in transport")
    way.close_teardown()
    assert rebuild_record(way.rebuild)["findings"][-2]["no_photo_reason"] == "came off in transport"


def test_no_photo_is_asked_where_nothing_can_be_mixed_up(way):
    way.revision.ports.filter(code="P2").update(fitting="plugged")
    assert not can_be_mixed_up(way.revision.ports.all())
    assert not ports_to_photograph(way.rebuild)


def test_a_photo_is_a_photo_and_needs_the_role(way):
    with pytest.raises(RuleBroken, match="at least one photo"):
        teardown.record_port_photos(act=way.act("bench"), rebuild=way.rebuild, hose=hose(way), photos=[])
    with pytest.raises(NotAllowed):
        teardown.record_port_photos(
            act=way.act("stores"), rebuild=way.rebuild, hose=hose(way), photos=[picture()]
        )
    other = factories.HoseFactory()
    with pytest.raises(RuleBroken, match="is not a place of"):
        teardown.record_port_photos(act=way.act("bench"), rebuild=way.rebuild, hose=other, photos=[picture()])
    assert not Photo.objects.exists()


# ---- the number at the build


def test_the_build_is_not_signed_before_the_number_is_read(way):
    building(way)
    wanted = "Port P1 rod side: hose H1 is not confirmed: read its number at the port"
    assert named(missing_for_build(way.rebuild)) == {wanted}
    with pytest.raises(RuleBroken, match="hose H1 is not confirmed"):
        way.close_build()
    row = check(way, number=" h1")
    assert (row.number_read, row.way, row.by) == ("h1", "on_port", way.people["bench"])
    way.close_build()
    told = rebuild_record(way.rebuild)["hose_checks"]
    assert [(one["position"], one["port"], one["number_read"], one["way"]) for one in told] == [
        ("H1", "P1", "h1", "on_port")
    ]


@pytest.mark.parametrize(
    ("number", "words"),
    [
        ("H2", "Port P1 takes hose H1. This is hose H2, which belongs on port P2 bore side"),
        ("H7", "No hose of this unit has the number H7"),
        ("  ", "Read the number"),
    ],
)
def test_another_number_is_refused(way, number, words):
    building(way)
    with pytest.raises(RuleBroken) as refused:
        check(way, number=number)
    assert words in refused.value.fields["number"]
    assert not HoseCheck.objects.exists()


def test_a_hose_that_is_not_here_is_neither_asked_nor_read(way):
    building(way)
    with pytest.raises(RuleBroken, match="does not go out with the unit"):
        check(way, "H2", number="H2")
    words = {row.port.code: row.words for row in hose_checks.port_hoses(way.rebuild)}
    assert words == {"P1": "", "P2": "not with this unit"}


def test_a_removable_hose_may_travel_loose_and_a_fixed_one_not(way):
    building(way)
    assert check(way, way="loose").get_way_display() == "loose in the parcel"
    assert not missing_for_build(way.rebuild)
    Hose.objects.filter(pk=hose(way).pk).update(attachment="fixed")
    with pytest.raises(RuleBroken) as refused:
        check(way, way="loose")
    assert "cannot travel loose" in refused.value.fields["way"]


def test_one_hose_on_the_only_port_is_not_asked():
    way = Journey().receive().find().close_teardown().go_ahead().fit()
    assert not missing_for_build(way.rebuild)


def test_a_test_that_is_repeated_leaves_what_was_read(way):
    """A new reading would open the build, and with it the test that stands."""
    building(way)
    check(way)
    way.close_build().start_test()
    supersede_test(act=way.act("lead"), test=way.test, reason="gauge fell down")
    assert not missing_for_build(way.rebuild)


def test_reading_a_number_later_opens_the_build_again_with_a_reason(way):
    building(way)
    check(way)
    way.close_build()
    with pytest.raises(RuleBroken) as refused:
        check(way)
    assert "why" in refused.value.fields
    check(way, why="hose was off for the photo")
    with pytest.raises(RuleBroken, match=r"not signed|sign"):
        way.start_test()


def test_the_wrong_role_reads_no_number(way):
    building(way)
    with pytest.raises(NotAllowed):
        hose_checks.check_hose(act=way.act("stores"), rebuild=way.rebuild, hose=hose(way), number="H1")


def test_the_papers_say_which_hose_goes_to_which_port(way):
    building(way)
    check(way)
    rows = {row.code: row for row in hose_checks.port_rows(way.rebuild)}
    assert (rows["P1"].hose, rows["P1"].length, rows["P1"].far_end) == ("H1", "620 mm", "banjo, to pump")
    assert rows["P1"].whereabouts == "on its port"
    assert (rows["P2"].hose, rows["P2"].along, rows["P2"].whereabouts) == ("H2", 0.1, "not with this unit")


@pytest.mark.parametrize("more", [0, 10])
def test_the_questions_asked_do_not_grow_with_the_hoses(django_assert_max_num_queries, more):
    revision = make_type()
    for _ in range(more + 10):
        factories.HoseFactory(port=factories.PortFactory(revision=revision))
    way = Journey(revision=revision)
    numbers = [row.code for row in revision.hoses.all()]
    way.receive(hoses=numbers)
    for row in revision.hoses.all():
        find(way, row.code)
    with django_assert_max_num_queries(9):
        rows = hose_checks.missing_hose_checks(way.rebuild, work_of(way.rebuild))
    assert len(rows) == more + 11
    with django_assert_max_num_queries(5):
        assert len(ports_to_photograph(way.rebuild)) == more + 11


def test_the_intake_offers_the_hoses_of_the_type(way):

    form = IntakeForm(revision=way.revision)
    assert form.fields["hoses"].choices == [("H1", "H1 (port P1)"), ("H2", "H2 (port P2)")]


def test_a_part_may_be_used_at_a_hose(way):
    building(way)
    lot = factories.LotFactory(part__kind="clip", part__polymer="")

    part = build.use_part(act=way.act("bench"), rebuild=way.rebuild, place=hose(way), lot=lot, quantity=1)
    assert (part.place, part.hose) == (hose(way), hose(way))

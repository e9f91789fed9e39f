"""Outside work by its services: sent, back, inspected against the limits; what it forbids."""

import datetime as dt
from functools import partial

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction

from shop.errors import NotAllowed, RuleBroken
from shop.services.files import read_bytes
from tests import factories
from tests.asking import picture, rows
from tests.workorders.journey import Journey, make_type
from workorders.models import OutsideWork, Rebuild
from workorders.services import outside_work, shipping, teardown
from workorders.services.build_needs import missing_for_build
from workorders.services.certificate import outside_rows
from workorders.services.outside_work import Papers
from workorders.services.record.unit import rebuild_record, unit_record
from workorders.services.releasing import missing_for_release
from workorders.services.standing import standing_build
from workorders.services.testing import supersede_test
from workorders.services.work import work_of

pytestmark = pytest.mark.django_db
NOT_NEEDED = Papers(bake="not_needed", bake_basis="drawing 4410 sheet 2: not hardened")
BAKED = Papers(bake="baked", bake_h=4, bake_temperature_c=190, bake_basis="Low Light Plating, report 77")


def torn_down():
    """A cylinder with a rod that carries dimension D1, torn down and allowed."""
    revision = make_type()
    factories.ComponentFactory(revision=revision, code="K2", name="rod", kind="rod", order=2)
    return Journey(revision=revision).receive().find().close_teardown().go_ahead()


@pytest.fixture(scope="module")
def kept(keep):
    return keep(torn_down)


@pytest.fixture
def way(kept):
    return kept()


def rod(way):
    return way.revision.components.get(code="K2")


def due(way, days=10):
    return way.now.date() + dt.timedelta(days=days)


def send(way, role="bench", why="", **said):
    if "component" not in said:
        said["component"] = rod(way)
    told = {
        "kind": "rechroming",
        "supplier": factories.SupplierFactory(),
        "asked": "Strip, chrome and grind to 12 mm.",
        "due": due(way),
        **said,
    }
    return outside_work.send_out(act=way.act(role, why), rebuild=way.rebuild, **told)


def bring_back(way, work, **said):
    return outside_work.record_return(act=way.act("bench"), work=work, **said)


def measure(way, value=11.99):
    limit = way.revision.dimension_limits.get()
    return teardown.record_measurement(
        act=way.act("bench"),
        rebuild=way.rebuild,
        limit=limit,
        station=1,
        value=value,
        instrument=way.micrometer,
        moment="after",
    )


def inspect(way, work, accepted=True, **said):
    return outside_work.inspect_return(act=way.act("bench"), work=work, accepted=accepted, **said)


def accept(way, work, papers=NOT_NEEDED):
    back = bring_back(way, work, papers=papers)
    measure(way)
    return inspect(way, back)


def in_the_way(way):
    found = missing_for_build(Rebuild.objects.get(pk=way.rebuild.pk))
    return [row.sentence for row in found if row.name.startswith("outside work")]


# --- sending out ---


def test_a_part_sent_out_names_who_when_to_whom_and_until_when(way):
    work = send(way)
    assert (work.sent_at, work.sent_by) == (way.now, way.people["bench"])
    assert (str(work), work.bake) == ("re-chroming, K2 rod", "not_asked")
    assert OutsideWork.history.get().history_user == way.people["bench"]
    way.rebuild.refresh_from_db()
    assert way.rebuild.stage == Rebuild.Stage.BUILDING


@pytest.mark.parametrize("role", ["receiving", "stores", "warranty desk"])
def test_only_bench_and_lead_send_out(way, role):
    before = rows()
    with pytest.raises(NotAllowed):
        send(way, role=role)
    # The people that the journey makes are no part of what is asked here.
    assert rows()["OutsideWork"] == before["OutsideWork"] == 0
    assert send(way, role="lead").pk


def test_nothing_goes_out_before_teardown_and_go_ahead():
    way = Journey().receive().find()
    with pytest.raises(RuleBroken, match="teardown is not signed"):
        send(way, component=None)
    way.close_teardown()
    with pytest.raises(RuleBroken, match="No go-ahead"):
        send(way, component=None)


def test_nothing_goes_out_of_a_rebuild_that_is_released_or_gone():
    way = Journey().tested().release()
    with pytest.raises(RuleBroken, match="released"):
        send(way, component=None)
    with pytest.raises(RuleBroken, match="closed"):
        send(way.ship(), component=None)


def test_the_day_due_is_not_past(way):
    with pytest.raises(RuleBroken) as told:
        send(way, due=due(way, -1))
    assert "due" in told.value.fields
    assert send(way, due=due(way, 0)).pk


def test_a_component_of_another_type_is_refused(way):
    with pytest.raises(RuleBroken, match="not a place"):
        send(way, component=factories.ComponentFactory())


def test_what_is_out_cannot_be_sent_out_again(way):
    send(way)
    with pytest.raises(RuleBroken, match="out already"):
        send(way)
    send(way, component=None)
    with pytest.raises(RuleBroken, match="out already"):
        send(way, component=None)


def test_the_day_due_changes_with_a_reason_only(way):
    work = send(way)
    with pytest.raises(RuleBroken, match="why the day"):
        outside_work.change_due(act=way.act("bench"), work=work, due=due(way, 20))
    changed = outside_work.change_due(act=way.act("bench", "bath broken"), work=work, due=due(way, 20))
    assert changed.due == due(way, 20)
    assert OutsideWork.history.latest("history_id").history_change_reason == "bath broken"
    with pytest.raises(RuleBroken, match="past"):
        outside_work.change_due(act=way.act("bench", "x"), work=work, due=due(way, -2))


# --- back, and inspected ---


def test_a_part_is_accepted_with_its_bake_and_its_sizes_after_the_return(way):
    done = accept(way, send(way), BAKED)
    assert (done.accepted, done.inspected_by) == (True, way.people["bench"])
    assert done.bake_sentence == "baked 4 h at 190 °C: Low Light Plating, report 77"
    assert in_the_way(way) == []


@pytest.mark.parametrize("kind", ["rechroming", "coating"])
def test_plated_steel_is_accepted_only_with_the_bake_answered(way, kind):
    work = bring_back(way, send(way, kind=kind))
    measure(way)
    with pytest.raises(RuleBroken) as told:
        inspect(way, work)
    assert "bake" in told.value.fields
    assert inspect(way, work, papers=NOT_NEEDED).accepted


def test_a_coating_may_be_no_plating_but_chrome_never(way):
    work = send(way, kind="coating")
    assert accept(way, work, Papers(bake="not_plating")).accepted
    with pytest.raises(RuleBroken) as told:
        bring_back(way, send(way), papers=Papers(bake="not_plating"))
    assert "bake" in told.value.fields


@pytest.mark.parametrize(
    ("papers", "field"),
    [
        (Papers(bake="not_needed"), "bake_basis"),
        (Papers(bake="baked", bake_h=4, bake_temperature_c=190), "bake_basis"),
        (Papers(bake="baked", bake_basis="plater"), "bake_h"),
        (Papers(bake="baked", bake_h=4, bake_basis="plater"), "bake_h"),
        (Papers(bake="not_needed", bake_h=4, bake_basis="plater"), "bake"),
    ],
)
def test_an_answer_about_the_bake_is_whole(way, papers, field):
    work = send(way)
    with pytest.raises(RuleBroken) as told:
        bring_back(way, work, papers=papers)
    assert field in told.value.fields
    work.refresh_from_db()
    assert work.is_out


def test_grinding_asks_no_bake(way):
    assert accept(way, send(way, kind="grinding"), None).accepted


def test_a_reading_from_before_the_return_does_not_count(way):
    measure(way)
    work = bring_back(way, send(way), papers=NOT_NEEDED)
    with pytest.raises(RuleBroken, match=r"D1.*not read after the return"):
        inspect(way, work)
    measure(way)
    assert inspect(way, work).accepted


def test_a_part_outside_its_limits_is_not_accepted(way):
    work = bring_back(way, send(way), papers=NOT_NEEDED)
    measure(way, 13.5)
    with pytest.raises(RuleBroken, match="outside its limits, station 1"):
        inspect(way, work)


def test_a_part_that_carries_no_dimension_needs_none(way):
    barrel = way.revision.components.get(code="K1")
    work = bring_back(way, send(way, component=barrel, kind="other"))
    assert outside_work.carried_dimensions(work) == []
    assert inspect(way, work).accepted


def test_a_rejection_needs_its_reason_and_no_sizes(way):
    work = bring_back(way, send(way))
    with pytest.raises(RuleBroken) as told:
        inspect(way, work, accepted=False)
    assert "reject_reason" in told.value.fields
    assert inspect(way, work, accepted=False, reject_reason="pitted, not baked").accepted is False


def test_the_order_of_the_acts_is_kept(way):
    work = send(way)
    with pytest.raises(RuleBroken, match="not back yet"):
        inspect(way, work)
    work = bring_back(way, work)
    for act in (
        bring_back,
        partial(lambda w, x: outside_work.cancel_outside_work(act=w.act("bench", "y"), work=x)),
    ):
        with pytest.raises(RuleBroken, match="back already"):
            act(way, work)
    inspect(way, work, accepted=False, reject_reason="pitted")
    with pytest.raises(RuleBroken, match="inspected; its record stays"):
        inspect(way, work)


def test_a_sending_is_cancelled_with_a_reason_and_may_be_made_again(way):
    work = send(way)
    with pytest.raises(RuleBroken, match="Say why it is cancelled"):
        outside_work.cancel_outside_work(act=way.act("bench"), work=work)
    done = outside_work.cancel_outside_work(act=way.act("bench", "never left"), work=work)
    assert done.cancel_reason == "never left"
    assert in_the_way(way) == []
    with pytest.raises(RuleBroken, match="is cancelled"):
        bring_back(way, work)
    assert send(way).pk


def test_a_certificate_is_kept_as_it_came(way):
    pdf = SimpleUploadedFile("report.pdf", b"%PDF-1.4 report 77")
    work = bring_back(way, send(way), papers=Papers(certificate=pdf))
    assert read_bytes(work.certificate) == b"%PDF-1.4 report 77"
    assert work.certificate.content_type == "application/pdf"
    photo = inspect(
        way, work, accepted=False, reject_reason="pitted", papers=Papers(certificate=picture("paper.png"))
    )
    assert photo.certificate.content_type == "image/jpeg"


@pytest.mark.parametrize("data", [b"PK not a paper", b""])
def test_a_certificate_is_a_pdf_or_a_photo(way, data):
    work = send(way)
    with pytest.raises(RuleBroken) as told:
        bring_back(way, work, papers=Papers(certificate=SimpleUploadedFile("x.zip", data)))
    assert "no certificate" in told.value.fields["certificate"]


def test_a_certificate_above_the_limit_of_the_shop_is_refused(way, settings):
    settings.UPLOAD_LIMIT_BYTES = 10
    pdf = SimpleUploadedFile("report.pdf", b"%PDF-1.4 report 77")
    with pytest.raises(RuleBroken) as told:
        bring_back(way, send(way), papers=Papers(certificate=pdf))
    assert "upload limit" in told.value.fields["certificate"]


# --- what it keeps from happening ---


def test_build_and_release_wait_until_it_is_back_and_accepted(way):
    way.fit()
    work = send(way)
    assert in_the_way(way)[0].startswith("not back from")
    with pytest.raises(RuleBroken, match="outside work: re-chroming, K2 rod: not back from"):
        way.close_build()
    names = [row.name for row in missing_for_release(way.rebuild)]
    assert "outside work: re-chroming, K2 rod" in names
    work = bring_back(way, work, papers=NOT_NEEDED)
    assert in_the_way(way) == ["back, but not inspected"]
    measure(way)
    inspect(way, work)
    assert in_the_way(way) == []
    way.close_build()


def test_a_rejected_part_is_settled_by_a_new_sending_or_by_renewing_it(way):
    inspect(way, bring_back(way, send(way)), accepted=False, reject_reason="pitted")
    assert in_the_way(way)[0].startswith("rejected; send it out anew")
    accept(way, send(way))
    assert in_the_way(way) == []
    inspect(way, bring_back(way, send(way)), accepted=False, reject_reason="pitted again")
    teardown.record_finding(
        act=way.act("bench", "plating failed twice"),
        rebuild=way.rebuild,
        place=rod(way),
        condition="worn",
        cause="wear",
        action="renewed",
    )
    assert in_the_way(way) == []


def test_accepted_outside_work_is_the_rework_of_its_component(way):
    teardown.record_finding(
        act=way.act("bench", "scored after all"),
        rebuild=way.rebuild,
        place=rod(way),
        condition="scored",
        cause="wear",
        action="reworked",
    )
    asked = "to be reworked, but no operation is recorded"
    assert asked in [row.sentence for row in missing_for_build(way.rebuild)]
    accept(way, send(way))
    assert asked not in [row.sentence for row in missing_for_build(way.rebuild)]


def test_a_part_sent_out_after_the_build_was_signed_opens_the_build(way):
    way.fit().close_build()
    with pytest.raises(RuleBroken, match="opened again"):
        send(way)
    work = send(way, why="rod scratched")
    assert standing_build(way.rebuild) is None
    accept(way, work)
    way.close_build()
    assert standing_build(way.rebuild)


def test_nothing_goes_out_while_a_test_stands(way):
    way.fit().close_build().start_test()
    with pytest.raises(RuleBroken, match="Supersede it"):
        send(way, why="rod scratched")
    supersede_test(act=way.act("bench"), test=way.test, reason="rod scratched")
    assert send(way, why="rod scratched").pk


def test_a_unit_leaves_by_no_side_exit_while_a_part_is_out(way):
    work = send(way)
    leave = {"rebuild": way.rebuild, "exit": "scrapped", "reason": "cracked"}
    with pytest.raises(RuleBroken, match=r"A part is not here.*not back from"):
        shipping.exit_rebuild(act=way.act("lead"), **leave)
    bring_back(way, work)
    assert shipping.exit_rebuild(act=way.act("lead"), **leave).stage == "scrapped"


def test_overdue_is_what_is_out_after_its_day(way):
    work = send(way)
    late = due(way, 11)
    assert list(OutsideWork.objects.overdue(on=late)) == [work]
    assert list(OutsideWork.objects.overdue(on=work.due)) == []
    words = [(row.word, row.mark) for row in outside_work.shown_on([work], late)]
    assert words == [("overdue by 1 day", "bad")]
    bring_back(way, work)
    assert list(OutsideWork.objects.overdue(on=late)) == []
    assert OutsideWork.objects.to_inspect().get() == work


# --- the record ---


def test_the_record_tells_what_by_whom_when_and_the_certificate(way):
    pdf = SimpleUploadedFile("report.pdf", b"%PDF-1.4 report 77")
    work = bring_back(way, send(way), papers=Papers(bake="not_asked", certificate=pdf))
    measure(way)
    work = inspect(way, work, papers=BAKED)
    (told,) = rebuild_record(way.rebuild)["outside_works"]
    assert (told["position"], told["kind"], told["supplier"]) == ("K2", "rechroming", work.supplier.name)
    assert (told["accepted"], told["bake_h"]) == (True, 4)
    assert told["certificate_sha256"] == work.certificate.sha256
    changed = [row for row in unit_record(way.unit)["changes"] if row["row"].startswith("outside work")]
    assert [row["what"] for row in changed] == ["entered", "changed", "changed"]
    (line,) = outside_rows(work_of(way.rebuild))
    assert f"re-chroming, K2 rod by {work.supplier}" in line
    assert "baked 4 h at 190 °C: Low Light Plating, report 77" in line
    assert "Supplier's certificate: on file." in line


def test_the_certificate_of_release_prints_what_others_did(way):
    accept(way, send(way))
    way.fit().close_build().start_test().run_steps().sign_test().release()
    (line,) = way.released.content["certificate"]["external_results"]
    assert line.endswith("Supplier's certificate: none.")
    assert "the steel does not need it: drawing 4410" in line


# --- what the database refuses ---


def whole(**fields):
    """A sending that is out and sound, unless told otherwise."""
    at = factories.NOW
    user = factories.UserFactory()
    given = {
        "kind": "grinding",
        "asked": "Grind to size.",
        "due": at.date(),
        "sent_at": at,
        "sent_by": user,
    }
    if fields.pop("back", False):
        given |= {"returned_at": at, "returned_by": user}
    if "accepted" in fields:
        given |= {"inspected_at": at, "inspected_by": user}
    if "cancel_reason" in fields:
        given |= {"cancelled_at": at, "cancelled_by": user}
    given |= {"rebuild": factories.RebuildFactory(), "supplier": factories.SupplierFactory()}
    return OutsideWork(**{**given, **fields})


BEFORE = factories.NOW - dt.timedelta(days=1)
BAKE = {"bake": "baked", "bake_h": 4.0, "bake_temperature_c": 190.0, "bake_basis": "plater"}
REFUSED = [
    ({"asked": ""}, "Say what is asked"),
    ({"returned_at": factories.NOW}, "names who took it in"),
    ({"back": True, "returned_at": BEFORE}, "before it was sent"),
    ({"back": True, "inspected_at": factories.NOW}, "An inspection names"),
    ({"accepted": True}, "Only what is back"),
    ({"back": True, "accepted": True, "inspected_at": BEFORE}, "Only what is back"),
    ({"back": True, "accepted": False}, "why the work is rejected"),
    ({"kind": "rechroming", "bake": "not_plating"}, "Re-chroming is plating"),
    ({"back": True, "accepted": True, "kind": "rechroming"}, "only when the question"),
    ({"back": True, "accepted": True, "kind": "coating"}, "only when the question"),
    ({**BAKE, "bake_h": None}, "hours and its temperature"),
    ({**BAKE, "bake_temperature_c": 0.0}, "hours and its temperature"),
    ({"bake_h": 4.0}, "hours and its temperature"),
    ({**BAKE, "bake_basis": ""}, "on what basis"),
    ({"bake": "not_needed"}, "on what basis"),
    ({"cancelled_at": factories.NOW}, "A cancelling names"),
    ({"cancel_reason": "", "back": False}, "A cancelling names"),
    ({"back": True, "cancel_reason": "never left"}, "not cancelled"),
]


@pytest.mark.parametrize(("fields", "message"), REFUSED)
def test_the_database_refuses_outside_work_that_cannot_be(fields, message):
    row = whole(**fields)
    with pytest.raises(ValidationError, match=message):
        row.validate_constraints()
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"back": True},
        {"back": True, "accepted": False, "reject_reason": "pitted", "kind": "rechroming"},
        {"back": True, "accepted": True, "kind": "coating", "bake": "not_plating"},
        {"back": True, "accepted": True, "kind": "rechroming", **BAKE},
        {"cancel_reason": "never left"},
    ],
)
def test_the_database_takes_outside_work_that_can_be(fields):
    row = whole(**fields)
    row.full_clean()
    row.save()


@pytest.mark.parametrize("of_component", [True, False])
def test_the_database_refuses_the_same_thing_out_twice(of_component):
    first = whole(component=factories.ComponentFactory() if of_component else None)
    first.save()
    again = whole(rebuild=first.rebuild, component=first.component)
    with pytest.raises(ValidationError, match="out already"):
        again.validate_constraints()
    with pytest.raises(IntegrityError), transaction.atomic():
        again.save()

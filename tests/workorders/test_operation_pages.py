"""The pages of rework as a browser meets them: what was done is chosen, then its values are asked for."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests import factories, writes
from tests.asking import rows, send
from tests.workorders.journey import Journey
from tests.writes import Write
from workorders.models import Instrument, Operation, OperationValue
from workorders.services import build
from workorders.services.operation_values import Recorded

pytestmark = pytest.mark.django_db
BENCH = {"role": "bench", "refused_role": "receiving"}


@pytest.fixture(scope="module")
def kept(keep):
    return keep(lambda: Journey().receive().find().close_teardown().go_ahead())


@pytest.fixture
def way(kept):
    return kept()


@pytest.fixture
def wrench():
    row = factories.InstrumentFactory(
        quantity=Instrument.Quantity.TORQUE, unit="N·m", range_low=1, range_high=100, accuracy=1.6
    )
    row.calibrations.update(due_on="2090-01-01")  # pages ask the real clock
    return row


@pytest.fixture
def tech(client, way):
    client.force_login(way.people["bench"])
    return client


def url(way, name="operation"):
    return reverse(f"workorders:{name}", args=[way.rebuild.pk])


def barrel(way):
    return way.revision.components.get(code="K1")


def figure(way, **told):
    return factories.FasteningFigureFactory(
        **{"revision": way.revision, "component": barrel(way), "what": "gland nut"} | told
    )


def form(kind, **told):
    return {"kind": kind, "place": "unit", "tool": "by hand", "note": "", **told}


def masked(way):
    return build.record_operation(
        act=way.act("bench"),
        rebuild=way.rebuild,
        kind="masked",
        place=barrel(way),
        tool="tape",
        recorded=Recorded(values={"masked": "bore"}),
    )


def text(answer):
    return answer.content.decode()


def fastened(way, wrench, **told):
    row = figure(way, locker="medium")
    return form(
        "fastened",
        place="",
        figure=row.pk,
        torque_nm="41.5",
        instrument=wrench.pk,
        locker="medium",
        locker_batch="B-7",
        **told,
    )


WRITES = {
    "fastened": lambda w, tool: Write(
        url=url(w),
        data=fastened(w, tool),
        unknown=reverse("workorders:operation", args=[10**6]),
        bad={"torque_nm": "much"},
        broken={"torque_nm": "50"},
        history=OperationValue.history,
        **BENCH,
    ),
    "corrosion": lambda w, tool: Write(
        url=url(w),
        data=form(
            "corrosion_removed", corrosion_before="heavy", corrosion_after="none", pitting_after="light"
        ),
        unknown=reverse("workorders:operation", args=[10**6]),
        bad={"corrosion_after": ""},
        broken={"pit_depth_um": "30"},
        history=Operation.history,
        **BENCH,
    ),
    "correct": lambda w, tool: Write(
        url=reverse("workorders:correct_operation", args=[masked(w).pk]),
        data=form("masked", masked="threads", why="the wrong holes"),
        unknown=reverse("workorders:correct_operation", args=[10**6]),
        bad={"why": ""},
        broken={"masked": " "},
        history=Operation.history,
        why="the wrong holes",
        **BENCH,
    ),
    "masking_off": lambda w, tool: Write(
        url=reverse("workorders:masking_off", args=[masked(w).pk]),
        unknown=reverse("workorders:masking_off", args=[10**6]),
        history=Operation.history,
        **BENCH,
    ),
}


@pytest.fixture(params=WRITES)
def write(request, way, wrench):
    return WRITES[request.param](way, wrench)


def test_it_works_and_names_who_and_why(client, write):
    writes.check_works(client, write)


def test_asking_writes_nothing(client, write):
    writes.check_get(client, write)


def test_signed_out_people_sign_in_first(client, write):
    writes.check_signed_out(client, write)


def test_another_role_is_refused(client, write):
    writes.check_wrong_role(client, write)


def test_what_does_not_exist_is_not_found(client, write):
    writes.check_unknown(client, write)


def test_a_form_sent_twice_is_written_once(client, write):
    writes.check_twice(client, write)


@pytest.mark.parametrize("name", ["fastened", "corrosion", "correct"])
@pytest.mark.parametrize("kind", ["bad", "broken"])
def test_a_wrong_form_and_a_broken_rule_are_refused(client, way, wrench, name, kind):
    write = WRITES[name](way, wrench)
    writes.check_refused(client, write, getattr(write, kind))


def test_masking_that_is_off_is_not_taken_off_again(tech, way):
    row = masked(way)
    build.take_masking_off(act=way.act("bench"), operation=row)
    before = rows()
    answer = send(tech, reverse("workorders:masking_off", args=[row.pk]))
    assert (answer.status_code, rows()) == (422, before)
    assert "off already" in text(answer)


def test_what_was_done_is_chosen_first_and_keeps_the_place(tech, way):
    page = text(tech.get(url(way), {"place": "port-7"}))
    assert "?kind=honed&amp;place=port-7" in page
    assert 'name="tool"' not in page


@pytest.mark.parametrize(
    ("kind", "shown", "hidden"),
    [
        ("honed", 'name="stone"', 'name="torque_nm"'),
        ("fastened", 'name="torque_nm"', 'name="stone"'),
        ("cleaned", "Grades are the shop&#x27;s own", 'name="instrument"'),
        ("other", 'name="tool"', 'name="corrosion_before"'),
    ],
)
def test_each_kind_asks_for_what_it_records(tech, way, kind, shown, hidden):
    page = text(tech.get(url(way), {"kind": kind}))
    assert shown in page
    assert hidden not in page


def test_the_figure_that_is_missing_is_chosen_already(tech, way):
    row = figure(way, required=True)
    address = tech.get(url(way, "build")).context["missing"][-1].url
    page = text(tech.get(address))
    assert f'name="figure" value="{row.pk}"' in page.replace("data-primary ", "")
    assert "checked" in page
    assert "40 ± 4 N·m" in page


def test_a_fastening_goes_to_the_place_of_its_figure(tech, way, wrench):
    assert send(tech, url(way), fastened(way, wrench)).status_code == 302
    row = Operation.objects.get()
    assert (row.place, row.within, row.locker_lot) == (barrel(way), True, None)
    assert "within the figure" in text(tech.get(url(way, "build")))


def test_a_lot_is_scanned_for_the_thread_locker(tech, way, wrench):
    lot = factories.LotFactory(use_by="2090-01-01")
    data = fastened(way, wrench) | {"locker_batch": "", "locker_lot": lot.number.lower()}
    assert send(tech, url(way), data).status_code == 302
    assert Operation.objects.get().locker_lot == lot
    assert lot.number in text(
        tech.get(reverse("workorders:correct_operation", args=[Operation.objects.get().pk]))
    )


def test_a_torque_outside_asks_for_the_reason_and_keeps_what_was_typed(tech, way, wrench):
    data = fastened(way, wrench) | {"torque_nm": "50"}
    answer = send(tech, url(way), data, token=uuid.uuid4().hex)
    assert "50 N·m is outside 40 ± 4 N·m" in text(answer)
    assert 'value="50"' in text(answer)
    assert send(tech, url(way), {**data, "reason": "new nut"}).status_code == 302
    assert "outside the figure because: new nut" in text(tech.get(url(way, "build")))


def test_a_correction_shows_what_stands_and_may_turn_it_into_something_else(tech, way):
    row = masked(way)
    address = reverse("workorders:correct_operation", args=[row.pk])
    assert 'value="bore"' in text(tech.get(address))
    assert 'name="stone"' in text(tech.get(address, {"kind": "honed"}))
    data = form("honed", stone="320", why="pressed the wrong tile")
    assert send(tech, address, data).status_code == 302
    row.refresh_from_db()
    assert (row.kind, [str(each) for each in row.values.all()]) == ("honed", ["stone and grit: 320"])


def test_the_build_page_costs_the_same_for_ten_and_for_twenty_operations(tech, way):
    def add():
        for _ in range(10):
            masked(way)
            figure(way, required=True)

    def cost():
        with CaptureQueriesContext(connection) as asked:
            assert tech.get(url(way, "build")).status_code == 200
        return len(asked)

    add()
    cost()
    few = cost()
    add()
    assert cost() == few

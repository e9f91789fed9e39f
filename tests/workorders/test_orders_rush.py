"""Two people at one work order or box at once: papers, boxes and flags say what the record says."""

import pytest

from shop.errors import RuleBroken
from shop.services.writing import Act
from tests.conftest import NOW
from tests.factories import CustomerFactory, TypeRevisionFactory, person
from tests.overtaking import meanwhile
from tests.workorders.journey import Journey
from tests.workorders.packing_bench import Bench
from workorders.models import Rebuild, WorkOrder
from workorders.services import boxes, packing, receiving, releasing, teardown
from workorders.services.boxes import Expected
from workorders.services.other_type import correct_unit_type

pytestmark = pytest.mark.django_db(transaction=True)
INTAKE = {"opened_before": "not_before", "arrival_condition": "oily"}


def given_to_another(order, act):
    """Give a work order to another customer."""
    right = CustomerFactory(name="Ropewalk Lifts")
    told = {"customer": right, "customer_order": "PO 7", "note": ""}
    return lambda: receiving.change_work_order(act=act, work_order=order, **told)


def test_a_certificate_names_the_customer_that_the_order_got_meanwhile():
    way = Journey().receive().find().close_teardown().go_ahead().fit().close_build()
    way.start_test().run_steps().sign_test()
    way.rebuild.refresh_from_db()
    order, lead = way.rebuild.work_order, way.act("lead")
    assert order.customer.name != "Ropewalk Lifts"

    _changed, release = meanwhile(
        given_to_another(order, way.act("receiving", "the other yard's")),
        lambda: releasing.release_rebuild(act=lead, rebuild=way.rebuild, status="overhauled"),
    )
    assert release.content["certificate"]["customer"]["name"] == "Ropewalk Lifts"


@pytest.fixture
def going_back():
    """A bench with a unit that goes back as found: no release ties its order to the customer."""
    bench = Bench()
    unit = bench.unit(stage="returned_as_found")
    bench.order = unit.work_order
    bench.packing = packing.begin_packing(act=bench.clerk(), work_order=bench.order)
    bench.full(unit, bench.packing.parcels.get())
    return bench


def test_an_order_that_is_being_sent_off_goes_to_nobody_else(going_back):
    order, customer = going_back.order, going_back.order.customer
    change = given_to_another(order, going_back.clerk("the other yard's"))

    _shipment, refused = meanwhile(going_back.send, change)
    assert isinstance(refused, RuleBroken)
    assert "packing list" in str(refused)
    assert WorkOrder.objects.get(pk=order.pk).customer == customer


@pytest.fixture
def box():
    """A box that is here, in a work order, with a line and a type to receive it as."""
    act = Act(by=person("receiving"), at=NOW, why="counted again")
    made = boxes.announce_box(
        act=act, how="telephone", customer=CustomerFactory(), expected=[Expected(what="lift cylinder")]
    )
    boxes.receive_box(act=act, box=made)
    made = boxes.put_into_work_order(act=act, box=made)
    line, unit_type = made.lines.get(), TypeRevisionFactory().unit_type
    other = receiving.open_work_order(act=act, customer=made.work_order.customer)

    def receive():
        told = {"line": line, "work_order": made.work_order, "unit_type": unit_type}
        return boxes.receive_unit_of_line(act=act, **told, **INTAKE)

    def move():
        return boxes.put_into_work_order(act=act, box=made, work_order=other)

    return receive, move


@pytest.mark.parametrize("first", [0, 1])
def test_a_box_is_moved_while_a_unit_of_it_is_received_and_one_is_refused(box, first):
    done, refused = meanwhile(box[first], box[1 - first])
    assert not isinstance(done, RuleBroken)
    assert isinstance(refused, RuleBroken)
    for line in boxes.BoxLine.objects.filter(rebuild__isnull=False).select_related("box", "rebuild"):
        assert line.box.work_order_id == line.rebuild.work_order_id


def test_a_line_is_not_judged_anew_in_a_box_that_is_being_closed():
    act = Act(by=person("receiving"), at=NOW, why="counted again")
    made = boxes.announce_box(
        act=act, how="telephone", customer=CustomerFactory(), expected=[Expected(what="lift cylinder")]
    )
    boxes.receive_box(act=act, box=made)
    line = made.lines.get()
    boxes.judge_line(act=act, line=line, outcome="missing", note="not in the box")

    closed, refused = meanwhile(
        lambda: boxes.close_box(act=act, box=made),
        lambda: boxes.judge_line(act=act, line=line, outcome="open"),
    )
    assert not closed.is_open
    assert isinstance(refused, RuleBroken)
    assert boxes.BoxLine.objects.get(pk=line.pk).outcome == "missing"


def test_debris_in_one_unit_leaves_alone_what_another_hand_writes_down_of_the_other():
    way = Journey().receive()
    other = way.rebuild
    way.receive(order=other.work_order)
    clerk, bench = way.act("receiving"), way.act("bench")

    meanwhile(
        lambda: receiving.move_to_shelf(act=clerk, rebuild=other, shelf="B 12"),
        lambda: teardown.record_debris(act=bench, rebuild=way.rebuild, origin="piston seal"),
    )
    row = Rebuild.objects.get(pk=other.pk)
    assert (row.shelf, row.circuit_flagged) == ("B 12", True)


def test_two_benches_find_debris_at_once_and_both_units_are_flagged():
    way = Journey().receive()
    units = [way.rebuild, way.receive(order=way.rebuild.work_order).rebuild]
    acts = [way.act("bench"), way.act("bench")]

    def found(number):
        return lambda: teardown.record_debris(act=acts[number], rebuild=units[number], origin="piston seal")

    meanwhile(found(0), found(1))
    flags = Rebuild.objects.filter(pk__in=[unit.pk for unit in units])
    assert set(flags.values_list("debris_found", "circuit_flagged")) == {(True, True)}


def test_a_makers_serial_is_corrected_by_the_unit_as_it_is_now():
    way = Journey().receive()
    stale = Rebuild.objects.select_related("unit").get(pk=way.rebuild.pk)
    right = TypeRevisionFactory().unit_type
    act = Act(by=person("receiving"), at=way.now, why="read again")
    correct_unit_type(act=act, rebuild=way.rebuild, unit_type=right)
    receiving.correct_intake(act=act, rebuild=stale, maker_serial="M 77", **INTAKE)
    unit = Rebuild.objects.get(pk=stale.pk).unit
    assert (unit.unit_type, unit.maker_serial) == (right, "M 77")

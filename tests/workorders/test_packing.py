"""The packing bench by its services: begun, checked thing by thing, closed, sent off once."""

import pytest

from shop.errors import NotAllowed, RuleBroken
from shop.models import TypeRevision
from shop.services.files import read_bytes
from tests import factories
from tests.workorders.packing_bench import Bench
from tests.workorders.pdf_reading import text_of
from workorders.calc.serial import grouped
from workorders.models import Packing, PackingLine, PackingUnit, Rebuild, Shipment
from workorders.services import packing, releasing, shipping, testing
from workorders.services.dispatch_papers import port_tags
from workorders.services.packing_needs import what_goes_along
from workorders.services.packing_page import happened
from workorders.services.record.unit import unit_record

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def kept(keep):
    return keep(lambda: Bench(hoses=["H1"], extra=["mounting pin"]))


@pytest.fixture
def bench(kept):
    return kept()


def line(unit, kind):
    return unit.lines.get(kind=kind)


def test_a_packing_is_begun_once_and_gone_on_with(bench):
    again = packing.begin_packing(act=bench.clerk(), work_order=bench.order)
    assert again == bench.packing
    assert Packing.objects.count() == 1
    assert str(bench.packing.begun_by) == str(bench.way.people["receiving"])


def test_a_unit_brings_its_list_along(bench):
    TypeRevision.objects.update(spare_fluid_ml=250)
    bench.one.refresh_from_db()
    unit = bench.put_in()
    told = [(row.kind, row.text) for row in unit.lines.all()]
    fluid = bench.one.revision.service_fluid
    release = bench.one.releases.get()
    assert told == [
        ("extra", "extra part: mounting pin"),
        ("hose", "hose attached: H1"),
        ("cap", "cap on port P1 rod side"),
        ("inside", f"fluid left inside: {fluid}"),
        ("spare", f"spare fluid: {fluid}"),
        ("paper", f"certificate {release.number} and fitter's page"),
    ]
    assert line(unit, "spare").volume_ml == 250
    assert all(row.is_open for row in unit.lines.all())


def test_a_plugged_port_needs_no_cap(bench):
    factories.PortFactory(revision=bench.one.revision, code="P2", name="blanked", fitting="plugged")
    assert [need.code for need in what_goes_along(bench.one) if need.kind == "cap"] == ["P1"]


def test_each_thing_keeps_who_packed_it_and_when_and_an_undo_keeps_both(bench):
    unit = bench.put_in()
    hose = packing.pack_line(act=bench.clerk(), line=line(unit, "hose"))
    assert hose.state == PackingLine.State.PACKED
    assert hose.done_at == bench.way.now
    other = factories.person("receiving")
    undone = packing.undo_line(act=type(bench.clerk())(by=other, at=bench.way.now), line=hose)
    assert undone.is_open
    states = [(row.state, str(row.history_user)) for row in hose.history.order_by("history_id")]
    clerk = str(bench.way.people["receiving"])
    assert states == [("open", clerk), ("packed", clerk), ("open", str(other))]


def test_what_is_kept_back_needs_a_reason(bench):
    unit = bench.put_in()
    with pytest.raises(RuleBroken, match="why it is kept back"):
        packing.keep_back(act=bench.clerk(), line=line(unit, "hose"), reason=" ")
    kept = packing.keep_back(act=bench.clerk(), line=line(unit, "hose"), reason="cracked")
    with pytest.raises(RuleBroken, match="is kept back already"):
        packing.pack_line(act=bench.clerk(), line=kept)
    with pytest.raises(RuleBroken, match="nothing to undo"):
        packing.undo_line(act=bench.clerk(), line=line(unit, "cap"))


def test_fluid_is_packed_with_its_millilitres_and_lot(bench):
    unit = bench.put_in()
    inside = packing.pack_line(act=bench.clerk(), line=line(unit, "inside"), volume_ml=35.0)
    assert inside.volume_ml == 35
    lot = factories.LotFactory()
    spare = packing.add_line(
        act=bench.clerk(), unit=unit, text="", fluid=bench.one.revision.service_fluid, volume_ml=250
    )
    spare = packing.pack_line(act=bench.clerk(), line=spare, lot=lot)
    assert (spare.volume_ml, spare.lot) == (250, lot)
    with pytest.raises(RuleBroken, match="how many millilitres"):
        packing.add_line(act=bench.clerk(), unit=unit, text="", fluid=inside.fluid)
    with pytest.raises(RuleBroken, match="Say what goes along"):
        packing.add_line(act=bench.clerk(), unit=unit, text=" ")
    card = packing.add_line(act=bench.clerk(), unit=unit, text="warranty card")
    assert card.kind == "other"


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"stage": "received"}, "is not released: it is received"),
        ({"stage": "exchange_core"}, "is not released: it is kept as exchange core"),
    ],
)
def test_a_unit_that_is_not_ready_is_refused(bench, told, words):
    with pytest.raises(RuleBroken, match=words):
        bench.put_in(bench.another(**told))


def test_a_unit_of_another_order_and_one_that_lies_elsewhere_are_refused(bench):
    foreign = bench.unit()
    with pytest.raises(RuleBroken, match=f"belongs to {foreign.work_order} of"):
        bench.put_in(foreign)
    bench.put_in()
    second = packing.add_parcel(act=bench.clerk(), packing=bench.packing)
    with pytest.raises(RuleBroken, match="lies in parcel 1 already"):
        bench.put_in(parcel=second)


def test_a_unit_taken_out_stands_ready_again(bench):
    unit = bench.full()
    packing.take_out(act=bench.clerk(), unit=unit)
    with pytest.raises(RuleBroken, match="was taken out"):
        packing.pack_line(act=bench.clerk(), line=line(unit, "cap"))
    again = bench.put_in()
    assert all(row.is_open for row in again.lines.all())
    assert PackingUnit.objects.count() == 2
    assert unit.lines.filter(state="packed").exists()


def test_a_unit_moves_with_everything_that_was_checked_of_it(bench):
    unit = bench.put_in()
    packing.pack_line(act=bench.clerk(), line=line(unit, "hose"))
    second = packing.add_parcel(act=bench.clerk(), packing=bench.packing)
    moved = packing.move_unit(act=bench.clerk(), unit=unit, parcel=second)
    assert (moved.pk, moved.parcel) == (unit.pk, second)
    assert line(moved, "hose").state == PackingLine.State.PACKED
    third = packing.move_unit(act=bench.clerk(), unit=moved).parcel
    assert (third.packing, third.number) == (bench.packing, 3)
    bench.pack_all(moved)
    assert bench.send().parcels.get().units.get().rebuild == bench.one
    told = [row.words.split(": ")[-1] for row in happened(bench.packing) if "parcel" in row.words]
    assert sorted(told) == ["moved into parcel 2", "moved into parcel 3", "put into parcel 1"]


def test_a_unit_moves_between_open_parcels_of_its_own_packing_only(bench):
    unit = bench.put_in()
    with pytest.raises(RuleBroken, match="lies in parcel 1 already"):
        packing.move_unit(act=bench.clerk(), unit=unit, parcel=bench.parcel)
    foreign = packing.begin_packing(act=bench.clerk(), work_order=bench.unit().work_order)
    with pytest.raises(RuleBroken, match="Parcel 1 is not on this bench"):
        packing.move_unit(act=bench.clerk(), unit=unit, parcel=foreign.parcels.get())
    second = packing.add_parcel(act=bench.clerk(), packing=bench.packing)
    bench.full(bench.another(), parcel=second)
    packing.close_parcel(act=bench.clerk(), parcel=second)
    with pytest.raises(RuleBroken, match="Parcel 2 is closed"):
        packing.move_unit(act=bench.clerk(), unit=unit, parcel=second)
    bench.pack_all(unit)
    packing.close_parcel(act=bench.clerk(), parcel=bench.parcel)
    with pytest.raises(RuleBroken, match="Parcel 1 is closed"):
        packing.move_unit(act=bench.clerk(), unit=unit)
    assert bench.packing.parcels.count() == 2


def test_a_parcel_closes_when_all_is_settled_and_opens_again(bench):
    with pytest.raises(RuleBroken, match="Parcel 1 is empty"):
        packing.close_parcel(act=bench.clerk(), parcel=bench.parcel)
    unit = bench.put_in()
    with pytest.raises(RuleBroken, match="neither packed nor kept back: extra part"):
        packing.close_parcel(act=bench.clerk(), parcel=bench.parcel)
    bench.pack_all(unit)
    with pytest.raises(RuleBroken, match="length, width and height"):
        packing.close_parcel(act=bench.clerk(), parcel=bench.parcel, size_cm=(60.0, None, 15.0))
    closed = packing.close_parcel(
        act=bench.clerk(), parcel=bench.parcel, weight_kg=4.2, size_cm=(60.0, 20.0, 15.0)
    )
    assert closed.measures == "4.2 kg, 60 × 20 × 15 cm"
    with pytest.raises(RuleBroken, match="Parcel 1 is closed"):
        packing.undo_line(act=bench.clerk(), line=line(unit, "cap"))
    opened = packing.reopen_parcel(act=bench.clerk(), parcel=closed)
    assert (opened.is_open, opened.measures) == (True, "")
    with pytest.raises(RuleBroken, match="Parcel 1 is open"):
        packing.reopen_parcel(act=bench.clerk(), parcel=opened)


@pytest.mark.record_row("R21")
def test_sent_off_it_becomes_one_shipment_with_everything_that_was_checked(bench):
    unit = bench.put_in()
    packing.keep_back(act=bench.clerk(), line=line(unit, "hose"), reason="cracked, thrown away")
    packing.pack_line(act=bench.clerk(), line=line(unit, "inside"), volume_ml=35.0)
    bench.pack_all(unit)
    packing.close_parcel(act=bench.clerk(), parcel=bench.parcel, weight_kg=4.2)
    empty = packing.add_parcel(act=bench.clerk(), packing=bench.packing)
    shipment = bench.send()
    assert bench.send() == shipment
    assert (Shipment.objects.count(), empty.number) == (1, 2)
    (parcel,) = shipment.parcels.all()
    packed = parcel.units.get()
    by_kind = {check["kind"]: check for check in packed.checked}
    assert by_kind["hose"]["reason"] == "cracked, thrown away"
    assert by_kind["inside"]["volume_ml"] == 35
    assert by_kind["cap"]["by"] == str(bench.way.people["receiving"])
    assert by_kind["cap"]["at"].startswith("2026-03-")
    assert (parcel.weight_kg, packed.caps_on) == (4.2, True)
    bench.one.refresh_from_db()
    assert bench.one.stage == Rebuild.Stage.SHIPPED
    assert bench.one.warranty.holder == bench.order.customer
    text = text_of(read_bytes(shipment.packing_list))
    for words in ("caps on P1", "35 mL", "4.2 kg", "cracked, thrown away", grouped(bench.one.unit.serial)):
        assert words in text
    (tag,) = port_tags(shipment)
    assert (tag.inside_ml, tag.capped) == (35, ("P1",))
    bench.packing.refresh_from_db()
    assert bench.packing.shipment == shipment
    with pytest.raises(RuleBroken, match=f"was sent off as {shipment}"):
        packing.add_parcel(act=bench.clerk(), packing=bench.packing)


def test_a_cap_may_be_kept_back_with_a_reason_and_the_record_says_so(bench):
    unit = bench.put_in()
    packing.keep_back(act=bench.clerk(), line=line(unit, "cap"), reason="hose with its own end cap")
    bench.pack_all(unit)
    shipment = bench.send()
    packed = shipment.parcels.get().units.get()
    assert packed.caps_on is False
    assert port_tags(shipment)[0].as_label().lines[0] == "No caps"
    assert "hose with its own end cap" in text_of(read_bytes(shipment.packing_list))


def test_the_packing_list_names_the_recipient_once(bench):
    name = bench.order.customer.name
    bench.full()
    shipment = bench.send(address=f"{name}\n1 Quay\nNorthhaven")
    text = text_of(read_bytes(shipment.packing_list))
    address = text[text.index("Recipient") : text.index("Recipient contact")]
    assert address.count(name) == 1
    assert "1 Quay" in address


def test_nothing_half_checked_leaves(bench):
    with pytest.raises(RuleBroken, match="Nothing is packed yet"):
        bench.send()
    unit = bench.put_in()
    with pytest.raises(RuleBroken, match="neither packed nor kept back"):
        bench.send()
    bench.pack_all(unit)
    with pytest.raises(RuleBroken) as refused:
        bench.send(address=" ")
    assert "address" in refused.value.fields
    assert not Shipment.objects.exists()


def test_a_certificate_issued_anew_is_packed_anew(bench):
    unit = bench.full()
    releasing.reissue_release(act=bench.way.act("lead", "typing error"), release=bench.one.releases.get())
    with pytest.raises(RuleBroken, match="was not on the list when it was packed"):
        bench.send()
    packing.take_out(act=bench.clerk(), unit=unit)
    bench.full()
    assert bench.send()


def test_a_unit_whose_test_was_superseded_does_not_leave(bench):
    bench.full()
    testing.supersede_test(
        act=bench.way.act("lead"), test=bench.one.pressure_tests.get(), reason="wrong gauge"
    )
    with pytest.raises(RuleBroken, match="may not leave"):
        bench.send()


def test_what_lies_on_the_bench_leaves_by_no_other_way(bench):
    bench.full()
    pack = shipping.UnitPack(rebuild=bench.one, packed=shipping.packing_items(bench.one), caps_on=True)
    with pytest.raises(RuleBroken, match="lies in parcel 1 of the packing of"):
        shipping.ship(
            act=bench.clerk(),
            work_order=bench.order,
            recipient=bench.order.customer,
            address="1 Quay",
            carrier="",
            parcels=[shipping.ParcelPlan(units=[pack])],
        )


def test_a_packing_given_up_sets_its_units_free(bench):
    bench.full()
    with pytest.raises(RuleBroken, match="why the packing is given up"):
        packing.cancel_packing(act=bench.clerk(), packing=bench.packing)
    packing.cancel_packing(act=bench.clerk("the customer calls for it"), packing=bench.packing)
    with pytest.raises(RuleBroken, match="given up: the customer calls for it"):
        bench.send()
    fresh = packing.begin_packing(act=bench.clerk(), work_order=bench.order)
    assert fresh != bench.packing
    bench.full(parcel=fresh.parcels.get())
    assert bench.send(fresh).parcels.count() == 1


@pytest.mark.parametrize("role", ["bench", "stores", "warranty desk"])
def test_others_do_not_pack(bench, role):
    with pytest.raises(NotAllowed):
        packing.put_in(act=bench.way.act(role), parcel=bench.parcel, rebuild=bench.one)


def test_part_shipments_say_what_is_still_here(bench):
    waiting = bench.another(stage="received")
    bench.full()
    first = bench.send()
    text = text_of(read_bytes(first.packing_list))
    assert f"Part shipment 1; still with us: {grouped(waiting.unit.serial)}" in text
    assert "(received)" in text
    shipping.exit_rebuild(
        act=bench.way.act("lead"), rebuild=waiting, exit="returned_as_found", reason="price refused"
    )
    second = packing.begin_packing(act=bench.clerk(), work_order=bench.order)
    waiting.refresh_from_db()
    unit = bench.full(waiting, parcel=second.parcels.get())
    assert [row.text for row in unit.lines.filter(kind="paper")] == ["as-found paper"]
    last = bench.send(second)
    text = text_of(read_bytes(last.packing_list))
    assert "Part shipment 2, the last" in text
    assert "returned as found: not tested, no warranty" in text
    third = packing.begin_packing(act=bench.clerk(), work_order=bench.order)
    waiting.refresh_from_db()
    with pytest.raises(RuleBroken, match="has left already"):
        bench.put_in(waiting, parcel=third.parcels.get())


def test_a_whole_shipment_says_nothing_of_parts(bench):
    bench.full()
    assert "Part shipment" not in text_of(read_bytes(bench.send().packing_list))


def test_the_record_tells_what_was_checked(bench):
    unit = bench.full()
    told = unit_record(bench.one.unit)["rebuilds"][0]
    (packed,) = told["packing"]
    assert packed["parcel"] == 1
    assert {row["state"] for row in packed["lines"]} == {"packed"}
    bench.send()
    record = unit_record(bench.one.unit)
    assert record["rebuilds"][0]["shipment"]["weight_kg"] is None
    changed = [change["row"] for change in record["changes"]]
    assert f"packing line {unit.lines.first().pk}" in changed

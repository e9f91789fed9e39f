"""From a lot to every unit, through whatever was made in between, and from a unit down to every lot."""

import datetime as dt
import io
import json

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.services import kits, lot_state, making, stock
from shop.services import merging
from tests import factories
from tests.workorders.journey import Journey
from tests.workorders.packing_bench import Bench
from workorders.services import build, packing, shipping
from workorders.services.operation_values import Recorded
from workorders.services.sits import places_of_lots
from workorders.services.where_used import lots_in_unit, where_used

pytestmark = pytest.mark.django_db
DAY = dt.date(2026, 6, 1)


def used(*lots, on=DAY):
    return where_used(lots, on=on)


def lot_at(journey, code):
    return journey.revision.kit.lines.get(position__code=code).part.lots.get()


def ready():
    return Journey().receive().find().close_teardown().go_ahead()


def fitted(journey, lot, place=None, **told):
    return build.use_part(
        act=journey.act("bench"),
        rebuild=journey.rebuild,
        place=place or journey.revision.positions.first(),
        lot=lot,
        quantity=1,
        fit_reason="as the drawing says",
        lot_reason="this one is asked for",
        **told,
    )


def chain(act, lot, depth):
    """Lots made one out of the other, the last of them so deep above the first."""
    for _ in range(depth):
        part = factories.PartFactory(kind="component", polymer="")
        lot = making.make_lot(
            act=act, part=part, quantity=4, place="D1", inputs=[making.Input(lot=lot, quantity=2)]
        )
    return lot


def test_a_unit_that_left_is_with_its_customer_in_warranty():
    journey = Journey().tested().release().ship()
    (unit,) = used(lot_at(journey, "S1")).units
    assert (unit.serial, unit.where, unit.state) == (journey.unit.serial, "out", "inside")
    assert unit.at.customer == journey.rebuild.warranty.holder.name
    assert unit.where_words.startswith(f"shipped to {unit.at.customer}, {journey.shipment.number} of ")
    ends = journey.rebuild.warranty.ends_on
    assert unit.warranty == f"in warranty until {ends:%d %b %Y}"
    (late,) = used(lot_at(journey, "S1"), on=ends + dt.timedelta(days=1)).units
    assert (late.in_warranty, late.warranty) == (False, f"out of warranty since {ends:%d %b %Y}")


def test_a_unit_in_the_shop_says_at_which_stage():
    journey = ready().fit()
    (unit,) = used(lot_at(journey, "S1")).units
    assert (unit.where, unit.warranty) == ("shop", "no warranty")
    assert unit.where_words == f"in the shop: building, {journey.rebuild.work_order.number}"


def test_taken_back_and_spoiled_pieces_sit_nowhere():
    journey = ready()
    lot = lot_at(journey, "S1")
    build.take_back_part(act=journey.act("bench", "wrong bag"), part_used=fitted(journey, lot))
    fitted(journey, lot, use="spoiled")
    assert used(lot).units == []


def test_eight_lots_deep_the_unit_is_found_with_the_whole_path():
    journey = ready()
    root = factories.LotFactory()
    top = chain(journey.act("stores"), root, 8)
    fitted(journey, top, journey.revision.components.get())
    found = used(root)
    (unit,) = found.units
    (place,) = unit.places
    assert (unit.serial, place.depth, place.lot, place.place) == (journey.unit.serial, 8, top.number, "K1")
    path = place.path.split(" > ")
    assert len(path) == 9
    assert (path[0], path[-1]) == (root.number, top.number)
    assert {row.depth for row in found.stock} == set(range(9))
    (row,) = [each for each in lots_in_unit(journey.unit) if each.lot == top]
    assert [twig.depth for twig, _lot in row.within] == list(range(1, 9))
    assert row.within[-1][1] == root


def test_many_ways_to_one_lot_give_one_path():
    """A lattice of lots has exponentially many paths; each lot stands in the answer once."""
    journey = ready()
    act = journey.act("stores")
    root = factories.LotFactory(quantity_received=1000)
    layer = [root, factories.LotFactory(quantity_received=1000)]
    for _ in range(12):
        layer = [
            making.make_lot(
                act=act,
                part=factories.PartFactory(kind="component", polymer=""),
                quantity=40,
                place="D1",
                inputs=[making.Input(lot=each, quantity=2) for each in layer],
            )
            for _twin in range(2)
        ]
    fitted(journey, layer[0], journey.revision.components.get())
    (place,) = places_of_lots([root.pk])
    assert place.depth == 12


def test_a_making_taken_back_leads_nowhere():
    journey = ready()
    root = factories.LotFactory()
    made = chain(journey.act("stores"), root, 1)
    making.take_back_making(act=journey.act("stores", "wrong recipe"), lot=made)
    assert used(root).stock[0].depth == 0
    assert len(used(root).stock) == 1


def test_a_seal_renewed_in_a_later_rebuild_no_longer_sits_in_the_unit():
    journey = Journey().tested().release().ship()
    old = lot_at(journey, "S1")
    unit = journey.unit
    journey.receive(unit=unit).find().close_teardown()
    (row,) = used(old).units
    assert (row.state, row.where) == ("inside", "shop")
    journey.go_ahead()
    fitted(journey, factories.LotFactory(part=old.part))
    (row,) = used(old).units
    assert row.state == "renewed in rebuild 2"
    assert row.inside == ()
    states = {(each.place.place, each.lot, each.state) for each in lots_in_unit(unit)}
    assert ("S1", old, "renewed in rebuild 2") in states
    assert ("S2", lot_at(journey, "S2"), "inside") in states


def test_a_place_that_was_kept_holds_the_old_piece_beside_the_new_one():
    journey = Journey().tested().release().ship()
    old = lot_at(journey, "S1")
    journey.receive(unit=journey.unit).find()
    finding = journey.rebuild.findings.get(position__code="S1")
    finding.action = "kept"
    finding.save()
    journey.close_teardown().go_ahead()
    fitted(journey, factories.LotFactory(part=old.part))
    assert used(old).units[0].state == "inside"


def test_a_thread_locker_sits_until_the_same_thing_is_fastened_again():
    journey = ready()
    locker, newer = factories.LotFactory(), factories.LotFactory()

    def fasten(lot):
        build.record_operation(
            act=journey.act("bench"),
            rebuild=journey.rebuild,
            kind="fastened",
            place=None,
            tool="by hand",
            recorded=Recorded(values={"locker": "low"}, locker_lot=lot),
        )

    fasten(locker)
    (unit,) = used(locker).units
    assert (unit.state, unit.at.kind) == ("inside", "locker")
    fasten(newer)
    assert used(locker).units[0].state == "renewed in rebuild 1"
    assert used(newer).units[0].state == "inside"


def test_fluid_packed_from_a_lot_is_traced_to_the_unit_it_left_with():
    bench = Bench()
    fluid = factories.LotFactory()
    unit = bench.put_in()
    for line in unit.lines.all():
        told = {"lot": fluid, "volume_ml": 40.0} if line.kind == "inside" else {}
        packing.pack_line(act=bench.clerk(), line=line, **told)
    bench.send()
    (row,) = used(fluid).units
    assert (row.serial, row.at.kind, row.at.amount, row.where) == (
        bench.one.unit.serial,
        "fluid",
        40.0,
        "out",
    )


def test_packed_kits_and_made_lots_on_the_shelf_are_named():
    journey = Journey()
    lots = {line: line.part.lots.get() for line in journey.revision.kit.lines.all()}
    lot = next(iter(lots.values()))
    made = chain(journey.act("stores"), lot, 1)
    packed = kits.pack_kit(act=journey.act("stores"), kit=journey.revision.kit, lots=lots)
    stock_rows = {(row.lot, row.place): row for row in used(lot).stock}
    assert stock_rows[(lot.number, f"kit {packed.code}")].pieces == 1
    assert stock_rows[(made.number, "D1")].path == f"{lot.number} > {made.number}"


def test_an_exchange_unit_is_on_the_shelf_and_then_with_who_got_it():
    bench = Bench()
    given = bench.unit(destination="exchange")
    lot = given.parts_used.get(position__code="S1").lot

    def row():
        return next(unit for unit in used(lot).units if unit.serial == given.unit.serial)

    assert (row().where, row().at.customer) == ("shelf", "")
    due = bench.clerk().at.date() + dt.timedelta(days=30)
    bench.full(given, core_due=due)
    bench.send()
    assert (row().where, row().at.customer) == ("out", bench.order.customer.name)


def test_side_exits_say_where_the_unit_is():
    bench = Bench()
    lot = bench.one.parts_used.get(position__code="S1").lot
    bench.full()
    bench.send()
    way = bench.way
    for exit, words in (("scrapped", "scrapped"), ("exchange_core", "core"), ("returned_as_found", "shop")):
        way.receive(unit=bench.one.unit).find()
        shipping.exit_rebuild(act=way.act("lead"), rebuild=way.rebuild, exit=exit, reason="too worn")
        (unit,) = [each for each in used(lot).units if each.serial == bench.one.unit.serial]
        assert unit.where == words
        assert unit.state == "inside"


def test_a_recipient_that_was_merged_is_followed():
    bench = Bench(stage="returned_as_found")
    one = bench.unit()
    lot = one.parts_used.get(position__code="S1").lot
    way = bench.way
    way.rebuild = one
    way.ship()
    gone = one.work_order.customer
    stays = factories.CustomerFactory(name="Sallow Bay Ferries")
    way.receive(unit=one.unit).find()
    shipping.exit_rebuild(
        act=way.act("lead"), rebuild=way.rebuild, exit="returned_as_found", reason="price refused"
    )
    way.ship(recipient=gone)
    merging.merge_customers(act=way.act("lead", "one office"), gone=gone, stays=stays, values={})
    (unit,) = [each for each in used(lot).units if each.serial == one.unit.serial]
    assert (unit.where, unit.at.customer, unit.at.customer_id) == ("as_found", stays.name, stays.pk)


def test_a_lot_held_takes_everything_made_of_it_along_by_one_recursive_query(act, stores):
    root = factories.LotFactory()
    top = chain(act(stores), root, 8)
    lot_state.hold_lot(act=act(stores), lot=root, reason="brittle")
    top.refresh_from_db()
    assert top.state == "on_hold"
    assert top.hold_reason == f"made from lot {root}, which is on hold: brittle"


def test_several_lots_are_traced_at_once_and_none_is_nothing():
    journey = ready().fit()
    (unit,) = used(lot_at(journey, "S1"), lot_at(journey, "S2")).units
    assert [place.place for place in unit.places] == ["S1", "S2"]
    assert used().units == []


def test_the_number_of_queries_is_the_same_for_any_depth_and_any_number_of_units(
    client, stores, django_assert_num_queries
):
    journey = Journey()
    lot = lot_at(journey, "S1")
    counts = []
    client.force_login(stores)
    for _ in range(2):
        for _ in range(5):
            journey.receive().find().close_teardown().go_ahead().fit()
        with django_assert_num_queries(2):
            assert used(lot).units
        urls = [
            reverse("workorders:where_used", args=[lot.number]),
            reverse("workorders:unit_lots", args=[journey.unit.serial]),
        ]
        with CaptureQueriesContext(connection) as seen:
            assert all(client.get(url).status_code == 200 for url in urls)
        counts.append(len(seen))
    assert counts[0] == counts[1]


def mixed_once():
    """One lot in a unit that left, in one on the bench, and renewed in a third."""
    journey = Journey().tested().release().ship()
    left = journey.unit
    journey.tested().release().ship()
    renewed = journey.unit
    journey.receive(unit=renewed).find().close_teardown().go_ahead()
    fitted(journey, factories.LotFactory(part=lot_at(journey, "S1").part))
    journey.receive().find().close_teardown().go_ahead()
    here = journey.unit
    lot = renewed.rebuilds.get(number=1).parts_used.get(position__code="S1").lot
    fitted(journey, lot)
    return lot, left, here, renewed


@pytest.fixture(scope="module")
def kept(keep):
    return keep(mixed_once)


@pytest.fixture
def mixed(kept):
    return kept()


@pytest.mark.parametrize(
    ("query", "seen"),
    [
        ("", {"left", "here", "renewed"}),
        ("show=inside", {"left", "here"}),
        ("show=out", {"renewed"}),
        ("where=shop", {"here", "renewed"}),
        ("where=out", {"left"}),
        ("where=scrapped", set()),
        ("show=nonsense&where=nonsense&warranty=nonsense&sort=nonsense", {"left", "here", "renewed"}),
    ],
)
def test_the_page_narrows_the_units(client, bench, mixed, query, seen):
    lot, *units = mixed
    client.force_login(bench)
    page = client.get(reverse("workorders:where_used", args=[lot.number]) + f"?{query}").content.decode()
    named = dict(zip(("left", "here", "renewed"), units, strict=True))
    assert {name for name, unit in named.items() if unit.get_absolute_url() in page} == seen


def test_each_unit_is_in_warranty_or_not(client, bench, mixed):
    lot, _left, here, _renewed = mixed
    client.force_login(bench)
    url = reverse("workorders:where_used", args=[lot.number])
    inside, outside = (
        client.get(f"{url}?format=csv&warranty={way}").content.decode().splitlines()[1:]
        for way in ("in", "not")
    )
    assert len(inside) + len(outside) == 3
    assert any(here.serial in line for line in outside)


def test_the_list_is_sorted_found_by_text_and_given_as_a_file(client, bench, mixed):
    lot, left, _here, _renewed = mixed
    client.force_login(bench)
    url = reverse("workorders:where_used", args=[lot.number])
    page = client.get(f"{url}?q={left.serial}&sort=-unit").content.decode()
    assert "1 unit shown" in page
    file = client.get(f"{url}?format=csv&sort=unit").content.decode("utf-8-sig")
    lines = file.strip().splitlines()
    assert len(lines) == 4
    serials = [line.split(",")[0].strip('"') for line in lines[1:]]
    assert serials == sorted(serials)
    assert client.get(f"{url}?format=xlsx").status_code == 200
    assert client.get(reverse("workorders:where_used", args=["none"])).status_code == 404


def test_the_page_of_a_unit_names_supplier_batch_cure_date_and_certificate(client, bench):
    journey = ready().fit()
    lot = lot_at(journey, "S1")
    lot.supplier_batch, lot.cure_date = "59-4099", "3Q25"
    lot.save()
    client.force_login(bench)
    page = client.get(reverse("workorders:unit_lots", args=[journey.unit.serial])).content.decode()
    assert "59-4099" in page
    assert "3Q25" in page
    assert (
        reverse("workorders:unit_lots", args=[journey.unit.serial])
        in client.get(journey.unit.get_absolute_url()).content.decode()
    )
    empty = Journey(revision=journey.revision).receive()
    page = client.get(reverse("workorders:unit_lots", args=[empty.unit.serial])).content.decode()
    assert "No lot in it" in page


def run(*args):
    out = io.StringIO()
    call_command("where_used", *args, stdout=out)
    return out.getvalue()


def test_the_command_answers_in_text_and_in_json(mixed):
    lot, left, here, renewed = mixed
    text = run(lot.number.lower(), "--on", "2026-06-01")
    assert "2 of 3 units hold it on 01 Jun 2026." in text
    assert "renewed in rebuild 2" in text
    told = json.loads(run(lot.number, "--json", "--on", "2026-06-01"))
    assert told["lots"][0]["lot"] == lot.number
    assert {row["serial"]: row["inside"] for row in told["units"]} == {
        left.serial: True,
        here.serial: True,
        renewed.serial: False,
    }
    (row,) = [each for each in told["units"] if each["serial"] == left.serial]
    assert (row["where"], row["places"][0]["position"], row["places"][0]["quantity_unit"]) == (
        "out",
        "S1",
        "pieces",
    )
    assert told["stock"][0]["lot"] == lot.number


def test_the_command_goes_from_a_unit_down_to_its_lots(mixed):
    lot, left, _here, renewed = mixed
    assert f"{lot.number}  " in run("--unit", left.serial)
    told = json.loads(run("--unit", renewed.serial, "--json"))
    old = next(row for row in told["places"] if row["lot"] == lot.number)
    assert (old["position"], old["renewed_in_rebuild"]) == ("S1", 2)


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["L-NONE"], "No lot has the number L-NONE"),
        (["--unit", "0000"], "serial"),
        (["--unit", "000000000"], "serial"),
    ],
)
def test_what_there_is_not_ends_with_a_sentence_and_status_2(args, words):
    with pytest.raises(CommandError, match=words) as error:
        run(*args)
    assert error.value.returncode == 2


def test_a_lot_in_no_unit_says_so(client, stores):
    lot = factories.LotFactory()
    assert "It went into no unit." in run(lot.number)
    client.force_login(stores)
    assert "In no unit" in client.get(reverse("workorders:where_used", args=[lot.number])).content.decode()
    assert stock.KIT_PREFIX not in run(lot.number)

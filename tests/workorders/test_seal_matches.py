"""Which size a place of a draft takes: by the ring, by the gland, and by what the stores have."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.services.lot_state import hold_lot
from tests import factories
from tests.workorders.draft_journey import DraftJourney
from workorders.services import draft_glands
from workorders.services.seal_matches import matches_of, profile_of

pytestmark = pytest.mark.django_db
DAY = dt.date(2026, 3, 4)
# The printed gland of AS568-214 (3.53 mm), static: 0.110 to 0.116 in deep, an O-ring maker's design
# guide (fdocument.pub, printed glands), as in shop/calc/gland_check.py.
DEPTH = {1: 0.110 * 25.4, 2: 0.116 * 25.4}


@pytest.fixture
def way():
    return DraftJourney().receive_unknown()


@pytest.fixture
def position(way):
    return way.add("position", kind="static_seal")


def look(position, seal=None):
    position.refresh_from_db()
    return matches_of(position=position, seal=seal, on=DAY)


def named(rows, designation):
    return next((row for row in rows if row.designation == designation), None)


def test_the_printed_gland_asks_for_the_ring_it_was_printed_for(way, position):
    way.gland(position, depth=DEPTH, width={1: 4.95, 2: 5.08}, diameter={1: 25.4})
    found = look(position)
    first = named(found.by_gland, "AS568-214")
    assert first is found.by_gland[0]
    assert first.fit.result.squeeze_min_pct > 10
    assert first.fit.verdict != "fails"
    assert not found.gland_missing


def test_of_sizes_that_all_fail_the_nearest_to_its_limits_comes_first(way):
    """A rod gland a little shallow for -214: squeezed hard, and yet not as wrong as -913, which is loose."""
    position = way.add("position", kind="rod_seal")
    draft_glands.record_gland(
        act=way.act("bench"),
        rebuild=way.rebuild,
        position=position,
        readings={"depth": {1: 2.8194, 2: 2.8448}, "width": {1: 4.7498}, "diameter": {1: 31.1404}},
        instrument=way.micrometer,
        arrangement="rod",
    )
    rows = look(position).by_gland
    assert {row.fit.verdict for row in rows} == {"fails"}
    assert [row.designation for row in rows] == ["AS568-214", "AS568-913"]
    assert named(rows, "AS568-913").fit.result.squeeze_min_pct < 1


def test_a_worn_ring_is_another_size_by_itself_than_by_its_gland(way, position):
    """-214 worn to 3.2 mm: no size by itself, and still -214 by the gland."""
    way.gland(position, depth=DEPTH, width={1: 4.95, 2: 5.08}, diameter={1: 25.4})
    seal = way.seal(position, profile="o_ring", inside_mm=25.0, section_mm=3.2)
    found = look(position, seal)
    assert not any(row.by_ring for row in found.by_seal)
    assert named(found.by_gland, "AS568-214")
    assert any("does not measure as it was made" in warning for warning in found.warnings)


def test_a_set_is_undone_with_the_depth_of_the_gland(way, position):
    seal = way.seal(position, profile="o_ring", inside_mm=24.99, section_mm=3.3, set_most_pct=40.0)
    before = look(position, seal)
    assert not named(before.by_seal, "AS568-214").by_ring
    assert "measure the depth of the gland first" in before.warnings[0]
    way.gland(position, depth={1: 2.8}, width={1: 4.95}, diameter={1: 25.4})
    after = look(position, seal)
    assert named(after.by_seal, "AS568-214").by_ring
    assert named(after.by_seal, "AS568-214").fit.result is not None
    assert named(after.by_gland, "AS568-214").by_ring


@pytest.mark.parametrize(("inside", "is_it"), [(25.24, True), (25.25, False), (24.74, True), (24.73, False)])
def test_both_sides_of_the_printed_tolerance(way, position, inside, is_it):
    """AS568-214 as printed: 24.99 ± 0.25 mm (0.984 ± 0.010 in)."""
    seal = way.seal(position, profile="o_ring", inside_mm=inside, section_mm=3.53)
    row = named(look(position, seal).by_seal, "AS568-214")
    assert row.by_ring is is_it


def test_without_a_gland_the_page_says_what_to_measure(way, position):
    found = look(position)
    assert (found.by_seal, found.by_gland) == ([], [])
    assert "Measure depth and groove diameter" in found.gland_missing


def test_a_gland_that_no_size_fits_says_so(way, position):
    way.gland(position, depth={1: 20.0}, width={1: 25.0}, diameter={1: 3.0})
    assert "measure it again" in look(position).gland_missing


def test_usable_pieces_of_the_size_are_counted_and_no_others(way, position):
    ring = {"part__kind": "o_ring", "part__size_designation": "-214"}
    lot = factories.LotFactory(**ring, quantity_received=7)
    factories.LotFactory(part=lot.part, use_by=dt.date(2026, 1, 1), quantity_received=50)
    held = factories.LotFactory(part=lot.part, quantity_received=60)
    hold_lot(act=way.act("stores"), lot=held, reason="soft")
    factories.LotFactory(part__kind="lip_seal", part__size_designation="-214")
    seal = way.seal(position, profile="o_ring", inside_mm=24.99, section_mm=3.53)
    row = named(look(position, seal).by_seal, "AS568-214")
    assert [(each.part, each.quantity) for each in row.parts] == [(lot.part, 7)]
    assert row.pieces == 7


def test_metric_rings_of_the_catalogue_are_offered(way, position):
    near = factories.PartFactory(kind="o_ring", size_designation="25 x 3.5")
    factories.PartFactory(kind="o_ring", size_designation="25 x 5")
    factories.PartFactory(kind="o_ring", size_designation="28 x 3.5")
    seal = way.seal(position, profile="o_ring", inside_mm=24.9, section_mm=3.45)
    row = named(look(position, seal).by_seal, "25 x 3.5")
    assert row.parts[0].part == near
    assert named(look(position, seal).by_seal, "25 x 5") is None
    assert named(look(position, seal).by_seal, "28 x 3.5") is None


def test_a_profile_is_matched_by_its_three_figures(way, position):
    near = factories.PartFactory(kind="lip_seal", size_designation="20 x 30 x 7")
    factories.PartFactory(kind="wiper", size_designation="20 x 32 x 7")
    seal = way.seal(position, profile="lip_seal", inside_mm=19.8, outside_mm=30.3, height_mm=6.9)
    found = look(position, seal)
    assert [row.designation for row in found.by_seal] == ["20 x 30 x 7", "19.8 x 30.3 x 6.9"]
    assert found.by_seal[0].parts[0].part == near
    assert "0.30 mm away" in found.by_seal[0].why
    assert "for O-rings" in found.gland_missing


@pytest.mark.parametrize(
    ("text", "sizes"),
    [
        ("12 x 20 x 5.7", (12, 20, 5.7)),
        ("12×20x5,7 mm", (12, 20, 5.7)),
        ("12 x 20", None),
        ("AS568-214", None),
        ("a x b x c", None),
    ],
)
def test_the_designation_of_a_profile_is_read(text, sizes):
    assert profile_of(text) == sizes


def test_ten_parts_and_thirty_cost_the_same_queries(way, position):
    seal = way.seal(position, profile="o_ring", inside_mm=24.99, section_mm=3.53)
    counts = []
    for _round in range(2):
        for _ in range(10 * (1 + len(counts))):
            factories.LotFactory(part__kind="o_ring", part__size_designation="AS568-214")
        with CaptureQueriesContext(connection) as queries:
            look(position, seal)
        counts.append(len(queries))
    assert counts[0] == counts[1]

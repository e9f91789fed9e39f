"""Kit lines: right place, right material, a reason where one is due."""

import pytest

from inventory.models import Kit, KitLine
from inventory.services import kit_lines, kits
from shop.changes import changes
from shop.errors import NotAllowed, RuleBroken
from tests.factories import (
    ComponentFactory,
    FluidFactory,
    LotFactory,
    PartFactory,
    PortFactory,
    PositionFactory,
    TypeRevisionFactory,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def kit():
    return Kit.objects.create(revision=TypeRevisionFactory(state="draft"), name="seal set")


def test_a_line_names_a_position_component_or_port(act, lead, kit):
    for factory in (PositionFactory, ComponentFactory, PortFactory):
        place = factory(revision=kit.revision)
        row = kit_lines.save_kit_line(act=act(lead), kit=kit, place=place, part=PartFactory())
        assert KitLine.objects.get(pk=row.pk).place == place


def test_a_line_can_move_to_another_kind_of_place(act, lead, kit):
    part = PartFactory()
    row = kit_lines.save_kit_line(
        act=act(lead), kit=kit, place=PositionFactory(revision=kit.revision), part=part
    )
    port = PortFactory(revision=kit.revision)
    kit_lines.save_kit_line(act=act(lead), kit=kit, line=row, place=port, part=part)
    row.refresh_from_db()
    assert (row.port, row.position) == (port, None)


def test_a_place_of_another_revision_is_refused(act, lead, kit):
    with pytest.raises(RuleBroken, match="belongs to another revision"):
        kit_lines.save_kit_line(act=act(lead), kit=kit, place=PositionFactory(), part=PartFactory())


def test_a_material_that_a_source_calls_unsuitable_is_refused(act, lead, kit):
    """EPDM in mineral oil swells 30 to 80 % (oringsupplyco.com nbr-vs-epdm-o-rings)."""
    place = PositionFactory(revision=kit.revision)
    with pytest.raises(RuleBroken, match="EPDM, which is not suitable for the service fluid HM 32"):
        kit_lines.save_kit_line(act=act(lead), kit=kit, place=place, part=PartFactory(polymer="EPDM"))
    brake = TypeRevisionFactory(state="draft", service_fluid=FluidFactory(name="DOT 4", family="DOT 3/4"))
    other = Kit.objects.create(revision=brake, name="brake set")
    place = PositionFactory(revision=brake)
    assert kit_lines.save_kit_line(act=act(lead), kit=other, place=place, part=PartFactory(polymer="EPDM"))


def test_an_o_ring_in_a_moving_place_needs_a_reason(act, lead, kit):
    """An O-ring rolls and wears under stroking: common practice, no source."""
    ring = PartFactory(kind="o_ring")
    moving = PositionFactory(revision=kit.revision, kind="rod_seal", motion="reciprocating")
    still = PositionFactory(revision=kit.revision)
    assert kit_lines.save_kit_line(act=act(lead), kit=kit, place=still, part=ring)
    with pytest.raises(RuleBroken, match=r"rolls and wears.*Say why it is the right part"):
        kit_lines.save_kit_line(act=act(lead), kit=kit, place=moving, part=ring)
    line = kit_lines.save_kit_line(
        act=act(lead), kit=kit, place=moving, part=ring, reason="slow, 10 strokes a day"
    )
    assert line.reason == "slow, 10 strokes a day"


def test_the_kit_of_an_approved_revision_changes_with_a_reason_only(act, lead):
    kit = Kit.objects.create(revision=TypeRevisionFactory(), name="seal set")
    place, part = PositionFactory(revision=kit.revision), PartFactory()
    with pytest.raises(RuleBroken, match="say why its kit changes"):
        kit_lines.save_kit_line(act=act(lead), kit=kit, place=place, part=part)
    row = kit_lines.save_kit_line(act=act(lead, why="new supplier"), kit=kit, place=place, part=part)
    assert row.history.get().history_change_reason == "new supplier"
    with pytest.raises(RuleBroken, match="say why its kit changes"):
        kit_lines.remove_kit_line(act=act(lead), line=row)


def test_the_kit_of_a_superseded_revision_stays(act, lead):
    revision = TypeRevisionFactory(state="superseded")
    with pytest.raises(RuleBroken, match="no longer changes"):
        kit_lines.make_kit(act=act(lead, why="x"), revision=revision)
    assert not Kit.objects.exists()


def test_only_the_lead_changes_kits(act, stores, kit):
    with pytest.raises(NotAllowed, match="lead"):
        kit_lines.save_kit_line(
            act=act(stores), kit=kit, place=PositionFactory(revision=kit.revision), part=PartFactory()
        )


def test_a_kit_is_copied_to_the_places_that_still_exist(act, lead, kit):
    kept, gone, port = (
        PositionFactory(revision=kit.revision, code="S1"),
        PositionFactory(revision=kit.revision, code="S2"),
        PortFactory(revision=kit.revision, code="P1"),
    )
    parts = {place: PartFactory() for place in (kept, gone, port)}
    for place, part in parts.items():
        kit_lines.save_kit_line(act=act(lead), kit=kit, place=place, part=part, quantity=2, reason="better")
    draft = TypeRevisionFactory(unit_type=kit.revision.unit_type, number=2, state="draft")
    new_kept, new_port = PositionFactory(revision=draft, code="S1"), PortFactory(revision=draft, code="P1")
    copy = kit_lines.make_kit(act=act(lead), revision=draft, copy_from=kit)
    lines = kits.lines_of(copy)
    assert [(row.place, row.part, row.quantity, row.reason) for row in lines] == [
        (new_kept, parts[kept], 2, "better"),
        (new_port, parts[port], 2, "better"),
    ]


def test_a_part_cannot_change_under_a_packed_kit(act, lead, kit):
    place = PositionFactory(revision=kit.revision)
    row = kit_lines.save_kit_line(act=act(lead), kit=kit, place=place, part=PartFactory())
    packed = kits.pack_kit(act=act(lead), kit=kit, lots={row: LotFactory(part=row.part)})
    with pytest.raises(RuleBroken, match=f"unpack {packed.code} first"):
        kit_lines.save_kit_line(act=act(lead), kit=kit, line=row, place=place, part=PartFactory())
    kits.unpack_kit(act=act(lead), packed_kit=packed)
    assert kit_lines.save_kit_line(act=act(lead), kit=kit, line=row, place=place, part=PartFactory())


def test_the_changes_of_a_kit_survive_a_place_that_was_taken_out(act, lead, kit):
    place = PositionFactory(revision=kit.revision)
    row = kit_lines.save_kit_line(act=act(lead), kit=kit, place=place, part=PartFactory())
    kit_lines.remove_kit_line(act=act(lead), line=row)
    place.delete()
    lines = [line for change in changes(KitLine.history.filter(kit=kit)) for line in change.lines]
    assert lines == ["A kit line: entered", "A kit line: removed"]

"""Relatives of the demo's unit types: an earlier variant, a stand-in, a superseded number, photos."""

from typing import Any

from shop.roles import LEAD
from shop.services.catalogue import approve_revision, draft_revision, save_place, save_unit_type
from shop.services.interchange import save_interchange
from shop.services.maker_numbers import save_maker_number, save_variant
from shop.services.reference_photos import add_reference_photo
from workorders.demo.photos import drawn
from workorders.demo.world import World, dice

FIGURES = ("bore_mm", "rod_mm", "stroke_mm", "volume_ml", "closed_length_mm", "rated_pressure_bar")
PHOTOS = ("whole_unit", "number_plate")


def enter_relatives(world: World, rows: list[dict[str, Any]]) -> None:
    """Enter unit types that nobody has sent in yet, each as a relative of one that comes often."""
    for row in rows:
        _enter_relative(world, row)
    for shows in PHOTOS:
        add_reference_photo(
            act=world.act(LEAD),
            unit_type=world.types[rows[0]["like"]].unit_type,
            shows=shows,
            upload=drawn(dice(shows), f"{shows}.jpg", close_up=False),
        )


def _enter_relative(world: World, row: dict[str, Any]) -> None:
    like = world.types[row["like"]]
    unit_type = save_unit_type(
        act=world.act(LEAD),
        code=row["code"],
        name=row["name"],
        family=like.unit_type.family,
        maker=row["maker"],
    )
    figures = {name: like.data[name] for name in FIGURES if name in like.data} | row.get("figures", {})
    draft = draft_revision(
        act=world.act(LEAD), unit_type=unit_type, service_fluid=world.fluids[like.data["fluid"]], **figures
    )
    for order, (code, name, kind, motion, size) in enumerate(like.data["positions"][:2], 1):
        told = {"code": code, "name": name, "kind": kind, "motion": motion, "size_designation": size}
        save_place(act=world.act(LEAD), revision=draft, place="position", order=order, **told)
    for order, (code, name, fitting, thread, along) in enumerate(like.data["ports"], 1):
        told = {"code": code, "name": name, "fitting": fitting, "thread": thread, "along": along}
        save_place(act=world.act(LEAD), revision=draft, place="port", order=order, **told)
    approve_revision(act=world.act(LEAD, "first revision of the type"), revision=draft)
    later = like.unit_type.maker_numbers.first() if row["superseded"] else None
    save_maker_number(
        act=world.act(LEAD),
        unit_type=unit_type,
        number=row["number"],
        year_to=row.get("built_to"),
        superseded_by=later,
    )
    if row["differs"]:
        save_variant(
            act=world.act(LEAD, row["basis"]),
            unit_type=unit_type,
            variant_of=like.unit_type,
            built_to=row["built_to"],
            differs=row["differs"],
        )
    save_interchange(
        act=world.act(LEAD),
        stand_in=like.unit_type,
        replaced=unit_type,
        both_ways=row["both_ways"],
        basis=row["basis"],
        condition=row["condition"],
    )

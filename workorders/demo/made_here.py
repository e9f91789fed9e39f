"""What the demo shop makes itself, keeps in quarantine, and inspects for a later use-by date."""

import datetime as dt
from decimal import Decimal

from inventory.models import Lot
from inventory.services.lot_papers import extend_lot
from inventory.services.lot_state import Check, Reading
from inventory.services.making import Input, make_lot, save_recipe_line
from shop.roles import BENCH, STORES
from workorders.demo.stock import Shelf, place_of
from workorders.demo.world import Process, in_hours

# What is made: from which parts, so many pieces of each for one; how many; hours; what was done.
CLIPS = ("CL-06", (("CB-06", 1),), 24, "3.5", "bent over the 6 mm mandrel, drilled, deburred")
SCREENS = ("SC-100", (("SB-100", 1), ("OR-012-HN", 1)), 6, "1.0", "O-ring seated, cage pressed home")
EXTENDED = "WP-16-NB"  # of the slow movers, the one that stores look at before it expires
QUARANTINED = "WP-22-HN"


def plan_made_here(shelf: Shelf) -> None:
    """Let stores and bench make lots, inspect one for a later date and quarantine the latest."""
    world = shelf.world
    span = world.now - world.start
    world.begin(_make(shelf, *CLIPS), in_hours(world.start + span * 0.3))
    world.begin(_make(shelf, *SCREENS), in_hours(world.start + span * 0.35))
    world.begin(_extend(shelf), in_hours(world.start + dt.timedelta(days=800)))
    world.begin(_quarantine(shelf), in_hours(world.now - dt.timedelta(days=3)))


def _make(
    shelf: Shelf, number: str, parts: tuple[tuple[str, int], ...], pieces: int, hours: str, note: str
) -> Process:
    world = shelf.world
    made, inputs = world.parts[number], []
    for part_number, each in parts:
        part = world.parts[part_number]
        act = world.act(STORES, "recipe of the drawing")
        save_recipe_line(act=act, made=made, part=part, quantity=each)
        lot = shelf.pick(part, each * pieces) or shelf.receive(part, each * pieces + 6, age_days=100)
        inputs.append(Input(lot=lot, quantity=each * pieces))
    reading = Reading(what="inside diameter", value=6.04, lower=6.0, upper=6.1)
    check = Check(pieces=5, what="size and edges", readings=[reading] if number == "CL-06" else [])
    lot = make_lot(
        act=world.act(BENCH),
        part=made,
        quantity=pieces,
        place=place_of(made),
        inputs=inputs,
        hours=Decimal(hours),
        note=note,
        check=check,
    )
    for row in inputs:
        shelf.took(row.lot, row.quantity)
    shelf.put(made, lot, pieces)
    return
    yield


def _extend(shelf: Shelf) -> Process:
    """Look at the slow mover while it may still be used."""
    part = shelf.world.parts[EXTENDED]
    lot = min(shelf.lots[part.pk], key=lambda row: row.use_by or dt.date.max)
    if shelf.is_usable(lot):
        act = shelf.world.act(STORES, "90 pieces bought, few used")
        what = "surface under the lens, hardness 88 to 91 Shore A, bent round a 20 mm bar: no cracks"
        extend_lot(act=act, lot=lot, what=what, pieces=5, passed=True)
        lot.use_by = Lot.objects.values_list("use_by", flat=True).get(pk=lot.pk)
    return
    yield


def _quarantine(shelf: Shelf) -> Process:
    """Keep a fresh delivery apart: its certificate names another batch."""
    shelf.receive(shelf.world.parts[QUARANTINED], 30, age_days=120, quarantine=True)
    return
    yield

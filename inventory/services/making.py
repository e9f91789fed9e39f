"""Made in house: a lot made from pieces of older lots, in one transaction, and taken back as a whole."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.db.models import Prefetch

from inventory.models import (
    Balance,
    Lot,
    LotInspection,
    Making,
    MakingInput,
    MakingTakenBack,
    Movement,
    Part,
    RecipeLine,
    Supplier,
)
from inventory.services.lot_state import Check, record_check
from inventory.services.picking import Pick, checked_pick
from inventory.services.stock import (
    KIT_PREFIX,
    add_pieces,
    check_reason,
    day_of,
    new_lot_number,
    return_pieces,
    stores_place,
    take_pieces,
    take_up,
)
from shop.errors import RuleBroken
from shop.models import ShopProfile, User
from shop.services.writing import Act, keep, locked, service

COST_STEP = Decimal("0.0001")


@dataclass(frozen=True, kw_only=True)
class Input:
    """Pieces of one lot that go into what is made."""

    lot: Lot
    quantity: int


@service("make")
def make_lot(
    *,
    act: Act,
    part: Part,
    quantity: int,
    place: str,
    inputs: Sequence[Input] = (),
    number: str = "",
    done_by: User | None = None,
    hours: Decimal | None = None,
    note: str = "",
    check: Check | None = None,
    lot_reason: str = "",
) -> Lot:
    """Make a lot of a part here; its inputs leave the ledger for it, in the same transaction.

    The supplier is the shop itself. The use-by date is the earliest of what is inside; the cost of
    a piece is that of the inputs, unknown where one has none. Only lots that exist can go in, and
    what goes in is written once: no lot can come to hold itself. Raises RuleBroken for a lot that
    may not be used or does not hold enough, one passed over without ``lot_reason``, one named
    twice, or a wrong place.
    """
    _check_inputs(part, inputs)
    number = new_lot_number(number, act)
    document = f"lot {number}"
    # By lot, so that two people making at once hold the lots in the same order.
    ordered = sorted(inputs, key=lambda row: row.lot.pk)
    used = [take_pieces(act=act, lot=row.lot, quantity=row.quantity, document=document) for row in ordered]
    taken = [(_pick(act, movement, lot_reason), movement) for movement in used]
    lot = keep(
        Lot(
            number=number,
            part=part,
            supplier=_the_shop(),
            received_on=day_of(act),
            quantity_received=quantity,
            unit_cost=cost_of_made(quantity, used),
            made_here=True,
            **_age([movement.lot for movement in used]),
        )
    )
    add_pieces(act, lot, Movement.Kind.RECEIVED, stores_place(place), quantity, document)
    _keep_making(act, lot, taken, done_by or act.by, hours, note, lot_reason)
    if check and (check.certificate_seen or check.pieces or check.readings):
        record_check(act=act, lot=lot, check=check, purpose=LotInspection.Purpose.MAKING)
    return lot


def _check_inputs(part: Part, inputs: Sequence[Input]) -> None:
    if len({row.lot.pk for row in inputs}) < len(inputs):
        raise RuleBroken("One lot is named twice: name it once, with all its pieces.")
    if any(row.lot.part_id == part.pk for row in inputs):
        raise RuleBroken(f"{part} is not made from itself. Another part number tells the two apart.")


def _pick(act: Act, taken: Movement, reason: str) -> Pick:
    """Look whether a lot was passed over, once every input is taken: one lot may empty another's."""
    return checked_pick(lot=taken.lot, quantity=-taken.quantity, on=day_of(act), reason=reason)


def _keep_making(
    act: Act,
    lot: Lot,
    taken: Sequence[tuple[Pick, Movement]],
    done_by: User,
    hours: Decimal | None,
    note: str,
    reason: str,
) -> None:
    told = {"by": act.by, "at": act.at, "why": act.why[:300]}
    making = keep(Making(lot=lot, done_by=done_by, hours=hours, note=note.strip(), **told))
    for pick, movement in taken:
        keep(
            MakingInput(
                making=making,
                movement=movement,
                lot_reason=reason.strip() if pick.first else "",
                lot_warning=pick.warning,
                **told,
            )
        )


def _the_shop() -> Supplier:
    """Return the shop as a supplier; entered at the first making, under the shop's name."""
    known = Supplier.objects.filter(is_shop=True).first()
    if known:
        return known
    name = ShopProfile.objects.values_list("name", flat=True).first() or "This shop"
    row = Supplier.objects.filter(name=name).first() or Supplier(name=name)
    row.is_shop = True
    return keep(row)


def _age(inside: Sequence[Lot]) -> dict[str, Any]:
    """Return the dates of a made lot: it is as old as the oldest seal inside."""
    dated = [lot for lot in inside if lot.use_by]
    if not dated:
        return {}
    first = min(dated, key=lambda lot: (lot.use_by or date.max, lot.pk))
    return {
        "use_by": first.use_by,
        "computed_use_by": first.use_by,
        "storage_standard": first.storage_standard,
        "age_basis": f"made here; the earliest date inside is that of lot {first} ({first.age_basis})"[:300],
    }


def cost_of_made(quantity: int, taken: Sequence[Movement]) -> Decimal | None:
    """Return the cost of a piece from its inputs, to four decimals, half up.

    None without inputs, or where one has no cost.
    """
    costs = [(-row.quantity, row.lot.unit_cost) for row in taken]
    if not costs or quantity < 1 or any(cost is None for _pieces, cost in costs):
        return None
    total = sum((pieces * cost for pieces, cost in costs if cost is not None), Decimal(0))
    return (total / quantity).quantize(COST_STEP, ROUND_HALF_UP)


@service("make")
def take_back_making(*, act: Act, lot: Lot) -> MakingTakenBack:
    """Undo a making while all of it lies on the shelf: the inputs return, the made lot is empty.

    ``act.why`` is the reason. Raises RuleBroken for a lot that was not made here, was taken back,
    or of which a piece was used, packed, scrapped or counted away.
    """
    check_reason(act)
    lot = locked(lot)
    making = Making.objects.filter(lot=lot).first()
    if making is None:
        raise RuleBroken(f"Lot {lot} was not made here.")
    if MakingTakenBack.objects.filter(making=making).exists():
        raise RuleBroken(f"The making of lot {lot} is taken back already.")
    _check_all_there(lot)
    document = f"lot {lot}"
    for row in Balance.objects.filter(lot=lot, quantity__gt=0).order_by("pk"):
        take_up(act, lot, row.place, row.quantity, document)
    for each in making.inputs.select_related("movement__lot").order_by("movement__lot", "pk"):
        return_pieces(act=act, movement=each.movement, document=document)
    lot.state, lot.hold_reason = Lot.State.ON_HOLD, f"taken back: {act.why}"[:300]
    keep(lot)
    return keep(MakingTakenBack(making=making, by=act.by, at=act.at, why=act.why[:300]))


def _check_all_there(lot: Lot) -> None:
    held = list(Balance.objects.filter(lot=lot, quantity__gt=0))
    packed = [row.place for row in held if row.place.startswith(KIT_PREFIX)]
    if packed:
        raise RuleBroken(f"Pieces of lot {lot} lie in {', '.join(packed)}: unpack first.")
    there = sum(row.quantity for row in held)
    if there != lot.quantity_received:
        raise RuleBroken(
            f"Pieces left of lot {lot}: {there} of {lot.quantity_received}. It is in use and stays."
        )


def recipe_of(part: Part) -> list[RecipeLine]:
    """Return what goes into one piece of a part that is made here."""
    return list(part.recipe.select_related("part"))


def propose_inputs(
    *, part: Part, quantity: int, on: date
) -> tuple[list[Input], list[tuple[RecipeLine, int]]]:
    """Return what the recipe of a part takes, first expired first, and what the stores lack of it.

    Each lot gives what lies at one place of it; the number of queries does not grow.
    """
    shelf = Balance.objects.filter(quantity__gt=0).exclude(place__startswith=KIT_PREFIX)
    lots = Lot.objects.usable(on=on).filter(balances__in=shelf).distinct().first_expired_first()
    lots = lots.select_related("part").prefetch_related(Prefetch("balances", shelf, to_attr="shelf"))
    found, short = [], []
    for line in part.recipe.select_related("part").prefetch_related(
        Prefetch("part__lots", lots, to_attr="fitting")
    ):
        wanted = line.quantity * quantity
        offered: list[Any] = getattr(line.part, "fitting", [])
        for lot in offered:
            pieces = min(wanted, max(row.quantity for row in lot.shelf))
            if pieces:
                found.append(Input(lot=lot, quantity=pieces))
                wanted -= pieces
        if wanted:
            short.append((line, wanted))
    return found, short


@service("stores")
def save_recipe_line(
    *, act: Act, made: Part, part: Part, quantity: int, line: RecipeLine | None = None
) -> RecipeLine:
    """Add a part to the recipe of another, or change it; what was made so far stays as it is."""
    row = locked(line) if line else RecipeLine(made=made)
    row.part, row.quantity = part, quantity
    if row.part == row.made:
        raise RuleBroken(fields={"part": "A part is not made from itself."})
    return keep(row)


@service("stores")
def remove_recipe_line(*, act: Act, line: RecipeLine) -> Part:
    """Take a part out of a recipe, for the reason in ``act.why``."""
    check_reason(act)
    made = line.made
    locked(line).delete()
    return made

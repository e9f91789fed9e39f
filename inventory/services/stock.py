"""The stock ledger: pieces come, go and move; the balance follows in the same transaction."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import F, Sum
from django.utils import timezone

from inventory.calc.storage_life import storage_life
from inventory.models import Balance, Lot, Movement, OrderLine, Part, Settlement, Supplier
from inventory.services.count_limits import may_book_alone, second_person_above
from inventory.services.purchasing import note_delivery
from shop.errors import RuleBroken
from shop.models import ShopProfile
from shop.services.numbering import next_number
from shop.services.writing import Act, keep, locked, service

KIT_PREFIX = "kit "  # pieces in a packed kit lie at the place "kit CODE" and are promised already


MOST_PIECES = 1_000_000  # of one lot at a time; more is a slip, such as a barcode scanned into the field
TOO_MANY = "More than a million pieces: was something scanned into this field?"

ARRIVED = "arrived; not checked by stores yet"


def day_of(act: Act) -> date:
    """Return the calendar day of an act in the shop's time zone."""
    return timezone.localtime(act.at).date()


@service("stores")
def receive_lot(
    *,
    act: Act,
    part: Part,
    supplier: Supplier,
    number: str,
    quantity: int,
    place: str,
    received_on: date,
    cure_date: str = "",
    supplier_batch: str = "",
    unit_cost: Decimal | None = None,
    document: str = "",
    order_line: OrderLine | None = None,
    over_reason: str = "",
    quarantine: bool = False,
) -> Lot:
    """Add a lot and its first movement; an empty number draws the shop's own, such as L26-0001.

    The use-by date follows from polymer, cure date and the storage standard of the supplier, or
    else of the shop. With an order line the lot counts as delivered for it. ``quarantine``: nothing
    of it is used before stores have checked it. Raises RuleBroken for a wrong cure date, a day in
    the future, a place kept for kits, or a line that the lot does not belong to.
    """
    _check_quantity(quantity)
    if received_on > day_of(act):
        raise RuleBroken(fields={"received_on": "A lot cannot be received on a day still to come."})
    age = age_of(part=part, supplier=supplier, cure_date=cure_date, received_on=received_on)
    lot = keep(
        Lot(
            number=new_lot_number(number, act),
            part=part,
            supplier=supplier,
            supplier_batch=supplier_batch.strip(),
            cure_date=cure_date.strip(),
            **age,
            received_on=received_on,
            quantity_received=quantity,
            unit_cost=unit_cost,
            order_line=order_line,
            state=Lot.State.QUARANTINED if quarantine else Lot.State.ACCEPTED,
            hold_reason=ARRIVED if quarantine else "",
        )
    )
    add_pieces(act, lot, Movement.Kind.RECEIVED, stores_place(place), quantity, document)
    if order_line:
        note_delivery(act=act, lot=lot, over_reason=over_reason)
    return lot


def new_lot_number(asked: str, act: Act) -> str:
    """Return the number of a lot that comes in: the one asked for, or the shop's next that is free.

    Raises RuleBroken for one that a lot has already; labels are read in any case, so a1 is A1.
    """
    if asked := asked.strip():
        if other := Lot.objects.filter(number__iexact=asked).first():
            message = f"There is a lot {other} already. Leave it empty to draw the shop's next number."
            raise RuleBroken(fields={"number": message})
        return asked
    number = next_number("L", act.at)
    # Somebody may have typed the next number by hand.
    while Lot.objects.filter(number__iexact=number).exists():
        number = next_number("L", act.at)
    return number


def age_of(*, part: Part, supplier: Supplier, cure_date: str, received_on: date) -> dict[str, Any]:
    """Return what a lot keeps of its age: the dates, the standard that gives them, and why.

    The supplier's own standard comes before the shop's. Empty for what does not age. Raises
    RuleBroken where an ageing seal has no cure date, or a wrong one.
    """
    if not part.polymer:
        return {}
    shops = ShopProfile.objects.values_list("storage_standard", flat=True).first() or "ISO2230"
    standard = supplier.storage_standard or shops
    if not cure_date.strip():
        if storage_life(polymer=part.polymer, cure="1Q24", standard=standard).use_by is None:
            return {}
        message = f"Seals of {part.polymer} age: enter the cure quarter printed on the package, such as 3Q24."
        raise RuleBroken(fields={"cure_date": message})
    try:
        life = storage_life(polymer=part.polymer, cure=cure_date, standard=standard)
    except ValueError as error:
        message = f"“{cure_date}” is not a cure date. Enter quarter and year as 3Q24, 3Q2024 or 3/94."
        raise RuleBroken(fields={"cure_date": message}) from error
    if life.counted_from.replace(day=1, month=life.counted_from.month - 2) > received_on:
        raise RuleBroken(fields={"cure_date": "The cure quarter begins after the lot was received."})
    whose = f"set for {supplier}" if supplier.storage_standard else "the standard of the shop"
    return {
        "counted_from": life.counted_from,
        "use_by": life.use_by,
        "computed_use_by": life.use_by,
        "storage_standard": standard,
        "age_basis": f"{life.basis}; {whose}"[:300],
    }


@service("build")
def take(
    *,
    act: Act,
    lot: Lot,
    quantity: int,
    document: str,
    place: str | None = None,
    found_in_bin: bool = False,
) -> Movement:
    """Take pieces off the ledger for a document and return the USED movement.

    Without a place, the first one in the stores that holds enough is taken. ``found_in_bin`` is for
    pieces in the hand while the ledger says empty: it adds them as FOUND, for stores to settle.
    Raises RuleBroken for a lot past its use-by date or on hold, and where too few are left.
    """
    return take_pieces(
        act=act, lot=lot, quantity=quantity, document=document, place=place, found_in_bin=found_in_bin
    )


def take_pieces(
    *, act: Act, lot: Lot, quantity: int, document: str, place: str | None = None, found_in_bin: bool = False
) -> Movement:
    """Do what ``take`` does, inside another service, whose role counts."""
    _check_quantity(quantity)
    refuse_unusable(locked(lot), day_of(act))
    if found_in_bin:
        place = _place_found(lot, quantity, place)
        add_pieces(act, lot, Movement.Kind.FOUND, place, quantity, document)
    taken_from = _remove(lot, quantity, place)
    return _write(act, lot, Movement.Kind.USED, taken_from, -quantity, document)


@service("build")
def put_back(*, act: Act, movement: Movement, document: str) -> Movement:
    """Return the pieces of a USED movement to their place in the stores; once only."""
    return return_pieces(act=act, movement=movement, document=document)


def return_pieces(*, act: Act, movement: Movement, document: str) -> Movement:
    """Do what ``put_back`` does, inside another service, whose role counts."""
    if movement.kind != Movement.Kind.USED:
        raise RuleBroken("Only pieces that were used can be put back.")
    if Movement.objects.filter(returns=movement).exists():
        raise RuleBroken("These pieces were put back already.")
    place = movement.place
    if place.startswith(KIT_PREFIX):
        place = home_place(movement.lot)
    return add_pieces(
        act, movement.lot, Movement.Kind.RETURNED, place, -movement.quantity, document, returns=movement
    )


@service("stores")
def scrap(*, act: Act, lot: Lot, quantity: int, place: str, document: str = "") -> Movement:
    """Take pieces off the ledger for good; ``act.why`` is the reason."""
    check_reason(act)
    _check_quantity(quantity)
    _remove(lot, quantity, place)
    return _write(act, lot, Movement.Kind.SCRAPPED, place, -quantity, document)


@service("stores")
def adjust(*, act: Act, lot: Lot, change: int, place: str, document: str = "") -> Movement:
    """Correct the ledger by so many pieces, up or down; ``act.why`` is the reason."""
    check_reason(act)
    if change == 0:
        raise RuleBroken(fields={"change": "Enter by how many pieces the ledger is wrong."})
    if change > 0:
        return add_pieces(act, lot, Movement.Kind.ADJUSTED, stores_place(place), change, document)
    return take_up(act, lot, place, -change, document)


def take_up(act: Act, lot: Lot, place: str, quantity: int, document: str) -> Movement:
    """Write pieces of one place off as ADJUSTED; inside a service."""
    _remove(lot, quantity, place)
    return _write(act, lot, Movement.Kind.ADJUSTED, place, -quantity, document)


@service("stores")
def count(*, act: Act, lot: Lot, counted: int, place: str) -> Movement:
    """Bring the ledger of a place to what was counted there; ``act.why`` is the reason."""
    check_counted(counted, "counted")
    row = locked(lot)
    held = Balance.objects.filter(lot=row, place=place).values_list("quantity", flat=True).first()
    if counted == (held or 0):
        message = f"The ledger says {counted} at {place} already: nothing to put right."
        raise RuleBroken(fields={"counted": message})
    change = counted - (held or 0)
    worth = None if row.unit_cost is None else abs(change) * row.unit_cost
    if (worth is None or worth > second_person_above()) and not may_book_alone():
        told = "of unknown worth" if worth is None else f"worth {worth:.2f}"
        message = f"The difference is {told}: count the place, so that somebody else books it."
        raise RuleBroken(fields={"counted": message})
    return adjust(act=act, lot=row, change=change, place=place)


@service("stores")
def move(*, act: Act, lot: Lot, quantity: int, place: str, to_place: str) -> Movement:
    """Move pieces from one place of the stores to another; return the movement that came in."""
    there = stores_place(to_place, "to_place")
    if there == place:
        raise RuleBroken(fields={"to_place": "The pieces lie there already."})
    return shift(act=act, lot=lot, quantity=quantity, place=stores_place(place), to_place=there)


@service("pack_kits")
def shift(
    *, act: Act, lot: Lot, quantity: int, place: str | None, to_place: str, document: str = ""
) -> Movement:
    """Write the pair of MOVED movements behind a move, a packed kit and its unpacking."""
    _check_quantity(quantity)
    came_from = _remove(lot, quantity, place)
    _write(act, lot, Movement.Kind.MOVED, came_from, -quantity, document)
    return add_pieces(act, lot, Movement.Kind.MOVED, to_place, quantity, document)


@service("stores")
def settle_found(*, act: Act, movement: Movement, finding: str) -> Settlement:
    """Record what stores found out about pieces that were in the bin and not on the ledger."""
    if movement.kind != Movement.Kind.FOUND:
        raise RuleBroken("Only an entry “found in bin” can be settled.")
    if Settlement.objects.filter(movement=movement).exists():
        raise RuleBroken("This entry is settled already.")
    return keep(
        Settlement(movement=movement, finding=finding.strip(), by=act.by, at=act.at, why=act.why[:300])
    )


def refuse_unusable(lot: Lot, on: date) -> None:
    """Raise RuleBroken with the reason where a lot may not go into a unit on that day."""
    if lot.state != Lot.State.ACCEPTED:
        raise RuleBroken(f"Lot {lot} is {lot.get_state_display()}: {lot.hold_reason}. Take another lot.")
    if lot.is_expired(on):
        raise RuleBroken(f"Lot {lot} is past its use-by date of {lot.use_by:%d %b %Y}. Take another lot.")


def home_place(lot: Lot) -> str:
    """Return the place in the stores where pieces of a lot belong: where it lies, else where it came in."""
    places = Balance.objects.filter(lot=lot).exclude(place__startswith=KIT_PREFIX)
    fullest = places.order_by("-quantity", "pk").values_list("place", flat=True).first()
    return fullest or "bin"


def ledger_differences() -> list[tuple[Lot, str, int, int]]:
    """Compare every balance with its ledger: (lot, place, balance, sum of movements) where they differ."""
    rows = Movement.objects.order_by().values("lot", "place").annotate(total=Sum("quantity"))
    sums = {(row["lot"], row["place"]): row["total"] for row in rows}
    balances = {(row.lot_id, row.place): row.quantity for row in Balance.objects.all()}
    wrong = [
        (key, balances.get(key, 0), sums.get(key, 0))
        for key in sorted({*sums, *balances})
        if balances.get(key, 0) != sums.get(key, 0)
    ]
    lots = Lot.objects.in_bulk([key[0] for key, _have, _sum in wrong])
    return [(lots[key[0]], key[1], have, total) for key, have, total in wrong]


def _check_quantity(quantity: int) -> None:
    if quantity < 1:
        raise RuleBroken(fields={"quantity": "Enter at least one piece."})
    if quantity > MOST_PIECES:
        raise RuleBroken(fields={"quantity": TOO_MANY})


def check_counted(pieces: int, field: str) -> None:
    """Raise RuleBroken at the field for a number of pieces that nobody counted."""
    if not 0 <= pieces <= MOST_PIECES:
        raise RuleBroken(fields={field: TOO_MANY if pieces > 0 else "Enter 0 where none lies."})


def check_reason(act: Act) -> None:
    """Raise RuleBroken for an act without a reason, where one is asked for."""
    if not act.why.strip():
        raise RuleBroken(fields={"reason": "Say why; the reason stays with the record."})


def stores_place(place: str, field: str = "place") -> str:
    """Return a place as it is kept; raise RuleBroken at the field for one that is kept for packed kits."""
    place = place.strip()
    if place.lower().startswith(KIT_PREFIX):
        raise RuleBroken(fields={field: "Places that begin with “kit” are kept for packed kits."})
    return place


def _place_found(lot: Lot, quantity: int, place: str | None) -> str:
    place = stores_place(place or home_place(lot))
    held = Balance.objects.filter(lot=lot, quantity__gte=quantity).exclude(place__startswith=KIT_PREFIX)
    if there := held.first():
        raise RuleBroken(
            f"The ledger holds {there.quantity} of lot {lot} at {there.place}: "
            "use them without “found in bin”."
        )
    return place


def _remove(lot: Lot, quantity: int, place: str | None) -> str:
    """Lower one balance by a conditional UPDATE and return its place; refuse where none holds enough."""
    held = Balance.objects.filter(lot=lot, quantity__gt=0).order_by("quantity", "pk")
    held = held.filter(place=place) if place else held.exclude(place__startswith=KIT_PREFIX)
    for balance in held.filter(quantity__gte=quantity):
        enough = Balance.objects.filter(pk=balance.pk, quantity__gte=quantity)
        if enough.update(quantity=F("quantity") - quantity):
            return balance.place
    left = ", ".join(f"{row.quantity} at {row.place}" for row in held) or "none"
    where = f" at {place}" if place else ""
    message = f"The ledger does not hold {quantity} of lot {lot}{where}. Left: {left}."
    raise RuleBroken(fields={"quantity": message})


def add_pieces(
    act: Act,
    lot: Lot,
    kind: str,
    place: str,
    quantity: int,
    document: str,
    returns: Movement | None = None,
) -> Movement:
    """Write a movement of pieces that come to a place, and raise its balance; inside a service."""
    movement = _write(act, lot, kind, place, quantity, document, returns)
    balance, _made = Balance.objects.get_or_create(lot=lot, place=place)
    Balance.objects.filter(pk=balance.pk).update(quantity=F("quantity") + quantity)
    return movement


def _write(
    act: Act,
    lot: Lot,
    kind: str,
    place: str,
    quantity: int,
    document: str,
    returns: Movement | None = None,
) -> Movement:
    return keep(
        Movement(
            lot=lot,
            kind=kind,
            place=place,
            quantity=quantity,
            document=document,
            returns=returns,
            by=act.by,
            at=act.at,
            why=act.why[:300],
        )
    )

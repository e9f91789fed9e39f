"""The stock ledger: pieces come, go and move; the balance follows in the same transaction."""

from datetime import date
from decimal import Decimal

from django.db.models import F, Sum
from django.utils import timezone

from inventory.calc.storage_life import StorageLife, storage_life
from inventory.models import Balance, Lot, Movement, Part, Settlement, Supplier
from shop.errors import RuleBroken
from shop.models import ShopProfile
from shop.services.numbering import next_number
from shop.services.writing import Act, keep, locked, service

KIT_PREFIX = "kit "  # pieces in a packed kit lie at the place "kit CODE" and are promised already


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
) -> Lot:
    """Add a lot and its first movement; an empty number draws the shop's own, such as L26-0001.

    The use-by date follows from polymer, cure date and the shop's storage standard. Raises
    RuleBroken for a wrong cure date, a day in the future or a place kept for kits.
    """
    if received_on > day_of(act):
        raise RuleBroken(fields={"received_on": "A lot cannot be received on a day still to come."})
    life = age_of(part=part, cure_date=cure_date, received_on=received_on)
    lot = keep(
        Lot(
            number=number.strip() or next_number("L", act.at),
            part=part,
            supplier=supplier,
            supplier_batch=supplier_batch.strip(),
            cure_date=cure_date.strip(),
            counted_from=life.counted_from if life else None,
            use_by=life.use_by if life else None,
            age_basis=life.basis if life else "",
            received_on=received_on,
            quantity_received=quantity,
            unit_cost=unit_cost,
        )
    )
    _add(act, lot, Movement.Kind.RECEIVED, _stores_place(place), quantity, document)
    return lot


def age_of(*, part: Part, cure_date: str, received_on: date) -> StorageLife | None:
    """Return the storage life of a part cured on the printed date; None for what does not age.

    Raises RuleBroken where an ageing seal has no cure date, or a wrong one.
    """
    if not part.polymer:
        return None
    standard = ShopProfile.objects.values_list("storage_standard", flat=True).first() or "ISO2230"
    if not cure_date.strip():
        if storage_life(polymer=part.polymer, cure="1Q24", standard=standard).use_by is None:
            return None
        message = f"Seals of {part.polymer} age: enter the cure quarter printed on the package, such as 3Q24."
        raise RuleBroken(fields={"cure_date": message})
    try:
        life = storage_life(polymer=part.polymer, cure=cure_date, standard=standard)
    except ValueError as error:
        message = f"“{cure_date}” is not a cure date. Enter quarter and year as 3Q24, 3Q2024 or 3/94."
        raise RuleBroken(fields={"cure_date": message}) from error
    if life.counted_from.replace(day=1, month=life.counted_from.month - 2) > received_on:
        raise RuleBroken(fields={"cure_date": "The cure quarter begins after the lot was received."})
    return life


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
    _check_quantity(quantity)
    refuse_unusable(locked(lot), day_of(act))
    if found_in_bin:
        place = _place_found(lot, quantity, place)
        _add(act, lot, Movement.Kind.FOUND, place, quantity, document)
    taken_from = _remove(lot, quantity, place)
    return _write(act, lot, Movement.Kind.USED, taken_from, -quantity, document)


@service("build")
def put_back(*, act: Act, movement: Movement, document: str) -> Movement:
    """Return the pieces of a USED movement to their place in the stores; once only."""
    if movement.kind != Movement.Kind.USED:
        raise RuleBroken("Only pieces that were used can be put back.")
    if Movement.objects.filter(returns=movement).exists():
        raise RuleBroken("These pieces were put back already.")
    place = movement.place
    if place.startswith(KIT_PREFIX):
        place = home_place(movement.lot)
    return _add(
        act, movement.lot, Movement.Kind.RETURNED, place, -movement.quantity, document, returns=movement
    )


@service("stores")
def scrap(*, act: Act, lot: Lot, quantity: int, place: str, document: str = "") -> Movement:
    """Take pieces off the ledger for good; ``act.why`` is the reason."""
    _check_reason(act)
    _check_quantity(quantity)
    _remove(lot, quantity, place)
    return _write(act, lot, Movement.Kind.SCRAPPED, place, -quantity, document)


@service("stores")
def adjust(*, act: Act, lot: Lot, change: int, place: str, document: str = "") -> Movement:
    """Correct the ledger by so many pieces, up or down; ``act.why`` is the reason."""
    _check_reason(act)
    if change == 0:
        raise RuleBroken(fields={"change": "Enter by how many pieces the ledger is wrong."})
    if change > 0:
        return _add(act, lot, Movement.Kind.ADJUSTED, _stores_place(place), change, document)
    _remove(lot, -change, place)
    return _write(act, lot, Movement.Kind.ADJUSTED, place, change, document)


@service("stores")
def count(*, act: Act, lot: Lot, counted: int, place: str) -> Movement:
    """Bring the ledger of a place to what was counted there; ``act.why`` is the reason."""
    held = Balance.objects.filter(lot=locked(lot), place=place).values_list("quantity", flat=True).first()
    if counted == (held or 0):
        message = f"The ledger says {counted} at {place} already: nothing to put right."
        raise RuleBroken(fields={"counted": message})
    return adjust(act=act, lot=lot, change=counted - (held or 0), place=place)


@service("stores")
def move(*, act: Act, lot: Lot, quantity: int, place: str, to_place: str) -> Movement:
    """Move pieces from one place of the stores to another; return the movement that came in."""
    if _stores_place(to_place) == place:
        raise RuleBroken(fields={"to_place": "The pieces lie there already."})
    return shift(act=act, lot=lot, quantity=quantity, place=_stores_place(place), to_place=to_place.strip())


@service("pack_kits")
def shift(
    *, act: Act, lot: Lot, quantity: int, place: str | None, to_place: str, document: str = ""
) -> Movement:
    """Write the pair of MOVED movements behind a move, a packed kit and its unpacking."""
    _check_quantity(quantity)
    came_from = _remove(lot, quantity, place)
    _write(act, lot, Movement.Kind.MOVED, came_from, -quantity, document)
    return _add(act, lot, Movement.Kind.MOVED, to_place, quantity, document)


@service("stores")
def hold_lot(*, act: Act, lot: Lot, reason: str) -> Lot:
    """Put a lot on hold: nothing of it can be used or packed until it is accepted again."""
    lot = locked(lot)
    if lot.state == Lot.State.ON_HOLD:
        raise RuleBroken(f"Lot {lot} is on hold already: {lot.hold_reason}")
    lot.state, lot.hold_reason = Lot.State.ON_HOLD, reason.strip()
    if not lot.hold_reason:
        raise RuleBroken(fields={"reason": "A lot on hold needs the reason."})
    return keep(lot)


@service("stores")
def accept_lot(*, act: Act, lot: Lot) -> Lot:
    """Accept a lot that was on hold; ``act.why`` says what was found."""
    _check_reason(act)
    lot = locked(lot)
    if lot.state == Lot.State.ACCEPTED:
        raise RuleBroken(f"Lot {lot} is accepted already.")
    lot.state, lot.hold_reason = Lot.State.ACCEPTED, ""
    return keep(lot)


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
    if lot.state == Lot.State.ON_HOLD:
        raise RuleBroken(f"Lot {lot} is on hold: {lot.hold_reason}. Take another lot.")
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


def _check_reason(act: Act) -> None:
    if not act.why.strip():
        raise RuleBroken(fields={"reason": "Say why; the reason stays with the record."})


def _stores_place(place: str) -> str:
    place = place.strip()
    if place.lower().startswith(KIT_PREFIX):
        raise RuleBroken(fields={"place": "Places that begin with “kit” are kept for packed kits."})
    return place


def _place_found(lot: Lot, quantity: int, place: str | None) -> str:
    place = _stores_place(place or home_place(lot))
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


def _add(
    act: Act,
    lot: Lot,
    kind: str,
    place: str,
    quantity: int,
    document: str,
    returns: Movement | None = None,
) -> Movement:
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

"""Whether a lot may be used: hold, quarantine, accept with what was checked, scrap what is left."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from inventory.models import Balance, Lot, LotInspection, LotReading, Movement
from inventory.services.genealogy import held_inside, lots_with
from inventory.services.stock import KIT_PREFIX, check_reason, scrap
from shop.errors import RuleBroken
from shop.services.writing import Act, keep, locked, service

State, Purpose = Lot.State, LotInspection.Purpose
Hindrance = Callable[[Lot], str]
_hindrances: list[Hindrance] = []


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One reading of a spot check, with the limits it is held against; in ``unit``."""

    what: str
    value: float
    unit: str = LotReading.Unit.MM
    lower: float | None = None
    upper: float | None = None


@dataclass(frozen=True, kw_only=True)
class Check:
    """What was looked at in a lot: the certificate, or so many pieces, with readings if wanted."""

    certificate_seen: bool = False
    pieces: int = 0
    what: str = ""
    readings: Sequence[Reading] = ()


@service("stores")
def hold_lot(*, act: Act, lot: Lot, reason: str) -> Lot:
    """Put a lot on hold: nothing of it can be used or packed until it is accepted again.

    Lots made here that hold pieces of it go on hold with it, however deep.
    """
    return _set_aside(act, lot, State.ON_HOLD, reason)


@service("stores")
def quarantine_lot(*, act: Act, lot: Lot, reason: str) -> Lot:
    """Set a lot aside until it was checked; lots made here from it go on hold."""
    return _set_aside(act, lot, State.QUARANTINED, reason)


def _set_aside(act: Act, lot: Lot, state: str, reason: str) -> Lot:
    lot, reason = locked(lot), reason.strip()
    if lot.state == state:
        raise RuleBroken(f"Lot {lot} is {lot.get_state_display()} already: {lot.hold_reason}")
    if not reason:
        raise RuleBroken(fields={"reason": "A lot on hold or in quarantine needs the reason."})
    lot.state, lot.hold_reason = state, reason[:300]
    keep(lot)
    _hold_what_holds(lot, f"made from lot {lot}, which is {lot.get_state_display()}: {reason}")
    return lot


def _hold_what_holds(lot: Lot, reason: str) -> None:
    """Put on hold the accepted lots that hold pieces of a lot, however deep, by one recursive query.

    Asked again once they are held: somebody may have made one more of them in the meantime.
    """
    held: set[int] = set()
    while found := lots_with([lot.pk]) - held:
        for row in Lot.objects.filter(pk__in=found).order_by("pk"):
            above = locked(row)
            if above.state == State.ACCEPTED:
                above.state, above.hold_reason = State.ON_HOLD, reason[:300]
                keep(above)
        held |= found


def hold_whatever_state(lot: Lot, reason: str) -> Lot:
    """Put a lot on hold with everything made of it, whatever its state is; call inside a service.

    One that is on hold already keeps its reason.
    """
    row = locked(lot)
    if row.state != State.ON_HOLD:
        row.state, row.hold_reason = State.ON_HOLD, reason[:300]
        keep(row)
    _hold_what_holds(row, f"made from lot {row}, which is {row.get_state_display()}: {reason}")
    return row


def register_hindrance(hindrance: Hindrance) -> None:
    """Add a question asked before a lot is accepted again; call from ``AppConfig.ready``.

    It returns a sentence that forbids it, or an empty text.
    """
    if hindrance not in _hindrances:
        _hindrances.append(hindrance)


@service("stores")
def accept_lot(*, act: Act, lot: Lot, check: Check | None = None) -> Lot:
    """Accept a lot that was on hold or in quarantine; ``act.why`` says what was found.

    Out of quarantine, ``check`` says what was looked at; it stays as an inspection. Raises
    RuleBroken where nothing was checked, a reading lies outside its limits, or a lot inside this
    one may not be used.
    """
    check_reason(act)
    lot = locked(lot)
    if lot.state == State.ACCEPTED:
        raise RuleBroken(f"Lot {lot} is accepted already.")
    if forbidden := next(filter(None, (ask(lot) for ask in _hindrances)), ""):
        raise RuleBroken(forbidden)
    if lot.made_here and (held := held_inside(lot)):
        raise RuleBroken(
            f"Lot {lot} holds pieces of lot {held}, which is {held.get_state_display()}: {held.hold_reason}."
        )
    if lot.state == State.QUARANTINED and not check:
        raise RuleBroken("Say what was checked before the lot leaves quarantine.")
    if check:
        record_check(act=act, lot=lot, check=check, purpose=Purpose.ARRIVAL)
    lot.state, lot.hold_reason = State.ACCEPTED, ""
    return keep(lot)


def record_check(*, act: Act, lot: Lot, check: Check, purpose: str) -> LotInspection:
    """Keep what was checked as an inspection that passed; inside a service.

    Raises RuleBroken where nothing was checked, or a reading lies outside its limits.
    """
    if not check.certificate_seen and not check.pieces:
        message = "Nothing was checked: see the certificate, or look at some pieces."
        raise RuleBroken(fields={"pieces": message})
    told = {"by": act.by, "at": act.at, "why": act.why[:300]}
    inspection = keep(
        LotInspection(
            lot=lot,
            purpose=purpose,
            certificate_seen=check.certificate_seen,
            pieces=check.pieces,
            what=check.what.strip(),
            passed=True,
            **told,
        )
    )
    for told_reading in check.readings:
        reading = keep(LotReading(inspection=inspection, **told_reading.__dict__, **told))
        if not reading.is_within:
            raise RuleBroken(f"{reading} lies outside its limits. Put the lot on hold, or look again.")
    return inspection


@service("stores")
def scrap_lot(*, act: Act, lot: Lot) -> list[Movement]:
    """Take all that is left of a lot off the ledger and hold the lot; ``act.why`` is the reason.

    Raises RuleBroken where none is left, or pieces lie in packed kits.
    """
    check_reason(act)
    lot = locked(lot)
    held = list(Balance.objects.filter(lot=lot, quantity__gt=0).order_by("pk"))
    kits = [row.place for row in held if row.place.startswith(KIT_PREFIX)]
    if kits:
        raise RuleBroken(f"Pieces of lot {lot} lie in {', '.join(kits)}: unpack first.")
    if not held:
        raise RuleBroken(f"Nothing is left of lot {lot}.")
    gone = [scrap(act=act, lot=lot, quantity=row.quantity, place=row.place) for row in held]
    # A piece that turns up in a bin later must not go into a unit.
    lot.state, lot.hold_reason = State.ON_HOLD, f"all that was left was scrapped: {act.why}"[:300]
    keep(lot)
    return gone

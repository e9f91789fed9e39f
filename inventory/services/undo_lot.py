"""A lot that was entered by mistake: its pieces go, its ledger stays, its number is free again."""

from inventory.models import Lot, Movement
from inventory.services.lot_state import hold_lot
from inventory.services.stock import adjust
from shop.errors import RuleBroken
from shop.services.writing import Act, keep, locked, service

NUMBER_LENGTH = 40


@service("stores")
def take_back_lot(*, act: Act, lot: Lot) -> Lot:
    """Write a received lot that nothing touched off the ledger, and free its number.

    The ledger is never shortened, so the lot stays, empty and on hold. Raises RuleBroken for a lot
    of which pieces moved, or that was changed since.
    """
    lot = locked(lot)
    movements = list(Movement.objects.filter(lot=lot).order_by("pk"))
    if len(movements) != 1:
        raise RuleBroken(f"Lot {lot} is in use: its ledger has {len(movements)} entries.")
    if lot.history.count() > 1:
        raise RuleBroken(f"Lot {lot} was changed since.")
    received = movements[0]
    adjust(act=act, lot=lot, change=-received.quantity, place=received.place, document=received.document)
    held = hold_lot(act=act, lot=lot, reason=f"Lot {lot} was entered by mistake: {act.why}"[:300])
    suffix = f".undone-{lot.pk}"
    held.number = held.number[: NUMBER_LENGTH - len(suffix)] + suffix
    return keep(held)

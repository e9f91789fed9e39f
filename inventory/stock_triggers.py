"""Database triggers that keep the ledger and the lots true, whoever writes past the services.

The pieces of a lot at a place are the sum of its movements: no movement may take that sum below
zero, and a return brings back what one use took. The balance has its own constraint. A use-by date
moves out by an inspection only, and what is made here holds older lots only.
"""

from shop.triggers import Rule, keep_rules

BELOW_ZERO = "the ledger does not hold that many pieces of this lot at that place"
OTHER_RETURN = "a return brings back the pieces of one use, all of them, of the same lot"

_BELOW_ZERO = """NEW.quantity < 0 AND NEW.quantity + (
  SELECT COALESCE(SUM(m.quantity), 0) FROM inventory_movement m
  WHERE m.lot_id = NEW.lot_id AND m.place = NEW.place) < 0"""
_OTHER_RETURN = """NEW.returns_id IS NOT NULL AND NOT EXISTS (
  SELECT 1 FROM inventory_movement m WHERE m.id = NEW.returns_id AND m.kind = 'used'
  AND m.lot_id = NEW.lot_id AND m.quantity = -NEW.quantity)"""
# Taken after the balance's row, always for one lot and place: two writers wait and do not deadlock.
_ONE_AT_A_TIME = """IF NEW.quantity < 0 THEN
  PERFORM pg_advisory_xact_lock(hashtextextended(NEW.lot_id || ' ' || NEW.place, 17)); END IF;"""
LATER_DATE = "a later use-by date than the computed one needs a passed inspection"
COMPUTED_STAYS = "the use-by date computed at receipt stays as it is"
NOT_OLDER = "what is made holds pieces used of older lots only"

_LATER_DATE = """NEW.computed_use_by IS NOT NULL AND (NEW.use_by IS NULL OR NEW.use_by > NEW.computed_use_by)
  AND NOT EXISTS (SELECT 1 FROM inventory_lotinspection i WHERE i.lot_id = NEW.id
  AND i.purpose = 'extension' AND i.passed AND i.extended_until >= NEW.use_by)"""
_COMPUTED_STAYS = """OLD.computed_use_by IS NOT NULL AND (
  NEW.computed_use_by IS NULL OR NEW.computed_use_by <> OLD.computed_use_by)"""
# Keys only grow and both rows are never changed: what goes in is older, so no lot can hold itself.
_NOT_OLDER = """NOT EXISTS (
  SELECT 1 FROM inventory_movement m JOIN inventory_making k ON k.id = NEW.making_id
  WHERE m.id = NEW.movement_id AND m.kind = 'used' AND m.lot_id < k.lot_id)"""
RULES = (
    Rule("stock_below_zero", "inventory_movement", "INSERT", _BELOW_ZERO, BELOW_ZERO, _ONE_AT_A_TIME),
    Rule("stock_return", "inventory_movement", "INSERT", _OTHER_RETURN, OTHER_RETURN),
    Rule("lot_date_entered", "inventory_lot", "INSERT", _LATER_DATE, LATER_DATE),
    Rule("lot_date_changed", "inventory_lot", "UPDATE OF use_by, computed_use_by", _LATER_DATE, LATER_DATE),
    Rule("lot_date_computed", "inventory_lot", "UPDATE OF computed_use_by", _COMPUTED_STAYS, COMPUTED_STAYS),
    Rule("making_older", "inventory_makinginput", "INSERT", _NOT_OLDER, NOT_OLDER),
)
keep_rules("inventory", RULES)

"""Database triggers that keep the boxes of two customers apart, whoever writes past the services.

A unit received from a box belongs to the box's work order; a box whose sender is named goes to a
work order of that customer only. Both rules span tables, so that no constraint can hold them.
"""

from shop.triggers import Rule, keep_rules

FOREIGN_UNIT = "a unit in the box belongs to the work order of another box"
FOREIGN_ORDER = "the work order belongs to another customer than the box"
LEFT_BEHIND = "units of this box were received in its work order"

_LINE = """NEW.rebuild_id IS NOT NULL AND NOT EXISTS (
  SELECT 1 FROM workorders_rebuild r JOIN workorders_box b ON b.work_order_id = r.work_order_id
  WHERE r.id = NEW.rebuild_id AND b.id = NEW.box_id)"""
_ORDER = """NEW.work_order_id IS NOT NULL AND EXISTS (
  SELECT 1 FROM workorders_workorder w WHERE w.id = NEW.work_order_id AND w.customer_id <> COALESCE(
    OLD.customer_id, (SELECT o.customer_id FROM workorders_workorder o WHERE o.id = OLD.work_order_id)))"""
_LEFT = """EXISTS (
  SELECT 1 FROM workorders_boxline l JOIN workorders_rebuild r ON r.id = l.rebuild_id
  WHERE l.box_id = NEW.id AND (NEW.work_order_id IS NULL OR r.work_order_id <> NEW.work_order_id))"""
_MOVED = """NEW.work_order_id <> OLD.work_order_id AND EXISTS (
  SELECT 1 FROM workorders_boxline l JOIN workorders_box b ON b.id = l.box_id
  WHERE l.rebuild_id = NEW.id AND b.work_order_id <> NEW.work_order_id)"""
# Who puts the box into a work order holds it, and looks at its lines; who ties a line looks at the box.
_HOLD_BOX = """IF NEW.rebuild_id IS NOT NULL THEN
  PERFORM 1 FROM workorders_box b WHERE b.id = NEW.box_id FOR SHARE; END IF;"""
RULES = (
    Rule("box_line_added", "workorders_boxline", "INSERT", _LINE, FOREIGN_UNIT, _HOLD_BOX),
    Rule(
        "box_line_changed",
        "workorders_boxline",
        "UPDATE OF rebuild_id, box_id",
        _LINE,
        FOREIGN_UNIT,
        _HOLD_BOX,
    ),
    Rule("box_order", "workorders_box", "UPDATE OF work_order_id, customer_id", _ORDER, FOREIGN_ORDER),
    Rule("box_left", "workorders_box", "UPDATE OF work_order_id", _LEFT, LEFT_BEHIND),
    Rule("box_rebuild_moved", "workorders_rebuild", "UPDATE OF work_order_id", _MOVED, FOREIGN_UNIT),
)
keep_rules("workorders", RULES)

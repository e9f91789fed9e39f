"""Database triggers that keep a leak past a piston to what shows it, whoever writes past the services.

The finding names a piston seal, and a step that it rests on is a bypass step of that unit which
failed: a drift step never. Both rules span tables, so that no constraint can hold them.
"""

from shop.triggers import Rule, keep_rules

NOT_SHOWN = (
    "only a piston seal leaks inside, and what shows it is a bypass step of the unit that failed, or "
    "damage seen; drift does not"
)
STILL_NAMED = "a finding says that the piston seal at this place leaks inside: correct the finding first"

_POSITION = """EXISTS (
  SELECT 1 FROM shop_sealposition p WHERE p.id = NEW.position_id AND p.kind = 'piston_seal')"""
_BYPASS = """EXISTS (
  SELECT 1 FROM workorders_stepresult s
  JOIN shop_teststep t ON t.id = s.step_id
  JOIN workorders_pressuretest p ON p.id = s.pressure_test_id
  JOIN workorders_rebuild tested ON tested.id = p.rebuild_id
  JOIN workorders_rebuild found ON found.unit_id = tested.unit_id
  WHERE s.id = NEW.evidence_result_id AND t.kind = 'bypass' AND s.verdict = 'fails'
    AND found.id = NEW.rebuild_id)"""
_FINDING = f"""NEW.condition = 'leaks_inside' AND NOT ({_POSITION}
  AND (NEW.evidence_result_id IS NULL OR {_BYPASS}))"""
_KIND = """NEW.kind <> 'piston_seal' AND EXISTS (
  SELECT 1 FROM workorders_finding f WHERE f.position_id = NEW.id AND f.condition = 'leaks_inside')"""
_CHANGES = "UPDATE OF condition, rebuild_id, position_id, evidence, evidence_result_id"
RULES = (
    Rule("finding_leak_added", "workorders_finding", "INSERT", _FINDING, NOT_SHOWN),
    Rule("finding_leak_changed", "workorders_finding", _CHANGES, _FINDING, NOT_SHOWN),
    Rule("finding_leak_place", "shop_sealposition", "UPDATE OF kind", _KIND, STILL_NAMED),
)
keep_rules("workorders", RULES)

"""Where pieces of lots sit: one recursive query from lots to units, whatever is made in between.

The query runs on SQLite and PostgreSQL. ``reach`` are the lots that hold a seed lot, ``stem`` says
out of which of them each was made (the oldest, so that there is one path), ``trail`` walks those
paths. A CROSS JOIN keeps SQLite to the order written here, and so does a LEFT JOIN of what is always
there, whatever it has counted of the tables; PostgreSQL chooses its own.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from django.db import connection

from workorders.models.finding import PLACE_FIELDS

_STANDING = "NOT EXISTS (SELECT 1 FROM inventory_makingtakenback b WHERE b.making_id = k.id)"
_OUTWARD = """reach x
  JOIN inventory_movement m ON m.lot_id = x.lot_id
  JOIN inventory_makinginput i ON i.movement_id = m.id
  JOIN inventory_making k ON k.id = i.making_id"""
_TRAIL = f"""WITH RECURSIVE seeds(seed, lot_id) AS ({{seeds}}),
reach(seed, lot_id) AS (
  SELECT seed, lot_id FROM seeds
  UNION SELECT x.seed, k.lot_id FROM {_OUTWARD} WHERE {_STANDING}),
stem(seed, lot_id, below) AS (
  SELECT x.seed, k.lot_id, MIN(m.lot_id) FROM {_OUTWARD}
  WHERE {_STANDING} AND NOT EXISTS (
    SELECT 1 FROM seeds s WHERE s.seed = x.seed AND s.lot_id = k.lot_id)
  GROUP BY x.seed, k.lot_id),
trail(seed, lot_id, depth, path) AS (
  SELECT s.seed, s.lot_id, 0, CAST(l.number AS text) FROM seeds s JOIN inventory_lot l ON l.id = s.lot_id
  UNION ALL
  SELECT t.seed, s.lot_id, t.depth + 1, t.path || ' > ' || l.number
  FROM trail t JOIN stem s ON s.seed = t.seed AND s.below = t.lot_id
  JOIN inventory_lot l ON l.id = s.lot_id)"""  # noqa: S608 - our own words
# Without what is made of them: for all the lots of one unit.
_SEEDS_ALONE = """WITH seeds(seed, lot_id) AS ({seeds}),
trail(seed, lot_id, depth, path) AS (
  SELECT s.seed, s.lot_id, 0, CAST(l.number AS text) FROM seeds s JOIN inventory_lot l ON l.id = s.lot_id)"""
LOTS = "SELECT 0, id FROM inventory_lot WHERE id IN ({marks})"
LOTS_OF_A_UNIT = """SELECT 0, p.lot_id FROM workorders_partused p
  JOIN workorders_rebuild r ON r.id = p.rebuild_id WHERE r.unit_id = %s
  UNION SELECT 0, o.locker_lot_id FROM workorders_operation o
  JOIN workorders_rebuild r ON r.id = o.rebuild_id WHERE r.unit_id = %s AND o.locker_lot_id IS NOT NULL
  UNION SELECT 0, l.lot_id FROM workorders_packingline l
  JOIN workorders_packingunit u ON u.id = l.packing_unit_id
  JOIN workorders_rebuild r ON r.id = u.rebuild_id WHERE r.unit_id = %s AND l.lot_id IS NOT NULL"""

_TABLES = dict(
    zip(PLACE_FIELDS, ("shop_sealposition", "shop_component", "shop_port", "shop_hose"), strict=True)
)


def _place_joins(row: str) -> str:
    """Join the place of a row, whichever of the four kinds it is."""
    return " ".join(
        f"LEFT JOIN {table} {row}_{kind} ON {row}_{kind}.id = {row}.{kind}_id"
        for kind, table in _TABLES.items()
    )


def _place_key(row: str) -> str:
    """Name the place of a row so that the same place of a later revision is the same text."""
    told = " ".join(
        f"WHEN {row}.{kind}_id IS NOT NULL THEN '{kind} ' || {row}_{kind}.code" for kind in _TABLES
    )
    return f"CASE {told} ELSE '' END"


def _of_place(row: str, field: str) -> str:
    return f"COALESCE({', '.join(f'{row}_{kind}.{field}' for kind in _TABLES)}, '')"


_SAME_PLACE = " OR ".join(f"f.{kind}_id = p2.{kind}_id" for kind in PLACE_FIELDS)
_NOT_TAKEN_BACK = "NOT EXISTS (SELECT 1 FROM workorders_parttakenback b WHERE b.part_used_id = {row}.id)"
# A part is out once its place was renewed later, or as many pieces of the same part went in there.
_PART_OUT = f"""(SELECT MIN(r2.number) FROM workorders_rebuild r2
  JOIN workorders_partused p2 ON p2.rebuild_id = r2.id
  JOIN inventory_lot l2 ON l2.id = p2.lot_id {_place_joins("p2")}
  LEFT JOIN workorders_finding f ON f.rebuild_id = r2.id AND ({_SAME_PLACE})
  WHERE r2.unit_id = r.unit_id AND r2.number > r.number AND p2.use = 'fitted'
  AND {_NOT_TAKEN_BACK.format(row="p2")} AND {_place_key("p2")} = s.place
  AND (f.action = 'renewed' OR (
    l2.part_id = l.part_id AND p2.quantity >= s.amount AND COALESCE(f.action, '') <> 'kept')))"""  # noqa: S608
# A thread locker is out once the same thing was fastened again.
_LOCKER_OUT = f"""(SELECT MIN(r2.number) FROM workorders_rebuild r2
  JOIN workorders_operation o2 ON o2.rebuild_id = r2.id
  LEFT JOIN shop_fasteningfigure g2 ON g2.id = o2.figure_id {_place_joins("o2")}
  WHERE r2.unit_id = r.unit_id AND o2.kind = 'fastened' AND o2.id <> s.row_id
  AND (r2.number > r.number OR (r2.number = r.number AND o2.fastened_at > s.put_in_at))
  AND {_place_key("o2")} = s.place AND COALESCE(g2.what, '') = s.what)"""  # noqa: S608
# Fluid is out once the unit was opened again.
_FLUID_OUT = """(SELECT MIN(r2.number) FROM workorders_rebuild r2
  JOIN workorders_signature g ON g.rebuild_id = r2.id AND g.meaning = 'torn_down'
  WHERE r2.unit_id = r.unit_id AND r2.number > r.number)"""

_PART = (
    "workorders_partused",
    "lot_id",
    f"""SELECT t.seed, t.depth, t.path, 'part' AS kind, u.id AS row_id, u.lot_id AS lot_id, u.rebuild_id,
      CAST(u.quantity AS double precision) AS amount, u.at AS put_in_at, '' AS what,
      {_place_key("u")} AS place, {_of_place("u", "code")} AS code, {_of_place("u", "name")} AS name""",
    _place_joins("u"),
    f"u.use = 'fitted' AND {_NOT_TAKEN_BACK.format(row='u')}",
)
_LOCKER = (
    "workorders_operation",
    "locker_lot_id",
    f"""SELECT t.seed, t.depth, t.path, 'locker', u.id, u.locker_lot_id, u.rebuild_id,
      CAST(1 AS double precision), u.fastened_at, COALESCE(g.what, ''),
      {_place_key("u")}, {_of_place("u", "code")}, {_of_place("u", "name")}""",
    f"LEFT JOIN shop_fasteningfigure g ON g.id = u.figure_id {_place_joins('u')}",
    "u.kind = 'fastened'",
)
_FLUID = (
    """(SELECT l.id, l.lot_id, p.rebuild_id, l.volume_ml, l.done_at, l.text FROM workorders_packingline l
      JOIN workorders_packingunit p ON p.id = l.packing_unit_id
      WHERE l.lot_id IS NOT NULL AND l.state = 'packed' AND p.taken_out_at IS NULL)""",
    "lot_id",
    """SELECT t.seed, t.depth, t.path, 'fluid', u.id, u.lot_id, u.rebuild_id,
      CAST(COALESCE(u.volume_ml, 0) AS double precision), u.done_at, '', '', '', u.text""",
    "",
    "1 = 1",
)
_SHOWN = f"""SELECT s.seed, s.kind, s.depth, s.path, l.number, y.number, y.name,
  s.amount, s.place, s.code, s.name, s.what, s.put_in_at, r.id, r.number, u.id, u.serial, c.code, c.name,
  CASE s.kind WHEN 'part' THEN {_PART_OUT} WHEN 'locker' THEN {_LOCKER_OUT} ELSE {_FLUID_OUT} END,
  n.id, n.number, n.stage, n.destination, n.shelf, o.number, h.number, h.at,
  COALESCE(q.id, e.merged_into_id, e.id), COALESCE(q.name, ee.name, e.name), w.starts_on, w.ends_on
FROM sits s
  LEFT JOIN inventory_lot l ON l.id = s.lot_id
  LEFT JOIN inventory_part y ON y.id = l.part_id
  LEFT JOIN workorders_rebuild r ON r.id = s.rebuild_id
  LEFT JOIN workorders_unit u ON u.id = r.unit_id
  LEFT JOIN shop_unittype c ON c.id = u.unit_type_id
  LEFT JOIN workorders_rebuild n ON n.unit_id = r.unit_id AND n.number = (
    SELECT MAX(z.number) FROM workorders_rebuild z WHERE z.unit_id = r.unit_id)
  LEFT JOIN workorders_workorder o ON o.id = n.work_order_id
  LEFT JOIN workorders_packedunit k ON k.rebuild_id = n.id
  LEFT JOIN workorders_parcel pa ON pa.id = k.parcel_id
  LEFT JOIN workorders_shipment h ON h.id = pa.shipment_id
  LEFT JOIN workorders_warranty nw ON nw.rebuild_id = n.id
  LEFT JOIN shop_customer q ON q.id = nw.holder_id
  LEFT JOIN shop_customer e ON e.id = h.recipient_id
  LEFT JOIN shop_customer ee ON ee.id = e.merged_into_id
  LEFT JOIN workorders_warranty w ON w.id = (
    SELECT v.id FROM workorders_warranty v JOIN workorders_rebuild z ON z.id = v.rebuild_id
    WHERE z.unit_id = r.unit_id ORDER BY z.number DESC LIMIT 1)
ORDER BY u.id, s.kind, s.code, s.row_id"""  # noqa: S608
_ON_SHELF = """ SELECT t.depth, t.path, l.number, y.number, y.name, b.place, b.quantity
FROM trail t JOIN inventory_balance b ON b.lot_id = t.lot_id AND b.quantity > 0
  JOIN inventory_lot l ON l.id = t.lot_id JOIN inventory_part y ON y.id = l.part_id
ORDER BY t.depth, l.number, b.place"""


@dataclass(frozen=True, kw_only=True)
class Place:
    """One place of one unit that a lot went into, and where that unit is now.

    ``amount`` is pieces, for fluid mL; ``out_in`` the later rebuild in which it was renewed.
    """

    seed: int
    kind: str
    depth: int
    path: str
    lot: str
    part: str
    part_name: str
    amount: float
    place_key: str
    place: str
    place_name: str
    what: str
    put_in_at: datetime
    rebuild_id: int
    rebuild: int
    unit_id: int
    serial: str
    type_code: str
    type_name: str
    out_in: int | None
    now_id: int
    now_rebuild: int
    stage: str
    destination: str
    shelf: str
    work_order: str
    shipment: str
    shipped_at: datetime | None
    customer_id: int | None
    customer: str
    starts_on: date | None
    ends_on: date | None

    @property
    def is_inside(self) -> bool:
        """Whether it sits in the unit still."""
        return self.out_in is None


@dataclass(frozen=True)
class OnShelf:
    """Pieces of a lot, or of a made one that holds it, that lie in the stores."""

    depth: int
    path: str
    lot: str
    part: str
    part_name: str
    place: str
    pieces: int


def places_of_lots(lots: Collection[int]) -> list[Place]:
    """Return every place in a unit that pieces of the lots went into, however deep; one query."""
    if not lots:
        return []
    seeds = LOTS.format(marks=", ".join(["%s"] * len(lots)))
    return list(_read(_TRAIL.format(seeds=seeds) + _sits(None), list(lots)))


def places_from(seeds: str, units: Collection[int]) -> list[Place]:
    """Return the places of some units that hold a seed lot; ``seeds`` selects (number, lot)."""
    if not units:
        return []
    return list(_read(_TRAIL.format(seeds=seeds) + _sits(len(units)), list(units) * 3))


def places_unless(seeds: str, skipped: str) -> list[Place]:
    """Return the places that hold a seed lot, save where ``skipped`` finds a row; one query.

    ``skipped`` selects by ``t.seed``, the number of the seed, and ``u.rebuild_id``. What it skips
    costs little: it is asked before anything is read of the unit.
    """
    return list(_read(_TRAIL.format(seeds=seeds) + _sits(None, f"NOT EXISTS ({skipped})"), []))


def places_in_unit(unit: int) -> list[Place]:
    """Return every place of a unit with the lot that went in there, rebuild by rebuild; one query."""
    query = _SEEDS_ALONE.format(seeds=LOTS_OF_A_UNIT) + _sits(1)
    return list(_read(query, [unit] * 6))


def on_the_shelf(lots: Collection[int]) -> list[OnShelf]:
    """Return what lies in the stores of the lots, and of what was made of them; one query."""
    if not lots:
        return []
    seeds = LOTS.format(marks=", ".join(["%s"] * len(lots)))
    with connection.cursor() as cursor:
        cursor.execute(_TRAIL.format(seeds=seeds) + _ON_SHELF, list(lots))
        return [OnShelf(*row) for row in cursor.fetchall()]


def _sits(units: int | None, also: str = "1 = 1") -> str:
    """Finish a query: from the lots on, or from so many units on, whichever are fewer."""
    branches = " UNION ALL ".join(f"{_branch(each, units)} AND {also}" for each in (_PART, _LOCKER, _FLUID))
    return f", sits AS ({branches}) {_SHOWN}"


def _branch(branch: tuple[str, str, str, str, str], units: int | None) -> str:
    table, lot, shown, joins, condition = branch
    if units is None:
        rows = f"FROM trail t CROSS JOIN {table} u {joins} WHERE u.{lot} = t.lot_id AND {condition}"
    else:
        marks = ", ".join(["%s"] * units)
        rows = (
            f"FROM workorders_rebuild w CROSS JOIN {table} u CROSS JOIN trail t {joins} "
            f"WHERE w.unit_id IN ({marks}) AND u.rebuild_id = w.id AND t.lot_id = u.{lot} AND {condition}"
        )
    return f"{shown} {rows}"


def _read(query: str, params: list[Any]) -> Iterator[Place]:
    names = list(Place.__dataclass_fields__)
    with connection.cursor() as cursor:
        cursor.execute(query, params)
        for row in cursor.fetchall():
            told = dict(zip(names, row, strict=True))
            told |= {name: _moment(told[name]) for name in ("put_in_at", "shipped_at")}
            told |= {name: _day(told[name]) for name in ("starts_on", "ends_on")}
            told |= {name: told[name] or "" for name in ("shipment", "customer")}
            yield Place(**told)


def _moment(value: Any) -> datetime | None:
    """Read a time; SQLite gives it without its zone, which is UTC."""
    found = datetime.fromisoformat(value) if isinstance(value, str) else value
    return found.replace(tzinfo=UTC) if found and found.tzinfo is None else found


def _day(value: Any) -> date | None:
    return date.fromisoformat(value) if isinstance(value, str) else value

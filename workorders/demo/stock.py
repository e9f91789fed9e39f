"""The stores of the demo: lots that come, are picked first-expired-first, age, and one that is bad."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple

from inventory.models import (
    Balance,
    KitLine,
    Lot,
    Movement,
    OrderLine,
    PackedKit,
    Part,
    PlaceCount,
    Supplier,
)
from inventory.services import counting
from inventory.services.kits import pack_kit, unpack_kit
from inventory.services.lot_state import hold_lot
from inventory.services.stock import receive_lot, settle_found
from shop.roles import LEAD, STORES
from workorders.demo.world import YEARS, DemoType, Process, World, dice, in_hours, shop_data

BAD_PART = "RS-12-HN"
BAD_FROM_SHARE = 0.52  # how far into the history the bad lot comes in
LEAKS_BEFORE_HOLD = 4
# Parts bought once, or too many of them, so that pieces are left when they expire: part, pieces.
SLOW_MOVERS = (("RS-12-NB", 24), ("OR-110-NB", 60), ("WP-16-NB", 90))
# Since then nobody orders by heart any more, so that the page of what to order has something to show.
SINCE_THE_LIST = dt.timedelta(days=24)
# Held in the last days, so that a part is short for work that has not begun.
NICKED, NICKED_AGO = "SS-10-FK", dt.timedelta(days=4)
BEING_COUNTED_AGO = dt.timedelta(days=1)
FOUND_AT_SHARES = (0.35, 0.62)
LAST_FIND = dt.timedelta(days=16)


class Packed(NamedTuple):
    """A packed kit, and from which lot each line of it came."""

    kit: PackedKit
    lots: dict[KitLine, Lot]


@dataclass
class Shelf:
    """What the stores hand knows by heart: how many pieces of each lot lie on the shelf."""

    world: World
    left: dict[int, int] = field(default_factory=dict)
    lots: dict[int, list[Lot]] = field(default_factory=dict)
    on_order: set[int] = field(default_factory=set)
    bad_lot: Lot | None = None
    leaks: int = 0
    finds: list[dt.datetime] = field(default_factory=list)
    kits: dict[int, list[Packed]] = field(default_factory=dict)

    def pick(self, part: Part, pieces: int) -> Lot | None:
        """Return the lot that expires first and still holds enough; None where the shelf is bare."""
        good = [
            lot for lot in self.lots.get(part.pk, ()) if self.left[lot.pk] >= pieces and self.is_usable(lot)
        ]
        return min(good, key=lambda lot: (lot.use_by or dt.date.max, lot.pk), default=None)

    def is_usable(self, lot: Lot) -> bool:
        """Whether a lot may go into a unit today."""
        return lot.state == Lot.State.ACCEPTED and not lot.is_expired(self.world.time.date())

    def find(self, part: Part) -> Lot | None:
        """Return an empty lot of which a piece turns up in the bin, when it is time for such a find."""
        if not self.finds or self.world.time < self.finds[0]:
            return None
        for lot in self.lots.get(part.pk, ()):
            if not self.left[lot.pk] and self.is_usable(lot):
                self.finds.pop(0)
                return lot
        return None

    def took(self, lot: Lot, pieces: int) -> None:
        """Remember pieces taken, and order more before the shelf is bare."""
        self.left[lot.pk] -= pieces
        part = lot.part
        usable = sum(self.left[row.pk] for row in self.lots[part.pk] if self.is_usable(row))
        by_heart = self.world.time < self.world.now - SINCE_THE_LIST
        if by_heart and usable <= self._reorder_at(part) and part.pk not in self.on_order:
            self.on_order.add(part.pk)
            wait = dice("delivery", part.number, lot.number).randint(3, 8)
            self.world.begin(self.delivery(part), self.world.after(days=wait))

    def delivery(self, part: Part) -> Process:
        """Receive a lot of a part, cured a quarter or two before."""
        yield self.world.time
        self.receive(
            part, self._batch(part), age_days=dice("cure", part.number, self.world.time).randint(80, 230)
        )

    def receive(
        self,
        part: Part,
        pieces: int,
        *,
        age_days: int,
        quarantine: bool = False,
        supplier: Supplier | None = None,
        order_line: OrderLine | None = None,
    ) -> Lot:
        """Take a lot into the stores, cured so many days before."""
        world = self.world
        today = world.time.date()
        cured = today - dt.timedelta(days=age_days)
        throw = dice("lot", part.number, today)
        maker = world.suppliers[throw.randrange(2)] if part.polymer else world.suppliers[2]
        lot = receive_lot(
            act=world.act(STORES),
            part=part,
            supplier=supplier or maker,
            order_line=order_line,
            number="",
            quantity=pieces,
            place=place_of(part),
            received_on=today,
            cure_date=f"{(cured.month + 2) // 3}Q{cured:%y}" if part.polymer else "",
            supplier_batch=f"{throw.randint(10, 99)}-{throw.randint(1000, 9999)}",
            # Of one lot in thirty nobody wrote down what it cost.
            unit_cost=cost_of(part) if dice("cost", part.number, today).random() > 1 / 30 else None,
            document=f"delivery note {throw.randint(10000, 99999)}",
            quarantine=quarantine,
        )
        self.put(part, lot, pieces)
        self.on_order.discard(part.pk)
        bad_from = world.start + (world.now - world.start) * BAD_FROM_SHARE
        if part.number == BAD_PART and self.bad_lot is None and world.time >= bad_from:
            self.bad_lot = lot
        return lot

    def put(self, part: Part, lot: Lot, pieces: int) -> None:
        """Remember a lot that came onto the shelf."""
        lot.part = part
        self.left[lot.pk] = pieces
        self.lots.setdefault(part.pk, []).append(lot)

    def leaked(self, lot: Lot) -> None:
        """Count a leak of the bad lot; the lot goes on hold when the shop notices."""
        self.leaks += 1
        if self.leaks == LEAKS_BEFORE_HOLD:
            self.world.begin(self._hold(lot), self.world.after(hours=3))

    def _hold(self, lot: Lot) -> Process:
        reason = (
            f"lips cracked within months in {LEAKS_BEFORE_HOLD} units; supplier asked for the batch record"
        )
        held = hold_lot(act=self.world.act(STORES), lot=lot, reason=reason)
        lot.state = held.state
        self.took(lot, 0)
        return
        yield

    def settle(self, movement: Movement) -> Process:
        """Find out, a few days later, why a piece was in the bin and not on the ledger."""
        yield self.world.after(days=4)
        finding = "counted: the delivery held one piece more than its note says"
        settle_found(act=self.world.act(STORES), movement=movement, finding=finding)

    def pack(self, kind: DemoType) -> None:
        """Pack a kit from the shelf, where every part is there."""
        chosen: dict[KitLine, Lot] = {}
        for line in kind.kit_lines:
            lot = self.pick(line.part, line.quantity)
            if lot is None:
                break
            chosen[line] = lot
            self.left[lot.pk] -= line.quantity
        if len(chosen) < len(kind.kit_lines):
            for line, lot in chosen.items():
                self.left[lot.pk] += line.quantity
            return
        packed = pack_kit(act=self.world.act(STORES), kit=kind.kit_lines[0].kit, lots=chosen)
        self.kits.setdefault(kind.revision.pk, []).append(Packed(packed, chosen))
        for lot in chosen.values():
            self.took(lot, 0)

    def packed_kit(self, kind: DemoType) -> Packed | None:
        """Return a packed kit of a type; one with a lot that may no longer be used is unpacked."""
        waiting = self.kits.get(kind.revision.pk, [])
        while waiting:
            packed = waiting.pop(0)
            if all(map(self.is_usable, packed.lots.values())):
                return packed
            unpack_kit(act=self.world.act(STORES, "a lot in it may no longer be used"), packed_kit=packed.kit)
            for line, lot in packed.lots.items():
                self.left[lot.pk] += line.quantity
        return None

    def _batch(self, part: Part) -> int:
        """Return how many pieces are bought at once: about nine months' worth."""
        return max(self._reorder_at(part) + 8, round(self.yearly(part) * 0.75))

    def _reorder_at(self, part: Part) -> int:
        return 4 + round(self.yearly(part) * 0.06)

    def yearly(self, part: Part) -> float:
        """Return how many pieces of a part are used in a year, from the share of each unit type."""
        kinds = self.world.types.values()
        shares = sum(kind.data["share"] for kind in kinds)
        pieces: float = sum(
            kind.data["share"] / shares * line.quantity
            for kind in kinds
            for line in kind.kit_lines
            if line.part_id == part.pk
        )
        return pieces * self.world.size / YEARS


def open_stores(world: World) -> Shelf:
    """Fill the shelf before the first unit, and let time and people work on it."""
    shelf = Shelf(world)
    slow = dict(SLOW_MOVERS)
    for number, part in world.parts.items():
        if number in slow:
            # Cured more than four years before: past its seven years while the history runs.
            shelf.receive(part, slow[number], age_days=1700)
        if shelf.yearly(part):
            shelf.receive(part, shelf._batch(part), age_days=120)
    span = world.now - world.start
    shelf.finds = [world.start + span * share for share in FOUND_AT_SHARES]
    shelf.finds.append(world.now - LAST_FIND)
    world.begin(_yearly_count(shelf), world.start + span * 0.8)
    world.begin(_nicked(shelf), in_hours(world.now - NICKED_AGO))
    world.begin(_being_counted(shelf), in_hours(world.now - BEING_COUNTED_AGO))
    return shelf


def _yearly_count(shelf: Shelf) -> Process:
    """Count the drawer of the clips: one is missing, which the lead looks at and books."""
    world, part = shelf.world, shelf.world.parts["CL-06"]
    lot = shelf.pick(part, 3)
    if lot is None:
        return
    row = counting.begin_count(act=world.act(STORES), place=place_of(part))
    yield world.after(minutes=20)
    counting.enter_counted(act=world.act(STORES), count=row, counted=_lying(row, missing=lot))
    shelf.left[lot.pk] -= 1
    yield world.after(minutes=50)
    act = world.act(LEAD, "yearly count: looked through the drawer once more, one clip is not there")
    counting.book_count(act=act, count=row)


def _being_counted(shelf: Shelf) -> Process:
    """Begin to count another drawer, today: half of it is entered."""
    world = shelf.world
    row = counting.begin_count(act=world.act(STORES), place=place_of(world.parts["OR-110-NB"]))
    yield world.after(minutes=15)
    lying = _lying(row)
    counting.enter_counted(
        act=world.act(STORES), count=row, counted=dict(list(lying.items())[: len(lying) // 2 + 1])
    )


def _lying(count: PlaceCount, missing: Lot | None = None) -> dict[Lot, int]:
    """Return what lies at the place that is counted, by lot, less one of the lot that has one missing."""
    held = dict(Balance.objects.filter(place=count.place).values_list("lot", "quantity"))
    lots = [line.lot for line in count.lines.select_related("lot")]
    return {lot: held.get(lot.pk, 0) - (lot == missing) for lot in lots}


def _nicked(shelf: Shelf) -> Process:
    """Hold every lot of one seal: what was looked at cannot go in."""
    for lot in shelf.lots.get(shelf.world.parts[NICKED].pk, []):
        if shelf.is_usable(lot):
            reason = "lip nicked in three of five looked at; supplier asked for the batch record"
            lot.state = hold_lot(act=shelf.world.act(STORES), lot=lot, reason=reason).state
    return
    yield


def place_of(part: Part) -> str:
    """Return the drawer of a part."""
    drawers: Mapping[str, str] = {"o_ring": "A", "lip_seal": "B", "wiper": "B", "energised": "C"}
    return f"{drawers.get(part.kind, 'D')}{part.pk % 9 + 1}"


def cost_of(part: Part) -> Decimal:
    """Return what a piece costs, by the data file."""
    rows = {number: cost for number, *_rest, cost in shop_data()["parts"]["rows"]}
    return Decimal(str(rows[part.number])).quantize(Decimal("0.01"))

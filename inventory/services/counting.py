"""Counting by place: begun, counted blind, and booked in one transaction, or dropped."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Balance, CountLine, Lot, Movement, PlaceCount
from inventory.services.count_limits import may_book_alone, second_person_above
from inventory.services.stock import adjust, check_counted, check_reason, stores_place
from inventory.services.walking import natural, places_in_use
from shop.errors import RuleBroken
from shop.services.writing import Act, keep, locked, service

State = PlaceCount.State


@dataclass(frozen=True, kw_only=True)
class Differences:
    """What a count found against the ledger of its moments, with its value at the cost of the lots."""

    lines: Sequence[CountLine]

    @property
    def value(self) -> Decimal:
        """Worth of all differences, those up and those down added without their sign."""
        return sum((abs(value) for row in self.lines if (value := value_of(row)) is not None), Decimal(0))

    @property
    def of_unknown_cost(self) -> list[CountLine]:
        """Differences in lots whose cost nobody entered."""
        return [row for row in self.lines if value_of(row) is None]

    def needs_second(self, limit: Decimal) -> bool:
        """Whether they are worth more than the limit, or of unknown worth."""
        return self.value > limit or bool(self.of_unknown_cost)


def value_of(line: CountLine) -> Decimal | None:
    """Return what a difference is worth, with its sign; None where the lot has no cost."""
    return None if line.lot.unit_cost is None else line.difference * line.lot.unit_cost


@service("stores")
def begin_count(*, act: Act, place: str) -> PlaceCount:
    """Begin to count a place: the lots that the ledger has there are listed, without their pieces.

    A place where the ledger has nothing is counted as well: what lies there is added. Raises RuleBroken
    for no name of a place, and for another way to write one where the ledger has something.
    """
    place = stores_place(place)
    if not natural(place):
        raise RuleBroken(fields={"place": "Name the place."})
    held = Lot.objects.filter(balances__place=place, balances__quantity__gt=0)
    lots = list(held.order_by("part__number", "number"))
    same = () if lots else [name for name, _named in places_in_use() if natural(name) == natural(place)]
    if same:
        raise RuleBroken(fields={"place": f"The ledger calls that place {same[0]}: count it by that name."})
    count = keep(PlaceCount(place=place, begun_at=act.at, begun_by=act.by))
    for lot in lots:
        keep(CountLine(count=count, lot=lot))
    return count


@service("stores")
def enter_counted(*, act: Act, count: PlaceCount, counted: Mapping[Lot, int]) -> PlaceCount:
    """Write down what was counted, with the ledger of this moment beside it.

    What moves afterwards changes neither, so that the difference stays true. A lot that the ledger
    does not have at the place is added. A second entry of a lot takes the place of the first.
    """
    row = _open(count)
    if not counted:
        raise RuleBroken("Nothing was counted.")
    lines = {line.lot_id: line for line in row.lines.all()}
    # By lot, so that two people counting at once hold the lots in the same order.
    for lot, pieces in sorted(counted.items(), key=lambda pair: pair[0].pk):
        check_counted(pieces, "other_pieces")
        held = Balance.objects.filter(lot=locked(lot), place=row.place).values_list("quantity", flat=True)
        line = lines.get(lot.pk) or CountLine(count=row, lot=lot)
        line.counted, line.ledger, line.counted_by = pieces, held.first() or 0, act.by
        keep(line)
    return row


def differences_of(count: PlaceCount) -> Differences:
    """Return the lines of a count where the ledger of the moment was wrong."""
    lines = count.lines.filter(counted__isnull=False).select_related("lot__part", "counted_by")
    return Differences(lines=[line for line in lines if line.difference])


def moved_since(count: PlaceCount) -> dict[int, list[Movement]]:
    """Return what came to the place or left it since its count began, by the key of the lot; one query."""
    rows = Movement.objects.filter(place=count.place, at__gte=count.begun_at).select_related("by")
    found: dict[int, list[Movement]] = {}
    for row in rows.order_by("pk"):
        found.setdefault(row.lot_id, []).append(row)
    return found


@service("stores")
def book_count(*, act: Act, count: PlaceCount) -> PlaceCount:
    """Bring the ledger to what was counted, every difference or none; ``act.why`` is the reason.

    Above the limit of the shop somebody books who did not count, unless the shop has switched that
    off; the record then says “same person”. Raises RuleBroken where a lot is not counted, a second
    person is needed, or pieces that were counted as missing were taken since.
    """
    check_reason(act)
    row = _open(count)
    open_lines = row.lines.filter(counted__isnull=True).select_related("lot")
    if missing := ", ".join(str(line.lot) for line in open_lines):
        raise RuleBroken(f"Not counted yet: {missing}. Enter 0 where none lies.")
    found = differences_of(row)
    row.same_person = _same_person(act, row, found)
    for line in sorted(found.lines, key=lambda line: line.lot_id):
        fresh = locked(line)
        fresh.movement = adjust(
            act=act, lot=line.lot, change=line.difference, place=row.place, document=f"count {row.pk}"
        )
        keep(fresh)
    return _close(act, row, State.BOOKED)


def _same_person(act: Act, count: PlaceCount, found: Differences) -> bool:
    limit = second_person_above()
    if not found.needs_second(limit) or not count.lines.filter(counted_by=act.by).exists():
        return False
    if may_book_alone():
        return True
    raise RuleBroken(
        f"The differences are worth more than {limit:.2f}, or of unknown worth: "
        "somebody who did not count looks at them and books."
    )


@service("stores")
def drop_count(*, act: Act, count: PlaceCount) -> PlaceCount:
    """Drop a count without changing the ledger; ``act.why`` is the reason."""
    check_reason(act)
    return _close(act, _open(count), State.DROPPED)


def _open(count: PlaceCount) -> PlaceCount:
    row = locked(count)
    if row.state != State.OPEN:
        raise RuleBroken(f"The {row} is {row.get_state_display()} already.")
    return row


def _close(act: Act, row: PlaceCount, state: str) -> PlaceCount:
    row.state, row.closed_at, row.closed_by, row.reason = state, act.at, act.by, act.why[:300]
    return keep(row)

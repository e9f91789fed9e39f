"""What open work still needs by its kits, and what the stores can give: every piece is promised once.

The unit that is wanted first is served first: a rush by the day it is wanted, then by arrival.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import chain

from django.db.models import F

from inventory.models import KitLine, PackedKit
from inventory.services.kits import Option, PlaceChoice, kits_of, packed_kits_of
from inventory.services.order_facts import Stock, stock_by_part
from workorders.models import Finding, PartUsed, Rebuild
from workorders.services.build_needs import Need, wanted
from workorders.services.places import Key, Place, key_of, row_key
from workorders.services.work import placed

PLACE_KEYS = ("position_id", "component_id", "port_id", "hose_id")


@dataclass(frozen=True, kw_only=True)
class PartWanted:
    """Pieces of one kit line that a place still waits for, and where they come from."""

    rebuild: Rebuild
    place: Place
    line: KitLine
    pieces: int
    given: int = 0  # promised from the shelf
    packed: PackedKit | None = None  # all of it lies in this packed kit
    instead_of: tuple[KitLine, ...] = ()  # the preferred set, on the first line of one that stands in
    others: tuple[KitLine, ...] = ()  # alternatives that the kit names for the place

    @property
    def short(self) -> int:
        """Pieces that nobody can give."""
        return 0 if self.packed else self.pieces - self.given


@dataclass(frozen=True, kw_only=True)
class UnitParts:
    """One open rebuild with every part that it waits for; ``unnamed`` are places without a part."""

    rebuild: Rebuild
    wanted: tuple[PartWanted, ...] = ()
    unnamed: tuple[str, ...] = ()
    has_kit: bool = True
    is_rejected: bool = False

    @property
    def short(self) -> int:
        """Pieces that are short."""
        return sum(row.short for row in self.wanted)

    @property
    def alternatives(self) -> int:
        """Places at which an alternative stands in."""
        return sum(bool(row.instead_of) for row in self.wanted)

    @property
    def packed(self) -> PackedKit | None:
        """The packed kit that waits for the unit."""
        return next((row.packed for row in self.wanted if row.packed), None)

    @property
    def state(self) -> tuple[str, str]:
        """Word and shape: whether the work can start."""
        if self.is_rejected:
            return "rejected, not built", "plain"
        if self.short:
            return f"short of {self.short}", "bad"
        if not self.has_kit:
            return "no kit", "ask"
        if self.unnamed:
            return f"the kit names no part for {', '.join(self.unnamed)}", "ask"
        if not self.wanted:
            return "nothing to fit", "good"
        if self.alternatives:
            return f"all there, {self.alternatives} by an alternative", "warn"
        return "all there", "good"


@dataclass
class Stores:
    """What is left to promise: pieces on the shelf by part, packed kits by revision."""

    stock: Mapping[int, Stock]
    packed: Mapping[int, list[PackedKit]]
    left: dict[int, int] = field(init=False)

    def __post_init__(self) -> None:
        self.left = defaultdict(int, {part: stock.shelf for part, stock in self.stock.items()})

    def take(self, line: KitLine, pieces: int) -> int:
        """Promise as many pieces as there are, and return how many."""
        given = min(pieces, self.left[line.part_id])
        self.left[line.part_id] -= given
        return given

    def kit_for(self, revision: int, open_lines: Mapping[int, int]) -> PackedKit | None:
        """Promise the first packed kit of which a unit needs everything; ``open_lines``: line -> pieces."""
        waiting = self.packed.get(revision, [])
        for packed in waiting:
            if all(line.quantity <= open_lines.get(line.kit_line_id, 0) for line in packed.lines.all()):
                waiting.remove(packed)
                return packed
        return None


@dataclass(frozen=True)
class OpenWork:
    """Every open rebuild in the order of promising, and what the stores hold."""

    units: list[UnitParts]
    stores: Stores


def waiting_rebuilds() -> list[Rebuild]:
    """Return the rebuilds that may still need parts, in the order in which they are served; one query."""
    rows = Rebuild.objects.open().exclude(stage=Rebuild.Stage.RELEASED)
    rows = rows.select_related("work_order__customer", "unit__unit_type", "revision__unit_type")
    rush = F("work_order__rush_wanted_by").asc(nulls_last=True)
    return list(rows.order_by(rush, "received_at", "pk"))


def open_work(*, on: date, until: Collection[int] | None = None) -> OpenWork:
    """Promise what the stores hold on a day to the open rebuilds, one after the other.

    ``until``: keys of rebuilds; what comes after the last of them is left out, since it changes
    nothing for them. The number of queries does not grow with rebuilds, places or lots.
    """
    rebuilds = waiting_rebuilds()
    if until is not None:
        last = max((at for at, row in enumerate(rebuilds, 1) if row.pk in until), default=0)
        rebuilds = rebuilds[:last]
    revisions = {row.revision_id for row in rebuilds}
    kits = kits_of(revisions)
    parts = {line.part_id for choices in kits.values() for line in _all_lines(choices)}
    stores = Stores(stock=stock_by_part(on=on, parts=parts), packed=packed_kits_of(revisions, on=on))
    findings, fitted = _findings(rebuilds), _fitted(rebuilds)
    named = _named_places(rebuilds, findings, fitted, kits)
    units = [
        _unit(row, kits.get(row.revision_id), findings[row.pk], fitted[row.pk], named[row.pk], stores)
        for row in rebuilds
    ]
    return OpenWork(units, stores)


def units_of(rebuilds: Iterable[Rebuild], *, on: date) -> dict[int, UnitParts]:
    """Return what the given rebuilds wait for, by key; those that wait for nothing more are left out."""
    keys = {row.pk for row in rebuilds}
    work = open_work(on=on, until=keys) if keys else None
    return {unit.rebuild.pk: unit for unit in (work.units if work else ()) if unit.rebuild.pk in keys}


def _all_lines(choices: Iterable[PlaceChoice]) -> Iterable[KitLine]:
    return (line.line for choice in choices for option in choice.options for line in option.lines)


Findings = dict[Key, Finding]
Fitted = dict[Key, list[PartUsed]]


def _findings(rebuilds: Collection[Rebuild]) -> dict[int, Findings]:
    rows = Finding.objects.filter(rebuild__in=[row.pk for row in rebuilds]).order_by()
    found: dict[int, Findings] = defaultdict(dict)
    for row in rows.only("rebuild_id", "action", *PLACE_KEYS):
        found[row.rebuild_id][_key(row)] = row
    return found


def _fitted(rebuilds: Collection[Rebuild]) -> dict[int, Fitted]:
    rows = PartUsed.objects.filter(
        rebuild__in=[row.pk for row in rebuilds], use=PartUsed.Use.FITTED, taken_back__isnull=True
    ).order_by("pk")
    rows = rows.select_related("lot").only("rebuild_id", "use", "quantity", "lot__part_id", *PLACE_KEYS)
    found: dict[int, Fitted] = defaultdict(lambda: defaultdict(list))
    for row in rows:
        if row_key(row):
            found[row.rebuild_id][_key(row)].append(row)
    return found


def _key(row: Finding | PartUsed) -> Key:
    key = row_key(row)
    assert key is not None
    return key


def _named_places(
    rebuilds: Iterable[Rebuild],
    findings: Mapping[int, Findings],
    fitted: Mapping[int, Fitted],
    kits: Mapping[int, list[PlaceChoice]],
) -> dict[int, list[str]]:
    """Name the places to be renewed for which the kit has no part and nothing is fitted; one query."""
    in_kit = {key: {key_of(choice.place) for choice in choices} for key, choices in kits.items()}
    bare = [
        found.pk
        for row in rebuilds
        for key, found in findings[row.pk].items()
        if found.action == Finding.Action.RENEWED
        and key not in in_kit.get(row.revision_id, ())
        and not fitted[row.pk].get(key)
    ]
    names: dict[int, list[str]] = defaultdict(list)
    for found in placed(Finding.objects.filter(pk__in=bare).order_by("pk")) if bare else ():
        names[found.rebuild_id].append(found.place.code)
    return names


def _unit(
    rebuild: Rebuild,
    kit: list[PlaceChoice] | None,
    findings: Findings,
    fitted: Fitted,
    unnamed: list[str],
    stores: Stores,
) -> UnitParts:
    if any(row.action == Finding.Action.REJECTED for row in findings.values()):
        return UnitParts(rebuild=rebuild, is_rejected=True)
    needs = [
        Need(
            place=choice.place,
            finding=findings.get(key_of(choice.place)),
            choice=choice,
            parts=fitted.get(key_of(choice.place), []),
        )
        for choice in kit or ()
    ]
    waiting = [need for need in needs if need.is_open]
    open_lines = {
        line.line.pk: need.outstanding(line.line)
        for need in waiting
        for option in need.options
        for line in option.lines
    }
    packed = stores.kit_for(rebuild.revision_id, open_lines) if waiting else None
    in_packed = {line.kit_line_id for line in packed.lines.all()} if packed else set()
    rows = [row for need in waiting for row in _at(rebuild, need, packed, in_packed, stores)]
    return UnitParts(rebuild=rebuild, wanted=tuple(rows), unnamed=tuple(unnamed), has_kit=kit is not None)


def _at(
    rebuild: Rebuild, need: Need, packed: PackedKit | None, in_packed: set[int], stores: Stores
) -> list[PartWanted]:
    """Choose the set for one place: what lies in the packed kit, else what is begun, else what is there.

    Where nothing is all there, the preferred set takes what it can get. An alternative says what it
    stands in for on its first line.
    """
    ready = [option for option in need.options if _lines(option) <= in_packed]
    fitted = need.fitted
    begun = [option for option in need.options if any(fitted[x.line.part_id] for x in option.lines)]
    option = next(chain(ready, begun, _all_there(need, stores)), need.options[0])
    decided = option is need.options[0] or begun
    rows = [
        PartWanted(
            rebuild=rebuild,
            place=need.place,
            line=line,
            pieces=pieces,
            given=0 if ready else stores.take(line, pieces),
            packed=packed if ready else None,
            others=tuple(x.line for other in need.options if other is not option for x in other.lines),
        )
        for line, _n in wanted(option)
        if (pieces := need.outstanding(line))
    ]
    if rows and not decided:
        preferred = tuple(line for line, _n in wanted(need.options[0]))
        rows[0] = replace(rows[0], instead_of=preferred)
    return rows


def _lines(option: Option) -> set[int]:
    return {choice.line.pk for choice in option.lines}


def _all_there(need: Need, stores: Stores) -> Iterator[Option]:
    """Yield the sets that the shelf can still give, the preferred one first."""
    for option in need.options:
        asked: dict[int, int] = defaultdict(int)
        for line, pieces in wanted(option):
            asked[line.part_id] += pieces
        if all(stores.left[part] >= pieces for part, pieces in asked.items()):
            yield option

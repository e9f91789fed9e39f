"""Kits: what renews a revision, and sets packed ahead from known lots."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

from django.db.models import Prefetch

from inventory.models import Balance, Kit, KitLine, Lot, PackedKit, PackedKitLine
from inventory.models.kit import PLACE_FIELDS
from inventory.services.picking import checked_pick
from inventory.services.stock import KIT_PREFIX, day_of, home_place, refuse_unusable, shift
from shop.errors import RuleBroken
from shop.models import Component, Hose, Port, SealPosition, TypeRevision
from shop.services.numbering import next_number
from shop.services.writing import Act, keep, locked, service


@dataclass(frozen=True, kw_only=True)
class LineChoice:
    """One part that may go to a place, with the usable lots in the order of picking."""

    line: KitLine
    lots: Sequence[Lot]


@dataclass(frozen=True, kw_only=True)
class Option:
    """Parts that go to a place together, such as an O-ring with its back-up ring."""

    lines: Sequence[LineChoice]

    @property
    def complete(self) -> bool:
        """Whether the stores can give every part of the option."""
        return all(choice.lots for choice in self.lines)


@dataclass(frozen=True, kw_only=True)
class PlaceChoice:
    """A place of the kit with its options in order of preference."""

    place: SealPosition | Component | Port | Hose
    options: Sequence[Option]

    @property
    def required(self) -> bool:
        """Whether the place needs a part before the unit can be released."""
        return any(choice.line.required for option in self.options for choice in option.lines)

    @property
    def proposed(self) -> dict[KitLine, Lot]:
        """Lines and lots of the most preferred option that the stores can give; empty if none."""
        best = next((option for option in self.options if option.complete), None)
        return {choice.line: choice.lots[0] for choice in best.lines} if best else {}


def kit_choices(*, revision: TypeRevision, on: date | None) -> list[PlaceChoice]:
    """Return the kit of a revision place by place; empty where the revision has none.

    Lines of one place and one preference go in together; other preferences are alternatives.
    A lot is offered when it is usable on that day and one place of the stores holds enough of it;
    the first to expire comes first; ``on`` None offers none. The number of queries does not grow
    with the kit.
    """
    lines = KitLine.objects.filter(kit__revision=revision).select_related(
        "part", "position", "component", "port", "hose"
    )
    if on:
        lines = lines.prefetch_related(_fitting(on))
    return _choices(lines)


def kits_of(revisions: Collection[int]) -> dict[int, list[PlaceChoice]]:
    """Return the kits of many revisions place by place, by the key of the revision, without lots.

    A revision that has no kit is left out. Two queries.
    """
    rows = KitLine.objects.filter(kit__revision__in=revisions).order_by("kit_id")
    lines = rows.select_related("kit", "part", "position", "component", "port", "hose")
    by_revision = groupby(lines, key=lambda line: line.kit.revision_id)
    found = {revision: _choices(group) for revision, group in by_revision}
    bare = Kit.objects.filter(revision__in=revisions).exclude(revision__in=found)
    return {**found, **{revision: [] for revision in bare.values_list("revision", flat=True)}}


def packed_kits_of(revisions: Collection[int], *, on: date) -> dict[int, list[PackedKit]]:
    """Return the packed kits of revisions that may be used on a day, first packed first; two queries."""
    rows = PackedKit.objects.filter(state=PackedKit.State.PACKED, kit__revision__in=revisions)
    rows = rows.select_related("kit").prefetch_related(
        Prefetch("lines", PackedKitLine.objects.select_related("lot"))
    )
    found: dict[int, list[PackedKit]] = {}
    for packed in rows.order_by("packed_at", "pk"):
        lots = [line.lot for line in packed.lines.all()]
        if all(lot.state == Lot.State.ACCEPTED and not lot.is_expired(on) for lot in lots):
            found.setdefault(packed.kit.revision_id, []).append(packed)
    return found


def _choices(lines: Iterable[KitLine]) -> list[PlaceChoice]:
    ordered = sorted(lines, key=_place_order)
    return [_place_choice(list(group)) for _key, group in groupby(ordered, key=_place_key)]


def _fitting(on: date) -> Any:
    """Read the lots of each part that are usable on a day and lie on the shelf, in order of picking."""
    shelf = Balance.objects.filter(quantity__gt=0).exclude(place__startswith=KIT_PREFIX)
    lots = Lot.objects.usable(on=on).filter(balances__in=shelf).distinct().first_expired_first()
    return Prefetch(
        "part__lots", lots.prefetch_related(Prefetch("balances", shelf, to_attr="shelf")), to_attr="fitting"
    )


def _place_choice(lines: Sequence[KitLine]) -> PlaceChoice:
    options = []
    for _preference, together in groupby(lines, key=lambda line: line.preference):
        options.append(Option(lines=[LineChoice(line=line, lots=_holding_enough(line)) for line in together]))
    return PlaceChoice(place=lines[0].place, options=options)


def lines_of(kit: Kit) -> list[KitLine]:
    """Return the lines of a kit by place, then by preference."""
    lines = kit.lines.select_related("part", "position", "component", "port", "hose")
    return sorted(lines, key=_place_order)


def packed_lines(packed_kit: PackedKit) -> list[PackedKitLine]:
    """Return what is in a packed kit by place, as the kit lists it; it was written by lot."""
    lines = packed_kit.lines.select_related(
        "lot__part", "kit_line__position", "kit_line__component", "kit_line__port", "kit_line__hose"
    )
    return sorted(lines, key=lambda line: _place_order(line.kit_line))


@service("pack_kits")
def pack_kit(
    *,
    act: Act,
    kit: Kit,
    lots: Mapping[KitLine, Lot],
    code: str | None = None,
    lot_reason: str = "",
) -> PackedKit:
    """Pack a kit: one line per place, each from one lot, moved to the place ``kit CODE``.

    Raises RuleBroken where a required place is missing or doubled, a part does not match, a lot
    is not usable or does not hold enough, or one that expires earlier is passed over without
    ``lot_reason``; then nothing is packed.
    """
    _check_places(kit, lots)
    packed = keep(
        PackedKit(
            code=(code or "").strip() or next_number("K", act.at),
            kit=kit,
            packed_at=act.at,
            packed_by=act.by,
        )
    )
    # By lot, so that two people packing at once hold the balances in the same order.
    for line, lot in sorted(lots.items(), key=lambda pair: (pair[1].pk, pair[0].pk)):
        if lot.part_id != line.part_id:
            raise RuleBroken(f"Lot {lot} is part {lot.part.number}; {line.place} takes {line.part.number}.")
        refuse_unusable(locked(lot), day_of(act))
        pick = checked_pick(lot=lot, quantity=line.quantity, on=day_of(act), reason=lot_reason)
        place = KIT_PREFIX + packed.code
        shift(act=act, lot=lot, quantity=line.quantity, place=None, to_place=place, document=packed.code)
        keep(
            PackedKitLine(
                packed_kit=packed,
                kit_line=line,
                lot=lot,
                quantity=line.quantity,
                lot_reason=lot_reason.strip() if pick.first else "",
                lot_warning=pick.warning,
            )
        )
    return packed


@service("pack_kits")
def unpack_kit(*, act: Act, packed_kit: PackedKit) -> PackedKit:
    """Put the pieces of a packed kit back to their places in the stores."""
    packed = locked(packed_kit)
    if packed.state != PackedKit.State.PACKED:
        raise RuleBroken(f"Kit {packed} is {packed.get_state_display()}: there is nothing left to unpack.")
    for line in packed.lines.select_related("lot").order_by("lot", "pk"):
        shift(
            act=act,
            lot=line.lot,
            quantity=line.quantity,
            place=KIT_PREFIX + packed.code,
            to_place=home_place(line.lot),
            document=packed.code,
        )
    packed.state = PackedKit.State.UNPACKED
    return keep(packed)


@service("build")
def mark_kit_used(*, act: Act, packed_kit: PackedKit, document: str) -> PackedKit:
    """Close a packed kit; the caller takes its pieces from ``place_of_kit`` for the same document."""
    packed = locked(packed_kit)
    if packed.state != PackedKit.State.PACKED:
        raise RuleBroken(f"Kit {packed} is {packed.get_state_display()}; scan another one.")
    packed.state, packed.document = PackedKit.State.USED, document
    return keep(packed)


def place_of_kit(packed_kit: PackedKit) -> str:
    """Return the ledger place at which the pieces of a packed kit lie."""
    return KIT_PREFIX + packed_kit.code


def _check_places(kit: Kit, lots: Mapping[KitLine, Lot]) -> None:
    """Refuse a choice of lines that leaves a required place empty or mixes alternatives."""
    if not lots:
        raise RuleBroken("Choose at least one lot: an empty kit cannot be packed.")
    for line in lots:
        if line.kit_id != kit.pk:
            raise RuleBroken(f"{line} belongs to another kit.")
    lines = lines_of(kit)
    missing = []
    for _key, group in groupby(lines, key=_place_key):
        of_place = list(group)
        chosen = {line for line in of_place if line in lots}
        if not chosen and any(line.required for line in of_place):
            missing.append(str(of_place[0].place))
        options = [set(together) for _p, together in groupby(of_place, key=lambda line: line.preference)]
        if chosen and chosen not in options:
            raise RuleBroken(f"{of_place[0].place}: take all parts of one alternative, and of one only.")
    if missing:
        raise RuleBroken(f"The kit is not complete. Without a lot: {', '.join(missing)}.")


def _place_key(line: KitLine) -> tuple[str, int]:
    kind = next(kind for kind in PLACE_FIELDS if getattr(line, f"{kind}_id"))
    return kind, getattr(line, f"{kind}_id")


def _place_order(line: KitLine) -> tuple[int, int, str, int, int]:
    return (
        PLACE_FIELDS.index(_place_key(line)[0]),
        line.place.order,
        line.place.code,
        line.preference,
        line.pk,
    )


def _holding_enough(line: KitLine) -> list[Lot]:
    lots: list[Any] = getattr(line.part, "fitting", [])
    return [lot for lot in lots if any(row.quantity >= line.quantity for row in lot.shelf)]

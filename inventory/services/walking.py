"""The order in which places of the stores are walked past: as the shop sets it, else as people count."""

import re
from collections.abc import Callable, Iterable

from inventory.models import Balance, WalkingOrder
from inventory.services.stock import KIT_PREFIX
from shop.errors import RuleBroken
from shop.services.writing import Act, keep, locked, service

Token = tuple[int, int, str]  # numbers before words, each by its own size
PLACE_LENGTH = 40
_PIECES = re.compile(r"\d+|[^\W\d_]+")


def natural(place: str) -> tuple[Token, ...]:
    """Return what a place is sorted by: words and whole numbers in turn, so that A2 comes before A10."""
    pieces = _PIECES.findall(place.casefold())
    return tuple((0, int(piece), "") if piece.isdecimal() else (1, 0, piece) for piece in pieces)


def walking_key(lines: Iterable[str]) -> Callable[[str], tuple[int, tuple[Token, ...], str]]:
    """Return the key by which places are sorted for the given walking order.

    A line stands for the place of that name and for every place whose name begins with it, whole
    words and numbers only: ``A1`` is also ``A1 left``, and not ``A10``. Of several lines that fit,
    the longest counts. Places that no line names come last, as people count.
    """
    order = {natural(line): at for at, line in enumerate(lines)}

    def key(place: str) -> tuple[int, tuple[Token, ...], str]:
        tokens = natural(place)
        fits = (order[tokens[:length]] for length in range(len(tokens), 0, -1) if tokens[:length] in order)
        return next(fits, len(order)), tokens, place

    return key


def walking_lines() -> list[str]:
    """Return the lines of the walking order as the shop has set them; empty where it has not."""
    text = WalkingOrder.objects.values_list("lines", flat=True).first() or ""
    return text.splitlines()


def places_in_use() -> list[tuple[str, bool]]:
    """Return the places where pieces lie in walking order, and whether a line names each."""
    lines = walking_lines()
    key = walking_key(lines)
    held = Balance.objects.filter(quantity__gt=0).exclude(place__startswith=KIT_PREFIX)
    places = held.order_by().values_list("place", flat=True).distinct()
    last = len({natural(line) for line in lines})
    return [(place, key(place)[0] < last) for place in sorted(places, key=key)]


@service("stores")
def set_walking_order(*, act: Act, lines: Iterable[str]) -> WalkingOrder:
    """Set the order in which places are walked past; none leaves them as people count.

    Raises RuleBroken for a line that names no place, or names one twice.
    """
    kept = [line for text in lines if (line := " ".join(text.split()))]
    seen: dict[tuple[Token, ...], str] = {}
    for line in kept:
        tokens = natural(line)
        if not tokens or len(line) > PLACE_LENGTH:
            raise RuleBroken(fields={"lines": f"“{line[:PLACE_LENGTH]}” is no name of a place."})
        if tokens in seen:
            message = f"“{line}” stands there twice, the first time as “{seen[tokens]}”."
            raise RuleBroken(fields={"lines": message})
        seen[tokens] = line
    return _save("\n".join(kept))


@service("stores")
def undo_walking_order(*, act: Act) -> WalkingOrder:
    """Put the walking order back as it stood before the last change; done twice, the change stands again."""
    row = WalkingOrder.objects.first()
    versions = row.history.order_by("-history_id") if row else ()
    earlier = next((old.lines for old in versions if row and old.lines != row.lines), None)
    if row is None or (earlier is None and not row.lines):
        raise RuleBroken("There is no change of the walking order to take back.")
    return _save(earlier or "")


def _save(text: str) -> WalkingOrder:
    first = WalkingOrder.objects.first()
    row = locked(first) if first else WalkingOrder(pk=1)
    row.lines = text
    return keep(row)

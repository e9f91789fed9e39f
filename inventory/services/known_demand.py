"""Pieces that are known to be wanted: told by a later app, so that imports keep running one way."""

from collections import Counter
from collections.abc import Callable, Mapping
from datetime import date

# Takes a day; gives the pieces that are wanted from the shelf or from orders, by the key of the part.
Reader = Callable[[date], Mapping[int, int]]

_readers: list[Reader] = []


def register(reader: Reader) -> None:
    """Let a later app tell what it wants; call from ``AppConfig.ready``."""
    if reader not in _readers:
        _readers.append(reader)


def known_demand(on: date) -> Counter[int]:
    """Return the pieces wanted on a day, by the key of the part; 0 for a part that nobody wants."""
    found: Counter[int] = Counter()
    for reader in _readers:
        found.update(reader(on))
    return found

"""Superseded makers' numbers: which types a number leads to."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class KnownNumber:
    """A maker's number that leads to a type; ``remark`` says what superseded it, or where it belongs."""

    number: str
    bare: str
    remark: str = ""


@dataclass(frozen=True, kw_only=True)
class NumberRow:
    """A maker's number as it is kept: of which type, and the key of the number that superseded it."""

    key: int
    entry: int
    code: str
    number: str
    bare: str
    superseded_by: int | None = None


def known_numbers(*, rows: Iterable[NumberRow]) -> dict[int, tuple[KnownNumber, ...]]:
    """Return the numbers that lead to each type: its own, and those that its own superseded.

    Parameters
    ----------
    rows : iterable of NumberRow
        Every number of the catalogue.

    Returns
    -------
    dict
        By type; a type's own numbers come first. A chain is followed to its end, through every type
        on the way; a chain that comes back to its beginning ends there.
    """
    by_key = {row.key: row for row in rows}
    own: dict[int, list[KnownNumber]] = {}
    led: dict[int, list[KnownNumber]] = {}
    for row in by_key.values():
        later = _successors(row, by_key)
        own.setdefault(row.entry, []).append(
            KnownNumber(number=row.number, bare=row.bare, remark=_superseded(row, later))
        )
        for at in {one.entry: one for one in later if one.entry != row.entry}.values():
            remark = f"Number {row.number} of {row.code} was superseded by {at.number} of this type."
            led.setdefault(at.entry, []).append(KnownNumber(number=row.number, bare=row.bare, remark=remark))
    return {key: (*own.get(key, ()), *led.get(key, ())) for key in own.keys() | led.keys()}


def _successors(row: NumberRow, by_key: Mapping[int, NumberRow]) -> list[NumberRow]:
    found: list[NumberRow] = []
    seen, later = {row.key}, by_key.get(row.superseded_by or 0)
    while later and later.key not in seen:
        seen.add(later.key)
        found.append(later)
        later = by_key.get(later.superseded_by or 0)
    return found


def _superseded(row: NumberRow, later: Sequence[NumberRow]) -> str:
    if not later:
        return ""
    of = "" if later[-1].entry == row.entry else f" of {later[-1].code}"
    return f"Number {row.number} is a number of this type; it was superseded by {later[-1].number}{of}."

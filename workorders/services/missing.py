"""What still stands in the way of a step, by name, with the page where it is put right."""

from collections.abc import Iterable
from dataclasses import dataclass

from shop.errors import RuleBroken


@dataclass(frozen=True)
class Missing:
    """One thing that is missing: its name, a sentence, and the address where it is done."""

    name: str
    sentence: str
    url: str = ""


def require_nothing_missing(rows: Iterable[Missing], heading: str) -> None:
    """Raise RuleBroken that names everything missing, after the heading."""
    named = [f"{row.name}: {row.sentence}" for row in rows]
    if named:
        raise RuleBroken(f"{heading} " + "; ".join(named) + ".")

"""Upgraded materials: what the shop states about a line of a kit, beside what is read of its fluid."""

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.models import KitLine, Part
from shop.calc.compatibility import GOOD, LIMITED, NOT_SUITABLE, Compatibility, fluid_compatibility
from shop.errors import RuleBroken
from shop.models import TypeRevision

_RANK = {GOOD: 0, LIMITED: 1, NOT_SUITABLE: 2}


@dataclass(frozen=True, kw_only=True)
class Upgrade:
    """What the shop states of a material: what was there before, and against what the new one is better.

    ``reasons`` are keys of ``KitLine.UPGRADES``; no reason means no upgrade. ``original_polymer`` is
    empty where it is not known.
    """

    reasons: tuple[str, ...] = ()
    original_polymer: str = ""
    words: str = ""


NO_UPGRADE = Upgrade()


@dataclass(frozen=True, kw_only=True)
class MaterialCheck:
    """What is known of the material of a line, and of the one before it, in the service fluid."""

    new: Compatibility | None = None
    original: Compatibility | None = None

    @property
    def is_lower(self) -> bool:
        """Whether the table rates the new material lower in the fluid than the one before it."""
        ranks = [_RANK.get(found.rating) if found else None for found in (self.original, self.new)]
        return None not in ranks and ranks[1] > ranks[0]  # type: ignore[operator]


def set_upgrade(line: KitLine, upgrade: Upgrade, part: Part) -> None:
    """Put an upgrade on a line that is about to be kept, or take it off.

    Raises RuleBroken for a part without a material, a reason that is not on the list, *other*
    without words, a material before it without a reason, and the same material without words.
    """
    words = upgrade.words.strip()
    if upgrade.reasons and not part.polymer:
        raise RuleBroken(fields={"upgrade_reasons": f"{part} has no sealing material that could be better."})
    if unknown := set(upgrade.reasons) - set(KitLine.UPGRADES):
        raise RuleBroken(fields={"upgrade_reasons": f"No such reason: {', '.join(sorted(unknown))}."})
    if not upgrade.reasons and (upgrade.original_polymer or words):
        message = (
            "Say what the material is better against, or leave the material before it and the words empty."
        )
        raise RuleBroken(fields={"upgrade_reasons": message})
    if "upgrade_other" in upgrade.reasons and not words:
        raise RuleBroken(fields={"upgrade_words": "Say in words what the other reason is."})
    if upgrade.reasons and upgrade.original_polymer == part.polymer and not words:
        message = f"Both are {part.polymer}: say in words in what the new one differs."
        raise RuleBroken(fields={"upgrade_words": message})
    for name in KitLine.UPGRADES:
        setattr(line, name, name in upgrade.reasons)
    line.original_polymer, line.upgrade_words = upgrade.original_polymer, words


def upgrade_of(line: KitLine) -> Upgrade:
    """Return the upgrade that a line states."""
    reasons = tuple(name for name in KitLine.UPGRADES if getattr(line, name))
    return Upgrade(reasons=reasons, original_polymer=line.original_polymer, words=line.upgrade_words)


def material_checks(lines: Iterable[KitLine], revision: TypeRevision) -> dict[int, MaterialCheck]:
    """Return, by the key of the line, how its materials are rated in the service fluid of a revision.

    Nothing where the fluid is not known yet, or a part has no material. No query.
    """
    fluid = revision.service_fluid

    def rated(polymer: str) -> Compatibility | None:
        known = bool(polymer and fluid)
        return fluid_compatibility(polymer=polymer, fluid=fluid.family) if known and fluid else None

    return {
        line.pk: MaterialCheck(new=rated(line.part.polymer), original=rated(line.original_polymer))
        for line in lines
    }

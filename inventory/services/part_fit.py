"""Whether a part fits a place: motion, size, gland and service fluid; a misfit asks for a reason."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from inventory.models import Part
from shop.calc.compatibility import GOOD, Compatibility, fluid_compatibility
from shop.models import Component, Hose, Port, SealPosition, TypeRevision
from shop.services.gland_fit import (
    GlandFit,
    check_sentence,
    gland_fit,
    gland_pressure_bar,
    same_size,
    shop_limits,
)

Place = SealPosition | Component | Port | Hose


@dataclass(frozen=True, kw_only=True)
class PartFit:
    """What is to be said before a part goes into a place.

    ``misfits`` each ask for a reason, ``doubts`` only stay on the record, ``refusal`` is what no
    reason helps against: a source was read that calls the material unsuitable for the fluid.
    """

    misfits: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    refusal: str = ""
    gland: GlandFit | None = None
    fluid: Compatibility | None = None

    @property
    def asks(self) -> bool:
        """Whether a reason is needed."""
        return bool(self.misfits)

    @property
    def question(self) -> str:
        """Every misfit in one text."""
        return " ".join(self.misfits)

    @property
    def warning(self) -> str:
        """What does not fit or is uncertain, as it stays on the record."""
        return " ".join((*self.misfits, *self.doubts))


def part_fit(
    *, part: Part, place: Place | None, revision: TypeRevision, limits: Mapping[str, float] | None = None
) -> PartFit:
    """Look at a part for a place of a revision; ``place`` None is the whole unit.

    ``limits`` are the shop's (``shop_limits``); they are read where they are needed and not given.
    """
    position = place if isinstance(place, SealPosition) else None
    gland = gland_of(part=part, position=position, revision=revision, limits=limits) if position else None
    fluid = fluid_of(part=part, revision=revision)
    concern = fluid_words(fluid, str(revision.service_fluid)) if fluid else ""
    rated_good = fluid is None or fluid.rating == GOOD
    misfits = [*_seat_misfits(part, position, gland)] if position else []
    if concern and not rated_good:
        misfits.append(concern)
    return PartFit(
        misfits=tuple(misfits),
        doubts=(concern,) if concern and rated_good else (),
        refusal=_refusal(part, fluid, str(revision.service_fluid)),
        gland=gland,
        fluid=fluid,
    )


def gland_of(
    *,
    part: Part,
    position: SealPosition,
    revision: TypeRevision,
    limits: Mapping[str, float] | None = None,
) -> GlandFit:
    """Check an O-ring in the gland of a position; other profiles say why they cannot be."""
    if part.kind != Part.Kind.O_RING:
        return GlandFit(why_not="Not checked: the sums of the gland are for O-rings.")
    if limits is None:
        limits = shop_limits() if position.gland_depth_min_mm is not None else {}
    return gland_fit(
        position=position,
        designation=part.size_designation,
        hardness_shore_a=part.hardness_shore_a,
        pressure_bar=gland_pressure_bar(revision),
        limits=limits,
    )


def fluid_of(*, part: Part, revision: TypeRevision) -> Compatibility | None:
    """Return how the service fluid of a unit type suits a part; None for what is no polymer.

    None as well while a draft does not know its service fluid.
    """
    if not part.polymer or revision.service_fluid is None:
        return None
    return fluid_compatibility(polymer=part.polymer, fluid=revision.service_fluid.family)


def fluid_words(found: Compatibility, fluid: str) -> str:
    """Return what is uncertain about a material in a fluid; empty where a source says good."""
    if found.known_suitable and found.rating == GOOD:
        return ""
    words = f"{found.polymer} in {fluid}: {found.rating}"
    words += f" ({found.note})" if found.note else ""
    return f"{words}. Basis: {found.source}."


def _seat_misfits(part: Part, position: SealPosition, gland: GlandFit | None) -> Iterator[str]:
    if position.motion != SealPosition.Motion.STATIC and part.is_static_profile:
        yield f"{part} is a static profile, which rolls and wears in a moving place."
    if _differs(part, position):
        takes = f"{position.code} takes {position.size_designation}"
        yield f"{part} has the size {part.size_designation}; {takes}."
    if gland and gland.failing:
        yield f"{part} in the gland of {position.code}: {'; '.join(map(check_sentence, gland.failing))}."


def _differs(part: Part, position: SealPosition) -> bool:
    """Whether both sizes are given and differ; a back-up ring has a size of its own."""
    given = part.size_designation and position.size_designation and part.kind != Part.Kind.BACKUP_RING
    return bool(given) and not same_size(part.size_designation, position.size_designation)


def _refusal(part: Part, found: Compatibility | None, fluid: str) -> str:
    if found is None or not found.known_unsuitable:
        return ""
    return (
        f"{part} is {part.polymer}, which is not suitable for the service fluid {fluid} "
        f"(source: {found.source}). Take a seal of another material."
    )

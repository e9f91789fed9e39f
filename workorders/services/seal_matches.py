"""Which size a place takes: by the seal that came out, by its gland, and by what the stores have."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Sum

from inventory.models import Balance, Lot, Part
from shop.calc.oring import all_sizes
from shop.calc.oring_used import METRIC_FROM_MEMORY, UsedCandidate, UsedOringMatch, used_oring_match
from shop.calc.result import Check
from shop.models import SealPosition
from shop.services.gland_fit import (
    GlandFit,
    Ring,
    gland_fit,
    gland_pressure_bar,
    ring_of,
    same_size,
    shop_limits,
)
from workorders.models import SealFound

MOST = 6
# A size further away than this many tolerances is shown only where nothing is nearer.
MOST_AWAY, NEAREST = 4.0, 3
# How far a ring of no known tolerance, or a profile, may lie beside what was measured and still be
# shown, as a share and at least in mm: common practice, no source.
NEAR_SHARE, NEAR_MM, NEAR_SECTION_MM, NEAR_PROFILE_MM = 0.02, 0.3, 0.15, 1.0
# Which stretch of the seat and which squeeze are worth a full check (wide, so that nothing is lost).
SEAT = (-0.02, 0.08)
SQUEEZE = (0.03, 0.45)
_PROFILE = re.compile(r"\s*[x×]\s*")
ORDER = {"passes": 0, "not decided": 1, "fails": 2}


@dataclass(frozen=True, kw_only=True)
class InStock:
    """A part of a size with the usable pieces that the stores have of it."""

    part: Part
    quantity: int


@dataclass(frozen=True, kw_only=True)
class Match:
    """A size that a place may take: why, what it gives in the gland, and what is in stock of it."""

    designation: str
    size: str
    why: str
    by_ring: bool = False
    fit: GlandFit | None = None
    parts: list[InStock] = field(default_factory=list)

    @property
    def shown(self) -> list[Check]:
        """Squeeze, stretch and fill, each at its worst case."""
        return list(self.fit.result.checks) if self.fit and self.fit.result else []

    @property
    def pieces(self) -> int:
        """Pieces in stock of this size."""
        return sum(row.quantity for row in self.parts)


@dataclass(frozen=True, kw_only=True)
class Matches:
    """Every size worth a look for one place; ``warnings`` say what the sums could not know."""

    by_seal: list[Match]
    by_gland: list[Match]
    measured: UsedOringMatch | None = None
    gland_missing: str = ""
    warnings: tuple[str, ...] = ()


def matches_of(*, position: SealPosition, seal: SealFound | None, on: date) -> Matches:
    """Return the sizes a place may take, in a number of queries that does not grow with the parts.

    ``on`` is the day on which lots must be usable to count as stock.
    """
    stock = _stock(on)
    if seal and seal.profile == SealFound.Profile.LIP_SEAL:
        return Matches(by_seal=_profiles(seal, stock), by_gland=[], gland_missing=PROFILE_GLAND)
    look = _Look(position, shop_limits(), stock)
    measured, warnings = _measured(position, seal)
    by_seal = list(look.by_seal(seal, measured)) if seal and measured else []
    by_gland, missing = look.by_gland({match.designation for match in by_seal if match.by_ring})
    return Matches(
        by_seal=by_seal,
        by_gland=by_gland,
        measured=measured,
        gland_missing=missing,
        warnings=(*warnings, *(_shown_warnings(measured) if measured else ())),
    )


def _shown_warnings(measured: UsedOringMatch) -> list[str]:
    """Return what the sum warns of; the metric sections that it proposes are not among the matches."""
    return [warning for warning in measured.warnings if warning != METRIC_FROM_MEMORY]


PROFILE_GLAND = (
    "The sums of the gland are for O-rings. A lip seal, wiper or energised profile is judged by its "
    "maker's own housing figures: compare them under Bench sums."
)


@dataclass(frozen=True)
class _Look:
    """What every candidate of one place is checked against."""

    position: SealPosition
    limits: Mapping[str, float]
    stock: list[InStock]

    def fit(self, designation: str) -> GlandFit:
        pressure = gland_pressure_bar(self.position.revision)
        return gland_fit(
            position=self.position, designation=designation, pressure_bar=pressure, limits=self.limits
        )

    def match(self, designation: str, size: str, why: str, *, by_ring: bool) -> Match:
        return Match(
            designation=designation,
            size=size,
            why=why,
            by_ring=by_ring,
            fit=self.fit(designation),
            parts=_parts_of(designation, self.stock),
        )

    def by_seal(self, seal: SealFound, measured: UsedOringMatch) -> Iterable[Match]:
        """Standard sizes, sections, and rings of the stores that the measured ring may be."""
        sizes = [(one, _gap(one)) for one in measured.candidates if one.id_mm is not None]
        near = [row for row in sizes if row[1] <= MOST_AWAY] or sizes[:NEAREST]
        for one, gap in near:
            why = "within both tolerances" if one.inside else f"{gap:.1f} times its tolerance away"
            size = f"{one.id_mm:g} x {one.cs_mm:g} mm"
            yield self.match(one.designation, size, why, by_ring=bool(one.inside))
        for row in _near_rings(seal, measured, self.stock):
            ring = ring_of(designation=row.part.size_designation)
            assert ring is not None  # _near_rings read it
            yield self.match(ring.size, f"{ring.size} mm", "near it, and in the catalogue", by_ring=True)

    def by_gland(self, known: set[str]) -> tuple[list[Match], str]:
        """Standard sizes that the gland asks for, whatever came out of it."""
        place = self.position
        depths = (place.gland_depth_min_mm, place.gland_depth_max_mm)
        if place.gland_diameter_mm is None or None in depths or not place.arrangement:
            return [], "Measure depth and groove diameter, and say where the groove is."
        found = []
        for one in all_sizes():
            if not self._worth_a_check(one.id_mm, one.cs_mm):
                continue
            name = f"AS568-{one.dash}"
            fit = self.fit(name)
            if fit.result:
                far = sum(_beyond(check) for check in fit.result.checks)
                found.append((ORDER[fit.verdict], far, self._off_seat(one.id_mm), name, fit))
        found.sort(key=lambda row: row[:4])
        matches = [
            Match(
                designation=name,
                size=f"{fit.ring.size} mm" if fit.ring else "",
                why="the seal that came out may be it too" if name in known else "by the gland alone",
                by_ring=name in known,
                fit=fit,
                parts=_parts_of(name, self.stock),
            )
            for _order, _far, _off, name, fit in found[:MOST]
        ]
        missing = "" if matches else "No AS568 size fits this gland, nor nearly: measure it again."
        return matches, missing

    def _seat_mm(self) -> float:
        """The diameter that the ring sits on: the groove, or the rod inside the groove."""
        place = self.position
        assert place.gland_diameter_mm is not None
        if place.arrangement != SealPosition.Arrangement.ROD:
            return place.gland_diameter_mm
        return place.gland_diameter_mm - (place.gland_depth_min_mm or 0) - (place.gland_depth_max_mm or 0)

    def _worth_a_check(self, id_mm: float, cs_mm: float) -> bool:
        depth = ((self.position.gland_depth_min_mm or 0) + (self.position.gland_depth_max_mm or 0)) / 2
        squeeze, stretch = 1 - depth / cs_mm, self._seat_mm() / id_mm - 1
        return SQUEEZE[0] <= squeeze <= SQUEEZE[1] and SEAT[0] <= stretch <= SEAT[1]

    def _off_seat(self, id_mm: float) -> float:
        """How far the stretch on the seat is from the usual one: 2 %, or none on a rod."""
        usual = 0.0 if self.position.arrangement == SealPosition.Arrangement.ROD else 0.02
        return abs(self._seat_mm() / id_mm - 1 - usual)


def _beyond(check: Check) -> float:
    """How far a figure lies outside its limits, as a share of the limit; 0 inside them."""
    if check.value is None:
        return 0.0
    below = 0.0 if not check.lower else (check.lower - check.value) / abs(check.lower)
    above = 0.0 if not check.upper else (check.value - check.upper) / abs(check.upper)
    return max(below, above, 0.0)


def _gap(one: UsedCandidate) -> float:
    """How far a size is from what the ring may have been, in tolerances."""
    return max(one.id_gap_tolerances or 0.0, one.cs_gap_tolerances)


def _measured(
    position: SealPosition, seal: SealFound | None
) -> tuple[UsedOringMatch | None, tuple[str, ...]]:
    """Undo what the ring may have been through; a set needs the depth of the gland."""
    if seal is None or seal.section_mm is None:
        return None, ()
    depth, set_most = position.gland_depth_min_mm, seal.set_most_pct
    warnings: tuple[str, ...] = ()
    if set_most and depth is None:
        set_most = 0.0
        warnings = ("The set is not allowed for yet: measure the depth of the gland first.",)
    found = used_oring_match(
        id_mm=seal.inside_mm,
        cs_mm=seal.section_mm,
        set_most_pct=set_most,
        depth_mm=depth if set_most else None,
        swell_most_pct=seal.swell_most_pct,
    )
    return found, warnings


def _stock(on: date) -> list[InStock]:
    """Return every seal of the catalogue that has a size, with its usable pieces, in two queries."""
    rows = Part.objects.filter(kind__in=Part.SEALS).exclude(size_designation="").order_by("number")
    held = Balance.objects.filter(lot__in=Lot.objects.usable(on=on)).order_by()
    pieces = dict(held.values("lot__part").annotate(sum=Sum("quantity")).values_list("lot__part", "sum"))
    return [InStock(part=part, quantity=pieces.get(part.pk, 0)) for part in rows]


def _parts_of(designation: str, stock: list[InStock]) -> list[InStock]:
    rings = (row for row in stock if row.part.kind == Part.Kind.O_RING)
    return [row for row in rings if same_size(row.part.size_designation, designation)]


def _near_rings(seal: SealFound, measured: UsedOringMatch, stock: list[InStock]) -> list[InStock]:
    """Return rings of the catalogue that are no AS568 size and lie near what was measured; each size once."""
    found: dict[str, tuple[float, InStock]] = {}
    slack = max(NEAR_MM, NEAR_SHARE * seal.inside_mm)
    for row in stock:
        ring = ring_of(designation=row.part.size_designation) if row.part.kind == Part.Kind.O_RING else None
        if ring is None or ring.id_tol_mm:
            continue
        off = _off(ring, measured)
        if off[0] <= slack and off[1] <= NEAR_SECTION_MM:
            found.setdefault(ring.size, (sum(off), row))
    return [row for _off, row in sorted(found.values(), key=lambda each: each[0])[:MOST]]


def _off(ring: Ring, measured: UsedOringMatch) -> tuple[float, float]:
    inside = max(measured.id_least_mm - ring.id_mm, ring.id_mm - measured.id_most_mm, 0.0)
    section = max(measured.cs_least_mm - ring.cs_mm, ring.cs_mm - measured.cs_most_mm, 0.0)
    return inside, section


def _profiles(seal: SealFound, stock: list[InStock]) -> list[Match]:
    """Return profiles of the catalogue by how near their three figures lie, and the seal as measured."""
    found: dict[str, tuple[float, list[InStock]]] = {}
    measured = (seal.inside_mm, seal.outside_mm or 0.0, seal.height_mm or 0.0)
    for row in stock:
        sizes = profile_of(row.part.size_designation)
        if row.part.kind == Part.Kind.O_RING or sizes is None:
            continue
        off = max(abs(one - other) for one, other in zip(sizes, measured, strict=True))
        if off <= NEAR_PROFILE_MM:
            name = " x ".join(f"{one:g}" for one in sizes)
            found.setdefault(name, (off, []))[1].append(row)
    ranked = sorted(found.items(), key=lambda each: each[1][0])[:MOST]
    matches = [
        Match(
            designation=name,
            size=f"{name} mm",
            why=f"{off:.2f} mm away at most",
            by_ring=True,
            parts=parts,
        )
        for name, (off, parts) in ranked
    ]
    as_measured = " x ".join(f"{round(one, 1):g}" for one in measured)
    if as_measured not in found:
        matches.append(Match(designation=as_measured, size=f"{as_measured} mm", why="as measured"))
    return matches


def profile_of(designation: str) -> tuple[float, float, float] | None:
    """Return inside, outside and height in mm of ``12 x 20 x 5.7``; None for anything else."""
    parts = _PROFILE.split(designation.strip().removesuffix("mm").strip().replace(",", "."))
    try:
        inside, outside, height = (float(part) for part in parts)
    except ValueError:
        return None
    return inside, outside, height

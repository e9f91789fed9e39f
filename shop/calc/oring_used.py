"""Which O-ring a used one was: the sizes it may have had before it took a set and swelled."""

from dataclasses import dataclass
from typing import Annotated

from shop.calc.gland import InnerDiameter, Section
from shop.calc.oring import AS568_SOURCE, MEMORY, METRIC_SECTIONS, Size, all_sizes
from shop.calc.parameters import InputError, Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

MOST_SIZES, MOST_SECTIONS = 6, 2
METRIC_FROM_MEMORY = (
    "The tolerances of the metric sections are from memory, not verified; the section alone is compared."
)


@dataclass(frozen=True, kw_only=True)
class UsedCandidate:
    """A size that a used ring may have had; a metric section has no inside diameter of its own.

    The gaps are how far the size lies outside what the ring may have measured, as multiples of the
    tolerance of the size: up to 1 it is inside.
    """

    designation: str
    id_mm: float | None
    id_tol_mm: float | None
    cs_mm: float
    cs_tol_mm: float
    id_gap_tolerances: float | None
    cs_gap_tolerances: float
    inside: bool | None
    basis: str


@dataclass(frozen=True, kw_only=True)
class UsedOringMatch(Result):
    """Sizes that a used ring may have had."""

    id_least_mm: Annotated[
        float,
        Figure(
            title="Inside diameter when new, least",
            of="mm",
            formula="id_mm / (1 + swell_most_pct / 100) ** (1 / 3)",
        ),
    ]
    id_most_mm: Annotated[
        float, Figure(title="Inside diameter when new, most", of="mm", how="as measured: no swell")
    ]
    cs_least_mm: Annotated[
        float, Figure(title="Section when new, least", of="mm", how="all of the swell and no set")
    ]
    cs_most_mm: Annotated[
        float,
        Figure(
            title="Section when new, most",
            of="mm",
            how="all of the set and no swell: (section - set x depth) / (1 - set)",
        ),
    ]
    candidates: Annotated[
        tuple[UsedCandidate, ...],
        Figure(
            title="Sizes, the likeliest first",
            how="inside both tolerances first, then metric sections that fit, then by the larger gap",
        ),
    ]


@calculation(
    family="sealing",
    title="Which O-ring was it? A used one",
    example={"id_mm": 24.99, "cs_mm": 3.27, "set_most_pct": 30.0, "depth_mm": 2.66},
    example_source=(
        "Derived here: AS568-214 (3.53 mm) squeezed to 2.66 mm with a set of 30 % comes out at "
        "3.53 - 0.3 x (3.53 - 2.66) = 3.269 mm."
    ),
)
def used_oring_match(
    *,
    id_mm: InnerDiameter,
    cs_mm: Section,
    set_most_pct: Annotated[
        float, Number(title="Compression set, at most", of="%", at_least=0, at_most=90)
    ] = 0.0,
    depth_mm: Annotated[
        float | None, Number(title="Depth of the gland it sat in", of="mm", above=0, at_most=50)
    ] = None,
    swell_most_pct: Annotated[
        float, Number(title="Swell in volume, at most", of="%", at_least=0, at_most=200)
    ] = 0.0,
) -> UsedOringMatch:
    """Sizes that a used O-ring may have had when it was new, allowing for set and swell.

    Parameters
    ----------
    id_mm : float
        Measured inside diameter, above 0 to 2000 [mm].
    cs_mm : float
        Measured section, the thin way where the ring is flattened, above 0 to 50 [mm].
    set_most_pct : float
        The compression set that it may have taken at most, 0 to 90 [%].
    depth_mm : float, optional
        Depth of its gland, above 0 to 50; needed where a set is allowed for [mm].
    swell_most_pct : float
        The growth of its volume at most, 0 to 200 [%].

    Returns
    -------
    UsedOringMatch
        The least and most that the ring may have measured when new [mm], and at most eight
        candidates: AS568 sizes, and ISO 3601 sections. Each has the gaps between that range and
        the size as multiples of its tolerance [-], and whether both are within one tolerance.

    Raises
    ------
    InputError
        Outside the ranges, and for a set without the depth that caused it.

    Notes
    -----
    Swell enlarges every length by the cube root of the growth in volume. A set is the part of
    the squeeze that does not come back: measured = new - set x (new - depth). The ring may have
    taken anything from nothing to the most allowed for, so that a range is compared, not a number.
    A ring that is no thicker than its gland is deep did not get there by a set: it is worn or the
    wrong one, and only the swell is undone.

    Validity: a ring measured without stretching or squeezing it, swollen alike in all directions.
    Left out: wear, shrinkage by lost plasticiser, a ring stretched for years, metric inside diameters.

    References
    ----------
    AS568 table as for `oring_size`. Compression set as ISO 815-1 and ASTM D395 method B define it,
    from memory. ISO 3601 sections; their tolerances are from memory.

    Examples
    --------
    >>> found = used_oring_match(id_mm=24.99, cs_mm=3.27, set_most_pct=30.0, depth_mm=2.66)
    >>> round(found.cs_most_mm, 2), found.candidates[0].designation
    (3.53, 'AS568-214')
    """
    if set_most_pct and depth_mm is None:
        raise InputError("depth_mm", "depth_mm must be given where set_most_pct is above 0; got nothing")
    swell = (1 + swell_most_pct / 100) ** (1 / 3)
    flattened = depth_mm is not None and cs_mm > depth_mm
    share = set_most_pct / 100 if flattened else 0.0
    thickest = (cs_mm - share * (depth_mm or 0.0)) / (1 - share)
    inside, section = (id_mm / swell, id_mm), (cs_mm / swell, thickest)
    sizes = sorted((_size(one, inside, section) for one in all_sizes()), key=_rank)[:MOST_SIZES]
    metric = sorted((_metric(cs, tol, section) for cs, tol in METRIC_SECTIONS), key=_rank)[:MOST_SECTIONS]
    candidates = tuple(sorted(sizes + metric, key=_rank))
    return UsedOringMatch(
        id_least_mm=inside[0],
        id_most_mm=inside[1],
        cs_least_mm=section[0],
        cs_most_mm=section[1],
        candidates=candidates,
        warnings=_warnings(candidates, thin=bool(set_most_pct) and not flattened),
        sources=(AS568_SOURCE,),
    )


Range = tuple[float, float]


def _gap(nominal: float, found: Range) -> float:
    """Distance of a size from the range that the ring may have had; 0 inside it."""
    return max(found[0] - nominal, nominal - found[1], 0.0)


def _size(size: Size, inside: Range, section: Range) -> UsedCandidate:
    id_gap, cs_gap = _gap(size.id_mm, inside), _gap(size.cs_mm, section)
    fits = id_gap <= size.id_tol_mm + 1e-9 and cs_gap <= size.cs_tol_mm + 1e-9
    return UsedCandidate(
        designation=f"AS568-{size.dash}",
        id_mm=size.id_mm,
        id_tol_mm=size.id_tol_mm,
        cs_mm=size.cs_mm,
        cs_tol_mm=size.cs_tol_mm,
        id_gap_tolerances=id_gap / size.id_tol_mm,
        cs_gap_tolerances=cs_gap / size.cs_tol_mm,
        inside=fits,
        basis=size.basis,
    )


def _metric(section_mm: float, tolerance_mm: float, section: Range) -> UsedCandidate:
    gap = _gap(section_mm, section)
    return UsedCandidate(
        designation=f"ISO 3601 section {section_mm:g} mm",
        id_mm=None,
        id_tol_mm=None,
        cs_mm=section_mm,
        cs_tol_mm=tolerance_mm,
        id_gap_tolerances=None,
        cs_gap_tolerances=gap / tolerance_mm,
        inside=None if gap <= tolerance_mm + 1e-9 else False,
        basis=MEMORY,
    )


def _rank(one: UsedCandidate) -> tuple[int, float, float]:
    order = {True: 0, None: 1, False: 2}[one.inside]
    by_id, by_section = one.id_gap_tolerances or 0.0, one.cs_gap_tolerances
    return order, max(by_id, by_section), by_id + by_section


def _warnings(candidates: tuple[UsedCandidate, ...], *, thin: bool) -> tuple[str, ...]:
    said = [
        "A worn, swollen or set ring does not measure as it was made: compare with what the gland asks for.",
        METRIC_FROM_MEMORY,
    ]
    if thin:
        said.append(
            "The ring is no thicker than its gland is deep: a set does not do that. "
            "It is worn, or was the wrong one; no set is allowed for."
        )
    if not any(one.inside for one in candidates):
        said.append("No AS568 size is within both tolerances.")
    named = [one for one in candidates if one.basis == MEMORY and one.id_mm]
    return (*said, *(f"{one.designation} is from memory, not verified." for one in named))

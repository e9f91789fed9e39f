"""Sizes of O-rings: AS568 by dash number, and the sizes nearest to a ring that was measured."""

import csv
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated

from shop.calc.gland import InnerDiameter, Section
from shop.calc.parameters import InputError, Text
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

# Sources of data/as568.csv: A, an OpenSCAD table with inch, mm and tolerances (public-repository
# index, file 352080489); B, C and D, tables in public code that agree with A on the rows they name
# (files 68545174815, 57475865232, 62139613426; six sizes of D are wrong and not followed). Series
# ends: globaloring.com/as568-size-chart. Number of sizes, 369: heximf.com/jszc/20190801196.html.
TABLE = Path(__file__).parent / "data" / "as568.csv"
READ, CORRECTED, MEMORY = "READ", "CORRECTED", "MEMORY"

# Section and tolerance ± in mm. The sections are those of ISO 3601; the tolerances are from memory.
METRIC_SECTIONS = ((1.8, 0.08), (2.65, 0.09), (3.55, 0.10), (5.3, 0.13), (7.0, 0.15))
MOST_SIZES, MOST_SECTIONS = 6, 2

_DASH = re.compile(r"(?:AS ?568[A-Z]?)?[ -]*([0-9]{1,3})", re.IGNORECASE)
AS568_SOURCE = (
    "AS568 sizes as printed in tables of public code; series ends and number of sizes agree with "
    "globaloring.com/as568-size-chart and heximf.com/jszc/20190801196.html"
)


@dataclass(frozen=True, kw_only=True)
class Size:
    """One row of the AS568 table."""

    dash: str
    id_in: float
    id_tol_in: float
    cs_in: float
    cs_tol_in: float
    id_mm: float
    id_tol_mm: float
    cs_mm: float
    cs_tol_mm: float
    basis: str
    note: str


@dataclass(frozen=True, kw_only=True)
class OringSize(Result):
    """Size of an AS568 O-ring."""

    designation: Annotated[str, Figure(title="Designation", how="AS568 and three digits")]
    id_mm: Annotated[float, Figure(title="Inside diameter", of="mm", how="id_in × 25.4, half up to 0.01 mm")]
    id_tol_mm: Annotated[
        float, Figure(title="± on the inside diameter", of="mm", how="id_tol_in × 25.4, half up to 0.01 mm")
    ]
    cs_mm: Annotated[float, Figure(title="Section", of="mm", how="cs_in × 25.4, half up to 0.01 mm")]
    cs_tol_mm: Annotated[
        float, Figure(title="± on the section", of="mm", how="cs_tol_in × 25.4, half up to 0.01 mm")
    ]
    id_in: Annotated[float, Figure(title="Inside diameter", of="in", how="AS568 table")]
    id_tol_in: Annotated[float, Figure(title="± on the inside diameter", of="in", how="AS568 table")]
    cs_in: Annotated[float, Figure(title="Section", of="in", how="AS568 table")]
    cs_tol_in: Annotated[float, Figure(title="± on the section", of="in", how="AS568 table")]
    status: Annotated[
        str, Figure(title="Basis", how="READ in a source, CORRECTED from it, or from MEMORY, not verified")
    ]


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A size that a measured ring may be; a metric section has no inside diameter of its own."""

    designation: str
    id_mm: float | None
    id_tol_mm: float | None
    cs_mm: float
    cs_tol_mm: float
    id_deviation_mm: float | None
    cs_deviation_mm: float
    id_deviation_tolerances: float | None
    cs_deviation_tolerances: float
    inside: bool | None
    basis: str


@dataclass(frozen=True, kw_only=True)
class OringMatch(Result):
    """Sizes nearest to a measured ring."""

    candidates: Annotated[
        tuple[Candidate, ...],
        Figure(
            title="Sizes, the likeliest first",
            how="inside both tolerances first, then metric sections that fit, then by the larger "
            "deviation as a multiple of its tolerance",
        ),
    ]


@calculation(
    family="sealing",
    title="Size of an O-ring from its dash number",
    example={"dash": "-214"},
    example_source="AS568 table: -214 is 0.984 in, section 0.139 in (24.99 x 3.53 mm).",
)
def oring_size(
    *, dash: Annotated[str, Text(title="Dash number", like="an AS568 dash number such as 214 or AS568-214")]
) -> OringSize:
    """Inside diameter and section of an AS568 O-ring with their tolerances.

    Parameters
    ----------
    dash : str
        Dash number: 214, -214, AS568-214, 012 or 12 [-].

    Returns
    -------
    OringSize
        Inside diameter and section with their tolerances [mm] and [in], and the basis of the row.
        Rows that are from memory or were corrected warn of it.

    Raises
    ------
    InputError
        Where the text is no dash number, or AS568 has no such size.

    Notes
    -----
    Inches are the size; millimetres are the inch times 25.4, rounded half up at two decimals.

    Validity: the 369 sizes of AS568A. The class of tolerance is that of the table.
    Left out: metric series, other tolerance classes, and the material.

    References
    ----------
    An OpenSCAD table of public code, cross-checked with three others; series ends after
    globaloring.com/as568-size-chart; number of sizes after heximf.com/jszc/20190801196.html.

    Examples
    --------
    >>> ring = oring_size(dash="AS568-214")
    >>> ring.id_mm, ring.cs_mm
    (24.99, 3.53)
    """
    size = _find(dash)
    return OringSize(
        designation=f"AS568-{size.dash}",
        id_mm=size.id_mm,
        id_tol_mm=size.id_tol_mm,
        cs_mm=size.cs_mm,
        cs_tol_mm=size.cs_tol_mm,
        id_in=size.id_in,
        id_tol_in=size.id_tol_in,
        cs_in=size.cs_in,
        cs_tol_in=size.cs_tol_in,
        status=size.basis,
        warnings=(f"AS568-{size.dash}: {size.note}",) if size.note else (),
        sources=(AS568_SOURCE,),
    )


@calculation(
    family="sealing",
    title="Which O-ring is it?",
    example={"id_mm": 24.9, "cs_mm": 3.5},
    example_source="Derived here from the AS568 table: -214 is 24.99 ± 0.25 mm by 3.53 ± 0.10 mm.",
)
def oring_match(*, id_mm: InnerDiameter, cs_mm: Section) -> OringMatch:
    """Sizes that an O-ring of measured inside diameter and section may be.

    Parameters
    ----------
    id_mm : float
        Measured inside diameter, above 0 to 2000 [mm].
    cs_mm : float
        Measured section, above 0 to 50 [mm].

    Returns
    -------
    OringMatch
        At most eight candidates: AS568 sizes, and ISO 3601 sections. Each has its deviation,
        measured less size [mm], the same as a multiple of the tolerance [-], and whether both are
        inside; a metric section says nothing of the inside diameter, and leaves that open.

    Raises
    ------
    InputError
        Outside the ranges.

    Notes
    -----
    Ranked: sizes inside both tolerances, then metric sections that fit, then the others, each
    by the larger of the two deviations as a multiple of the tolerance.

    Validity: a new ring, measured without stretching or squeezing it.
    Left out: set, swell and stretch of a used ring; the inside diameters of metric rings.

    References
    ----------
    AS568 table as for `oring_size`. ISO 3601 sections; their tolerances are from memory.

    Examples
    --------
    >>> oring_match(id_mm=24.9, cs_mm=3.5).candidates[0].designation
    'AS568-214'
    """
    sizes = sorted((_size(one, id_mm, cs_mm) for one in _table().values()), key=_rank)[:MOST_SIZES]
    sections = sorted((_metric(cs, tol, cs_mm) for cs, tol in METRIC_SECTIONS), key=_rank)[:MOST_SECTIONS]
    candidates = tuple(sorted(sizes + sections, key=_rank))
    warnings = [
        "A used ring is only a hint: it takes a set, swells and stretches. Measure the gland.",
        "The tolerances of the metric sections are from memory, not verified; the section alone is compared.",
    ]
    if not any(one.inside for one in candidates):
        warnings.append("No AS568 size is within both tolerances.")
    warnings += [
        f"{one.designation} is from memory, not verified."
        for one in candidates
        if one.basis == MEMORY and one.id_mm
    ]
    return OringMatch(candidates=candidates, warnings=tuple(warnings), sources=(AS568_SOURCE,))


def all_sizes() -> tuple[Size, ...]:
    """Return every row of the AS568 table.

    Returns
    -------
    tuple of Size
        The 369 sizes, by dash number [mm, in].
    """
    return tuple(_table().values())


def _find(dash: str) -> Size:
    read = _DASH.fullmatch(dash.strip())
    if not read:
        raise InputError("dash", f"dash must be an AS568 dash number such as 214 or AS568-214; got {dash!r}")
    number = read.group(1).zfill(3)
    if number not in _table():
        raise InputError(
            "dash", f"dash must be one of the 369 sizes of AS568, which has no -{number}; got {dash!r}"
        )
    return _table()[number]


def _size(size: Size, id_mm: float, cs_mm: float) -> Candidate:
    id_deviation, cs_deviation = id_mm - size.id_mm, cs_mm - size.cs_mm
    inside = _fits(id_deviation, size.id_tol_mm) and _fits(cs_deviation, size.cs_tol_mm)
    return Candidate(
        designation=f"AS568-{size.dash}",
        id_mm=size.id_mm,
        id_tol_mm=size.id_tol_mm,
        cs_mm=size.cs_mm,
        cs_tol_mm=size.cs_tol_mm,
        id_deviation_mm=id_deviation,
        cs_deviation_mm=cs_deviation,
        id_deviation_tolerances=id_deviation / size.id_tol_mm,
        cs_deviation_tolerances=cs_deviation / size.cs_tol_mm,
        inside=inside,
        basis=size.basis,
    )


def _metric(section_mm: float, tolerance_mm: float, cs_mm: float) -> Candidate:
    deviation = cs_mm - section_mm
    return Candidate(
        designation=f"ISO 3601 section {section_mm:g} mm",
        id_mm=None,
        id_tol_mm=None,
        cs_mm=section_mm,
        cs_tol_mm=tolerance_mm,
        id_deviation_mm=None,
        cs_deviation_mm=deviation,
        id_deviation_tolerances=None,
        cs_deviation_tolerances=deviation / tolerance_mm,
        inside=None if _fits(deviation, tolerance_mm) else False,
        basis=MEMORY,
    )


def _fits(deviation: float, tolerance: float) -> bool:
    return abs(deviation) <= tolerance + 1e-9


def _rank(one: Candidate) -> tuple[int, float, float]:
    order = {True: 0, None: 1, False: 2}[one.inside]
    by_id, by_section = abs(one.id_deviation_tolerances or 0.0), abs(one.cs_deviation_tolerances)
    return order, max(by_id, by_section), by_id + by_section


@cache
def _table() -> dict[str, Size]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {row["dash"]: _row(row) for row in csv.DictReader(file)}


def _row(row: dict[str, str]) -> Size:
    words = {key: row[key] for key in ("dash", "basis", "note")}
    numbers = {key: float(value) for key, value in row.items() if key.endswith(("_in", "_mm"))}
    return Size(**words, **numbers)  # type: ignore[arg-type]

"""O-ring grooves: squeeze and fill at the ends of all tolerances."""

from dataclasses import dataclass
from typing import Annotated

from shop.calc.parameters import InputError, Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

Section = Annotated[float, Number(title="Section of the O-ring", of="mm", above=0, at_most=50)]
SectionTolerance = Annotated[float, Number(title="± on the section", of="mm", at_least=0, at_most=5)]
DepthMin = Annotated[float, Number(title="Gland depth, least", of="mm", above=0, at_most=50)]
DepthMax = Annotated[float, Number(title="Gland depth, most", of="mm", above=0, at_most=50)]

_CHARTS = (
    "O-ring maker's design guide, gland design tables "
    "(fdocument.pub seal-types-gland-design): every squeeze pair follows from this rule"
)


@dataclass(frozen=True, kw_only=True)
class Squeeze(Result):
    """Squeeze of an O-ring at the ends of its tolerances."""

    squeeze_min_mm: Annotated[
        float, Figure(title="Squeeze, least", of="mm", formula="(cs_mm - cs_tol_mm) - depth_max_mm")
    ]
    squeeze_max_mm: Annotated[
        float, Figure(title="Squeeze, most", of="mm", formula="(cs_mm + cs_tol_mm) - depth_min_mm")
    ]
    squeeze_min_pct: Annotated[
        float, Figure(title="Squeeze, least", of="%", formula="100 * squeeze_min_mm / (cs_mm - cs_tol_mm)")
    ]
    squeeze_max_pct: Annotated[
        float, Figure(title="Squeeze, most", of="%", formula="100 * squeeze_max_mm / (cs_mm + cs_tol_mm)")
    ]


@calculation(
    family="sealing",
    title="Squeeze in a groove",
    example={"cs_mm": 3.53, "cs_tol_mm": 0.10, "depth_min_mm": 3.02, "depth_max_mm": 3.12},
    example_source="The design guide prints 0.012 to 0.024 in and 9 to 17 % for the same ring in inches.",
)
def gland_squeeze(
    *, cs_mm: Section, cs_tol_mm: SectionTolerance, depth_min_mm: DepthMin, depth_max_mm: DepthMax
) -> Squeeze:
    """Squeeze of an O-ring between the bottom of its groove and the surface it seals against.

    Parameters
    ----------
    cs_mm : float
        Section of the O-ring, above 0 to 50 [mm].
    cs_tol_mm : float
        Its tolerance ±, from 0, below the section [mm].
    depth_min_mm, depth_max_mm : float
        Gland depth, from the bottom of the groove to the opposite surface, the clearance
        included, above 0 to 50 [mm].

    Returns
    -------
    Squeeze
        Least and most squeeze [mm] and as a share of the section at the same end [%]. A least
        squeeze below 0 is a gap, and is warned of.

    Raises
    ------
    InputError
        Outside the ranges, or where the least depth is above the most.

    Notes
    -----
    The thinnest ring in the deepest gland has the least squeeze, the thickest one in the
    shallowest the most; each share is of the section at that end.

    Validity: rings that are not stretched; a stretched ring is thinner (`oring_stretch`).
    Left out: eccentricity, swell, heat (`gland_check` has them).

    References
    ----------
    An O-ring maker's design guide, "Seal Types & Gland Design", gland design tables
    (fdocument.pub), whose squeeze pairs this rule reproduces to the last printed digit.

    Examples
    --------
    >>> found = gland_squeeze(cs_mm=2.0, cs_tol_mm=0.0, depth_min_mm=1.6, depth_max_mm=1.6)
    >>> round(found.squeeze_min_pct, 2)
    20.0
    """
    if cs_tol_mm >= cs_mm:
        raise InputError("cs_tol_mm", f"cs_tol_mm must be below cs_mm ({cs_mm:g} mm); got {cs_tol_mm:g} mm")
    if depth_min_mm > depth_max_mm:
        raise InputError(
            "depth_min_mm",
            f"depth_min_mm must be at most depth_max_mm ({depth_max_mm:g} mm); got {depth_min_mm:g} mm",
        )
    least, most = cs_mm - cs_tol_mm - depth_max_mm, cs_mm + cs_tol_mm - depth_min_mm
    return Squeeze(
        squeeze_min_mm=least,
        squeeze_max_mm=most,
        squeeze_min_pct=100 * least / (cs_mm - cs_tol_mm),
        squeeze_max_pct=100 * most / (cs_mm + cs_tol_mm),
        warnings=("The ring does not touch at its worst case: there is a gap.",) if least <= 0 else (),
        sources=(_CHARTS,),
    )

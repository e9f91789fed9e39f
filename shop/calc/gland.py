"""O-ring grooves: squeeze and fill at the ends of all tolerances, and the stretch of the ring."""

import math
from dataclasses import dataclass
from typing import Annotated

from shop.calc.parameters import InputError, Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

Section = Annotated[float, Number(title="Section of the O-ring", of="mm", above=0, at_most=50)]
SectionTolerance = Annotated[float, Number(title="± on the section", of="mm", at_least=0, at_most=5)]
InnerDiameter = Annotated[
    float, Number(title="Inside diameter of the O-ring", of="mm", above=0, at_most=2000)
]
DepthMin = Annotated[float, Number(title="Gland depth, least", of="mm", above=0, at_most=50)]
DepthMax = Annotated[float, Number(title="Gland depth, most", of="mm", above=0, at_most=50)]
WidthMin = Annotated[float, Number(title="Groove width, least", of="mm", above=0, at_most=200)]
WidthMax = Annotated[float, Number(title="Groove width, most", of="mm", above=0, at_most=200)]

_CHARTS = (
    "O-ring maker's design guide, gland design tables "
    "(fdocument.pub seal-types-gland-design): every squeeze pair follows from this rule"
)


def refuse_order(*, least: tuple[str, float], most: tuple[str, float], unit: str = "mm") -> None:
    """Refuse a least value above the most.

    Parameters
    ----------
    least, most : tuple
        Name and value of each [`unit`].
    unit : str
        Their unit.

    Returns
    -------
    None
        Nothing; what is in order passes.

    Raises
    ------
    InputError
        The least is above the most.
    """
    if least[1] > most[1]:
        raise InputError(
            least[0],
            f"{least[0]} must be at most {most[0]} ({most[1]:g} {unit}); got {least[1]:g} {unit}",
        )


def refuse_tolerance(*, tolerance: tuple[str, float], size: tuple[str, float]) -> None:
    """Refuse a tolerance that is not below its size.

    Parameters
    ----------
    tolerance, size : tuple
        Name and value of each [mm].

    Returns
    -------
    None
        Nothing; what is in order passes.

    Raises
    ------
    InputError
        The tolerance is the size or more.
    """
    if tolerance[1] >= size[1]:
        raise InputError(
            tolerance[0],
            f"{tolerance[0]} must be below {size[0]} ({size[1]:g} mm); got {tolerance[1]:g} mm",
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
    refuse_tolerance(tolerance=("cs_tol_mm", cs_tol_mm), size=("cs_mm", cs_mm))
    refuse_order(least=("depth_min_mm", depth_min_mm), most=("depth_max_mm", depth_max_mm))
    least, most = cs_mm - cs_tol_mm - depth_max_mm, cs_mm + cs_tol_mm - depth_min_mm
    return Squeeze(
        squeeze_min_mm=least,
        squeeze_max_mm=most,
        squeeze_min_pct=100 * least / (cs_mm - cs_tol_mm),
        squeeze_max_pct=100 * most / (cs_mm + cs_tol_mm),
        warnings=("The ring does not touch at its worst case: there is a gap.",) if least <= 0 else (),
        sources=(_CHARTS,),
    )


@dataclass(frozen=True, kw_only=True)
class Fill(Result):
    """How much of a groove the ring fills."""

    fill_min_pct: Annotated[
        float,
        Figure(
            title="Fill, least",
            of="%",
            formula="100 * (pi / 4 * (cs_mm - cs_tol_mm)**2) / (depth_max_mm * width_max_mm)",
        ),
    ]
    fill_nominal_pct: Annotated[
        float,
        Figure(
            title="Fill, nominal",
            of="%",
            formula="100 * (pi / 4 * cs_mm**2)"
            " / ((depth_min_mm + depth_max_mm) / 2 * ((width_min_mm + width_max_mm) / 2))",
        ),
    ]
    fill_max_pct: Annotated[
        float,
        Figure(
            title="Fill, most",
            of="%",
            formula="100 * (pi / 4 * (cs_mm + cs_tol_mm)**2) / (depth_min_mm * width_min_mm)",
        ),
    ]


@calculation(
    family="sealing",
    title="Fill of a groove",
    example={
        "cs_mm": 2.0,
        "cs_tol_mm": 0.0,
        "depth_min_mm": 1.6,
        "depth_max_mm": 1.6,
        "width_min_mm": 3.2,
        "width_max_mm": 3.2,
    },
    example_source="machinecalcs.com, O-ring gland calculator: 2.0 mm in 1.6 x 3.2 mm fills 61.36 %.",
)
def gland_fill(
    *,
    cs_mm: Section,
    cs_tol_mm: SectionTolerance,
    depth_min_mm: DepthMin,
    depth_max_mm: DepthMax,
    width_min_mm: WidthMin,
    width_max_mm: WidthMax,
) -> Fill:
    """Share of the gland's cross-section that the O-ring takes.

    Parameters
    ----------
    cs_mm : float
        Section of the O-ring, above 0 to 50 [mm].
    cs_tol_mm : float
        Its tolerance ±, from 0, below the section [mm].
    depth_min_mm, depth_max_mm : float
        Gland depth, the clearance included, above 0 to 50 [mm].
    width_min_mm, width_max_mm : float
        Width of the groove, above 0 to 200 [mm].

    Returns
    -------
    Fill
        Least, nominal and most fill [%]. Above 100 % the ring does not fit, and that is warned of.

    Raises
    ------
    InputError
        Outside the ranges, or where a least value is above its most.

    Notes
    -----
    The thickest ring in the smallest gland fills the most. Nominal is the section as named
    in the middle of depth and width.

    Validity: a ring that is not stretched, in a groove with square sides.
    Left out: corner radii and side angles, swell, heat and stretch (`gland_check` has those three).

    References
    ----------
    machinecalcs.com/o-ring-gland-calculator, worked example.

    Examples
    --------
    >>> round(gland_fill(cs_mm=2.0, cs_tol_mm=0.0, depth_min_mm=1.6, depth_max_mm=1.6,
    ...     width_min_mm=3.2, width_max_mm=3.2).fill_nominal_pct, 2)
    61.36
    """
    refuse_tolerance(tolerance=("cs_tol_mm", cs_tol_mm), size=("cs_mm", cs_mm))
    refuse_order(least=("depth_min_mm", depth_min_mm), most=("depth_max_mm", depth_max_mm))
    refuse_order(least=("width_min_mm", width_min_mm), most=("width_max_mm", width_max_mm))
    depth_mm, width_mm = (depth_min_mm + depth_max_mm) / 2, (width_min_mm + width_max_mm) / 2
    most = fill_pct(section_mm=cs_mm + cs_tol_mm, depth_mm=depth_min_mm, width_mm=width_min_mm)
    return Fill(
        fill_min_pct=fill_pct(section_mm=cs_mm - cs_tol_mm, depth_mm=depth_max_mm, width_mm=width_max_mm),
        fill_nominal_pct=fill_pct(section_mm=cs_mm, depth_mm=depth_mm, width_mm=width_mm),
        fill_max_pct=most,
        warnings=("The ring does not fit at its worst case: it is larger than the gland.",)
        if most > 100
        else (),
        sources=("Area of the ring by area of the gland; example: machinecalcs.com/o-ring-gland-calculator",),
    )


def fill_pct(*, section_mm: float, depth_mm: float, width_mm: float) -> float:
    """Share of a gland that a round section takes.

    Parameters
    ----------
    section_mm : float
        Section of the ring [mm].
    depth_mm, width_mm : float
        Depth and width of the gland [mm].

    Returns
    -------
    float
        The share [%].
    """
    return 100 * math.pi / 4 * section_mm**2 / (depth_mm * width_mm)


def thinned_mm(*, section_mm: float, stretch_pct: float) -> float:
    """Section of a ring that is stretched while its volume stays the same.

    Parameters
    ----------
    section_mm : float
        Section of the free ring [mm].
    stretch_pct : float
        Stretch of its length, above -100 [%].

    Returns
    -------
    float
        The section [mm].

    Raises
    ------
    ZeroDivisionError
        No length is left, which a sum tells as inputs that are of no usual size.
    """
    length = 1 + stretch_pct / 100
    if length <= 0:  # by rounding too, where a groove is next to nothing
        raise ZeroDivisionError("a ring without length has no section")
    return section_mm / math.sqrt(length)


@dataclass(frozen=True, kw_only=True)
class Stretch(Result):
    """Stretch of a ring on its groove."""

    stretch_pct: Annotated[
        float, Figure(title="Stretch", of="%", formula="100 * (groove_diameter_mm - id_mm) / id_mm")
    ]
    cs_reduction_pct: Annotated[
        float,
        Figure(title="Section thinner by", of="%", formula="100 * (1 - 1 / sqrt(1 + stretch_pct / 100))"),
    ]


@calculation(
    family="sealing",
    title="Stretch of an O-ring",
    example={"id_mm": 100.0, "groove_diameter_mm": 105.0},
    example_source="Derived here, volume constant: 5 % of stretch make the section 2.41 % thinner.",
)
def oring_stretch(
    *,
    id_mm: InnerDiameter,
    groove_diameter_mm: Annotated[
        float, Number(title="Diameter that the ring sits on", of="mm", above=0, at_most=2000)
    ],
) -> Stretch:
    """Stretch of an O-ring on the bottom of its groove, and how much thinner that makes it.

    Parameters
    ----------
    id_mm : float
        Inside diameter of the free ring, above 0 to 2000 [mm].
    groove_diameter_mm : float
        Diameter that the ring sits on, above 0 to 2000 [mm].

    Returns
    -------
    Stretch
        Stretch [%], negative for a ring that is loose, and the reduction of the section [%].

    Raises
    ------
    InputError
        Outside the ranges.

    Notes
    -----
    The volume of rubber stays the same: the section shrinks by 1 - 1/sqrt(1 + stretch). The
    polynomial of handbooks gives more, as remembered 3.395 % against 2.41 % at 5 % of stretch; it is
    from memory and not used. Measure a stretched ring where the difference matters.

    Validity: rings that are thin against their diameter; stretch is that of the inside diameter.
    Left out: the share of the section in the diameter, heat, swell, relaxation.

    References
    ----------
    Constant volume, derived here. Limits of stretch: gallagherseals.com (5 %), allorings.com (3 %).

    Examples
    --------
    >>> round(oring_stretch(id_mm=100.0, groove_diameter_mm=105.0).cs_reduction_pct, 2)
    2.41
    """
    stretch = 100 * (groove_diameter_mm - id_mm) / id_mm
    warnings = []
    if stretch < 0:
        warnings.append(
            "The groove is smaller than the ring: the ring is loose, and a negative stretch is given."
        )
    if stretch > 0:
        warnings.append(
            "Reduction at constant volume; the polynomial of handbooks gives more "
            "(from memory, not verified: 3.4 % against 2.4 % at 5 % of stretch)."
        )
    return Stretch(
        stretch_pct=stretch,
        cs_reduction_pct=100 * (1 - thinned_mm(section_mm=1.0, stretch_pct=stretch)),
        warnings=tuple(warnings),
        sources=("Volume of the ring constant; derived here",),
    )

"""A whole O-ring gland at its worst case: squeeze, stretch, fill and gap, each against its limit."""

from dataclasses import dataclass
from typing import Annotated

from shop.calc.extrusion import Hardness, Pressure
from shop.calc.gland import (
    InnerDiameter,
    Section,
    SectionTolerance,
    WidthMax,
    WidthMin,
    fill_pct,
    refuse_order,
)
from shop.calc.gland_geometry import (
    FACE,
    PISTON,
    ROD,
    Gland,
    Ring,
    Span,
    depth_span,
    ends,
    refuse_contradiction,
    section_mm,
    span,
    stretch_pct,
    swollen_factor,
)
from shop.calc.gland_limits import (
    RECIPROCATING,
    ROTARY,
    STATIC,
    Limits,
    Service,
    band_words,
    cautions,
    disagreement,
    printed_band,
    worst_verdict,
)
from shop.calc.gland_verdicts import gland_checks
from shop.calc.parameters import Choice, Number
from shop.calc.registry import calculation
from shop.calc.result import Check, Figure, Result

# From memory, linear: about that of nitrile rubber; other compounds have half of it or twice as much.
SEAL_EXPANSION_PER_K = 0.00016


def _diameter(title: str) -> Number:
    return Number(title=title, of="mm", above=0, at_most=2100)


def _tolerance(title: str) -> Number:
    return Number(title=title, of="mm", at_least=0, at_most=10)


def _depth(title: str) -> Number:
    return Number(title=title, of="mm", above=0, at_most=50, help="where the diameters do not give it")


def _limit(title: str, setting: str) -> Number:
    return Number(title=title, of="%", above=0, at_most=100, setting=setting)


@dataclass(frozen=True, kw_only=True)
class GlandCheck(Result):
    """A gland against the limits of its motion."""

    clearance_max_mm: Annotated[
        float | None,
        Figure(
            title="Diametral clearance, most", of="mm", how="land against the surface opposite, worst ends"
        ),
    ]
    depth_least_mm: Annotated[
        float,
        Figure(
            title="Depth, least",
            of="mm",
            how="half the least difference of the diameters, less half the clearance (out of line)",
        ),
    ]
    depth_most_mm: Annotated[
        float,
        Figure(
            title="Depth, most",
            of="mm",
            how="half the greatest difference of the diameters, and half the clearance (out of line)",
        ),
    ]
    stretch_min_pct: Annotated[
        float | None, Figure(title="Stretch, least", of="%", how="smallest seat, largest ring")
    ]
    stretch_max_pct: Annotated[
        float | None, Figure(title="Stretch, most", of="%", how="largest seat, smallest ring")
    ]
    section_least_mm: Annotated[
        float, Figure(title="Section, least", of="mm", how="thinnest ring, stretched the most, cold and dry")
    ]
    section_most_mm: Annotated[
        float,
        Figure(title="Section, most", of="mm", how="thickest ring, stretched the least, hot and swollen"),
    ]
    squeeze_min_pct: Annotated[
        float,
        Figure(
            title="Squeeze, least",
            of="%",
            formula="100 * (section_least_mm - depth_most_mm) / section_least_mm",
        ),
    ]
    squeeze_max_pct: Annotated[
        float,
        Figure(
            title="Squeeze, most",
            of="%",
            formula="100 * (section_most_mm - depth_least_mm) / section_most_mm",
        ),
    ]
    fill_max_pct: Annotated[
        float,
        Figure(
            title="Fill, most",
            of="%",
            formula="100 * (pi / 4 * section_most_mm**2) / (depth_least_mm * width_min_mm)",
        ),
    ]
    published_band: Annotated[
        str, Figure(title="Squeeze of the printed gland", how="design guide, gland for the same section")
    ]
    checks: Annotated[
        tuple[Check, ...], Figure(title="Against the limits", how="each figure at its worst case")
    ]
    verdict: Annotated[str, Figure(title="Verdict", how="the worst of the checks")]


@calculation(
    family="sealing",
    title="Check of an O-ring gland",
    example={
        "motion": STATIC,
        "arrangement": PISTON,
        "id_mm": 24.99,
        "id_tol_mm": 0.25,
        "cs_mm": 3.53,
        "cs_tol_mm": 0.10,
        "groove_diameter_mm": 25.40,
        "groove_diameter_tol_mm": 0.05,
        "mating_diameter_mm": 31.14,
        "mating_diameter_tol_mm": 0.03,
        "width_min_mm": 4.95,
        "width_max_mm": 5.08,
        "land_diameter_mm": 31.06,
        "land_diameter_tol_mm": 0.02,
        "pressure_bar": 60.0,
        "hardness_shore_a": 70.0,
    },
    example_source="Derived here for AS568-214, near the printed gland (0.110 to 0.116 in deep, 14 to 23 %).",
)
def gland_check(
    *,
    motion: Annotated[str, Choice(title="Motion", options=(STATIC, RECIPROCATING, ROTARY))],
    arrangement: Annotated[
        str,
        Choice(
            title="Arrangement",
            options=(PISTON, ROD, FACE),
            help="piston: groove in the inner part; rod: groove in the outer part; face: groove in a flat",
        ),
    ],
    id_mm: InnerDiameter,
    id_tol_mm: Annotated[float, Number(title="± on the inside diameter", of="mm", at_least=0, at_most=20)],
    cs_mm: Section,
    cs_tol_mm: SectionTolerance,
    groove_diameter_mm: Annotated[float | None, _diameter("Diameter of the groove")] = None,
    groove_diameter_tol_mm: Annotated[float | None, _tolerance("± on the groove")] = None,
    mating_diameter_mm: Annotated[float | None, _diameter("Bore or shaft that it seals against")] = None,
    mating_diameter_tol_mm: Annotated[float | None, _tolerance("± on the bore or shaft")] = None,
    depth_min_mm: Annotated[float | None, _depth("Gland depth, least")] = None,
    depth_max_mm: Annotated[float | None, _depth("Gland depth, most")] = None,
    width_min_mm: WidthMin,
    width_max_mm: WidthMax,
    land_diameter_mm: Annotated[float | None, _diameter("Metal beside the groove")] = None,
    land_diameter_tol_mm: Annotated[float | None, _tolerance("± on the metal beside the groove")] = None,
    clearance_max_mm: Annotated[
        float | None, Number(title="Diametral clearance, most", of="mm", at_least=0, at_most=20)
    ] = None,
    temperature_rise_k: Annotated[
        float, Number(title="Warmer than when measured by", of="K", at_least=-150, at_most=300)
    ] = 0.0,
    swell_pct: Annotated[float, Number(title="Swell in volume", of="%", at_least=-50, at_most=200)] = 0.0,
    seal_expansion_per_k: Annotated[
        float,
        Number(
            title="Expansion of the seal (linear)",
            of="1/K",
            at_least=0,
            at_most=0.001,
            setting="seal-expansion",
        ),
    ] = SEAL_EXPANSION_PER_K,
    pressure_bar: Annotated[float | None, Pressure.__metadata__[0]] = None,
    hardness_shore_a: Annotated[float | None, Hardness.__metadata__[0]] = None,
    squeeze_static_min_pct: Annotated[
        float, _limit("Static squeeze, at least", "squeeze-static-least")
    ] = 10.0,
    squeeze_static_max_pct: Annotated[float, _limit("Static squeeze, at most", "squeeze-static-most")] = 30.0,
    squeeze_dynamic_min_pct: Annotated[
        float, _limit("Squeeze in motion, at least", "squeeze-dynamic-least")
    ] = 8.0,
    squeeze_dynamic_max_pct: Annotated[
        float, _limit("Squeeze in motion, at most", "squeeze-dynamic-most")
    ] = 16.0,
    squeeze_small_max_pct: Annotated[
        float, _limit("Squeeze in motion, sections to 1.8 mm, at most", "squeeze-small-most")
    ] = 25.0,
    stretch_max_pct: Annotated[float, _limit("Stretch, at most", "stretch-most")] = 5.0,
    fill_max_pct: Annotated[float, _limit("Fill, at most", "fill-most")] = 85.0,
) -> GlandCheck:
    """Check an O-ring and its gland at the ends of all tolerances, out of line, hot and swollen.

    Parameters
    ----------
    motion : str
        static, reciprocating or rotary [-].
    arrangement : str
        piston (groove in the inner part), rod (groove in the outer part) or face [-].
    id_mm, id_tol_mm : float
        Inside diameter of the free ring, above 0 to 2000, and its tolerance ± [mm].
    cs_mm, cs_tol_mm : float
        Section, above 0 to 50, and its tolerance ± [mm].
    groove_diameter_mm, groove_diameter_tol_mm : float, optional
        Bottom of the groove; for a face groove its inner wall, if the ring sits on it [mm].
    mating_diameter_mm, mating_diameter_tol_mm : float, optional
        Bore or shaft that the ring seals against [mm].
    depth_min_mm, depth_max_mm : float, optional
        Depth with the clearance included; needed where the two diameters do not give it [mm].
    width_min_mm, width_max_mm : float
        Width of the groove, above 0 to 200 [mm].
    land_diameter_mm, land_diameter_tol_mm : float, optional
        Metal beside the groove, which faces the bore or shaft [mm].
    clearance_max_mm : float, optional
        Greatest diametral clearance, 0 to 20, where the metal beside the groove is not given [mm].
    temperature_rise_k : float
        Warmer than when measured, -150 to 300; below 0 for cold [K].
    swell_pct : float
        Growth of the volume in the fluid, -50 to 200 [%].
    seal_expansion_per_k : float
        Linear expansion of the seal, 0 to 0.001; the default is from memory [1/K].
    pressure_bar : float, optional
        Pressure, 0 to 4000 [bar].
    hardness_shore_a : float, optional
        Hardness of the ring, 20 to 100 [Shore A].
    squeeze_static_min_pct, squeeze_static_max_pct : float
        Limits of squeeze at rest, above 0 to 100 [%].
    squeeze_dynamic_min_pct, squeeze_dynamic_max_pct, squeeze_small_max_pct : float
        Limits of squeeze in motion; the last for sections up to 1.8 mm; above 0 to 100 [%].
    stretch_max_pct, fill_max_pct : float
        Limits of stretch and of fill, above 0 to 100 [%].

    Returns
    -------
    GlandCheck
        The figures at their worst ends, one check for each limit with its source and what to
        change, and the worst verdict. What was not given is not decided.

    Raises
    ------
    InputError
        Outside the ranges, for one half of a pair, and for sizes that contradict each other.

    Notes
    -----
    Every figure takes its own worst end of every tolerance, even where two of them cannot meet
    in one piece. A stretch thins the ring at constant volume. A known clearance lets the
    parts stand out of line by half of it: one side is deeper by that, the other shallower. Heat
    and swell change the section alike in all directions; the cold, dry ring is judged as well.

    Published limits disagree. 12 and 16 % (allorings.com, handbook) cannot both be kept at the
    tolerance ends of 3.53 ± 0.10 mm, so that the least dynamic squeeze is that of the printed
    glands. A gland for a rotating shaft has no published limit here.

    Validity: round rings in grooves with square sides; the extrusion table is for 70 and 90 Shore A
    up to 206.8 bar.
    Left out: expansion of the metal and its widening under pressure, corner radii, surface, set,
    a ring that is crowded into a groove and gets thicker, the gap of a face gland.

    References
    ----------
    Mechanical Engineers' Handbook, vol. 3, p. 290 (squeeze); gallagherseals.com and
    ecosealthailand.com (stretch); kaspercalc.com, citing ORD 5700 and AS4716 (guidance bands);
    allorings.com (fill); sealanddesign.com (extrusion); an O-ring maker's design guide
    (fdocument.pub, printed glands).

    Examples
    --------
    >>> found = gland_check(motion="static", arrangement="face", id_mm=24.99, id_tol_mm=0.25,
    ...     cs_mm=3.53, cs_tol_mm=0.10, depth_min_mm=2.56, depth_max_mm=2.74, width_min_mm=4.95,
    ...     width_max_mm=5.08)
    >>> round(found.squeeze_min_pct, 1), round(found.squeeze_max_pct, 1), found.verdict
    (20.1, 29.5, 'passes')
    """
    refuse_order(least=("width_min_mm", width_min_mm), most=("width_max_mm", width_max_mm))
    gland = Gland(
        arrangement=arrangement,
        groove=span(name="groove_diameter", value=groove_diameter_mm, tolerance=groove_diameter_tol_mm),
        mating=span(name="mating_diameter", value=mating_diameter_mm, tolerance=mating_diameter_tol_mm),
        land=span(name="land_diameter", value=land_diameter_mm, tolerance=land_diameter_tol_mm),
        measured_depth=depth_span(least_mm=depth_min_mm, most_mm=depth_max_mm),
        width=Span(least=width_min_mm, most=width_max_mm),
        known_clearance=clearance_max_mm,
    )
    refuse_contradiction(gland=gland)
    ring = Ring(
        inside=ends(name="id", value=id_mm, tolerance=id_tol_mm),
        section=ends(name="cs", value=cs_mm, tolerance=cs_tol_mm),
        nominal_section=cs_mm,
        warm=1 + seal_expansion_per_k * temperature_rise_k,
        swollen=swollen_factor(swell_pct=swell_pct),
    )
    limits = Limits(
        static_least=squeeze_static_min_pct,
        static_most=squeeze_static_max_pct,
        dynamic_least=squeeze_dynamic_min_pct,
        dynamic_most=squeeze_dynamic_max_pct,
        small_most=squeeze_small_max_pct,
        stretch_most=stretch_max_pct,
        fill_most=fill_max_pct,
    )
    service = Service(
        motion=motion,
        pressure_bar=pressure_bar,
        hardness_shore_a=hardness_shore_a,
        heat_from_memory=temperature_rise_k != 0 and seal_expansion_per_k == SEAL_EXPANSION_PER_K,
    )
    return _checked(gland=gland, ring=ring, service=service, limits=limits)


def _checked(*, gland: Gland, ring: Ring, service: Service, limits: Limits) -> GlandCheck:
    depth, stretch = gland.depth, stretch_pct(ring=ring, seat=gland.seat)
    section = section_mm(ring=ring, stretch=stretch)
    squeeze = Span(
        least=100 * (section.least - depth.most) / section.least,
        most=100 * (section.most - depth.least) / section.most,
    )
    fill = fill_pct(section_mm=section.most, depth_mm=depth.least, width_mm=gland.width.least)
    clearance = gland.clearance
    band = printed_band(service=service, gland=gland, section_mm=ring.nominal_section)
    checks = gland_checks(
        gland=gland, ring=ring, service=service, limits=limits, stretch=stretch, squeeze=squeeze, fill=fill
    )
    return GlandCheck(
        clearance_max_mm=clearance.most if clearance else None,
        depth_least_mm=depth.least,
        depth_most_mm=depth.most,
        stretch_min_pct=stretch.least if stretch else None,
        stretch_max_pct=stretch.most if stretch else None,
        section_least_mm=section.least,
        section_most_mm=section.most,
        squeeze_min_pct=squeeze.least,
        squeeze_max_pct=squeeze.most,
        fill_max_pct=fill,
        published_band=band_words(motion=service.motion, band=band),
        checks=checks,
        verdict=worst_verdict(checks=checks),
        warnings=(
            *cautions(gland=gland, stretch=stretch, squeeze=squeeze, service=service),
            *disagreement(checks=checks[:2], band=band),
        ),
        sources=tuple(dict.fromkeys(check.source for check in checks)),
    )

"""The published limits of an O-ring gland, its figures held against them, and the cautions."""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from shop.calc.extrusion import BACKUP_ABOVE_BAR, BACKUP_SOURCE, tabulated_clearance_mm
from shop.calc.extrusion import SOURCE as EXTRUSION_SOURCE
from shop.calc.gland_geometry import FACE, PISTON, Gland, Span
from shop.calc.result import FAILS, NOT_DECIDED, PASSES, Check, within

# Read: an O-ring maker's design guide, gland design tables (fdocument.pub, seal types and gland
# design); the dynamic table is for reciprocating motion. Inches and %.
DATA = Path(__file__).parent / "data"
STATIC, RECIPROCATING, ROTARY = "static", "reciprocating", "rotary"
MM_PER_IN = 25.4
# How near a section must come to a row of the printed tables to be shown beside it.
SAME_SECTION_MM = 0.05
# The handbook allows "small" sections more and does not say which; the printed glands squeeze
# sections up to 0.070 in (1.78 mm) that much.
SMALL_SECTION_MM = 1.8

# The printed percentages are rounded to whole and half ones.
_PRINTED_TO = 0.5
_HANDBOOK = "Mechanical Engineers' Handbook, vol. 3, p. 290"
_GUIDANCE = "guidance band of kaspercalc.com, citing ORD 5700 and AS4716"
_CHART = "least squeeze of the printed glands, O-ring maker's design guide (fdocument.pub)"


@dataclass(frozen=True, kw_only=True)
class Service:
    """What the gland has to do; pressure in bar, hardness in Shore A."""

    motion: str
    pressure_bar: float | None
    hardness_shore_a: float | None
    heat_from_memory: bool = False


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A limit in %, with what publishes the default."""

    value: float
    default: float
    published: str

    @property
    def source(self) -> str:
        """Where the limit comes from; one that was changed says so."""
        if self.value == self.default:
            return self.published
        return f"as entered or set by the shop; {self.published} has {self.default:g} %"


@dataclass(frozen=True, kw_only=True)
class Limits:
    """The limits in % that are at choice; the defaults are the published ones."""

    static_least: float
    static_most: float
    dynamic_least: float
    dynamic_most: float
    small_most: float
    stretch_most: float
    fill_most: float

    def squeeze(self, *, motion: str, section_mm: float) -> tuple[Limit, Limit]:
        """Least and most squeeze for a motion and a section [mm]."""
        if motion == STATIC:
            least = Limit(value=self.static_least, default=10, published=_GUIDANCE)
            return least, Limit(value=self.static_most, default=30, published=f"{_HANDBOOK}, static")
        least = Limit(value=self.dynamic_least, default=8, published=_CHART)
        if section_mm <= SMALL_SECTION_MM:
            return least, Limit(
                value=self.small_most, default=25, published=f"{_HANDBOOK}, dynamic, small sections"
            )
        return least, Limit(value=self.dynamic_most, default=16, published=f"{_HANDBOOK}, dynamic")

    @property
    def stretch(self) -> Limit:
        """Most stretch."""
        return Limit(
            value=self.stretch_most,
            default=5,
            published="gallagherseals.com, male groove, and ecosealthailand.com (allorings.com: 3 %)",
        )

    @property
    def fill(self) -> Limit:
        """Most fill."""
        return Limit(value=self.fill_most, default=85, published=f"{_GUIDANCE}; allorings.com")


def squeeze_checks(*, squeeze: Span, limits: tuple[Limit, Limit]) -> tuple[Check, Check]:
    """Hold both ends of the squeeze against their limits.

    Parameters
    ----------
    squeeze : Span
        Least and most squeeze [%].
    limits : tuple of Limit
        Least and most [%].

    Returns
    -------
    tuple of Check
        For the least and for the most squeeze.
    """
    least, most = limits
    return (
        within(
            what="squeeze, least",
            value=squeeze.least,
            unit="%",
            lower=least.value,
            source=least.source,
            advice="A shallower groove, a thicker section, closer tolerances or less clearance; "
            "a ring that is stretched less.",
        ),
        within(
            what="squeeze, most",
            value=squeeze.most,
            unit="%",
            upper=most.value,
            source=most.source,
            advice="A deeper groove, a thinner section, closer tolerances or less clearance.",
        ),
    )


def stretch_check(*, stretch: Span | None, limit: Limit) -> Check:
    """Hold the most stretch against its limit.

    Parameters
    ----------
    stretch : Span or None
        Stretch [%]; None where the seat is unknown.
    limit : Limit
        The most [%].

    Returns
    -------
    Check
        Not decided without a stretch.
    """
    return within(
        what="stretch, most",
        value=stretch.most if stretch else None,
        unit="%",
        upper=limit.value,
        source=limit.source,
        advice="A ring with a larger inside diameter, or a smaller seat for it."
        if stretch
        else "Measure the diameter that the ring sits on: the groove of a piston, the shaft in a rod gland.",
    )


def fill_check(*, fill_pct: float, limit: Limit) -> Check:
    """Hold the most fill against its limit.

    Parameters
    ----------
    fill_pct : float
        The fill [%].
    limit : Limit
        The most [%].

    Returns
    -------
    Check
        Passes or fails.
    """
    return within(
        what="fill, most",
        value=fill_pct,
        unit="%",
        upper=limit.value,
        source=limit.source,
        advice="A wider or deeper groove, or a thinner section.",
    )


def gap_check(
    *,
    gap_mm: float | None,
    hardness_shore_a: float | None,
    pressure_bar: float | None,
) -> Check:
    """Hold a diametral clearance against the extrusion table.

    Parameters
    ----------
    gap_mm : float or None
        The clearance [mm].
    hardness_shore_a : float or None
        Hardness of the seal [Shore A].
    pressure_bar : float or None
        Pressure [bar].

    Returns
    -------
    Check
        Not decided where something is missing or not tabulated; says what.
    """
    allowed, advice = None, "Less clearance, a harder ring or a back-up ring."
    if gap_mm is None:
        advice = "Measure the land beside the groove and the surface opposite."
    elif hardness_shore_a is None or pressure_bar is None:
        advice = "Give the pressure and the hardness of the ring."
    else:
        allowed = tabulated_clearance_mm(hardness_shore_a=hardness_shore_a, pressure_bar=pressure_bar)
        if allowed is None:
            advice = "The table has 70 and 90 Shore A up to 206.8 bar (3000 psi): ask the maker of the ring."
    return within(
        what="diametral clearance, most",
        value=gap_mm,
        unit="mm",
        upper=allowed,
        source=EXTRUSION_SOURCE,
        advice=advice,
    )


def worst_verdict(*, checks: tuple[Check, ...]) -> str:
    """The worst of some verdicts.

    Parameters
    ----------
    checks : tuple of Check
        The checks.

    Returns
    -------
    str
        Fails if one fails, else not decided if one is open or there is none, else passes.

    Examples
    --------
    >>> worst_verdict(checks=())
    'not decided'
    """
    found = {check.verdict for check in checks}
    if FAILS in found:
        return FAILS
    return NOT_DECIDED if NOT_DECIDED in found or not found else PASSES


@dataclass(frozen=True, kw_only=True)
class Band:
    """Squeeze of a printed gland in %, for a section in inches as it is printed."""

    least: float
    most: float
    section: str


def printed_band(*, service: Service, gland: Gland, section_mm: float) -> Band | None:
    """Squeeze of the printed gland for the same section.

    Parameters
    ----------
    service : Service
        The motion.
    gland : Gland
        The arrangement.
    section_mm : float
        Nominal section of the ring [mm].

    Returns
    -------
    Band or None
        Its squeeze [%]; None where none is printed.
    """
    if service.motion == ROTARY:
        return None
    table, column = "gland_dynamic.csv", "squeeze"
    if service.motion == STATIC:
        table, column = "gland_static.csv", "axial_sq" if gland.arrangement == FACE else "radial_sq"
    near = min(_rows(table), key=lambda row: abs(float(row["cs_in"]) * MM_PER_IN - section_mm))
    if abs(float(near["cs_in"]) * MM_PER_IN - section_mm) > SAME_SECTION_MM:
        return None
    least, most = (float(near[f"{column}_{end}_pct"]) for end in ("min", "max"))
    return Band(least=least, most=most, section=near["cs_in"])


def band_words(*, motion: str, band: Band | None) -> str:
    """Say the printed squeeze in words.

    Parameters
    ----------
    motion : str
        static, reciprocating or rotary.
    band : Band or None
        The printed squeeze [%].

    Returns
    -------
    str
        The words.
    """
    if band is None:
        return "no printed gland for " + ("rotary motion" if motion == ROTARY else "this section")
    return f"{band.least:g} to {band.most:g} %, without stretch and in line, for {band.section} in"


def disagreement(*, checks: tuple[Check, ...], band: Band | None) -> tuple[str, ...]:
    """Say where a squeeze fails its limit although the printed gland has as much or as little.

    Parameters
    ----------
    checks : tuple of Check
        Checks of squeeze [%].
    band : Band or None
        The printed squeeze [%].

    Returns
    -------
    tuple of str
        One sentence for each such check.
    """
    if band is None:
        return ()
    return tuple(
        f"The limit of {check.what} and the printed gland ({band.least:g} to {band.most:g} %) disagree: "
        "the lead may set the limit."
        for check in checks
        if check.verdict == FAILS
        and check.value is not None
        and band.least - _PRINTED_TO <= check.value <= band.most + _PRINTED_TO
    )


@cache
def _rows(table: str) -> tuple[dict[str, str], ...]:
    with (DATA / table).open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


def cautions(*, gland: Gland, stretch: Span | None, squeeze: Span, service: Service) -> tuple[str, ...]:
    """What a gland's figures do not say, and what to look out for.

    Parameters
    ----------
    gland : Gland
        The gland [mm].
    stretch : Span or None
        Its stretch [%].
    squeeze : Span
        Its squeeze [%].
    service : Service
        Motion, pressure [bar] and hardness [Shore A].

    Returns
    -------
    tuple of str
        One sentence for each.
    """
    rising = service.pressure_bar is not None and service.pressure_bar > BACKUP_ABOVE_BAR
    said = (
        (squeeze.least <= 0, "The ring does not touch at its worst case: there is a gap."),
        *_motion_warnings(service.motion),
        (
            gland.arrangement == PISTON and stretch is not None and stretch.least < 0,
            "At its worst case the ring is loose in its groove and may be pinched on assembly.",
        ),
        (
            stretch is not None and stretch.most > 0,
            "The stretched section is at constant volume; handbooks thin it more "
            "(from memory, not verified).",
        ),
        (
            service.heat_from_memory,
            "The expansion of the seal is from memory, not verified: ask the maker of the compound.",
        ),
        (
            rising,
            f"Above 103.5 bar consider a back-up ring, and room for it in the groove ({BACKUP_SOURCE}).",
        ),
        (gland.arrangement == FACE, "The faces must touch: their gap under pressure is not checked."),
    )
    return tuple(sentence for wanted, sentence in said if wanted)


def _motion_warnings(motion: str) -> tuple[tuple[bool, str], ...]:
    return (
        (
            motion == RECIPROCATING,
            "A plain O-ring is a poor stand-in for a lip-type seal: under stroking it rolls and wears "
            "(common practice, no source).",
        ),
        (
            motion == ROTARY,
            "On a rotating shaft a stretched ring tightens as it warms and burns: it should not be "
            "stretched (common practice, no source). No published squeeze for rotary motion was "
            "found; the limits of reciprocating motion are used.",
        ),
    )

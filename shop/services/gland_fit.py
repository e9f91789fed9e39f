"""How a ring fits the gland of a seal position, and how a run-out stands, by the shop's limits."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from shop.calc import registry
from shop.calc.gland_check import GlandCheck, gland_check
from shop.calc.oring import oring_size
from shop.calc.parameters import InputError
from shop.calc.result import FAILS, NOT_DECIDED, PASSES, Check
from shop.calc.rod import rod_runout_limit
from shop.models import DimensionLimit, LimitSetting, SealPosition, TypeRevision

Figure = DimensionLimit.GlandFigure
SHAFT_DERIVED = "The shaft in a rod gland is taken as its groove less twice the depth."
_DASH = re.compile(r"(?:AS ?568[A-Z]?[ -]*|-)([0-9]{1,3})", re.IGNORECASE)
_NUMBER = r"([0-9]+(?:[.,][0-9]+)?)"
_METRIC = re.compile(rf"{_NUMBER} *[x×] *{_NUMBER}(?: *mm)?", re.IGNORECASE)
# The checks that a reading of one figure of a gland can change.
CONCERNED = {
    Figure.DEPTH: ("squeeze", "fill"),
    Figure.WIDTH: ("fill",),
    Figure.DIAMETER: ("stretch", "squeeze"),
    Figure.CLEARANCE: ("diametral clearance", "squeeze"),
}


@dataclass(frozen=True, kw_only=True)
class Ring:
    """Size of an O-ring in mm; tolerances of 0 where they are not known, with a warning."""

    designation: str
    id_mm: float
    id_tol_mm: float
    cs_mm: float
    cs_tol_mm: float
    warnings: tuple[str, ...] = ()

    @property
    def size(self) -> str:
        """Inside diameter by section, as it is written."""
        return f"{self.id_mm:g} x {self.cs_mm:g}"


@dataclass(frozen=True, kw_only=True)
class GlandFit:
    """The check of a gland with a ring; ``why_not`` names what is missing where there is no result."""

    result: GlandCheck | None = None
    why_not: str = ""
    ring: Ring | None = None
    warnings: tuple[str, ...] = ()

    @property
    def verdict(self) -> str:
        """Passes, fails or not decided; not decided where nothing could be checked."""
        return self.result.verdict if self.result else NOT_DECIDED

    @property
    def failing(self) -> list[Check]:
        """The checks that fail."""
        return [check for check in self.result.checks if check.verdict == FAILS] if self.result else []


@dataclass(frozen=True, kw_only=True)
class Judged:
    """What a sum says of a reading: within, outside, or None where it cannot be decided; and why."""

    within: bool | None
    sentence: str


def shop_limits() -> dict[str, float]:
    """Return the shop's own limits by key, in one query."""
    return dict(LimitSetting.objects.values_list("key", "value"))


def ring_of(*, designation: str) -> Ring | None:
    """Return the size of an O-ring from ``AS568-214``, ``-214`` or ``10 x 2``; None for what is no ring.

    Three numbers such as 12 x 20 x 5.7 are a profile.
    """
    text = designation.strip()
    if dash := _DASH.fullmatch(text):
        return _dash_ring(dash.group(1))
    metric = _METRIC.fullmatch(text)
    if not metric:
        return None
    inside, section = (float(number.replace(",", ".")) for number in metric.groups())
    if not (0 < inside <= 2000 and 0 < section <= 50):
        return None
    return Ring(
        designation=text,
        id_mm=inside,
        id_tol_mm=0.0,
        cs_mm=section,
        cs_tol_mm=0.0,
        warnings=(f"The tolerances of the ring {text} are not known: taken as 0 mm.",),
    )


def _dash_ring(dash: str) -> Ring | None:
    try:
        size = oring_size(dash=dash)
    except InputError:
        return None
    return Ring(
        designation=size.designation,
        id_mm=size.id_mm,
        id_tol_mm=size.id_tol_mm,
        cs_mm=size.cs_mm,
        cs_tol_mm=size.cs_tol_mm,
        warnings=size.warnings,
    )


def same_size(one: str, other: str) -> bool:
    """Whether two designations name one size: ``-214`` is AS568-214, ``10x2`` is 10 x 2 mm."""
    return _normal(one) == _normal(other)


def _normal(designation: str) -> str:
    ring = ring_of(designation=designation)
    if ring:
        return ring.designation if ring.id_tol_mm else ring.size
    return re.sub(r"(?<=\d),(?=\d)", ".", designation.casefold().replace("×", "x").replace(" ", ""))


def gland_pressure_bar(revision: TypeRevision) -> float | None:
    """Return the highest pressure that the glands of a unit type see: proof, else rated."""
    return revision.proof_pressure_bar or revision.rated_pressure_bar


def gland_fit(
    *,
    position: SealPosition,
    designation: str,
    hardness_shore_a: float | None = None,
    pressure_bar: float | None = None,
    measured: Mapping[str, float] | None = None,
    limits: Mapping[str, float] | None = None,
) -> GlandFit:
    """Check a ring in the gland of a seal position.

    ``measured`` replaces figures of the gland (depth, width, diameter, clearance) by readings in mm.
    ``limits`` are the shop's own (``shop_limits``); without them the published ones hold.
    """
    ring = ring_of(designation=designation)
    if ring is None:
        words = (
            f"{designation.strip()} is not the size of an O-ring" if designation.strip() else "no size given"
        )
        return GlandFit(why_not=f"Not checked: {words}.")
    gland, warnings = _figures(position, measured or {})
    missing = _missing(gland)
    if missing:
        return GlandFit(why_not=f"Not checked: {missing}.", ring=ring)
    sizes = {"id_mm": ring.id_mm, "id_tol_mm": ring.id_tol_mm}
    sizes |= {"cs_mm": ring.cs_mm, "cs_tol_mm": ring.cs_tol_mm}
    given: dict[str, Any] = {**sizes, **gland, **_limits_of("gland_check", limits)}
    try:
        result = gland_check(
            motion=position.motion, pressure_bar=pressure_bar, hardness_shore_a=hardness_shore_a, **given
        )
    except InputError as error:
        return GlandFit(why_not=f"Not checked: {error}.", ring=ring)
    return GlandFit(result=result, ring=ring, warnings=(*ring.warnings, *warnings, *result.warnings))


def _figures(position: SealPosition, measured: Mapping[str, float]) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Return the gland as `gland_check` takes it, and what had to be assumed."""
    depth, width = measured.get(Figure.DEPTH), measured.get(Figure.WIDTH)
    diameter = measured.get(Figure.DIAMETER)
    tolerance = 0.0 if diameter is not None else position.gland_diameter_tol_mm
    diameter = position.gland_diameter_mm if diameter is None else diameter
    warnings: tuple[str, ...] = ()
    if diameter is not None and tolerance is None:
        tolerance, warnings = 0.0, ("The tolerance of the groove diameter is not entered: taken as 0 mm.",)
    face = position.arrangement == SealPosition.Arrangement.FACE
    on_rod = position.arrangement == SealPosition.Arrangement.ROD
    clearance = measured.get(Figure.CLEARANCE, position.clearance_max_mm)
    figures = {
        "arrangement": position.arrangement,
        "groove_diameter_mm": diameter,
        "groove_diameter_tol_mm": None if diameter is None else tolerance,
        "depth_min_mm": position.gland_depth_min_mm if depth is None else depth,
        "depth_max_mm": position.gland_depth_max_mm if depth is None else depth,
        "width_min_mm": position.gland_width_min_mm if width is None else width,
        "width_max_mm": position.gland_width_max_mm if width is None else width,
        "clearance_max_mm": None if face else clearance,
    }
    if on_rod and diameter is not None and None not in (figures["depth_min_mm"], figures["depth_max_mm"]):
        figures |= _shaft(figures)
        warnings += (SHAFT_DERIVED,)
    return figures, warnings


def _shaft(figures: Mapping[str, Any]) -> dict[str, float | None]:
    """Return the shaft inside a rod gland, at the ends of the groove and of its depth, in the groove's place.

    The depth is the gap between the bottom of the groove and the shaft, so that the shaft follows from
    the two; `gland_check` takes the depth and one of the two diameters.
    """
    least, most = figures["depth_min_mm"], figures["depth_max_mm"]
    return {
        "groove_diameter_mm": None,
        "groove_diameter_tol_mm": None,
        "mating_diameter_mm": figures["groove_diameter_mm"] - least - most,
        "mating_diameter_tol_mm": figures["groove_diameter_tol_mm"] + most - least,
    }


def _missing(gland: Mapping[str, Any]) -> str:
    """Return what must be entered before a gland can be checked; empty if nothing."""
    pairs = {
        "its depth": ("depth_min_mm", "depth_max_mm"),
        "its width": ("width_min_mm", "width_max_mm"),
    }
    lacking = [words for words, names in pairs.items() if any(gland[name] is None for name in names)]
    if len(lacking) == len(pairs):
        return "no gland is entered for this position"
    if not gland["arrangement"]:
        lacking.append("on which side the groove is")
    return f"of this gland it is not entered: {', '.join(lacking)}" if lacking else ""


@cache
def _settings_of(name: str) -> tuple[tuple[str, str], ...]:
    """Return which parameter of a calculation takes which setting of the shop."""
    asked = registry.find(name=name).asked
    return tuple((one.name, one.parameter.setting) for one in asked if one.parameter.setting)


def _limits_of(name: str, limits: Mapping[str, float] | None) -> dict[str, float]:
    known = limits or {}
    return {parameter: known[key] for parameter, key in _settings_of(name) if key in known}


def check_sentence(check: Check) -> str:
    """Return one check in words: figure, limit and verdict."""
    if check.value is None:
        return f"{check.what} not known: {check.verdict}"
    bounds = [("at least", check.lower), ("at most", check.upper)]
    limits = "".join(f", {word} {bound:g} {check.unit}" for word, bound in bounds if bound is not None)
    places = 2 if check.unit == "mm" else 1
    return f"{check.what} {check.value:.{places}f} {check.unit}{limits}: {check.verdict}"


def judge_gland_reading(
    *, limit: DimensionLimit, value: float, designation: str, limits: Mapping[str, float]
) -> Judged:
    """Judge a reading of one figure of a gland by the checks that this figure can change."""
    position = limit.position
    if position is None:
        raise ValueError(f"{limit} is no figure of a gland.")
    fit = gland_fit(
        position=position, designation=designation, measured={limit.gland_figure: value}, limits=limits
    )
    if fit.result is None or fit.ring is None:
        return Judged(within=None, sentence=fit.why_not)
    concerned = CONCERNED[Figure(limit.gland_figure)]
    checks = [check for check in fit.result.checks if check.what.startswith(concerned)]
    verdicts = {check.verdict for check in checks}
    within = False if FAILS in verdicts else True if verdicts == {PASSES} else None
    named = fit.ring.designation
    size = named if named == fit.ring.size else f"{named} ({fit.ring.size} mm)"
    words = "; ".join(check_sentence(check) for check in checks)
    return Judged(
        within=within, sentence=" ".join([f"With {size} at {position.code}: {words}.", *fit.ring.warnings])
    )


def judge_run_out(*, length_mm: float, value_mm: float, limits: Mapping[str, float]) -> Judged:
    """Judge the run-out of a rod by its length and the shop's limit for each metre."""
    own = _limits_of("rod_runout_limit", limits)
    try:
        most_mm = rod_runout_limit(length_mm=length_mm, **own).limit_mm
    except InputError as error:
        return Judged(within=None, sentence=f"Not checked: {error}.")
    within = value_mm <= most_mm + 1e-9
    per_metre = 1000 * most_mm / length_mm
    sentence = (
        f"{per_metre:g} mm for each metre over {length_mm:g} mm is {most_mm:.3g} mm at most; "
        f"{value_mm:g} mm: {PASSES if within else FAILS}."
    )
    return Judged(within=within, sentence=sentence)

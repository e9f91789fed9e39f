"""An O-ring in its gland at the ends of all tolerances: depth, clearance, stretch and section."""

import math
from dataclasses import dataclass

from shop.calc.gland import refuse_order, refuse_tolerance, thinned_mm
from shop.calc.parameters import InputError

PISTON, ROD, FACE = "piston", "rod", "face"


@dataclass(frozen=True, kw_only=True)
class Span:
    """Least and most of a size, in mm or in %."""

    least: float
    most: float


@dataclass(frozen=True, kw_only=True)
class Ring:
    """Inside diameter and section of a free ring, in mm, with swell and heat as factors of length."""

    inside: Span
    section: Span
    nominal_section: float
    warm: float
    swollen: float


@dataclass(frozen=True, kw_only=True)
class Gland:
    """Diameters of a gland in mm; what is unknown is None."""

    arrangement: str
    groove: Span | None
    mating: Span | None
    land: Span | None
    measured_depth: Span | None
    width: Span
    known_clearance: float | None = None

    @property
    def seat(self) -> Span | None:
        """The diameter inside the ring, which stretches it."""
        return self.mating if self.arrangement == ROD else self.groove

    @property
    def clearance(self) -> Span | None:
        """Diametral clearance between the land beside the groove and the surface opposite."""
        if self.known_clearance is not None:
            return Span(least=0.0, most=self.known_clearance)
        if self.land is None or self.mating is None:
            return None
        outer, inner = (self.land, self.mating) if self.arrangement == ROD else (self.mating, self.land)
        return Span(least=outer.least - inner.most, most=outer.most - inner.least)

    @property
    def central_depth(self) -> Span:
        """Radial depth where both parts are in line."""
        if self.measured_depth:
            return self.measured_depth
        if self.groove is None or self.mating is None:
            raise InputError(
                "depth_min_mm",
                "depth_min_mm must be given with depth_max_mm where groove_diameter_mm and "
                "mating_diameter_mm do not both give the depth; got nothing",
            )
        outer, inner = (self.groove, self.mating) if self.arrangement == ROD else (self.mating, self.groove)
        return Span(least=(outer.least - inner.most) / 2, most=(outer.most - inner.least) / 2)

    @property
    def depth(self) -> Span:
        """Radial depth with the parts out of line by half the greatest clearance, either way."""
        central = self.central_depth
        aside = self.clearance.most / 2 if self.clearance else 0.0
        if central.least - aside <= 0:
            name = "groove_diameter_mm" if self.groove else "depth_min_mm"
            raise InputError(
                name,
                f"{name} must leave a depth above 0 mm at its worst case; got {central.least - aside:g} mm",
            )
        return Span(least=central.least - aside, most=central.most + aside)


def span(*, name: str, value: float | None, tolerance: float | None) -> Span | None:
    """Ends of a size that may be left out.

    Parameters
    ----------
    name : str
        Name of the size without its unit.
    value, tolerance : float, optional
        Size and tolerance ± [mm].

    Returns
    -------
    Span or None
        Its ends [mm]; None where neither is given.

    Raises
    ------
    InputError
        One is given without the other, or the tolerance is not below the size.
    """
    size, spread = f"{name}_mm", f"{name}_tol_mm"
    if value is None and tolerance is None:
        return None
    if value is None:
        raise InputError(size, f"{size} must be given with {spread}; got nothing")
    if tolerance is None:
        raise InputError(spread, f"{spread} must be given with {size}, 0 mm for none; got nothing")
    return ends(name=name, value=value, tolerance=tolerance)


def ends(*, name: str, value: float, tolerance: float) -> Span:
    """Ends of a size with its tolerance ±.

    Parameters
    ----------
    name : str
        Name of the size without its unit.
    value, tolerance : float
        Size and tolerance ± [mm].

    Returns
    -------
    Span
        Its ends [mm].

    Raises
    ------
    InputError
        The tolerance is not below the size.
    """
    refuse_tolerance(tolerance=(f"{name}_tol_mm", tolerance), size=(f"{name}_mm", value))
    return Span(least=value - tolerance, most=value + tolerance)


def depth_span(*, least_mm: float | None, most_mm: float | None) -> Span | None:
    """Ends of a measured depth that may be left out.

    Parameters
    ----------
    least_mm, most_mm : float, optional
        Least and most depth [mm].

    Returns
    -------
    Span or None
        Its ends [mm]; None where neither is given.

    Raises
    ------
    InputError
        One is given without the other, or the least is above the most.
    """
    if least_mm is None and most_mm is None:
        return None
    for name, value in (("depth_min_mm", least_mm), ("depth_max_mm", most_mm)):
        if value is None:
            raise InputError(name, f"{name} must be given with the other end of the depth; got nothing")
    assert least_mm is not None and most_mm is not None  # noqa: PT018
    refuse_order(least=("depth_min_mm", least_mm), most=("depth_max_mm", most_mm))
    return Span(least=least_mm, most=most_mm)


def refuse_contradiction(*, gland: Gland) -> None:
    """Refuse diameters that do not belong to the arrangement, or give a thing twice.

    Parameters
    ----------
    gland : Gland
        The gland [mm].

    Returns
    -------
    None
        Nothing; what is in order passes.

    Raises
    ------
    InputError
        The gland contradicts itself.
    """
    known = gland.known_clearance
    if gland.arrangement == FACE:
        for name, given in (
            ("mating_diameter_mm", gland.mating and gland.mating.most),
            ("land_diameter_mm", gland.land and gland.land.most),
            ("clearance_max_mm", known),
        ):
            if given is not None:
                raise InputError(name, f"{name} must be left out for a face groove; got {given:g} mm")
    if known is not None and gland.land:
        raise InputError(
            "clearance_max_mm",
            f"clearance_max_mm must be left out where land_diameter_mm is given; got {known:g} mm",
        )
    if gland.measured_depth and gland.groove and gland.mating:
        raise InputError(
            "depth_min_mm",
            "depth_min_mm must be left out where groove_diameter_mm and mating_diameter_mm give the depth; "
            f"got {gland.measured_depth.least:g} mm",
        )
    if gland.clearance and gland.clearance.most < 0:
        side = "above" if gland.arrangement == ROD else "below"
        raise InputError(
            "land_diameter_mm",
            f"land_diameter_mm must be {side} mating_diameter_mm; "
            f"got a clearance of {gland.clearance.most:g} mm",
        )


def stretch_pct(*, ring: Ring, seat: Span | None) -> Span | None:
    """Stretch of the inside diameter on its seat.

    Parameters
    ----------
    ring : Ring
        The ring [mm].
    seat : Span or None
        The diameter inside it [mm].

    Returns
    -------
    Span or None
        Least and most stretch [%]; None where the seat is unknown.
    """
    if seat is None:
        return None
    return Span(
        least=100 * (seat.least / ring.inside.most - 1),
        most=100 * (seat.most / ring.inside.least - 1),
    )


def section_mm(*, ring: Ring, stretch: Span | None) -> Span:
    """Section of the ring at its thinnest (cold, dry) and at its thickest (hot, swollen).

    Parameters
    ----------
    ring : Ring
        The ring [mm].
    stretch : Span or None
        Its stretch [%]; only a stretch thins the ring, a loose one stays as it is.

    Returns
    -------
    Span
        Least and most section [mm].
    """
    most, least = (max(0.0, stretch.most), max(0.0, stretch.least)) if stretch else (0.0, 0.0)
    thin = thinned_mm(section_mm=ring.section.least, stretch_pct=most)
    thick = thinned_mm(section_mm=ring.section.most, stretch_pct=least)
    return Span(
        least=thin * min(1.0, ring.warm) * min(1.0, ring.swollen),
        most=thick * max(1.0, ring.warm) * max(1.0, ring.swollen),
    )


def swollen_factor(*, swell_pct: float) -> float:
    """Factor of length of a ring that swells alike in all directions.

    Parameters
    ----------
    swell_pct : float
        Growth of the volume, above -100 [%].

    Returns
    -------
    float
        The factor [-].
    """
    return math.cbrt(1 + swell_pct / 100)

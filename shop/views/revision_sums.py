"""What the sums of the trade say about one revision of a unit type: forces, volumes, glands."""

from dataclasses import dataclass
from typing import Any

from django.urls import reverse
from django.utils.http import urlencode
from django.utils.safestring import SafeString

from shop.calc import registry
from shop.calc.result import FAILS
from shop.documents.gland_drawing import Groove, gland_svg
from shop.models import SealPosition, TypeRevision
from shop.services.gland_fit import GlandFit, gland_fit, gland_pressure_bar, ring_of, shop_limits
from shop.views.sums import converted

FORCES = (
    "bore_area_mm2",
    "annulus_area_mm2",
    "area_ratio",
    "force_extend_kn",
    "force_retract_kn",
    "intensified_pressure_bar",
)
AREAS = FORCES[:3]


@dataclass(frozen=True)
class PositionSums:
    """A seal position with its gland check and the drawing of its groove."""

    position: SealPosition
    fit: GlandFit
    drawing: SafeString | None


def revision_sums(revision: TypeRevision, *, inch: bool) -> dict[str, Any]:
    """Return what the page of a unit type shows of the sums."""
    return {
        "figures": _cylinder(revision, inch),
        "links": _links(revision),
        "pressure_bar": revision.rated_pressure_bar,
        **gland_sums(revision),
    }


def gland_sums(revision: TypeRevision) -> dict[str, list[PositionSums]]:
    """Return the positions with the check of their size in their gland: checked, failing, unchecked."""
    limits = shop_limits()
    pressure = gland_pressure_bar(revision)
    positions = [
        PositionSums(
            position=position,
            fit=gland_fit(
                position=position, designation=position.size_designation, pressure_bar=pressure, limits=limits
            ),
            drawing=_drawing(position),
        )
        for position in revision.positions.all()
    ]
    return {
        "checked": [each for each in positions if each.fit.result],
        "failing": [each for each in positions if each.fit.verdict == FAILS],
        "unchecked": [each for each in positions if not each.fit.result],
    }


def _cylinder(revision: TypeRevision, inch: bool) -> list[tuple[str, str, str]]:
    """Return (title, value, unit) of areas, forces at rated pressure and volumes, as far as known."""
    if revision.bore_mm is None or revision.rod_mm is None:
        return []
    size = {"bore_mm": revision.bore_mm, "rod_mm": revision.rod_mm}
    rated = revision.rated_pressure_bar
    found = _some(
        "cylinder_forces",
        {**size, "pressure_bar": rated or 0.0, "flow_l_min": 0.0},
        FORCES if rated else AREAS,
        inch,
    )
    if revision.stroke_mm:
        inputs = {**size, "stroke_mm": revision.stroke_mm}
        names = ("extend_ml", "retract_ml", "rod_displacement_ml")
        found += _some("cylinder_volumes", inputs, names, inch)
    return found


def _some(
    name: str, inputs: dict[str, float], names: tuple[str, ...], inch: bool
) -> list[tuple[str, str, str]]:
    one = registry.find(name=name)
    result = one.answer(inputs).result
    return [
        (given.figure.title, *converted(getattr(result, given.name), given.figure.of, inch))
        for given in one.figures
        if given.name in names
    ]


def _links(revision: TypeRevision) -> list[tuple[str, str]]:
    """Return the bench sums that go on from the figures of this revision, with them filled in."""
    known = {
        name: value
        for name, value in (
            ("bore_mm", revision.bore_mm),
            ("rod_mm", revision.rod_mm),
            ("stroke_mm", revision.stroke_mm),
            ("displacement_cm3", revision.displacement_cm3),
            ("pressure_bar", revision.rated_pressure_bar),
            ("volume_ml", revision.volume_ml),
        )
        if value is not None
    }
    wanted = []
    if revision.bore_mm and revision.rod_mm:
        wanted += ["cylinder_forces", "drift_leak_rate"]
    if revision.displacement_cm3:
        wanted += ["pump_performance"]
    if revision.volume_ml:
        wanted += ["decay_leak_rate"]
    found = []
    for name in wanted:
        one = registry.find(name=name)
        query = {"units": "metric"}
        query |= {asked.name: f"{known[asked.name]:g}" for asked in one.asked if asked.name in known}
        found.append((one.title, f"{reverse('shop:sum', args=[name])}?{urlencode(query)}"))
    return found


def _drawing(position: SealPosition) -> SafeString | None:
    ring = ring_of(designation=position.size_designation)
    depth_min, depth_max = position.gland_depth_min_mm, position.gland_depth_max_mm
    width_min, width_max = position.gland_width_min_mm, position.gland_width_max_mm
    if ring is None or depth_min is None or depth_max is None or width_min is None or width_max is None:
        return None
    return gland_svg(
        Groove(
            section_mm=ring.cs_mm,
            depth_min_mm=depth_min,
            depth_max_mm=depth_max,
            width_min_mm=width_min,
            width_max_mm=width_max,
            clearance_mm=position.clearance_max_mm,
            in_outer_part=position.arrangement == SealPosition.Arrangement.ROD,
            title=str(position),
        )
    )

"""A groove with its ring in section, drawn to scale as SVG."""

from dataclasses import dataclass
from math import pi

from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop.calc.formula import number

# The drawing's own field; the groove takes the middle of it.
WIDTH, HEIGHT = 420, 220
LEFT, GROOVE_W, WALL = 60, 150, 44
MOST_DEPTH = 96
LEAST_GAP = 2  # px, so that a small clearance can be seen


@dataclass(frozen=True, kw_only=True)
class Groove:
    """What is drawn; ``in_outer_part`` puts the groove above the ring."""

    section_mm: float
    depth_min_mm: float
    depth_max_mm: float
    width_min_mm: float
    width_max_mm: float
    clearance_mm: float | None
    in_outer_part: bool
    title: str


def gland_svg(groove: Groove) -> SafeString:
    """Draw the groove at mid tolerance, the ring pressed to its depth without losing area."""
    depth_mm = (groove.depth_min_mm + groove.depth_max_mm) / 2
    width_mm = (groove.width_min_mm + groove.width_max_mm) / 2
    scale = min(GROOVE_W / width_mm, MOST_DEPTH / depth_mm)
    depth, width = depth_mm * scale, width_mm * scale
    gap = max((groove.clearance_mm or 0) / 2 * scale, LEAST_GAP)
    left = LEFT + (GROOVE_W - width) / 2
    ring_h = min(depth, groove.section_mm * scale)
    ring_w = pressed_width(groove.section_mm * scale, ring_h)
    top = WALL + 8
    floor, ceiling = top + depth, top  # bottom of the groove, and the surface sealed against
    land = ceiling + gap  # the face of the part that holds the groove
    ring_x = left + (width - ring_w) / 2
    body = _path(left, width, land, floor)
    turn = f"matrix(1 0 0 -1 0 {2 * top + depth:.1f})" if groove.in_outer_part else ""
    depth_text = f"{_span(groove.depth_min_mm, groove.depth_max_mm)} mm deep"
    width_text = f"{_span(groove.width_min_mm, groove.width_max_mm)} mm wide"
    return format_html(
        '<svg class="gland" viewBox="0 0 {} {}" role="img" aria-label="{}">'
        '<g transform="{}">'
        '<path class="metal" d="M8 {}H{}V{}H8z"/><path class="metal" d="{}"/>'
        '<rect class="ring" x="{}" y="{}" width="{}" height="{}" rx="{}"/></g>'
        '<path class="measure" d="M{} {}V{}m-5 0h10M{} {}h10"/><text x="{}" y="{}">{}</text>'
        '<text x="{}" y="{}" text-anchor="middle">{}</text></svg>',
        WIDTH,
        HEIGHT,
        f"{groove.title}: groove {width_text}, {depth_text}, ring {number(value=groove.section_mm)} mm",
        turn,
        *(_px(one) for one in (ceiling - WALL, LEFT + GROOVE_W + 52, ceiling)),
        body,
        *(_px(one) for one in (ring_x, floor - ring_h, ring_w, ring_h, ring_h / 2)),
        *(_px(one) for one in (LEFT + GROOVE_W + 62, top, floor, LEFT + GROOVE_W + 57, top)),
        *(_px(one) for one in (LEFT + GROOVE_W + 72, (top + floor) / 2 + 5)),
        depth_text,
        _px(LEFT + GROOVE_W / 2),
        _px(floor + WALL + 18),
        width_text,
    )


def pressed_width(section: float, height: float) -> float:
    """Return the width of a ring pressed flat to a height: rounded ends, and the area of the circle.

    >>> round(pressed_width(10.0, 10.0), 6)
    10.0
    """
    return height + pi / 4 * (section**2 - height**2) / height


def _path(left: float, width: float, land: float, floor: float) -> str:
    right, bottom = LEFT + GROOVE_W + 52, floor + WALL
    return f"M8 {land:.1f}H{left:.1f}V{floor:.1f}H{left + width:.1f}V{land:.1f}H{right:.1f}V{bottom:.1f}H8z"


def _px(value: float) -> str:
    return f"{value:.1f}"


def _span(least: float, most: float) -> str:
    if least == most:
        return number(value=least)
    return f"{number(value=least)} to {number(value=most)}"

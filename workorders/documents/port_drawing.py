"""A simple drawing of which hose belongs on which port of a unit; not to scale."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.graphics.shapes import Circle, Drawing, Line, Rect, String
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth

from shop.documents.paper import BODY, INK, MUTED, STRONG

FAMILIES = ("cylinder", "power unit", "valve block")
BODY_HEIGHT, ROD_HEIGHT, ROD_LENGTH = 15 * mm, 5 * mm, 24 * mm
LINE_LENGTH, RADIUS, TAG_HEIGHT = 9 * mm, 3.4 * mm, 5.6 * mm
LINE_HEIGHT = 3.2 * mm  # of what stands below the number of a hose
LARGEST_WIDTH = 150 * mm
MOST_PORTS = 8


@dataclass(frozen=True, kw_only=True)
class PortRow:
    """A port: its code, name, fitting and cap, and the hose that belongs on it.

    `length` and `far_end` are those of the hose, `whereabouts` says where it is: on its port, loose
    in the parcel, or not with this unit. `along` is the port's place on the body from 0 (end cap) to
    1 (rod end), None where it is not known.
    """

    code: str
    name: str
    fitting: str = ""
    hose: str = ""
    cap: str = ""
    along: float | None = None
    length: str = ""
    far_end: str = ""
    whereabouts: str = ""

    def __post_init__(self) -> None:
        if self.along is not None and not 0 <= self.along <= 1:
            raise ValueError(f"along must be from 0 to 1; got {self.along!r}")


def places_known(ports: Sequence[PortRow]) -> bool:
    """Tell whether each port has its place on the body."""
    return all(port.along is not None for port in ports)


def port_drawing(family: str, ports: Sequence[PortRow], width: float) -> Drawing | None:
    """Draw the body, its ports and the hose of each; None without ports or with too many to read.

    `width` in points. ValueError for a family that is not in FAMILIES.
    """
    if family not in FAMILIES:
        raise ValueError(f"family must be one of {', '.join(FAMILIES)}; got {family!r}")
    if not 0 < len(ports) <= MOST_PORTS:
        return None
    width = min(width, LARGEST_WIDTH)
    # Without the places the body has no ends to tell apart, so no rod is drawn.
    rod = ROD_LENGTH if family == "cylinder" and places_known(ports) else 0
    body = width - rod
    tag = TAG_HEIGHT + LINE_HEIGHT * _lines_below(ports)
    floor = tag + LINE_LENGTH
    drawing = Drawing(width, floor + BODY_HEIGHT + 1, initialFontName=BODY)
    drawing.add(Rect(0, floor, body, BODY_HEIGHT, fillColor=None, strokeColor=INK, strokeWidth=1))
    if rod:
        drawing.add(
            Rect(
                body, floor + (BODY_HEIGHT - ROD_HEIGHT) / 2, rod, ROD_HEIGHT, fillColor=None, strokeColor=INK
            )
        )
        drawing.add(_text(body + rod / 2, floor + BODY_HEIGHT * 0.78, "rod", BODY, 7))
    drawing.add(_text(body / 2, floor + BODY_HEIGHT * 0.68, family, BODY, 7.5))
    room = body / len(ports)
    for port, centre in zip(ports, _centres(ports, body), strict=True):
        _draw_port(drawing, port, centre, floor, tag, room)
    return drawing


def _centres(ports: Sequence[PortRow], body: float) -> list[float]:
    edge = 11 * mm
    if places_known(ports):
        return [edge + port.along * (body - 2 * edge) for port in ports]
    return [body * (at + 0.5) / len(ports) for at in range(len(ports))]


def _lines_below(ports: Sequence[PortRow]) -> int:
    """Return how many lines stand below the numbers of the hoses: length, and far end."""
    return any(port.length for port in ports) + any(port.far_end for port in ports)


def _shortened(text: str, size: float, room: float) -> str:
    """Return a text that fits; the table beside the drawing has it in full."""
    if stringWidth(text, BODY, size) <= room:
        return text
    while text and stringWidth(f"{text}…", BODY, size) > room:
        text = text[:-1]
    return f"{text.rstrip()}…"


def _draw_port(drawing: Drawing, port: PortRow, centre: float, floor: float, tag: float, room: float) -> None:
    middle = floor + RADIUS + 1.2 * mm
    drawing.add(Circle(centre, middle, RADIUS, fillColor=None, strokeColor=INK, strokeWidth=0.9))
    drawing.add(_text(centre, middle - 2.6, port.code, STRONG, 7))
    drawing.add(Line(centre, tag, centre, middle - RADIUS, strokeColor=INK, strokeWidth=1.4))
    label = f"hose {port.hose}" if port.hose else "no hose"
    low = tag - TAG_HEIGHT + 1.4 * mm
    drawing.add(_text(centre, low, label, STRONG if port.hose else BODY, 8))
    for line in filter(None, (port.length, port.far_end)):
        low -= LINE_HEIGHT
        # A port near the end of the body has less room on that side.
        fits = min(room, 2 * min(centre, drawing.width - centre)) - 2
        drawing.add(_text(centre, low, _shortened(line, 7, fits), BODY, 7))


def _text(x: float, y: float, text: str, face: str, size: float) -> String:
    colour = INK if face == STRONG else MUTED
    return String(x, y, text, fontName=face, fontSize=size, textAnchor="middle", fillColor=colour)

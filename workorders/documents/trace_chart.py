"""The chart of a pressure hold: one drawing for the page (SVG) and for the papers (PDF)."""

import math
import re
from dataclasses import dataclass
from xml.etree import ElementTree

from reportlab.graphics import renderSVG
from reportlab.graphics.charts.axes import ValueAxis
from reportlab.graphics.charts.lineplots import LinePlot
from reportlab.graphics.shapes import Drawing, Group, Line, Rect, String
from reportlab.lib.colors import Color, HexColor
from reportlab.pdfbase.pdfmetrics import stringWidth

_SVG = "http://www.w3.org/2000/svg"


@dataclass(frozen=True, kw_only=True)
class HoldTrace:
    """A hold to be drawn: thinned samples, the window that was evaluated, and the lines through it.

    ``pressure_bar`` is another reading where ``y_label`` says so. ``line`` and ``limit_line`` are two
    points each (time [s], reading); the limit line of a hold
    starts where the fitted line does and falls as fast as the limit allows.
    """

    time_s: tuple[float, ...]
    pressure_bar: tuple[float, ...]
    title: str
    window_s: tuple[float, float] | None = None
    line: tuple[tuple[float, float], tuple[float, float]] | None = None
    line_label: str = "straight line fitted"
    limit_line: tuple[tuple[float, float], tuple[float, float]] | None = None
    limit_label: str = ""
    x_label: str = "time, s"
    y_label: str = "pressure, bar"

    def __post_init__(self) -> None:
        if len(self.time_s) != len(self.pressure_bar) or len(self.time_s) < 2:
            raise ValueError(
                f"time_s and pressure_bar must have one length of 2 or more; got {len(self.time_s)} and "
                f"{len(self.pressure_bar)}"
            )


@dataclass(frozen=True, kw_only=True)
class Palette:
    """The colours of a chart."""

    paper: Color
    ink: Color
    grid: Color
    window: Color
    trace: Color
    line: Color
    limit: Color


# Light and dark lie on the sheet of shop.css: its sheet, ink, rule, sunk and bad tokens.
PALETTES = {
    "light": Palette(
        paper=HexColor("#fbfdfa"),
        ink=HexColor("#11262c"),
        grid=HexColor("#bdcbc4"),
        window=HexColor("#dfe8e1"),
        trace=HexColor("#1b7a90"),
        line=HexColor("#11262c"),
        limit=HexColor("#97102e"),
    ),
    "dark": Palette(
        paper=HexColor("#152429"),
        ink=HexColor("#e7f0eb"),
        grid=HexColor("#31484e"),
        window=HexColor("#1e3137"),
        trace=HexColor("#83cbd8"),
        line=HexColor("#e7f0eb"),
        limit=HexColor("#ff9dab"),
    ),
    "print": Palette(
        paper=HexColor("#ffffff"),
        ink=HexColor("#000000"),
        grid=HexColor("#cccccc"),
        window=HexColor("#eef1f3"),
        trace=HexColor("#1b7a90"),
        line=HexColor("#000000"),
        limit=HexColor("#97102e"),
    ),
}


@dataclass(frozen=True, kw_only=True)
class _Style:
    """What every part of one drawing needs: colours, font, size of its text and of the whole [pt]."""

    colours: Palette
    font: str
    text: float
    width: float
    height: float

    @property
    def left(self) -> float:
        return 6.5 * self.text


def hold_chart(
    trace: HoldTrace,
    *,
    palette: str = "print",
    font: str = "Helvetica",
    width: float = 480,
    height: float = 240,
    text_pt: float = 8,
) -> Drawing:
    """Draw a hold with its window, the fitted line and the limit.

    Parameters
    ----------
    trace : HoldTrace
        What is drawn; thin it first (`workorders.calc.thin.thin`).
    palette : str
        ``light``, ``dark`` or ``print``.
    font : str
        A font that ReportLab knows, registered before.
    width, height, text_pt : float
        Size of the drawing and of its text [pt].

    Returns
    -------
    Drawing
        A flowable for a PDF page; the same bytes for the same data.

    Raises
    ------
    KeyError
        The palette is none of the three.
    """
    style = _Style(colours=PALETTES[palette], font=font, text=text_pt, width=width, height=height)
    drawing = Drawing(width, height)
    legend, top = _legend(trace, style)
    plot = _plot(trace, style, top)
    drawing.add(Rect(0, 0, width, height, fillColor=style.colours.paper, strokeColor=None))
    if trace.window_s:
        drawing.add(_window(trace.window_s, plot, style))
    drawing.add(plot)
    drawing.add(legend)
    drawing.add(_text(style.left, height - 1.8 * text_pt, trace.title, style, size=1.25 * text_pt))
    drawing.add(_text(plot.x + plot.width / 2, 0.8 * text_pt, trace.x_label, style, anchor="middle"))
    drawing.add(_upright(trace.y_label, plot.y + plot.height / 2, style))
    return drawing


def hold_chart_svg(
    trace: HoldTrace, *, palette: str, name: str, width: float = 480, height: float = 300
) -> str:
    """Return the chart as an SVG element for a page.

    ``name`` is unique on the page and begins its ids. There is no inline style, which a strict
    content security policy would refuse, and the title is what a screen reader says.
    """
    text = renderSVG.drawToString(hold_chart(trace, palette=palette, width=width, height=height, text_pt=12))
    # Our own text of a moment ago, so nothing to defend against.
    root = ElementTree.fromstring(re.sub(r"<!DOCTYPE[^>]*>", "", text, count=1))  # noqa: S314
    for element in root.iter():
        _style_to_attributes(element)
        if "id" in element.attrib:
            element.set("id", f"{name}-{element.get('id')}")
    for child in [child for child in root if child.tag.endswith(("title", "desc"))]:
        root.remove(child)
    title = ElementTree.Element(f"{{{_SVG}}}title", {"id": f"{name}-title"})
    title.text = description(trace)
    root.insert(0, title)
    root.attrib |= {"role": "img", "aria-labelledby": f"{name}-title"}
    for clipped in root.iter():
        if clipped.get("clip-path") == "url(#clip)":
            clipped.set("clip-path", f"url(#{name}-clip)")
    ElementTree.register_namespace("", _SVG)
    return ElementTree.tostring(root, encoding="unicode")


def description(trace: HoldTrace) -> str:
    """Say in a sentence what the chart shows, for those who do not see it."""
    first, last = trace.pressure_bar[0], trace.pressure_bar[-1]
    duration_s = trace.time_s[-1] - trace.time_s[0]
    what, _comma, unit = trace.y_label.partition(", ")
    text = f"{trace.title}: {what} from {first:.3f} to {last:.3f} {unit} over {duration_s:.1f} s"
    if trace.window_s:
        text += f", evaluated from {trace.window_s[0]:.1f} to {trace.window_s[1]:.1f} s"
    return text + "."


def _plot(trace: HoldTrace, style: _Style, top: float) -> LinePlot:
    plot = LinePlot()
    plot.x, plot.y = style.left, 4.5 * style.text
    plot.width, plot.height = style.width - plot.x - 1.5 * style.text, top - plot.y
    plot.data = [list(zip(trace.time_s, trace.pressure_bar, strict=True))]
    plot.data += [list(points) for points in (trace.line, trace.limit_line) if points]
    for place, (_, colour, stroke, dashes) in enumerate(_drawn(trace, style.colours)):
        plot.lines[place].strokeColor = colour
        plot.lines[place].strokeWidth = stroke
        plot.lines[place].strokeDashArray = dashes
    plot.yValueAxis.avoidBoundFrac = 0.08
    _widen_constant(plot)
    plot.xValueAxis.joinAxisMode = "bottom"
    plot.xValueAxis.setPosition(plot.x, plot.y, plot.width)
    plot.yValueAxis.setPosition(plot.x, plot.y, plot.height)
    for axis in (plot.xValueAxis, plot.yValueAxis):
        _style_axis(axis, style)
        axis.configure(plot.data)
        # One number of decimals for all ticks of an axis, as many as its step has.
        axis.labelTextFormat = f"%.{max(0, -math.floor(math.log10(axis._valueStep) + 1e-9))}f"
    return plot


def _drawn(trace: HoldTrace, colours: Palette) -> list[tuple[str, Color, float, tuple[float, float] | None]]:
    """List what is drawn, in the order of the plot's data: label, colour, width [pt], dashes [pt]."""
    drawn: list[tuple[str, Color, float, tuple[float, float] | None]] = [("logged", colours.trace, 0.9, None)]
    if trace.line:
        drawn.append((trace.line_label, colours.line, 1.4, None))
    if trace.limit_line:
        drawn.append((trace.limit_label, colours.limit, 1.4, (5, 3)))
    return drawn


def _widen_constant(plot: LinePlot) -> None:
    """Give the axis of a constant pressure a height; ReportLab cannot divide by none."""
    values = [pressure for line in plot.data for _, pressure in line]
    if max(values) == min(values):
        plot.yValueAxis.valueMin = values[0] - 0.05
        plot.yValueAxis.valueMax = values[0] + 0.05


def _style_axis(axis: ValueAxis, style: _Style) -> None:
    axis.strokeColor = style.colours.ink
    axis.strokeWidth = 0.8
    axis.visibleGrid = True
    axis.gridStrokeColor = style.colours.grid
    axis.gridStrokeWidth = 0.5
    axis.labels.fontName = style.font
    axis.labels.fontSize = style.text
    axis.labels.fillColor = style.colours.ink


def _window(window_s: tuple[float, float], plot: LinePlot, style: _Style) -> Rect:
    left, right = (plot.xValueAxis.scale(value) for value in window_s)
    return Rect(left, plot.y, right - left, plot.height, fillColor=style.colours.window, strokeColor=None)


def _legend(trace: HoldTrace, style: _Style) -> tuple[Group, float]:
    """Draw a piece of each line with its label, row after row; return where the plot may begin."""
    group = Group()
    x, y = style.left, style.height - 3.8 * style.text
    sample = 2.2 * style.text
    entries = [
        *_drawn(trace, style.colours),
        *([("window evaluated", None, 0.0, None)] if trace.window_s else []),
    ]
    for label, colour, stroke, dashes in entries:
        length = sample + 0.5 * style.text + stringWidth(label, style.font, style.text)
        if x > style.left and x + length > style.width:
            x, y = style.left, y - 1.6 * style.text
        if colour is None:
            shade, edge = style.colours.window, style.colours.grid
            group.add(Rect(x, y - 1, sample, style.text, fillColor=shade, strokeColor=edge, strokeWidth=0.5))
        else:
            middle = y + 0.35 * style.text
            group.add(
                Line(
                    x,
                    middle,
                    x + sample,
                    middle,
                    strokeColor=colour,
                    strokeWidth=stroke,
                    strokeDashArray=dashes,
                )
            )
        group.add(_text(x + sample + 0.5 * style.text, y, label, style))
        x += length + 1.5 * style.text
    return group, y - style.text


def _text(
    x: float, y: float, text: str, style: _Style, *, size: float = 0.0, anchor: str = "start"
) -> String:
    return String(
        x,
        y,
        text,
        fontName=style.font,
        fontSize=size or style.text,
        fillColor=style.colours.ink,
        textAnchor=anchor,
    )


def _upright(text: str, y: float, style: _Style) -> Group:
    group = Group(_text(0, 0, text, style, anchor="middle"))
    group.translate(1.4 * style.text, y)
    group.rotate(90)
    return group


def _style_to_attributes(element: ElementTree.Element) -> None:
    """Move an element's inline style to attributes of its own, and drop an empty transform."""
    for part in element.attrib.pop("style", "").split(";"):
        name, _, value = part.partition(":")
        if name.strip():
            element.set(name.strip(), _presentation(name.strip(), value.strip()))
    if element.get("transform") == "":
        del element.attrib["transform"]


def _presentation(name: str, value: str) -> str:
    if name == "font-family":
        return f"{value}, Arial, sans-serif"
    return "none" if value == "None" else value
